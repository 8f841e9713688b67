"""README's lines for tax, real money, more hours and what moves together, put into a copy of the demonstration."""

from __future__ import annotations

import json
import re
import shutil
from itertools import pairwise
from pathlib import Path

import pytest
from scipy import stats
from typer.testing import CliRunner

from costmodel import read_study
from costmodel.cli import app
from costmodel.records.study import Study
from costmodel.uncertainty import sample

ROOT = Path(__file__).parent.parent
STUDY = "studies/encoder-cover.toml"
HEADER = re.compile(r"^\[[^\n]+?\](?=\s)", re.MULTILINE)


def readme_lines() -> str:
    """The one block of TOML in README."""
    (block,) = re.findall(r"```toml\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    return str(block)


def tables(text: str) -> list[tuple[str, str]]:
    """The tables of a TOML text in their order: header and lines."""
    starts = [found.start() for found in HEADER.finditer(text)] + [len(text)]
    pieces = [text[start:stop] for start, stop in pairwise(starts)]
    return [(piece.split("]")[0] + "]", piece.partition("\n")[2]) for piece in pieces]


def joined(text: str, lines: str) -> str:
    """The text of a study with further lines: into its own table where there is one, else at the end."""
    for header, body in tables(lines):
        start = text.find(f"\n{header}\n")
        if start < 0:
            text += f"\n{header}\n{body}"
            continue
        start += len(header) + 2
        following = HEADER.search(text, start)
        stop = following.start() if following else len(text)
        section = text[start:stop]
        for key in re.findall(r"^(\w+) =", body, re.MULTILINE):
            section = re.sub(rf"^{key} =.*\n", "", section, flags=re.MULTILINE)
        text = text[:start] + body + section + text[stop:]
    return text


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    data = Path(shutil.copytree(ROOT / "data", tmp_path_factory.mktemp("readme") / "data"))
    file = data / STUDY
    file.write_text(joined(file.read_text(encoding="utf-8"), readme_lines()), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def study(path: Path) -> Study:
    return read_study(path)


def test_the_lines_are_read_as_they_say(study: Study) -> None:
    assert (study.finance.money, study.finance.inflation, study.finance.discount_rate) == (
        "real",
        0.025,
        0.073,
    )
    assert study.finance.tax is not None
    assert (study.finance.tax.method, study.finance.tax.rate, study.finance.tax.years) == (
        "declining balance",
        0.25,
        5,
    )
    assert study.demand.peak == 1.15
    assert [step.hours for step in study.capacity["mill-3x"].steps.values()] == [150.0, 1500.0]
    assert set(study.drivers) == {"steel"}
    assert set(study.correlations) == {"currencies"}


def test_the_page_shows_worth_after_tax_and_the_steps(path: Path) -> None:
    told = CliRunner().invoke(
        app, ["brief", str(path), "--draws", "256", "--json", "-o", str(path.parent / "page.html")]
    )
    assert told.exit_code == 0, told.output
    shown = json.loads(told.stdout)["tables"]
    measures = [row[0] for row in shown["returns"]["rows"]]
    assert "worth after tax" in measures
    assert any("real money" in note for note in shown["returns"]["notes"])


def test_missing_hours_are_brought_by_the_steps(path: Path) -> None:
    told = CliRunner().invoke(
        app, ["hours", str(path), str(path.parent / "saddle-clamp.toml"), "--machine", "mill-3x", "--json"]
    )
    assert told.exit_code == 0, told.output
    steps = json.loads(told.stdout)["tables"]["beyond"]["rows"]
    assert [row[1] for row in steps] == ["Overtime on Saturdays"]


def test_what_moves_together_does_so_in_the_draws(study: Study) -> None:
    drawn = sample(study, draws=4096)
    (first, second) = study.correlations["currencies"].inputs
    assert stats.spearmanr(drawn.input(first), drawn.input(second)).statistic == pytest.approx(0.4, abs=0.03)
    (metal, price) = study.drivers["steel"].inputs
    assert stats.spearmanr(drawn.input(metal), drawn.input(price)).statistic > 0.3
