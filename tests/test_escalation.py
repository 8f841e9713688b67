"""Prices over time: what was escalated comes back, nothing moves at an equal index."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.formulas import escalation

PRICES, INDICES = st.floats(0.01, 1e5), st.floats(10.0, 1000.0)
RATES, YEARS = st.floats(-0.2, 0.5), st.floats(-20.0, 20.0)


@settings(deadline=None)
@given(PRICES, INDICES, INDICES, INDICES)
def test_a_ratio_is_a_chain_and_can_be_undone(
    price: float, first: float, second: float, third: float
) -> None:
    assert escalation.escalated_price(price, first, first) == price
    step = escalation.escalated_price(escalation.escalated_price(price, first, second), second, third)
    assert step == pytest.approx(escalation.escalated_price(price, first, third))
    back = escalation.escalated_price(escalation.escalated_price(price, first, second), second, first)
    assert back == pytest.approx(price)


@settings(deadline=None)
@given(INDICES, INDICES, st.floats(0.1, 10.0))
def test_a_new_base_year_changes_no_ratio(first: float, second: float, base: float) -> None:
    change = escalation.relative_change(first, second)
    assert escalation.relative_change(first * base, second * base) == pytest.approx(change, abs=1e-9)
    assert escalation.escalated_price(100.0, first, second) == pytest.approx(100.0 * (1.0 + change))


@settings(deadline=None)
@given(PRICES, RATES, YEARS)
def test_real_and_nominal_undo_each_other(amount: float, inflation: float, years: float) -> None:
    nominal = escalation.nominal_amount(amount, inflation, years)
    assert escalation.real_amount(nominal, inflation, years) == pytest.approx(amount)
    assert escalation.escalated_over_years(amount, 0.0, years) == amount
    assert escalation.escalated_over_years(amount, inflation, 0.0) == amount


def test_years_compound() -> None:
    assert escalation.escalated_over_years(100.0, 0.05, 3.0) == pytest.approx(115.7625)
    assert escalation.escalated_over_years(115.7625, 0.05, -3.0) == pytest.approx(100.0)


@settings(deadline=None)
@given(RATES, RATES)
def test_real_and_nominal_interest_undo_each_other(real: float, inflation: float) -> None:
    nominal = escalation.nominal_rate(real, inflation)
    assert 1.0 + nominal == pytest.approx((1.0 + real) * (1.0 + inflation))
    assert escalation.real_rate(nominal, inflation) == pytest.approx(real, abs=1e-12)


@settings(deadline=None)
@given(PRICES, RATES, RATES, st.integers(1, 20))
def test_real_money_at_real_interest_is_worth_the_same(
    amount: float, nominal: float, inflation: float, years: int
) -> None:
    in_nominal = escalation.nominal_amount(amount, inflation, years) / (1.0 + nominal) ** years
    in_real = amount / (1.0 + escalation.real_rate(nominal, inflation)) ** years
    assert in_nominal == pytest.approx(in_real, rel=1e-9)
