"""What buying a part really costs: one offer at given rates, every line kept, in the order money is spent.

The library takes duty layers and entry fees as the user states them; it classifies nothing.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import CostSheet, Flag, Line, Rhythm, total
from costmodel.formulas import customs, freight, incoterms, landed, payment
from costmodel.records.quote import FOUND_AT, Quote
from costmodel.records.rates import Duty, EntryFee, Freight, Rates
from costmodel.units import Number


@dataclass(frozen=True)
class LandedCost(CostSheet):
    """The cost of a good part from one supplier, with the figures on the way."""

    ordered: Number = 0.0
    """Parts in one order, rejects included [part]."""
    unit_price: Number = 0.0
    """Price of one part in home currency at that order [money/part]."""
    prepaid_days: Number = 0.0
    """Days between payment and receipt, weighted by share of the price [d]."""


class Consignment(NamedTuple):
    """One order on its way: parts in it, price a part, what moves it, and its customs value a part."""

    parts: Number
    price: Number
    lane: Freight | None
    freight: Number
    insurance: Number
    customs_value: Number


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

    `lot` is the order quantity [part], topped up to the minimum order; `per_year` good parts a year
    [part/yr]; `as_of` the day on which duties and fees are looked up; `interest` a year [fraction] prices
    payment before receipt.
    """
    exchange = exchange_rate(quote, rates)
    rejected = total(getattr(quote, field) for field in FOUND_AT.values())
    order = _consignment(quote, rates, lot, exchange)
    bought = 1.0 / (1.0 - rejected)
    lines: list[Line] = [*_price_lines(quote, order, exchange), *_transport_lines(quote, order)]
    lines += _duty_lines(quote, rates, order, as_of)
    lines += _entry_lines(quote, rates, order, as_of)
    lines += _payment_lines(quote, order, interest)
    lines += _fault_lines(quote, rates, order, tuple(lines), bought)
    lines.append(Line("supplier", "contact", "year", "cash", quote.contact_cost))
    lines += _once_lines(quote, exchange)
    return LandedCost(
        name=quote.name,
        title=quote.title,
        lines=tuple(lines),
        clocks=(),
        rhythm=Rhythm(per_year=per_year, lot=lot, shipment=order.parts / bought, loads={}),
        flags=tuple(_date_flags(quote, rates, as_of)),
        ordered=order.parts,
        unit_price=order.price,
        prepaid_days=quote.deposit_share * quote.deposit_days
        + (1.0 - quote.deposit_share) * quote.balance_days,
    )


def exchange_rate(quote: Quote, rates: Rates) -> Number:
    """Home money for one unit of the offer's currency [money]."""
    return 1.0 if quote.currency == rates.year.home_currency else rates.currency[quote.currency].rate


def _consignment(quote: Quote, rates: Rates, lot: Number, exchange: Number) -> Consignment:
    parts = landed.ordered_quantity(lot, minimum_order=quote.minimum_order)
    tiers = list(quote.tiers.values())
    own = landed.tier_price(parts, [tier.quantity for tier in tiers], [tier.price for tier in tiers])
    price = landed.home_money(own + quote.packaging, exchange)
    lane = rates.freight[quote.freight] if quote.freight else None
    carriage = insurance = 0.0  # type: Number
    if lane is not None:
        weight = freight.chargeable_weight(
            parts * quote.packed_mass, parts * quote.packed_volume * lane.volumetric_density
        )
        carriage = freight.freight_charge(weight, lane.price, minimum=lane.minimum)
        insurance = freight.insurance_premium(parts * price, lane.insurance, freight=carriage)
    buyer_ships = incoterms.buyer_pays(quote.delivery_term, "main_carriage")
    value = customs.customs_value(
        price,
        basis=rates.year.customs_basis,
        freight=carriage / parts if buyer_ships else 0.0,
        insurance=insurance / parts if incoterms.buyer_pays(quote.delivery_term, "insurance") else 0.0,
    )
    return Consignment(parts, price, lane, carriage, insurance, value)


def _price_lines(quote: Quote, order: Consignment, exchange: Number) -> Iterator[Line]:
    packaging = landed.home_money(quote.packaging, exchange)
    yield Line("price", "price", "part", "cash", order.price - packaging, quote.series)
    yield Line("price", "packaging", "part", "cash", packaging, quote.series)


def _transport_lines(quote: Quote, order: Consignment) -> Iterator[Line]:
    """What moves the goods, as far as the delivery term leaves it to the buyer."""
    lane = order.lane
    if lane is None:
        return
    charges = (
        ("origin_carriage", "origin", lane.origin),
        ("main_carriage", "freight", order.freight),
        ("insurance", "insurance", order.insurance),
        ("import_clearance_and_duty", "broker", lane.broker),
        ("onward_carriage", "inland", lane.inland),
    )
    for paid_for, element, amount in charges:
        if incoterms.buyer_pays(quote.delivery_term, paid_for):
            yield Line("transport", element, "shipment", "cash", amount, lane.series)


def months_from(as_of: datetime.date, day: datetime.date) -> int:
    """Whole calendar months from the decision to a day; month 1 is the month of the decision."""
    return (day.year - as_of.year) * 12 + day.month - as_of.month + 1


def _duty_lines(quote: Quote, rates: Rates, order: Consignment, as_of: datetime.date) -> Iterator[Line]:
    if not incoterms.buyer_pays(quote.delivery_term, "import_clearance_and_duty"):
        return
    content = order.price * quote.content_share
    for name in quote.duties:
        layer = rates.duties[name]
        amount = customs.duty_layer(order.customs_value, layer.rate, base=layer.base, content_value=content)
        yield from _dated(
            Line("duty", name, "part", "cash", amount, quote.series, note=layer.cleared_by), layer, as_of
        )


def _entry_lines(quote: Quote, rates: Rates, order: Consignment, as_of: datetime.date) -> Iterator[Line]:
    if not incoterms.buyer_pays(quote.delivery_term, "import_clearance_and_duty"):
        return
    for name in quote.entry_fees:
        fee = rates.entry_fees[name]
        value = order.customs_value * order.parts
        amount = customs.entry_fee(value, fee.rate, minimum=fee.minimum, maximum=fee.maximum)
        yield from _dated(Line("duty", name, "shipment", "cash", amount, note=fee.cleared_by), fee, as_of)


def _dated(line: Line, row: Duty | EntryFee, as_of: datetime.date) -> Iterator[Line]:
    """The line with the months in which its row is in force; nothing once it has ended."""
    if row.valid_to < as_of:
        return
    first = 1 if row.valid_from <= as_of else max(2, months_from(as_of, row.valid_from))
    yield line._replace(first_month=first, last_month=months_from(as_of, row.valid_to))


def _payment_lines(quote: Quote, order: Consignment, interest: Number) -> Iterator[Line]:
    cost = payment.payment_terms_cost(
        order.price,
        interest,
        deposit_share=quote.deposit_share,
        deposit_days_before=quote.deposit_days,
        balance_days_before=quote.balance_days,
    )
    yield Line("payment", "paid before receipt", "part", "allocated", cost)


def _fault_lines(
    quote: Quote, rates: Rates, order: Consignment, lines: tuple[Line, ...], bought: Number
) -> Iterator[Line]:
    """What a fault costs where it is found, and the parts bought in its place less what is credited.

    A duty that starts or ends later is paid on those parts too, in its own months.
    """
    for place, field in FOUND_AT.items():
        share = getattr(quote, field)
        yield Line("quality", f"found at {place}", "part", "cash", bought * share * rates.faults[place].cost)
    a_part = [line for line in lines if line.level == "part" and line.mark == "cash"]
    credit = Line("quality", "rejected parts", "part", "cash", -quote.credited * order.price, quote.series)
    for first, last in dict.fromkeys((line.first_month, line.last_month) for line in [credit, *a_part]):
        paid = total(
            line.amount for line in [credit, *a_part] if (line.first_month, line.last_month) == (first, last)
        )
        yield credit._replace(amount=(bought - 1.0) * paid, first_month=first, last_month=last)


def _once_lines(quote: Quote, exchange: Number) -> Iterator[Line]:
    for element, paid in (
        ("equipment", quote.equipment),
        ("qualification", quote.qualification),
        ("first-article", quote.first_article),
    ):
        amount = landed.home_money(paid, exchange)
        yield Line("supplier", element, "once", "cash", amount, first_month=0)


def _date_flags(quote: Quote, rates: Rates, as_of: datetime.date) -> Iterator[Flag]:
    if not quote.valid_from <= as_of <= quote.valid_to:
        yield Flag(quote.name, f"offer valid {quote.valid_from} to {quote.valid_to}, used on {as_of}")
    rows: Mapping[str, Duty | EntryFee] = {**rates.duties, **rates.entry_fees}
    for name in (*quote.duties, *quote.entry_fees):
        if not rows[name].valid_from <= as_of <= rows[name].valid_to:
            yield Flag(
                quote.name, f"{name} is in force {rows[name].valid_from} to {rows[name].valid_to} only"
            )
    if np.any(quote.lead_time_sd == 0.0):
        yield Flag(quote.name, "lead time without a spread: stock against lateness is not priced")
