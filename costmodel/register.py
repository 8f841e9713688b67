"""The assumptions register: every sourced row that a study rests on, and how well each is known."""

from __future__ import annotations

import datetime
from typing import NamedTuple

from costmodel.cost_lines import Flag
from costmodel.records.address import field_quantity
from costmodel.records.faults import joined
from costmodel.records.fields import Sourced
from costmodel.records.study import Study
from costmodel.records.used_rows import used_rows
from costmodel.units import Number


class Assumption(NamedTuple):
    """One row: where it stands, its main number, its range, and who vouches for it."""

    address: str
    value: Number | None
    unit: str
    low: Number | None
    high: Number | None
    status: str
    source: str
    as_of: datetime.date | None
    owner: str


def register(study: Study) -> tuple[Assumption, ...]:
    """Every rates row that the study's routes and offers use, its offers, and its uncertain inputs."""
    currency = study.rates.year.home_currency
    rows = [_row(address, row, currency) for address, row in used_rows(study)]
    offers = [
        Assumption(
            joined("quotes", name), None, "", None, None, quote.status, quote.source, quote.valid_from, ""
        )
        for name, quote in study.quotes.items()
        if name in {alternative.buy for alternative in study.alternatives.values()}
    ]
    ranges = [
        Assumption(
            name, spread.likely, "", spread.low, spread.high, spread.status, spread.source, None, spread.owner
        )
        for name, spread in study.uncertainty.items()
        if spread.origin == "study"
    ]
    return (*rows, *offers, *ranges)


def _row(address: str, row: Sourced, currency: str) -> Assumption:
    spec = field_quantity(type(row), row.headline)
    return Assumption(
        address=f"{address}.{row.headline}",
        value=getattr(row, row.headline),
        unit="" if spec is None else spec.shown(currency),
        low=getattr(row, "low", None),
        high=getattr(row, "high", None),
        status=row.status,
        source=row.source,
        as_of=row.as_of,
        owner=row.owner,
    )


def freshness_flags(study: Study) -> tuple[Flag, ...]:
    """What time has made doubtful: rates used outside their year or past their review date."""
    year, day = study.rates.year, study.as_of
    flags: list[Flag] = []
    if not year.valid_from <= day <= year.valid_to:
        text = f"valid {year.valid_from} to {year.valid_to}, used for a decision on {day}"
        flags.append(Flag(f"rates {year.year}", text))
    if year.review_by < day:
        flags.append(Flag(f"rates {year.year}", f"were due for review by {year.review_by}"))
    return tuple(flags)
