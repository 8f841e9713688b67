"""What buying a part really costs: one offer at given rates, every line kept, in the order money is spent.

The library takes duty layers and entry fees as the user states them; it classifies nothing.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from costmodel.border_cost import Clearance, border_flags, border_lines, clearances
from costmodel.cost_lines import IN_USE, CostSheet, Flag, Line, Rhythm, total
from costmodel.formulas import customs, freight, incoterms, landed, payment, sampling, scoring
from costmodel.records.deliveries import FEW
from costmodel.records.faults import range_shown
from costmodel.records.freight import Freight
from costmodel.records.quote import FOUND_AT, TERMS_TO_THE_PLACE, Quote
from costmodel.records.rates import Rates
from costmodel.shipment import carriage_of, chargeable_weight, whole_units
from costmodel.units import Number

UNITS = "pallets, containers"
CHARGES = (
    ("loading_at_origin", "loading"),
    ("origin_carriage", "origin"),
    ("export_clearance", "export clearance"),
    ("loading_on_main_carriage", "terminal"),
    ("main_carriage", "freight"),
    ("main_carriage", UNITS),
    ("insurance", "insurance"),
    ("unloading_at_destination", "unloading"),
    ("import_clearance_and_duty", "broker"),
    ("onward_carriage", "inland"),
)
"""What each element of a delivery costs, in the order in which it is spent; the term says who pays it."""
OFTEN_NOTHING = ("loading", "export clearance", "terminal", UNITS, "unloading")
"""Charges that many lanes do not know: left out where nothing is stated."""


@dataclass(frozen=True)
class LandedCost(CostSheet):
    """The cost of a good part from one supplier, with the figures on the way."""

    ordered: Number = 0.0
    """Parts in one order, rejects included [part]."""
    unit_price: Number = 0.0
    """Price of one part in home currency at that order, surcharge and packaging included [money/part]."""
    customs_value: Number = 0.0
    """Value of one part on which duty is charged [money/part]."""
    prepaid_days: Number = 0.0
    """Days between payment and receipt, weighted by share of the price [d]."""
    bought: Number = 1.0
    """Parts bought for each good one [-]."""
    transit_days: Number = 0.0
    """Days on the way that the buyer's goods spend [d]."""
    cleared: tuple[Clearance, ...] = ()
    """Who cleared each duty layer and fee."""

    @property
    def non_price_index(self) -> Number:
        """Running cost beside the price, for one unit of money paid for parts [-]."""
        paid = self.per_part(lambda line: line.step == "price")
        beside = self.per_part(lambda line: line.step != "price")
        return scoring.non_price_index(np.maximum(beside, 0.0), paid)


class Consignment(NamedTuple):
    """One order on its way: parts in it, price a part, what moves it, and its customs value a part."""

    parts: Number
    bare: Number
    price: Number
    lane: Freight | None
    freight: Number
    units: Number
    insurance: Number
    customs_value: Number
    content: Number


def landed_cost(
    quote: Quote,
    rates: Rates,
    *,
    lot: Number,
    per_year: Number,
    as_of: datetime.date,
    interest: Number,
) -> LandedCost:
    """Cost one offer delivered to the point of use, per good part.

    `lot` is the order quantity [part], topped up to the minimum orders and to whole packages; `per_year` good
    parts a year [part/yr]; `as_of` the day on which duties and fees are looked up; `interest` a year [fraction]
    prices payment before receipt.
    """
    exchange = exchange_rate(quote, rates)
    order = _consignment(quote, rates, lot, exchange)
    bought = bought_per_good(quote)
    lines: list[Line] = [*_price_lines(quote, rates, order, exchange), *_transport_lines(quote, order)]
    imports = _pays(quote, "import_clearance_and_duty")
    if imports:
        lines += border_lines(quote, rates, order.customs_value, order.content, order.parts, as_of)
    lines += _payment_lines(quote, order, interest, bought)
    lines += _fault_lines(quote, rates, order, tuple(lines), bought)
    lines.append(Line("supplier", "contact", "year", "cash", quote.contact_cost))
    lines += _once_lines(quote, exchange)
    return LandedCost(
        name=quote.name,
        title=quote.title,
        lines=tuple(lines),
        clocks=(),
        rhythm=Rhythm(per_year=per_year, lot=lot, shipment=order.parts / bought, loads={}),
        flags=(
            *_order_flags(quote, lot),
            *_flags(quote, rates, order, as_of),
            *(border_flags(quote, rates, as_of) if imports else ()),
        ),
        ordered=order.parts,
        unit_price=order.price,
        customs_value=order.customs_value,
        prepaid_days=quote.deposit_share * quote.deposit_days
        + (1.0 - quote.deposit_share) * quote.balance_days,
        bought=bought,
        transit_days=_transit_days(quote, order),
        cleared=tuple(clearances(quote, rates)) if imports else (),
    )


def exchange_rate(quote: Quote, rates: Rates) -> Number:
    """Home money for one unit of the offer's currency [money]."""
    return 1.0 if quote.currency == rates.year.home_currency else rates.currency[quote.currency].rate


def bought_per_good(quote: Quote) -> Number:
    """Parts bought for each good one [-]."""
    return 1.0 / (1.0 - total(getattr(quote, field) for field in FOUND_AT.values()))


def least_order(quote: Quote) -> Number:
    """The least quantity that the offer lets us order at once, over all its levels; below it no price holds [part]."""
    least: Number = np.maximum(_least_stated(quote), next(iter(quote.tiers.values())).quantity)
    return least


def _least_stated(quote: Quote) -> Number:
    least = quote.minimum_order
    for level in quote.minimums.values():
        least = np.maximum(least, level.quantity - level.others)
    return least


def _pays(quote: Quote, element: str) -> bool:
    return incoterms.buyer_pays(
        quote.delivery_term,
        element,
        at_seller_premises=quote.hand_over != "carrier",
        at_point_of_use=quote.onward != "buyer",
    )


def _transit_days(quote: Quote, order: Consignment) -> Number:
    ours = order.lane is not None and quote.delivery_term not in TERMS_TO_THE_PLACE
    return order.lane.transit if ours and order.lane is not None else 0.0


def _consignment(quote: Quote, rates: Rates, lot: Number, exchange: Number) -> Consignment:
    parts = landed.ordered_quantity(lot, minimum_order=least_order(quote), multiple=quote.pack)
    tiers = list(quote.tiers.values())
    bare = landed.tier_price(
        parts, [tier.quantity for tier in tiers], [tier.price for tier in tiers], rule=quote.tier_rule
    )
    price = landed.home_money(bare * (1.0 + quote.surcharge) + quote.packaging, exchange)
    lane = rates.freight[quote.freight] if quote.freight else None
    carriage = units = insurance = 0.0  # type: Number
    if lane is not None:
        carriage = carriage_of(lane, chargeable_weight(quote, lane, parts))
        units = whole_units(quote, lane, parts)
        insurance = freight.insurance_premium(parts * price, lane.insurance, freight=carriage + units)
    contained = landed.home_money(quote.carriage_in_price, exchange)
    ours = (carriage + units) / parts if _pays(quote, "main_carriage") else contained
    goods = price - contained
    value = customs.customs_value(
        price,
        basis=rates.year.customs_basis,
        carriage_in_price=contained,
        freight=ours,
        insurance=insurance / parts if _pays(quote, "insurance") else 0.0,
        assists=_assist(quote, exchange),
        origin=0.0 if lane is None else _before_main_carriage(quote, lane) / parts,
    )
    content = 0.0 if quote.content_share is None else goods * quote.content_share
    return Consignment(
        parts, landed.home_money(bare, exchange), price, lane, carriage, units, insurance, value, content
    )


def _before_main_carriage(quote: Quote, lane: Freight) -> Number:
    """What we pay to get an order loaded on its main carriage [money]; export clearance is no carriage."""
    charges = {
        "loading_at_origin": lane.loading,
        "origin_carriage": lane.origin,
        "loading_on_main_carriage": lane.terminal,
    }
    return total(amount for element, amount in charges.items() if _pays(quote, element))


def _assist(quote: Quote, exchange: Number) -> Number:
    """Equipment paid for with the maker, spread over the parts that its value is declared with [money/part]."""
    if quote.equipment_over is None:
        return 0.0
    return landed.home_money(quote.equipment, exchange) / quote.equipment_over


def _price_lines(quote: Quote, rates: Rates, order: Consignment, exchange: Number) -> Iterator[Line]:
    note = ""
    if quote.currency != rates.year.home_currency:
        row = rates.currency[quote.currency]
        note = f"{quote.currency} by the rate of {row.as_of}, {row.source}"
    packaging = landed.home_money(quote.packaging, exchange)
    yield Line("price", "price", "part", "cash", order.bare, quote.series, note)
    if np.any(quote.surcharge != 0.0):
        yield Line("price", "surcharge", "part", "cash", order.bare * quote.surcharge, quote.series)
    yield Line("price", "packaging", "part", "cash", packaging, quote.series)
    if np.any(quote.order_charge != 0.0):
        charge = landed.home_money(quote.order_charge, exchange)
        yield Line("price", "order charge", "shipment", "cash", charge, quote.series)


def _transport_lines(quote: Quote, order: Consignment) -> Iterator[Line]:
    """What moves the goods, as far as the delivery term leaves it to the buyer."""
    lane = order.lane
    if lane is None:
        return
    amounts = {
        "loading": lane.loading,
        "origin": lane.origin,
        "export clearance": lane.export_clearance,
        "terminal": lane.terminal,
        "freight": order.freight,
        UNITS: order.units,
        "insurance": order.insurance,
        "unloading": lane.unloading,
        "broker": lane.broker,
        "inland": lane.inland,
    }
    for paid_for, element in CHARGES:
        amount = amounts[element]
        stated = element not in OFTEN_NOTHING or np.any(amount != 0.0)
        if stated and _pays(quote, paid_for):
            yield Line("transport", element, "shipment", "cash", amount, lane.series)


def _payment_lines(quote: Quote, order: Consignment, interest: Number, bought: Number) -> Iterator[Line]:
    """Interest on money paid before receipt, for every part bought: a rejected one is paid ahead as well."""
    cost = payment.payment_terms_cost(
        order.price * bought,
        interest,
        deposit_share=quote.deposit_share,
        deposit_days_before=quote.deposit_days,
        balance_days_before=quote.balance_days,
    )
    yield Line("payment", "paid before receipt", "part", "allocated", cost)


def _fault_lines(
    quote: Quote, rates: Rates, order: Consignment, lines: tuple[Line, ...], bought: Number
) -> Iterator[Line]:
    """Inspection on arrival, what a fault costs where it is found, claims, and the parts bought in its place.

    What is credited comes off those; a duty that starts or ends later is paid on them too, in its own months.
    """
    if np.any(quote.sample > 0.0):
        yield from _inspection_lines(quote, order)
    for place, field in FOUND_AT.items():
        step = "quality" if place == "receipt" else IN_USE
        cost = bought * getattr(quote, field) * rates.faults[place].cost
        yield Line(step, f"found at {place}", "part", "cash", cost)
        if np.any(quote.recovered > 0.0):
            yield Line(step, "claims recovered", "part", "cash", -quote.recovered * cost)
    a_part = [line for line in lines if line.level == "part" and line.mark == "cash"]
    credit = Line("quality", "rejected parts", "part", "cash", -quote.credited * order.price, quote.series)
    for first, last in dict.fromkeys((line.first_month, line.last_month) for line in [credit, *a_part]):
        paid = total(
            line.amount for line in [credit, *a_part] if (line.first_month, line.last_month) == (first, last)
        )
        yield credit._replace(amount=(bought - 1.0) * paid, first_month=first, last_month=last)


def _inspection_lines(quote: Quote, order: Consignment) -> Iterator[Line]:
    """The sample of each delivery, and sorting the rest where it holds too many bad parts."""
    sample = np.minimum(quote.sample, order.parts)
    accepted = sampling.acceptance_probability(quote.rejected_at_receipt, sample, quote.accept)
    both = sampling.incoming_inspection_cost(
        accepted, sample, order.parts, quote.inspection_cost, sorting_cost=quote.sorting_cost
    )
    inspection = sample * quote.inspection_cost
    yield Line("quality", "inspection on arrival", "shipment", "cash", inspection)
    yield Line("quality", "sorting", "shipment", "cash", both - inspection)


def _once_lines(quote: Quote, exchange: Number) -> Iterator[Line]:
    for element, paid in (
        ("equipment", quote.equipment),
        ("qualification", quote.qualification),
        ("first-article", quote.first_article),
    ):
        amount = landed.home_money(paid, exchange)
        yield Line("supplier", element, "once", "cash", amount, first_month=0)


def _order_flags(quote: Quote, lot: Number) -> Iterator[Flag]:
    first = next(iter(quote.tiers.values())).quantity
    if np.any(lot < first) and np.any(_least_stated(quote) < first):
        text = f"no price below {range_shown(first)} parts: a smaller order is topped up to that"
        yield Flag(quote.name, f"{text}, ask for its price")


def _flags(quote: Quote, rates: Rates, order: Consignment, as_of: datetime.date) -> Iterator[Flag]:
    if not quote.valid_from <= as_of <= quote.valid_to:
        yield Flag(quote.name, f"offer valid {quote.valid_from} to {quote.valid_to}, used on {as_of}")
    if np.any(quote.lead_time_sd == 0.0):
        yield Flag(quote.name, "lead time without a spread: stock against lateness is not priced")
    if quote.log is not None and len(quote.log.received) < FEW:
        yield Flag(quote.name, f"lead time and rejects rest on {len(quote.log.received)} deliveries only")
    lane = order.lane
    if lane is not None and incoterms.RULES[quote.delivery_term].sea_only and lane.mode != "sea":
        yield Flag(
            quote.name, f"{quote.delivery_term} is a term for ships, but {lane.name} goes by {lane.mode}"
        )
    if (
        quote.delivery_term == "FCA"
        and not quote.hand_over
        and lane is not None
        and np.any(lane.origin > 0.0)
    ):
        yield Flag(
            quote.name,
            "hand_over is not stated: FCA is taken at the seller's premises, from where carriage is the buyer's",
        )
    foreign = quote.currency != rates.year.home_currency
    over_a_border = foreign or bool(quote.duties or quote.entry_fees)
    if (
        over_a_border
        and quote.delivery_term == "EXW"
        and lane is not None
        and np.all(lane.export_clearance == 0.0)
    ):
        yield Flag(quote.name, f"EXW leaves export clearance to the buyer: {lane.name} states none")
    if foreign and not quote.duties and _pays(quote, "import_clearance_and_duty"):
        yield Flag(quote.name, "no duty layer is stated: ask who clears the goods whether none applies")
    if foreign and np.any(quote.equipment > 0.0) and quote.equipment_over is None:
        yield Flag(
            quote.name,
            "equipment paid for abroad may count in the customs value: equipment_over is not stated",
        )
