"""Order quantities: each formula against the minimum of the cost it claims to minimise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize, minimize_scalar

from costmodel.errors import LimitError
from costmodel.formulas.economic_order import (
    economic_order_quantity,
    economic_production_quantity,
    order_and_holding_cost,
    order_quantity_with_backorders,
    order_quantity_with_yield,
)

DEMAND, ORDER, HOLDING = st.floats(10.0, 1e5), st.floats(1.0, 1e4), st.floats(0.01, 50.0)


@settings(deadline=None)
@given(DEMAND, ORDER, HOLDING)
def test_at_the_economic_quantity_ordering_costs_what_holding_costs(d: float, k: float, h: float) -> None:
    quantity = economic_order_quantity(d, k, h)
    assert k * d / quantity == pytest.approx(h * quantity / 2.0)
    assert order_and_holding_cost(quantity, d, k, h) == pytest.approx(np.sqrt(2.0 * k * d * h))
    for factor in (0.9, 1.1):
        assert order_and_holding_cost(factor * quantity, d, k, h) > order_and_holding_cost(quantity, d, k, h)


@settings(deadline=None)
@given(DEMAND, ORDER, HOLDING)
def test_four_times_the_order_cost_doubles_the_quantity(d: float, k: float, h: float) -> None:
    assert economic_order_quantity(d, 4 * k, h) == pytest.approx(2 * economic_order_quantity(d, k, h))


@settings(deadline=None)
@given(DEMAND, ORDER, HOLDING)
def test_making_very_fast_is_like_buying(d: float, k: float, h: float) -> None:
    lot = economic_production_quantity(d, k, h, 1e9 * d)
    assert lot.quantity == pytest.approx(economic_order_quantity(d, k, h), rel=1e-6)


def test_a_lot_made_gradually_is_the_cheapest_of_all_lots() -> None:
    d, k, h, rate = 2000.0, 60.0, 1.0, 8000.0
    best = minimize_scalar(
        lambda q: k * d / q + h * (q - d * q / rate) / 2.0, bounds=(10.0, 5000.0), method="bounded"
    )
    lot = economic_production_quantity(d, k, h, rate)
    assert lot.quantity == pytest.approx(best.x, rel=1e-4)
    assert lot.cost == pytest.approx(best.fun)


@settings(deadline=None)
@given(st.floats(100.0, 5000.0), st.floats(5.0, 300.0), st.floats(0.2, 5.0), st.floats(0.2, 50.0))
def test_planned_backorders_are_the_cheapest_of_all_plans(d: float, k: float, h: float, p: float) -> None:
    plan = order_quantity_with_backorders(d, k, h, p)

    def cost(logs: np.ndarray) -> float:
        stock, owed = np.exp(logs)
        quantity = stock + owed
        return float(k * d / quantity + (h * stock**2 + p * owed**2) / (2.0 * quantity))

    at = np.log([plan.largest_stock, plan.largest_shortage])
    assert cost(at) == pytest.approx(plan.cost)
    best = minimize(cost, at + 0.3, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-12})
    assert best.fun == pytest.approx(plan.cost, rel=1e-6)
    assert plan.quantity == pytest.approx(plan.largest_stock + plan.largest_shortage)
    assert plan.short_share == pytest.approx(plan.largest_shortage / plan.quantity)


def test_if_owing_is_very_dear_nothing_is_owed() -> None:
    plan = order_quantity_with_backorders(1300.0, 8.0, 0.225, 1e9)
    assert plan.quantity == pytest.approx(economic_order_quantity(1300.0, 8.0, 0.225))
    assert plan.largest_shortage == pytest.approx(0.0, abs=1e-6)


def simulated_cost(received: np.ndarray, d: float, k: float, h: float) -> tuple[float, float]:
    """Mean cost of cycles that start with the parts received, and its standard error."""
    cost, time = k + h * received**2 / (2.0 * d), received / d
    mean = float(cost.mean() / time.mean())
    error = float(np.std(cost - mean * time) / time.mean() / np.sqrt(received.size))
    return mean, error


@pytest.mark.parametrize("kind", ["additive", "multiplicative"])
def test_the_cost_with_uncertain_yield_agrees_with_simulated_cycles(kind: str) -> None:
    d, k, h = 5000.0, 90.0, 1.5
    mean, spread = (-40.0, 60.0) if kind == "additive" else (0.85, 0.1)
    plan = order_quantity_with_yield(d, k, h, mean, spread, kind=kind)
    drawn = mean + spread * np.random.default_rng(2).standard_normal(400_000)
    received = plan.quantity + drawn if kind == "additive" else plan.quantity * drawn
    got, error = simulated_cost(received, d, k, h)
    assert plan.cost == pytest.approx(got, abs=4.0 * error)
    for factor in (0.9, 1.1):
        other = factor * plan.quantity
        worse, _ = simulated_cost(other + drawn if kind == "additive" else other * drawn, d, k, h)
        assert worse > got


def test_certain_yield_is_the_economic_quantity_scaled() -> None:
    plain = economic_order_quantity(5000.0, 90.0, 1.5)
    assert order_quantity_with_yield(5000.0, 90.0, 1.5, 0.8, 0.0).quantity == pytest.approx(plain / 0.8)
    additive = order_quantity_with_yield(5000.0, 90.0, 1.5, -40.0, 0.0, kind="additive")
    assert additive.quantity == pytest.approx(plain + 40.0)


def test_a_surplus_that_makes_orders_needless_is_refused() -> None:
    with pytest.raises(LimitError, match="quantity to order must be above 0"):
        order_quantity_with_yield(10.0, 1.0, 1.0, 1000.0, 0.0, kind="additive")
