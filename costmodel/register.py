"""The assumptions register: every sourced row that a study rests on, and how well each is known."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import NamedTuple

from costmodel.cost_lines import Flag
from costmodel.records.address import field_quantity
from costmodel.records.faults import joined
from costmodel.records.fields import Sourced
from costmodel.records.route import BenchStep, MachineStep, OutsideStep
from costmodel.records.study import Study
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
    rows = [_row(address, row, currency) for address, row in _used_rows(study)]
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


def _used_rows(study: Study) -> Iterator[tuple[str, Sourced]]:
    names = dict.fromkeys((*_route_rows(study), *_offer_rows(study)))
    for table, name in names:
        row: Sourced = getattr(study.rates, table)[name]
        yield joined("rates", table, name), row


def _route_rows(study: Study) -> Iterator[tuple[str, str]]:
    made = {alternative.make for alternative in study.alternatives.values() if alternative.make}
    if made:
        yield "materials", study.part.blank.material
    for route in (study.part.routes[name] for name in study.part.routes if name in made):
        for step in route.steps.values():
            if isinstance(step, MachineStep):
                machine = study.rates.machines[step.machine]
                yield "machines", step.machine
                yield "spaces", machine.space
                yield "energy", machine.energy
                yield "labour", step.operator or machine.operator
                yield from (("tools", cut.tool) for cut in study.part.cuts_of(step).values())
            elif isinstance(step, OutsideStep):
                yield "processors", step.processor
            elif isinstance(step, BenchStep):
                yield "labour", step.labour
            if step.rework is not None:
                yield "labour", step.rework.labour
        yield from (("labour", once.labour) for once in route.once.values() if once.labour)
        yield from (("machines", once.machine) for once in route.once.values() if once.machine)


def _offer_rows(study: Study) -> Iterator[tuple[str, str]]:
    bought = {alternative.buy for alternative in study.alternatives.values() if alternative.buy}
    for quote in (study.quotes[name] for name in study.quotes if name in bought):
        if quote.freight:
            yield "freight", quote.freight
        yield from (("duties", name) for name in quote.duties)
        yield from (("entry_fees", name) for name in quote.entry_fees)
        if quote.currency in study.rates.currency:
            yield "currency", quote.currency
        yield from (("faults", name) for name in study.rates.faults)


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
