"""Depreciation and tax: schedules use up what they should, the tax table against the rule behind it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import depreciation

MONEY = st.floats(1000.0, 1e6)


@settings(deadline=None)
@given(MONEY, st.floats(0.0, 0.9), st.integers(1, 20))
def test_schedules_write_off_down_to_the_salvage_value(price: float, share: float, years: int) -> None:
    salvage = share * price
    for schedule in (
        depreciation.straight_line_schedule(price, salvage, years),
        depreciation.sum_of_years_schedule(price, salvage, years),
    ):
        assert len(schedule) == years
        assert depreciation.book_values(price, schedule)[-1] == pytest.approx(salvage, abs=1e-6)


def test_the_years_digits_fall_by_equal_steps() -> None:
    schedule = depreciation.sum_of_years_schedule(100.0, 10.0, 4)
    assert np.diff(schedule) == pytest.approx([-9.0, -9.0, -9.0])


@settings(deadline=None)
@given(MONEY, st.floats(0.05, 0.6), st.integers(1, 15))
def test_declining_balance_keeps_its_share(price: float, rate: float, years: int) -> None:
    schedule = depreciation.declining_balance_schedule(price, 0.0, rate, years)
    book = depreciation.book_values(price, schedule)[-1]
    assert book == pytest.approx(price * (1.0 - rate) ** years)


def test_a_floor_stops_at_the_salvage_value() -> None:
    free = depreciation.declining_balance_schedule(100000.0, 20000.0, 0.2, 8)
    held = depreciation.declining_balance_schedule(100000.0, 20000.0, 0.2, 8, "salvage")
    assert free[:7] == held[:7]
    assert depreciation.book_values(100000.0, free)[-1] < 20000.0
    assert depreciation.book_values(100000.0, held)[-1] == pytest.approx(20000.0)
    assert depreciation.declining_balance_schedule(100.0, 200.0, 0.2, 3, "salvage") == (0.0, 0.0, 0.0)


def rule_behind_the_table(years: int) -> list[float]:
    """200 % declining balance from half a year, switched to straight line once that is more."""
    book, left, schedule = 1.0, float(years), []
    for year in range(years + 1):
        time = 0.5 if year in (0, years) else 1.0
        amount = max(book * 2.0 / years * time, book * min(time / left, 1.0))
        schedule.append(amount)
        book, left = book - amount, left - time
    return schedule


@pytest.mark.parametrize("years", [3, 5, 7])
def test_the_tax_table_is_the_rounded_rule_and_adds_to_one(years: int) -> None:
    table = depreciation.macrs_schedule(1.0, years)
    assert sum(table) == pytest.approx(1.0, abs=1e-12)
    assert table == pytest.approx(rule_behind_the_table(years), abs=6.1e-5)


def test_a_class_without_table_is_refused() -> None:
    for years in (4, 10, 5.5, "5"):
        with pytest.raises(LimitError, match="recovery_years"):
            depreciation.macrs_schedule(100.0, years)


def test_half_a_year_at_both_ends() -> None:
    schedule = depreciation.half_year_straight_line_schedule(100.0, 5)
    assert schedule == pytest.approx((10.0, 20.0, 20.0, 20.0, 20.0, 10.0))
    assert depreciation.half_year_straight_line_schedule(100.0, 1) == (50.0, 50.0)


def test_without_tax_depreciation_does_not_matter() -> None:
    assert depreciation.after_tax_saving(500.0, 300.0, 0.0) == 500.0
    flow = depreciation.after_tax_flow(1000.0, [500.0, 500.0], [400.0, 100.0], 0.0, 200.0)
    assert flow == (-1000.0, 500.0, 700.0)


@settings(deadline=None)
@given(st.lists(st.floats(0.0, 300.0), min_size=1, max_size=9), st.floats(0.0, 0.6), st.floats(0.0, 500.0))
def test_tax_is_paid_on_the_whole_gain_whatever_the_schedule(
    schedule: list[float], tax: float, sale: float
) -> None:
    savings = [400.0] * 5
    flow = depreciation.after_tax_flow(1000.0, savings, schedule, tax, sale)
    gain = sum(savings) + sale - 1000.0
    assert sum(flow) == pytest.approx(gain * (1.0 - tax), abs=1e-6)


def test_depreciation_of_other_length_than_the_savings() -> None:
    longer = depreciation.after_tax_flow(1000.0, [400.0, 400.0], [100.0, 100.0, 800.0], 0.5, 800.0)
    assert longer == pytest.approx((-1000.0, 250.0, 250.0 + 800.0))
    shorter = depreciation.after_tax_flow(1000.0, [400.0, 400.0], [1000.0], 0.5, 0.0)
    assert shorter == pytest.approx((-1000.0, 700.0, 200.0))


def test_nothing_to_write_off_is_taxed_as_it_comes() -> None:
    """By hand: 400 and 600 a year at 25 % leave 300 and 450; with nothing paid there is nothing to write off."""
    assert depreciation.tax_payments(0.0, [400.0, 600.0], [0.0], 0.25, 0.0) == (100.0, 150.0)
    assert depreciation.after_tax_flow(0.0, [400.0, 600.0], [0.0], 0.25, 0.0) == (0.0, 300.0, 450.0)


def test_an_outlay_below_nothing_is_refused() -> None:
    with pytest.raises(LimitError, match="outlay"):
        depreciation.tax_payments(-1.0, [400.0], [0.0], 0.25, 0.0)


def test_negative_depreciation_is_refused() -> None:
    with pytest.raises(LimitError, match="depreciation, number 2"):
        depreciation.after_tax_flow(1000.0, [400.0, 400.0], [100.0, -1.0], 0.5, 0.0)
