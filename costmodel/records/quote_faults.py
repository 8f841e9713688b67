"""What is wrong with an offer beside the rates and the part it is for."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from costmodel.records.faults import Fault
from costmodel.records.part import Part
from costmodel.records.quote import TERMS_TO_THE_PLACE, Quote
from costmodel.records.rates import Rates, missing_row

CARRIAGE_PAID = ("CPT", "CIP", "CFR", "CIF")
"""Terms under which the seller pays the carriage, but for import and what is inland."""


def quote_faults(name: str, quote: Quote, rates: Rates) -> Iterator[Fault]:
    """What an offer names that the rates do not hold, and what it leaves out that they make it need."""
    place = f"quotes.{name}"
    if quote.currency != rates.year.home_currency and quote.currency not in rates.currency:
        day = f"{rates.year.year}"
        yield Fault(
            f"{place}.currency",
            quote.currency,
            f"a currency with a rate in {day}",
            f"Add {quote.currency} to currency.csv.",
        )
    if quote.series and quote.series not in rates.indices:
        yield missing_row(f"{place}.series", quote.series, rates.indices, "indices")
    if quote.freight and quote.freight not in rates.freight:
        yield missing_row(f"{place}.freight", quote.freight, rates.freight, "freight")
    if not quote.freight and (quote.delivery_term not in TERMS_TO_THE_PLACE or quote.onward):
        left = "import and inland carriage" if quote.delivery_term in CARRIAGE_PAID else "carriage"
        why = f"{quote.delivery_term} leaves {left} to the buyer"
        if quote.delivery_term in TERMS_TO_THE_PLACE:
            why = "carriage on from the place named is ours"
        expected = f"a freight lane, since {why}"
        known = ", ".join(rates.freight) or "none"
        yield Fault(
            f"{place}.freight", "", expected, f"Name a lane in the column freight (there are: {known})."
        )
    for layer in quote.duties:
        if layer not in rates.duties:
            yield missing_row(f"{place}.duties", layer, rates.duties, "duties")
    layers = (rates.duties[name] for name in quote.duties if name in rates.duties)
    on_content = [layer.name for layer in layers if layer.base != "full"]
    if on_content and quote.content_share is None:
        expected = f"the share that the content is worth, on which {' and '.join(on_content)} depends"
        remedy = "Ask the supplier; where it is not known, a broker may have to take the full value."
        yield Fault(f"{place}.content_share", "", expected, remedy)
    for fee in quote.entry_fees:
        if fee not in rates.entry_fees:
            yield missing_row(f"{place}.entry_fees", fee, rates.entry_fees, "entry_fees")


def unlike_offer(place: str, quote: Quote, part: Part, as_of: datetime.date) -> Iterator[Fault]:
    """Why an offer may not be compared without a reason: it does not hold on the day, or is for another drawing."""
    remedy = 'Get a new offer, or compare it knowingly with override = "reason".'
    if not quote.valid_from <= as_of <= quote.valid_to:
        found = f"{quote.title}, valid {quote.valid_from} to {quote.valid_to}"
        yield Fault(place, found, f"an offer valid on {as_of}", remedy)
    if (quote.part, quote.revision) != (part.name, part.revision):
        found = f"an offer for {quote.part} revision {quote.revision}"
        yield Fault(place, found, f"an offer for {part.name} revision {part.revision}", remedy)
