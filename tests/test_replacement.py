"""Replacement: equal yearly costs against the flows they stand for."""

from __future__ import annotations

import numpy as np
import numpy_financial
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.formulas import replacement

MONEY, RATES, LIVES = st.floats(0.0, 1e5), st.floats(0.001, 0.4), st.integers(1, 15)


@settings(deadline=None)
@given(MONEY, MONEY, LIVES, RATES, MONEY)
def test_the_equal_cost_repays_the_flow(
    price: float, salvage: float, life: int, interest: float, upkeep: float
) -> None:
    flow = [price, *([upkeep] * life)]
    flow[-1] -= salvage
    expected = -numpy_financial.pmt(interest, life, numpy_financial.npv(interest, flow))
    cost = replacement.equivalent_annual_cost(price, salvage, life, interest, upkeep)
    assert cost == pytest.approx(expected, rel=1e-9, abs=1e-6)
    by_life = replacement.annual_cost_by_life(price, [salvage] * life, [upkeep] * life, interest)
    assert by_life[-1] == pytest.approx(expected, rel=1e-9, abs=1e-6)


@settings(deadline=None)
@given(MONEY, LIVES, RATES, MONEY, MONEY)
def test_at_its_use_value_the_present_machine_costs_as_much(
    salvage: float, life: int, interest: float, upkeep: float, other: float
) -> None:
    value = replacement.comparative_use_value(other + upkeep, salvage, life, interest, upkeep)
    if value >= 0.0:
        cost = replacement.equivalent_annual_cost(value, salvage, life, interest, upkeep)
        assert cost == pytest.approx(other + upkeep, rel=1e-9, abs=1e-6)


def test_a_chain_is_its_repeated_flow() -> None:
    worth = numpy_financial.npv(0.1, [-50.0, 40.0, 40.0])
    flow = [-50.0, 40.0, 40.0 - 50.0, 40.0, 40.0 - 50.0, 40.0, 40.0]
    assert replacement.repeated_worth(worth, 2.0, 0.1, 3) == pytest.approx(numpy_financial.npv(0.1, flow))
    assert replacement.repeated_worth(worth, 2.0, 0.1, 1) == worth


def test_life_cycle_cost_is_its_flow() -> None:
    flow = [900.0, *(100.0 * 1.05**year for year in range(1, 6))]
    flow[-1] -= 80.0
    assert replacement.life_cycle_cost(900.0, 80.0, 5, 0.12, 100.0, 0.05) == pytest.approx(
        numpy_financial.npv(0.12, flow)
    )


def test_costs_stay_level_unless_told() -> None:
    flow = [900.0, *([100.0] * 5)]
    assert replacement.life_cycle_cost(900.0, 0.0, 5, 0.12, 100.0) == pytest.approx(
        numpy_financial.npv(0.12, flow)
    )


def test_interest_lengthens_the_economic_life() -> None:
    upkeep = [200.0 * year for year in range(10)]
    none = [0.0] * 10
    lives = [replacement.economic_life(4000.0, none, upkeep, interest) for interest in (0.0, 0.12)]
    assert lives == [6.0, 7.0]
    assert replacement.annual_cost_by_life(4000.0, none, upkeep, 0.12)[6] == pytest.approx(1386.76, abs=0.01)


def test_each_draw_has_its_own_economic_life() -> None:
    upkeep = [np.array([0.0, 100.0]) + year * np.array([200.0, 900.0]) for year in range(8)]
    lives = replacement.economic_life(4000.0, [0.0] * 8, upkeep, 0.0)
    assert list(lives) == [6.0, 3.0]


def test_the_first_of_equal_lives_is_taken() -> None:
    assert replacement.economic_life(100.0, [0.0, 0.0], [0.0, 100.0], 0.0) == 1.0
