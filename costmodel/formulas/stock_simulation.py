"""Daily simulation of a stock under a reorder policy: what closed forms miss when lead times are skewed.

Many stocks run side by side as one array; the loop is over days. All randomness comes from the generator
passed in, so the same seed gives the same numbers.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive, within

Draws = npt.NDArray[np.float64]
Sampler = Callable[[np.random.Generator, int], Draws]
"""Draws so many values from a generator: daily demands [parts], or lead times [d]."""
Unmet = Literal["waits", "lost"]
Measure = Literal["cycle_service", "fill_rate"]
HALF = 0.5
_BISECTIONS = 24
_SEARCH_REACH = 40.0


class StockSimulation(NamedTuple):
    """What a simulated stock did, each figure with its standard error over the stocks run."""

    fill_rate: float
    """Share of the demand served from the shelf on its day [fraction]."""
    fill_rate_error: float
    """Standard error of it [fraction]."""
    cycle_service: float
    """Share of the replenishment cycles without shortage [fraction]."""
    cycle_service_error: float
    """Standard error of it [fraction]."""
    average_stock: float
    """Mean stock on the shelf at the end of a day [parts]."""
    average_stock_error: float
    """Standard error of it [parts]."""
    average_owed: float
    """Mean parts owed to customers at the end of a day [parts]."""
    average_owed_error: float
    """Standard error of it [parts]."""
    stockout_days: float
    """Share of the days on which demand was not met in full or parts were owed at its end [fraction]."""
    stockout_days_error: float
    """Standard error of it [fraction]."""
    draws: int
    """Stocks run side by side [-]."""
    days: int
    """Days counted of each, after the run-in [d]."""


class _Tally:
    """Sums over the days counted, one element for each stock."""

    def __init__(self, draws: int) -> None:
        self.demand = np.zeros(draws)
        self.short = np.zeros(draws)
        self.stock = np.zeros(draws)
        self.owed = np.zeros(draws)
        self.short_days = np.zeros(draws)
        self.cycles = np.zeros(draws)
        self.good_cycles = np.zeros(draws)


def simulate_stock(
    generator: np.random.Generator,
    daily_demand: Sampler,
    lead_time: Sampler,
    *,
    reorder_point: float,
    order_quantity: float,
    days: int,
    run_in: int = 365,
    draws: int = 256,
    unmet: Unmet = "waits",
) -> StockSimulation:
    """Fill rate, cycle service, stock and shortage of a reorder-point policy, day by day.

    Each day: deliveries due come in; demand is served, the rest waits or is lost; then, if the position
    (shelf + on order - owed) is at or below the reorder point, as many orders of the order quantity are
    placed as lift it above. An order placed on day t with a lead time of L days serves the demand from day
    t + L on; lead times are rounded to whole days, at least one. Orders may overtake each other. A cycle
    ends with a delivery. Standard errors come from the spread over the stocks, which are independent.

    Parameters
    ----------
    generator
        Source of all randomness [-].
    daily_demand
        Draws the demands of one day for so many stocks [parts], >= 0.
    lead_time
        Draws so many lead times [d], finite, >= 0.
    reorder_point
        Position at which an order is placed [parts], at least -1 time the order quantity.
    order_quantity
        Order quantity [parts], > 0.
    days
        Days counted [d], whole number >= 1.
    run_in
        Days before counting starts [d], whole number >= 0.
    draws
        Stocks run side by side [-], whole number >= 2.
    unmet
        Whether demand not met waits or is lost [-], "waits" or "lost".

    Returns
    -------
    StockSimulation
        Shares [fraction], stocks [parts], each with its standard error.

    Raises
    ------
    LimitError
        An argument outside its range, or a sampler that gives a negative demand or an impossible lead time.

    References
    ----------
    A. M. Law, Simulation Modeling and Analysis, chapter on output analysis (independent replications, run-in;
    from memory).
    """
    one_of("unmet", unmet, ("waits", "lost"))
    positive(order_quantity=order_quantity)
    within("reorder_point", reorder_point, at_least=-order_quantity)
    within("days", float(days), at_least=1.0)
    within("run_in", float(run_in), at_least=0.0)
    within("draws", float(draws), at_least=2.0)
    net = np.full(draws, reorder_point + order_quantity)
    position = net.copy()
    due: dict[int, Draws] = {}
    short_cycle = np.zeros(draws, dtype=bool)
    tally = _Tally(draws)
    for day in range(run_in + days):
        counted = day >= run_in
        arriving = due.pop(day, None)
        if arriving is not None:
            came = arriving > 0.0
            if counted:
                tally.cycles += came
                tally.good_cycles += came & ~short_cycle
            net = net + arriving
            short_cycle &= ~came
        demand = np.asarray(daily_demand(generator, draws), dtype=float)
        not_negative(daily_demand=demand)
        short = np.minimum(demand, np.maximum(demand - np.maximum(net, 0.0), 0.0))
        served = demand - short if unmet == "lost" else demand
        net, position = net - served, position - served
        wanting = (short > 0.0) | (net < 0.0)
        short_cycle |= wanting
        orders = np.floor((reorder_point - position) / order_quantity) + 1.0
        ordered = np.where(position <= reorder_point, orders, 0.0) * order_quantity
        position = position + ordered
        _place(due, day, ordered, lead_time(generator, draws))
        if counted:
            tally.demand += demand
            tally.short += short
            tally.stock += np.maximum(net, 0.0)
            tally.owed += np.maximum(-net, 0.0)
            tally.short_days += wanting
    return _summary(tally, draws, days)


def _place(due: dict[int, Draws], day: int, ordered: Draws, lead_times: Draws) -> None:
    """Enter the orders of a day into the calendar of deliveries."""
    placed = np.flatnonzero(ordered)
    if not placed.size:
        return
    times = np.asarray(lead_times, dtype=float)[placed]
    within("lead_time", times, at_least=0.0, below=1e6)
    arrival = day + np.maximum(np.round(times), 1.0).astype(int)
    for when in np.unique(arrival):
        chosen = placed[arrival == when]
        parts = due.setdefault(int(when), np.zeros(len(ordered)))
        parts[chosen] += ordered[chosen]


def _ratio(top: Draws, bottom: Draws) -> tuple[float, float]:
    """Ratio of two sums and its standard error, linearised."""
    total = float(np.sum(bottom))
    if total == 0.0:
        return float("nan"), float("nan")
    ratio = float(np.sum(top)) / total
    residual = top - ratio * bottom
    return ratio, float(np.std(residual, ddof=1) / np.mean(bottom) / np.sqrt(len(top)))


def _summary(tally: _Tally, draws: int, days: int) -> StockSimulation:
    every_day = np.full(draws, float(days))
    unfilled, unfilled_error = _ratio(tally.short, tally.demand)
    return StockSimulation(
        1.0 - unfilled,
        unfilled_error,
        *_ratio(tally.good_cycles, tally.cycles),
        *_ratio(tally.stock, every_day),
        *_ratio(tally.owed, every_day),
        *_ratio(tally.short_days, every_day),
        draws,
        days,
    )


def simulated_reorder_point(
    generator: np.random.Generator,
    daily_demand: Sampler,
    lead_time: Sampler,
    *,
    wanted: float,
    measure: Measure,
    order_quantity: float,
    closed_form: float,
    spread: float,
    days: int,
    run_in: int = 365,
    draws: int = 256,
    unmet: Unmet = "waits",
) -> float:
    """Reorder point that gives a wanted service in the simulation: the closed form corrected.

    Halving between -order quantity and the closed form + 40 standard deviations, every trial with the same
    draws. The answer is as good as the simulation: its error is that of the service over its slope.

    Parameters
    ----------
    generator
        Source of all randomness, left as it was [-].
    daily_demand
        Draws the demands of one day for so many stocks [parts], >= 0.
    lead_time
        Draws so many lead times [d], finite, >= 0.
    wanted
        Service wanted [fraction], above 0 and below 1.
    measure
        Which service [-], "cycle_service" or "fill_rate".
    order_quantity
        Order quantity [parts], > 0.
    closed_form
        Reorder point by the closed form [parts], >= 0.
    spread
        Standard deviation of the lead-time demand [parts], > 0.
    days
        Days counted [d], whole number >= 1.
    run_in
        Days before counting starts [d], whole number >= 0.
    draws
        Stocks run side by side [-], whole number >= 2.
    unmet
        Whether demand not met waits or is lost [-], "waits" or "lost".

    Returns
    -------
    float
        Smallest reorder point found with the service wanted [parts].

    Raises
    ------
    LimitError
        An argument outside its range, or a service that no reorder point in reach gives.

    References
    ----------
    Bisection with common random numbers; A. M. Law, Simulation Modeling and Analysis (from memory).
    """
    one_of("measure", measure, ("cycle_service", "fill_rate"))
    within("wanted", wanted, above=0.0, below=1.0)
    not_negative(closed_form=closed_form)
    positive(spread=spread, order_quantity=order_quantity)

    def service(point: float) -> float:
        run = simulate_stock(
            deepcopy(generator),
            daily_demand,
            lead_time,
            reorder_point=point,
            order_quantity=order_quantity,
            days=days,
            run_in=run_in,
            draws=draws,
            unmet=unmet,
        )
        return run.cycle_service if measure == "cycle_service" else run.fill_rate

    low, high = -order_quantity, closed_form + _SEARCH_REACH * spread
    if not service(high) >= wanted:
        raise LimitError("wanted", wanted, f"a service that a reorder point up to {high:g} gives")
    for _ in range(_BISECTIONS):
        middle = HALF * (low + high)
        low, high = (low, middle) if service(middle) >= wanted else (middle, high)
    return high
