"""Worth, rates of return and payback: an independent library, identities, the hard cases."""

from __future__ import annotations

import numpy as np
import numpy_financial
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import annuity, investment

RATES = st.floats(-0.3, 1.0)
FLOWS = st.lists(st.floats(-1000.0, 1000.0), min_size=2, max_size=12)
PROJECTS = st.builds(
    lambda outlay, savings: [-outlay, *savings],
    st.floats(10.0, 1000.0),
    st.lists(st.floats(0.0, 500.0), min_size=1, max_size=12),
)


@settings(deadline=None)
@given(RATES, FLOWS)
def test_worth_agrees_with_an_independent_library(interest: float, flows: list[float]) -> None:
    worth = investment.net_present_value(interest, flows)
    assert worth == pytest.approx(numpy_financial.npv(interest, flows), rel=1e-9, abs=1e-6)


@settings(deadline=None)
@given(RATES, FLOWS)
def test_the_cumulative_curve_ends_at_the_worth(interest: float, flows: list[float]) -> None:
    curve = investment.cumulative_worth(interest, flows)
    assert len(curve) == len(flows)
    assert curve[0] == flows[0]
    assert curve[-1] == pytest.approx(investment.net_present_value(interest, flows), rel=1e-9, abs=1e-6)


@settings(deadline=None)
@given(PROJECTS)
def test_worth_at_an_internal_rate_is_zero(flows: list[float]) -> None:
    assume(sum(flows) > 1.0)
    rates = investment.internal_rates(flows)
    assert len(rates) == 1
    assert investment.net_present_value(rates[0], flows) == pytest.approx(0.0, abs=1e-6 * -flows[0])


@settings(deadline=None)
@given(st.integers(10, 1000), st.lists(st.integers(1, 500), min_size=1, max_size=12))
def test_the_internal_rate_agrees_with_an_independent_library(outlay: int, savings: list[int]) -> None:
    assume(sum(savings) > outlay)
    flows = [-float(outlay), *(float(saving) for saving in savings)]
    assert investment.internal_rates(flows) == pytest.approx([numpy_financial.irr(flows)], rel=1e-6, abs=1e-9)


def test_a_loss_has_a_negative_internal_rate() -> None:
    assert investment.internal_rates([-100.0, 50.0, 40.0]) == pytest.approx(
        [numpy_financial.irr([-100.0, 50.0, 40.0])], rel=1e-9
    )


def test_all_three_internal_rates_of_a_flow_are_found() -> None:
    # worth is zero where (1 + i) is 1.1, 1.5 or 2: the polynomial is multiplied out
    flows = -np.poly([1.1, 1.5, 2.0])
    assert investment.internal_rates(flows) == pytest.approx([0.1, 0.5, 1.0], rel=1e-9)


def test_a_worth_that_only_touches_nothing_has_no_internal_rate() -> None:
    assert investment.internal_rates(np.poly([1.2, 1.2])).size == 0


@pytest.mark.parametrize("flows", [[1.0, 2.0], [-1.0, -2.0], [0.0, 0.0], [5.0], [-100.0, 150.0, -100.0]])
def test_a_flow_without_internal_rate_reports_none(flows: list[float]) -> None:
    assert investment.internal_rates(flows).size == 0


def test_internal_rate_of_many_months() -> None:
    flows = [-18400.0, *([2900.0] * 120)]
    rates = investment.internal_rates(flows)
    assert rates == pytest.approx([numpy_financial.rate(120, 2900.0, -18400.0, 0.0, guess=0.15)], rel=1e-9)


def test_a_late_start_does_not_change_the_internal_rate() -> None:
    assert investment.internal_rates([0.0, -100.0, 121.0]) == pytest.approx([0.21], rel=1e-12)


def test_internal_rates_take_no_draws() -> None:
    with pytest.raises(LimitError, match="one number for each period"):
        investment.internal_rates([np.array([-1.0, -2.0]), 3.0])


@settings(deadline=None)
@given(PROJECTS, st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_the_modified_rate_agrees_with_an_independent_library(
    flows: list[float], finance: float, reinvest: float
) -> None:
    assume(sum(flows[1:]) > 1.0)
    expected = numpy_financial.mirr(flows, finance, reinvest)
    assert investment.modified_internal_rate(flows, finance, reinvest) == pytest.approx(expected, rel=1e-9)


def test_the_modified_rate_without_outlay_is_infinite_and_without_return_a_total_loss() -> None:
    assert investment.modified_internal_rate([0.0, 5.0], 0.1, 0.1) == np.inf
    assert investment.modified_internal_rate([-5.0, 0.0], 0.1, 0.1) == -1.0


@settings(deadline=None)
@given(PROJECTS, st.floats(0.0, 0.5))
def test_the_index_is_one_where_the_worth_is_nothing(flows: list[float], interest: float) -> None:
    worth = investment.net_present_value(interest, flows)
    index = investment.profitability_index(interest, flows)
    assert index == pytest.approx(1.0 + worth / -flows[0], rel=1e-9)


def test_the_index_without_outlay_is_infinite() -> None:
    assert investment.profitability_index(0.1, [0.0, 5.0]) == np.inf


def test_payback_and_worth_of_one_saving_a_year() -> None:
    months = investment.simple_payback(18400.0, 34800.0 / 12.0)
    assert months == pytest.approx(6.3, abs=0.05)
    assert investment.net_present_value(0.10, [-18400.0, *([34800.0] * 3)]) == pytest.approx(68142.0, abs=0.5)


def test_pallets_pay_back_by_three_bases() -> None:
    hours = 20 * (150 - 25) / 60
    savings = np.array([hours * 102.0, hours * (42.0 + 16.0), hours * (42.0 + 16.0 + 70.0)])
    months = investment.simple_payback(3600.0, savings / 12.0)
    assert hours == pytest.approx(41.67, abs=0.005)
    assert months == pytest.approx([10.2, 17.9, 8.1], abs=0.05)


def test_what_saves_nothing_is_never_paid_back() -> None:
    assert investment.simple_payback(100.0, 0.0) == np.inf
    assert investment.simple_payback(np.array([100.0, 100.0]), np.array([-5.0, 50.0])) == pytest.approx(
        [np.inf, 2.0]
    )
    assert investment.payback_period([-100.0, 10.0, 20.0]) == np.inf


@settings(deadline=None)
@given(st.floats(1.0, 1000.0), st.floats(1.0, 500.0))
def test_payback_of_a_level_saving_is_the_quotient(outlay: float, saving: float) -> None:
    periods = int(np.ceil(outlay / saving)) + 1
    assume(periods < 500)
    payback = investment.payback_period([-outlay] + [saving] * periods)
    assert payback == pytest.approx(investment.simple_payback(outlay, saving), rel=1e-9)


def test_payback_at_the_end_of_the_period() -> None:
    flows = [-100.0, 60.0, 60.0]
    assert investment.payback_period(flows) == pytest.approx(1 + 40 / 60)
    assert investment.payback_period(flows, within_period="end") == 2.0


def test_payback_with_interest_is_later() -> None:
    flows = [-100.0, 60.0, 60.0]
    assert investment.payback_period(flows, 0.1) == pytest.approx(1 + (100 - 60 / 1.1) / (60 / 1.21))


def test_payback_is_the_first_time_even_if_money_is_needed_again() -> None:
    assert investment.payback_period([-100.0, 150.0, -80.0, 50.0]) == pytest.approx(100 / 150)


def test_payback_without_outlay_is_at_once() -> None:
    assert investment.payback_period([0.0, 5.0]) == 0.0
    assert investment.payback_period([3.0, -5.0]) == 0.0


@settings(deadline=None)
@given(st.floats(0.0, 0.4), FLOWS)
def test_the_equivalent_amount_is_worth_as_much(interest: float, flows: list[float]) -> None:
    amount = investment.equivalent_annual_worth(interest, flows)
    factor = annuity.level_present_worth_factor(interest, len(flows) - 1.0)
    assert amount * factor == pytest.approx(investment.net_present_value(interest, flows), rel=1e-9, abs=1e-6)


def test_one_amount_has_no_yearly_equivalent_and_no_modified_rate() -> None:
    with pytest.raises(LimitError, match="at least 2"):
        investment.equivalent_annual_worth(0.1, [5.0])
    with pytest.raises(LimitError, match="at least 2"):
        investment.modified_internal_rate([5.0], 0.1, 0.1)
