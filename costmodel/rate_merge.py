"""Edits of a year's rates made elsewhere, put together with what the year's folder holds by now.

Three states of every cell: as it was taken away (base), as it comes back (edited), as it stands (here). Only what
was edited is applied. Where both sides changed a cell in different ways nothing at all is applied, and every such
cell is told with its three values.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from costmodel.errors import InputError, Problem
from costmodel.rate_changes import range_fault
from costmodel.records.faults import joined
from costmodel.records.rate_sheet import (
    CellKey,
    RateSheet,
    RateSheets,
    cell_changes,
    same_cell,
    split_number,
)

Row = dict[str, str]


@dataclass(frozen=True)
class Edited:
    """What came back: cells as taken away and as edited, rows added, reasons by address."""

    base: Mapping[CellKey, str]
    cells: Mapping[CellKey, str]
    added: Mapping[tuple[str, str], Row] = field(default_factory=dict)
    reasons: Mapping[str, str] = field(default_factory=dict)

    def changed(self) -> dict[CellKey, str]:
        """The cells that were edited."""
        return {key: text for key, text in self.cells.items() if not same_cell(self.base.get(key, ""), text)}

    def reason(self, key: CellKey) -> str:
        """Why a cell was edited, for the cell or for its row; nothing where nobody said."""
        return self.reasons.get(joined("rates", *key), self.reasons.get(joined("rates", *key[:2]), ""))


def merged(here: RateSheets, edited: Edited, file: str) -> RateSheets:
    """The year with the edits in it. Raises InputError with every conflict and every row that is missing."""
    now = here.cells()
    problems: list[Problem] = []
    new: dict[CellKey, str] = {}
    for key, text in edited.changed().items():
        base = edited.base.get(key, "")
        if key not in now:
            problems.append(
                _conflict(file, key, text, "a row that the year still has", "It was taken out here.")
            )
        elif same_cell(now[key], base):
            new[key] = text
        elif not same_cell(now[key], text):
            expected = f'"{base}" as it was taken away, but it is "{now[key]}" here by now'
            problems.append(_conflict(file, key, text, expected, "Settle which of the two holds."))
    problems += _missing(edited, file)
    known = {key[:2] for key in now}
    for (table, name), row in edited.added.items():
        if (table, name) in known and any(
            not same_cell(now.get((table, name, column), ""), text) for column, text in row.items()
        ):
            key = (table, name, "name")
            problems.append(
                _conflict(file, key, name, "a name that is free", "Another row took it meanwhile.")
            )
    if problems:
        raise InputError(problems)
    grown = {name: _with_rows(sheet, edited, known) for name, sheet in here.with_cells(new).tables.items()}
    return replace(here, tables=grown)


def _conflict(file: str, key: CellKey, found: str, expected: str, remedy: str) -> Problem:
    return Problem(file, joined("rates", *key), found, expected, remedy)


def _missing(edited: Edited, file: str) -> list[Problem]:
    rows = dict.fromkeys(key[:2] for key in edited.base if key not in edited.cells)
    remedy = "Put it back; a row is taken out in the year's folder, never by leaving it away."
    return [Problem(file, joined("rates", *row), "", "the row as it was taken away", remedy) for row in rows]


def _with_rows(sheet: RateSheet, edited: Edited, known: set[tuple[str, str]]) -> RateSheet:
    rows = [
        tuple(row.get(column, "") for column in sheet.columns)
        for (table, name), row in edited.added.items()
        if table == sheet.name and (table, name) not in known
    ]
    return replace(sheet, rows=(*sheet.rows, *rows))


def left_behind(before: RateSheets, after: RateSheets) -> tuple[str, ...]:
    """What edits of figures left behind in their rows: a source of before, a range that does not hold the value."""
    old, new = before.cells(), after.cells()
    rows = dict.fromkeys(key[:2] for key, _, text in cell_changes(old, new) if split_number(text))
    said = []
    for table, name in rows:
        words = [
            old.get((table, name, word)) == new[(table, name, word)] for word in ("source", "as_of", "status")
        ]
        if all(words):
            source = new[(table, name, "source")]
            said.append(f'{table}.{name}: source, date and status still are those of before ("{source}")')
        was, day = old.get((table, name, "as_of"), ""), new[table, name, "as_of"]
        if day < was:
            said.append(f"{table}.{name}: as_of went back from {was} to {day}")
        record = {word: new[key] for key in new if key[:2] == (table, name) for word in key[2:]}
        outside = range_fault(table, record)
        if outside:
            said.append(f"{table}.{name}: {outside}")
    return tuple(said)
