"""Terms of a machine-hour rate: equal forms of capital recovery, a published sheet, the conventions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.formulas import annuity, machine_hour

PRICES, SHARES = st.floats(1000.0, 1e6), st.floats(0.0, 0.9)
LIVES, RATES = st.integers(1, 20), st.floats(0.001, 0.4)


@settings(deadline=None)
@given(PRICES, SHARES, LIVES, RATES)
def test_three_forms_of_capital_recovery_are_equal(
    price: float, share: float, life: int, interest: float
) -> None:
    salvage = share * price
    recovered = machine_hour.capital_per_year(price, salvage, life, interest)
    loss = price - salvage
    assert recovered == pytest.approx(
        loss * annuity.capital_recovery_factor(interest, life) + interest * salvage, rel=1e-9
    )
    assert recovered == pytest.approx(
        loss * annuity.sinking_fund_factor(interest, life) + interest * price, rel=1e-9
    )


@settings(deadline=None)
@given(PRICES, SHARES, RATES, st.lists(st.floats(0.01, 1.0), min_size=1, max_size=12))
def test_any_depreciation_with_interest_on_the_balance_is_worth_the_capital_recovery(
    price: float, share: float, interest: float, weights: list[float]
) -> None:
    salvage, life = share * price, len(weights)
    book, worth = price, 0.0
    for year, weight in enumerate(weights, start=1):
        depreciation = (price - salvage) * weight / sum(weights)
        worth += (depreciation + interest * book) / (1 + interest) ** year
        book -= depreciation
    yearly = worth * annuity.capital_recovery_factor(interest, life)
    assert machine_hour.capital_per_year(price, salvage, life, interest) == pytest.approx(yearly, rel=1e-9)


def test_without_interest_the_annuity_is_the_straight_line() -> None:
    annual = machine_hour.capital_per_year(90000.0, 10000.0, 8.0, 0.0)
    assert annual == pytest.approx(10000.0)
    assert annual == machine_hour.capital_per_year(
        90000.0, 10000.0, 8.0, 0.3, "straight line without interest"
    )


def test_interest_on_average_investment_lies_near_the_annuity() -> None:
    convention = "straight line plus interest on average investment"
    mid = machine_hour.capital_per_year(100.0, 20.0, 5.0, 0.1, convention)
    annual = machine_hour.capital_per_year(100.0, 20.0, 5.0, 0.1, convention, "average annual")
    assert mid == pytest.approx(16.0 + 6.0)
    assert annual == pytest.approx(16.0 + 6.8)
    assert mid < machine_hour.capital_per_year(100.0, 20.0, 5.0, 0.1) < annual + 1.0


def test_average_annual_investment_is_the_mean_of_the_opening_values() -> None:
    opening = 100.0 - 16.0 * np.arange(5)
    assert machine_hour.average_investment(100.0, 20.0, 5.0, "average annual") == pytest.approx(
        opening.mean()
    )


def test_a_life_in_hours_keeps_the_rate_when_the_machine_stands() -> None:
    def rate(hours: float, basis: machine_hour.LifeBasis, life: float) -> float:
        years = machine_hour.machine_life(life, hours, basis)
        return machine_hour.capital_per_hour(
            80000.0, 0.0, years, 0.0, hours, "straight line without interest"
        )

    assert rate(2000.0, "hours", 16000.0) == rate(1000.0, "hours", 16000.0) == pytest.approx(5.0)
    assert rate(1000.0, "years", 8.0) == pytest.approx(2 * rate(2000.0, "years", 8.0))


def test_the_published_sheet_adds_up_to_its_rate() -> None:
    hours = 3600.0
    depreciation = machine_hour.capital_per_hour(
        1040000.0, -10000.0, 10.0, 0.0, hours, "straight line without interest"
    )
    upkeep = machine_hour.maintenance_per_hour(9000.0, hours)
    power = machine_hour.power_per_hour(14.0, 1.0, 0.35)
    rent = machine_hour.space_per_hour(20.0, 8.0, hours)
    interest, tools = 16.67, 17.53  # as printed: their inputs are not shown
    assert depreciation + interest + upkeep + power + rent + tools == pytest.approx(70.81, abs=0.02)
    monthly_rent_taken_as_yearly = machine_hour.space_per_hour(20.0, 8.0 * 12, hours)
    assert (rent, monthly_rent_taken_as_yearly) == pytest.approx((0.04, 0.53), abs=0.005)


def test_a_published_rate_of_standing_and_running_terms() -> None:
    standing = machine_hour.standing_cost_per_hour(268.33, 1.0, 365.0)
    depreciation = machine_hour.capital_per_hour(
        10000.0, 900.0, 10.0, 0.0, 4380.0, "straight line without interest"
    )
    repairs = machine_hour.maintenance_per_hour(18000.0 / 10.0, 4380.0)
    power = machine_hour.power_per_hour(15.0, 1.0, 0.05)
    assert standing + depreciation + repairs + power == pytest.approx(2.104, abs=5e-4)


def test_small_terms() -> None:
    assert machine_hour.power_per_hour(20.0, 0.3, 0.1) == pytest.approx(0.6)
    assert machine_hour.consumables_per_hour(0.5, 4.0) == 2.0
    assert machine_hour.standing_cost_per_hour(960.0, 0.25, 120.0) == 2.0
