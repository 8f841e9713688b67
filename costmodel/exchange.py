"""Tables for a spreadsheet: sums are live formulas, headers carry units, and no text can become a formula."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from costmodel.blinding import shows_pay
from costmodel.make_or_buy import compare
from costmodel.records.study import Study
from costmodel.register import register
from costmodel.tables.buy_tables import landed_table, offers_table
from costmodel.tables.decision_tables import KIND_WORDS, alternatives_table, register_table
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
COMPARISON, COST, ONCE, VOLUME = "comparison", "cost ", "once ", "good parts"


def study_tables(study: Study, *, with_pay: bool = True) -> dict[str, Table]:
    """The cost sheet of each alternative from one source, the comparison, the landed layers and the register."""
    comparison = compare(study)
    tables = {COMPARISON: _with_volume(alternatives_table(comparison), float(study.demand.per_year))}
    for name, cost in comparison.alternatives.items():
        if cost.kind != "split":
            sheet = cost.portions[0].sheet
            tables[f"{COST}{name}"] = cost_by_step(study, sheet, with_pay=with_pay)
            if sheet.once():
                tables[f"{ONCE}{name}"] = once_table(study, sheet)
    if any(cost.kind == "buy" for cost in comparison.alternatives.values()):
        tables["landed"] = landed_table(comparison)
        tables["offers"] = offers_table(comparison)
    rows = [row for row in register(study) if with_pay or not shows_pay(row.address)]
    tables["register"] = register_table(study, rows)
    return tables


def _with_volume(table: Table, volume: float) -> Table:
    """The comparison with the volume in each row, so that a year can be worked out in the sheet."""
    return replace(
        table,
        columns=(*table.columns, Column(VOLUME, "part/yr", "parts")),
        rows=tuple((*row, volume) for row in table.rows),
    )


def write_workbook(tables: Mapping[str, Table], path: Path | str) -> Path:
    """Write an XLSX file, a sheet for each table; returns its path.

    Sums are formulas; so is the comparison, which points to the totals of the cost sheets.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    taken: set[str] = set()
    names = {name: _sheet_name(name, taken) for name in tables}
    for name, table in tables.items():
        links = _links(tables, names) if name == COMPARISON else {}
        _fill(book.create_sheet(names[name]), table, links)
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


def _links(tables: Mapping[str, Table], names: Mapping[str, str]) -> dict[tuple[int, int], str]:
    """Formulas of the comparison by row and column from 0, where they give its own figures.

    Rows and cost sheets come in the order of the alternatives; a split has no cost sheet and keeps its figures.
    """
    table = tables[COMPARISON]
    heads = [column.name for column in table.columns]
    costs = (name for name in tables if name.startswith(COST))
    found: dict[tuple[int, int], str] = {}

    def link(number: int, head: str, value: Cell | float, formula: str) -> None:
        if _alike(value, table.rows[number][heads.index(head)]):
            found[number, heads.index(head)] = formula

    for number, row in enumerate(table.rows):
        line = _first_row(table) + number
        a_part, volume = (f"{_letter(heads.index(head))}{line}" for head in ("a part", VOLUME))
        part, parts = (float(row[heads.index(head)]) for head in ("a part", VOLUME))
        link(number, "a year", part * parts, f"={a_part}*{volume}")
        if row[heads.index("kind")] == KIND_WORDS["split"]:
            continue
        name = next(costs)
        for head, column in (("a part", "total"), ("of it cash", "cash")):
            value, cells = _column_of(tables[name], column)
            link(number, head, value[-1], f"='{names[name]}'!{cells[-1]}")
        once = f"{ONCE}{name.removeprefix(COST)}"
        if once in tables:
            value, cells = _column_of(tables[once], "paid")
            paid = sum(amount for amount in value[:-1] if amount > 0.0)
            cells_paid = f"'{names[once]}'!{cells[0]}:{cells[-2]}"
            link(number, "once", paid, f'=SUMIF({cells_paid},">0")')
    return found


def _column_of(table: Table, name: str) -> tuple[list[float], list[str]]:
    """Figures of a column and the cells that hold them."""
    at, first = [column.name for column in table.columns].index(name), _first_row(table)
    values = [float(row[at]) for row in table.rows]
    return values, [f"{_letter(at)}{first + number}" for number in range(len(values))]


def _letter(at: int) -> str:
    from openpyxl.utils import get_column_letter

    return str(get_column_letter(at + 1))


def _first_row(table: Table) -> int:
    """The row of the sheet that holds the first row of the table."""
    return len(notes_of(table)) + 4


def _alike(value: Cell, other: Cell) -> bool:
    return (
        not isinstance(value, str)
        and not isinstance(other, str)
        and bool(np.isclose(value, other, rtol=SAME))
    )


def _fill(sheet: Worksheet, table: Table, links: Mapping[tuple[int, int], str]) -> None:
    """Title and notes, then headers, then rows; the sums of columns as formulas over the rows above them."""
    from openpyxl.styles import Alignment, Font

    for at, words in enumerate((table.title, *notes_of(table)), start=1):
        _put(sheet, at, 1, words).font = Font(bold=at == 1, italic=at > 1)
    first = _first_row(table)
    head = first - 1
    for at, column in enumerate(table.columns, start=1):
        cell = _put(sheet, head, at, column.header)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.column_dimensions[cell.column_letter].width = _width(table, at - 1)
    last = head + len(table.rows) - table.totals
    for number, row in enumerate(table.rows, start=first):
        for at, value in enumerate(row, start=1):
            cell = _put(sheet, number, at, value)
            if number > last and _is_sum(table, at - 1, value):
                cell.value = f"=SUM({cell.column_letter}{first}:{cell.column_letter}{last})"
            if (number - first, at - 1) in links:
                cell.value = links[number - first, at - 1]
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
