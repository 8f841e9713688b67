"""Stock afloat, held and left over."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.formulas.stock_cost import (
    bridge_stock,
    cycle_stock,
    engineering_change_cost,
    holding_cost,
    last_buy,
    pipeline_stock,
    reorder_point,
    use_up_time,
)


def test_five_weeks_of_ramp_and_three_of_margin_are_640_parts() -> None:
    assert bridge_stock(80.0, 5.0, 3.0) == 640.0
    assert bridge_stock(80.0, 5.0, 3.0, made_in_ramp=240.0) == 400.0
    assert bridge_stock(80.0, 5.0, 3.0, made_in_ramp=900.0) == 0.0


def test_a_drawing_change_with_parts_on_the_shelf_and_afloat() -> None:
    assert engineering_change_cost(414.0, 480.0, 20.0, 0.60) == pytest.approx(10_728.0)
    assert engineering_change_cost(414.0, 480.0, 20.0, 0.60, recovered=5.0) == pytest.approx(8_046.0)


def test_six_weeks_afloat_prepaid_tie_up_money() -> None:
    assert pipeline_stock(80.0, 6.0) * 20.0 == 9600.0


def test_a_stock_of_one_part_for_a_year_costs_its_rate() -> None:
    assert holding_cost(1.0, 50.0, 0.24) == pytest.approx(12.0)
    assert cycle_stock(500.0) == 250.0
    assert reorder_point(1120.0, 414.0) == 1534.0


def test_a_last_buy_counts_what_is_there_and_what_is_added() -> None:
    assert last_buy(80.0, 10.0, safety=50.0) == 850.0
    assert last_buy(80.0, 10.0, in_stock=300.0, on_order=200.0, safety=50.0) == 350.0


@settings(deadline=None)
@given(st.floats(1.0, 100.0), st.floats(0.0, 50.0), st.floats(0.0, 500.0), st.floats(0.0, 500.0))
def test_a_last_buy_lasts_for_the_time_to_cover(
    demand: float, time: float, stock: float, ordered: float
) -> None:
    parts = last_buy(demand, time, in_stock=stock, on_order=ordered)
    lasts = use_up_time(parts + stock + ordered, demand)
    assert lasts >= time * (1 - 1e-12)
    assert parts == 0.0 or lasts == pytest.approx(time)
    assert last_buy(demand, time, in_stock=stock, on_order=ordered, safety=10.0) <= parts + 10.0 + 1e-9
