"""What an hour of a machine is taken to cost: running hours, four bases of the rate, and idle hours.

The four bases answer different questions and none is picked silently: full at practical hours (what the hour
costs when the machine is used as it can be), full at budgeted hours (what recovers the ledger), cash (what
changes if the hour is worked), and cash plus the contribution of the work that has to make room.
"""

from __future__ import annotations

from costmodel.formulas._limits import fraction, not_negative, positive
from costmodel.formulas._series import any_number
from costmodel.units import Number

MINUTES_PER_HOUR = 60.0


def running_hours(days: Number, shifts: Number, hours_per_shift: Number, utilisation: Number) -> Number:
    """Hours a year that a machine runs productively.

    days x shifts x hours per shift x utilisation; the product without utilisation is the planned time, which
    is the denominator of utilisation here

    Parameters
    ----------
    days
        Working days a year [day/year], > 0.
    shifts
        Staffed shifts a day [1/day], > 0.
    hours_per_shift
        Length of a shift [h], > 0.
    utilisation
        Running hours as a share of the planned hours [fraction].

    Returns
    -------
    Number
        Running hours [h/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Days, shifts or hours not above zero, or utilisation outside 0 to 1.

    References
    ----------
    University course solution of a machine-hour rate: 250 d x 2 shifts x 8 h x 0.9 = 3,600 h.
    """
    positive(days=days, shifts=shifts, hours_per_shift=hours_per_shift)
    fraction(utilisation=utilisation)
    return days * shifts * hours_per_shift * utilisation


def full_rate(fixed_cost: Number, hours: Number, variable_rate: Number) -> Number:
    """Machine-hour rate that spreads the year's fixed cost over stated hours.

    fixed cost / hours + variable cost per hour. With practical hours the rate does not rise when work leaves;
    with budgeted hours it recovers the ledger, and rises.

    Parameters
    ----------
    fixed_cost
        Fixed cost of the machine [money/year], >= 0.
    hours
        Practical or budgeted running hours [h/year], > 0: state which.
    variable_rate
        Cost of a running hour that arises only when it is run [money/h], >= 0.

    Returns
    -------
    Number
        Rate [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A cost below zero, or no hours.

    References
    ----------
    Trade press on make versus buy, 2020: 30 M over 250,000, 220,000 and 200,000 h is 120, 136 and 150 per
    hour.
    """
    not_negative(fixed_cost=fixed_cost, variable_rate=variable_rate)
    positive(hours=hours)
    return fixed_cost / hours + variable_rate


def cash_rate(variable_rate: Number, avoidable_fixed_cost: Number, hours: Number) -> Number:
    """Machine-hour rate of the money that really changes with the decision.

    variable cost per hour + the part of the fixed cost that would go away / hours

    Parameters
    ----------
    variable_rate
        Cost of a running hour that arises only when it is run [money/h], >= 0.
    avoidable_fixed_cost
        Fixed cost that would end if these hours were not worked [money/year], >= 0; usually 0.
    hours
        Hours a year that the decision is about [h/year], > 0.

    Returns
    -------
    Number
        Rate [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A cost below zero, or no hours.

    References
    ----------
    Horngren, Datar and Rajan, Cost Accounting 14e, p. 398: only costs that are future and differ count.
    """
    not_negative(variable_rate=variable_rate, avoidable_fixed_cost=avoidable_fixed_cost)
    positive(hours=hours)
    return variable_rate + avoidable_fixed_cost / hours


def cash_plus_displaced_rate(cash: Number, contribution: Number) -> Number:
    """Machine-hour rate where the hour is taken from other work.

    cash rate + contribution per hour of the work displaced

    Parameters
    ----------
    cash
        Cash rate [money/h], >= 0.
    contribution
        Contribution that the displaced work would have earned [money/h], >= 0; 0 while hours are free.

    Returns
    -------
    Number
        Rate [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate below zero.

    References
    ----------
    Horngren, Datar and Rajan, Cost Accounting 14e, p. 402: opportunity cost of capacity.
    """
    not_negative(cash=cash, contribution=contribution)
    return cash + contribution


def overhead_rate(overhead: Number, base: Number) -> Number:
    """Overhead rate set in advance from a budget.

    budgeted overhead / budgeted base, such as money per labour money or per machine hour

    Parameters
    ----------
    overhead
        Budgeted overhead [money/year], >= 0.
    base
        Budgeted base on which it is charged [money/year or h/year], > 0.

    Returns
    -------
    Number
        Rate [- or money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Overhead below zero, or no base.

    References
    ----------
    OpenStax, Principles of Accounting vol. 2: Managerial, module on predetermined overhead.
    """
    not_negative(overhead=overhead)
    positive(base=base)
    return overhead / base


def rate_with_overhead(rate: Number, overhead: Number) -> Number:
    """Rate that also carries overhead as a share.

    rate x (1 + overhead share). The same overhead must not stand in the rate as a term as well.

    Parameters
    ----------
    rate
        Rate without overhead [money/h], >= 0.
    overhead
        Overhead on the rate [fraction], >= 0; may exceed 1.

    Returns
    -------
    Number
        Rate [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Rate or overhead below zero.

    References
    ----------
    Work cell example with factory overhead, industrial engineering text, Example 2.12 (book title not shown).
    """
    not_negative(rate=rate, overhead=overhead)
    return rate * (1.0 + overhead)


def machine_charge(minutes: Number, rate: Number) -> Number:
    """Cost of machine minutes at an hourly rate.

    minutes x rate / 60

    Parameters
    ----------
    minutes
        Machine time [min], >= 0.
    rate
        Rate [money/h], >= 0.

    Returns
    -------
    Number
        Cost [money] for what the minutes are stated (part, load or lot), broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Minutes or rate below zero.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 2.6, p. 23.
    """
    not_negative(minutes=minutes, rate=rate)
    return minutes * rate / MINUTES_PER_HOUR


def idle_cost(fixed_cost: Number, practical_hours: Number, used_hours: Number) -> Number:
    """Fixed cost of the hours that a machine could run and does not: a line of the year, never of a part.

    fixed cost x (1 - used / practical hours); negative where more hours were run than practical

    Parameters
    ----------
    fixed_cost
        Fixed cost of the machine [money/year], >= 0.
    practical_hours
        Hours it can be run in practice [h/year], > 0.
    used_hours
        Hours it is or was run [h/year], >= 0.

    Returns
    -------
    Number
        Idle cost [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A cost or used hours below zero, or no practical hours.

    References
    ----------
    IAS 2, paragraph 13 (fixed overhead at normal capacity, unallocated overhead is an expense of the period).
    """
    not_negative(fixed_cost=fixed_cost, used_hours=used_hours)
    positive(practical_hours=practical_hours)
    return fixed_cost * (1.0 - used_hours / practical_hours)


def over_absorbed(rate: Number, used_hours: Number, actual_cost: Number) -> Number:
    """Cost charged to parts by a rate beyond what the machine really cost in the year.

    rate x hours used - actual cost: above zero over-absorbed, below zero under-absorbed

    Parameters
    ----------
    rate
        Rate charged [money/h], >= 0.
    used_hours
        Hours charged [h/year], >= 0.
    actual_cost
        Cost in the ledger [money/year], any sign.

    Returns
    -------
    Number
        Over-absorbed cost [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Rate or hours below zero.

    References
    ----------
    Cost accounting definition of over- and under-absorbed overhead (from memory).
    """
    not_negative(rate=rate, used_hours=used_hours)
    any_number(actual_cost=actual_cost)
    return rate * used_hours - actual_cost
