"""Safety stock, shortage, fill rate and what stock costs.

Any unit of time serves as the period, so long as demand, its spread and the lead time share it.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.units import Number

Counting = Literal["at_cycle_end", "new_in_cycle"]
COUNTINGS: tuple[str, ...] = ("at_cycle_end", "new_in_cycle")
HALF = 0.5
_NORMAL_DENSITY_AT_0 = 0.3989422804014327
_FARTHEST = 36.0
_SMALLEST_LOSS = 1e-280
_NEWTON_STEPS = 12
_BISECTIONS = 70


class LeadTimeDemand(NamedTuple):
    """Demand during a lead time."""

    mean: Number
    """Mean [parts]."""
    spread: Number
    """Standard deviation [parts]."""


def lead_time_demand(
    demand: Number, demand_spread: Number, lead_time: Number, lead_time_spread: Number
) -> LeadTimeDemand:
    """Mean and standard deviation of the demand during an uncertain lead time.

    mean = d L, spread = sqrt(L sd_d^2 + d^2 sd_L^2), for demands of different periods independent of each
    other and of the lead time (variance of a sum of a random number of terms). With periodic review the
    review period is added to the lead time.

    Parameters
    ----------
    demand
        Mean demand of a period, d [parts/period], >= 0.
    demand_spread
        Standard deviation of the demand of a period, sd_d [parts/period], >= 0.
    lead_time
        Mean lead time, L [period], >= 0.
    lead_time_spread
        Standard deviation of the lead time, sd_L [period], >= 0.

    Returns
    -------
    LeadTimeDemand
        Mean and standard deviation [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock; law of total variance.
    """
    not_negative(
        demand=demand, demand_spread=demand_spread, lead_time=lead_time, lead_time_spread=lead_time_spread
    )
    variance = lead_time * demand_spread**2 + (demand * lead_time_spread) ** 2
    return LeadTimeDemand(demand * lead_time, np.sqrt(variance))


def safety_factor(cycle_service: Number) -> Number:
    """Number of standard deviations that give a cycle service under a normal law.

    z = inverse of Phi at the cycle service.

    Parameters
    ----------
    cycle_service
        Chance that no shortage occurs before a delivery [fraction], above 0 and below 1.

    Returns
    -------
    Number
        Safety factor [-], negative below one half.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Quantile of the normal distribution.
    """
    from scipy.special import ndtri

    within("cycle_service", cycle_service, above=0.0, below=1.0)
    factor: Number = ndtri(cycle_service)
    return factor


def safety_stock(spread: Number, factor: Number) -> Number:
    """Safety stock from the spread of the lead-time demand and a safety factor.

    factor x standard deviation. The law is taken as normal: skewed lead times want the simulation.

    Parameters
    ----------
    spread
        Standard deviation of the lead-time demand [parts], >= 0.
    factor
        Safety factor, see `safety_factor` [-].

    Returns
    -------
    Number
        Safety stock [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock.
    """
    not_negative(spread=spread)
    return factor * spread


def unit_normal_loss(factor: Number) -> Number:
    """Mean excess of a standard normal variable over a value.

    L(z) = phi(z) - z (1 - Phi(z)), computed as phi(|z|) (1 - |z| M(|z|)) + max(-z, 0) with Mills' ratio M,
    which keeps its relative precision far out. Beyond 36 standard deviations the value at 36 stands (3e-285).

    Parameters
    ----------
    factor
        Value in standard deviations, z [-].

    Returns
    -------
    Number
        Mean excess in standard deviations [-].

    Raises
    ------
    LimitError
        A value that is not a number.

    References
    ----------
    Definition; tables in handbooks on inventory agree.
    """
    from scipy.special import erfcx

    within("factor", factor)
    distance = np.minimum(np.abs(factor), _FARTHEST)
    mills = np.sqrt(HALF * np.pi) * erfcx(distance * np.sqrt(HALF))
    density = _NORMAL_DENSITY_AT_0 * np.exp(-HALF * distance**2)
    loss: Number = density * (1.0 - distance * mills) + np.maximum(-factor, 0.0)
    return loss


def inverse_unit_normal_loss(loss: Number) -> Number:
    """Value that a standard normal variable exceeds by a given mean excess.

    Newton's method on ln L(z), which is concave: from its first step on it comes down on the root from above.

    Parameters
    ----------
    loss
        Mean excess in standard deviations [-], >= 1e-280.

    Returns
    -------
    Number
        Value in standard deviations, z [-].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Inverse of the unit normal loss; log-concavity of a tail integral of a log-concave density.
    """
    from scipy.special import ndtr

    within("loss", loss, at_least=_SMALLEST_LOSS)
    small = np.less(loss, _NORMAL_DENSITY_AT_0)
    scaled = np.minimum(loss, _NORMAL_DENSITY_AT_0) / _NORMAL_DENSITY_AT_0
    factor: Number = choose(small, np.sqrt(-2.0 * np.log(scaled)), -loss)
    for _ in range(_NEWTON_STEPS):
        current = unit_normal_loss(factor)
        factor = factor + np.log(current / loss) * current / ndtr(-factor)
    return factor


def expected_shortage(
    stock: Number,
    spread: Number,
    *,
    order_quantity: Number | None = None,
    counting: Counting = "at_cycle_end",
) -> Number:
    """Parts short on average at the end of a replenishment cycle.

    at_cycle_end: sd L(ss / sd), everything short when the delivery comes. new_in_cycle: less what was
    still short when the cycle began, sd (L(ss / sd) - L((ss + Q) / sd)); it matters when an order is not
    large against the spread.

    Parameters
    ----------
    stock
        Safety stock, ss [parts], may be negative.
    spread
        Standard deviation of the lead-time demand, sd [parts], >= 0.
    order_quantity
        Order quantity, Q [parts], > 0; wanted for "new_in_cycle" only.
    counting
        Which shortage is counted [-], "at_cycle_end" or "new_in_cycle".

    Returns
    -------
    Number
        Expected shortage [parts/cycle].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock (expected shortage per cycle).
    """
    one_of("counting", counting, COUNTINGS)
    not_negative(spread=spread)
    if counting == "at_cycle_end":
        return _normal_shortage(stock, spread)
    quantity = np.nan if order_quantity is None else order_quantity
    positive(order_quantity=quantity)
    return _normal_shortage(stock, spread) - _normal_shortage(stock + quantity, spread)


def _normal_shortage(stock: Number, spread: Number) -> Number:
    some = np.greater(spread, 0.0)
    safe = np.where(some, spread, 1.0)
    return choose(some, spread * unit_normal_loss(stock / safe), np.maximum(-stock, 0.0))


def fill_rate(
    stock: Number, spread: Number, order_quantity: Number, *, counting: Counting = "at_cycle_end"
) -> Number:
    """Share of the demand served from the shelf.

    1 - shortage of a cycle / Q. Counting at the cycle's end can fall below 0 for small orders; "new_in_cycle"
    is exact for a normal lead-time demand with continuous review.

    Parameters
    ----------
    stock
        Safety stock [parts], may be negative.
    spread
        Standard deviation of the lead-time demand [parts], >= 0.
    order_quantity
        Order quantity, Q [parts], > 0.
    counting
        Which shortage is counted [-], "at_cycle_end" or "new_in_cycle".

    Returns
    -------
    Number
        Fill rate [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock (fill rate).
    """
    positive(order_quantity=order_quantity)
    shortage = expected_shortage(stock, spread, order_quantity=order_quantity, counting=counting)
    return 1.0 - shortage / order_quantity


def safety_stock_for_fill_rate(
    spread: Number, order_quantity: Number, wanted: Number, *, counting: Counting = "at_cycle_end"
) -> Number:
    """Safety stock that gives a fill rate.

    The stock at which the shortage of a cycle is (1 - fill rate) Q, by the inverse normal loss or, counting
    new shortage only, by halving. It is negative where the order alone gives the fill rate: floor it at
    zero if a policy wants that.

    Parameters
    ----------
    spread
        Standard deviation of the lead-time demand [parts], >= 0.
    order_quantity
        Order quantity, Q [parts], > 0.
    wanted
        Fill rate [fraction], above 0 and below 1.
    counting
        Which shortage is counted [-], "at_cycle_end" or "new_in_cycle".

    Returns
    -------
    Number
        Safety stock [parts], may be negative.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock (fill rate).
    """
    one_of("counting", counting, COUNTINGS)
    not_negative(spread=spread)
    positive(order_quantity=order_quantity)
    within("wanted", wanted, above=0.0, below=1.0)
    short = (1.0 - wanted) * order_quantity
    some = np.greater(spread, 0.0)
    safe: Number = np.where(some, spread, 1.0)
    if counting == "at_cycle_end":
        return choose(some, spread * inverse_unit_normal_loss(short / safe), -short)
    low: Number = -short - order_quantity - _FARTHEST * spread
    high: Number = _FARTHEST * spread + 0.0 * low
    for _ in range(_BISECTIONS):
        middle = HALF * (low + high)
        new = _normal_shortage(middle, spread) - _normal_shortage(middle + order_quantity, spread)
        too_little = np.greater(new, short)
        low, high = choose(too_little, middle, low), choose(too_little, high, middle)
    return HALF * (low + high)


def cycle_service(stock: Number, spread: Number) -> Number:
    """Chance that no shortage occurs before a delivery.

    Phi(ss / sd); without spread 1 where the safety stock is not negative, else 0.

    Parameters
    ----------
    stock
        Safety stock, ss [parts], may be negative.
    spread
        Standard deviation of the lead-time demand, sd [parts], >= 0.

    Returns
    -------
    Number
        Cycle service [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock.
    """
    from scipy.special import ndtr

    not_negative(spread=spread)
    some = np.greater(spread, 0.0)
    certain = np.where(np.greater_equal(stock, 0.0), 1.0, 0.0)
    return choose(some, ndtr(stock / np.where(some, spread, 1.0)), certain)
