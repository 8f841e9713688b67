"""Changes that a person accepted, as cells of a year's rates: value, range, and where the row's figure comes from."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from pydantic_core import PydanticCustomError

from costmodel.errors import InputError, Problem
from costmodel.records.address import field_quantity
from costmodel.records.rate_sheet import (
    AS_WRITTEN,
    CellKey,
    Change,
    RateSheets,
    plain_text,
    split_number,
)
from costmodel.records.rates import rate_tables


class Given(NamedTuple):
    """The text of a cell and the change that it comes from."""

    text: str
    change: Change


def changed_cells(sheets: RateSheets, changes: Iterable[Change]) -> dict[CellKey, Given]:
    """The cells that changes write: value and range, and where they come from. Raises InputError."""
    listed, known = list(changes), sheets.cells()
    faults = [_misfit(change, known, sheets) for change in listed]
    if any(faults):
        raise InputError(fault for fault in faults if fault)
    found: dict[CellKey, Given] = {}
    headed = {change.cell[:2] for change in listed if change.cell is not None and _heads(change.cell)}
    for change in listed:
        assert change.cell is not None
        table, name, column = change.cell
        ends = column in ("low", "high") and (table, name) in headed
        words = (
            _words_of(change, sheets) if _heads(change.cell) else {} if ends else _noted(change, known, found)
        )
        for word, text in words.items():
            found[table, name, word] = Given(text, change)
    for change in listed:
        assert change.cell is not None
        found[change.cell] = Given(_cell_text(sheets, change.cell, change.value), change)
    return found


def _heads(key: CellKey) -> bool:
    """Whether a cell is its row's own figure, which source, date and status of the row are about."""
    return key[2] == rate_tables()[key[0]].headline


def _words_of(change: Change, sheets: RateSheets) -> dict[str, str]:
    """What a change of a row's own figure writes beside it: where it comes from, and its range."""
    assert change.cell is not None
    table, name, _ = change.cell
    ends = {word: getattr(change, word) for word in ("low", "high")}
    return {
        "source": change.source,
        "as_of": change.as_of.isoformat(),
        "owner": change.owner,
        "status": change.status,
        **{
            word: _cell_text(sheets, (table, name, word), text)
            for word, text in ends.items()
            if text and word in sheets.tables[table].columns
        },
    }


def _noted(change: Change, known: Mapping[CellKey, str], found: Mapping[CellKey, Given]) -> dict[str, str]:
    """The note of a row about a figure beside its own: the row's date stays the base of its escalation."""
    assert change.cell is not None
    table, name, column = change.cell
    key = (table, name, "note")
    if key not in known:
        return {}
    note = found[key].text if key in found else known[key]
    kept = [part for part in note.split("; ") if part and not part.startswith(f"{column}: ")]
    source = change.source.replace("; ", ", ")
    return {"note": "; ".join([*kept, f"{column}: {source}, {change.as_of}, {change.status}"])}


def _cell_text(sheets: RateSheets, key: CellKey, text: str) -> str:
    """A value as its cell takes it: bare where it bears the unit of its header."""
    number = split_number(text)
    bare = number is not None and number[1] and number[1] == sheets.tables[key[0]].unit(key[2])
    return plain_text(number[0], 12) if number and bare else text


def range_fault(table: str, record: Mapping[str, str]) -> str:
    """What to say of a row whose value is not in its own range; nothing where it is."""
    headline = rate_tables()[table].headline
    numbers = [split_number(record.get(word, "")) for word in ("low", headline, "high")]
    units = {number[1] for number in numbers if number}
    low, value, high = (number[0] if number else None for number in numbers)
    if value is None or len(units) > 1:
        return ""
    if (low is None or low <= value) and (high is None or value <= high):
        return ""
    return f"{headline} {value:g} is not from low {low} to high {high}: state them anew"


def _misfit(change: Change, known: Mapping[CellKey, str], sheets: RateSheets) -> Problem | None:
    if change.cell is None:
        expected = "an address such as rates.labour.operator.wage"
        return Problem(
            "changes", change.address, "", expected, "Inputs of parts and quotes stand in their files."
        )
    if change.cell not in known:
        return Problem(
            "changes", change.address, "", "a cell of the year", "Correct the name or add the row there."
        )
    if change.was and not _means(known[change.cell], change.was, change.cell, sheets):
        found, remedy = (
            f"{known[change.cell]}",
            "Look at the row again: it has changed since this was proposed.",
        )
        return Problem("changes", change.address, found, f'"{change.was}" as when it was proposed', remedy)
    return None


def _means(cell: str, was: str, key: CellKey, sheets: RateSheets) -> bool:
    """Whether a cell still holds the number that a change names, in whichever of its units."""
    table, _, column = key
    kind = rate_tables()[table]
    spec = field_quantity(kind, column) if column in kind.model_fields else None
    number = split_number(cell)
    if spec is None or number is None:
        return cell.strip() == was.strip()
    own = cell if number[1] else f"{cell} {sheets.tables[table].unit(column)}".strip()
    found = re.search(r'^home_currency\s*=\s*"(\w+)"', sheets.year_text, re.MULTILINE)
    home = found.group(1) if found else ""
    try:
        one, other = (float(spec.check(text, home) or 0.0) for text in (own, was))
    except PydanticCustomError:
        return False
    return abs(one - other) <= AS_WRITTEN * abs(one)
