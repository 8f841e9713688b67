"""A new year's rates from the old: escalated by index, carried over or replaced, with what a person must confirm.

Ratio method, as statistical offices publish it: new price = old price x index now / index of the base month. The
base month of a row is that of its ``as_of``. Index points are never used: they depend on the base year.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from costmodel.formulas.escalation import escalated_price, relative_change
from costmodel.rate_changes import Given, changed_cells, range_fault
from costmodel.records.address import field_quantity
from costmodel.records.faults import joined
from costmodel.records.rate_sheet import (
    CellKey,
    Change,
    Observation,
    RateSheet,
    RateSheets,
    cell_changes,
    plain_text,
    split_number,
)
from costmodel.records.rates import rate_tables

Mark = Literal["carried", "escalated", "replaced"]

LARGE_JUMP = 0.10
STALE_DAYS = 300
LOG_COLUMNS = (
    *("when", "who", "why", "table", "name", "column", "was", "new", "mark"),
    *("series", "base_month", "base_index", "month", "index"),
    *("n", "spread", "low", "high", "how", "source"),
)
_NO_INDEX = ("",) * 5


class IndexUse(NamedTuple):
    """The two values of a series that escalated a row."""

    series: str
    base_month: str
    base_value: float
    month: str
    value: float
    preliminary: bool

    @property
    def change(self) -> float:
        """Relative change from the base month [fraction]."""
        return float(relative_change(self.base_value, self.value))


class RowUpdate(NamedTuple):
    """What became of one row: its mark, its index values, its changed cells, why a person must look at it."""

    table: str
    name: str
    mark: Mark
    used: IndexUse | None
    changes: tuple[tuple[str, str, str], ...]
    """Column, text before, text after."""
    confirm: tuple[str, ...]


@dataclass(frozen=True)
class YearUpdate:
    """A new year as text and what became of every row."""

    sheets: RateSheets
    rows: tuple[RowUpdate, ...]
    given: Mapping[CellKey, Given] = field(default_factory=dict)
    """The cells that a person replaced, each with the change that it comes from."""

    def marked(self, mark: Mark) -> tuple[RowUpdate, ...]:
        """The rows with a mark."""
        return tuple(row for row in self.rows if row.mark == mark)

    def to_confirm(self) -> tuple[RowUpdate, ...]:
        """The rows that a person must look at."""
        return tuple(row for row in self.rows if row.confirm)


def new_year(
    old: RateSheets,
    year: int,
    observations: Iterable[Observation],
    *,
    until: str = "",
    replacements: Iterable[Change] = (),
    large_jump: float = LARGE_JUMP,
    stale_days: int = STALE_DAYS,
) -> YearUpdate:
    """The tables of `year` from those of an old one, escalated to the last index month or to month `until`.

    A row whose series has a value for its base month and a later one is escalated: every amount of money in it. The
    cells of `replacements` take those values instead; a row whose own figure is among them is not escalated. Every
    other row is carried. Raises InputError for a
    replacement that fits no cell.
    """
    first_day = datetime.date(year, 1, 1)
    known = _by_series(observations, until)
    given = changed_cells(old, (change for change in replacements if change.accept != "no"))
    rows: list[RowUpdate] = []
    cells: dict[CellKey, str] = {}
    for table in old.tables.values():
        for record in table.records():
            own = {column: cell.text for (where, name, column), cell in given.items()
                   if (where, name) == (table.name, record["name"])}  # fmt: skip
            index = None if rate_tables()[table.name].headline in own else _index_of(record, known)
            new = {**_escalated(table, record, index, old_year=_year_of(old.year_text)), **own}
            changed = tuple((column, record[column], text) for column, text in new.items())
            mark: Mark = "escalated" if index else "replaced" if own else "carried"
            cells |= {(table.name, record["name"], column): text for column, text in new.items()}
            after = {**record, **new}
            confirm = tuple(
                _to_confirm(table, after, mark, index, first_day, large_jump, stale_days, changed)
            )
            rows.append(RowUpdate(table.name, record["name"], mark, index, changed, confirm))
    text = _year_text(old.year_text, year)
    return YearUpdate(RateSheets(text, old.with_cells(cells).tables), tuple(rows), given)


def _by_series(observations: Iterable[Observation], until: str) -> dict[str, dict[str, Observation]]:
    known: dict[str, dict[str, Observation]] = {}
    for row in observations:
        if not until or row.month <= until:
            known.setdefault(row.series, {})[row.month] = row
    return known


def _index_of(record: Mapping[str, str], known: Mapping[str, dict[str, Observation]]) -> IndexUse | None:
    months = known.get(record.get("series", ""), {})
    base = months.get(record["as_of"][:7])
    last = months[max(months)] if months else None
    if base is None or last is None or last.month < base.month:
        return None
    preliminary = "preliminary" in (base.state, last.state)
    return IndexUse(base.series, base.month, float(base.value), last.month, float(last.value), preliminary)


def _money_columns(table: RateSheet) -> Iterator[str]:
    kind = rate_tables()[table.name]
    for column in table.columns:
        spec = field_quantity(kind, column) if column in kind.model_fields else None
        if spec is not None and spec.unit.startswith("money"):
            yield column


def _escalated(
    table: RateSheet, record: Mapping[str, str], index: IndexUse | None, old_year: int
) -> dict[str, str]:
    """The cells that an index moves: every amount of money, then source, date and status of the row."""
    if index is None:
        return {}
    new: dict[str, str] = {}
    for column in _money_columns(table):
        number = split_number(record[column])
        if number is not None and index.value != index.base_value:
            value = float(escalated_price(number[0], index.base_value, index.value))
            new[column] = f"{plain_text(value)} {number[1]}".strip()
    if index.month == index.base_month:
        return new
    source = (
        f"escalated from {old_year} by {index.series}, {index.base_month}: {index.base_value:g}, "
        f"{index.month}: {index.value:g}; before: {record['source']}"
    )
    return {**new, "source": source, "as_of": f"{index.month}-01", "status": "guess"}


def _to_confirm(
    table: RateSheet,
    record: Mapping[str, str],
    mark: Mark,
    index: IndexUse | None,
    first_day: datetime.date,
    large_jump: float,
    stale_days: int,
    changed: Iterable[tuple[str, str, str]],
) -> Iterator[str]:
    age = (first_day - datetime.date.fromisoformat(record["as_of"])).days
    if mark == "carried" and age > stale_days:
        yield f"stale: {age} days old when the year begins"
    if record["status"] == "guess":
        yield "an escalated figure, no longer an offer" if mark == "escalated" else "a guess"
    if mark == "carried" and any(record[column] for column in _money_columns(table)):
        series = record.get("series", "")
        yield f"no index value for {series} in its base month" if series else "follows no index series"
    if index is not None and index.preliminary:
        yield "the index value is preliminary and will be revised"
    outside = range_fault(table.name, record)
    if outside:
        yield outside
    for column, was, now in changed:
        jump = _jump(was, now)
        if abs(jump) > large_jump:
            yield f"large jump: {column} {jump:+.1%}"
    last = record.get("valid_to", "")
    if last and datetime.date.fromisoformat(last) < first_day:
        yield f"ended on {last}, before the year"
    elif last and datetime.date.fromisoformat(last) < first_day.replace(month=12, day=31):
        yield f"ends on {last}, within the year"


def _jump(was: str, now: str) -> float:
    one, other = split_number(was), split_number(now)
    if one is None or other is None or one[1] != other[1] or one[0] <= 0.0 or other[0] <= 0.0:
        return 0.0
    return float(relative_change(one[0], other[0]))


def _year_of(text: str) -> int:
    found = re.search(r"^year\s*=\s*(\d{4})", text, re.MULTILINE)
    return int(found.group(1)) if found else 0


def _year_text(old: str, year: int) -> str:
    """The year.toml of the new year: its dates moved by whole years, its note about its origin."""
    by = year - _year_of(old)
    moved = re.sub(
        r"^(valid_from|valid_to|review_by)(\s*=\s*)(\d{4})",
        lambda found: f"{found.group(1)}{found.group(2)}{int(found.group(3)) + by}",
        old,
        flags=re.MULTILINE,
    )
    moved = re.sub(r"^year(\s*=\s*)\d{4}", rf"year\g<1>{year}", moved, flags=re.MULTILINE)
    moved = re.sub(r"^note\s*=.*\n?", "", moved, flags=re.MULTILINE)
    note = f"Made from the rates of {year - by}; see its change log and what is to confirm."
    return f'{moved.rstrip()}\nnote = "{note}"\n'


def log_rows(update: YearUpdate, when: str, who: str, why: str) -> Iterator[tuple[str, ...]]:
    """One row for each changed cell, and one for each row that was carried as it is."""
    for row in update.rows:
        index = row.used
        used = (
            (index.series, index.base_month, f"{index.base_value:g}", index.month, f"{index.value:g}")
            if index
            else _NO_INDEX
        )
        for column, was, now in row.changes or (("", "", ""),):
            given = update.given.get((row.table, row.name, column))
            reason, found = _found(given, why)
            mark, index_words = ("replaced", _NO_INDEX) if given else (row.mark, used)
            yield (when, who, reason, row.table, row.name, column, was, now, mark, *index_words, *found)


def _found(cell: Given | None, why: str) -> tuple[str, tuple[str, ...]]:
    """Why a cell is as it is, and how a measured value was found."""
    if cell is None:
        return why, ("",) * 6
    change = cell.change
    more = (f"{change.n or ''}", change.spread, change.low, change.high, change.how, change.source)
    return change.why or why, more


def cell_log_rows(
    before: RateSheets,
    after: RateSheets,
    when: str,
    who: str,
    why: Mapping[CellKey, str],
    else_why: str,
    given: Mapping[CellKey, Given] | None = None,
) -> Iterator[tuple[str, ...]]:
    """One row for each cell that differs between two states of a year."""
    old, new = before.cells(), after.cells()
    found = [(key, was, now, "replaced") for key, was, now in cell_changes(old, new)]
    found += [(key, "", now, "new row") for key, now in new.items() if key not in old and now]
    for (table, name, column), was, now, mark in found:
        key = (table, name, column)
        reason, more = _found((given or {}).get(key), why.get(key, else_why))
        yield (when, who, reason, table, name, column, was, now, mark, *_NO_INDEX, *more)


def log_text(log: str, rows: Iterable[tuple[str, ...]]) -> str:
    """A change log with rows added at its end; a log with fewer columns is widened."""
    kept = [row for row in csv.reader(io.StringIO(log)) if row][1:]
    wide = [(*row, *("",) * (len(LOG_COLUMNS) - len(row))) for row in kept]
    return csv_text([LOG_COLUMNS, *wide, *rows])


def confirm_text(update: YearUpdate) -> str:
    """The list of what a person must confirm, as CSV."""
    rows = [
        (joined("rates", row.table, row.name), row.mark, reason)
        for row in update.to_confirm()
        for reason in row.confirm
    ]
    return csv_text([("row", "mark", "reason"), *rows])


def sheet_texts(sheets: RateSheets) -> dict[str, str]:
    """The CSV text of every table by file name."""
    return {f"{name}.csv": csv_text([table.header, *table.rows]) for name, table in sheets.tables.items()}


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV with plain line ends."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()
