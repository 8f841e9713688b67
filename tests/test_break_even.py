"""Break-even in closed form: both sides are equal there, and nothing saved means never."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import break_even

MONEY, PRICES = st.floats(1.0, 1e6), st.floats(0.01, 500.0)


def test_a_fixture_against_a_bought_part() -> None:
    assert break_even.break_even_quantity(18400.0, 31.80 - 23.10) == 2115.0
    fractional = break_even.break_even_quantity(18400.0, 31.80 - 23.10, pieces="fractional")
    assert fractional == pytest.approx(2114.94, abs=0.005)


def test_nothing_saved_is_never() -> None:
    quantities = break_even.break_even_quantity(18400.0, np.array([0.0, -1.0, 8.0]))
    assert list(quantities) == [np.inf, np.inf, 2300.0]
    assert break_even.margin_of_safety(4000.0, np.inf) == -np.inf


@settings(deadline=None)
@given(MONEY, PRICES)
def test_the_first_whole_part_that_pays(fixed: float, saving: float) -> None:
    quantity = break_even.break_even_quantity(fixed, saving)
    assert quantity == np.floor(quantity)
    assert quantity * saving >= fixed * (1.0 - 1e-9) - 1e-6
    assert (quantity - 1.0) * saving < fixed


def test_an_exact_quotient_is_not_rounded_up() -> None:
    assert break_even.break_even_quantity(0.3, 0.1) == 3.0
    assert break_even.break_even_quantity(0.0, 5.0) == 0.0


@settings(deadline=None)
@given(MONEY, PRICES, MONEY, PRICES)
def test_both_lines_cost_the_same_at_indifference(
    fixed: float, unit: float, other_fixed: float, other_unit: float
) -> None:
    quantity = break_even.indifference_quantity(fixed, unit, other_fixed, other_unit)
    if np.isfinite(quantity):
        one = break_even.cost_line(fixed, unit, quantity)
        other = break_even.cost_line(other_fixed, other_unit, quantity)
        assert one == pytest.approx(other, rel=1e-6)
    else:
        cheaper_stays = (fixed - other_fixed) * (unit - other_unit) >= 0.0
        assert cheaper_stays


def test_lines_that_never_cross() -> None:
    assert break_even.indifference_quantity(100.0, 5.0, 200.0, 5.0) == np.inf
    assert break_even.indifference_quantity(100.0, 5.0, 200.0, 6.0) == np.inf
    assert break_even.indifference_quantity(100.0, 5.0, 100.0, 6.0) == 0.0
    # second-hand against new machine of the published example
    assert break_even.indifference_quantity(15000.0, 11.0, 33000.0, 9.25) == pytest.approx(10286.0, abs=0.5)


def test_two_framings_of_an_opportunity_differ_by_a_constant() -> None:
    make, buy, freed = (2.0e6, 52.0), (0.0, 64.0), 2.5e6
    quantity = 250000.0
    total = break_even.cost_line(*make, quantity) - break_even.cost_line(buy[0] - freed, buy[1], quantity)
    opportunity = break_even.cost_line(make[0] + freed, make[1], quantity) - break_even.cost_line(
        *buy, quantity
    )
    assert total == opportunity == pytest.approx(1.5e6)


def test_one_time_cost_spread_on_request() -> None:
    assert break_even.cost_line(18400.0, 0.0, 12000.0) / 12000.0 == pytest.approx(1.533, abs=5e-4)


def test_a_target_after_tax() -> None:
    before = break_even.income_before_tax(24000.0, 0.4)
    assert before * (1.0 - 0.4) == pytest.approx(24000.0)
    quantity = break_even.break_even_quantity(18000.0, 80.0, before)
    assert (quantity * 80.0 - 18000.0) * 0.6 == pytest.approx(24000.0)


def test_margin_of_safety() -> None:
    assert break_even.margin_of_safety(60000.0, 20000.0) == pytest.approx(2 / 3)
    assert break_even.margin_of_safety(1500.0, 2000.0) == pytest.approx(-1 / 3)


def test_parts_are_ranked_by_the_scarce_hour() -> None:
    values = break_even.contribution_per_scarce_hour(np.array([9.0, 12.0, 13.0]), np.array([2.0, 2.5, 3.0]))
    assert list(np.argsort(-values)) == [1, 0, 2]


def test_a_break_even_counts_only_in_its_own_range() -> None:
    steps = break_even.step_break_even([9600.0, 6000.0, 20000.0], [30.0] * 3, [300.0, 600.0, 900.0])
    assert steps.quantities == pytest.approx((320.0, 200.0, 666.67), abs=0.01)
    assert steps.in_range == (0.0, 0.0, 1.0)
    edge = break_even.step_break_even([9000.0, 9000.0], [30.0, 30.0], [300.0, 600.0])
    assert edge.in_range == (1.0, 0.0)


def test_ranges_out_of_order_are_refused() -> None:
    with pytest.raises(LimitError, match="range_ends"):
        break_even.step_break_even([1.0, 2.0], [1.0, 1.0], [600.0, 300.0])
