"""One order for one season."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from costmodel.formulas.newsvendor import (
    critical_ratio,
    newsvendor_cost,
    newsvendor_profit,
    newsvendor_quantity,
)

COSTS = st.floats(0.1, 20.0)


@settings(deadline=None)
@given(st.floats(20.0, 300.0), COSTS, COSTS)
def test_the_cost_is_the_integral_over_all_demands(quantity: float, under: float, over: float) -> None:
    def at(demand: float) -> float:
        cost = under * max(demand - quantity, 0.0) + over * max(quantity - demand, 0.0)
        return float(cost * norm.pdf(demand, 150.0, 30.0))

    expected = quad(at, -120.0, 420.0, points=[quantity], limit=200)[0]
    assert newsvendor_cost(quantity, 150.0, 30.0, under, over) == pytest.approx(expected, rel=1e-6)


@settings(deadline=None)
@given(COSTS, COSTS)
def test_no_other_quantity_costs_less(under: float, over: float) -> None:
    best = newsvendor_quantity(150.0, 30.0, under, over)
    assert norm.cdf(best, 150.0, 30.0) == pytest.approx(critical_ratio(under, over))
    least = newsvendor_cost(best, 150.0, 30.0, under, over)
    assert np.all(newsvendor_cost(best + np.linspace(-60, 60, 25), 150.0, 30.0, under, over) >= least - 1e-9)


def test_the_profit_is_that_of_simulated_seasons() -> None:
    demand = np.random.default_rng(6).normal(100.0, 20.0, 400_000)
    profit = 9.0 * np.minimum(demand, 110.0) + 1.5 * np.maximum(110.0 - demand, 0.0) - 4.0 * 110.0
    expected = newsvendor_profit(110.0, 100.0, 20.0, 9.0, 4.0, salvage=1.5)
    assert expected == pytest.approx(profit.mean(), abs=4.0 * profit.std() / np.sqrt(demand.size))


def test_certain_demand_is_bought_as_it_is() -> None:
    assert newsvendor_quantity(100.0, 0.0, 5.0, 1.0) == 100.0
    assert newsvendor_cost(90.0, 100.0, 0.0, 5.0, 1.0) == pytest.approx(50.0)
    assert newsvendor_cost(130.0, 100.0, 0.0, 5.0, 1.0) == pytest.approx(30.0)
