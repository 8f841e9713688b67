"""A machine's hour, term by term: what it costs, over which hours, and whether the decision moves it."""

from __future__ import annotations

from typing import Literal, NamedTuple

from costmodel.cost_lines import Mark, total
from costmodel.formulas import machine_hour, rate_bases
from costmodel.records.rates import Labour, Machine, Rates
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
        machine.purchase_price,
        machine.salvage,
        machine.life,
        machine.interest,
        hours,
        machine.capital_rule,
    )
    floor = machine_hour.space_per_hour(machine.floor_area, space.price, hours)
    upkeep = machine_hour.maintenance_per_hour(machine.maintenance, hours)
    other = machine_hour.standing_cost_per_hour(machine.other_yearly, 1.0, hours)
    power = machine_hour.power_per_hour(machine.power, machine.load_factor, energy.price)
    return (
        RateTerm("capital", "allocated", capital, hours, ""),
        RateTerm("space", "allocated", floor, hours, space.series),
        RateTerm("maintenance", "allocated", upkeep, hours, machine.series),
        RateTerm("other standing", "allocated", other, hours, machine.series),
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


def labour_per_hour(grade: Labour) -> Number:
    """What an hour of a grade costs the employer [money/h]: the wage and what is paid on top of it."""
    return rate_bases.rate_with_overhead(grade.wage, grade.on_costs)


class IdleHours(NamedTuple):
    """Standing cost of the hours a machine could run and does not: a line of the year, never of a part."""

    machine: str
    standing_per_year: Number
    """[money/yr]"""
    practical_hours: Number
    """[h/yr]"""
    used_hours: Number
    """[h/yr]"""
    cost: Number
    """[money/yr]"""


def idle_hours(machine: Machine, rates: Rates, used_hours: Number) -> IdleHours:
    """What a year's unused practical hours of a machine cost, `used_hours` being run on all its work [h/yr]."""
    hours = machine.practical_hours
    terms = rate_terms(machine, rates)
    standing = hours * total(term.per_hour for term in terms if term.mark == "allocated")
    return IdleHours(
        machine.name, standing, hours, used_hours, rate_bases.idle_cost(standing, hours, used_hours)
    )
