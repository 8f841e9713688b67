"""A table file as a grid of cells that know their place: CSV as any office writes it, or sheets of XLSX."""

from __future__ import annotations

import csv
import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from costmodel.reading.found import Found, near_file
from costmodel.reading.numbers import decimal_mark, proves_mark, shows_mark

DELIMITERS = (",", ";", "\t")
LINES_LOOKED_AT = 12
_LETTERS = 26
_XLSX = (".xlsx", ".xlsm")
_OTHER_SHEETS = (".xls", ".ods", ".numbers", ".xlsb", ".pdf", ".docx")


@dataclass(frozen=True)
class Cell:
    """What stands in one cell: its value, the remark pinned to it, and the currency of its number format."""

    value: str | float | datetime.date = ""
    note: str = ""
    currency: str = ""

    @property
    def text(self) -> str:
        """The value as text; a number in full, with a decimal point."""
        if isinstance(self.value, float):
            return (
                str(int(self.value))
                if self.value.is_integer() and abs(self.value) < 1e15
                else repr(self.value)
            )
        if isinstance(self.value, datetime.date):
            return self.value.isoformat()
        return self.value.strip()


EMPTY = Cell()


@dataclass(frozen=True)
class Grid:
    """The cells of one sheet, row by row. ``sheet`` is empty for CSV."""

    sheet: str
    rows: tuple[tuple[Cell, ...], ...]
    mark: str = ""
    """The decimal mark that the file declares, or a comma that its numbers prove; empty for none."""
    commas: bool = False
    """Whether numbers of the file show a decimal comma."""
    proven: bool = False
    """Whether the mark is not declared but proven: numbers can only have a comma, and none can only have a point."""

    def place(self, row: int, column: int) -> str:
        """Where a cell is, as a spreadsheet names it: ``Offers!F7``, in CSV ``row 7, F7``."""
        name = f"{letters(column)}{row + 1}"
        return f"{self.sheet}!{name}" if self.sheet else f"row {row + 1}, cell {name}"

    def row_place(self, row: int) -> str:
        """Where a row is."""
        return f"{self.sheet}!{row + 1}:{row + 1}" if self.sheet else f"row {row + 1}"


def letters(column: int) -> str:
    """The name of a column counted from 0: A to Z, AA and so on."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, _LETTERS)
        name = chr(ord("A") + rest) + name
    return name


def read_grids(path: Path, found: Found, decimal: str = "") -> tuple[Grid, ...]:
    """Every sheet of a file that holds anything; none, with the problem noted, where it cannot be opened.

    `decimal` is a decimal mark declared for the file by its reader.
    """
    if not path.is_file():
        expected = "a file to read, no directory" if path.is_dir() else "a file that exists"
        remedy = "Name the file, not its folder." if path.is_dir() else near_file(path)
        found.add(path, "file", str(path), expected, remedy)
        return ()
    if path.suffix.lower() in _OTHER_SHEETS:
        found.add(path, "file", path.suffix, "CSV or XLSX", "Open it and save it as .xlsx.")
        return ()
    grids = _sheets(path, found) if path.suffix.lower() in _XLSX else _csv(path, found)
    return tuple(
        _with_marks(grid, decimal) for grid in grids if any(any(c.text for c in row) for row in grid.rows)
    )


def _with_marks(grid: Grid, decimal: str) -> Grid:
    declared = decimal_mark(decimal)
    for row in grid.rows[:LINES_LOOKED_AT]:
        words = [cell.text.lower().rstrip(": ") for cell in row if cell.text]
        if words and words[0] in ("decimal mark", "decimal", "decimal separator") and len(words) > 1:
            declared = decimal_mark(words[1])
    texts = [cell.value.strip() for row in grid.rows for cell in row if isinstance(cell.value, str)]
    commas = grid.commas or any(shows_mark(text, ",") for text in texts)
    proven = not declared and any(proves_mark(text, ",") for text in texts)
    proven = proven and not any(shows_mark(text, ".") for text in texts)
    return replace(grid, mark="," if proven else declared, commas=commas, proven=proven)


def _csv(path: Path, found: Found) -> Iterator[Grid]:
    content = path.read_bytes()
    encoding = "utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found.add(path, f"row {line}", "", "text in UTF-8", "Save the file as CSV UTF-8.")
        return
    if "\0" in text:
        found.add(path, "file", "", "a text file", "Save it as CSV UTF-8 or as .xlsx.")
        return
    declared = re.match(r"sep=(.)\r?\n", text)
    delimiter = declared.group(1) if declared else _delimiter(text)
    body = text[declared.end() :] if declared else text
    lines = list(csv.reader(io.StringIO(body, newline=""), delimiter=delimiter))
    first = [()] if declared else []
    rows = (*first, *(tuple(Cell(value) for value in line) for line in lines))
    yield Grid("", rows, commas=delimiter == ";")


def _delimiter(text: str) -> str:
    """The sign that parts the most cells in one of the first lines."""
    head = "".join(text.splitlines(keepends=True)[:LINES_LOOKED_AT])

    def parts(delimiter: str) -> int:
        return max(
            (len(line) for line in csv.reader(io.StringIO(head, newline=""), delimiter=delimiter)), default=0
        )

    return max(DELIMITERS, key=parts)


def _sheets(path: Path, found: Found) -> Iterator[Grid]:
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            written = load_workbook(path)
            formulas = any(c.data_type == "f" for s in written for row in s.iter_rows() for c in row)
            valued = load_workbook(path, data_only=True) if formulas else written
    except (InvalidFileException, zipfile.BadZipFile, KeyError, OSError, ValueError):
        found.add(
            path, "file", "", "a workbook that opens", "Open it, save it anew as .xlsx, or save it as CSV."
        )
        return
    for sheet in written.worksheets:
        if sheet.sheet_state == "visible":
            yield Grid(sheet.title, _sheet_rows(path, sheet, valued[sheet.title], found))


def _sheet_rows(path: Path, sheet: Any, valued: Any, found: Found) -> tuple[tuple[Cell, ...], ...]:
    cells = {(c.row - 1, c.column - 1): c for row in sheet.iter_rows() for c in row if c.value is not None}
    if not cells:
        return ()
    height, width = (max(place[side] for place in cells) + 1 for side in (0, 1))
    grid = [[EMPTY] * width for _ in range(height)]
    for (row, column), cell in cells.items():
        value = cell.value
        if cell.data_type == "f":
            value = valued.cell(row + 1, column + 1).value
            if value is None:
                place = f"{sheet.title}!{cell.coordinate}"
                remedy = "Open the file in a spreadsheet and save it, or write the value."
                found.add(path, place, str(cell.value)[:40], "a formula with its result", remedy)
                continue
        grid[row][column] = _cell(value, cell)
    for merged in sheet.merged_cells.ranges:
        _fill(grid, merged)
    return tuple(tuple(row) for row in grid)


def _cell(value: Any, cell: Any) -> Cell:
    note = cell.comment.text.strip() if cell.comment else ""
    shown = str(cell.number_format or "")
    if isinstance(value, bool):
        return Cell("yes" if value else "no", note)
    if isinstance(value, (int, float)):
        number = float(value)
        if "%" in shown:
            return Cell(f"{number * 100:.12g} %", note)
        return Cell(number, note, _format_currency(shown))
    if isinstance(value, (datetime.datetime, datetime.date)):
        return Cell(value.date() if isinstance(value, datetime.datetime) else value, note)
    return Cell(str(value), note)


def _format_currency(shown: str) -> str:
    """The currency sign in a number format; ``[$-407]`` is a language, no sign."""
    shown = re.sub(r"\[\$-[^\]]*\]", "", shown)
    found = re.search(r"\[\$([^\]-]+)|\"([^\"]{1,3})\"|([\u20ac\u00a3\u00a5$])", shown)
    return next((part.strip() for part in found.groups() if part), "") if found else ""


def _fill(grid: list[list[Cell]], merged: Any) -> None:
    """A merged cell holds for every cell that it covers."""
    top, left = merged.min_row - 1, merged.min_col - 1
    if top >= len(grid) or left >= len(grid[top]):
        return
    for row in range(top, min(merged.max_row, len(grid))):
        for column in range(left, min(merged.max_col, len(grid[row]))):
            grid[row][column] = grid[top][left]
