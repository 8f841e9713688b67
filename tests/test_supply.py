"""Having parts when they are needed: safety stock, shortage and their cost, against hand arithmetic and draws."""

from __future__ import annotations

from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from costmodel.cost_lines import ALWAYS, is_cash
from costmodel.make_or_buy import alternative_cost
from costmodel.records.address import sweep
from costmodel.records.study import Study
from costmodel.supply import Stock

QUOTE = "quotes.supplier"
ROUTE = "part.routes.route"
WEEKLY = {"demand.per_year": 4000.0, "demand.weeks": 50.0, "demand.weekly_sd": 20.0}  # 80 a week


def stock(study: Study, name: str) -> Stock:
    return alternative_cost(study, name).portions[0].stock


WEEK = 365.0 / 50.0  # calendar days in which a week's parts are used, in a year of fifty working weeks


def lead(address: str, mean: float, sd: float) -> dict[str, Any]:
    """A lead time and its spread in weeks in which parts are used."""
    return {f"{address}.lead_time": mean * WEEK, f"{address}.lead_time_sd": sd * WEEK}


# --- acceptance ------------------------------------------------------------------------------------------


def test_safety_stock_needs_both_spreads(plain: Study) -> None:
    """At z = 1.645: 14 wk +/- 3 wk gives 414, 123 without the lead time's spread; 3 wk +/- 0.5 wk gives 87.

    By hand: 1.645 x sqrt(14 x 20^2 + 80^2 x 3^2) = 1.645 x sqrt(5600 + 57600) = 1.645 x 251.4.
    """
    study = plain.with_inputs(WEEKLY | lead(QUOTE, 14.0, 3.0) | lead(ROUTE, 3.0, 0.5))
    z = NormalDist().inv_cdf(0.95)
    assert f"{z:.3f}" == "1.645"
    bought, made = stock(study, "buy"), stock(study, "make")
    assert bought.safety == pytest.approx(z * np.sqrt(14 * 20**2 + 80**2 * 3**2), rel=1e-12)
    assert f"{bought.safety:.0f}" == "414"
    assert f"{made.safety:.0f}" == "87"
    certain = study.with_inputs({f"{QUOTE}.lead_time_sd": 0.0})
    assert f"{stock(certain, 'buy').safety:.0f}" == "123"
    assert bought.reorder_point == pytest.approx(80 * 14 + bought.safety, rel=1e-12)


def test_holding_the_safety_stock(plain: Study) -> None:
    """414 parts at 31.80 and 24 % are about 3,156 a year, 0.79 a part at 4,000 a year."""
    study = plain.with_inputs(
        WEEKLY
        | lead(QUOTE, 14.0, 3.0)
        | {
            f"{QUOTE}.tiers.1.price": 31.80,
            "finance.discount_rate": 0.10,
            "finance.holding": 0.24,
            "alternatives.buy.lot": 1e-9,  # leaves safety stock alone; minimum order and first price too
            f"{QUOTE}.minimum_order": 1e-9,
            f"{QUOTE}.tiers.1.quantity": 1e-9,
        }
    )
    bought = alternative_cost(study, "buy")
    holding = bought.per_year(lambda line: line.element in ("stock interest", "stock storage"))
    assert holding == pytest.approx(stock(study, "buy").safety * 31.80 * 0.24, rel=1e-9)
    assert holding == pytest.approx(3156.0, abs=1.0)
    assert f"{holding / 4000.0:.2f}" == "0.79"


def test_the_pipeline_that_is_paid_for_ties_up_money(plain: Study) -> None:
    """80 a week x 6 weeks x 20.00 prepaid = 9,600 tied up, six of the fifty weeks in which parts are used."""
    study = plain.with_inputs(WEEKLY | {f"{QUOTE}.tiers.1.price": 20.0, f"{QUOTE}.balance_days": 6 * WEEK})
    assert stock(study, "buy").prepaid == pytest.approx(9600.0, rel=1e-12)
    late = study.with_inputs({f"{QUOTE}.balance_days": "-30 d"})
    assert stock(late, "buy").prepaid == pytest.approx(-20.0 * 4000.0 * 30 / 365, rel=1e-12)


# --- identities ------------------------------------------------------------------------------------------


def test_nothing_that_varies_needs_no_safety_stock(plain: Study) -> None:
    still = stock(plain.with_inputs({"demand.weekly_sd": 0.0} | lead(QUOTE, 14.0, 0.0)), "buy")
    assert still.safety == 0.0
    assert still.short_per_year == 0.0
    assert still.cycle == pytest.approx(100.0, rel=1e-15)  # half of 200


def test_more_service_means_more_stock_and_fewer_shortages(plain: Study) -> None:
    study = plain.with_inputs(WEEKLY | lead(QUOTE, 14.0, 3.0))
    stocks = [stock(study.with_inputs({"finance.service": share}), "buy") for share in (0.5, 0.8, 0.95, 0.99)]
    assert [it.safety for it in stocks] == sorted(it.safety for it in stocks)
    short = [it.short_per_year for it in stocks]
    assert short == sorted(short, reverse=True)
    assert stocks[0].safety == pytest.approx(0.0, abs=1e-9)


def test_shortage_agrees_with_drawn_lead_times(plain: Study) -> None:
    """Four million drawn lead-time demands: what exceeds the reorder point, times orders a year."""
    study = plain.with_inputs(WEEKLY | lead(QUOTE, 14.0, 3.0) | {"finance.service": 0.9})
    it = stock(study, "buy")
    drawn = np.random.default_rng(5).normal(80 * 14, np.sqrt(14 * 20**2 + 80**2 * 3**2), 4_000_000)
    missing = np.maximum(drawn - float(it.reorder_point), 0.0)
    orders = 4000.0 / 200.0
    error = missing.std() / np.sqrt(missing.size) * orders
    assert it.short_per_year == pytest.approx(missing.mean() * orders, abs=4 * error)
    cost = alternative_cost(study.with_inputs({"demand.shortage_cost": 12.0}), "buy")
    assert cost.per_year(lambda line: line.element == "shortage") == pytest.approx(12.0 * it.short_per_year)


def test_larger_lots_run_short_less_often_and_stand_longer(plain: Study) -> None:
    study = plain.with_inputs(
        WEEKLY | lead(ROUTE, 3.0, 1.0) | {"alternatives.make.lot": sweep([100.0, 200.0])}
    )
    it = stock(study, "make")
    assert np.ravel(it.cycle) == pytest.approx([50.0, 100.0], rel=1e-15)
    assert np.ravel(it.short_per_year)[0] == pytest.approx(2.0 * np.ravel(it.short_per_year)[1], rel=1e-12)


def test_holding_is_interest_and_storage_and_counts_no_interest_twice(plain: Study) -> None:
    """24 % holding at 10 % interest: 10 % is allocated, since the cash flow has the money itself; 14 % is cash."""
    study = plain.with_inputs(
        WEEKLY
        | lead(QUOTE, 14.0, 3.0)
        | {f"{QUOTE}.tiers.1.price": 30.0, "finance.holding": 0.24, "finance.discount_rate": 0.10}
    )
    cost = alternative_cost(study, "buy")
    lines = {line.element: line for line in cost.portions[0].sheet.lines if line.step == "stock"}
    value = float(stock(study, "buy").shelf_value)
    assert value == pytest.approx((stock(study, "buy").safety + 100.0) * 30.0, rel=1e-12)
    assert (lines["stock interest"].mark, lines["stock storage"].mark) == ("allocated", "cash")
    assert lines["stock interest"].amount == pytest.approx(0.10 * value, rel=1e-12)
    assert lines["stock storage"].amount == pytest.approx(0.14 * value, rel=1e-12)
    kept = [line for line in cost.portions[0].sheet.lines if line.element == "stock kept up"]
    assert sum(line.amount for line in kept) == pytest.approx(value, rel=1e-12)
    assert [line.first_month for line in kept] == [1, 2, 3]
    assert lines["stock released"].amount == pytest.approx(-value, rel=1e-12)
    assert lines["stock released"].first_month == ALWAYS
    assert cost.per_year(is_cash) == pytest.approx(4000 * 30.0 + 0.14 * value, rel=1e-12)
    assert cost.once() == 0.0
    assert cost.tied_up() == pytest.approx(value, rel=1e-12)


def test_a_new_way_pays_for_its_stock_at_the_start_and_has_it_back_at_the_end(small: Study) -> None:
    cost = alternative_cost(small, "near-b")
    lines = {line.element: line for line in cost.portions[0].sheet.lines if line.step == "stock"}
    into, out = lines["stock tied up"], lines["stock released"]
    assert into.amount == pytest.approx(cost.tied_up(), rel=1e-12)
    assert out.amount == -into.amount
    assert (into.first_month, out.first_month) == (0, ALWAYS)


def test_stock_is_valued_at_cash_whatever_the_rate_basis(small: Study) -> None:
    for name in ("make-cuts", "make-measured", "near-b"):
        values = {
            float(alternative_cost(small, name, basis).portions[0].stock.shelf_value)
            for basis in ("practical", "budgeted", "cash", "displaced")
        }
        assert len(values) == 1


def test_a_share_of_the_demand_has_a_share_of_its_variance(small: Study) -> None:
    """Independent parts of a demand: variances add up to the whole, so each spread goes with the root of its share."""
    whole = small.with_inputs({"part.routes.cuts.lead_time_sd": 0.0, "quotes.near-b.lead_time_sd": 0.0})
    split = alternative_cost(whole, "both").portions
    z = NormalDist().inv_cdf(0.95)
    weeks = (18 / WEEK, 35 / WEEK)
    for portion, lead_time, share in zip(split, weeks, (0.6, 0.4), strict=True):
        assert portion.share == pytest.approx(share, rel=1e-14)
        assert portion.stock.safety == pytest.approx(z * 20.0 * np.sqrt(lead_time * share), rel=1e-12)
