"""One order for one season or for the last time: the newsvendor's quantity, cost and profit."""

from __future__ import annotations

from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas.inventory import expected_shortage
from costmodel.units import Number


def critical_ratio(underage_cost: Number, overage_cost: Number) -> Number:
    """Service level at which one more part in stock costs as much as one fewer.

    p / (p + h).

    Parameters
    ----------
    underage_cost
        Cost of being one part short, p [money/part], > 0.
    overage_cost
        Cost of having one part too many, h [money/part], > 0.

    Returns
    -------
    Number
        Critical ratio [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 4.3.
    """
    positive(underage_cost=underage_cost, overage_cost=overage_cost)
    return underage_cost / (underage_cost + overage_cost)


def newsvendor_quantity(mean: Number, spread: Number, underage_cost: Number, overage_cost: Number) -> Number:
    """Quantity for a single season, or a last buy, with a normal demand.

    mean + spread x inverse of Phi at the critical ratio.

    Parameters
    ----------
    mean
        Mean demand [parts], >= 0.
    spread
        Standard deviation of the demand [parts], >= 0.
    underage_cost
        Cost of being one part short [money/part], > 0.
    overage_cost
        Cost of having one part too many [money/part], > 0.

    Returns
    -------
    Number
        Quantity [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 4.3.
    """
    from scipy.special import ndtri

    not_negative(mean=mean, spread=spread)
    quantity: Number = mean + spread * ndtri(critical_ratio(underage_cost, overage_cost))
    return quantity


def newsvendor_cost(
    quantity: Number, mean: Number, spread: Number, underage_cost: Number, overage_cost: Number
) -> Number:
    """Mean cost of parts short and parts left over for a quantity, with a normal demand.

    h (Q - mean) + (h + p) sd L((Q - mean) / sd).

    Parameters
    ----------
    quantity
        Quantity, Q [parts].
    mean
        Mean demand [parts], >= 0.
    spread
        Standard deviation of the demand, sd [parts], >= 0.
    underage_cost
        Cost of being one part short, p [money/part], >= 0.
    overage_cost
        Cost of having one part too many, h [money/part], >= 0.

    Returns
    -------
    Number
        Mean cost [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 4.3.
    """
    not_negative(mean=mean, underage_cost=underage_cost, overage_cost=overage_cost)
    left = quantity - mean
    return overage_cost * left + (overage_cost + underage_cost) * expected_shortage(left, spread)


def newsvendor_profit(
    quantity: Number,
    mean: Number,
    spread: Number,
    price: Number,
    unit_cost: Number,
    *,
    salvage: Number = 0.0,
) -> Number:
    """Mean profit of a quantity for a single season, with a normal demand.

    (price - cost) mean - newsvendor cost, with p = price - cost and h = cost - salvage.

    Parameters
    ----------
    quantity
        Quantity [parts].
    mean
        Mean demand [parts], >= 0.
    spread
        Standard deviation of the demand [parts], >= 0.
    price
        Price of a part sold [money/part], >= the cost.
    unit_cost
        Cost of a part [money/part], >= the salvage.
    salvage
        What a part left over brings [money/part].

    Returns
    -------
    Number
        Mean profit [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 4.3.
    """
    cost = newsvendor_cost(quantity, mean, spread, price - unit_cost, unit_cost - salvage)
    return (price - unit_cost) * mean - cost
