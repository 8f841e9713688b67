"""How far an estimate is worked out, and the range its times then have until they are measured."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.cost_lines import Flag
from costmodel.records.address import tokens
from costmodel.records.faults import joined
from costmodel.records.route import Maturity
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain


class MaturityClass(NamedTuple):
    """A class of estimate: its number, and how far below and above the truth may lie [fraction]."""

    number: int
    below: float
    above: float
    reached: str


CLASSES: dict[Maturity, MaturityClass] = {
    "idea": MaturityClass(5, 0.50, 1.00, "a sketch and a likeness"),
    "outline": MaturityClass(4, 0.30, 0.50, "steps and machines are chosen"),
    "planned": MaturityClass(3, 0.20, 0.30, "every cut is listed"),
    "detailed": MaturityClass(2, 0.15, 0.20, "programmed, fixture drawn"),
    "proved": MaturityClass(1, 0.10, 0.15, "a first lot has run"),
}
"""The outer ranges of AACE 18R-97, classes 5 to 1. It is written for plants of the process industries: here its
numbers are a starting range by likeness only, which the engineer accepts or replaces."""

FIRST_COLUMN = 384
"""Column of draws of the first route's range, behind those of ranges that a study or its rates state."""
SOURCE = "AACE 18R-97, outer range of the class; by likeness only"


def maturity_spreads(study: Study) -> tuple[Uncertain, ...]:
    """The default range of the times of every route that is not yet measured and has no range of its own."""
    found: list[Uncertain] = []
    for column, (name, route) in enumerate(study.part.routes.items(), start=FIRST_COLUMN):
        address = joined("part", "routes", name, "time_factor")
        if route.maturity == "measured" or address in study.uncertainty:
            continue
        found.append(_spread(address, CLASSES[route.maturity], float(route.time_factor), column))
    return tuple(found)


def maturity_flags(study: Study) -> tuple[Flag, ...]:
    """What must be said of every route whose times are given a default range: accept it or replace it."""
    made = {way.make for way in study.alternatives.values() if way.make}
    flags = []
    for spread in maturity_spreads(study):
        name = tokens(spread.name)[2]
        route = study.part.routes[name]
        if name in made:
            kind = CLASSES[route.maturity]
            flags.append(
                Flag(
                    f"part.routes.{name}",
                    f'its times are at the stage "{route.maturity}": the default range of class {kind.number}, '
                    f"-{100.0 * kind.below:.0f} to +{100.0 * kind.above:.0f} %, is drawn until they are measured "
                    "or the engineer states a range of time_factor",
                )
            )
    return tuple(flags)


def _spread(address: str, kind: MaturityClass, base: float, column: int) -> Uncertain:
    return Uncertain(
        name=address,
        shape="pert",
        low=base * (1.0 - kind.below),
        likely=base,
        high=base * (1.0 + kind.above),
        source=SOURCE,
        status="guess",
        column=column,
    )


def uncertain_inputs(study: Study) -> dict[str, Uncertain]:
    """Everything that is drawn, by address: what the study and its rates state, and what maturity adds."""
    return {**study.uncertainty, **{spread.name: spread for spread in maturity_spreads(study)}}
