"""Payment terms and trade credit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.formulas.payment import (
    days_financed_cost,
    letter_of_credit_charge,
    payment_terms_cost,
    trade_credit_cost,
)


def test_a_deposit_and_an_early_balance_against_net_30() -> None:
    cost = payment_terms_cost(
        10_000.0,
        0.10,
        deposit_share=0.30,
        deposit_days_before=70.0,
        balance_days_before=42.0,
        compared_days_after=30.0,
    )
    assert cost == pytest.approx(220.27, abs=0.005)


def test_the_same_terms_as_those_compared_with_cost_nothing() -> None:
    assert payment_terms_cost(5000.0, 0.1, balance_days_before=-30.0, compared_days_after=30.0) == 0.0


def test_later_payment_than_compared_is_a_gain() -> None:
    gain = payment_terms_cost(5000.0, 0.1, balance_days_before=-60.0, compared_days_after=30.0)
    assert gain == pytest.approx(-days_financed_cost(5000.0, 30.0, 0.1))
    assert gain < 0.0


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.floats(0.0, 0.5))
def test_a_deposit_and_balance_on_one_day_are_one_payment(
    share: float, days: float, after: float, interest: float
) -> None:
    parted = payment_terms_cost(
        900.0,
        interest,
        deposit_share=share,
        deposit_days_before=days,
        balance_days_before=days,
        compared_days_after=after,
        interest="effective",
    )
    whole = days_financed_cost(900.0, days + after, interest, interest="effective")
    assert parted == pytest.approx(whole, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(st.floats(0.0, 0.5))
def test_simple_and_effective_interest_agree_after_a_year_and_at_no_days(interest: float) -> None:
    for days in (0.0, 365.0):
        simple = days_financed_cost(100.0, days, interest)
        assert days_financed_cost(100.0, days, interest, interest="effective") == pytest.approx(
            simple, abs=1e-9
        )
    half = days_financed_cost(100.0, 182.5, interest)
    assert days_financed_cost(100.0, 182.5, interest, interest="effective") <= half + 1e-9


@settings(deadline=None)
@given(st.floats(0.0, 0.2), st.floats(0.0, 20.0), st.floats(1.0, 80.0))
def test_at_the_effective_cost_both_ways_of_paying_are_worth_the_same(
    discount: float, discount_days: float, more_days: float
) -> None:
    net = discount_days + more_days
    rate = trade_credit_cost(discount, discount_days, net, interest="effective", days_in_year=365.0)
    assert (1.0 - discount) * (1.0 + rate) ** ((net - discount_days) / 365.0) == pytest.approx(1.0)


def test_a_bankers_year_is_five_days_cheaper() -> None:
    short = trade_credit_cost(0.02, 10.0, 30.0)
    assert trade_credit_cost(0.02, 10.0, 30.0, days_in_year=365.0) / short == pytest.approx(365.0 / 360.0)


def test_a_letter_of_credit_has_a_minimum_and_flat_charges() -> None:
    assert letter_of_credit_charge(20_000.0) == pytest.approx(150.0)
    assert letter_of_credit_charge(20_000.0, confirmed=True) == pytest.approx(350.0)
    assert letter_of_credit_charge(2_000.0, minimum=100.0, flat_charges=80.0) == pytest.approx(180.0)
