"""Safety stock, shortage and fill rate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from costmodel.errors import LimitError
from costmodel.formulas.inventory import (
    COUNTINGS,
    cycle_service,
    expected_shortage,
    fill_rate,
    inverse_unit_normal_loss,
    lead_time_demand,
    safety_factor,
    safety_stock,
    safety_stock_for_fill_rate,
    unit_normal_loss,
)
from costmodel.formulas.stock_cost import holding_cost

SPREAD = st.one_of(st.just(0.0), st.floats(1e-3, 300.0))


@pytest.mark.parametrize(
    ("lead_time", "lead_time_spread", "stock"), [(14.0, 3.0, 414), (14.0, 0.0, 123), (3.0, 0.5, 87)]
)
def test_safety_stock_of_80_a_week(lead_time: float, lead_time_spread: float, stock: int) -> None:
    demand = lead_time_demand(80.0, 20.0, lead_time, lead_time_spread)
    assert round(safety_stock(demand.spread, 1.645)) == stock
    assert round(safety_stock(demand.spread, safety_factor(0.95))) == stock


def test_holding_that_safety_stock_costs_079_a_part() -> None:
    stock = safety_stock(lead_time_demand(80.0, 20.0, 14.0, 3.0).spread, 1.645)
    cost = holding_cost(stock, 31.80, 0.24)
    assert round(cost) == 3156
    assert cost / 4000.0 == pytest.approx(0.79, abs=0.005)


def test_lead_time_demand_has_the_moments_of_a_random_sum() -> None:
    """Simulated: demands of a random whole number of periods added up."""
    generator = np.random.default_rng(8)
    periods = generator.integers(8, 21, 200_000)
    total = 80.0 * periods + 20.0 * np.sqrt(periods) * generator.standard_normal(periods.size)
    demand = lead_time_demand(80.0, 20.0, 14.0, float(np.sqrt((13**2 - 1) / 12)))
    assert demand.mean == pytest.approx(total.mean(), rel=0.005)
    assert demand.spread == pytest.approx(total.std(), rel=0.01)


@settings(deadline=None)
@given(st.floats(-8.0, 12.0))
def test_the_loss_is_the_integral_of_the_tail(factor: float) -> None:
    integral = quad(norm.sf, factor, np.inf, epsabs=0.0, epsrel=1e-10)[0]
    assert unit_normal_loss(factor) == pytest.approx(integral, rel=1e-8)


@settings(deadline=None)
@given(st.floats(-30.0, 30.0))
def test_the_loss_of_opposite_values_differs_by_the_value(factor: float) -> None:
    assert unit_normal_loss(-factor) - unit_normal_loss(factor) == pytest.approx(factor, rel=1e-12, abs=1e-15)


def test_the_loss_far_out_keeps_its_precision_and_never_fails() -> None:
    with np.errstate(all="raise"):
        far = unit_normal_loss(np.array([10.0, 36.0, 100.0, np.inf, -100.0]))
    expected = norm.pdf(10.0) / 100.0 * (1 - 3 / 100 + 15 / 1e4 - 105 / 1e6 + 945 / 1e8)
    assert far[0] == pytest.approx(expected, rel=1e-5)
    assert far[1] == far[2] == far[3] > 0.0
    assert far[4] == 100.0


@settings(deadline=None)
@given(st.floats(-250.0, 3.0))
def test_the_inverse_undoes_the_loss(exponent: float) -> None:
    loss = 10.0**exponent
    assert unit_normal_loss(inverse_unit_normal_loss(loss)) == pytest.approx(loss, rel=1e-10)


@settings(deadline=None)
@given(st.floats(1e-6, 1 - 1e-6))
def test_the_safety_factor_gives_its_service(service: float) -> None:
    assert cycle_service(safety_stock(37.0, safety_factor(service)), 37.0) == pytest.approx(service, rel=1e-9)


@settings(deadline=None)
@given(st.floats(-300.0, 400.0), st.floats(1.0, 120.0))
def test_the_shortage_is_the_mean_excess_of_the_demand(stock: float, spread: float) -> None:
    excess = quad(
        lambda x: max(x - stock, 0.0) * norm.pdf(x, scale=spread),
        -9 * spread,
        9 * spread,
        points=[stock],
        limit=200,
    )[0]
    assert expected_shortage(stock, spread) == pytest.approx(excess, rel=1e-6, abs=1e-6 * spread)


@settings(deadline=None)
@given(SPREAD, st.floats(10.0, 900.0), st.floats(0.02, 0.999), st.sampled_from(COUNTINGS))
def test_the_safety_stock_gives_its_fill_rate(
    spread: float, order: float, wanted: float, counting: str
) -> None:
    stock = safety_stock_for_fill_rate(spread, order, wanted, counting=counting)
    assert fill_rate(stock, spread, order, counting=counting) == pytest.approx(wanted, abs=1e-9)


@settings(deadline=None)
@given(st.floats(-50.0, 300.0), st.floats(1.0, 120.0), st.floats(5.0, 900.0))
def test_new_shortage_is_never_more_and_the_same_for_large_orders(
    stock: float, spread: float, order: float
) -> None:
    old = expected_shortage(stock, spread)
    new = expected_shortage(stock, spread, order_quantity=order, counting="new_in_cycle")
    assert -1e-12 <= new <= old
    large = expected_shortage(stock, spread, order_quantity=order + 50.0 * spread, counting="new_in_cycle")
    assert large == pytest.approx(old, rel=1e-9, abs=1e-6)


def test_without_spread_the_stock_alone_decides() -> None:
    assert cycle_service(0.0, 0.0) == 1.0
    assert cycle_service(-1.0, 0.0) == 0.0
    assert expected_shortage(-7.0, 0.0) == 7.0
    assert expected_shortage(7.0, 0.0) == 0.0
    assert safety_stock_for_fill_rate(0.0, 100.0, 0.9) == pytest.approx(-10.0)


def test_no_spread_is_the_limit_of_little_spread() -> None:
    assert safety_stock_for_fill_rate(1e-6, 100.0, 0.9) == pytest.approx(-10.0)
    assert expected_shortage(-7.0, 1e-6) == pytest.approx(7.0)


def test_new_shortage_needs_an_order_quantity() -> None:
    with pytest.raises(LimitError, match="order_quantity"):
        expected_shortage(1.0, 1.0, counting="new_in_cycle")
