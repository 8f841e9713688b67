"""Buying a part: acceptance examples through records and model, and a whole offer worked out by hand."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from costmodel.border_cost import months_from
from costmodel.cost_lines import ALWAYS, CostSheet, Line, in_force
from costmodel.landed_cost import LandedCost, landed_cost
from costmodel.make_or_buy import alternative_cost
from costmodel.records.address import sweep
from costmodel.records.quote import Tier
from costmodel.records.rates import Duty, EntryFee
from costmodel.records.study import Study

Sheet = Callable[..., CostSheet]
QUOTE = "quotes.supplier"
LANE = "rates.freight.lane"
PRICE = f"{QUOTE}.tiers.1.price"
SOURCED: dict[str, Any] = {"source": "invented", "as_of": "2026-01-01", "owner": "tests", "status": "guess"}


def duty(
    name: str, rate: float, base: str = "full", start: str = "2026-01-01", end: str = "2031-12-31"
) -> Duty:
    return Duty(name=name, rate=rate, base=base, valid_from=start, valid_to=end, cleared_by="x", **SOURCED)


def tier(quantity: float, price: float, currency: str = "USD") -> Tier:
    return Tier(name=f"{quantity:g}", quantity=quantity, price=price, currency=currency)


def amounts(sheet: CostSheet) -> dict[str, float]:
    return {
        line.element: float(line.amount) for line in sheet.lines if in_force(line) and np.any(line.amount)
    }


def imported(plain: Study, *layers: Duty, **changes: Any) -> Study:
    """The plain offer delivered FCA, with these layers of duty."""
    rows = {f"rates.duties.{layer.name}": layer for layer in layers}
    fields = {f"{QUOTE}.{field}": value for field, value in changes.items()}
    names = tuple(layer.name for layer in layers)
    return plain.with_inputs(
        {f"{QUOTE}.delivery_term": "FCA", f"{QUOTE}.freight": "lane", f"{QUOTE}.duties": names}
        | rows
        | fields
    )


# --- price -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "lot, price, ordered",
    [
        (100.0, 34.0, 250.0),
        (250.0, 34.0, 250.0),
        (499.0, 34.0, 499.0),
        (500.0, 30.0, 500.0),
        (1999.0, 30.0, 1999.0),
        (2000.0, 24.0, 2000.0),
        (9000.0, 24.0, 9000.0),
    ],
)
def test_the_order_chooses_its_price_and_is_topped_up(
    plain: Study, sheet: Sheet, lot: float, price: float, ordered: float
) -> None:
    study = plain.with_inputs(
        {
            PRICE: 34.0,
            f"{QUOTE}.tiers.500": tier(500.0, 30.0),
            f"{QUOTE}.tiers.2000": tier(2000.0, 24.0),
            f"{QUOTE}.minimum_order": 250.0,
            "alternatives.buy.lot": lot,
        }
    )
    bought = sheet(study, "buy")
    assert isinstance(bought, LandedCost)
    assert bought.per_part() == pytest.approx(price, rel=1e-14)
    assert bought.ordered == ordered
    column = sheet(study.with_inputs({"alternatives.buy.lot": sweep([lot, 2000.0])}), "buy")
    assert np.ravel(column.per_part()) == pytest.approx([price, 24.0], rel=1e-14)


def test_a_foreign_price_moves_with_its_currency(plain: Study, sheet: Sheet) -> None:
    """22.00 foreign at +/-10 % of the rate is +/-2.20; one-off charges and packing move alike."""
    study = plain.with_inputs({f"{QUOTE}.currency": "EUR", PRICE: 22.0, f"{QUOTE}.equipment": 1000.0})
    costs = [sheet(study.with_inputs({"rates.currency.EUR.rate": rate}), "buy") for rate in (0.9, 1.0, 1.1)]
    assert [float(cost.per_part()) for cost in costs] == pytest.approx([19.80, 22.00, 24.20], rel=1e-13)
    packed = sheet(study.with_inputs({"rates.currency.EUR.rate": 1.1, f"{QUOTE}.packaging": 2.0}), "buy")
    assert amounts(packed) == pytest.approx({"price": 24.20, "packaging": 2.20}, rel=1e-13)
    current = study.with_inputs(
        {"rates.currency.EUR.rate": 1.1, "alternatives.buy.current": False, "alternatives.make.current": True}
    )
    assert alternative_cost(current, "buy").once() == pytest.approx(1100.0, rel=1e-13)


# --- transport -------------------------------------------------------------------------------------------


def on_the_lane(plain: Study, term: str, **lane: float) -> Study:
    charges = {f"{LANE}.{field}": value for field, value in lane.items()}
    return plain.with_inputs({f"{QUOTE}.freight": "lane", f"{QUOTE}.delivery_term": term} | charges)


@pytest.mark.parametrize(
    "term, paid",
    [
        ("EXW", {"origin", "freight", "insurance", "broker", "inland"}),
        ("FCA", {"origin", "freight", "insurance", "broker", "inland"}),
        ("FOB", {"freight", "insurance", "broker", "inland"}),
        ("CFR", {"insurance", "broker", "inland"}),
        ("CPT", {"insurance", "broker", "inland"}),
        ("CIF", {"broker", "inland"}),
        ("CIP", {"broker", "inland"}),
        ("DAP", {"broker"}),
        ("DDP", set()),
    ],
)
def test_the_buyer_pays_what_the_delivery_term_leaves_to_him(
    plain: Study, sheet: Sheet, term: str, paid: set[str]
) -> None:
    """Incoterms 2020 (ICC publication 723E): a D rule brings the goods to our dock, every other leaves inland to us."""
    study = on_the_lane(plain, term, price=0.5, insurance=0.01, origin=85.0, broker=175.0, inland=120.0)
    assert set(amounts(sheet(study, "buy"))) - {"price"} == paid


def test_carriage_is_by_weight_or_room_with_a_minimum(plain: Study, sheet: Sheet) -> None:
    """200 parts of 0.25 kg and 1 dm3 on a lane of 167 kg/m3: 50 kg weigh 33.4 by room, so 50 kg are charged."""
    study = on_the_lane(plain, "FCA", price=2.0, volumetric_density=167e-9).with_inputs(
        {f"{QUOTE}.packed_mass": 0.25, f"{QUOTE}.packed_volume": 1e6}
    )
    assert amounts(sheet(study, "buy"))["freight"] == pytest.approx(50.0 * 2.0, rel=1e-13)
    roomy = study.with_inputs({f"{QUOTE}.packed_volume": 2e6})  # 0.4 m3: 66.8 kg
    assert amounts(sheet(roomy, "buy"))["freight"] == pytest.approx(0.4 * 167.0 * 2.0, rel=1e-13)
    least = study.with_inputs({f"{LANE}.minimum": 165.0})
    assert amounts(sheet(least, "buy"))["freight"] == pytest.approx(165.0, rel=1e-13)
    assert sheet(least, "buy").per_part() == pytest.approx(1.0 + 165.0 / 200.0, rel=1e-13)


def test_insurance_covers_goods_and_carriage_and_a_tenth(plain: Study, sheet: Sheet) -> None:
    """ICC clause A5 of CIF and CIP: 110 % of the value; 0.4 % of 1.1 x (200 x 1 + 100)."""
    study = on_the_lane(plain, "FCA", minimum=100.0, insurance=0.004)
    assert amounts(sheet(study, "buy"))["insurance"] == pytest.approx(0.004 * 1.1 * 300.0, rel=1e-13)


# --- the border ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "layers, expected",
    [
        ((duty("base", 0.05),), 1.00),  # 5 % of 20.00
        (
            (duty("base", 0.05), duty("metal", 0.50, "content"), duty("rest", 0.10, "remainder")),
            5.40,
        ),  # 1 + 3 + 1.40
        ((duty("base", 0.05), duty("added", 0.25)), 6.00),
        ((duty("base", 0.05), duty("added", 0.50)), 11.00),
    ],
)
def test_layers_of_duty_have_their_own_bases(
    plain: Study, sheet: Sheet, layers: tuple[Duty, ...], expected: float
) -> None:
    """A part at 20.00 with 6.00 of metal."""
    study = imported(plain, *layers, content_share=0.30).with_inputs({PRICE: 20.0})
    assert sheet(study, "buy").per_part(lambda line: line.step == "duty") == pytest.approx(
        expected, rel=1e-13
    )
    landed = study.with_inputs({f"{QUOTE}.delivery_term": "DDP"})
    assert sheet(landed, "buy").per_part() == pytest.approx(20.0, rel=1e-14)  # the seller pays the duty


def test_an_entry_fee_has_a_least_and_a_most(plain: Study, sheet: Sheet) -> None:
    """Max(31.67, 0.3464 %) on 4,000 is 31.67, 0.158 a part at 200; 0.3464 % of 20,000 is 69.28."""
    fee = EntryFee(
        name="fee",
        rate=0.003464,
        minimum=31.67,
        maximum=614.35,
        valid_from="2026-01-01",
        valid_to="2031-12-31",
        cleared_by="x",
        **SOURCED,
    )
    study = plain.with_inputs(
        {
            "rates.entry_fees.fee": fee,
            f"{QUOTE}.entry_fees": ("fee",),
            f"{QUOTE}.delivery_term": "FCA",
            f"{QUOTE}.freight": "lane",
            PRICE: 20.0,
        }
    )
    bought = sheet(study, "buy")
    assert amounts(bought)["fee"] == pytest.approx(31.67, rel=1e-14)
    assert f"{bought.per_part(lambda line: line.element == 'fee'):.3f}" == "0.158"
    more = sheet(study.with_inputs({"alternatives.buy.lot": 1000.0}), "buy")
    assert amounts(more)["fee"] == pytest.approx(69.28, rel=1e-13)
    most = sheet(study.with_inputs({"alternatives.buy.lot": 100_000.0}), "buy")
    assert amounts(most)["fee"] == pytest.approx(614.35, rel=1e-14)


def test_customs_value_follows_the_countrys_basis(plain: Study, sheet: Sheet) -> None:
    """On a FOB basis carriage is not dutiable; on a CIF basis what the buyer pays for it is."""
    study = on_the_lane(plain, "FCA", minimum=100.0).with_inputs(
        {"rates.duties.base": duty("base", 0.10), f"{QUOTE}.duties": ("base",), PRICE: 20.0}
    )
    assert amounts(sheet(study, "buy"))["base"] == pytest.approx(2.0, rel=1e-13)
    cif = study.with_inputs({"rates.year.customs_basis": "CIF"})
    assert amounts(sheet(cif, "buy"))["base"] == pytest.approx(0.10 * (20.0 + 100.0 / 200.0), rel=1e-13)
    carried = cif.with_inputs({f"{QUOTE}.delivery_term": "CIF"})  # carriage is in the price already
    assert amounts(sheet(carried, "buy"))["base"] == pytest.approx(2.0, rel=1e-13)


@pytest.mark.parametrize(
    "start, end, months",
    [
        ("2025-01-01", "2031-12-31", (1, 67)),  # June 2026 is month 1, so December 2031 is 1 + 5 x 12 + 6
        ("2026-06-15", "2026-06-15", (1, 1)),  # in force on the day itself, to the end of its month
        ("2025-01-01", "2027-05-31", (1, 12)),
        ("2026-06-16", "2026-12-31", (2, 7)),  # starts after the decision: not a cost of today
        ("2027-01-01", "2027-12-31", (8, 19)),
        ("2025-01-01", "2026-06-14", None),  # ended the day before
    ],
)
def test_a_duty_is_paid_in_its_months(
    plain: Study, sheet: Sheet, start: str, end: str, months: tuple[int, int] | None
) -> None:
    bought = sheet(imported(plain, duty("layer", 0.10, start=start, end=end)), "buy")
    lines = [line for line in bought.lines if line.element == "layer"]
    assert [(line.first_month, line.last_month) for line in lines] == ([] if months is None else [months])
    today = months is not None and months[0] == 1
    assert bought.per_part() == pytest.approx(1.10 if today else 1.0, rel=1e-14)
    flagged = [flag for flag in bought.flags if "in force" in flag.text]
    assert bool(flagged) is not today


def test_months_are_counted_from_the_decision() -> None:
    day = datetime.date(2026, 6, 15)
    assert months_from(day, datetime.date(2026, 6, 1)) == 1
    assert months_from(day, datetime.date(2026, 7, 1)) == 2
    assert months_from(day, datetime.date(2027, 6, 30)) == 13
    assert months_from(day, datetime.date(2026, 1, 31)) == -4


# --- payment, quality, what it takes to keep a supplier ------------------------------------------------------


def test_payment_before_receipt_costs_interest(plain: Study, sheet: Sheet) -> None:
    """3,000 paid 70 d and 7,000 paid 42 d before, against net 30 after, at 10 %: 220.27 on 10,000."""
    study = plain.with_inputs({PRICE: 10_000.0, "finance.holding": 0.10, "finance.discount_rate": 0.10})
    early = study.with_inputs(
        {f"{QUOTE}.deposit_share": 0.30, f"{QUOTE}.deposit_days": "70 d", f"{QUOTE}.balance_days": "42 d"}
    )
    late = study.with_inputs({f"{QUOTE}.balance_days": "-30 d"})
    costs = [sheet(it, "buy").per_part(lambda line: line.step == "payment") for it in (early, late)]
    assert costs[0] - costs[1] == pytest.approx(0.10 * (3000 * 100 + 7000 * 72) / 365, rel=1e-12)
    assert f"{costs[0] - costs[1]:.2f}" == "220.27"
    bought = sheet(early, "buy")
    assert isinstance(bought, LandedCost)
    assert bought.prepaid_days == pytest.approx(0.3 * 70 + 0.7 * 42, rel=1e-14)


def test_interest_on_payment_moves_no_cash_of_its_own(plain: Study, sheet: Sheet) -> None:
    study = plain.with_inputs(
        {"finance.holding": 0.10, "finance.discount_rate": 0.10, f"{QUOTE}.balance_days": "42 d"}
    )
    marks = {line.mark for line in sheet(study, "buy").lines if line.step == "payment"}
    assert marks == {"allocated"}


def test_a_fault_costs_by_where_it_is_found(plain: Study, sheet: Sheet) -> None:
    """Of 1,000 parts 12 at receipt (9 each), 3 at assembly (65), 0.5 in the field (400): 503, 0.503 a part."""
    study = plain.with_inputs(
        {
            PRICE: 0.0,
            f"{QUOTE}.rejected_at_receipt": 0.012,
            f"{QUOTE}.rejected_at_assembly": 0.003,
            f"{QUOTE}.rejected_in_field": 0.0005,
            "rates.faults.receipt.cost": 9.0,
            "rates.faults.assembly.cost": 65.0,
            "rates.faults.field.cost": 400.0,
        }
    )
    # 0.503 of each part bought, and 1 / (1 - 0.0155) parts are bought for a good one
    assert sheet(study, "buy").per_part() == pytest.approx(0.503 / (1 - 0.0155), rel=1e-13)


def test_rejected_parts_are_bought_again_less_what_is_credited(plain: Study, sheet: Sheet) -> None:
    """Of 100 parts at 20.00 with 5 % duty 20 are bad: 80 good ones cost 100 x 21.00 less 60 % of 20 x 20.00."""
    study = imported(
        plain, duty("base", 0.05), rejected_at_receipt=0.15, rejected_at_assembly=0.05, credited=0.60
    )
    bought = sheet(study.with_inputs({PRICE: 20.0}), "buy")
    assert bought.per_part() == pytest.approx((100 * 21.0 - 0.60 * 20 * 20.0) / 80, rel=1e-13)
    assert isinstance(bought, LandedCost)
    assert bought.rhythm.shipment == pytest.approx(0.80 * 200.0, rel=1e-14)  # good parts of an order of 200


def test_a_later_duty_is_paid_on_the_parts_bought_again(plain: Study, sheet: Sheet) -> None:
    """A layer of 10 % from month 8 and one of 5 % up to month 7: 1.25 parts are bought for each good one."""
    study = imported(
        plain,
        duty("later", 0.10, start="2027-01-01"),
        duty("now", 0.05, end="2026-12-31"),
        rejected_at_receipt=0.20,
    ).with_inputs({PRICE: 20.0})
    lines = sheet(study, "buy").lines

    def in_month(month: int) -> float:
        return float(
            sum(
                line.amount
                for line in lines
                if line.level == "part" and line.first_month <= month <= line.last_month
            )
        )

    assert in_month(7) == pytest.approx(1.25 * 20.0 * 1.05, rel=1e-13)
    assert in_month(8) == pytest.approx(1.25 * 20.0 * 1.10, rel=1e-13)


def test_contact_is_a_cost_of_the_year_and_one_off_charges_are_paid_once(plain: Study, sheet: Sheet) -> None:
    study = plain.with_inputs(
        {
            f"{QUOTE}.contact_cost": 3800.0,
            f"{QUOTE}.equipment": 2400.0,
            f"{QUOTE}.qualification": 600.0,
            f"{QUOTE}.first_article": 350.0,
            "alternatives.buy.current": False,
            "alternatives.make.current": True,
        }
    )
    bought = sheet(study, "buy")
    assert bought.per_part() == pytest.approx(1.0 + 3800.0 / 4000.0, rel=1e-14)
    assert bought.once(lambda line: line.step == "supplier") == pytest.approx(3350.0, rel=1e-14)


# --- flags -----------------------------------------------------------------------------------------------


def test_an_expired_offer_is_compared_only_knowingly_and_flagged(plain: Study) -> None:
    """Valid to 31 March, used on 2 April."""
    study = plain.with_inputs(
        {
            f"{QUOTE}.valid_to": "2026-03-31",
            "as_of": "2026-04-02",
            "alternatives.buy.override": "will be renewed",
        }
    )
    texts = [flag.text for flag in alternative_cost(study, "buy").flags]
    assert "offer valid 2026-01-01 to 2026-03-31, used on 2026-04-02" in texts
    assert "compared all the same: will be renewed" in texts


def test_a_lead_time_without_a_spread_is_flagged(plain: Study, small: Study) -> None:
    """It is priced as stated, and every reader is told."""
    flags = alternative_cost(plain, "buy").flags
    assert any(flag.place == "supplier" and "without a spread" in flag.text for flag in flags)
    for name in ("status-quo", "near-b"):
        assert not any("without a spread" in flag.text for flag in alternative_cost(small, name).flags)


# --- one offer by hand -----------------------------------------------------------------------------------


def test_a_whole_offer_by_hand(small: Study) -> None:
    """Far A of tests/small at 500 a time, 4,000 a year, worked out here from its cells alone."""
    bought = landed_cost(
        small.quotes["far-a"], small.rates, lot=500.0, per_year=4000.0, as_of=small.as_of, interest=0.10
    )
    bad = 0.026 + 0.005 + 0.0004
    again = 1 / (1 - bad)
    price = (16.10 + 0.22) * 1.12
    duty_now = 0.025 * price + 0.22 * 0.30 * price  # the remainder layer starts in 2027
    kilograms = max(500 * 0.47 * 0.45359237, 500 * 0.24)
    carriage = max(kilograms * 0.62, 165.0)
    insurance = 0.004 * 1.1 * (500 * price + carriage)
    fee = min(max(0.003 * 500 * price, 30.0), 560.0)
    shipment = 85.0 + carriage + insurance + 175.0 + 120.0 + fee  # FCA at the seller's yard: collected by us
    faults = 0.026 * 9.50 + 0.005 * 64.0 + 0.0004 * 390.0
    interest = 0.10 * price * (0.3 * 70 + 0.7 * 42) / 365
    good_part = (
        again * (price + duty_now)
        - (again - 1) * 0.60 * price
        + again * shipment / 500
        + again * faults
        + 3800.0 / 4000.0
        + again * interest
    )
    assert bought.per_part() == pytest.approx(good_part, rel=1e-12)
    once = (2400.0 + 0.0 + 350.0) * 1.12
    assert bought.once() == pytest.approx(once, rel=1e-13)


def test_lines_have_the_words_and_months_that_they_promise(small: Study) -> None:
    for name in ("far-a", "near-b"):
        bought = landed_cost(
            small.quotes[name], small.rates, lot=500.0, per_year=4000.0, as_of=small.as_of, interest=0.1
        )
        for line in bought.lines:
            assert isinstance(line, Line)
            assert line.step
            assert line.element
            assert line.first_month >= 0
            assert line.last_month <= ALWAYS
        assert bought.clocks == ()
