"""What the border takes of an order: layers of duty and entry fees, each in its months, as the user states them."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import CostSheet, Flag, Line, total
from costmodel.formulas import customs, incoterms
from costmodel.records.quote import Quote
from costmodel.records.rates import Duty, EntryFee, Rates
from costmodel.units import Number


class Clearance(NamedTuple):
    """Who stated a duty layer or a fee: the library classifies nothing."""

    row: str
    cleared_by: str
    source: str
    as_of: datetime.date

    def __str__(self) -> str:
        return f"{self.row}: {self.cleared_by}, {self.source}, {self.as_of}"


def months_from(as_of: datetime.date, day: datetime.date) -> int:
    """Whole calendar months from the decision to a day; month 1 is the month of the decision."""
    return (day.year - as_of.year) * 12 + day.month - as_of.month + 1


def months_in_force(row: Duty | EntryFee, as_of: datetime.date) -> tuple[int, int] | None:
    """First and last month in which a layer or a fee is paid; None once it has ended."""
    if row.valid_to < as_of:
        return None
    first = 1 if row.valid_from <= as_of else max(2, months_from(as_of, row.valid_from))
    return first, months_from(as_of, row.valid_to)


def border_lines(
    quote: Quote, rates: Rates, value: Number, content: Number, parts: Number, as_of: datetime.date
) -> Iterator[Line]:
    """Duty and fees of a part whose customs value is `value`, of it `content` named [money/part], `parts` an entry."""
    layers: list[Line] = []
    for name in quote.duties:
        layers += _layer(rates.duties[name], value, content, quote.series, layers, as_of)
    yield from layers
    for name in quote.entry_fees:
        fee = rates.entry_fees[name]
        months = months_in_force(fee, as_of)
        if months:
            most = customs.NO_MAXIMUM if fee.maximum is None else fee.maximum
            amount = customs.entry_fee(value * parts, fee.rate, minimum=fee.minimum, maximum=most)
            yield Line("duty", name, "shipment", "cash", amount, "", fee.cleared_by, *months)


def _layer(
    layer: Duty, value: Number, content: Number, series: str, before: list[Line], as_of: datetime.date
) -> Iterator[Line]:
    """The layer in each stretch of months in which the layers that it is stacked on stay the same."""
    months = months_in_force(layer, as_of)
    if months is None:
        return
    first, last = months
    changes = {line.first_month for line in before} | {line.last_month + 1 for line in before}
    starts = [first, *sorted(month for month in changes if layer.stacked and first < month <= last)]
    for start, end in zip(starts, [*(month - 1 for month in starts[1:]), last], strict=True):
        amount = customs.duty_layer(
            value,
            layer.rate,
            base=layer.base,
            content_value=content,
            other_duty=total(line.amount for line in before if line.first_month <= start <= line.last_month),
            stacked=layer.stacked,
        )
        yield Line("duty", layer.name, "part", "cash", amount, series, layer.cleared_by, start, end)


def _rows(quote: Quote, rates: Rates) -> Iterator[Duty | EntryFee]:
    yield from (rates.duties[name] for name in quote.duties)
    yield from (rates.entry_fees[name] for name in quote.entry_fees)


def clearances(quote: Quote, rates: Rates) -> Iterator[Clearance]:
    """Who stated each layer and fee of an offer."""
    for row in _rows(quote, rates):
        yield Clearance(row.name, row.cleared_by, row.source, row.as_of)


def ending_flags(
    quote: Quote, rates: Rates, sheet: CostSheet, as_of: datetime.date, horizon: int
) -> Iterator[Flag]:
    """Layers and fees of today that end within the horizon [months]: what a part costs less from then on."""
    for row in _rows(quote, rates):
        months = months_in_force(row, as_of)
        if months is None or months[0] > 1 or months[1] >= horizon:
            continue
        paid = [line for line in sheet.lines if line.element == row.name and line.last_month == months[1]]
        less = total(line.amount * sheet.rhythm.per_part(line.level, line.step) for line in paid)
        drawn = isinstance(less, np.ndarray) and less.ndim > 0
        amount = "" if drawn else f" {float(less):.3g} {rates.year.home_currency}"
        if paid:
            text = f"{row.name} ends on {row.valid_to}, within the horizon: a part costs{amount} less from then on"
            yield Flag(quote.name, text)


def border_flags(quote: Quote, rates: Rates, as_of: datetime.date) -> Iterator[Flag]:
    """Layers and fees that are not in force on the day of the decision, and a value that holds too much."""
    unstated = np.all(quote.carriage_in_price == 0.0) and not incoterms.buyer_pays(
        quote.delivery_term, "main_carriage"
    )
    if unstated and rates.year.customs_basis == "FOB" and (quote.duties or quote.entry_fees):
        yield Flag(
            quote.name,
            f"duty is reckoned on the whole {quote.delivery_term} price: carriage_in_price, which is not dutiable, "
            "is not stated",
        )
    for row in _rows(quote, rates):
        if not row.valid_from <= as_of <= row.valid_to:
            yield Flag(quote.name, f"{row.name} is in force {row.valid_from} to {row.valid_to} only")
