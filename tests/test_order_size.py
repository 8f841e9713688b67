"""How much to order at once: the search through the model against closed forms and another search."""

from __future__ import annotations

import numpy as np
import pytest
from buying import offer, study, tiers, with_offers

from costmodel.errors import InputError
from costmodel.formulas.order_quantity import cheapest_order_quantity
from costmodel.make_or_buy import alternative_cost
from costmodel.order_size import order_size

FREE = ("price", "minimum", "insurance", "origin", "broker", "inland")
NO_SPREAD = {"demand.weekly_sd": 0.0, "finance.holding": 0.24}


def searched(**changes: object):
    return with_offers(offer(**changes), base=study().with_inputs(NO_SPREAD))


def test_without_tiers_it_is_the_economic_order_quantity() -> None:
    found = order_size(searched(order_charge=60.0), "plain")
    harris = (2 * 4000 * 60.0 / (20.0 * 0.24)) ** 0.5  # F. W. Harris 1913, in any textbook
    assert found.lot == pytest.approx(
        harris, abs=40
    )  # stock is valued with its share of the order charge too
    assert found.plain == pytest.approx(harris)
    assert found.per_year <= found.costs.min() + 1e-9


@pytest.mark.parametrize("rule", ["all_units", "incremental"])
@pytest.mark.parametrize("least", [1.0, 650.0])
def test_tiers_and_minimum_as_the_exact_search_of_the_formulas(rule: str, least: float) -> None:
    ladder = {"1": 20.0, "500": 19.0, "2000": 18.7}
    prices = tiers(**{f"from_{key}": value for key, value in ladder.items()})
    found = order_size(searched(tiers=prices, tier_rule=rule, minimum_order=least), "plain", most=8000.0)
    wanted = cheapest_order_quantity(
        4000.0, 0.0, [float(key) for key in ladder], list(ladder.values()),
        rule=rule, holding_rate=0.24, minimum_order=least, maximum_order=8000.0,
    )  # fmt: skip
    assert found.per_year == pytest.approx(wanted.yearly_cost, rel=1e-9)
    assert found.lot == wanted.quantity


def test_shipment_steps_and_whole_packages() -> None:
    base = study().with_inputs(
        {
            **NO_SPREAD,
            **{f"rates.freight.sea.{name}": 0.0 for name in FREE},
            "rates.freight.sea.unit_volume": 6.0e7,
            "rates.freight.sea.unit_charge": 200.0,
        }
    )  # fmt: skip
    given = with_offers(offer(delivery_term="FOB", freight="sea", pack=50.0), base=base)
    found = order_size(given, "plain")
    assert found.lot % 300 == 0  # 60 l hold 300 parts of 0.2 l: only full pallets pay
    assert found.lot % 50 == 0
    each = [float(alternative_cost(given.with_inputs({"alternatives.plain.lot": lot}), "plain").per_year()) for lot in
            np.arange(50.0, 4000.0, 50.0)]  # fmt: skip
    assert found.per_year == pytest.approx(min(each))


def test_every_quantity_of_the_search_costs_what_the_model_says() -> None:
    base = study()
    found = order_size(base, "status-quo", most=700.0)
    for lot in (200.0, 499.0, 500.0, 700.0):
        alone = alternative_cost(
            base.with_inputs({"alternatives.status-quo.lot": lot}), "status-quo"
        ).per_year()
        assert found.costs[int(np.flatnonzero(found.tried == lot)[0])] == pytest.approx(float(alone))
    assert found.tried[0] == 200.0  # the minimum order
    assert found.today == 500.0
    assert found.saving >= 0.0


def test_a_made_lot_weighs_set_up_against_stock() -> None:
    base = study()
    found = order_size(base, "make-cuts")
    for lot in (1.0, 50.0, found.lot - 1.0, found.lot + 1.0, np.rint(found.plain), 4000.0):
        other = alternative_cost(
            base.with_inputs({"alternatives.make-cuts.lot": lot}), "make-cuts"
        ).per_year()
        assert float(other) >= found.per_year - 1e-9
    quick = order_size(base.with_inputs({"part.routes.cuts.steps.mill.set_up": 1.0}), "make-cuts")
    assert quick.lot < found.lot  # a set-up in a minute makes small lots pay


def test_orders_by_number_a_year_are_searched_as_lots() -> None:
    found = order_size(study(), "near-b")
    assert found.today == pytest.approx(500.0 / 0.9888)  # 1.12 % of what is bought is rejected
    assert found.per_year <= found.today_per_year


def test_a_split_has_no_one_order() -> None:
    with pytest.raises(InputError, match="Search each of its sources"):
        order_size(study(), "both")


def test_the_textbook_quantity_knows_only_what_an_order_costs_whatever_its_size() -> None:
    """Insurance and a fee in per cent grow with the order, as carriage by weight does: Harris leaves them out."""
    lane = dict.fromkeys(FREE, 0.0) | {"price": 0.5, "insurance": 0.01, "broker": 45.0, "origin": 15.0}
    fee = {"rate": 0.003, "minimum": 0.0, "maximum": 500.0}
    base = study().with_inputs(
        NO_SPREAD | {f"rates.freight.sea.{name}": value for name, value in lane.items()}
    )
    base = base.with_inputs({f"rates.entry_fees.entry.{name}": value for name, value in fee.items()})
    far = offer(delivery_term="FCA", freight="sea", entry_fees=("entry",), order_charge=10.0)
    found = order_size(with_offers(far, base=base), "plain")
    assert found.plain == pytest.approx((2 * 4000 * 70.0 / (20.0 * 0.24)) ** 0.5, rel=1e-6)
    least = base.with_inputs({"rates.freight.sea.minimum": 500.0, "rates.entry_fees.entry.minimum": 30.0})
    found = order_size(
        with_offers(far, base=least), "plain"
    )  # both minimums hold at 200: part of an order's cost
    insured = 0.01 * 1.1 * 500.0  # the carriage is insured too
    harris = (2 * 4000 * (70.0 + 500.0 + insured + 30.0) / (20.0 * 0.24)) ** 0.5
    assert found.plain == pytest.approx(harris, rel=1e-6)


def test_so_many_orders_a_year_bring_the_good_parts_of_a_year() -> None:
    """Eight orders a year for 4,000 good parts, a fifth of what is bought rejected: 625 bought at once, 500 good."""
    given = with_offers(
        offer(rejected_at_receipt=0.2, order_charge=100.0), base=study().with_inputs(NO_SPREAD)
    )
    given = given.with_inputs(
        {"demand.per_year": 4000.0, "alternatives.plain.lot": None, "alternatives.plain.orders_per_year": 8.0}
    )
    sheet = alternative_cost(given, "plain").portions[0].sheet
    assert float(sheet.ordered) == pytest.approx(625.0)
    assert float(sheet.rhythm.per_year / sheet.rhythm.shipment) == pytest.approx(8.0)
    assert float(sheet.per_year(lambda line: line.element == "order charge")) == pytest.approx(800.0)
    assert order_size(given, "plain").today == pytest.approx(625.0)
