"""Exact search of the cheapest order quantity with price tiers, minimum orders and shipment steps."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import ROUNDING_GUARD, one_of, rising, same_length, whole_steps
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas.freight import stepped_charge
from costmodel.formulas.landed import TIER_RULES, TierRule, tier_price
from costmodel.units import Number

Quantities = npt.NDArray[np.float64]
HALF = 0.5
MOST_STEPS = 200_000
"""Shipment steps searched at most; more means that a step is far smaller than the orders in question."""


class YearlyOrderCost(NamedTuple):
    """Cost of a period's demand bought in equal orders, line by line."""

    purchase: Number
    """Price of the parts [money/period]."""
    ordering: Number
    """Cost of placing the orders [money/period]."""
    shipping: Number
    """Pallets and containers [money/period]."""
    holding: Number
    """Holding the average stock of half an order [money/period]."""

    @property
    def total(self) -> Number:
        """Sum of the lines [money/period]."""
        return self.purchase + self.ordering + self.shipping + self.holding


class CheapestOrder(NamedTuple):
    """The cheapest order quantity and everything it was compared with."""

    quantity: float
    """Cheapest order quantity [parts]; the smallest of equals."""
    yearly_cost: float
    """Its cost [money/period]."""
    candidates: Quantities
    """Quantities among which the cheapest must be, rising [parts]."""
    costs: Quantities
    """Cost of each candidate [money/period]."""


def yearly_order_cost(
    quantity: Number,
    demand: Number,
    order_cost: Number,
    breaks: Sequence[Number],
    prices: Sequence[Number],
    *,
    rule: TierRule = "all_units",
    holding_rate: Number = 0.0,
    holding_cost: Number = 0.0,
    step_quantities: Sequence[Number] = (),
    step_charges: Sequence[Number] = (),
) -> YearlyOrderCost:
    """Cost of a year's demand bought in equal orders.

    purchase D price(Q), ordering K D / Q, shipping D / Q x sum of ceil(Q / step) x charge, holding
    (rate x price(Q) + h) Q / 2, where the price is the average price of the order.

    Parameters
    ----------
    quantity
        Order quantity, Q [parts], > 0.
    demand
        Demand of a period, D [parts/period], >= 0.
    order_cost
        Cost of one order whatever its size, K [money/order], >= 0.
    breaks
        Smallest quantity of each price tier [parts], rising.
    prices
        Price of one part in each tier [money/part], >= 0.
    rule
        Whether a price holds for all parts or for those of its tier [-], "all_units" or "incremental".
    holding_rate
        Cost of holding stock for a period per its value [fraction/period], >= 0.
    holding_cost
        Cost of holding one part for a period whatever its price, h [money/part/period], >= 0.
    step_quantities
        Parts that one pallet, container or other step of a shipment holds [parts], > 0.
    step_charges
        Charge of each such step [money], >= 0, as many as step_quantities.

    Returns
    -------
    YearlyOrderCost
        The four lines and, as a property, their sum [money/period].

    Raises
    ------
    LimitError
        An argument outside its range, breaks not rising, or unlike lengths.

    References
    ----------
    W. J. Stevenson, Operations Management, 14th ed., ch. 13 (quantity discounts); shipment steps derived.
    """
    not_negative(demand=demand, order_cost=order_cost, holding_rate=holding_rate, holding_cost=holding_cost)
    price = tier_price(quantity, breaks, prices, rule=rule)
    orders = demand / quantity
    shipping: Number = 0.0 * orders
    for step, charge in zip(step_quantities, step_charges, strict=True):
        shipping = shipping + orders * stepped_charge(quantity, step, charge)
    held = (holding_rate * price + holding_cost) * quantity * HALF
    return YearlyOrderCost(demand * price, order_cost * orders, shipping, held)


def cheapest_order_quantity(
    demand: float,
    order_cost: float,
    breaks: Sequence[float],
    prices: Sequence[float],
    *,
    rule: TierRule = "all_units",
    holding_rate: float = 0.0,
    holding_cost: float = 0.0,
    minimum_order: float = 0.0,
    maximum_order: float | None = None,
    multiple: float = 1.0,
    step_quantities: Sequence[float] = (),
    step_charges: Sequence[float] = (),
) -> CheapestOrder:
    """Cheapest order quantity over all tiers, minimum, pack multiple and shipment steps, found exactly.

    Between two neighbouring breaks or step limits the cost is A + B / Q + C Q, so the best multiple is next
    to sqrt(B / C) or at an end of the piece. Candidates are the multiples on both sides of that quantity in
    every piece and of every limit. Quantities are searched up to where holding alone costs more than the
    best of the first look. The search takes single numbers: a lot is chosen on the base values, before any
    draws.

    Parameters
    ----------
    demand
        Demand of a period [parts/period], > 0.
    order_cost
        Cost of one order whatever its size [money/order], >= 0.
    breaks
        Smallest quantity of each price tier [parts], rising; the first is a minimum order too.
    prices
        Price of one part in each tier [money/part], >= 0.
    rule
        Whether a price holds for all parts or for those of its tier [-], "all_units" or "incremental".
    holding_rate
        Cost of holding stock for a period per its value [fraction/period], >= 0.
    holding_cost
        Cost of holding one part for a period whatever its price [money/part/period], >= 0.
    minimum_order
        Smallest order accepted [parts], >= 0.
    maximum_order
        Largest order wanted [parts]; None where only the cost limits it, which then needs a cost of holding.
    multiple
        Pack size in which orders are made [parts], > 0.
    step_quantities
        Parts that one pallet, container or other step of a shipment holds [parts], > 0.
    step_charges
        Charge of each such step [money], >= 0, as many as step_quantities.

    Returns
    -------
    CheapestOrder
        Quantity [parts], its cost [money/period], and the candidates with their costs.

    Raises
    ------
    LimitError
        An argument outside its range, no order possible between minimum and maximum, no cost of holding
        without a maximum, or too many shipment steps.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 3 (quantity
    discounts, from memory); the search with steps is derived and verified by trying every quantity.
    """
    one_of("rule", rule, TIER_RULES)
    same_length(breaks=breaks, prices=prices)
    rising("breaks", breaks)
    positive(demand=demand, multiple=multiple)
    not_negative(minimum_order=minimum_order)
    _check_steps(step_quantities, step_charges)
    cost = partial(
        yearly_order_cost,
        demand=demand,
        order_cost=order_cost,
        breaks=breaks,
        prices=prices,
        rule=rule,
        holding_rate=holding_rate,
        holding_cost=holding_cost,
        step_quantities=step_quantities,
        step_charges=step_charges,
    )
    first = float(whole_steps(np.max([minimum_order, breaks[0], multiple]), multiple)) * multiple
    limit = np.inf if maximum_order is None else maximum_order
    if first > limit:
        raise LimitError("maximum_order", limit, f"at least {first:g}, the smallest order possible")
    steps = tuple(zip(step_quantities, step_charges, strict=True))
    held = holding_rate * np.asarray(prices, dtype=float) + holding_cost
    looked_at = np.maximum(whole_steps(np.asarray(breaks, dtype=float), multiple) * multiple, first)
    best_seen = float(np.min(cost(looked_at[looked_at <= limit]).total))
    unavoidable = demand * (float(np.min(prices)) + sum(charge / step for step, charge in steps))
    last = _last_quantity(best_seen - unavoidable, float(np.min(held)), limit)
    edges = _edges(first, last, breaks, step_quantities)
    inner = _piece_minima(edges, demand, order_cost, breaks, prices, rule, held, steps)
    below = np.floor(np.concatenate((edges, inner)) / multiple + ROUNDING_GUARD)
    whole = np.unique(np.concatenate((below - 1.0, below, below + 1.0))) * multiple
    candidates = whole[(whole >= first - ROUNDING_GUARD) & (whole <= last + ROUNDING_GUARD)]
    costs = np.asarray(cost(candidates).total)
    best = int(np.argmin(costs))
    return CheapestOrder(float(candidates[best]), float(costs[best]), candidates, costs)


def _check_steps(quantities: Sequence[float], charges: Sequence[float]) -> None:
    if len(quantities) != len(charges):
        raise LimitError("step_charges", len(charges), f"as many as step_quantities ({len(quantities)})")
    for quantity, charge in zip(quantities, charges, strict=True):
        positive(step_quantities=quantity)
        not_negative(step_charges=charge)


def _last_quantity(spare: float, holding: float, limit: float) -> float:
    """The quantity at which holding alone costs more than what the best order seen leaves for it."""
    if holding > 0.0:
        return float(np.minimum(2.0 * spare / holding * (1.0 + ROUNDING_GUARD), limit))
    if np.isinf(limit):
        raise LimitError("maximum_order", None, "given where holding costs nothing")
    return limit


def _edges(first: float, last: float, breaks: Sequence[float], steps: Sequence[float]) -> Quantities:
    """Quantities from first to last at which a price or the number of shipment steps changes."""
    marks = [np.array([first, last]), np.asarray(breaks, dtype=float)]
    for step in steps:
        if (last - first) / step > MOST_STEPS:
            raise LimitError("step_quantities", step, f"at least {(last - first) / MOST_STEPS:g}")
        marks.append(np.arange(np.ceil(first / step), np.floor(last / step) + 1.0) * step)
    edges = np.unique(np.concatenate(marks))
    return edges[(edges >= first) & (edges <= last)]


def _piece_minima(
    edges: Quantities,
    demand: float,
    order_cost: float,
    breaks: Sequence[float],
    prices: Sequence[float],
    rule: TierRule,
    held: Quantities,
    steps: Sequence[tuple[float, float]],
) -> Quantities:
    """In each piece between two edges the quantity, whole or not, at which A + B / Q + C Q is least."""
    middle = HALF * (edges[:-1] + edges[1:])
    tier = np.clip(np.searchsorted(np.asarray(breaks), middle, side="right") - 1, 0, None)
    fixed = np.full(middle.shape, order_cost)
    if rule == "incremental":
        saved = np.asarray(breaks, dtype=float)[1:] * -np.diff(np.asarray(prices, dtype=float))
        fixed = fixed + np.concatenate(([0.0], np.cumsum(saved)))[tier]
    for step, charge in steps:
        fixed = fixed + stepped_charge(middle, step, charge)
    slope = held[tier]
    squared = 2.0 * demand * np.maximum(fixed, 0.0) / np.where(slope > 0.0, slope, 1.0)
    return np.clip(np.where(slope > 0.0, np.sqrt(squared), np.inf), edges[:-1], edges[1:])
