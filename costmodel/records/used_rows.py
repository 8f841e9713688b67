"""Which rates rows a study rests on, and the ranges that these rows state of themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from costmodel.records.faults import joined
from costmodel.records.fields import Sourced
from costmodel.records.route import BenchStep, MachineStep, OutsideStep
from costmodel.records.study import Alternative, Study
from costmodel.records.uncertain import Uncertain


def rates_ranges(study: Study) -> dict[str, Uncertain]:
    """A PERT range for every used row with a low and a high, by address; its value is the most likely one."""
    ranges: dict[str, Uncertain] = {}
    for place, row in used_rows(study):
        low, high = getattr(row, "low", None), getattr(row, "high", None)
        if low is None or high is None or not row.headline:
            continue
        address = f"{place}.{row.headline}"
        ranges[address] = Uncertain(
            name=address,
            shape="pert",
            low=float(low),
            high=float(high),
            source=row.source,
            owner=row.owner,
            status=row.status,
            origin="rates",
            column=2 * len(ranges) + 1,
        )
    return ranges


def used_rows(study: Study, names: Iterable[str] = ()) -> Iterator[tuple[str, Sourced]]:
    """The address and the row of everything in the rates that a study's alternatives, or those named, use, once."""
    ways = [study.alternatives[name] for name in names or study.alternatives]
    rows_used = dict.fromkeys((*_route_rows(study, ways), *_offer_rows(study, ways)))
    for table, name in rows_used:
        row: Sourced = getattr(study.rates, table)[name]
        yield joined("rates", table, name), row
    rows = [getattr(study.rates, table)[name] for table, name in rows_used]
    for series in dict.fromkeys((*(row.series for row in rows), *_priced_series(study, ways))):
        if series:
            yield joined("rates", "indices", series), study.rates.indices[series]


def _priced_series(study: Study, ways: Iterable[Alternative]) -> Iterator[str]:
    """The index series of what stands on the part and in the offers themselves."""
    for alternative in ways:
        if alternative.buy:
            yield study.quotes[alternative.buy].series
        elif alternative.make:
            route = study.part.routes[alternative.make]
            yield from (yearly.series for yearly in route.yearly.values())
            yield from (item.series for step in route.steps.values() for item in step.items.values())


def _route_rows(study: Study, ways: Iterable[Alternative]) -> Iterator[tuple[str, str]]:
    made = {alternative.make for alternative in ways if alternative.make}
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
                yield from (("labour", grade) for grade in (step.labour,) if grade)
            elif isinstance(step, BenchStep):
                yield "labour", step.labour
            if step.rework is not None:
                yield "labour", step.rework.labour
        yield from (("labour", once.labour) for once in route.once.values() if once.labour)
        yield from (("machines", once.machine) for once in route.once.values() if once.machine)


def _offer_rows(study: Study, ways: Iterable[Alternative]) -> Iterator[tuple[str, str]]:
    bought = {alternative.buy for alternative in ways if alternative.buy}
    for quote in (study.quotes[name] for name in study.quotes if name in bought):
        if quote.freight:
            yield "freight", quote.freight
        yield from (("duties", name) for name in quote.duties)
        yield from (("entry_fees", name) for name in quote.entry_fees)
        if quote.currency in study.rates.currency:
            yield "currency", quote.currency
        yield from (("faults", name) for name in study.rates.faults)
