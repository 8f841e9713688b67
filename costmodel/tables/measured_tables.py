"""Tables of what logs propose, and the file in which a person accepts it."""

from __future__ import annotations

from collections.abc import Iterable

from costmodel.measured import Proposal
from costmodel.rate_update import csv_text
from costmodel.records.rate_sheet import Change
from costmodel.tables.rounding import scaled, significant
from costmodel.tables.table import Column, Table, make_table

CHANGE_COLUMNS = (
    *("address", "was", "value", "low", "high", "accept", "n"),
    *("spread", "how", "source", "as_of", "owner", "status", "why"),
)


def proposals_table(found: Iterable[Proposal], *, invented: bool) -> Table:
    """Believed, measured, proposed, with n, spread, outliers and weight."""
    rows = []
    for it in found:
        factor, unit = scaled(1.0, it.unit)
        low, high = it.range
        values = [significant(factor * value, 4) for value in (it.believed, it.measured, it.spread, it.value)]
        likely = f"{significant(factor * low, 4)} to {significant(factor * high, 4)}"
        weight = f"{float(it.weighed.weight):.2f}"
        rows.append(
            [it.address, unit, values[0], values[1], it.n, values[2], weight, values[3], likely, it.how]
        )
    columns = [
        *(Column(word) for word in ("input", "unit", "believed", "measured")),
        Column("n", kind="whole"),
        *(Column(word) for word in ("spread", "weight", "proposed", "10-90 %", "how")),
    ]
    notes = [
        "Proposed = weight x measured + (1 - weight) x believed; weight = s0^2 / (s0^2 + p^2 / n), s0 the spread of "
        "the belief; p^2 = (3 s0^2 + (n - 1) v) / (n + 2), v = s^2 for a mean and (pi / 2) s^2 for a median: few "
        "values do not tell their own spread. The range is that of t, wider where log and belief clash by more "
        "than both let expect. For a share: (k x believed + counted) / (k + tried), k = m (1 - m) / s0^2 - 1.",
        "Nothing is applied: write yes into the column accept of the change file, row by row.",
    ]
    return make_table("Measured against believed", columns, rows, notes=notes, invented=invented)


def change_file(changes: Iterable[Change]) -> str:
    """Changes as the CSV file in which a person accepts them."""
    rows = [[_cell(getattr(change, word)) for word in CHANGE_COLUMNS] for change in changes]
    return csv_text([CHANGE_COLUMNS, *rows])


def _cell(value: object) -> str:
    return "" if value is None else str(value)
