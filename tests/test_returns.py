"""Worth, rates of return, payback with interest, ramp, real money, and the view after tax."""

from __future__ import annotations

import numpy as np
import numpy_financial as npf
import pytest

from costmodel.errors import InputError
from costmodel.formulas import depreciation
from costmodel.make_or_buy import alternative_cost, cash_by_month, monthly_interest, once_cash, present_worth
from costmodel.reading import read_study
from costmodel.records.fields import Named
from costmodel.records.route import Once
from costmodel.records.study import Study, Tax
from costmodel.returns import AfterTax, after_tax, returns, saved_by_month

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


def in_real_money(study: Study, inflation: float = 0.03) -> Study:
    """The same study in money of today: the rate and the holding rate, which contains it, by Fisher's relation."""
    real_rate = (1.0 + study.finance.discount_rate) / (1.0 + inflation) - 1.0
    storage = study.finance.holding - study.finance.discount_rate
    return study.with_inputs(
        {
            "finance.money": "real",
            "finance.inflation": inflation,
            "finance.discount_rate": real_rate,
            "finance.holding": real_rate + storage,
        }
    )


def test_real_money_gives_the_same_worth_as_nominal_money(clamp: Study) -> None:
    real = in_real_money(clamp)
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


def test_without_a_rate_of_return_the_flows_say_why(plain: Study, demo: dict[str, Study]) -> None:
    """Nothing ever comes back, nothing ever goes out, and a fixture of more than it ever saves."""
    worm = returns(demo["worm-shaft"], "status-quo", "make-lathe")
    assert (worm.rates, worm.comes_back) == ((), 0.0)
    assert worm.goes_out > 0.0
    free = returns(with_fixture(plain, 0.0), "buy", "make")
    assert (free.rates, free.goes_out) == ((), 0.0)
    dear = returns(with_fixture(plain, 200_000.0), "buy", "make")
    assert (dear.goes_out, dear.comes_back) == pytest.approx((200_000.0, 4 * 24_000.0))


# --- after tax -----------------------------------------------------------------------------------------

LEVEL, FALLING, TABLE = (
    Tax(rate=0.3, method="straight line", years=4),
    Tax(rate=0.3, method="declining balance", years=8),
    Tax(rate=0.3, method="macrs", years=7),
)


@pytest.mark.parametrize("tax", [LEVEL, FALLING, TABLE], ids=lambda tax: tax.method)
@pytest.mark.parametrize("horizon", [60, 42, 6])
def test_real_money_gives_the_same_worth_after_tax(clamp: Study, tax: Tax, horizon: int) -> None:
    """What is written off stays in money of its year of payment: real terms deflate it, they do not raise it."""
    nominal = clamp.with_inputs({"finance.horizon": horizon})
    for pair in (PAIR, ("status-quo", "make-rotary")):
        worths = [after_tax(study, *pair, tax).worth for study in (nominal, in_real_money(nominal))]
        assert worths[1] == pytest.approx(worths[0], rel=1e-9)


@pytest.mark.parametrize("name", ["make-rotary", "make-single-vice", "overseas-b", "rotary-and-c"])
def test_at_no_tax_the_view_is_that_before_tax(clamp: Study, name: str) -> None:
    before = returns(clamp, "status-quo", name)
    view = after_tax(clamp, "status-quo", name, Tax(rate=0.0, method="straight line", years=5))
    assert view.worth == pytest.approx(before.worth, rel=1e-12)
    assert view.payback_months == pytest.approx(before.simple_months, rel=1e-12)
    assert view.flow == pytest.approx(saved_by_month(clamp, "status-quo", name))


def test_tax_is_paid_at_the_end_of_each_year(plain: Study) -> None:
    """By hand, no interest: 4,000 parts at 21 instead of 15 save 24,000 a year; a fixture of 9,000 over 3 years.

    Tax of 25 % on 24,000 less 3,000 is 5,250 at the end of years 1 to 3, and 6,000 of year 4. Set aside month by
    month it leaves 2,000 - 437.50, so that 9,000 are back after 5.76 months and not after 4.5.
    """
    study = with_fixture(plain, 9000.0)
    tax = Tax(rate=0.25, method="straight line", years=3)
    view = after_tax(study, "buy", "make", tax)
    assert taken(study, view) == pytest.approx({12: 5250.0, 24: 5250.0, 36: 5250.0, 48: 6000.0})
    assert view.worth == pytest.approx(4 * 24_000.0 - 9000.0 - 3 * 5250.0 - 6000.0)
    assert view.payback_months == pytest.approx(9000.0 / 1562.5)
    assert returns(study, "buy", "make").simple_months == pytest.approx(4.5)


def test_a_change_with_nothing_to_write_off_is_taxed_as_it_comes(plain: Study) -> None:
    view = after_tax(with_fixture(plain, 0.0), "buy", "make", Tax(rate=0.25, method="macrs", years=5))
    assert view.worth == pytest.approx(4 * 24_000.0 * 0.75)
    assert view.payback_months == 0.0


def test_equipment_bought_later_is_written_off_from_its_year(plain: Study) -> None:
    """By hand: 3,000 are written off in each of the years 2 to 4, and the sale of 2,000 at the end is taxed."""
    study = with_fixture(plain, 9000.0, month=13, end_value=2000.0)
    view = after_tax(study, "buy", "make", Tax(rate=0.25, method="straight line", years=3))
    assert taken(study, view) == pytest.approx({12: 6000.0, 24: 5250.0, 36: 5250.0, 48: 5250.0 + 500.0})


def test_going_back_is_the_opposite_after_tax(clamp: Study) -> None:
    there, back = after_tax(clamp, *PAIR, LEVEL), after_tax(clamp, *reversed(PAIR), LEVEL)
    assert there.worth == pytest.approx(-back.worth)


def test_stock_money_is_taxed_in_no_way_and_counts_in_no_payback(clamp: Study) -> None:
    """Dearer stock moves the worth after tax by what it moves the worth before, and neither payback."""
    free = clamp.with_inputs({"alternatives.status-quo.use_up": 1})
    slow = clamp.with_inputs({"alternatives.status-quo.use_up": 12})
    pair = ("status-quo", "make-rotary")
    moved = returns(free, *pair).worth - returns(slow, *pair).worth
    views = [after_tax(study, *pair, LEVEL) for study in (free, slow)]
    assert moved > 1.0
    assert views[0].worth - views[1].worth == pytest.approx(moved, rel=1e-9)
    assert views[0].payback_months == views[1].payback_months
    assert views[0].payback_months > returns(clamp, *pair).simple_months


def test_draws_are_taxed_as_single_studies(clamp: Study) -> None:
    volumes = np.array([2000.0, 4000.0, 7000.0])
    drawn = after_tax(clamp.with_inputs({"demand.per_year": volumes}), *PAIR, LEVEL)
    single = [after_tax(clamp.with_inputs({"demand.per_year": float(it)}), *PAIR, LEVEL) for it in volumes]
    assert drawn.worth == pytest.approx([it.worth for it in single], rel=1e-12)
    assert drawn.payback_months == pytest.approx([it.payback_months for it in single], rel=1e-12)


def taken(study: Study, view: AfterTax) -> dict[int, float]:
    """The tax in the months in which there is any."""
    tax = np.subtract(saved_by_month(study, "buy", "make"), view.flow)
    return {int(month): float(tax[month]) for month in np.flatnonzero(np.abs(tax) > 1e-9)}


@pytest.mark.parametrize("factor", [0.0, 2.5])
def test_a_declining_balance_writes_off_at_most_everything(clamp: Study, factor: float) -> None:
    """2.5 over two years would write off 125 % of the books in each."""
    tax = {"rate": 0.3, "method": "declining balance", "years": 2, "factor": factor}
    with pytest.raises(InputError, match=r"finance.tax.factor: .* at most the 2 years"):
        clamp.with_inputs({"finance.tax": tax})


def test_the_factor_of_a_declining_balance_may_vary(clamp: Study) -> None:
    factors = np.array([1.0, 1.5, 2.0])
    stated = {"rate": 0.3, "method": "declining balance", "years": 8}
    drawn, *single = (
        after_tax(clamp, *PAIR, Tax(**stated, factor=factor)).worth for factor in (factors, *factors.tolist())
    )
    assert drawn == pytest.approx(single, rel=1e-12)


def with_fixture(plain: Study, cost: float, month: int = 0, end_value: float = 0.0) -> Study:
    """The bare study over four years at no interest: a blank of 15 against a price of 21, and a fixture."""
    fixture = Once(name="fixture", kind="fixture", cost=cost, month=month, end_value=end_value)
    return plain.with_inputs(
        {
            "finance.horizon": 48,
            "rates.materials.bar.price": 15.0,
            "quotes.supplier.tiers.1.price": 21.0,
            "part.routes.route.once": Named({"fixture": fixture}),
        }
    )


def test_writing_off_sooner_is_worth_more(clamp: Study) -> None:
    """Tax saved earlier is worth more: MACRS over 3 years against the straight line over 5 years, both of
    which write off everything within the horizon or at its end."""
    slow = after_tax(clamp, *PAIR, Tax(rate=0.3, method="straight line", years=5))
    fast = after_tax(clamp, *PAIR, Tax(rate=0.3, method="macrs", years=3))
    assert sum(fast.flow) == pytest.approx(sum(slow.flow), rel=1e-12)
    assert fast.worth > slow.worth


def test_macrs_writes_off_the_published_shares() -> None:
    """IRS Publication 946, Table A-1, half-year convention, 5-year property."""
    written = depreciation.macrs_schedule(100.0, 5)
    assert written == pytest.approx((20.0, 32.0, 19.20, 11.52, 11.52, 5.76))
