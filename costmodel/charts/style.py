"""The look of every chart: few inks, told apart by dash and hatch as well, labels at the lines, units on every axis."""

from __future__ import annotations

import io
import re
import textwrap
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import wraps
from itertools import accumulate, pairwise
from statistics import fmean
from typing import TYPE_CHECKING, Any, NamedTuple, ParamSpec

from costmodel.cautions import INVENTED
from costmodel.curves import Subject
from costmodel.tables.rounding import plain, significant

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Arguments = ParamSpec("Arguments")

FONT = "DejaVu Sans"
INK = "#20262e"
MUTED = "#5b6570"
PALE = "#e3e7ea"
MAKE = "#0f4c75"
BUY = "#a8480f"
SPLIT = "#4f6b3a"

LINES = {"make": "solid", "buy": (0, (5, 1.6)), "split": (0, (5, 1.5, 1, 1.5))}
INKS = {"make": MAKE, "buy": BUY, "split": SPLIT}

HOUSE: dict[str, object] = {
    "font.family": [FONT],
    "font.size": 7.0,
    "text.color": INK,
    "axes.edgecolor": MUTED,
    "axes.labelcolor": INK,
    "axes.labelsize": 7.0,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "axes.axisbelow": True,
    "grid.color": PALE,
    "grid.linewidth": 0.6,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": 6.5,
    "ytick.labelsize": 6.5,
    "xtick.major.size": 2.5,
    "ytick.major.size": 0.0,
    "xtick.minor.size": 0.0,
    "lines.linewidth": 1.1,
    "hatch.linewidth": 0.6,
    "figure.dpi": 150.0,
    "savefig.dpi": 150.0,
    "svg.fonttype": "none",
    "svg.hashsalt": "costmodel",
    "path.simplify": True,
    "path.simplify_threshold": 0.3,
}


@contextmanager
def house_style() -> Iterator[None]:
    """The style for as long as a figure is drawn or written; nothing is left changed."""
    import matplotlib

    with matplotlib.rc_context(HOUSE):  # type: ignore[arg-type]
        yield


def styled(draw: Callable[Arguments, Figure]) -> Callable[Arguments, Figure]:
    """A drawing function that works in the house style."""

    @wraps(draw)
    def inside(*args: Arguments.args, **kwargs: Arguments.kwargs) -> Figure:
        with house_style():
            return draw(*args, **kwargs)

    return inside


def new_figure(
    size: tuple[float, float], title: str, subject: Subject, note: str = ""
) -> tuple[Figure, Axes]:
    """A figure of a size in inches with its finding on top; demo data say so along its right edge."""
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    right = 1.0 - MARK_WIDTH / size[0] if subject.invented else 1.0
    figure = Figure(
        figsize=size, layout=ConstrainedLayoutEngine(w_pad=0.02, h_pad=0.02, rect=(0.0, 0.0, right, 1.0))
    )
    words = wrapped(title, int(size[0] * 14.5))
    figure.suptitle(words, x=0.005, ha="left", fontsize=8.0, fontweight="bold", linespacing=1.15)
    axes = figure.add_subplot()
    if subject.invented:
        figure.text(
            1.0, 0.02, f"{INVENTED}.", rotation=90, ha="right", va="bottom", fontsize=5.5, color=MUTED
        )
    return figure, axes


def wrapped(text: str, width: int) -> str:
    """A text in as few lines of at most a width as it takes, and those about equally long."""
    lines = textwrap.wrap(text, width, break_long_words=False)
    for narrower in range(width - 1, width // 2, -1):
        closer = textwrap.wrap(text, narrower, break_long_words=False)
        if len(closer) > len(lines):
            break
        lines = closer
    return "\n".join(lines)


MARK_WIDTH = 0.1
LABELS_AT = 1.035
"""Where the words right of a plot begin, as a share of its width."""


class Label(NamedTuple):
    """Words beside the end of a line: where it ends, what they say, their ink and weight."""

    height: float
    text: str
    ink: str
    bold: bool = False


def label_ends(axes: Axes, labels: Iterable[Label], least: float) -> None:
    """Put labels right of the plot at the heights of their lines, moved apart where they would touch.

    Heights and `least`, the room that a line of text needs, are shares of the plot's height.
    """
    ordered = sorted(labels, key=lambda label: label.height)
    rooms = [least * (label.text.count("\n") + 1) for label in ordered]
    for label, centre in zip(ordered, _apart([label.height for label in ordered], rooms), strict=True):
        axes.text(
            LABELS_AT,
            centre,
            label.text,
            transform=axes.transAxes,
            va="center",
            ha="left",
            fontsize=6.5,
            color=label.ink,
            fontweight="bold" if label.bold else "normal",
            linespacing=1.05,
        )
        axes.plot(
            [1.0, LABELS_AT - 0.004],
            [label.height, centre],
            transform=axes.transAxes,
            color=label.ink,
            linewidth=0.5,
            clip_on=False,
        )


def _apart(heights: list[float], rooms: list[float]) -> list[float]:
    """Places near the heights, in their order, so far apart that each has its room; touching ones move together."""
    gaps = [0.0, *((one + other) / 2.0 for one, other in pairwise(rooms))]
    offsets = list(accumulate(gaps))
    pools: list[list[float]] = []
    for height, offset in zip(heights, offsets, strict=True):
        pools.append([height - offset])
        while len(pools) > 1 and fmean(pools[-2]) > fmean(pools[-1]):
            pools[-2:] = [pools[-2] + pools[-1]]
    places = [fmean(pool) for pool in pools for _ in pool]
    return [place + offset for place, offset in zip(places, offsets, strict=True)]


def grouped(value: float, _: object = None) -> str:
    """A tick's number with its thousands apart."""
    return plain(value, 0) if float(value).is_integer() else significant(value)


FONTS = f"'{FONT}', Verdana, 'Liberation Sans', Arial, sans-serif"
LONG_FRACTION = re.compile(r"(\.\d\d)\d+")
HEAD = re.compile(r"^.*?(?=<svg)", re.DOTALL)
METADATA = re.compile(r"\s*<metadata>.*?</metadata>", re.DOTALL)


def svg(figure: Figure) -> str:
    """A figure as an SVG element: text that can be read out, no date, nothing from outside.

    The fonts named after the first are no wider, so that no label outgrows the place it was given.
    """
    text = io.StringIO()
    with house_style():
        figure.savefig(text, format="svg", metadata={"Date": None})
    drawn = METADATA.sub("", HEAD.sub("", text.getvalue()))
    return LONG_FRACTION.sub(r"\1", drawn).replace(f"'{FONT}'", FONTS)


def png(figure: Figure, dots_per_inch: float = 150.0) -> bytes:
    """A figure as a PNG picture."""
    data = io.BytesIO()
    with house_style():
        figure.savefig(data, format="png", dpi=dots_per_inch, metadata={"Software": None})
    return data.getvalue()


QUICK_PLACE = (0.09, 0.14, 0.68, 0.7)
"""Where the plot stands in its figure: left, bottom, width, height, as shares."""
QUICK: dict[str, object] = {**HOUSE, "text.hinting": "none"}


def quick_png(figure: Figure, dots_per_inch: float) -> bytes:
    """A PNG picture drawn once, for a chart that follows a hand: the room for labels is given, not measured."""
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    data = io.BytesIO()
    figure.set_layout_engine("none")
    figure.set_dpi(dots_per_inch)
    for axes in figure.axes:
        axes.set_position(QUICK_PLACE)
    canvas: Any = FigureCanvasAgg(figure)
    with matplotlib.rc_context(QUICK):  # type: ignore[arg-type]
        canvas.print_png(data, metadata={"Software": None}, pil_kwargs={"compress_level": 1})
    return data.getvalue()
