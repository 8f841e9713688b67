"""Alternatives side by side: the four columns of a decision, cash by month, and worth against other libraries."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy_financial
import pytest

from costmodel.cost_lines import CostSheet, Line, is_cash
from costmodel.errors import InputError
from costmodel.make_or_buy import (
    alternative_cost,
    cash_by_month,
    cash_groups,
    compare,
    levelled,
    monthly_interest,
    once_cash,
    once_worth,
    present_worth,
)
from costmodel.records.rates import Series
from costmodel.records.route import Once
from costmodel.records.study import Alternative, Study

Sheet = Callable[..., CostSheet]
SOURCED: dict[str, Any] = {"source": "invented", "as_of": "2026-01-01", "owner": "tests", "status": "guess"}
NAMES = ("status-quo", "near-b", "make-cuts", "make-measured", "both")


# --- side by side ----------------------------------------------------------------------------------------


def test_status_quo_supplier_make_and_split_stand_side_by_side(small: Study) -> None:
    """The same year, volume and point of use for each; every figure is there."""
    comparison = compare(small)
    assert tuple(comparison.alternatives) == NAMES
    kinds = {name: cost.kind for name, cost in comparison.alternatives.items()}
    assert kinds == {
        "status-quo": "buy",
        "near-b": "buy",
        "make-cuts": "make",
        "make-measured": "make",
        "both": "split",
    }
    assert comparison.current.name == "status-quo"
    for cost in comparison.alternatives.values():
        assert cost.per_year_parts == 4000.0
        figures = (cost.per_part(), cost.per_year(), cost.once(), cost.tied_up(), cost.short_per_year())
        assert all(np.isfinite(value) for value in figures)
        assert cost.per_part() == pytest.approx(cost.per_year() / 4000.0, rel=1e-14)
        assert sum(float(portion.share) for portion in cost.portions) == pytest.approx(1.0, rel=1e-14)
        assert sum(float(portion.sheet.rhythm.per_year) for portion in cost.portions) == pytest.approx(4000.0)


def test_a_missing_input_is_named_and_not_zero(small: Study) -> None:
    with pytest.raises(InputError, match=r"lead_time_sd.*Fill it in"):
        small.with_inputs({"quotes.near-b.lead_time_sd": None})


def test_only_those_asked_for_are_compared(small: Study) -> None:
    assert list(compare(small, names=["near-b", "make-cuts"]).alternatives) == ["near-b", "make-cuts"]
    assert compare(small, "cash").basis == "cash"
    assert compare(small).basis == small.finance.basis


def test_what_was_paid_once_for_the_status_quo_is_past(small: Study) -> None:
    """Sunk: shown as nothing with a note; as a new choice the same offer would cost its equipment."""
    assert compare(small).alternatives["status-quo"].once() == 0.0
    lines = compare(small).alternatives["status-quo"].portions[0].sheet.lines
    once = [line for line in lines if line.level == "once" and line.step == "supplier"]
    assert [line.amount for line in once] == [0.0, 0.0, 0.0]
    assert all("paid already" in line.note for line in once)
    anew = small.with_inputs({"alternatives.status-quo.current": False, "alternatives.near-b.current": True})
    assert compare(anew).alternatives["status-quo"].once() == pytest.approx((2400 + 350) * 1.12, rel=1e-13)
    assert compare(anew).alternatives["near-b"].once() == 0.0


def test_what_is_left_of_the_status_quo_is_not_past(plain: Study) -> None:
    """A fixture of ours fetches 500 at the end whether it was paid today or years ago."""
    fixture = Once(name="fixture", kind="fixture", cost=2000.0, end_value=500.0)
    study = plain.with_inputs(
        {
            "part.routes.route.once.fixture": fixture,
            "alternatives.make.current": True,
            "alternatives.buy.current": False,
        }
    )
    cost = alternative_cost(study, "make")
    assert cost.once() == 0.0
    assert once_cash(cost, study, with_stock=False)[study.finance.horizon] == pytest.approx(-500.0, rel=1e-14)


def test_a_split_is_its_shares_of_what_does_not_depend_on_volume(small: Study) -> None:
    """Costs of a part weigh by their share; costs of a year and once are those of both."""

    def a_part(line: Line) -> bool:
        return line.level in ("part", "load") and line.mark == "cash"

    def a_year(line: Line) -> bool:
        return line.level == "year" and line.step in ("route", "supplier")

    costs = compare(small).alternatives
    # the supplier's price break depends on the order, eight a year: compare at the order of the share
    near = alternative_cost(small.with_inputs({"alternatives.near-b.orders_per_year": 8.0 / 0.4}), "near-b")
    made = costs["make-cuts"]
    weighted = 0.6 * made.per_part(a_part) + 0.4 * near.per_part(a_part)
    assert costs["both"].per_part(a_part) == pytest.approx(weighted, rel=1e-12)
    assert costs["both"].per_year(a_year) == pytest.approx(
        made.per_year(a_year) + near.per_year(a_year), rel=1e-13
    )
    assert costs["both"].once() == pytest.approx(made.once() + near.once(), rel=1e-13)


def test_hours_are_minutes_of_the_years_parts(small: Study) -> None:
    costs = compare(small).alternatives
    sheet = costs["make-cuts"].portions[0].sheet
    assert costs["make-cuts"].machine_hours("mill") == pytest.approx(
        sheet.minutes_per_part("machine", "mill") * 4000 / 60, rel=1e-13
    )
    assert costs["make-cuts"].machine_hours("lathe") > 0.0
    assert costs["make-measured"].machine_hours("lathe") == 0.0
    assert costs["both"].machine_hours("mill") == pytest.approx(
        0.6 * costs["make-cuts"].machine_hours("mill")
    )
    assert costs["near-b"].hands_on_hours() == 0.0
    assert costs["make-cuts"].hands_on_hours() == pytest.approx(
        sheet.minutes_per_part("hands-on") * 4000 / 60
    )


# --- cash ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_cash_by_month_discounted_is_the_present_worth(small: Study, name: str) -> None:
    cost = alternative_cost(small, name)
    flows = cash_by_month(cost, small)
    assert flows.shape == (37,)
    month = 1.10 ** (1 / 12) - 1
    assert monthly_interest(small) == pytest.approx(month, rel=1e-14)
    assert numpy_financial.npv(month, flows) == pytest.approx(present_worth(cost, small), rel=1e-11)
    assert sum(flow / 1.10 ** (m / 12) for m, flow in enumerate(flows)) == pytest.approx(
        present_worth(cost, small), rel=1e-9
    )


def test_cash_by_month_of_draws_is_that_of_each_draw(small: Study) -> None:
    drawn = small.with_inputs(
        {
            "demand.growth": np.array([-0.05, 0.0, 0.08]),
            "rates.indices.wages.yearly_change": np.array([0.0, 0.02, 0.05]),
        }
    )
    flows = cash_by_month(alternative_cost(drawn, "make-cuts"), drawn)
    assert flows.shape == (37, 3)
    worth = present_worth(alternative_cost(drawn, "make-cuts"), drawn)
    month = 1.10 ** (1 / 12) - 1
    for draw in range(3):
        assert numpy_financial.npv(month, flows[:, draw]) == pytest.approx(np.ravel(worth)[draw], rel=1e-11)


def test_a_first_year_of_cash_is_todays_running_cash_where_nothing_grows(small: Study) -> None:
    """Twelve months at today's prices: what is in force today, and the money in stock and equipment in month 0."""
    flat = small.with_inputs(
        {"demand.growth": 0.0} | {f"rates.indices.{name}.yearly_change": 0.0 for name in small.rates.indices}
    )
    for name in ("make-cuts", "near-b"):
        cost = alternative_cost(flat, name)
        flows = cash_by_month(cost, flat)
        once = once_cash(cost, flat)
        months = [flow - once.get(month, 0.0) for month, flow in enumerate(flows)]
        assert months[0] == pytest.approx(0.0, abs=1e-9)
        assert sum(months[1:13]) == pytest.approx(cost.per_year(is_cash), rel=1e-12)
        assert once[0] > cost.tied_up()


def test_prices_and_volume_grow_together(plain: Study) -> None:
    """A price of 1 for 4,000 a year at 5 % and 3 % a year: month m costs 4000/12 x (1.05 x 1.03)^(m/12)."""
    prices = Series(name="prices", yearly_change=0.05, **SOURCED)
    study = plain.with_inputs(
        {
            "rates.indices.prices": prices,
            "quotes.supplier.series": "prices",
            "demand.growth": 0.03,
            "finance.horizon": 24,
        }
    )
    flows = cash_by_month(alternative_cost(study, "buy"), study)
    # without the 100 parts of half a lot that today's way puts back on the shelf in three months, and takes off
    flows = flows - np.concatenate([[0.0], np.full(3, 100.0 / 3.0), np.zeros(20), [-100.0]])
    assert flows[0] == pytest.approx(0.0)
    expected = [4000 / 12 * (1.05 * 1.03) ** (month / 12) for month in range(1, 25)]
    assert flows[1:] == pytest.approx(expected, rel=1e-12)


def test_a_yearly_cost_does_not_grow_with_the_volume(plain: Study) -> None:
    study = plain.with_inputs(
        {"quotes.supplier.contact_cost": 1200.0, "demand.growth": 0.5, "quotes.supplier.tiers.1.price": 0.0}
    )
    assert cash_by_month(alternative_cost(study, "buy"), study)[1:] == pytest.approx([100.0] * 12, rel=1e-13)


def test_money_at_the_end_comes_in_the_last_month(plain: Study) -> None:
    fixture = Once(name="fixture", kind="fixture", cost=2000.0, end_value=500.0, month=3)
    late = Once(name="late", kind="other", cost=70.0, month=99)  # beyond the horizon: due at its end
    study = plain.with_inputs(
        {"part.routes.route.once.fixture": fixture, "part.routes.route.once.late": late}
    )
    cost = alternative_cost(study, "make")
    assert once_cash(cost, study, with_stock=False) == {3: 2000.0, 12: -430.0}
    assert once_worth(cost, study) == pytest.approx(1570.0, rel=1e-14)


def test_a_payment_in_a_month_is_discounted_to_today(plain: Study) -> None:
    """1,210 after 24 months at 10 % a year is worth 1,000."""
    later = Once(name="later", kind="other", cost=1210.0, month=24)
    study = plain.with_inputs(
        {
            "part.routes.route.once.later": later,
            "finance.horizon": 24,
            "finance.discount_rate": 0.10,
            "finance.holding": 0.10,
        }
    )
    assert once_worth(alternative_cost(study, "make"), study) == pytest.approx(1000.0, rel=1e-12)


def test_worth_is_on_cash_whatever_the_rate_basis_shown(small: Study) -> None:
    """What stays whichever way is chosen, and what other work would have earned, move no cash of this decision."""
    for name in NAMES:
        worths = [
            float(present_worth(alternative_cost(small, name, basis), small))
            for basis in ("practical", "budgeted", "cash", "displaced")
        ]
        assert worths == pytest.approx([worths[0]] * 4, rel=1e-13)
    for basis in ("practical", "budgeted", "cash", "displaced"):
        shown = small.with_inputs({"finance.basis": basis})
        assert compare(shown).worth == pytest.approx(compare(small).worth, rel=1e-13)


def test_cash_groups_hold_all_running_cash(small: Study) -> None:
    for name in NAMES:
        cost = alternative_cost(small, name)
        today = sum(float(group.per_year) for group in cash_groups(cost, small) if group.first_month == 1)
        assert today == pytest.approx(float(cost.per_year(is_cash)), rel=1e-12)
    series = {group.series for group in cash_groups(alternative_cost(small, "make-cuts"), small)}
    assert {"wages", "metals", "tools", "services", "energy", "machines"} <= series


def test_a_duty_beyond_the_horizon_is_no_cash(small: Study) -> None:
    short = small.with_inputs({"finance.horizon": 6})  # the remainder layer starts in month 8
    groups = cash_groups(alternative_cost(short, "status-quo"), short)
    assert all(1 <= group.first_month <= group.last_month <= 6 for group in groups)
    assert cash_by_month(alternative_cost(short, "status-quo"), short).shape == (7,)


def test_stock_costs_its_money_once(plain: Study) -> None:
    """Money M in stock from month 1 to the year's end at 10 %: its interest and nothing beside it."""
    study = plain.with_inputs(
        {
            "quotes.supplier.tiers.1.price": 30.0,
            "finance.discount_rate": 0.10,
            "finance.holding": 0.10,
            "alternatives.buy.lot": 2000.0,
            "alternatives.buy.use_up": 1,
        }
    )
    cost = alternative_cost(study, "buy")
    tied_up = 1000.0 * 30.0
    assert cost.tied_up() == pytest.approx(tied_up, rel=1e-13)
    month = 1.1 ** (1 / 12) - 1
    running = numpy_financial.pv(month, 12, -4000 * 30.0 / 12)
    assert present_worth(cost, study) == pytest.approx(
        running + tied_up * (1 / (1 + month) - 1 / 1.1), rel=1e-12
    )
    assert once_worth(cost, study, with_stock=False) == 0.0


def test_a_levelled_worth_is_worth_the_same(small: Study) -> None:
    worth = present_worth(alternative_cost(small, "near-b"), small)
    month = 1.10 ** (1 / 12) - 1
    yearly = -numpy_financial.pmt(month, 36, worth) * 12
    assert levelled(worth, small) == pytest.approx(yearly, rel=1e-12)
    free = small.with_inputs({"finance.discount_rate": 0.0})
    assert levelled(3600.0, free) == pytest.approx(1200.0, rel=1e-13)


def test_both_sides_are_worth_the_same_at_the_rate_of_return(plain: Study) -> None:
    """A fixture of 1,000 saves 400 a year for four years; its rate of return is numpy_financial's."""
    fixture = Once(name="fixture", kind="fixture", cost=1000.0)
    study = plain.with_inputs(
        {
            "part.routes.route.once.fixture": fixture,
            "quotes.supplier.tiers.1.price": 0.10,
            "finance.horizon": 48,
        }
    )
    bought, made = (cash_by_month(alternative_cost(study, name), study) for name in ("buy", "make"))
    rate = (1.0 + float(numpy_financial.irr(bought - made))) ** 12 - 1.0
    assert 0.2 < rate < 0.3
    at = study.with_inputs({"finance.discount_rate": rate, "finance.holding": rate})
    worth = compare(at).worth
    assert worth["make"] == pytest.approx(worth["buy"], rel=1e-9)
    below = compare(study.with_inputs({"finance.discount_rate": 0.2, "finance.holding": 0.2})).worth
    assert below["make"] < below["buy"]


def test_an_alternative_of_its_own_lot_or_orders_follows_the_volume(small: Study) -> None:
    orders = alternative_cost(small, "near-b").portions[0].sheet
    assert orders.rhythm.shipment == pytest.approx(
        4000.0 / 8.0, rel=1e-14
    )  # good parts; 1.12 % more are bought
    assert orders.rhythm.lot == pytest.approx(4000.0 / 8.0 / 0.9888, rel=1e-14)
    half = alternative_cost(small.with_inputs({"demand.per_year": 2000.0}), "near-b").portions[0].sheet
    assert half.rhythm.shipment == pytest.approx(250.0, rel=1e-14)
    assert isinstance(small.alternatives["near-b"], Alternative)
