"""When money paid once comes back: acceptance examples through the model, on three bases of the saving."""

from __future__ import annotations

import numpy as np
import numpy_financial
import pytest

from costmodel.make_or_buy import alternative_cost, cash_by_month
from costmodel.payback import cumulative_saving, payback
from costmodel.records.route import Once, Route
from costmodel.records.study import Alternative, Study

MACHINE = "rates.machines.mill"


def bought_or_made(plain: Study) -> Study:
    """18,400 once saves 8.70 a part at 4,000 a year (34,800); hardly any stock; three years at 10 %."""
    fixture = Once(name="fixture", kind="fixture", cost=18_400.0)
    return plain.with_inputs(
        {
            "part.routes.route.once.fixture": fixture,
            "quotes.supplier.tiers.1.price": 8.70,
            "quotes.supplier.minimum_order": 1e-9,
            "quotes.supplier.tiers.1.quantity": 1e-9,
            "alternatives.buy.lot": 1e-9,
            "finance.horizon": 36,
            "finance.discount_rate": 0.10,
            "finance.holding": 0.10,
        }
    )


def test_payback_and_worth_of_an_investment(plain: Study) -> None:
    """18,400 against 34,800 a year is back in 6.3 months; three years at 10 % are worth 68,142.

    That worth counts each year's saving at its end: 34,800 x (1/1.1 + 1/1.21 + 1/1.331) - 18,400. Month by
    month it comes earlier, by the factor i / (12 ((1 + i)^(1/12) - 1)) on the same yearly sum.
    """
    result = payback(bought_or_made(plain), "buy", "make")
    assert result.once == pytest.approx(18_400.0, rel=1e-12)
    assert result.cash_saving == pytest.approx(34_800.0, rel=1e-9)
    assert f"{result.cash_months:.1f}" == "6.3"
    at_year_ends = 34_800 * (1 / 1.1 + 1 / 1.21 + 1 / 1.331) - 18_400
    assert f"{at_year_ends:.0f}" == "68142"
    earlier = 0.10 / (12 * (1.1 ** (1 / 12) - 1))
    assert result.present_worth == pytest.approx((at_year_ends + 18_400) * earlier - 18_400, rel=1e-9)


def test_worth_agrees_with_a_financial_library(plain: Study) -> None:
    study = bought_or_made(plain)
    flows = cash_by_month(alternative_cost(study, "buy"), study) - cash_by_month(
        alternative_cost(study, "make"), study
    )
    assert payback(study, "buy", "make").present_worth == pytest.approx(
        numpy_financial.npv(1.1 ** (1 / 12) - 1, flows), rel=1e-9
    )


def test_the_cumulative_saving_crosses_zero_at_the_payback(plain: Study) -> None:
    saved = cumulative_saving(bought_or_made(plain), "buy", "make")
    assert saved == pytest.approx([-18_400.0 + 2_900.0 * month for month in range(37)], rel=1e-6)
    assert saved[6] < 0.0 < saved[7]


def with_pallets(plain: Study) -> Study:
    """3,600 of pallets bring a set-up from 150 to 25 min, 20 lots a year; 60/h machine of which 16 cash, 42/h hands."""

    def route(name: str, set_up: float, once: dict[str, Once]) -> Route:
        step = plain.part.routes["route"].steps["mill"].model_dump() | {"set_up": set_up}
        return Route(name=name, title=name, lead_time=0.0, lead_time_sd=0.0, steps={"mill": step}, once=once)

    pallets = Once(name="pallets", kind="pallets", cost=3_600.0)
    return plain.with_inputs(
        {
            "part.routes.slow": route("slow", 150.0, {}),
            "part.routes.quick": route("quick", 25.0, {"pallets": pallets}),
            "alternatives.slow": Alternative(name="slow", title="slow", make="slow", lot=200.0),
            "alternatives.quick": Alternative(name="quick", title="quick", make="quick", lot=200.0),
            f"{MACHINE}.maintenance": 44.0 * 2400.0,
            f"{MACHINE}.consumables": 16.0,
            "rates.labour.operator.wage": 42.0,
            "capacity.mill.contribution": 70.0,
        }
    )


def test_three_bases_of_one_saving(plain: Study) -> None:
    """41.67 h a year at 102 = 4,250, back in 10.2 months; at 58 cash = 2,417, 17.9; and 70 more = 5,333, 8.1."""
    result = payback(with_pallets(plain), "slow", "quick")
    hours = 20 * 125 / 60
    assert result.once == pytest.approx(3_600.0, rel=1e-13)
    assert result.booked_saving == pytest.approx(hours * (60 + 42), rel=1e-11)
    assert result.cash_saving == pytest.approx(hours * (16 + 42), rel=1e-11)
    assert result.refilled_saving == pytest.approx(hours * (16 + 42 + 70), rel=1e-11)
    months = (result.booked_months, result.cash_months, result.refilled_months)
    assert [f"{float(value):.1f}" for value in months] == ["10.2", "17.9", "8.1"]


def test_the_way_back_never_pays(plain: Study) -> None:
    result = payback(with_pallets(plain), "quick", "slow")
    assert result.once == pytest.approx(-3_600.0, rel=1e-13)
    assert result.cash_months == np.inf
    assert result.present_worth == pytest.approx(-payback(with_pallets(plain), "slow", "quick").present_worth)


def test_a_saving_for_nothing_is_back_at_once(plain: Study) -> None:
    study = plain.with_inputs({"quotes.supplier.tiers.1.price": 5.0})
    assert payback(study, "buy", "make").cash_months == 0.0


def test_payback_of_draws_is_that_of_each_draw(plain: Study) -> None:
    study = bought_or_made(plain)
    prices = np.array([8.70, -0.0, 4.35])
    drawn = payback(study.with_inputs({"quotes.supplier.tiers.1.price": prices}), "buy", "make")
    singles = [
        payback(study.with_inputs({"quotes.supplier.tiers.1.price": float(price)}), "buy", "make")
        for price in prices
    ]
    assert np.ravel(drawn.cash_months).tolist() == pytest.approx(
        [float(it.cash_months) for it in singles], rel=1e-12
    )
    assert np.ravel(drawn.cash_months)[1] == np.inf


def test_what_comes_back_at_the_end_is_no_part_of_the_payback(plain: Study) -> None:
    """Cash goes out for the whole fixture; what it fetches after the horizon does not bring it back sooner."""
    study = bought_or_made(plain).with_inputs({"part.routes.route.once.fixture.end_value": 8_400.0})
    result = payback(study, "buy", "make")
    assert result.once == pytest.approx(18_400.0, rel=1e-12)
    assert f"{result.cash_months:.1f}" == "6.3"
    without = payback(bought_or_made(plain), "buy", "make")
    assert result.present_worth - without.present_worth == pytest.approx(8_400.0 / 1.1**3, rel=1e-8)
