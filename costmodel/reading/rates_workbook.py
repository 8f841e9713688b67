"""A workbook of a year's rates as it comes back from a spreadsheet: what was edited, against what was taken away."""

from __future__ import annotations

import datetime
import difflib
import re
import warnings
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from costmodel.reading.found import Found, near_file
from costmodel.records.faults import joined
from costmodel.records.rate_sheet import (
    ABOUT,
    BASE,
    REASONS,
    YEAR_WORDS,
    CellKey,
    RateSheet,
    RateSheets,
    plain_text,
)
from costmodel.records.rates import rate_tables


class Returned(NamedTuple):
    """Cells as taken away and as they come back, rows that are new, reasons by address."""

    base: dict[CellKey, str]
    cells: dict[CellKey, str]
    added: dict[tuple[str, str], dict[str, str]]
    reasons: dict[str, str]


def read_workbook(path: Path | str, here: RateSheets) -> Returned:
    """Every cell of a workbook of rates, its headers held against those of the year. Raises InputError.

    A number means what its header says: with another unit there, every cell of the column would mean another amount.
    """
    path, found = Path(path), Found()
    book = _book(path, found)
    found.stop()
    base = {(row[0], row[1], row[2]): row[3] for row in _texts(book[BASE], 4)[1:]} if BASE in book else {}
    if not base:
        expected, remedy = "the hidden sheet that tells what was edited", "Take a new workbook of the year."
        found.add(path, BASE, "", expected, remedy)
    _check_year(path, book, here.year_text, found)
    cells: dict[CellKey, str] = {}
    added: dict[tuple[str, str], dict[str, str]] = {}
    for name in rate_tables():
        if name not in book:
            found.add(path, name, "", "a sheet for each table", "Put the sheet back under its name.")
            continue
        _check_header(path, name, book[name], here.tables[name], found)
        for row in _rows(path, name, book[name], found):
            kept = {column: text for column, text in row.items() if (name, row["name"], column) in base}
            if kept:
                cells |= {(name, row["name"], column): text for column, text in kept.items()}
            else:
                added[name, row["name"]] = row
    rows = [*base, *((table, name, column) for (table, name), row in added.items() for column in row)]
    reasons = _reasons(path, book, rows, found)
    found.stop()
    return Returned(base, cells, added, reasons)


def _book(path: Path, found: Found) -> Any:
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    if not path.is_file():
        found.add(path, "file", str(path), "a file that exists", near_file(path))
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # parts of a workbook that are not kept, such as pictures
            return load_workbook(path, data_only=True)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, OSError) as error:
        found.add(path, "file", "", f"a workbook ({type(error).__name__})", "Save it anew as .xlsx.")
    return None


def _texts(sheet: Any, width: int) -> list[list[str]]:
    return [[_text(cell) for cell in row] for row in sheet.iter_rows(max_col=width, values_only=True)]


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    if isinstance(value, bool):
        return "yes" if value else "no"
    return plain_text(float(value), 12) if isinstance(value, (int, float)) else str(value).strip()


def _reasons(path: Path, book: Any, cells: list[CellKey], found: Found) -> dict[str, str]:
    """Reasons by address, each of a cell or a row of the workbook."""
    lines = _texts(book[REASONS], 2)[1:] if REASONS in book else []
    given = {address: (number, why) for number, (address, why) in enumerate(lines, start=2) if address}
    known = {joined("rates", *key[:length]) for key in cells for length in (2, 3)} if given else set()
    for address, (number, _) in given.items():
        if address not in known:
            near = difflib.get_close_matches(address, known, n=1, cutoff=0.5)
            remedy = f'Did you mean "{near[0]}"?' if near else "Write it so: rates.labour.operator.wage."
            expected = "the address of a cell or a row of the workbook"
            found.add(path, f"{REASONS}!A{number}", address, expected, remedy)
    return {address: why for address, (_, why) in given.items()}


def _check_year(path: Path, book: Any, year_text: str, found: Found) -> None:
    """The sheet about the workbook names the year that it was taken from."""
    rows = enumerate(_texts(book[ABOUT], 2) if ABOUT in book else [], start=1)
    place, taken = next(((f"{ABOUT}!B{at}", row[1]) for at, row in rows if row[0] == YEAR_WORDS), ("", ""))
    year = re.search(r"^year\s*=\s*(\d{4})", year_text, re.MULTILINE)
    if place and year and taken != year.group(1):
        expected = f"a workbook of {year.group(1)}, the year that it is applied to"
        found.add(
            path, place, taken, expected, f"Apply it to {taken}, or take a workbook of {year.group(1)}."
        )


def _check_header(path: Path, name: str, sheet: Any, table: RateSheet, found: Found) -> None:
    remedy = "Put the header back; another unit stands in the cell itself, as 9.20 USD/kg."
    seen: dict[str, str] = {}
    for cell in sheet[1]:
        text, place = _text(cell.value), f"{name}!{cell.coordinate}"
        column = RateSheet(name, (text,), ()).columns[0]
        if text in table.header and column not in seen:
            seen[column] = text
        elif column in seen:
            found.add(path, place, text, "each column once", "Take one of the two out.")
        elif column in table.columns:
            seen[column] = text
            expected = f'the header "{table.header[table.columns.index(column)]}" of the year'
            found.add(path, place, text, expected, remedy)
        elif any(row[0] is not None for row in sheet.iter_rows(
            2, min_col=cell.column, max_col=cell.column, values_only=True
        )):  # fmt: skip
            found.add(path, place, text, "a header of the year over each column", remedy)
    for column, text in zip(table.columns, table.header, strict=True):
        if column not in seen:
            found.add(path, f"{name}!1:1", "", f'the column "{text}"', "Put the column back.")


def _rows(path: Path, name: str, sheet: Any, found: Found) -> Iterator[dict[str, str]]:
    lines = _texts(sheet, sheet.max_column)
    table = RateSheet(name, tuple(lines[0]), ())
    seen: set[str] = set()
    for number, line in enumerate(lines[1:], start=2):
        if not any(line):
            continue
        row = {column: text for column, text in zip(table.columns, line, strict=False) if column}
        place = f"{name}!A{number}"
        if not row.get("name"):
            found.add(path, place, "", "a name in every row", "Fill it in.")
        elif row["name"] in seen:
            found.add(path, place, row["name"], "a name used once", "Give this row another name.")
        else:
            seen.add(row["name"])
            yield row
