"""How long to keep a machine, and whether to replace it: all compared as equal yearly costs.

The present machine enters at what it would fetch today, never at its book value: past spending is sunk.
"""

from __future__ import annotations

import numpy as np

from costmodel.formulas._choices import choose
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import Series, any_number, items, whole_count
from costmodel.formulas.annuity import (
    capital_recovery_factor,
    level_present_worth_factor,
    single_present_worth_factor,
)
from costmodel.formulas.machine_hour import capital_per_year
from costmodel.formulas.month_weights import growing_weight
from costmodel.units import Number


def equivalent_annual_cost(
    price: Number, salvage: Number, life: Number, interest: Number, yearly_cost: Number
) -> Number:
    """Equal yearly cost of owning and running a machine.

    (P - S) A/P + S i + A

    Parameters
    ----------
    price
        Price, or what the present machine would fetch today [money], >= 0.
    salvage
        Value at the end [money].
    life
        Years it is kept [year], > 0.
    interest
        Interest per year [fraction], > -1.
    yearly_cost
        Cost of running it [money/year].

    Returns
    -------
    Number
        Equivalent cost [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Price below zero, no life, or interest of -100 % or less.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 8.4, p. 109.
    """
    any_number(yearly_cost=yearly_cost)
    return capital_per_year(price, salvage, life, interest) + yearly_cost


def comparative_use_value(
    annual_cost: Number, salvage: Number, life: Number, interest: Number, yearly_cost: Number
) -> Number:
    """Highest value today at which the present machine is still worth keeping against another.

    X = (AEC of the other - A - S i) / (A/P) + S: an offer above X says replace

    Parameters
    ----------
    annual_cost
        Equivalent yearly cost of the other machine [money/year].
    salvage
        Value of the present machine at the end of its remaining life [money].
    life
        Remaining life of the present machine [year], > 0.
    interest
        Interest per year [fraction], > -1.
    yearly_cost
        Cost of running the present machine [money/year].

    Returns
    -------
    Number
        Comparative use value [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No remaining life, or interest of -100 % or less.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 8.8, p. 115.
    """
    any_number(annual_cost=annual_cost, salvage=salvage, yearly_cost=yearly_cost)
    recovery = capital_recovery_factor(interest, life)
    return (annual_cost - yearly_cost - salvage * interest) / recovery + salvage


def repeated_worth(worth: Number, life: Number, interest: Number, repeats: int) -> Number:
    """Worth of a project that is repeated at the end of each of its lives.

    W (1 + v^L + v^2L + ...) with v = 1/(1 + i): brings projects of unequal lives to one horizon

    Parameters
    ----------
    worth
        Net present value of one life [money].
    life
        Length of a life [period], > 0.
    interest
        Interest per period [fraction], > -1.
    repeats
        Number of lives in a row [-], whole number >= 1.

    Returns
    -------
    Number
        Worth of the chain [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No life, interest of -100 % or less, or repeats that are not whole.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, replacement chain.
    """
    any_number(worth=worth)
    positive(life=life)
    whole_count("repeats", repeats, 1)
    later = single_present_worth_factor(interest, life)
    chain: Number = 1.0 + 0.0 * later
    for _ in range(repeats - 1):
        chain = 1.0 + chain * later
    return worth * chain


def life_cycle_cost(
    price: Number,
    salvage: Number,
    years: int,
    interest: Number,
    yearly_cost: Number,
    escalation: Number = 0.0,
) -> Number:
    """Worth today of buying a machine and running it at costs that rise each year.

    P + A sum over t = 1..n of (1 + f)^t (1 + i)^-t - S (1 + i)^-n, the yearly cost at today's prices

    Parameters
    ----------
    price
        Price [money], >= 0.
    salvage
        Value at the end, in money of that day [money].
    years
        Years it is kept [-], whole number >= 1.
    interest
        Nominal interest per year [fraction], > -1.
    yearly_cost
        Cost of running it for a year at today's prices [money/year].
    escalation
        Yearly rise of that cost [fraction], > -1.

    Returns
    -------
    Number
        Worth of all costs [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A price below zero, a rate of -100 % or less, or years that are not whole.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 11.3.
    """
    not_negative(price=price)
    any_number(salvage=salvage, yearly_cost=yearly_cost)
    whole_count("years", years, 1)
    running = yearly_cost * growing_weight(interest, escalation, 1, years)
    return price + running - salvage * single_present_worth_factor(interest, float(years))


def annual_cost_by_life(
    price: Number, salvages: Series, yearly_costs: Series, interest: Number
) -> tuple[Number, ...]:
    """Equal yearly cost of keeping a machine for one year, two years, and so on.

    (P - S_n v^n + sum over t = 1..n of A_t v^t) / (P/A)

    Parameters
    ----------
    price
        Price, or what the present machine would fetch today [money], >= 0.
    salvages
        Value at the end of each year [money].
    yearly_costs
        Cost of running it in each year [money/year].
    interest
        Interest per year [fraction], > -1.

    Returns
    -------
    tuple of Number
        Equivalent cost when it is kept 1, 2, ... years [money/year].

    Raises
    ------
    LimitError
        A price below zero, interest of -100 % or less, or series of different lengths.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 8.1, p. 103.
    """
    not_negative(price=price)
    within("interest", interest, above=-1.0)
    costs = items("yearly_costs", yearly_costs)
    values = items("salvages", salvages, len(costs))
    discount = 1.0 / (1.0 + interest)
    factor: Number = 1.0
    running: Number = 0.0
    result: list[Number] = []
    for year, (salvage, cost) in enumerate(zip(values, costs, strict=True), start=1):
        factor = factor * discount
        running = running + cost * factor
        kept = price - salvage * factor + running
        result.append(kept / level_present_worth_factor(interest, float(year)))
    return tuple(result)


def economic_life(price: Number, salvages: Series, yearly_costs: Series, interest: Number) -> Number:
    """Years of keeping a machine at which its equal yearly cost is least.

    the first year with the least annual cost; the last year given means that more years should be given

    Parameters
    ----------
    price
        Price, or what the present machine would fetch today [money], >= 0.
    salvages
        Value at the end of each year [money].
    yearly_costs
        Cost of running it in each year [money/year].
    interest
        Interest per year [fraction], > -1.

    Returns
    -------
    Number
        Economic life [year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A price below zero, interest of -100 % or less, or series of different lengths.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 8.1, p. 103.
    """
    costs = annual_cost_by_life(price, salvages, yearly_costs, interest)
    least, best = costs[0], 1.0 + 0.0 * costs[0]
    for year, cost in enumerate(costs[1:], start=2):
        better = np.less(cost, least)
        best = choose(better, float(year), best)
        least = np.minimum(cost, least)
    return best
