"""The assumptions register: every sourced row that a study rests on, and how well each is known."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import Flag
from costmodel.maturity import maturity_spreads
from costmodel.records.address import tokens, unit_at, value_at
from costmodel.records.faults import joined
from costmodel.records.fields import Sourced, Vouched
from costmodel.records.quote import FROM_LOG, Quote
from costmodel.records.route import MachineStep
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.records.used_rows import used_rows
from costmodel.units import Number

STATUSES = ("measured", "quoted", "guess")
"""How well a figure is known, the best first."""


MONTHS_A_PRICE_LASTS = 12
"""So long a price may be taken to stay; common practice, no source."""


class Assumption(NamedTuple):
    """One row: what it vouches for, its main number and range where it has one, and who stands for it.

    ``address`` names one input, or a record whose numbers all rest on this row. ``used_by`` are the alternatives
    that rest on it.
    """

    address: str
    value: Number | None
    unit: str
    low: Number | None
    high: Number | None
    status: str
    source: str
    as_of: datetime.date | None
    owner: str
    used_by: tuple[str, ...] = ()


def register(study: Study) -> tuple[Assumption, ...]:
    """Every row on which the study rests: rates rows and offers in use, what part and study state, ranges.

    Each number that the model uses belongs to one of them, the one with the longest address: see `row_of`.
    """
    stated = [_stated(address, record) for address, record in _vouched(study)]
    stated_ranges = [spread for spread in study.uncertainty.values() if spread.origin == "study"]
    ranges = {it.name: _range(study, it) for it in (*stated_ranges, *maturity_spreads(study))}
    rows = [
        _with_range(_row(address, row, study), ranges.pop(f"{address}.{row.headline}", None))
        for address, row in used_rows(study)
    ]
    bought = {alternative.buy for alternative in study.alternatives.values() if alternative.buy}
    offers = [
        Assumption(
            joined("quotes", name),
            None,
            "",
            None,
            None,
            quote.status,
            quote.source,
            quote.valid_from,
            quote.owner,
        )
        for name, quote in study.quotes.items()
        if name in bought
    ]
    offers += [
        _with_range(row, ranges.pop(row.address, None))
        for name, quote in study.quotes.items()
        if name in bought
        for row in _from_log(name, quote)
    ]
    users = _users(study)
    return tuple(
        row._replace(used_by=_used_by(row.address, users, study))
        for row in (*stated, *rows, *offers, *ranges.values())
    )


def _users(study: Study) -> dict[str, tuple[str, ...]]:
    """The alternatives that rest on each rates row, offer and route, splits with those they are made of."""
    users: dict[str, dict[str, None]] = {}
    for name, alternative in study.alternatives.items():
        for part in alternative.shares or (name,):
            own = study.alternatives[part]
            places = [address for address, _ in used_rows(study, (part,))]
            places += ["part", *_made_by(own.make, study)] if own.make else []
            places += [joined("quotes", own.buy)] if own.buy else []
            for place in places:
                users.setdefault(place, {})[name] = None
    return {place: tuple(names) for place, names in users.items()}


def _made_by(route: str, study: Study) -> Iterator[str]:
    """The places of a route and of its cuts, which may stand at another route's step."""
    yield joined("part", "routes", route)
    for name, step in study.part.routes[route].steps.items():
        if isinstance(step, MachineStep):
            way, _, other = (step.cuts_from or f"{route}.{name}").partition(".")
            yield joined("part", "routes", way, "steps", other, "cuts")


def _used_by(address: str, users: dict[str, tuple[str, ...]], study: Study) -> tuple[str, ...]:
    """Those of the longest place that contains an address; all alternatives where none does."""
    path = tokens(address)
    holding = [place for place in users if path[: len(tokens(place))] == tokens(place)]
    place = max(holding, key=lambda place: len(tokens(place)), default="")
    return users.get(place, tuple(study.alternatives))


def _from_log(name: str, quote: Quote) -> Iterator[Assumption]:
    """What the log of an offer states, with the number of deliveries behind it."""
    if quote.log is None:
        return
    source = f"delivery log {quote.log.name}, {len(quote.log.received)} deliveries"
    for field in FROM_LOG:
        unit = "d" if field.startswith("lead_time") else "fraction"
        yield Assumption(
            address=joined("quotes", name, field),
            value=getattr(quote, field),
            unit=unit,
            low=None,
            high=None,
            status="measured",
            source=source,
            as_of=max(quote.log.received),
            owner=quote.owner,
        )


def row_of(rows: Iterable[Assumption], address: str) -> Assumption | None:
    """The row on which the input at an address rests: the one with the longest address that contains it."""
    path = tokens(address)
    holding = [row for row in rows if path[: len(tokens(row.address))] == tokens(row.address)]
    return max(holding, key=lambda row: len(tokens(row.address)), default=None)


def _vouched(study: Study) -> Iterator[tuple[str, Vouched]]:
    yield "demand", study.demand
    yield "finance", study.finance
    yield from ((joined("capacity", name), hours) for name, hours in study.capacity.items())
    made = {alternative.make for alternative in study.alternatives.values() if alternative.make}
    if made:
        yield "part.blank", study.part.blank
    yield from (
        (joined("part", "routes", name), study.part.routes[name])
        for name in study.part.routes
        if name in made
    )


def _stated(address: str, record: Vouched) -> Assumption:
    return Assumption(address, None, "", None, None, record.status, record.source, None, record.owner)


def _range(study: Study, spread: Uncertain) -> Assumption:
    home = study.rates.year.home_currency
    low = spread.low if spread.low is not None else spread.p10
    high = spread.high if spread.high is not None else spread.p90
    return Assumption(
        address=spread.name,
        value=value_at(study, spread.name),
        unit=unit_at(study, spread.name, home),
        low=low,
        high=high,
        status=spread.status,
        source=spread.source,
        as_of=None,
        owner=spread.owner,
    )


def _row(address: str, row: Sourced, study: Study) -> Assumption:
    return Assumption(
        address=address,
        value=getattr(row, row.headline),
        unit=unit_at(study, f"{address}.{row.headline}", study.rates.year.home_currency),
        low=getattr(row, "low", None),
        high=getattr(row, "high", None),
        status=row.status,
        source=row.source,
        as_of=row.as_of,
        owner=row.owner,
    )


def steady_flags(study: Study) -> tuple[Flag, ...]:
    """Offers whose price stays as it is for a horizon in which our own costs rise: ask the supplier."""
    bought = {way.buy for way in study.alternatives.values() if way.buy}
    rising = any(np.any(row.yearly_change != 0.0) for row in study.rates.indices.values())
    if not rising or study.finance.horizon <= MONTHS_A_PRICE_LASTS:
        return ()
    return tuple(
        Flag(
            joined("quotes", name),
            f"the price stays the same for {study.finance.horizon} months while costs of making move by their "
            "index: state its series",
        )
        for name, quote in study.quotes.items()
        if name in bought and not quote.series
    )


def _with_range(row: Assumption, wide: Assumption | None) -> Assumption:
    """A row with the range that a study states of its number: one figure, as well known as its range."""
    if wide is None:
        return row
    known = max(row.status, wide.status, key=STATUSES.index)
    source = row.source if wide.source in ("", row.source) else f"{row.source}; range: {wide.source}"
    return row._replace(low=wide.low, high=wide.high, status=known, source=source)


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
