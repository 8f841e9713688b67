"""Reorder policies and unreliable suppliers against integration, numeric minima and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize, minimize_scalar

from costmodel.formulas.economic_order import economic_order_quantity, order_quantity_with_backorders
from costmodel.formulas.newsvendor import newsvendor_cost
from costmodel.formulas.uncertain_supply import (
    cheapest_reorder_point,
    cheapest_reorder_policy,
    reorder_policy_cost,
    unreliable_order_cost,
    unreliable_order_quantity,
)

RATE = st.floats(0.05, 5.0)


@settings(deadline=None)
@given(st.floats(0.0, 300.0), st.floats(5.0, 600.0), st.floats(2.0, 80.0), RATE, RATE)
def test_the_exact_cost_is_an_integral_of_newsvendor_costs(
    point: float, quantity: float, spread: float, h: float, p: float
) -> None:
    integral = quad(
        lambda y: newsvendor_cost(y, 120.0, spread, p, h), point, point + quantity, limit=300, epsrel=1e-10
    )[0]
    cost = reorder_policy_cost(point, quantity, 900.0, 120.0, spread, 25.0, h, p)
    assert cost == pytest.approx((25.0 * 900.0 + integral) / quantity, rel=1e-7)


@settings(deadline=None)
@given(st.floats(5.0, 600.0), st.floats(2.0, 80.0), RATE, RATE)
def test_no_other_reorder_point_costs_less(quantity: float, spread: float, h: float, p: float) -> None:
    point = cheapest_reorder_point(quantity, 120.0, spread, h, p)

    def cost(r: float) -> float:
        return float(reorder_policy_cost(r, quantity, 900.0, 120.0, spread, 25.0, h, p))

    best = minimize_scalar(cost, bracket=(point - spread, point + spread), tol=1e-10)
    assert cost(float(point)) == pytest.approx(best.fun, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.floats(2.0, 80.0), st.floats(2.0, 200.0), RATE, RATE)
def test_no_other_policy_costs_less(spread: float, k: float, h: float, p: float) -> None:
    policy = cheapest_reorder_policy(900.0, 120.0, spread, k, h, p)
    best = minimize(
        lambda x: reorder_policy_cost(x[0], np.exp(x[1]), 900.0, 120.0, spread, k, h, p),
        [policy.reorder_point + 0.3 * spread, np.log(policy.order_quantity) + 0.2],
        method="Nelder-Mead",
        options={"xatol": 1e-8, "fatol": 1e-12, "maxiter": 4000},
    )
    assert policy.cost == pytest.approx(best.fun, rel=1e-8)


def test_without_spread_the_policy_is_that_of_planned_backorders() -> None:
    policy = cheapest_reorder_policy(1300.0, 100.0, 1e-3, 8.0, 0.225, 5.0)
    plan = order_quantity_with_backorders(1300.0, 8.0, 0.225, 5.0)
    assert policy.order_quantity == pytest.approx(plan.quantity, rel=1e-4)
    assert policy.reorder_point == pytest.approx(100.0 - plan.largest_shortage, abs=0.01)
    assert policy.cost == pytest.approx(plan.cost, rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(100.0, 5000.0),
    st.floats(1.0, 200.0),
    RATE,
    st.floats(0.0, 50.0),
    st.floats(0.0, 6.0),
    st.floats(1.0, 60.0),
    st.sampled_from(["exact", "approximate"]),
)
def test_no_other_quantity_from_an_unreliable_supplier_costs_less(
    d: float, k: float, h: float, p: float, down: float, up: float, method: str
) -> None:
    order = unreliable_order_quantity(d, k, h, p, down, up, method=method)
    grid = order.quantity * np.exp(np.linspace(-4.0, 3.0, 4001))
    costs = unreliable_order_cost(grid, d, k, h, p, down, up, method=method)
    assert order.cost <= np.min(costs) * (1 + 1e-9)


def test_a_supplier_who_is_never_down_is_the_plain_case() -> None:
    order = unreliable_order_quantity(1300.0, 8.0, 0.225, 5.0, 0.0, 14.0)
    assert order.quantity == pytest.approx(economic_order_quantity(1300.0, 8.0, 0.225))
    assert order.cost == pytest.approx(np.sqrt(2 * 8.0 * 1300.0 * 0.225))


def test_the_exact_cost_agrees_with_a_simulated_supplier() -> None:
    """Cycles drawn: the supplier, up at the order, is up or down when the stock is used up."""
    d, k, h, p, failure, repair, quantity = 1300.0, 8.0, 0.225, 5.0, 1.5, 14.0, 600.0
    generator, cycles = np.random.default_rng(9), 200_000
    remaining = np.full(cycles, quantity / d)
    up = np.ones(cycles, dtype=bool)
    waiting = np.zeros(cycles)
    active = np.ones(cycles, dtype=bool)
    while active.any():
        stay = generator.exponential(np.where(up, 1.0 / failure, 1.0 / repair))
        ends = active & (stay >= remaining)
        waiting[ends & ~up] = (stay - remaining)[ends & ~up]
        active &= ~ends
        remaining = np.where(active, remaining - stay, remaining)
        up = np.where(active, ~up, up)
    cost = k + h * quantity**2 / (2.0 * d) + p * d * waiting
    time = quantity / d + waiting
    mean = cost.mean() / time.mean()
    error = np.std(cost - mean * time) / time.mean() / np.sqrt(cycles)
    assert unreliable_order_cost(quantity, d, k, h, p, failure, repair) == pytest.approx(mean, abs=4 * error)
