"""Worth, rates of return, payback with interest, ramp, real money, and the view after tax."""

from __future__ import annotations

import numpy as np
import numpy_financial as npf
import pytest

from costmodel.formulas import depreciation
from costmodel.make_or_buy import alternative_cost, cash_by_month, monthly_interest, once_cash, present_worth
from costmodel.reading import read_study
from costmodel.records.study import Study, Tax
from costmodel.returns import after_tax, returns, saved_by_month

PAIR = ("make-single-vice", "make-rotary")


@pytest.fixture(scope="module")
def clamp() -> Study:
    return read_study("data/studies/saddle-clamp.toml")


@pytest.mark.parametrize("name", ["status-quo", "overseas-b", "make-rotary", "rotary-and-c"])
def test_cash_by_month_is_worth_what_present_worth_says(clamp: Study, name: str) -> None:
    cost = alternative_cost(clamp, name)
    flow = cash_by_month(cost, clamp)
    worth = npf.npv(float(monthly_interest(clamp)), flow)
    assert present_worth(cost, clamp) == pytest.approx(worth, rel=1e-12)


def test_the_worth_of_a_change_agrees_with_a_reference_library(clamp: Study) -> None:
    found = returns(clamp, *PAIR)
    saved = np.array(saved_by_month(clamp, *PAIR))
    assert found.worth == pytest.approx(npf.npv(float(monthly_interest(clamp)), saved), rel=1e-12)


def test_the_worth_at_a_rate_of_return_is_nothing(clamp: Study) -> None:
    found = returns(clamp, *PAIR)
    saved = np.array(saved_by_month(clamp, *PAIR, with_stock=False))
    assert len(found.rates) == 1
    monthly = (1.0 + found.rates[0]) ** (1.0 / 12.0) - 1.0
    assert npf.npv(monthly, saved) == pytest.approx(0.0, abs=1e-6 * np.abs(saved).sum())
    assert found.rates[0] == pytest.approx((1.0 + npf.irr(saved)) ** 12 - 1.0, rel=1e-6)


def test_interest_only_lengthens_a_payback(clamp: Study) -> None:
    found = returns(clamp, *PAIR)
    assert found.simple_months < found.discounted_months
    free = returns(clamp.with_inputs({"finance.discount_rate": 0.0}), *PAIR)
    assert free.discounted_months == pytest.approx(free.simple_months)


def test_going_back_is_the_opposite(clamp: Study) -> None:
    there, back = returns(clamp, *PAIR), returns(clamp, *reversed(PAIR))
    assert there.worth == pytest.approx(-back.worth)


def test_a_ramp_that_carries_everything_at_once_changes_nothing(clamp: Study) -> None:
    full = clamp.with_inputs({"alternatives.make-rotary.ramp": (1.0, 1.0, 1.0)})
    before, after = (present_worth(alternative_cost(study, "make-rotary"), study) for study in (clamp, full))
    assert after == pytest.approx(before, rel=1e-13)


def test_months_of_a_ramp_cost_a_mix_of_both_ways(clamp: Study) -> None:
    study = clamp.with_inputs({"alternatives.make-rotary.ramp": (0.0, 0.25)})
    ramped, full, today = (
        running(which, name)
        for which, name in ((study, "make-rotary"), (clamp, "make-rotary"), (clamp, "status-quo"))
    )
    assert ramped[1] == pytest.approx(today[1])
    assert ramped[2] == pytest.approx(0.25 * full[2] + 0.75 * today[2])
    assert ramped[3:] == pytest.approx(full[3:])


def running(study: Study, name: str) -> np.ndarray:
    """Cash by month without what is paid once."""
    cost = alternative_cost(study, name)
    flow = cash_by_month(cost, study).copy()
    for month, amount in once_cash(cost, study).items():
        flow[month] -= amount
    return flow


def test_real_money_gives_the_same_worth_as_nominal_money(clamp: Study) -> None:
    """The rate and the holding rate, which contains it, are stated in the same terms: Fisher's relation."""
    inflation = 0.03
    real_rate = 1.10 / (1.0 + inflation) - 1.0
    storage = clamp.finance.holding - clamp.finance.discount_rate
    real = clamp.with_inputs(
        {
            "finance.money": "real",
            "finance.inflation": inflation,
            "finance.discount_rate": real_rate,
            "finance.holding": real_rate + storage,
        }
    )
    for name in ("status-quo", "make-rotary", "rotary-and-c"):
        nominal_worth = present_worth(alternative_cost(clamp, name), clamp)
        real_worth = present_worth(alternative_cost(real, name), real)
        assert real_worth == pytest.approx(nominal_worth, rel=1e-12)


def test_worths_of_draws_are_the_stack_of_single_worths(clamp: Study) -> None:
    volumes = np.array([2000.0, 4000.0, 7000.0])
    drawn = clamp.with_inputs({"demand.per_year": volumes, "alternatives.make-rotary.ramp": (0.1, 0.6)})
    together = present_worth(alternative_cost(drawn, "make-rotary"), drawn)
    for volume, worth in zip(volumes, np.asarray(together), strict=True):
        single = drawn.with_inputs({"demand.per_year": float(volume)})
        assert worth == pytest.approx(
            present_worth(alternative_cost(single, "make-rotary"), single), rel=1e-12
        )


def test_without_tax_the_yearly_view_is_the_yearly_sum_of_the_months(clamp: Study) -> None:
    view = after_tax(clamp, *PAIR, Tax(rate=0.0, method="straight line", years=5))
    saved = saved_by_month(clamp, *PAIR)
    assert sum(view.flow) == pytest.approx(float(np.sum(saved, axis=0)), rel=1e-12)


def test_writing_off_sooner_is_worth_more(clamp: Study) -> None:
    """Tax saved earlier is worth more: MACRS over 5 years against the straight line over 5 years, both of
    which write off everything within the horizon or at its end."""
    slow = after_tax(clamp, *PAIR, Tax(rate=0.3, method="straight line", years=5))
    fast = after_tax(clamp, *PAIR, Tax(rate=0.3, method="macrs", years=3))
    assert sum(fast.flow) == pytest.approx(sum(slow.flow), rel=1e-12)
    assert fast.worth > slow.worth


def test_macrs_writes_off_the_published_shares() -> None:
    """IRS Publication 946, Table A-1, half-year convention, 5-year property."""
    written = depreciation.macrs_schedule(100.0, 5)
    assert written == pytest.approx((20.0, 32.0, 19.20, 11.52, 11.52, 5.76))
