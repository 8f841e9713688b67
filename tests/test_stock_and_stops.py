"""Stock, stops, second source, bridge and drawing change through the model."""

from __future__ import annotations

import numpy as np
import pytest
from buying import landed, offer, study, tiers, with_offers

from costmodel.disruption import bridge, drawing_change, second_source, stops_cost
from costmodel.errors import InputError
from costmodel.make_or_buy import alternative_cost, compare
from costmodel.records.quote import Quote
from costmodel.stock_check import check_stock, lognormal_law
from costmodel.supply import STOCK
from costmodel.tables import stock_check_table
from costmodel.tables.rounding import percent
from costmodel.tables.supply_tables import second_source_table

EIGHTY_A_WEEK = {
    "demand.per_year": 4000.0,
    "demand.weeks": 50.0,
    "demand.weekly_sd": 20.0,
    "finance.holding": 0.24,
}
WEEK = 365.0 / 50.0  # calendar days in which a week's parts are used, in a year of fifty working weeks


def stocked(quote: Quote, **changes: object):
    base = study().with_inputs({**EIGHTY_A_WEEK, **changes})
    return with_offers(quote, base=base)


@pytest.mark.parametrize(("weeks", "spread", "stock"), [(14.0, 3.0, 414), (14.0, 0.0, 123), (3.0, 0.5, 87)])
def test_safety_stock_from_both_spreads(weeks: float, spread: float, stock: int) -> None:
    # 80 a week, sd 20, 95 %: a worked example with invented inputs; the formula is that of published rows.
    given = stocked(offer(lead_time=weeks * WEEK, lead_time_sd=spread * WEEK))
    found = alternative_cost(given, "plain").portions[0].stock
    assert float(found.safety) == pytest.approx(stock, abs=0.6)
    assert float(found.reorder_point) == pytest.approx(80 * weeks + stock, abs=0.6)


def test_what_holding_the_safety_stock_costs() -> None:
    given = stocked(offer(lead_time=14 * WEEK, lead_time_sd=3 * WEEK, tiers=tiers(from_1=31.80)))
    portion = alternative_cost(given, "plain").portions[0]
    held = sum(
        float(line.amount)
        for line in portion.sheet.lines
        if line.element in ("stock interest", "stock storage")
    )
    safety = held * float(portion.stock.safety / (portion.stock.safety + portion.stock.cycle))
    assert safety == pytest.approx(3156, abs=1)
    assert round(safety / 4000, 2) == 0.79


def test_a_part_on_the_shelf_holds_no_fault_that_is_found_later() -> None:
    """Of 100 at 20.00 five are found at receipt, half of 9.00 each recovered, five in use: 90 for 2,022.50."""
    faulty = offer(rejected_at_receipt=0.05, rejected_at_assembly=0.03, rejected_in_field=0.02, recovered=0.5)
    given = stocked(faulty, **{"rates.faults.receipt.cost": 9.0})
    _, sheet, stock = alternative_cost(given, "plain").portions[0]
    on_the_shelf = (2000.0 + 0.5 * 5 * 9.0) / 90.0
    assert float(stock.shelf_value) == pytest.approx(float(stock.safety + stock.cycle) * on_the_shelf)
    later = 0.5 * (3 * given.rates.faults["assembly"].cost + 2 * given.rates.faults["field"].cost) / 90.0
    assert float(sheet.per_part(lambda line: line.step == "use")) == pytest.approx(float(later))
    leaving = bridge(given, "plain", ramp_weeks=5.0, margin_weeks=3.0, weeks_until=0.0)
    assert float(leaving.money) == pytest.approx(float(leaving.good) * on_the_shelf)


def test_a_wanted_fill_rate_is_what_the_stock_gives() -> None:
    given = stocked(offer(lead_time=14 * WEEK, lead_time_sd=3 * WEEK), **{"finance.service_measure": "fill"})
    stock = alternative_cost(given, "plain").portions[0].stock
    assert float(stock.short_per_year) == pytest.approx(0.05 * 4000, rel=1e-6)


def test_stops_cost_what_stock_does_not_bridge() -> None:
    given = stocked(
        offer(stops=0.1, stop_time=8 * WEEK, tiers=tiers(from_1=1.0)),
        **{"demand.shortage_cost": 60.0, "demand.weekly_sd": 0.0},
    )
    cost = alternative_cost(given, "plain")
    bridged = 100.0 / 80.0  # half a lot of 200 lasts so many weeks; the length of a stop is exponential
    assert float(stops_cost(cost)) == pytest.approx(0.1 * 8 * np.exp(-bridged / 8) * 80 * 60)


def test_what_a_second_source_is_worth() -> None:
    # 30 % bought at 8.70 more, against 10 % a year x 8 weeks x 80 a week x 60: with next to no stock to bridge it.
    cheap = offer(name="cheap", stops=0.1, stop_time=8 * WEEK)
    dear = offer(name="dear", tiers=tiers(from_1=28.70))
    base = study().with_inputs({**EIGHTY_A_WEEK, "demand.weekly_sd": 0.0, "demand.shortage_cost": 60.0})
    given = with_offers(cheap, dear, base=base, lot=1.0, shares={"cheap": 0.7, "dear": 0.3})
    worth = second_source(given, "cheap", "dear", "split")
    assert float(worth.premium) == pytest.approx(10_440, rel=1e-3)  # half a part more in stock
    assert float(stops_cost(alternative_cost(given, "cheap"))) == pytest.approx(3840, rel=2e-3)
    assert float(worth.avoided_loss) == pytest.approx(
        3840, rel=2e-3
    )  # the second steps in for all that is missing
    assert float(worth.net_value) == pytest.approx(3840 - 10_440, rel=3e-3)


@pytest.mark.parametrize("steps_up", [0.0, 0.25, 1.0])
def test_as_much_is_saved_in_a_stop_as_the_other_source_can_step_up(steps_up: float) -> None:
    """70 % of 80 a week are missing in a stop of the first; the second brings a stated share of them."""
    first = offer(name="first", stops=0.1, stop_time=8 * WEEK)
    base = study().with_inputs({**EIGHTY_A_WEEK, "demand.weekly_sd": 0.0, "demand.shortage_cost": 60.0})
    given = with_offers(
        first, offer(name="second"), base=base, lot=1.0, shares={"first": 0.7, "second": 0.3}
    ).with_inputs({"alternatives.split.shares.second.steps_up": steps_up})
    lost = 0.1 * 8 * np.exp(-(0.5 / 56.0) / 8) * 56.0 * 60.0
    assert float(stops_cost(alternative_cost(given, "split"))) == pytest.approx(lost * (1.0 - steps_up))
    worth = second_source(given, "first", "second", "split")
    alone = float(stops_cost(alternative_cost(given, "first")))
    assert float(worth.avoided_loss) == pytest.approx(alone - lost * (1.0 - steps_up))
    table = second_source_table(compare(given))
    assert table.column("steps up for") == (percent(steps_up), percent(1.0))
    assert "does not stop itself" in " ".join(table.notes)


def test_a_split_orders_no_less_than_each_minimum() -> None:
    first, second = offer(name="first", minimum_order=150.0), offer(name="second", minimum_order=300.0)
    given = with_offers(first, second, lot=100.0, shares={"first": 0.7, "second": 0.3})
    sheets = [portion.sheet for portion in alternative_cost(given, "split").portions]
    assert [float(sheet.ordered) for sheet in sheets] == [150.0, 300.0]
    assert [float(sheet.rhythm.per_year) for sheet in sheets] == pytest.approx([2800.0, 1200.0])


def test_the_bridge_over_a_change_of_source() -> None:
    plan = bridge(
        stocked(offer(lead_time=14 * WEEK)), "plain",
        ramp_weeks=5.0, margin_weeks=3.0, in_stock=200.0, weeks_until=0.0,
    )  # fmt: skip
    assert float(plan.bridge) == pytest.approx(640)
    assert float(plan.last_buy) == pytest.approx(440)
    assert float(plan.money) == pytest.approx(440 * 20.0)
    assert float(plan.use_up_weeks) == pytest.approx(2.5)
    assert float(plan.order_weeks_before) == pytest.approx(14.0)


@pytest.mark.parametrize(
    ("stock", "coming", "until", "left", "wanted", "missing"),
    [
        (300.0, 0.0, None, 0.0, 640.0, 14 * 80 - 300.0),  # used up long before the ramp, 14 weeks off
        (1000.0, 500.0, None, 380.0, 260.0, 0.0),
        (1000.0, 500.0, 5.0, 1100.0, 0.0, 0.0),
        (200.0, 0.0, 0.0, 200.0, 440.0, 0.0),
    ],
)
def test_what_is_used_until_the_ramp_comes_off_first(
    stock: float, coming: float, until: float | None, left: float, wanted: float, missing: float
) -> None:
    """80 a week; 640 must be there when the ramp begins. A last buy of today is there after 14 weeks."""
    plan = bridge(
        stocked(offer(lead_time=14 * WEEK)), "plain",
        ramp_weeks=5.0, margin_weeks=3.0, in_stock=stock, on_order=coming, weeks_until=until,
    )  # fmt: skip
    assert float(plan.left) == pytest.approx(left)
    assert float(plan.wanted) == pytest.approx(wanted)
    assert float(plan.last_buy) == pytest.approx(wanted)
    assert float(plan.missing) == pytest.approx(missing)


def test_a_last_buy_is_an_order_as_any_other() -> None:
    """Rejects are bought too, no fewer than the minimum and whole packages, at the price of such an order."""
    ladder = tiers(from_1=30.0, from_200=20.0)
    short = {"ramp_weeks": 5.0, "margin_weeks": 3.0, "weeks_until": 0.0}
    small = stocked(offer(tiers=ladder, minimum_order=200.0, pack=50.0))
    plan = bridge(small, "plain", in_stock=620.0, **short)
    assert (float(plan.wanted), float(plan.last_buy)) == pytest.approx((20.0, 200.0))
    assert float(plan.money) == pytest.approx(200 * 20.0)
    assert float(plan.good) == 200.0
    assert float(bridge(small, "plain", in_stock=420.0, **short).last_buy) == 250.0  # 220 in whole packages
    assert float(bridge(small, "plain", in_stock=640.0, **short).last_buy) == 0.0
    faulty = stocked(offer(tiers=ladder, rejected_at_receipt=0.2))
    plan = bridge(faulty, "plain", in_stock=480.0, **short)
    assert float(plan.last_buy) == pytest.approx(200.0)  # 160 good ones of 200
    draws = faulty.with_inputs({"demand.per_year": np.array([4000.0, 6000.0])})
    assert np.asarray(bridge(draws, "plain", in_stock=480.0, **short).last_buy) == pytest.approx(
        [200.0, 600.0]
    )


def test_a_drawing_change_with_stock_in_the_pipeline() -> None:
    far = offer(delivery_term="FCA", freight="sea", lead_time=14 * WEEK, lead_time_sd=3 * WEEK)
    given = stocked(far, **{"rates.freight.sea.transit": 6 * WEEK})
    change = drawing_change(given, "plain", unusable=0.6, unit_value=20.0)
    assert float(change.afloat) == pytest.approx(480)
    assert float(change.least) == pytest.approx(10_728, abs=6)  # the example rounds the safety stock to 414
    assert float(change.average) == pytest.approx(float(change.least) + 100 * 20 * 0.6)


def test_a_maker_has_stops_and_stock_as_a_supplier_has() -> None:
    base = study()
    stopped = base.with_inputs({"part.routes.cuts.stops": 0.5, "part.routes.cuts.stop_time": 21.0})
    extra = alternative_cost(stopped, "make-cuts").per_year() - alternative_cost(base, "make-cuts").per_year()
    assert float(extra) == pytest.approx(float(stops_cost(alternative_cost(stopped, "make-cuts"))))
    assert float(extra) > 0.0


def test_goods_that_the_seller_brings_are_not_in_our_pipeline() -> None:
    assert float(landed(offer(delivery_term="DAP", freight="sea")).transit_days) == 0.0
    assert float(landed(offer(delivery_term="FOB", freight="sea")).transit_days) == 38.0


# --- the daily simulation ----------------------------------------------------------------------------


def test_the_simulation_confirms_the_closed_form_where_lead_times_are_near_normal() -> None:
    given = stocked(offer(lead_time=6 * WEEK, lead_time_sd=3.0), **{"finance.service": 0.9})
    found = check_stock(given, "plain", shelves=96, years=3)
    assert found.confirmed
    assert found.corrected == found.closed_form


@pytest.mark.slow
def test_the_verdict_on_a_stock_does_not_hang_on_the_seed() -> None:
    long = offer(lead_time=8 * WEEK, lead_time_sd=5 * WEEK, minimum_order=1000.0)
    given = stocked(long, **{"finance.service": 0.97})
    checks = [check_stock(given, "plain", seed=seed) for seed in (1, 2, 3)]
    assert {found.confirmed for found in checks} == {False}
    for found in checks:
        assert 0.0 < found.error_of_needed < 0.25 * found.extra_parts
        assert found.corrected == found.needed
        assert found.needed - checks[0].needed == pytest.approx(
            0.0, abs=4.0 * (found.error_of_needed + checks[0].error_of_needed)
        )
        # Holding a part for a year costs 24 % of its 20.00.
        assert found.extra_cost == pytest.approx(found.extra_parts * 0.24 * 20.0)


def test_the_table_shows_the_error_of_the_point_and_what_the_correction_costs() -> None:
    given = stocked(offer(lead_time=6 * WEEK, lead_time_sd=6 * WEEK, minimum_order=1000.0))
    found = check_stock(given, "plain", shelves=64, years=2)
    wide = found._replace(needed=found.closed_form + 100.0, error_of_needed=20.0, grain=10.0, holding=4.8)
    rows = dict(stock_check_table(given, wide).rows)
    assert rows["reorder point that gives the service"] == f"{wide.needed:.0f} part (give or take 40)"
    assert rows["closed form"] == "corrected"
    assert (rows["parts added by the correction"], rows["what they cost to hold"]) == (
        "100 part",
        "480 USD/yr",
    )
    near = stock_check_table(given, wide._replace(error_of_needed=30.0))
    assert dict(near.rows)["closed form"] == "confirmed, as far as the error of the point tells"
    assert "parts added by the correction" not in dict(near.rows)
    assert "overtake" in " ".join(near.notes)
    less = dict(stock_check_table(given, wide._replace(needed=wide.closed_form - 100.0)).rows)
    assert (less["parts taken off by the correction"], less["what they save in holding"]) == (
        "100 part",
        "480 USD/yr",
    )


def test_a_reorder_point_is_corrected_downwards_too() -> None:
    from costmodel.formulas.lead_time import LeadTimeFit

    steady = LeadTimeFit("empirical", 0.0, 0.0, 70.0, 0.0, 0.0, 30, np.full(30, 70.0))
    given = stocked(offer(lead_time=70.0, lead_time_sd=25.0))  # the offer promises less than its log holds
    found = check_stock(given, "plain", steady, years=2, shelves=128)
    assert found.simulated > found.wanted
    assert not found.confirmed
    assert found.extra_parts < -100.0
    assert found.extra_cost < 0.0


@pytest.mark.parametrize(("name", "words"), [("split", "not a split"), ("plane", "one of")])
def test_a_stock_that_is_of_no_single_source_is_refused(name: str, words: str) -> None:
    given = with_offers(offer(), offer(name="other"), shares={"plain": 0.7, "other": 0.3})
    with pytest.raises(InputError, match=words):
        check_stock(given, name)


@pytest.mark.slow
def test_the_simulation_corrects_the_closed_form_where_lead_times_are_skewed() -> None:
    skewed = offer(lead_time=6 * WEEK, lead_time_sd=6 * WEEK, minimum_order=3000.0)
    given = stocked(skewed, **{"finance.service": 0.99})
    found = check_stock(given, "plain", shelves=384, years=6)
    assert not found.confirmed
    # One order at a time: the service is the chance that the lognormal lead time stays below what is covered.
    from scipy.stats import lognorm

    law = lognormal_law(6 * WEEK, 6 * WEEK)
    covered = found.closed_form / 80.0 * WEEK
    assert found.simulated == pytest.approx(lognorm(s=law.shape, scale=law.scale).cdf(covered), abs=0.015)
    assert found.extra_parts > 100.0
    assert check_stock(given, "plain", shelves=384, years=6) == found


@pytest.mark.slow
def test_an_order_that_meets_a_stop_waits() -> None:
    times = {"lead_time": 6 * WEEK, "lead_time_sd": 3.0}
    calm = check_stock(stocked(offer(**times)), "plain", shelves=64, years=3)
    stopped = check_stock(stocked(offer(**times, stops=1.0, stop_time=60.0)), "plain", shelves=64, years=3)
    assert stopped.simulated < calm.simulated - 0.02


def test_the_lognormal_law_keeps_mean_and_spread() -> None:
    from scipy.stats import lognorm

    law = lognormal_law(98.0, 23.0)
    mean, variance = lognorm(s=law.shape, scale=law.scale).stats()
    assert (float(mean), float(variance) ** 0.5) == pytest.approx((98.0, 23.0))


def test_no_line_of_stops_where_none_is_stated() -> None:
    lines = alternative_cost(stocked(offer()), "plain").portions[0].sheet.lines
    assert "stops" not in [line.element for line in lines if line.step == STOCK]


def test_a_stop_without_a_length_is_refused() -> None:
    with pytest.raises(ValueError, match="how long a stop lasts"):
        offer(stops=0.1)
