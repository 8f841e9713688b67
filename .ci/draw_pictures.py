"""The pictures of README.md, drawn anew from the demonstration study.

    python .ci/draw_pictures.py notebooks

The decision page is printed by Chromium and taken from there by poppler-utils; all three are stored in few colours,
so that they stay small.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

from costmodel import charts, decide, read_study
from costmodel.curves import cost_over_volume
from costmodel.page import write_page
from costmodel.sharing import find_browser
from costmodel.sharing.paper import print_page
from costmodel.shop_curves import region_picture

STUDY = Path(__file__).parent.parent / "data" / "studies" / "saddle-clamp.toml"
SECOND_INPUT = "demand.growth"
DOTS_PER_INCH = 110
COLOURS = 160


def store(picture: Image.Image, path: Path) -> None:
    """In few colours, told apart without dither."""
    few = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    few.save(path, optimize=True)
    print(f"{path}: {path.stat().st_size / 1000:.0f} kB")


def printed(page: Path, folder: Path) -> Image.Image:
    """The first sheet of a page on paper."""
    browser = find_browser()
    if browser is None:
        raise SystemExit("Chromium is needed to print the page")
    paper = print_page(page, folder / "page.pdf", browser)
    command = ["pdftoppm", "-png", "-singlefile", "-r", str(DOTS_PER_INCH), str(paper), str(folder / "page")]
    subprocess.run(command, check=True)
    return Image.open(folder / "page.png")


def main() -> None:
    target = Path(sys.argv[1])
    decision = decide(read_study(STUDY))
    with tempfile.TemporaryDirectory() as name:
        page = write_page(decision, Path(name) / "page.html")
        store(printed(page, Path(name)), target / "decision_page.png")
    volume, regions = cost_over_volume(decision), region_picture(decision.study, SECOND_INPUT)
    for name, figure in (
        ("crossover", charts.crossover_chart(volume)),
        ("regions", charts.regions_chart(regions)),
    ):
        store(Image.open(io.BytesIO(charts.png(figure))), target / f"{name}.png")


if __name__ == "__main__":
    main()
