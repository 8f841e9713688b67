"""Interest factors and monthly weights: identities, limits at zero interest, an independent library."""

from __future__ import annotations

import numpy as np
import numpy_financial
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import annuity, month_weights

RATES = st.floats(-0.2, 0.6).filter(lambda rate: abs(rate) > 1e-6)
PERIODS = st.integers(1, 120)


@settings(deadline=None)
@given(RATES, PERIODS)
def test_factors_agree_with_an_independent_library(interest: float, periods: int) -> None:
    assert annuity.single_present_worth_factor(interest, periods) == pytest.approx(
        -numpy_financial.pv(interest, periods, 0, 1), rel=1e-9
    )
    assert annuity.level_present_worth_factor(interest, periods) == pytest.approx(
        -numpy_financial.pv(interest, periods, 1), rel=1e-9
    )
    assert annuity.capital_recovery_factor(interest, periods) == pytest.approx(
        -numpy_financial.pmt(interest, periods, 1), rel=1e-9
    )
    assert annuity.level_future_worth_factor(interest, periods) == pytest.approx(
        -numpy_financial.fv(interest, periods, 1, 0), rel=1e-9
    )
    assert annuity.sinking_fund_factor(interest, periods) == pytest.approx(
        -numpy_financial.pmt(interest, periods, 0, 1), rel=1e-9
    )


@settings(deadline=None)
@given(RATES, PERIODS)
def test_capital_recovery_is_sinking_fund_and_interest(interest: float, periods: int) -> None:
    recovery = annuity.capital_recovery_factor(interest, periods)
    assert recovery - annuity.sinking_fund_factor(interest, periods) == pytest.approx(interest, abs=1e-12)


@pytest.mark.parametrize("interest", [0.0, 1e-300, -1e-18, 1e-12])
def test_factors_hold_at_and_near_zero_interest(interest: float) -> None:
    assert annuity.level_present_worth_factor(interest, 7.0) == pytest.approx(7.0, rel=1e-10)
    assert annuity.level_future_worth_factor(interest, 7.0) == pytest.approx(7.0, rel=1e-10)
    assert annuity.capital_recovery_factor(interest, 7.0) == pytest.approx(1 / 7, rel=1e-10)
    assert annuity.sinking_fund_factor(interest, 7.0) == pytest.approx(1 / 7, rel=1e-10)
    assert annuity.single_present_worth_factor(interest, 7.0) == pytest.approx(1.0, rel=1e-10)


def test_zero_interest_among_draws_raises_no_warning() -> None:
    factors = annuity.level_present_worth_factor(np.array([0.0, 0.1]), 2.0)
    assert factors == pytest.approx([2.0, 1 / 1.1 + 1 / 1.21])


@settings(deadline=None)
@given(st.floats(-0.2, 0.6), PERIODS)
def test_a_gradient_is_worth_its_flow(interest: float, periods: int) -> None:
    worth = numpy_financial.npv(interest, [0.0, *range(periods)])
    assert annuity.gradient_present_worth_factor(interest, periods) == pytest.approx(worth, rel=1e-9)


@settings(deadline=None)
@given(st.floats(-0.5, 2.0), st.integers(1, 52))
def test_periods_of_the_effective_rate_compound_to_the_year(yearly: float, periods: int) -> None:
    rate = annuity.periodic_rate(yearly, periods)
    assert (1 + rate) ** periods - 1 == pytest.approx(yearly, abs=1e-9)
    assert annuity.effective_rate(rate, periods) == pytest.approx(yearly, abs=1e-9)


def test_a_nominal_rate_compounds_to_more() -> None:
    month = annuity.periodic_rate(0.12, 12.0, "nominal")
    assert month == pytest.approx(0.01)
    assert annuity.effective_rate(month, 12.0) == pytest.approx(1.01**12 - 1)


MONTHS = st.tuples(st.integers(0, 24), st.integers(0, 60)).map(lambda pair: (pair[0], pair[0] + pair[1]))
MONTHLY = st.floats(-0.03, 0.05)


def direct(interest: float, growth: float, first: int, last: int, growth_from: int) -> float:
    months = range(first, last + 1)
    return sum((1 + growth) ** (month - growth_from) / (1 + interest) ** month for month in months)


@settings(deadline=None)
@given(MONTHLY, MONTHLY, MONTHS, st.integers(0, 12))
def test_weights_are_the_sum_over_their_months(
    interest: float, growth: float, months: tuple[int, int], growth_from: int
) -> None:
    expected = direct(interest, growth, *months, growth_from)
    closed = month_weights.growing_weight(interest, growth, *months, growth_from)
    horner = month_weights.horner_weight(interest, *months, growth, growth_from)
    assert closed == pytest.approx(expected, rel=1e-11)
    assert horner == pytest.approx(expected, rel=1e-11)


@settings(deadline=None)
@given(MONTHLY, MONTHS)
def test_a_level_weight_does_not_grow(interest: float, months: tuple[int, int]) -> None:
    expected = direct(interest, 0.0, *months, 0)
    assert month_weights.level_weight(interest, *months) == pytest.approx(expected, rel=1e-11)


def test_growth_as_high_as_interest_counts_the_months() -> None:
    assert month_weights.growing_weight(0.01, 0.01, 1, 60) == pytest.approx(60.0, rel=1e-14)
    assert month_weights.growing_weight(0.01, 0.01 * (1 + 1e-15), 1, 60) == pytest.approx(60.0, rel=1e-12)


def test_a_level_weight_from_month_one_is_the_annuity_factor() -> None:
    assert month_weights.level_weight(0.007, 1, 36) == pytest.approx(
        annuity.level_present_worth_factor(0.007, 36.0), rel=1e-14
    )


def test_month_zero_is_not_discounted() -> None:
    assert month_weights.level_weight(0.05, 0, 0) == 1.0
    assert month_weights.horner_weight(0.05, 0, 0) == 1.0


def test_a_pattern_is_worth_its_flow() -> None:
    pattern = [0.0, 5.0, -3.0, 8.0]
    worth = numpy_financial.npv(0.02, [0.0, 0.0, 0.0, *pattern])
    assert month_weights.horner_weight(0.02, 3, 6, pattern=pattern) == pytest.approx(worth, rel=1e-12)


def test_a_pattern_may_hold_draws_and_stays_untouched() -> None:
    pattern = [np.array([1.0, 2.0]), 3.0]
    worth = month_weights.horner_weight(0.1, 1, 2, pattern=pattern)
    assert worth == pytest.approx([1 / 1.1 + 3 / 1.21, 2 / 1.1 + 3 / 1.21])
    assert pattern[0] == pytest.approx([1.0, 2.0])


@pytest.mark.parametrize("months", [(3, 2), (-1, 2), (1.0, 2)])
def test_months_that_are_none_are_refused(months: tuple[int, int]) -> None:
    with pytest.raises(LimitError):
        month_weights.level_weight(0.01, *months)
    with pytest.raises(LimitError):
        month_weights.horner_weight(0.01, *months)


def test_a_pattern_of_another_length_is_refused() -> None:
    with pytest.raises(LimitError, match="pattern"):
        month_weights.horner_weight(0.01, 1, 3, pattern=[1.0, 2.0])
