"""Break-even in closed form: to explain and to check the exact search over the totals of the cost lines.

They hold only while no amount jumps or bends with the quantity; tiers, minimums and stock need the search.
Nothing saved means never: an infinite quantity, not a negative one.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

import numpy as np

from costmodel.formulas._choices import choose, one_of, rising
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import Series, any_number, items, whole_up
from costmodel.units import Number

Pieces = Literal["whole", "fractional"]


class StepBreakEven(NamedTuple):
    """Break-even in each range of a stepped cost: quantities [part], in_range 1 or 0 [-]."""

    quantities: tuple[Number, ...]
    in_range: tuple[Number, ...]


def cost_line(fixed_cost: Number, unit_cost: Number, quantity: Number) -> Number:
    """Cost of a quantity on a straight line.

    fixed + unit cost x quantity

    Parameters
    ----------
    fixed_cost
        Cost that the quantity does not change [money]; below zero where the choice earns something.
    unit_cost
        Cost that each part adds [money/part].
    quantity
        Parts [part], >= 0.

    Returns
    -------
    Number
        Cost [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A quantity below zero.

    References
    ----------
    Horngren, Datar and Rajan, Cost Accounting 14e, pp. 398-402.
    """
    any_number(fixed_cost=fixed_cost, unit_cost=unit_cost)
    not_negative(quantity=quantity)
    return fixed_cost + unit_cost * quantity


def break_even_quantity(
    fixed_cost: Number, saving_per_part: Number, target: Number = 0.0, pieces: Pieces = "whole"
) -> Number:
    """Quantity from which a saving per part covers a fixed cost and a target.

    (fixed + target) / saving; the first whole part at which it is covered

    Parameters
    ----------
    fixed_cost
        Fixed or one-time cost to be covered [money], >= 0.
    saving_per_part
        Saving, or contribution, of each part [money/part], any sign.
    target
        Income wanted beyond the fixed cost, before tax [money], >= 0.
    pieces
        "whole" (default) or "fractional" [-].

    Returns
    -------
    Number
        Quantity [part], broadcast shape of the arguments; infinite where nothing is saved.

    Raises
    ------
    LimitError
        A cost or target below zero, or an unknown convention.

    References
    ----------
    OpenStax, Principles of Accounting vol. 2: Managerial, ch. 3 (break-even and target income).
    """
    not_negative(fixed_cost=fixed_cost, target=target)
    any_number(saving_per_part=saving_per_part)
    one_of("pieces", pieces, get_args(Pieces))
    saves = np.greater(saving_per_part, 0.0)
    quantity = (fixed_cost + target) / choose(saves, saving_per_part, 1.0)
    return choose(saves, whole_up(quantity) if pieces == "whole" else quantity, np.inf)


def income_before_tax(income: Number, tax_rate: Number) -> Number:
    """Income before tax that leaves a given income after tax.

    income / (1 - tax)

    Parameters
    ----------
    income
        Income after tax [money].
    tax_rate
        Tax rate [fraction], below 1.

    Returns
    -------
    Number
        Income before tax [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A tax rate outside 0 to below 1.

    References
    ----------
    OpenStax, Principles of Accounting vol. 2: Managerial, ch. 3 (target income after tax).
    """
    any_number(income=income)
    within("tax_rate", tax_rate, at_least=0.0, below=1.0)
    return income / (1.0 - tax_rate)


def indifference_quantity(
    fixed_cost: Number, unit_cost: Number, other_fixed_cost: Number, other_unit_cost: Number
) -> Number:
    """Quantity at which two cost lines cost the same.

    (F2 - F1) / (c1 - c2), not rounded: which side is cheaper changes there

    Parameters
    ----------
    fixed_cost
        Fixed cost of one choice [money].
    unit_cost
        Cost of each part of the same choice [money/part].
    other_fixed_cost
        Fixed cost of the other choice [money].
    other_unit_cost
        Cost of each part of the other choice [money/part].

    Returns
    -------
    Number
        Quantity [part], broadcast shape; infinite where the lines do not cross at a quantity of zero or more.

    Raises
    ------
    LimitError
        An argument that is not a number.

    References
    ----------
    J. Heizer and B. Render, Operations Management, crossover chart (from memory).
    """
    any_number(
        fixed_cost=fixed_cost,
        unit_cost=unit_cost,
        other_fixed_cost=other_fixed_cost,
        other_unit_cost=other_unit_cost,
    )
    slope = unit_cost - other_unit_cost
    crosses = np.not_equal(slope, 0.0)
    quantity = (other_fixed_cost - fixed_cost) / choose(crosses, slope, 1.0)
    return choose(crosses & np.greater_equal(quantity, 0.0), quantity, np.inf)


def margin_of_safety(actual: Number, break_even: Number) -> Number:
    """Share by which a quantity or a turnover can fall before break-even.

    1 - break-even / actual; below zero where it lies under break-even already

    Parameters
    ----------
    actual
        Quantity or turnover expected [part or money], > 0.
    break_even
        Quantity or turnover at break-even [same unit], >= 0; infinite is allowed.

    Returns
    -------
    Number
        Margin of safety [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An expectation not above zero, or a break-even below zero.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 1.1.
    """
    positive(actual=actual)
    not_negative(break_even=break_even)
    return 1.0 - break_even / actual


def contribution_per_scarce_hour(contribution: Number, hours: Number) -> Number:
    """Contribution of a part for each hour it takes on the scarce machine: what parts are ranked by.

    contribution or saving per part / hours per part. Ranking by it is best for parts that can be made in any
    number; whole choices that exclude each other need an exact search.

    Parameters
    ----------
    contribution
        Contribution or saving of a part [money/part].
    hours
        Time of a part on the scarce machine [h/part], > 0.

    Returns
    -------
    Number
        Contribution [money/h], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No time on the machine.

    References
    ----------
    OpenStax, Principles of Accounting vol. 2: Managerial, ch. 10 (constrained resources).
    """
    any_number(contribution=contribution)
    positive(hours=hours)
    return contribution / hours


def step_break_even(fixed_costs: Series, margins: Series, range_ends: Series) -> StepBreakEven:
    """Break-even in each range of a fixed cost that rises in steps.

    F_k / margin_k, valid only if it lies above the end of the range before and at most at the end of its own

    Parameters
    ----------
    fixed_costs
        Fixed cost in each range [money], >= 0.
    margins
        Contribution of a part in each range [money/part], > 0.
    range_ends
        Largest quantity of each range, rising [part], > 0.

    Returns
    -------
    StepBreakEven
        Quantity of each range [part], and 1 where it lies in its range, 0 where it does not [-].

    Raises
    ------
    LimitError
        No range, series of different lengths, a cost below zero, a margin not above zero, or ends that do
        not rise.

    References
    ----------
    W. J. Stevenson, Operations Management, ch. 5 (capacity in steps, answers from memory).
    """
    costs = items("fixed_costs", fixed_costs, at_least=0.0)
    gains = items("margins", margins, len(costs), above=0.0)
    ends = items("range_ends", range_ends, len(costs), above=0.0)
    rising("range_ends", ends)
    quantities = tuple(cost / gain for cost, gain in zip(costs, gains, strict=True))
    starts = (0.0, *ends[:-1])
    valid = tuple(
        choose(np.greater(quantity, start) & np.less_equal(quantity, end), 1.0, 0.0)
        for quantity, start, end in zip(quantities, starts, ends, strict=True)
    )
    return StepBreakEven(quantities, valid)
