"""Delivery logs from CSV or XLSX, with their columns under the names people use."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from costmodel.reading.found import Found
from costmodel.reading.grid import EMPTY, Cell, Grid, read_grids
from costmodel.reading.numbers import QuestionError, day, understood, whole_parts
from costmodel.records.deliveries import DeliveryLog, delivery_faults
from costmodel.records.faults import problems

COLUMNS = {
    "order": ("order no", "order number", "po", "po number", "purchase order"),
    "ordered": ("order date", "ordered on", "date ordered", "po date"),
    "promised": (
        "promise date",
        "promised on",
        "due",
        "due date",
        "confirmed",
        "date promised",
        "delivery promised",
    ),
    "received": (
        "receipt date",
        "received on",
        "date received",
        "goods receipt",
        "delivered",
        "delivery date",
    ),
    "quantity": ("qty", "parts", "received quantity", "quantity received", "qty received", "parts received"),
    "rejected": ("rejects", "rejected quantity", "qty rejected", "rejected parts", "parts rejected", "bad"),
    "supplier": ("vendor", "source", "name"),
}
_DATES = ("ordered", "promised", "received")
_NUMBERS = ("quantity", "rejected")
_FIELDS = {word: field for field, words in COLUMNS.items() for word in (field, *words)}
_ROWS_LOOKED_AT = 20


def deliveries_of(
    path: Path, found: Found, suppliers: tuple[str, ...] = (), *, named_only: bool = True
) -> DeliveryLog | None:
    """The deliveries of a log, of one supplier by any of its names where the log has several; None with problems noted.

    A row without a day of receipt is an order still open; it is listed, not counted. `named_only` asks for a column
    supplier; without it a log that has none is taken for that supplier's own.
    """
    before = len(found.problems)
    for grid in read_grids(path, found):
        header = _header(grid)
        if header is not None:
            theirs = suppliers if named_only or "supplier" in header[1] else ()
            return _log(path, grid, header, found, tuple(name for name in theirs if name))
    if len(found.problems) == before:
        needed = ", ".join(field for field in COLUMNS if field != "supplier")
        found.add(path, "row 1", "", f"a header with {needed}", "Name the columns so.")
    return None


def _header(grid: Grid) -> tuple[int, dict[str, int]] | None:
    for at, row in enumerate(grid.rows[:_ROWS_LOOKED_AT]):
        names = {_field(cell): column for column, cell in reversed(list(enumerate(row))) if _field(cell)}
        if len(names.keys() & {"ordered", "promised", "received", "quantity"}) > 1:
            return at, names
    return None


def _field(cell: Cell) -> str:
    words = re.sub(r"\[[^\]]*\]|\([^)]*\)", " ", cell.text)
    return _FIELDS.get(re.sub(r"[\W_]+", " ", words.lower()).strip(), "")


def _log(
    path: Path, grid: Grid, header: tuple[int, dict[str, int]], found: Found, suppliers: tuple[str, ...]
) -> DeliveryLog | None:
    first, columns = header
    before = len(found.problems)
    for name in ("ordered", "promised", "received", "quantity", "rejected"):
        if name not in columns:
            remedy = "Add the column; nothing stands for it."
            found.add(path, grid.row_place(first), "", f"a column {name}", remedy)
    if len(found.problems) > before:
        return None
    still_open: list[str] = []
    wanted = [name.lower() for name in suppliers]
    values: dict[str, list[Any]] = {name: [] for name in ("orders", *_DATES, *_NUMBERS)}
    for at in range(first + 1, len(grid.rows)):
        cells = {name: _at(grid, at, column) for name, column in columns.items()}
        if not any(cell.text for cell in cells.values()):
            continue
        if suppliers and cells.get("supplier", EMPTY).text.lower() not in wanted:
            continue
        order = cells.get("order", EMPTY).text or grid.row_place(at)
        if not cells["received"].text:
            still_open.append(order)
            continue
        row = {
            name: _value(path, grid, at, columns[name], name, cells[name], found)
            for name in (*_DATES, *_NUMBERS)
        }
        checked = {name: row[name] for name in ("ordered", "received", "quantity", "rejected")}
        for fault in delivery_faults(at, **checked):
            field = fault.place.rpartition(".")[2]
            place = f"{grid.place(at, columns[field])} ({field})"
            found.add(path, place, fault.value, fault.expected, fault.remedy)
        if None not in row.values():
            for name, value in {"orders": order, **row}.items():
                values[name].append(value)
    if len(found.problems) > before:
        return None
    if suppliers and not values["orders"]:
        there = dict.fromkeys(
            _at(grid, at, columns["supplier"]).text for at in range(first + 1, len(grid.rows))
        )
        known = (
            ", ".join(name for name in there if name) if "supplier" in columns else "it has no such column"
        )
        expected = f"a supplier with deliveries in the log (there are: {known})"
        found.add(path, "column supplier", " or ".join(suppliers), expected, "Correct the name.")
        return None
    try:
        fields: dict[str, Any] = {name: tuple(column) for name, column in values.items()}
        return DeliveryLog(
            name=suppliers[0] if suppliers else path.stem, still_open=tuple(still_open), **fields
        )
    except ValidationError as error:
        found.problems += problems(error, path.name, prefix="rows")
    return None


def _at(grid: Grid, row: int, column: int) -> Cell:
    return grid.rows[row][column] if column < len(grid.rows[row]) else EMPTY


def _value(path: Path, grid: Grid, at: int, column: int, name: str, cell: Cell, found: Found) -> Any:
    """A date or a number of parts; None with the question noted."""
    try:
        if name in _DATES:
            return day(cell.value)
        if isinstance(cell.value, float):
            return cell.value
        if name == "rejected" and cell.text in ("", "-"):
            raise QuestionError(
                "how many were rejected", "Write 0 where none was; an empty cell may be unknown."
            )
        known = understood(whole_parts(cell.text, grid.mark, proven=grid.proven), grid.mark, grid.commas)
        if known.rest.lower() not in ("", "pcs", "pc", "part", "parts", "ea"):
            raise QuestionError("a number of parts", f'Take "{known.rest}" out.')
        return float(known.number)
    except QuestionError as question:
        found.add(path, f"{grid.place(at, column)} ({name})", cell.text, question.expected, question.remedy)
        return None
