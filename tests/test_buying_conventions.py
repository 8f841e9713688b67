"""Conventions of buying that are easy to get wrong by a few per cent: parts bought, weeks of use, who carries on."""

from __future__ import annotations

import numpy as np
import pytest
from buying import amount, landed, offer, rates, study, with_offers

from costmodel.errors import InputError
from costmodel.formulas import incoterms
from costmodel.make_or_buy import alternative_cost

REJECTS = {"rejected_at_receipt": 0.15, "rejected_at_assembly": 0.05}  # five parts bought for four good ones


def test_money_is_paid_ahead_for_every_part_bought() -> None:
    """80 good parts of 100 bought at 20.00, all paid 73 days before receipt, at 10 %: 100 x 20 x 10 % x 73 / 365."""
    early = {"balance_days": 73.0}
    assert amount(landed(offer(**early)), "paid before receipt") == pytest.approx(0.40)
    with_rejects = landed(offer(**early, **REJECTS))
    assert 80.0 * amount(with_rejects, "paid before receipt") == pytest.approx(100 * 20.0 * 0.10 * 73 / 365)
    base = study().with_inputs({"demand.per_year": 4000.0})
    tied = alternative_cost(with_offers(offer(**early, **REJECTS), base=base), "plain").portions[0].stock
    assert float(tied.prepaid) == pytest.approx(5000 * 20.0 * 73 / 365)  # 5,000 bought a year for 4,000


def test_a_lead_time_in_calendar_days_meets_demand_of_the_weeks_in_which_parts_are_used() -> None:
    """Over a year of lead time a year's parts are used, however many weeks the shop works."""
    for weeks in (40.0, 50.0, 52.0):
        base = study().with_inputs({"demand.weeks": weeks, "demand.weekly_sd": 20.0})
        far = offer(delivery_term="FCA", freight="sea", lead_time=365.0, stops=1.0, stop_time=73.0)
        given = with_offers(far, base=base.with_inputs({"rates.freight.sea.transit": 36.5}))
        stock = alternative_cost(given, "plain").portions[0].stock
        yearly = float(given.demand.per_year)
        assert float(stock.lead_time_demand) == pytest.approx(yearly)
        assert float(stock.pipeline) == pytest.approx(yearly / 10)
        assert float(stock.spread) == pytest.approx(
            20.0 * np.sqrt(weeks)
        )  # as many uneven weeks as are worked
        on_hand = float(stock.safety + stock.cycle)
        missing = yearly / 5 * np.exp(-on_hand / (yearly / 5))  # a fifth of a year, its length exponential
        assert float(stock.lost_in_stops) == pytest.approx(missing)


@pytest.mark.parametrize("term", ["DAP", "DPU", "DDP"])
def test_goods_brought_to_our_dock_have_no_carriage_beyond_it(term: str) -> None:
    """Under the D rules the seller carries to the place named; onward carriage begins there."""
    given = rates(freight__sea__inland=120.0)
    at_our_dock = landed(offer(delivery_term=term, freight="sea"), given)
    assert "inland" not in {line.element for line in at_our_dock.lines}
    short_of_it = landed(offer(delivery_term=term, freight="sea", onward="buyer"), given)
    assert amount(short_of_it, "inland") == pytest.approx(120.0 / 200.0)
    assert not incoterms.buyer_pays(term, "onward_carriage", at_point_of_use=True)


@pytest.mark.parametrize("term", [term for term in incoterms.TERMS if term not in ("DAP", "DPU", "DDP")])
def test_under_every_other_term_the_buyer_carries_on(term: str) -> None:
    sheet = landed(offer(delivery_term=term, freight="sea"), rates(freight__sea__inland=120.0))
    assert amount(sheet, "inland") == pytest.approx(120.0 / 200.0)
    assert incoterms.buyer_pays(term, "onward_carriage", at_point_of_use=True)


@pytest.mark.parametrize(("hand_over", "collected"), [("seller", 85.0), ("carrier", 0.0), ("", 85.0)])
def test_under_fca_the_offer_says_where_goods_are_handed_over(hand_over: str, collected: float) -> None:
    """At the seller's premises he loads and our carrier collects; elsewhere he brings them to the place named."""
    given = rates(freight__sea__origin=85.0, freight__sea__loading=11.0)
    sheet = landed(offer(delivery_term="FCA", freight="sea", hand_over=hand_over), given)
    assert amount(sheet, "origin") == pytest.approx(collected / 200.0)
    assert "loading" not in {line.element for line in sheet.lines}
    asked = [flag for flag in sheet.flags if "hand_over" in flag.text]
    assert len(asked) == (hand_over == "")


def test_carriage_on_from_the_place_named_needs_a_lane() -> None:
    with pytest.raises(InputError, match="since carriage on from the place named is ours"):
        with_offers(offer()).with_inputs({"quotes.plain.onward": "buyer"})


MACHINE = "rates.machines.mill.consumables"


def test_a_what_if_that_makes_a_cost_stand_twice_is_refused_as_a_file_is() -> None:
    """Consumables on the part while the machine-hour rate holds none; then a what-if puts some into the rate."""
    from costmodel.records.route import Item

    base = study()
    item = Item.model_validate({"name": "coolant", "element": "consumables", "cost": 0.2})
    once = base.with_inputs({MACHINE: 0.0, "part.routes.cuts.steps.mill.items.coolant": item})
    words = r"a cost stated once; it stands in rates\.machines\.mill \(consumables\) too"
    with pytest.raises(InputError, match=words):
        once.with_inputs({MACHINE: 3.2})
    with pytest.raises(InputError, match=words):
        once.with_inputs({MACHINE: np.array([0.0, 0.0, 3.2])})
    with pytest.raises(InputError, match=words):
        base.with_inputs({"part.routes.cuts.steps.mill.items.coolant": item})
    assert once.with_inputs({MACHINE: "0 USD/h"}) == once


# --- freight by weight breaks and by the container ----------------------------------------------------------

FAR = {"delivery_term": "FCA", "freight": "sea"}
TARIFF = {
    "freight__sea__price": 6.0,
    "freight__sea__break_1": 45.0,
    "freight__sea__price_1": 4.5,
    "freight__sea__break_2": 100.0,
    "freight__sea__price_2": 3.8,
    "freight__sea__break_3": 300.0,
    "freight__sea__price_3": 3.1,
}


@pytest.mark.parametrize(
    "parts", [1.0, 100.0, 168.0, 169.0, 224.0, 226.0, 400.0, 421.0, 423.0, 1224.0, 1230.0, 2000.0]
)
def test_a_shipment_is_charged_at_the_cheapest_weight_it_may_be_declared_at(parts: float) -> None:
    """Every whole tenth of a kilogram from its own weight on, at the price that holds there: the least is charged."""
    given = rates(**TARIFF, freight__sea__minimum=60.0, freight__sea__surcharge=0.1)
    heavy = offer(**FAR, packed_mass=0.2, packed_volume=1.0)
    found = amount(landed(heavy, given, lot=parts), "freight") * parts
    declared = np.append(0.2 * parts, np.arange(0.2 * parts, 700.0, 0.1).round(1))
    declared = declared[declared >= 0.2 * parts]
    price = np.select([declared >= 300, declared >= 100, declared >= 45], [3.1, 3.8, 4.5], 6.0)
    assert found == pytest.approx(1.1 * max(60.0, float(np.min(declared * price))), rel=1e-9)


def test_draws_of_the_first_price_never_make_a_heavy_shipment_dear() -> None:
    given = rates(**TARIFF, freight__sea__minimum=0.0)
    drawn = study().with_inputs({f"rates.{key.replace('__', '.')}": value for key, value in TARIFF.items()})
    drawn = drawn.with_inputs(
        {"rates.freight.sea.price": np.array([3.0, 6.0]), "rates.freight.sea.minimum": 0.0}
    )
    heavy = offer(**FAR, packed_mass=0.2, packed_volume=1.0)
    charges = landed(heavy, drawn.rates, lot=1000.0).per_part(lambda line: line.element == "freight")
    assert np.asarray(charges) * 1000 == pytest.approx([200 * 3.0, 200 * 3.8])  # all prices came down to 3.00
    assert amount(landed(heavy, given, lot=1000.0), "freight") * 1000 == pytest.approx(200 * 3.8)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"freight__sea__break_1": 45.0}, "price_1"),
        ({**TARIFF, "freight__sea__break_2": 40.0}, "weights in rising order"),
        ({**TARIFF, "freight__sea__price_2": 4.6}, "the price of a lighter shipment"),
        ({"freight__sea__unit_charge": 25.0}, "unit_volume"),
    ],
)
def test_a_tariff_that_cannot_hold_is_refused(changes: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        rates(**changes)


@pytest.mark.parametrize(
    ("parts", "containers"),
    [(1000.0, 1), (1500.0, 1), (1501.0, 2), (3000.0, 2), (10_000.0, 7)],
)
def test_as_many_containers_are_paid_as_volume_and_mass_ask_for(parts: float, containers: int) -> None:
    """Containers of 28 m3 and 21,000 kg; a part of 14 kg in 10 dm3 fills them by mass: 1,500 in each."""
    given = rates(
        freight__sea__price=0.0,
        freight__sea__minimum=0.0,
        freight__sea__unit_volume=28.0e9,
        freight__sea__unit_mass=21_000.0,
        freight__sea__unit_charge=2400.0,
    )
    heavy = landed(offer(**FAR, packed_mass=14.0, packed_volume=1.0e7), given, lot=parts)
    assert amount(heavy, "pallets, containers") * parts == pytest.approx(containers * 2400.0)
    light = landed(offer(**FAR, packed_mass=0.1, packed_volume=28.0e9 / 1000), given, lot=parts)
    assert amount(light, "pallets, containers") * parts == pytest.approx(np.ceil(parts / 1000) * 2400.0)
