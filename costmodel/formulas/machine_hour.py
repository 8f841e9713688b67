"""The terms of a machine-hour rate, one small function each; the rate is their sum, shown term by term.

Each term states its own base: yearly costs are spread over stated running hours, hourly ones are not.
Interest belongs either here or in a discounted cash flow, never in both: a decision on cash leaves the
capital term out.
"""

from __future__ import annotations

from typing import Literal, get_args

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.formulas._series import any_number
from costmodel.formulas.annuity import capital_recovery_factor, sinking_fund_factor
from costmodel.units import Number

CapitalConvention = Literal[
    "annuity", "straight line plus interest on average investment", "straight line without interest"
]
AverageInvestmentRule = Literal["mid value", "average annual"]
LifeBasis = Literal["years", "hours"]


def average_investment(
    price: Number, salvage: Number, life: Number, rule: AverageInvestmentRule = "mid value"
) -> Number:
    """Capital tied up on average in a machine that is written off in a straight line.

    mid value: (P + S) / 2, the middle between the first and the last value.
    average annual: (P - S)(N + 1) / (2 N) + S, the mean of the values at the start of each year, which is
    higher.

    Parameters
    ----------
    price
        Price or replacement value [money], >= 0.
    salvage
        Value at the end of the life [money]; negative where scrapping costs money.
    life
        Years the machine is kept [year], > 0.
    rule
        "mid value" (default) or "average annual" [-].

    Returns
    -------
    Number
        Average investment [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Price below zero, no life, or an unknown rule.

    References
    ----------
    FAO Forestry Paper 99, ch. 3, average annual investment (from memory); mid value: common practice, no
    source.
    """
    not_negative(price=price)
    positive(life=life)
    any_number(salvage=salvage)
    one_of("rule", rule, get_args(AverageInvestmentRule))
    if rule == "mid value":
        return (price + salvage) / 2.0
    return (price - salvage) * (life + 1.0) / (2.0 * life) + salvage


def capital_per_year(
    price: Number,
    salvage: Number,
    life: Number,
    interest: Number,
    convention: CapitalConvention = "annuity",
    average: AverageInvestmentRule = "mid value",
) -> Number:
    """Yearly cost of the capital in a machine: what it loses in value and the interest on what is tied up.

    annuity: P A/P - S A/F, the level yearly sum that recovers price less salvage with interest; it equals
    (P - S) A/P + S i, and any way of writing off P - S with interest on the balance has the same worth.
    straight line plus interest on average investment: (P - S) / N + i x average investment.
    straight line without interest: (P - S) / N.

    Parameters
    ----------
    price
        Price or replacement value [money], >= 0.
    salvage
        Value at the end of the life [money]; negative where scrapping costs money.
    life
        Years the machine is kept [year], > 0.
    interest
        Interest per year [fraction], > -1; not used without interest.
    convention
        One of CapitalConvention [-], "annuity" by default.
    average
        Rule for the average investment, "mid value" (default) or "average annual" [-]; used by the second
        convention only.

    Returns
    -------
    Number
        Capital cost [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Price below zero, no life, interest of -100 % or less, or an unknown convention.

    References
    ----------
    University of Texas ME353 course notes, capital recovery (three equal forms); R. Panneerselvam,
    Engineering Economics, ch. 8. Half the value with interest: common practice in machine-hour sheets, no
    source.
    """
    not_negative(price=price)
    positive(life=life)
    any_number(salvage=salvage)
    within("interest", interest, above=-1.0)
    one_of("convention", convention, get_args(CapitalConvention))
    one_of("average", average, get_args(AverageInvestmentRule))
    if convention == "annuity":
        recovered = price * capital_recovery_factor(interest, life)
        return recovered - salvage * sinking_fund_factor(interest, life)
    loss = (price - salvage) / life
    if convention == "straight line without interest":
        return loss
    return loss + interest * average_investment(price, salvage, life, average)


def machine_life(life: Number, hours: Number, basis: LifeBasis = "years") -> Number:
    """Years over which a machine is written off, from a life stated in years or in running hours.

    years: the life itself, however little the machine runs.
    hours: life / hours per year, so a machine that runs half as much lasts twice as long.
    At low utilisation the first gives a rate per running hour well above the second.

    Parameters
    ----------
    life
        Life in the unit that the basis states [year or h], > 0.
    hours
        Running hours a year [h/year], > 0; not used with basis "years".
    basis
        "years" (default) or "hours" [-].

    Returns
    -------
    Number
        Life [year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Life or hours not above zero, or an unknown basis.

    References
    ----------
    Sessions, Berry and Han, Croatian Journal of Forest Engineering 42(3), 2021, doi 10.5552/crojfe.2021.1026.
    """
    positive(life=life, hours=hours)
    one_of("basis", basis, get_args(LifeBasis))
    return life / hours if basis == "hours" else life


def capital_per_hour(
    price: Number,
    salvage: Number,
    life: Number,
    interest: Number,
    hours: Number,
    convention: CapitalConvention = "annuity",
    average: AverageInvestmentRule = "mid value",
) -> Number:
    """Capital term of a machine-hour rate.

    capital cost per year / running hours per year

    Parameters
    ----------
    price
        Price or replacement value [money], >= 0.
    salvage
        Value at the end of the life [money]; negative where scrapping costs money.
    life
        Years the machine is kept [year], > 0.
    interest
        Interest per year [fraction], > -1.
    hours
        Running hours over which the year's cost is spread [h/year], > 0.
    convention
        One of CapitalConvention [-], "annuity" by default.
    average
        Rule for the average investment [-], "mid value" by default.

    Returns
    -------
    Number
        Capital term [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Price below zero, no life or hours, interest of -100 % or less, or an unknown convention.

    References
    ----------
    M. P. Groover, Automation, Production Systems, equipment cost rate (from memory).
    """
    positive(hours=hours)
    return capital_per_year(price, salvage, life, interest, convention, average) / hours


def space_per_hour(area: Number, price: Number, hours: Number) -> Number:
    """Floor-space term of a machine-hour rate.

    area x price per area and year / running hours. The price is per YEAR: a monthly rent is twelve times
    dearer.

    Parameters
    ----------
    area
        Floor of machine, access and its stock [m2], >= 0.
    price
        Rent or cost of the floor [money/m2/year], >= 0.
    hours
        Running hours over which the year's cost is spread [h/year], > 0.

    Returns
    -------
    Number
        Space term [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Area or price below zero, or no hours.

    References
    ----------
    University course solution of a machine-hour rate (its total is 70.81 per hour).
    """
    not_negative(area=area, price=price)
    positive(hours=hours)
    return area * price / hours


def power_per_hour(connected_power: Number, load_factor: Number, price: Number) -> Number:
    """Energy term of a machine-hour rate.

    connected power x load factor x price of energy

    Parameters
    ----------
    connected_power
        Power on the name plate [kW], >= 0.
    load_factor
        Mean power drawn in a running hour as a share of the connected power [fraction].
    price
        Price of energy [money/kWh], >= 0.

    Returns
    -------
    Number
        Energy term [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Power or price below zero, or a load factor outside 0 to 1.

    References
    ----------
    University course solution of a machine-hour rate (14 kWh an hour at 0.35). Load factors of 0.2 to 0.5 on
    the name plate: common practice, no source.
    """
    not_negative(connected_power=connected_power, price=price)
    fraction(load_factor=load_factor)
    return connected_power * load_factor * price


def maintenance_per_hour(yearly_cost: Number, hours: Number) -> Number:
    """Maintenance term of a machine-hour rate.

    repair and service cost of a year / running hours

    Parameters
    ----------
    yearly_cost
        Repair and service [money/year], >= 0; a cost over the whole life is divided by its years first.
    hours
        Running hours over which the year's cost is spread [h/year], > 0.

    Returns
    -------
    Number
        Maintenance term [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A cost below zero, or no hours.

    References
    ----------
    University course solution of a machine-hour rate (its total is 70.81 per hour).
    """
    not_negative(yearly_cost=yearly_cost)
    positive(hours=hours)
    return yearly_cost / hours


def consumables_per_hour(use: Number, price: Number) -> Number:
    """Term of a machine-hour rate for what a running hour uses up: coolant, oil, compressed air, filters.

    use per hour x price

    Parameters
    ----------
    use
        Use in a running hour [unit/h], >= 0.
    price
        Price of the same unit [money/unit], >= 0.

    Returns
    -------
    Number
        Consumables term [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Use or price below zero.

    References
    ----------
    Definition.
    """
    not_negative(use=use, price=price)
    return use * price


def standing_cost_per_hour(yearly_cost: Number, share: Number, hours: Number) -> Number:
    """Term of a machine-hour rate for any other yearly cost: insurance, software seat, supervision, lighting.

    share of the yearly cost that this machine bears / running hours

    Parameters
    ----------
    yearly_cost
        Cost of a year [money/year], >= 0.
    share
        Share that this machine bears [fraction]; 1 where the cost is its own.
    hours
        Running hours over which the year's cost is spread [h/year], > 0.

    Returns
    -------
    Number
        Standing term [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A cost below zero, a share outside 0 to 1, or no hours.

    References
    ----------
    Accounting course page on machine-hour rates, 2010 (standing charges by share).
    """
    not_negative(yearly_cost=yearly_cost)
    fraction(share=share)
    positive(hours=hours)
    return yearly_cost * share / hours
