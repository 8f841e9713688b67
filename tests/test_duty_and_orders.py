"""What an order may hold and what the border takes of it, month by month: closed forms worked out beside each test."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
import pytest
from buying import amount, landed, offer, rates, study, tiers, with_offers

from costmodel.landed_cost import LandedCost, least_order
from costmodel.make_or_buy import alternative_cost
from costmodel.order_size import order_size
from costmodel.records.rates import Duty, EntryFee, Rates

FAR: dict[str, Any] = {"delivery_term": "FOB", "freight": "sea"}
LADDER = tiers(from_500=10.0, from_1000=9.0)


def duty(name: str, rate: float, start: str = "2026-01-01", end: str = "2031-12-31", **more: Any) -> Duty:
    """An invented layer on the full value."""
    return Duty(
        name=name, rate=rate, base="full", valid_from=start, valid_to=end, cleared_by="x",
        source="invented", as_of=datetime.date(2026, 1, 1), owner="tests", status="guess", **more,
    )  # fmt: skip


def layered(*layers: Duty) -> LandedCost:
    """An offer of 18.05 under these layers, in their order."""
    given = rates(**{f"duties__{layer.name}": layer for layer in layers})
    names = tuple(layer.name for layer in layers)
    return landed(offer(**FAR, duties=names, tiers=tiers(from_1=18.05)), given)


def in_month(sheet: LandedCost, element: str, month: int) -> float:
    """What a layer takes of a part in a month [money/part]."""
    return float(
        sum(
            line.amount
            for line in sheet.lines
            if line.element == element and line.first_month <= month <= line.last_month
        )
    )


# --- what may be ordered ---------------------------------------------------------------------------------


def test_an_order_below_the_first_price_is_topped_up_to_it_and_says_so() -> None:
    asked = offer(tiers=LADDER, minimum_order=50.0)
    sheet = landed(asked, lot=60.0)
    assert float(sheet.ordered) == 500.0
    assert float(sheet.unit_price) == 10.0
    assert float(np.asarray(least_order(asked))) == 500.0
    assert any("no price below 500" in flag.text for flag in sheet.flags)
    assert not any("no price below" in flag.text for flag in landed(asked, lot=500.0).flags)
    dear = offer(tiers=LADDER, minimum_order=800.0)
    assert float(landed(dear, lot=60.0).ordered) == 800.0
    assert not any("no price below" in flag.text for flag in landed(dear, lot=60.0).flags)


def test_draws_of_a_lot_are_topped_up_one_by_one() -> None:
    sheet = landed(offer(tiers=LADDER), lot=np.array([60.0, 700.0, 1200.0]))
    assert np.asarray(sheet.ordered) == pytest.approx([500.0, 700.0, 1200.0])


def test_the_search_for_a_quantity_starts_at_the_first_price() -> None:
    found = order_size(with_offers(offer(tiers=LADDER, minimum_order=50.0), base=study()), "plain")
    assert found.tried[0] == 500.0


# --- layers upon layers ----------------------------------------------------------------------------------


def test_a_layer_is_stacked_on_those_in_force_in_its_month() -> None:
    """10 % on 18.05 is 1.805; with 50 % of 18.05 in its base it is 2.7075. January 2027 is month 8."""
    later = layered(duty("later", 0.50, start="2027-01-01"), duty("top", 0.10, stacked=True))
    assert in_month(later, "top", 1) == pytest.approx(1.805)
    assert in_month(later, "top", 7) == pytest.approx(1.805)
    assert in_month(later, "top", 8) == pytest.approx(2.7075)
    assert amount(later, "top") == pytest.approx(1.805)
    early = layered(duty("early", 0.50, end="2026-12-31"), duty("top", 0.10, stacked=True))
    assert in_month(early, "top", 7) == pytest.approx(2.7075)
    assert in_month(early, "top", 8) == pytest.approx(1.805)
    assert in_month(early, "top", 67) == pytest.approx(1.805)
    assert in_month(early, "top", 68) == 0.0


def test_three_layers_each_on_what_lies_below() -> None:
    """Second on first, third on both, month by month as the definition says, whatever the months are."""
    rows = (
        ("a", 0.20, 1, 30, False),
        ("b", 0.10, 8, 67, True),
        ("c", 0.05, 1, 50, True),
    )
    days = {1: "2026-01-01", 8: "2027-01-01", 30: "2028-11-30", 50: "2030-07-31", 67: "2031-12-31"}
    sheet = layered(*(duty(n, r, days[first], days[last], stacked=on) for n, r, first, last, on in rows))
    for month in range(1, 70):
        below = 0.0
        for name, rate, first, last, stacked in rows:
            due = rate * (18.05 + (below if stacked else 0.0)) if first <= month <= last else 0.0
            assert in_month(sheet, name, month) == pytest.approx(due), (name, month)
            below += due


# --- the customs value -----------------------------------------------------------------------------------


def cif(**lane: float) -> Rates:
    """A country that takes the value at its border, and a lane that costs what is stated."""
    costs = {f"freight__sea__{name}": value for name, value in lane.items()}
    return rates(year__customs_basis="CIF", **costs)


def test_a_value_at_the_border_holds_what_brought_the_goods_there() -> None:
    """Regulation (EU) 952/2013 art. 71(1)(e): transport, insurance, loading and handling to the place of entry."""
    given = cif(loading=11.0, origin=85.0, terminal=33.0)
    values = {
        term: float(landed(offer(delivery_term=term, freight="sea"), given, lot=500.0).customs_value)
        for term in ("EXW", "FCA", "FOB")
    }
    assert values["EXW"] - values["FOB"] == pytest.approx((11.0 + 85.0 + 33.0) / 500.0)
    assert values["FCA"] - values["FOB"] == pytest.approx((85.0 + 33.0) / 500.0)  # loaded by the seller
    at_export = {
        term: float(
            landed(offer(delivery_term=term, freight="sea"), rates(freight__sea__origin=85.0)).customs_value
        )
        for term in ("EXW", "FOB")
    }
    assert at_export["EXW"] == at_export["FOB"] == 20.0  # basis FOB: carriage stays out


# --- what a reader is told -------------------------------------------------------------------------------


def told(sheet: LandedCost, word: str) -> list[str]:
    """The flags that hold a word."""
    return [flag.text for flag in sheet.flags if word in flag.text]


@pytest.mark.parametrize("term", ["CIF", "CIP", "CFR", "CPT", "DAP", "DPU"])
def test_duty_on_carriage_that_is_not_stated_is_flagged(term: str) -> None:
    """On a basis FOB the carriage in the price is not dutiable, so that its amount is asked for."""
    given = rates(duties__layer=duty("layer", 0.10))
    far: dict[str, Any] = {"delivery_term": term, "freight": "sea", "duties": ("layer",)}
    assert len(told(landed(offer(**far), given), "carriage_in_price")) == 1
    assert not told(landed(offer(**far, carriage_in_price=2.0), given), "carriage_in_price")
    at_the_border = rates(duties__layer=duty("layer", 0.10), year__customs_basis="CIF")
    assert not told(landed(offer(**far), at_the_border), "carriage_in_price")  # dutiable there anyway
    assert not told(landed(offer(**{**far, "duties": ()}), given), "carriage_in_price")


@pytest.mark.parametrize("term", ["EXW", "FOB", "DDP"])
def test_no_carriage_is_asked_for_where_none_is_in_the_price_or_no_duty_is_ours(term: str) -> None:
    given = rates(duties__layer=duty("layer", 0.10))
    sheet = landed(offer(delivery_term=term, freight="sea", duties=("layer",)), given)
    assert not told(sheet, "carriage_in_price")


def test_a_layer_that_ends_within_the_horizon_is_told_with_day_and_amount() -> None:
    """10 % of 20.00 ends in month 20 of 60, a fee of 30 an order of 200 in month 4; one layer outlives the horizon."""
    fee = EntryFee(
        name="fee", rate=0.003, minimum=30.0, valid_from="2025-10-01", valid_to="2026-09-30", cleared_by="x",
        source="invented", as_of=datetime.date(2026, 1, 1), owner="tests", status="guess",
    )  # fmt: skip
    layers = (duty("rest", 0.10, end="2028-01-31"), duty("base", 0.05))
    base = study().with_inputs(
        {"rates.entry_fees.fee": fee, **{f"rates.duties.{layer.name}": layer for layer in layers}}
    )
    far = offer(**FAR, duties=("rest", "base"), entry_fees=("fee",))
    given = with_offers(far, base=base.with_inputs({"finance.horizon": 60}))
    flags = [flag.text for flag in alternative_cost(given, "plain").flags if "ends" in flag.text]
    assert flags == [
        "rest ends on 2028-01-31, within the horizon: a part costs 2 USD less from then on",
        "fee ends on 2026-09-30, within the horizon: a part costs 0.15 USD less from then on",
    ]
    delivered = given.with_inputs({"quotes.plain.delivery_term": "DDP"})
    assert not [flag for flag in alternative_cost(delivered, "plain").flags if "ends" in flag.text]
    drawn = given.with_inputs({"quotes.plain.tiers.1.price": np.array([20.0, 21.0])})
    assert len([flag for flag in alternative_cost(drawn, "plain").flags if "ends" in flag.text]) == 2
    short = given.with_inputs({"finance.horizon": 3})
    assert not [flag for flag in alternative_cost(short, "plain").flags if "ends" in flag.text]


def test_export_clearance_that_ex_works_leaves_to_the_buyer_is_asked_for() -> None:
    abroad: dict[str, Any] = {"freight": "sea", "duties": ("base",)}
    assert told(landed(offer(delivery_term="EXW", **abroad)), "export clearance")
    assert not told(landed(offer(delivery_term="FCA", **abroad)), "export clearance")
    assert not told(landed(offer(delivery_term="EXW", freight="sea")), "export clearance")  # no border
    stated = rates(freight__sea__export_clearance=60.0)
    assert not told(landed(offer(delivery_term="EXW", **abroad), stated), "export clearance")
