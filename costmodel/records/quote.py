"""A supplier's offer for one part, as the buyer keeps it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Literal

import numpy as np

from costmodel.records import quantities as q
from costmodel.records.deliveries import DeliveryLog
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import CurrencyCode, Name, Named, Record
from costmodel.units import Number

DeliveryTerm = Literal["EXW", "FCA", "CPT", "CIP", "DAP", "DPU", "DDP", "FAS", "FOB", "CFR", "CIF"]
TERMS_TO_THE_PLACE = ("DAP", "DPU", "DDP")
"""Under these the seller brings the goods to the place named, so that no freight lane is needed."""

FROM_LOG = ("lead_time", "lead_time_sd", "rejected_at_receipt")
"""What a delivery log states in place of the offer."""
FOUND_AT = {
    "receipt": "rejected_at_receipt",
    "assembly": "rejected_at_assembly",
    "field": "rejected_in_field",
}
"""The share of parts found faulty at each place; the rates say what one costs there."""


class Tier(Record):
    """From this order quantity on, every part of the order costs this price."""

    name: Name
    currency: CurrencyCode  # before the money, whose text is read in it
    quantity: q.Parts
    price: q.OwnMoney


class Minimum(Record):
    """A least quantity at a further level: a product, a material, a colour, a size.

    ``others`` is what other parts ordered at the same time put towards it.
    """

    name: Name
    quantity: q.Parts
    others: q.AnyParts = 0.0


class Quote(Record):
    """An offer: price by quantity, one-off charges, terms, times, and how its parts have proved.

    Money is in the offer's own currency; what we spend ourselves on inspection and contact is in home currency.

    *Order.* ``tier_rule`` says whether a price holds for all parts of an order or for those of its tier.
    ``minimum_order`` is the least order; ``minimums`` are those of further levels; ``pack`` the parts in a
    package, of which whole ones are ordered. ``surcharge`` is a share of the price, ``order_charge`` is paid an
    order, ``carriage_in_price`` is what the price of a part holds of carriage across the border.

    *Delivery.* Under DAP, DPU and DDP the place named is taken for our dock; where it lies short of it, ``onward`` is
    "buyer", and the lane's inland carriage is ours. Under every other term it is ours anyway. Under FCA ``hand_over``
    says where the goods change hands: "seller" at the seller's premises, from where our carrier collects them, or
    "carrier" at another place named, to which the seller brings them. Not stated it is taken for the seller's premises,
    and a flag asks.

    *Equipment* paid for abroad counts in the customs value: ``equipment_over`` is the number of parts over which
    its value is declared. ``duties`` and ``entry_fees`` name rows of the rates: who cleared them stands there;
    the library classifies nothing. ``content_share`` is the share of the price that the named content is worth.

    *Payment.* ``deposit_days`` and ``balance_days`` are days before receipt, so that net 30 is -30 d.

    *Faults* are shares of what is delivered. Of each delivery ``sample`` parts are inspected, and with more than
    ``accept`` bad among them the rest is sorted. ``credited`` is the share of the price that comes back for a
    reject, ``recovered`` the share of its other cost.

    *Log.* A delivery log of the supplier stands for ``lead_time``, ``lead_time_sd`` and ``rejected_at_receipt``: a
    sheet names its file and leaves the three empty.

    *Stops.* ``stops`` a year are expected in which nothing is delivered for ``stop_time``. ``series`` names the
    index that the price follows over the years.
    """

    name: Name
    title: str
    part: Name
    revision: str
    currency: CurrencyCode
    delivery_term: DeliveryTerm
    place: str
    onward: Literal["", "buyer"] = ""
    hand_over: Literal["", "seller", "carrier"] = ""
    valid_from: datetime.date
    valid_to: datetime.date
    tiers: Named[Tier]
    tier_rule: Literal["all_units", "incremental"] = "all_units"
    minimum_order: q.Parts
    minimums: Named[Minimum] = Named()
    pack: q.MaybeParts = None
    surcharge: q.Fraction = 0.0
    order_charge: q.OwnMoney = 0.0
    carriage_in_price: q.OwnMoney = 0.0
    equipment: q.OwnMoney = 0.0
    equipment_owner: Literal["", "buyer", "supplier"] = ""
    equipment_over: q.MaybeParts = None
    qualification: q.OwnMoney = 0.0
    first_article: q.OwnMoney = 0.0
    packaging: q.OwnMoney = 0.0
    freight: str = ""
    duties: tuple[str, ...] = ()
    entry_fees: tuple[str, ...] = ()
    content_share: q.MaybeFraction = None
    packed_mass: q.AnyKilograms
    packed_volume: q.AnyCubicMillimetres
    lead_time: q.Days
    lead_time_sd: q.Days
    deposit_share: q.Fraction = 0.0
    deposit_days: q.Days = 0.0
    balance_days: q.SignedDays = 0.0
    rejected_at_receipt: q.Fraction
    rejected_at_assembly: q.Fraction
    rejected_in_field: q.Fraction
    credited: q.Fraction = 0.0
    recovered: q.Fraction = 0.0
    sample: q.AnyParts = 0.0
    accept: q.AnyParts = 0.0
    inspection_cost: q.MoneyPerPart = 0.0
    sorting_cost: q.MoneyPerPart = 0.0
    stops: q.AnyPerYear = 0.0
    stop_time: q.Days = 0.0
    contact_cost: q.MoneyPerYear = 0.0
    series: str = ""
    log: DeliveryLog | None = None
    source: str
    status: Literal["guess", "quoted", "measured"]
    owner: str = ""

    def rules(self) -> Iterator[Fault]:
        """Tiers rise in quantity; an offer ends after it begins."""
        breaks = [tier.quantity for tier in self.tiers.values()]
        for name, lower, upper in zip(list(self.tiers)[1:], breaks, breaks[1:], strict=False):
            if np.any(upper <= lower):
                yield Fault(
                    f"tiers.{name}",
                    f"{range_shown(upper)} after {range_shown(lower)}",
                    "quantities in rising order",
                    "Sort the breaks.",
                )
        rejected: Number = sum((getattr(self, field) for field in FOUND_AT.values()), start=0.0)
        if np.any(rejected >= 1.0):
            found = range_shown(rejected)
            yield Fault("rejected_at_receipt", found, "rejects below 100 % in all", "Correct the shares.")
        if not self.tiers:
            yield Fault("tiers", "", "at least one price", "Add a row with quantity and price.")
        if np.any(self.stops > 0.0) and np.any(self.stop_time <= 0.0):
            yield Fault(
                "stop_time", "", "how long a stop lasts, since stops are stated", 'Write "8 wk", say.'
            )
        if self.valid_to < self.valid_from:
            yield Fault(
                "valid_to", f"{self.valid_to}", f"a day after {self.valid_from}", "Correct one of the two."
            )
