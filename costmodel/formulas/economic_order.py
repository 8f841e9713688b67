"""How much to order at once: the square-root quantity, with backorders, uncertain yield, own making.

Any period serves, so long as demand and holding cost share it; a year is usual.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.units import Number

HALF = 0.5


class BackorderPlan(NamedTuple):
    """Cheapest order quantity when customers wait, at a price."""

    quantity: Number
    """Order quantity [parts]."""
    largest_shortage: Number
    """Parts owed just before a delivery [parts]."""
    largest_stock: Number
    """Stock just after a delivery [parts]."""
    short_share: Number
    """Share of the time, and of the order, that is short [fraction]."""
    cost: Number
    """Cost of ordering, holding and owing [money/period]."""


class YieldOrder(NamedTuple):
    """Cheapest order quantity when what arrives is uncertain."""

    quantity: Number
    """Quantity to order [parts]."""
    cost: Number
    """Mean cost of ordering and holding [money/period]."""


def order_and_holding_cost(
    quantity: Number, demand: Number, order_cost: Number, holding_cost: Number
) -> Number:
    """Cost of ordering and holding for an order quantity.

    K D / Q + h Q / 2.

    Parameters
    ----------
    quantity
        Order quantity, Q [parts], > 0.
    demand
        Demand of a period, D [parts/period], >= 0.
    order_cost
        Cost of one order whatever its size, K [money/order], >= 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], >= 0.

    Returns
    -------
    Number
        Cost [money/period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 3.2.
    """
    positive(quantity=quantity)
    not_negative(demand=demand, order_cost=order_cost, holding_cost=holding_cost)
    return order_cost * demand / quantity + HALF * holding_cost * quantity


def economic_order_quantity(demand: Number, order_cost: Number, holding_cost: Number) -> Number:
    """Order quantity at which ordering and holding together cost least.

    sqrt(2 K D / h); at it both costs are equal and their sum is sqrt(2 K D h).

    Parameters
    ----------
    demand
        Demand of a period, D [parts/period], >= 0.
    order_cost
        Cost of one order whatever its size, K [money/order], >= 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], > 0.

    Returns
    -------
    Number
        Order quantity [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 3.1.
    """
    not_negative(demand=demand, order_cost=order_cost)
    positive(holding_cost=holding_cost)
    quantity: Number = np.sqrt(2.0 * order_cost * demand / holding_cost)
    return quantity


def economic_production_quantity(
    demand: Number, set_up_cost: Number, holding_cost: Number, production_rate: Number
) -> YieldOrder:
    """Lot to make at once when stock fills up gradually while demand draws on it.

    Q = sqrt(2 K D / (h (1 - D / P))), cost sqrt(2 K D h (1 - D / P)).

    Parameters
    ----------
    demand
        Demand of a period, D [parts/period], >= 0.
    set_up_cost
        Cost of one set-up, K [money/lot], >= 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], > 0.
    production_rate
        Parts made in a period while the lot runs, P [parts/period], > D.

    Returns
    -------
    YieldOrder
        Lot [parts] and cost of set-up and holding [money/period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    R. Panneerselvam, Engineering Economics, example 13.2.
    """
    not_negative(demand=demand, set_up_cost=set_up_cost)
    positive(holding_cost=holding_cost, production_rate=production_rate)
    within("production_rate - demand", production_rate - demand, above=0.0)
    held = holding_cost * (1.0 - demand / production_rate)
    return YieldOrder(np.sqrt(2.0 * set_up_cost * demand / held), np.sqrt(2.0 * set_up_cost * demand * held))


def order_quantity_with_backorders(
    demand: Number, order_cost: Number, holding_cost: Number, shortage_cost: Number
) -> BackorderPlan:
    """Cheapest order quantity when shortages are planned and customers wait.

    Q = sqrt(2 K D (h + p) / (h p)), owed before a delivery Q h / (h + p), cost sqrt(2 K D h p / (h + p)).

    Parameters
    ----------
    demand
        Demand of a period, D [parts/period], >= 0.
    order_cost
        Cost of one order whatever its size, K [money/order], >= 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], > 0.
    shortage_cost
        Cost of owing one part for a period, p [money/part/period], > 0.

    Returns
    -------
    BackorderPlan
        Quantity, largest shortage and stock [parts], share short [fraction], cost [money/period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 3.8.
    """
    not_negative(demand=demand, order_cost=order_cost)
    positive(holding_cost=holding_cost, shortage_cost=shortage_cost)
    short_share = holding_cost / (holding_cost + shortage_cost)
    held = holding_cost * (1.0 - short_share)
    quantity = np.sqrt(2.0 * order_cost * demand / held)
    cost = np.sqrt(2.0 * order_cost * demand * held)
    return BackorderPlan(
        quantity, quantity * short_share, quantity * (1.0 - short_share), short_share + 0.0 * quantity, cost
    )


def order_quantity_with_yield(
    demand: Number,
    order_cost: Number,
    holding_cost: Number,
    yield_mean: Number,
    yield_spread: Number,
    *,
    kind: Literal["additive", "multiplicative"] = "multiplicative",
) -> YieldOrder:
    """Cheapest order quantity when the usable quantity received is random.

    additive, Q + Y received: S = sqrt(2 K D / h + sd^2), Q = S - mean, cost h S.
    multiplicative, Q Z received: Q = sqrt(2 K D / (h (mean^2 + sd^2))), cost sqrt(2 K D h (mean^2 + sd^2))
    / mean. Both follow from the mean cost of a cycle over its mean length (renewal reward).

    Parameters
    ----------
    demand
        Demand of a period, D [parts/period], > 0.
    order_cost
        Cost of one order whatever its size, K [money/order], > 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], > 0.
    yield_mean
        Mean of the parts added [parts], any sign, or of the share received [fraction], > 0.
    yield_spread
        Standard deviation of it [parts] or [fraction], >= 0.
    kind
        Whether the yield is added or multiplied [-], "additive" or "multiplicative".

    Returns
    -------
    YieldOrder
        Quantity to order [parts] and mean cost [money/period].

    Raises
    ------
    LimitError
        An argument outside its range, or a surplus so large that nothing would be ordered.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 9.3 (EOQ
    with additive and multiplicative yield).
    """
    one_of("kind", kind, ("additive", "multiplicative"))
    positive(demand=demand, order_cost=order_cost, holding_cost=holding_cost)
    not_negative(yield_spread=yield_spread)
    if kind == "additive":
        received = np.sqrt(2.0 * order_cost * demand / holding_cost + yield_spread**2)
        within("quantity to order", received - yield_mean, above=0.0)
        return YieldOrder(received - yield_mean, holding_cost * received + 0.0 * yield_mean)
    positive(yield_mean=yield_mean)
    square = yield_mean**2 + yield_spread**2
    return YieldOrder(
        np.sqrt(2.0 * order_cost * demand / (holding_cost * square)),
        np.sqrt(2.0 * order_cost * demand * holding_cost * square) / yield_mean,
    )
