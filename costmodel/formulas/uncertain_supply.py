"""Order quantity and reorder point when demand or the supplier is uncertain: exact costs and their minima."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas.inventory import unit_normal_loss
from costmodel.formulas.newsvendor import critical_ratio
from costmodel.units import Number

Method = Literal["exact", "approximate"]
METHODS: tuple[str, ...] = ("exact", "approximate")
HALF = 0.5
_BISECTIONS = 60
_LARGEST_EXPONENT = 700.0


class ReorderPolicy(NamedTuple):
    """A reorder point and an order quantity with their cost."""

    reorder_point: Number
    """Position of the stock at which an order is placed [parts]."""
    order_quantity: Number
    """Order quantity [parts]."""
    cost: Number
    """Mean cost of ordering, holding and owing [money/period]."""


class UnreliableOrder(NamedTuple):
    """Cheapest order quantity from a supplier who is sometimes down."""

    quantity: Number
    """Order quantity [parts]."""
    cost: Number
    """Mean cost of ordering, holding and shortage [money/period]."""


def _second_order_loss(factor: Number) -> Number:
    """Integral of the unit normal loss from a value to infinity: ((1 + z^2)(1 - Phi) - z phi) / 2."""
    from scipy.special import ndtr

    tail = ndtr(-factor)
    integral: Number = HALF * (tail - factor * unit_normal_loss(factor))
    return integral


def _position_cost(
    position: Number, mean: Number, spread: Number, holding: Number, shortage: Number
) -> Number:
    left = (position - mean) / spread
    return spread * (holding * left + (holding + shortage) * unit_normal_loss(left))


def reorder_policy_cost(
    reorder_point: Number,
    order_quantity: Number,
    demand: Number,
    mean: Number,
    spread: Number,
    order_cost: Number,
    holding_cost: Number,
    shortage_cost: Number,
) -> Number:
    """Exact mean cost of ordering Q whenever the stock position falls to r, with a normal lead-time demand.

    (K D + integral from r to r + Q of G(y) dy) / Q, the position being uniform between r and r + Q and
    G(y) = h (y - mean) + (h + p) sd L((y - mean) / sd) the cost of a period that starts at position y. The
    integral is closed: the loss integrates to ((1 + z^2)(1 - Phi(z)) - z phi(z)) / 2.

    Parameters
    ----------
    reorder_point
        Position of the stock at which an order is placed, r [parts].
    order_quantity
        Order quantity, Q [parts], > 0.
    demand
        Demand of a period, D [parts/period], >= 0.
    mean
        Mean demand during the lead time [parts], >= 0.
    spread
        Standard deviation of it, sd [parts], > 0.
    order_cost
        Cost of one order whatever its size, K [money/order], >= 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], > 0.
    shortage_cost
        Cost of owing one part for a period, p [money/part/period], > 0.

    Returns
    -------
    Number
        Mean cost [money/period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 5.1.
    """
    positive(
        order_quantity=order_quantity, spread=spread, holding_cost=holding_cost, shortage_cost=shortage_cost
    )
    not_negative(demand=demand, mean=mean, order_cost=order_cost)
    low = (reorder_point - mean) / spread
    high = low + order_quantity / spread
    held = HALF * holding_cost * (high**2 - low**2)
    owed = (holding_cost + shortage_cost) * (_second_order_loss(low) - _second_order_loss(high))
    return (order_cost * demand + spread**2 * (held + owed)) / order_quantity


def cheapest_reorder_point(
    order_quantity: Number, mean: Number, spread: Number, holding_cost: Number, shortage_cost: Number
) -> Number:
    """Reorder point at which an order quantity costs least, with a normal lead-time demand.

    The r with G(r) = G(r + Q), found by halving between S - Q and S, S being the newsvendor quantity.

    Parameters
    ----------
    order_quantity
        Order quantity, Q [parts], > 0.
    mean
        Mean demand during the lead time [parts], >= 0.
    spread
        Standard deviation of it [parts], > 0.
    holding_cost
        Cost of holding one part for a period [money/part/period], > 0.
    shortage_cost
        Cost of owing one part for a period [money/part/period], > 0.

    Returns
    -------
    Number
        Reorder point [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 5.2.
    """
    from scipy.special import ndtri

    positive(order_quantity=order_quantity, spread=spread)
    not_negative(mean=mean)
    best_position = mean + spread * ndtri(critical_ratio(shortage_cost, holding_cost))
    low: Number = best_position - order_quantity
    high: Number = best_position + 0.0 * order_quantity
    for _ in range(_BISECTIONS):
        middle = HALF * (low + high)
        before = _position_cost(middle, mean, spread, holding_cost, shortage_cost)
        after = _position_cost(middle + order_quantity, mean, spread, holding_cost, shortage_cost)
        too_low = np.greater(before, after)
        low, high = choose(too_low, middle, low), choose(too_low, high, middle)
    return HALF * (low + high)


def cheapest_reorder_policy(
    demand: Number,
    mean: Number,
    spread: Number,
    order_cost: Number,
    holding_cost: Number,
    shortage_cost: Number,
) -> ReorderPolicy:
    """Reorder point and order quantity that cost least together, with a normal lead-time demand.

    At the optimum the cost equals G(r) = G(r + Q). With the best r of each Q the cost falls while it is above
    G(r), which rises with Q, so Q is found by halving. It is not below the square-root quantity with
    backorders, and above it by less than sd (h + p) / min(h, p), because G exceeds its value without
    spread by at most 0.4 sd (h + p).

    Parameters
    ----------
    demand
        Demand of a period [parts/period], > 0.
    mean
        Mean demand during the lead time [parts], >= 0.
    spread
        Standard deviation of it [parts], > 0.
    order_cost
        Cost of one order whatever its size [money/order], > 0.
    holding_cost
        Cost of holding one part for a period [money/part/period], > 0.
    shortage_cost
        Cost of owing one part for a period [money/part/period], > 0.

    Returns
    -------
    ReorderPolicy
        Reorder point and order quantity [parts], mean cost [money/period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 5 (exact
    (r, Q)).
    """
    positive(demand=demand, spread=spread, order_cost=order_cost)
    positive(holding_cost=holding_cost, shortage_cost=shortage_cost)
    both = holding_cost * shortage_cost / (holding_cost + shortage_cost)
    low: Number = np.sqrt(2.0 * order_cost * demand / both) + 0.0 * spread
    high: Number = low + spread * (holding_cost + shortage_cost) / np.minimum(holding_cost, shortage_cost)
    for _ in range(_BISECTIONS):
        quantity = HALF * (low + high)
        point = cheapest_reorder_point(quantity, mean, spread, holding_cost, shortage_cost)
        cost = reorder_policy_cost(
            point, quantity, demand, mean, spread, order_cost, holding_cost, shortage_cost
        )
        too_small = np.greater(cost, _position_cost(point, mean, spread, holding_cost, shortage_cost))
        low, high = choose(too_small, quantity, low), choose(too_small, high, quantity)
    return ReorderPolicy(point, quantity, cost)


def _down_share(quantity: Number, demand: Number, failure: Number, repair: Number, method: str) -> Number:
    share = failure / (failure + repair)
    if method == "approximate":
        return share + 0.0 * quantity
    return -share * np.expm1(-np.minimum((failure + repair) * quantity / demand, _LARGEST_EXPONENT))


def unreliable_order_cost(
    quantity: Number,
    demand: Number,
    order_cost: Number,
    holding_cost: Number,
    shortage_cost: Number,
    disruption_rate: Number,
    recovery_rate: Number,
    *,
    method: Method = "exact",
) -> Number:
    """Mean cost of an order quantity from a supplier who is down at random; demand then is lost.

    (K + h Q^2 / (2 D) + p D psi / mu) / (Q / D + psi / mu), psi being the chance that the supplier is down
    when the stock runs out: lambda / (lambda + mu) (1 - exp(-(lambda + mu) Q / D)), or without the bracket
    for the approximation. Lead time zero; up and down times exponential.

    Parameters
    ----------
    quantity
        Order quantity, Q [parts], > 0.
    demand
        Demand of a period, D [parts/period], > 0.
    order_cost
        Cost of one order whatever its size, K [money/order], >= 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], >= 0.
    shortage_cost
        Cost of one part not delivered, p [money/part], >= 0.
    disruption_rate
        Disruptions of a period while the supplier is up, lambda [1/period], >= 0.
    recovery_rate
        Recoveries of a period while he is down, mu [1/period], > 0.
    method
        Which chance is taken [-], "exact" or "approximate".

    Returns
    -------
    Number
        Mean cost [money/period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 9.1.
    """
    one_of("method", method, METHODS)
    positive(quantity=quantity, demand=demand, recovery_rate=recovery_rate)
    not_negative(
        order_cost=order_cost,
        holding_cost=holding_cost,
        shortage_cost=shortage_cost,
        disruption_rate=disruption_rate,
    )
    down = _down_share(quantity, demand, disruption_rate, recovery_rate, method) / recovery_rate
    cycle_cost = order_cost + HALF * holding_cost * quantity**2 / demand + shortage_cost * demand * down
    return cycle_cost / (quantity / demand + down)


def unreliable_order_quantity(
    demand: Number,
    order_cost: Number,
    holding_cost: Number,
    shortage_cost: Number,
    disruption_rate: Number,
    recovery_rate: Number,
    *,
    method: Method = "exact",
) -> UnreliableOrder:
    """Cheapest order quantity from a supplier who is down at random.

    approximate: with a = D psi / mu, Q = -a + sqrt(a^2 + 2 D (K + p a) / h). exact: the sign change of the
    slope of the cost, found by halving.

    Parameters
    ----------
    demand
        Demand of a period, D [parts/period], > 0.
    order_cost
        Cost of one order whatever its size, K [money/order], > 0.
    holding_cost
        Cost of holding one part for a period, h [money/part/period], > 0.
    shortage_cost
        Cost of one part not delivered, p [money/part], >= 0.
    disruption_rate
        Disruptions of a period while the supplier is up, lambda [1/period], >= 0.
    recovery_rate
        Recoveries of a period while he is down, mu [1/period], > 0.
    method
        Which chance is taken [-], "exact" or "approximate".

    Returns
    -------
    UnreliableOrder
        Quantity [parts] and mean cost [money/period] by the method chosen.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Examples 9.1,
    9.2.
    """
    one_of("method", method, METHODS)
    positive(demand=demand, order_cost=order_cost, holding_cost=holding_cost, recovery_rate=recovery_rate)
    not_negative(shortage_cost=shortage_cost, disruption_rate=disruption_rate)
    rates = disruption_rate + recovery_rate
    away = demand * disruption_rate / (rates * recovery_rate)
    square = away**2 + 2.0 * demand * (order_cost + shortage_cost * away) / holding_cost
    quantity: Number = np.sqrt(square) - away
    if method == "exact":
        # Beyond `high` the slope is positive: there the length of a cycle grows by 1.25 / D at most.
        settled = demand / rates * np.log(np.maximum(4.0 * disruption_rate / recovery_rate, 1.0))
        high: Number = settled + np.sqrt(
            10.0 / 3.0 * demand * (order_cost + shortage_cost * away) / holding_cost
        )
        low: Number = 0.0 * high
        for _ in range(_BISECTIONS):
            quantity = HALF * (low + high)
            down = _down_share(quantity, demand, disruption_rate, recovery_rate, "exact") / recovery_rate
            decay = np.exp(-np.minimum(rates * quantity / demand, _LARGEST_EXPONENT))
            slope_of_down = disruption_rate / (demand * recovery_rate) * decay
            length, length_slope = quantity / demand + down, 1.0 / demand + slope_of_down
            cost = order_cost + HALF * holding_cost * quantity**2 / demand + shortage_cost * demand * down
            cost_slope = holding_cost * quantity / demand + shortage_cost * demand * slope_of_down
            falling = np.less(cost_slope * length, cost * length_slope)
            low, high = choose(falling, quantity, low), choose(falling, high, quantity)
    cost = unreliable_order_cost(
        quantity,
        demand,
        order_cost,
        holding_cost,
        shortage_cost,
        disruption_rate,
        recovery_rate,
        method=method,
    )
    return UnreliableOrder(quantity, cost)
