"""A year to a spreadsheet and back: only what was edited is applied, conflicts stop it all, nothing is lost."""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError
from costmodel.rate_merge import Edited, merged
from costmodel.reading import read_rates
from costmodel.reading.rate_folder import file_marks, read_rate_sheets, seal_text
from costmodel.reading.rates_workbook import read_workbook
from costmodel.records.rate_sheet import SEAL

RATES = Path(__file__).parent.parent / "data" / "rates"
SOFFICE = shutil.which("soffice")
WHO = ["--who", "engineer", "--why", "offers of November"]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    shutil.copytree(RATES / "2026", tmp_path / "rates" / "2026")
    return tmp_path


def run(*words: str) -> Any:
    return CliRunner().invoke(app, list(words))


def taken(root: Path) -> Path:
    file = root / "rates.xlsx"
    result = run("rates", "workbook", "2026", "--folder", str(root / "rates"), "-o", str(file))
    assert result.exit_code == 0, result.output
    return file


def applied(root: Path, file: Path, *more: str) -> Any:
    return run("rates", "apply", "2026", str(file), "--folder", str(root / "rates"), *WHO, *more)


def edit(file: Path, cells: dict[tuple[str, str, str], object]) -> None:
    book = load_workbook(file)
    for (table, name, column), value in cells.items():
        sheet = book[table]
        head = [str(cell.value).split("[")[0].strip() for cell in sheet[1]]
        row = next(row for row in sheet.iter_rows() if row[0].value == name)
        row[head.index(column)].value = value
    book.save(file)


EDITS: dict[tuple[str, str, str], tuple[str, object]] = {
    ("labour", "operator", "wage"): ("27.4", 28.65),
    ("energy", "electricity", "price"): ("0.148", 0.163),
    ("tools", "tap-m3", "price"): ("19.6", 21.15),
}


def by_openpyxl(file: Path) -> None:
    edit(file, {key: new for key, (_, new) in EDITS.items()})


def by_libreoffice(file: Path) -> None:
    """Open in LibreOffice, change three cells of its own document, let it write the workbook."""
    if SOFFICE is None:
        pytest.skip("LibreOffice is not installed")

    def converted(source: Path, kind: str) -> Path:
        profile = f"-env:UserInstallation=file://{file.parent}/profile"
        command = [
            SOFFICE,
            profile,
            "--headless",
            "--convert-to",
            kind,
            "--outdir",
            str(file.parent),
            str(source),
        ]
        subprocess.run(command, check=True, capture_output=True, timeout=180)
        return source.with_suffix(f".{kind}")

    flat = converted(file, "fods")
    text = flat.read_text(encoding="utf-8")
    for (table, name, _), (was, new) in EDITS.items():
        start = text.index(f'<table:table table:name="{table}"')
        start = text.index(f"<text:p>{name}</text:p>", start)
        cell = re.compile(rf'office:value="{re.escape(was)}"(.*?)<text:p>[^<]*</text:p>', re.DOTALL)
        found = cell.search(text, start)
        assert found is not None
        text = (
            f'{text[: found.start()]}office:value="{new}"{found.group(1)}<text:p>{new}</text:p>'
            f"{text[found.end() :]}"
        )
    flat.write_text(text, encoding="utf-8")
    file.unlink()
    converted(flat, "xlsx")


@pytest.mark.slow
@pytest.mark.parametrize("by", [by_openpyxl, by_libreoffice])
def test_three_edited_rates_come_back_and_nothing_else(root: Path, by: Callable[[Path], None]) -> None:
    file = taken(root)
    before = read_rate_sheets(root / "rates" / "2026").cells()
    by(file)
    result = applied(root, file, "--json")
    assert result.exit_code == 0, result.output
    after = read_rate_sheets(root / "rates" / "2026").cells()
    assert {key for key in after if after[key] != before[key]} == set(EDITS)
    rates = read_rates(root / "rates" / "2026")
    assert rates.labour["operator"].wage == 28.65
    assert rates.energy["electricity"].price == 0.163
    with (root / "rates" / "2026" / "change_log.csv").open(encoding="utf-8") as log:
        rows = list(csv.DictReader(log))
    assert [(row["table"], row["was"], row["new"]) for row in rows] == [
        ("labour", "27.40", "28.65"),
        ("tools", "19.60", "21.15"),
        ("energy", "0.148", "0.163"),
    ]
    assert all((row["who"], row["why"]) == ("engineer", "offers of November") for row in rows)
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\d", row["when"]) for row in rows)


def test_a_workbook_brought_back_unedited_changes_no_byte(root: Path) -> None:
    file = taken(root)
    before = file_marks(root / "rates" / "2026")
    assert applied(root, file).exit_code == 0
    assert file_marks(root / "rates" / "2026") == before
    assert not (root / "rates" / "2026" / "change_log.csv").exists()


def test_every_cell_comes_back_as_it_went(root: Path) -> None:
    returned = read_workbook(taken(root), read_rate_sheets(root / "rates" / "2026"))
    assert returned.base == read_rate_sheets(root / "rates" / "2026").cells()
    assert Edited(*returned).changed() == {}


def test_units_choices_and_notes_stand_in_the_sheets(root: Path) -> None:
    book = load_workbook(taken(root))
    assert {"about", "labour", "tools", "indices", "reasons", "base"} <= set(book.sheetnames)
    assert book["base"].sheet_state == "hidden"
    labour = book["labour"]
    assert labour["B1"].value == "wage [USD/h]"
    assert "USD/h at least 0" in labour["B1"].comment.text
    lists = {str(it.sqref): it.formula1 for it in book["tools"].data_validations.dataValidation}
    assert any(formula.startswith('"count,minutes,') for formula in lists.values())
    machines = {it.formula1 for it in book["machines"].data_validations.dataValidation}
    assert any(formula.startswith("labour!$A$2") for formula in machines)
    assert '"guess,quoted,measured"' in machines
    assert any("Invented" in str(row[1].value) for row in book["about"].iter_rows())


@pytest.mark.slow
def test_conflicting_edits_are_told_and_nothing_is_applied(root: Path) -> None:
    file = taken(root)
    other = root / "other.xlsx"
    shutil.copy(file, other)
    edit(file, {("labour", "operator", "wage"): 28.0, ("labour", "setter", "wage"): 32.0})
    edit(other, {("labour", "operator", "wage"): 29.0, ("labour", "inspector", "wage"): 30.5})
    assert applied(root, file).exit_code == 0
    marks = file_marks(root / "rates" / "2026")
    result = applied(root, other)
    assert result.exit_code == 2
    said = " ".join(result.output.split())
    assert "rates.labour.operator.wage" in said
    assert '"27.40" as it was taken away, but it is "28" here by now' in said
    assert file_marks(root / "rates" / "2026") == marks
    edit(other, {("labour", "operator", "wage"): 28.0})  # settled: both say the same
    assert applied(root, other).exit_code == 0
    wages = read_rates(root / "rates" / "2026").labour
    assert (wages["operator"].wage, wages["setter"].wage, wages["inspector"].wage) == (28.0, 32.0, 30.5)


def test_a_value_that_no_field_takes_stops_it_all(root: Path) -> None:
    file = taken(root)
    marks = file_marks(root / "rates" / "2026")
    edit(file, {("labour", "operator", "on_costs"): "lots", ("labour", "operator", "wage"): 28.0})
    result = applied(root, file)
    assert result.exit_code == 2
    assert "on_costs" in result.output
    assert file_marks(root / "rates" / "2026") == marks


@pytest.mark.slow
def test_a_row_left_away_is_named_and_a_new_one_comes_in(root: Path) -> None:
    file = taken(root)
    book = load_workbook(file)
    sheet = book["labour"]
    values = [cell.value for cell in sheet[2]]
    sheet.append(["welder", *values[1:]])
    book["reasons"].append(["rates.labour.welder", "hired in November"])
    book.save(file)
    assert applied(root, file).exit_code == 0
    assert "welder" in read_rates(root / "rates" / "2026").labour
    log = (root / "rates" / "2026" / "change_log.csv").read_text(encoding="utf-8")
    assert "welder,wage,,27.4,new row" in log
    book["labour"].delete_rows(3)
    book.save(file)
    result = applied(root, file)
    assert result.exit_code == 2
    assert "rates.labour.setter" in result.output


@pytest.mark.slow
def test_a_reason_of_its_own_goes_into_the_log(root: Path) -> None:
    file = taken(root)
    edit(file, {("labour", "operator", "wage"): 28.0})
    book = load_workbook(file)
    book["reasons"].append(["rates.labour.operator.wage", "agreement of the works"])
    book.save(file)
    assert applied(root, file).exit_code == 0
    log = (root / "rates" / "2026" / "change_log.csv").read_text(encoding="utf-8")
    assert "engineer,agreement of the works,labour,operator,wage,27.40,28" in log


def test_text_that_looks_like_a_formula_stays_text(root: Path) -> None:
    year = root / "rates" / "2026"
    text = (year / "labour.csv").read_text(encoding="utf-8")
    (year / "labour.csv").write_text(
        text.replace("invented: payroll mean of the grade", "=1+1", 1), encoding="utf-8"
    )
    book = load_workbook(taken(root))
    cell = next(cell for cell in book["labour"][2] if cell.value == "=1+1")
    assert cell.data_type == "s" or cell.quotePrefix
    assert (
        read_workbook(root / "rates.xlsx", read_rate_sheets(year)).cells[("labour", "operator", "source")]
        == "=1+1"
    )


def test_a_sealed_year_takes_no_edits(root: Path) -> None:
    file = taken(root)
    edit(file, {("labour", "operator", "wage"): 28.0})
    year = root / "rates" / "2026"
    (year / SEAL).write_text(seal_text(year), encoding="utf-8")
    result = applied(root, file)
    assert result.exit_code == 2
    assert "Make a new year" in " ".join(result.output.split())


def test_what_an_edit_leaves_behind_is_told(root: Path) -> None:
    file = taken(root)
    edit(file, {("labour", "operator", "wage"): 31.0, ("energy", "electricity", "price"): 0.15})
    edit(
        file, {("energy", "electricity", "source"): "offer", ("energy", "electricity", "as_of"): "2026-11-20"}
    )
    found = json.loads(applied(root, file, "--json").output)["to look at"]
    assert len(found) == 2
    assert found[0].startswith("labour.operator: source, date and status still are those of before")
    assert found[1] == "labour.operator: wage 31 is not from low 26.8 to high 28.9: state them anew"


def test_merging_keeps_both_sides(root: Path) -> None:
    here = read_rate_sheets(root / "rates" / "2026")
    base = here.cells()
    one, other = ("labour", "operator", "wage"), ("energy", "electricity", "price")
    mine = here.with_cells({other: "0.2"})
    both = merged(mine, Edited(base, {**base, one: "28"}), "x").cells()
    assert (both[one], both[other]) == ("28", "0.2")
    with pytest.raises(InputError, match="Settle which"):
        merged(mine, Edited(base, {**base, other: "0.3"}), "x")


def test_a_file_that_is_no_workbook_is_named(root: Path) -> None:
    file = root / "rates.xlsx"
    file.write_text("x", encoding="utf-8")
    assert "a workbook" in applied(root, file).output
    again = run("rates", "workbook", "2026", "--folder", str(root / "rates"), "-o", str(file))
    assert again.exit_code == 2
    assert "Nothing is written over" in " ".join(again.output.split())
    assert file.read_text(encoding="utf-8") == "x"


@pytest.mark.parametrize(
    ("place", "text"),
    [
        (("materials", "B1"), "price [USD/kg]"),
        (("labour", "B1"), "wage [EUR/h]"),
        (("labour", "B1"), "wage"),
        (("labour", "B1"), None),
        (("labour", "C1"), "wage [USD/h]"),
    ],
)
def test_an_edited_header_is_refused_with_its_cell(
    root: Path, place: tuple[str, str], text: str | None
) -> None:
    file = taken(root)
    marks = file_marks(root / "rates" / "2026")
    book = load_workbook(file)
    book[place[0]][place[1]].value = text
    book.save(file)
    result = applied(root, file)
    assert result.exit_code == 2, result.output
    assert f"{place[0]}!{place[1]}" in result.output
    assert file_marks(root / "rates" / "2026") == marks


def test_a_workbook_of_another_year_is_refused(root: Path) -> None:
    file = taken(root)
    edit(file, {("labour", "operator", "wage"): 28.0})
    rates = root / "rates"
    shutil.copytree(rates / "2026", rates / "2027")
    text = (rates / "2027" / "year.toml").read_text(encoding="utf-8")
    (rates / "2027" / "year.toml").write_text(text.replace("year = 2026", "year = 2027"), encoding="utf-8")
    result = run("rates", "apply", "2027", str(file), "--folder", str(rates), *WHO)
    assert result.exit_code == 2, result.output
    said = " ".join(result.output.split())
    assert "about!B1" in said
    assert "2027" in said
    assert read_rates(rates / "2027").labour["operator"].wage == 27.4


@pytest.mark.parametrize("address", ["rates.labour.operater.wage", "labour.operator.wage", "wages"])
def test_a_reason_of_an_unknown_cell_is_refused(root: Path, address: str) -> None:
    file = taken(root)
    edit(file, {("labour", "operator", "wage"): 28.0})
    book = load_workbook(file)
    book["reasons"].append([address, "agreement of the works"])
    book.save(file)
    marks = file_marks(root / "rates" / "2026")
    result = applied(root, file)
    assert result.exit_code == 2, result.output
    assert "reasons!A2" in result.output
    assert file_marks(root / "rates" / "2026") == marks
