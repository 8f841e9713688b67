"""Tables for a spreadsheet: sums are live formulas, headers carry units, and no text can become a formula."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from costmodel.blinding import shows_pay
from costmodel.make_or_buy import compare
from costmodel.records.study import Study
from costmodel.register import register
from costmodel.tables.buy_tables import landed_table, offers_table
from costmodel.tables.decision_tables import alternatives_table, register_table
from costmodel.tables.part_tables import cost_by_step, once_table
from costmodel.tables.renderings import notes_of, to_csv
from costmodel.tables.stamp import stamp, stamp_words
from costmodel.tables.table import Cell, Column, Table, make_table
from costmodel.writing import write_whole

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

LONGEST_NAME = 31
NOT_IN_NAMES = re.compile(r"[\[\]:*?/\\']")
FORMATS = {"money": "#,##0.00", "minutes": "#,##0.00", "percent": "0.0", "whole": "0", "parts": "#,##0"}
WIDEST, NARROWEST = 48, 11
SAME = 1e-9


def study_tables(study: Study, *, with_pay: bool = True) -> dict[str, Table]:
    """The cost sheet of each alternative from one source, the comparison, the landed layers and the register."""
    comparison = compare(study)
    tables = {"comparison": alternatives_table(comparison)}
    for name, cost in comparison.alternatives.items():
        if cost.kind != "split":
            sheet = cost.portions[0].sheet
            tables[f"cost {name}"] = cost_by_step(study, sheet, with_pay=with_pay)
            if sheet.once():
                tables[f"once {name}"] = once_table(study, sheet)
    if any(cost.kind == "buy" for cost in comparison.alternatives.values()):
        tables["landed"] = landed_table(comparison)
        tables["offers"] = offers_table(comparison)
    rows = [row for row in register(study) if with_pay or not shows_pay(row.address)]
    tables["register"] = register_table(study, rows)
    return tables


def write_workbook(tables: Mapping[str, Table], path: Path | str) -> Path:
    """Write an XLSX file, a sheet for each table; returns its path."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    taken: set[str] = set()
    for name, table in tables.items():
        _fill(book.create_sheet(_sheet_name(name, taken)), table)
    data = io.BytesIO()
    book.save(data)
    return write_whole(path, data.getvalue())


def write_csv_files(tables: Mapping[str, Table], folder: Path) -> list[Path]:
    """Write a CSV file for each table into a folder, which is made where it is missing; returns their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    return [
        write_whole(folder / f"{name.replace(' ', '-')}.csv", to_csv(table), encoding="utf-8-sig")
        for name, table in tables.items()
    ]


def stamp_table(study: Study, changed: list[str]) -> Table:
    """On what all sheets rest."""
    foot = stamp(study, changed=changed)
    return make_table("What this rests on", (Column("stamp"),), [[stamp_words(foot)]], study=study)


def _sheet_name(name: str, taken: set[str]) -> str:
    """A name that a spreadsheet allows and no other sheet has."""
    short = NOT_IN_NAMES.sub(" ", name)[:LONGEST_NAME]
    number = 2
    while short.lower() in taken:
        short = f"{name[: LONGEST_NAME - len(str(number)) - 1]} {number}"
        number += 1
    taken.add(short.lower())
    return short


def _fill(sheet: Worksheet, table: Table) -> None:
    """Title and notes, then headers, then rows; the sums of columns as formulas over the rows above them."""
    from openpyxl.styles import Alignment, Font

    for at, words in enumerate((table.title, *notes_of(table)), start=1):
        _put(sheet, at, 1, words).font = Font(bold=at == 1, italic=at > 1)
    head = len(notes_of(table)) + 3
    for at, column in enumerate(table.columns, start=1):
        cell = _put(sheet, head, at, column.header)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.column_dimensions[cell.column_letter].width = _width(table, at - 1)
    first = head + 1
    last = head + len(table.rows) - table.totals
    for number, row in enumerate(table.rows, start=first):
        for at, value in enumerate(row, start=1):
            cell = _put(sheet, number, at, value)
            if number > last and _is_sum(table, at - 1, value):
                cell.value = f"=SUM({cell.column_letter}{first}:{cell.column_letter}{last})"
            if number > last:
                cell.font = Font(bold=True)
            if not isinstance(value, str):
                cell.number_format = FORMATS.get(table.columns[at - 1].kind, "General")
    sheet.freeze_panes = sheet.cell(first, 2)


def _put(sheet: Worksheet, row: int, column: int, value: Cell) -> Any:
    """A cell whose text stays text, whatever sign it begins with."""
    cell: Any = sheet.cell(row, column)
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"
        cell.quotePrefix = True
    return cell


def _is_sum(table: Table, at: int, value: Cell) -> bool:
    """Whether a cell of the last rows is the sum of the numbers above it."""
    if isinstance(value, str):
        return False
    above = [row[at] for row in table.rows[: len(table.rows) - table.totals]]
    numbers = [float(cell) for cell in above if not isinstance(cell, str)]
    return bool(numbers) and bool(np.isclose(sum(numbers), value, rtol=SAME, atol=SAME))


def _width(table: Table, at: int) -> float:
    longest = max((len(str(row[at])) for row in table.rows if isinstance(row[at], str)), default=0)
    return float(min(WIDEST, max(NARROWEST, longest + 2)))
