"""A year's rates as one workbook: a sheet a table, units in headers, choices in drop-downs, notes on each column."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any, Literal, get_args, get_origin

from costmodel.cautions import INVENTED_WORDS
from costmodel.records.address import field_quantity
from costmodel.records.rate_sheet import (
    ABOUT,
    BASE,
    REASONS,
    YEAR_WORDS,
    RateSheet,
    RateSheets,
    split_number,
)
from costmodel.records.rates import rate_tables

ROOM = 60
"""Rows below the last for which drop-downs and notes hold, so that rows can be added."""
_WIDEST, _NARROWEST = 46, 9
_NAMED = {"operator": "labour", "energy": "energy", "space": "spaces", "series": "indices"}
_WORDS = {
    "name": "Name of the row, used in addresses. Letters, digits, dots, dashes.",
    "source": "Where the figure comes from: offer, invoice, meter, list, person.",
    "as_of": "Day of the figure, as 2026-03-31. Its month is the base month of an escalation.",
    "owner": "Role that keeps it true.",
    "status": "guess, quoted or measured.",
    "series": "The index series that escalates it; a row of the sheet indices. Empty: nothing does.",
    "low": "Value that one time in ten is not reached, about.",
    "high": "Value that one time in ten is exceeded, about.",
}


def to_workbook(sheets: RateSheets, year: str, home: str, *, invented: bool) -> bytes:
    """The workbook as bytes. A hidden sheet keeps every cell as it was taken away, to know the edits by."""
    from openpyxl import Workbook

    book = Workbook()
    about = book.active
    about.title = ABOUT
    _about(about, year, invented=invented)
    for name, sheet in sheets.tables.items():
        _fill(book.create_sheet(name), sheet, sheets.tables, home)
    reasons = book.create_sheet(REASONS)
    reasons.append(("address", "why"))
    _look(reasons, (44, 60))
    base = book.create_sheet(BASE)
    base.sheet_state = "hidden"
    base.append(("table", "name", "column", "text"))
    for key, text in sheets.cells().items():
        _text_row(base, (*key, text))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _about(sheet: Any, year: str, *, invented: bool) -> None:
    lines = [
        (YEAR_WORDS, year),
        (
            "How to",
            "Edit the white cells of the sheets, save, and bring the file back with: costmodel rates apply.",
        ),
        ("Units", "A header states the unit of its column. A cell may state another one: 9.20 USD/ft2/yr."),
        ("New rows", "Add them below the last row of a sheet. A row is never taken out by deleting it here."),
        (
            "Reasons",
            f"On the sheet {REASONS}: rates.labour.operator.wage, and why. Else --why holds for all.",
        ),
        ("Leave alone", "Headers, sheet names and the hidden sheet, which tells what was edited."),
    ]
    for line in [*lines, *([("Data", INVENTED_WORDS)] if invented else [])]:
        _text_row(sheet, line)
    sheet.column_dimensions["A"].width = 14
    sheet.column_dimensions["B"].width = 110


def _text_row(sheet: Any, texts: tuple[str, ...]) -> None:
    """A row of text, whatever signs it starts with."""
    row = sheet.max_row + 1 if sheet["A1"].value is not None else 1
    for column, text in enumerate(texts, start=1):
        cell = sheet.cell(row, column, text)
        cell.data_type = "s" if text else "n"


def _fill(sheet: Any, table: RateSheet, tables: Mapping[str, RateSheet], home: str) -> None:
    from openpyxl.comments import Comment
    from openpyxl.utils import get_column_letter

    for at, (text, column) in enumerate(zip(table.header, table.columns, strict=True), start=1):
        head = sheet.cell(1, at, text)
        note = _note(table.name, column, home)
        if note:
            head.comment = Comment(note, "costmodel", width=320, height=110)
        choices = _choices(table.name, column, tables)
        if choices:
            letter = get_column_letter(at)
            sheet.add_data_validation(_drop_down(choices, f"{letter}2:{letter}{len(table.rows) + 1 + ROOM}"))
    for number, row in enumerate(table.rows, start=2):
        for at, text in enumerate(row, start=1):
            _write(sheet.cell(number, at), text)
    longest = [
        max([len(text), *(len(row[at]) for row in table.rows)]) for at, text in enumerate(table.header)
    ]
    _look(sheet, tuple(min(_WIDEST, max(_NARROWEST, length + 2)) for length in longest))


def _write(cell: Any, text: str) -> None:
    """A bare number as a number, all else as text, so that no sheet takes it for a formula or a date."""
    number = split_number(text)
    if number is not None and not number[1]:
        cell.value = int(number[0]) if number[0].is_integer() else number[0]
    elif text:
        cell.value = text
        cell.data_type = "s"
        cell.number_format = "@"


def _note(table: str, column: str, home: str) -> str:
    kind = rate_tables()[table]
    spec = field_quantity(kind, column) if column in kind.model_fields else None
    expected = f"Takes {spec.expected(home)}." if spec is not None else ""
    needed = ""
    if column in kind.model_fields:
        needed = "Needed." if kind.model_fields[column].is_required() else "May be empty."
    return " ".join(word for word in (_WORDS.get(column, ""), expected, needed) if word)


def _choices(table: str, column: str, tables: Mapping[str, RateSheet]) -> str:
    """The drop-down of a column: the words of its field, or the names of another sheet's rows."""
    if column in _NAMED:
        return f"{_NAMED[column]}!$A$2:$A${len(tables[_NAMED[column]].rows) + 1 + ROOM}"
    kind = rate_tables()[table]
    annotation = kind.model_fields[column].annotation if column in kind.model_fields else None
    return f'"{",".join(get_args(annotation))}"' if get_origin(annotation) is Literal else ""


def _drop_down(choices: str, cells: str) -> Any:
    from openpyxl.worksheet.datavalidation import DataValidation

    validation = DataValidation(type="list", formula1=choices, allow_blank=True, showErrorMessage=True)
    validation.errorTitle, validation.error = "Not one of the choices", "Choose from the list."
    validation.add(cells)
    return validation


def _look(sheet: Any, widths: tuple[int, ...]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    for at, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(at)].width = width
    for cell in sheet[1]:
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="E3E7EA")
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "B2"
