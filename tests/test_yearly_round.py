"""README's page on a new year, followed word by word on a copy of the demonstration data."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.reading import read_rates, read_study
from costmodel.reading.rate_folder import read_changes
from costmodel.records.rate_sheet import Change
from costmodel.tables.measured_tables import change_file

ROOT = Path(__file__).parent.parent
STUDY = Path("data/studies/saddle-clamp.toml")


def round_of_readme() -> list[list[str]]:
    """The words of each command in the section, in order."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text.partition("## A new year\n")[2].partition("\n## ")[0]
    block = section.partition("```\n")[2].partition("```")[0]
    return [shlex.split(line)[1:] for line in block.splitlines() if line.startswith("costmodel ")]


def edited_in_a_spreadsheet() -> None:
    book = load_workbook("rates-2027.xlsx")
    sheet = book["labour"]
    head = [str(cell.value).split("[")[0].strip() for cell in sheet[1]]
    row = next(row for row in sheet.iter_rows() if row[0].value == "operator")
    row[head.index("wage")].value = 29.1
    book.save("rates-2027.xlsx")


def accepted() -> None:
    file = Path("logs.csv")
    marked = [Change(**{**change.__dict__, "accept": "yes"}) for change in read_changes(file)]
    file.write_text(change_file(marked), encoding="utf-8")


BY_HAND = {"workbook": edited_in_a_spreadsheet, "measured": accepted}


@pytest.mark.slow
def test_the_page_on_a_new_year_works_word_by_word(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "data", tmp_path / "data")
    monkeypatch.chdir(tmp_path)
    before = read_study(STUDY)
    told: dict[str, str] = {}
    for words in round_of_readme():
        result = CliRunner().invoke(app, words)
        assert result.exit_code == 0, f"{words}: {result.output}"
        name = next(word for word in words if word not in ("rates",))
        told[name] = told.get(name, "") + " ".join(result.output.split())
        if name in BY_HAND:
            BY_HAND[name]()
    assert list(told) == [
        "seal",
        "new",
        "workbook",
        "apply",
        "compare",
        "adopt",
        "history",
        "measured",
        "review",
    ]
    assert read_rates("data/rates/2027").labour["operator"].wage == 29.1
    log = Path("data/rates/2027/change_log.csv").read_text(encoding="utf-8")
    assert re.search(
        r"\d{4}-\d\d-\d\d,A\. Engineer,offers of November,labour,operator,wage,28\.1662,29\.1", log
    )
    assert "Changed cells: 1" in told["apply"]
    assert "Verdicts that change:" in told["compare"]
    assert "the same to the cent" in told["history"]
    after = read_study(STUDY)
    step = "five-sides"
    assert (
        after.part.routes["rotary"].steps[step].hands_on > before.part.routes["rotary"].steps[step].hands_on  # type: ignore[union-attr]
    )
    assert Path("review/saddle-clamp-cash.csv").is_file()
    assert Path("bridges/worm-shaft-make-lathe.svg").is_file()


def test_the_page_names_every_command_of_the_round() -> None:
    names = {word for words in round_of_readme() for word in words[:2]}
    assert {"seal", "new", "workbook", "apply", "compare", "history", "measured", "review"} <= names
