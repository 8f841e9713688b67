"""A machine's hour, term by term: what it costs, over which hours, and whether the decision moves it."""

from __future__ import annotations

from typing import Literal, NamedTuple

from costmodel.cost_lines import Mark
from costmodel.formulas import machine_hour
from costmodel.records.rates import Machine, Rates
from costmodel.records.study import RateBasis
from costmodel.units import Number

HourBase = Literal["practical", "budgeted"]


class RateTerm(NamedTuple):
    """One term of a machine-hour rate [money/h] and the hours a year [h/yr] over which it is spread."""

    element: str
    mark: Mark
    per_hour: Number
    hours: Number | None
    series: str


def spread_hours(machine: Machine, base: HourBase) -> Number:
    """The hours a year over which the machine's standing costs are spread [h/yr]."""
    return machine.budgeted_hours if base == "budgeted" else machine.practical_hours


def rate_terms(machine: Machine, rates: Rates, base: HourBase = "practical") -> tuple[RateTerm, ...]:
    """Every term of a machine-hour rate [money/h].

    Standing terms (capital, space, maintenance) are allocated: they stay whichever way the part is got.
    Running terms (energy, consumables) are cash.
    """
    hours = spread_hours(machine, base)
    space, energy = rates.spaces[machine.space], rates.energy[machine.energy]
    capital = machine_hour.capital_per_hour(
        machine.purchase_price, machine.salvage, machine.life, machine.interest, hours
    )
    floor = machine_hour.space_per_hour(machine.floor_area, space.price, hours)
    upkeep = machine_hour.maintenance_per_hour(machine.maintenance, hours)
    power = machine_hour.power_per_hour(machine.power, machine.load_factor, energy.price)
    return (
        RateTerm("capital", "allocated", capital, hours, ""),
        RateTerm("space", "allocated", floor, hours, space.series),
        RateTerm("maintenance", "allocated", upkeep, hours, machine.series),
        RateTerm("energy", "cash", power, None, energy.series),
        RateTerm("consumables", "cash", machine.consumables, None, machine.series),
    )


def terms_on(
    basis: RateBasis, machine: Machine, rates: Rates, contribution: Number = 0.0
) -> tuple[RateTerm, ...]:
    """The terms that count on a rate basis [money/h].

    practical, budgeted: full, over those hours. cash: what the decision moves. displaced: cash and what an
    hour of other work would have earned, `contribution` [money/h]; no cash of this decision, so allocated.
    """
    if basis in ("practical", "budgeted"):
        return rate_terms(machine, rates, "budgeted" if basis == "budgeted" else "practical")
    cash = tuple(term for term in rate_terms(machine, rates) if term.mark == "cash")
    if basis == "cash":
        return cash
    return (*cash, RateTerm("displaced work", "allocated", contribution, None, ""))
