"""What is wrong between a route and the rates: names that nothing answers to, and costs stated twice."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from costmodel.records.faults import Fault
from costmodel.records.part import Part
from costmodel.records.rates import Rates, missing_row
from costmodel.records.route import AnyStep, MachineStep, OutsideStep, Route, Yearly

STANDING = {
    "consumables": "consumables",
    "maintenance": "maintenance",
    "energy": "power",
    "space": "floor_area",
}


def name_faults(route: Route, rates: Rates) -> Iterator[Fault]:
    """Names of a route that no row of the rates answers to."""
    place = f"part.routes.{route.name}"
    for name, step in route.steps.items():
        at = f"{place}.steps.{name}"
        if isinstance(step, MachineStep):
            yield from _machine_step_faults(at, step, rates)
        elif isinstance(step, OutsideStep):
            yield from _outside_step_faults(at, step, rates)
        elif step.labour not in rates.labour:
            yield missing_row(f"{at}.labour", step.labour, rates.labour, "labour")
        if step.rework is not None and step.rework.labour not in rates.labour:
            yield missing_row(f"{at}.rework.labour", step.rework.labour, rates.labour, "labour")
    priced = [(f"{place}.yearly.{name}", row.series) for name, row in route.yearly.items()]
    for name, step in route.steps.items():
        priced += [(f"{place}.steps.{name}.items.{key}", item.series) for key, item in step.items.items()]
    for at, series in priced:
        if series and series not in rates.indices:
            yield missing_row(f"{at}.series", series, rates.indices, "indices")
    for name, once in route.once.items():
        if once.labour and once.labour not in rates.labour:
            yield missing_row(f"{place}.once.{name}.labour", once.labour, rates.labour, "labour")
        if once.machine and once.machine not in rates.machines:
            yield missing_row(f"{place}.once.{name}.machine", once.machine, rates.machines, "machines")


def _outside_step_faults(at: str, step: OutsideStep, rates: Rates) -> Iterator[Fault]:
    if step.processor not in rates.processors:
        yield missing_row(f"{at}.processor", step.processor, rates.processors, "processors")
    if step.labour and step.labour not in rates.labour:
        yield missing_row(f"{at}.labour", step.labour, rates.labour, "labour")


def _machine_step_faults(at: str, step: MachineStep, rates: Rates) -> Iterator[Fault]:
    if step.machine not in rates.machines:
        yield missing_row(f"{at}.machine", step.machine, rates.machines, "machines")
        return
    if step.operator and step.operator not in rates.labour:
        yield missing_row(f"{at}.operator", step.operator, rates.labour, "labour")
    for name, cut in step.cuts.items():
        if cut.tool not in rates.tools:
            yield missing_row(f"{at}.cuts.{name}.tool", cut.tool, rates.tools, "tools")


def twice_faults(part: Part, route: Route, rates: Rates) -> Iterator[Fault]:
    """What is stated on the part and in another place too, with both places named; asked at every what-if."""
    for step in route.steps.values():
        at = f"part.routes.{route.name}.steps.{step.name}"
        for name, item in step.items.items():
            for other, there in _also_at(part, step, item.element, rates):
                expected = f"a cost stated once; it stands in {other} too"
                remedy = f"Take it out of the part or out of {there}."
                yield Fault(f"{at}.items.{name}", item.element, expected, remedy)
    for name, row in route.yearly.items():
        yield from _yearly_faults(f"part.routes.{route.name}.yearly.{name}", row, part, route, rates)
    sawn = [
        name
        for name, step in route.steps.items()
        if isinstance(step, MachineStep) and any(cut.kind == "saw" for cut in part.cuts_of(step).values())
    ]
    if sawn and np.any(part.blank.saw > 0.0):
        expected = f"sawing stated once; part.routes.{route.name}.steps.{sawn[0]} saws too"
        yield Fault("part.blank.saw", f"{part.blank.saw}", expected, "Take it out of one of the two.")


def _yearly_faults(at: str, row: Yearly, part: Part, route: Route, rates: Rates) -> Iterator[Fault]:
    """A cost of the year that a machine of the route carries in its hour, by its element or else by its name."""
    for word in [row.element] if row.element else [word for word in row.name.split("-") if word in STANDING]:
        places = [place for step in route.steps.values() for place in _also_at(part, step, word, rates)]
        if places:
            other, there = places[0]
            remedy = f"Take it out of the part or out of {there}"
            remedy += "." if row.element else ', or write element = "other" where it is something else.'
            yield Fault(at, row.element or row.name, f"a cost stated once; it stands in {other} too", remedy)


def _also_at(part: Part, step: AnyStep, element: str, rates: Rates) -> Iterator[tuple[str, str]]:
    """Where an element of a step's items is counted already, and what to call that."""
    if isinstance(step, MachineStep) and step.machine in rates.machines:
        if element in STANDING and np.any(getattr(rates.machines[step.machine], STANDING[element]) > 0.0):
            yield f"rates.machines.{step.machine} ({element})", "the machine-hour rate"
        if element == "tooling" and part.cuts_of(step):
            yield f"the tools of the cuts of {step.name}", "the tools"
    minutes = (step.inspection, step.inspection_per_lot, step.sampled_inspection)
    if element == "inspection" and any(np.any(value > 0.0) for value in minutes):
        yield f"the minutes of inspection of {step.name}", "the minutes"
