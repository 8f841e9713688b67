"""Sheets for a spreadsheet: sums that another program recalculates to the library's totals, text that stays text."""

from __future__ import annotations

import csv
import os
import re
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.cost_lines import is_cash
from costmodel.errors import InputError
from costmodel.exchange import study_tables, write_csv_files, write_workbook
from costmodel.make_or_buy import compare
from costmodel.records.study import Study
from costmodel.tables.table import Column, make_table

OFFICE = shutil.which("soffice")
STUDY = Path(__file__).parent.parent / "data" / "studies" / "saddle-clamp.toml"
FORMULA_LIKE = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1")

needs_office = pytest.mark.skipif(
    OFFICE is None and "CI" not in os.environ, reason="no spreadsheet program to recalculate with"
)


def recalculated(path: Path, folder: Path) -> openpyxl.Workbook:
    """The workbook as LibreOffice recalculates and stores it."""
    assert OFFICE is not None, "the spreadsheet program is missing"
    profile = f"-env:UserInstallation=file://{folder / 'profile'}"
    command = [OFFICE, profile, "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir"]
    subprocess.run([*command, str(folder / "out"), str(path)], check=True, capture_output=True, timeout=180)
    return openpyxl.load_workbook(folder / "out" / path.name, data_only=True)


@pytest.fixture(scope="module")
def office_book(demo: dict[str, Study], tmp_path_factory: pytest.TempPathFactory) -> openpyxl.Workbook:
    """The saddle clamp and a sheet of dangerous text, through LibreOffice."""
    folder = tmp_path_factory.mktemp("office")
    tricky = make_table(
        "=1+1", (Column("=1+1"), Column("amount", "USD", "money")), [[text, 1.5] for text in FORMULA_LIKE]
    )
    path = write_workbook({**study_tables(demo["saddle-clamp"]), "tricky": tricky}, folder / "study.xlsx")
    return recalculated(path, folder)


@needs_office
def test_recalculated_sums_are_the_totals_of_the_library(
    office_book: openpyxl.Workbook, demo: dict[str, Study]
) -> None:
    comparison = compare(demo["saddle-clamp"])
    checked = 0
    for name, cost in comparison.alternatives.items():
        if cost.kind == "split":
            continue
        rows = list(office_book[f"cost {name}"[:31]].values)
        assert rows[-1][0] == "total"
        head = next(row for row in rows if row[0] == "step")
        assert rows[-1][head.index("total [USD/part]")] == pytest.approx(
            float(cost.portions[0].sheet.per_part()), abs=1e-9
        )
        checked += 1
    assert checked == 5


@needs_office
def test_the_recalculated_comparison_is_that_of_the_library(
    office_book: openpyxl.Workbook, demo: dict[str, Study]
) -> None:
    comparison = compare(demo["saddle-clamp"])
    rows = list(office_book["comparison"].values)
    head = next(row for row in rows if row[0] == "alternative")
    shown = rows[rows.index(head) + 1 :]
    assert len(shown) == len(comparison.alternatives)
    for row, cost in zip(shown, comparison.alternatives.values(), strict=True):
        wanted = (cost.per_part(), cost.per_part(is_cash), cost.per_year(), cost.once())
        names = ("a part [USD/part]", "of it cash [USD/part]", "a year [USD/yr]", "once [USD]")
        for name, value in zip(names, wanted, strict=True):
            assert row[head.index(name)] == pytest.approx(float(value), abs=1e-9, rel=1e-12)


def test_the_comparison_points_to_the_cost_sheets(demo: dict[str, Study], tmp_path: Path) -> None:
    book = openpyxl.load_workbook(write_workbook(study_tables(demo["saddle-clamp"]), tmp_path / "study.xlsx"))
    formulas = [
        str(cell.value) for row in book["comparison"].iter_rows() for cell in row if cell.data_type == "f"
    ]
    ways = demo["saddle-clamp"].alternatives
    whole = sum(not way.shares for way in ways.values())
    assert sum(formula.startswith("='cost ") for formula in formulas) == 2 * whole
    assert sum("*" in formula for formula in formulas) == len(ways)
    assert any(formula.startswith("=SUMIF(") for formula in formulas)


@needs_office
def test_text_that_looks_like_a_formula_stays_text(office_book: openpyxl.Workbook) -> None:
    rows = list(office_book["tricky"].values)
    assert rows[0][0] == "=1+1"
    texts = [row[0] for row in rows[-len(FORMULA_LIKE) :]]
    assert [str(text).strip() for text in texts] == [text.strip() for text in FORMULA_LIKE]


def test_sums_are_formulas_and_headers_carry_units(demo: dict[str, Study], tmp_path: Path) -> None:
    path = write_workbook(study_tables(demo["worm-shaft"]), tmp_path / "study.xlsx")
    book = openpyxl.load_workbook(path)
    sheet = book["cost make-lathe"]
    last = [str(cell.value) for cell in sheet[sheet.max_row]]
    assert sum(value.startswith("=SUM(") for value in last) >= 3
    heads = [str(cell.value) for row in sheet.iter_rows(max_row=12) for cell in row if cell.value]
    assert any("[USD/part]" in head for head in heads)
    assert any("Invented demo data" in head for head in heads)


def test_no_other_formula_is_written(demo: dict[str, Study], tmp_path: Path) -> None:
    study = demo["worm-shaft"].with_inputs({"alternatives.make-lathe.title": '=HYPERLINK("x")'})
    path = write_workbook(study_tables(study), tmp_path / "study.xlsx")
    cells = [
        cell
        for sheet in openpyxl.load_workbook(path)
        for row in sheet.iter_rows()
        for cell in row
        if cell.value
    ]
    formulas = [cell for cell in cells if cell.data_type == "f"]
    assert formulas
    known = re.compile(
        r"=SUM\([A-Z]+\d+:[A-Z]+\d+\)|='cost [-\w ]+'![A-Z]+\d+|=[A-Z]+\d+\*[A-Z]+\d+|=SUMIF\('once .*"
    )
    assert all(known.fullmatch(str(cell.value)) for cell in formulas)
    assert any(str(cell.value).startswith("=HYPERLINK") and cell.data_type == "s" for cell in cells)


def test_csv_files_hold_the_same_numbers(demo: dict[str, Study], tmp_path: Path) -> None:
    tables = study_tables(demo["worm-shaft"])
    files = write_csv_files(tables, tmp_path / "csv")
    assert len(files) == len(tables)
    with files[0].open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    assert len(rows) == 1 + len(tables["comparison"].rows)


def test_the_command_writes_a_workbook_or_a_folder(tmp_path: Path) -> None:
    runner = CliRunner()
    for target in ("study.xlsx", "sheets"):
        result = runner.invoke(app, ["export", str(STUDY), "-o", str(tmp_path / target)])
        assert result.exit_code == 0, result.output
        assert (tmp_path / target).exists()
    assert runner.invoke(app, ["export", str(STUDY), "-o", str(tmp_path / "study.ods")]).exit_code == 2


def test_a_place_that_cannot_be_written_is_said(demo: dict[str, Study], tmp_path: Path) -> None:
    with pytest.raises(InputError, match="exists"):
        write_workbook(study_tables(demo["worm-shaft"]), tmp_path / "missing" / "study.xlsx")
