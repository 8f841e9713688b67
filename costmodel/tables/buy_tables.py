"""Tables of buying: the landed cost of each supplier in the order money is spent, and the offers levelled."""

from __future__ import annotations

import numpy as np

from costmodel.cost_lines import IN_USE, CostSheet, Line, in_force, total
from costmodel.delivery_log import statistics
from costmodel.landed_cost import CHARGES, LandedCost, least_order
from costmodel.make_or_buy import Comparison, levelled
from costmodel.records.study import Study
from costmodel.supply import STOCK
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import percent, plain, significant
from costmodel.tables.table import Column, Table, make_table, single
from costmodel.units import Number

NOT_CHARGED = "none stated"
ONCE_SPREAD = "once, spread"
STEPS = {
    "price": "price",
    "transport": "freight",
    "duty": "duty and entry",
    "payment": "payment",
    "quality": "faults",
    "supplier": "supplier",
    STOCK: "stock",
    IN_USE: "faults in use",
}


def bought(comparison: Comparison) -> dict[str, CostSheet]:
    """The cost sheet of every alternative that buys all from one supplier, by the alternative's name."""
    return {
        name: cost.portions[0].sheet for name, cost in comparison.alternatives.items() if cost.kind == "buy"
    }


def landed_table(comparison: Comparison) -> Table:
    """A good part from each supplier, layer by layer in the order money is spent, at one point of use."""
    study, sheets = comparison.study, bought(comparison)
    unit = f"{currency_of(study)}/part"
    running = [
        (line.step, line.element) for sheet in sheets.values() for line in sheet.lines if in_force(line)
    ]
    order = sorted(dict.fromkeys(running), key=_place)
    rows: list[list[object]] = [
        [STEPS.get(step, step), element, *(_layer(sheet, step, element) for sheet in sheets.values())]
        for step, element in order
    ]
    sums: list[object] = ["total", "", *(single(sheet.per_part()) for sheet in sheets.values())]
    cash = [single(sheet.per_part(lambda line: line.mark == "cash")) for sheet in sheets.values()]
    columns = [Column(_heading(study, name), unit, "money") for name in sheets]
    once = _once_rows(comparison)
    return make_table(
        "Landed cost of a good part, in the order money is spent",
        (Column("layer"), Column("what for"), *columns),
        [*rows, sums, ["of it cash", "", *cash], *once],
        study=study,
        totals=2 + len(once),
        notes=(
            f"{ONCE_SPREAD.capitalize()}: paid before the first part; spread over {study.finance.horizon} months as "
            "equal amounts that are worth the same today."
            if once
            else "",
            f"All at {plain(single(study.demand.per_year), 0)} good parts a year, delivered to the point of use.",
            "Duty layers and fees are as entered by the user, never decided here.",
            *_cleared(study, sheets),
            f'"{NOT_CHARGED}": the offer or its delivery term leaves nothing to pay there.' if rows else "",
        ),
    )


def _once_rows(comparison: Comparison) -> list[list[object]]:
    """What is paid once, spread over the parts of the horizon, and the cost of a part with it."""
    study, sheets = comparison.study, bought(comparison)
    elements = dict.fromkeys(
        line.element
        for sheet in sheets.values()
        for line in sheet.lines
        if _paid_first(line) and np.any(line.amount)
    )
    rows: list[list[object]] = []
    spread = dict.fromkeys(sheets, 0.0)
    for element in elements:
        row: list[object] = [ONCE_SPREAD, element]
        for name, sheet in sheets.items():
            paid = total(line.amount for line in sheet.lines if _paid_first(line) and line.element == element)
            each = single(levelled(paid, study) / study.demand.per_year)
            spread[name] += each
            nothing = "paid already" if study.alternatives[name].current else NOT_CHARGED
            row.append(each if each else nothing)
        rows.append(row)
    if rows:
        both = [single(sheet.per_part()) + spread[name] for name, sheet in sheets.items()]
        rows.append(["total with it", "", *both])
    return rows


def _paid_first(line: Line) -> bool:
    return line.level == "once" and line.step != STOCK


def _place(layer: tuple[str, str]) -> tuple[int, int]:
    """When a layer is paid: its step, and on the way the order of the delivery; what comes after the border with it."""
    step, element = layer
    if layer == ("transport", "inland"):
        step = "duty"
    on_the_way = [name for _, name in CHARGES]
    within = on_the_way.index(element) if layer[0] == "transport" and element in on_the_way else 0
    return (list(STEPS).index(step) if step in STEPS else len(STEPS)), within


def cleared_words(comparison: Comparison) -> str:
    """Who cleared the duty layers and fees of every source compared, in a sentence; none where none is charged."""
    sheets = [portion.sheet for cost in comparison.alternatives.values() for portion in cost.portions]
    rows = [row for sheet in sheets if isinstance(sheet, LandedCost) for row in sheet.cleared]
    who = dict.fromkeys(f"{row.cleared_by}, {row.as_of}" for row in rows)
    return f"Duty and entry fees: cleared by {'; '.join(who)}; not checked here." if who else ""


def _cleared(study: Study, sheets: dict[str, CostSheet]) -> tuple[str, ...]:
    """Who cleared the duty layers and fees of each offer, in words."""
    rows: dict[str, list[str]] = {}
    for name, sheet in sheets.items():
        for row in sheet.cleared if isinstance(sheet, LandedCost) else ():
            words = f"{row.row} by {row.cleared_by}, {row.as_of}"
            rows.setdefault(words, []).append(study.quotes[study.alternatives[name].buy].title)
    return tuple(f"Cleared: {words} ({', '.join(dict.fromkeys(titles))})." for words, titles in rows.items())


def _heading(study: Study, name: str) -> str:
    quote = study.quotes[study.alternatives[name].buy]
    return f"{quote.title}, {quote.delivery_term}"


def _layer(sheet: CostSheet, step: str, element: str) -> float | str:
    def keep(line: Line) -> bool:
        return (line.step, line.element) == (step, element)

    stated = any(keep(line) and in_force(line) for line in sheet.lines)
    return single(sheet.per_part(keep)) if stated else NOT_CHARGED


def offers_table(comparison: Comparison) -> Table:
    """What each offer says and demands: quantity, price, currency, term, minimum, times, payment, validity."""
    study = comparison.study
    currency = currency_of(study)
    return make_table(
        "Offers, levelled to the same volume and point of use",
        (
            Column("offer"),
            Column("ordered at once", "part", "parts"),
            Column("least order", "part", "parts"),
            Column("price", f"{currency}/part", "money"),
            Column("currency"),
            Column("delivery"),
            Column("lead time", "d", "whole"),
            Column("its spread, sd", "d", "whole"),
            Column("known from"),
            Column("paid before receipt", "d", "whole"),
            Column("rejected"),
            Column("beside the price", "per price", "number"),
            Column("good part", f"{currency}/part", "money"),
            Column("once", currency, "money"),
            Column("valid to"),
            Column("status"),
        ),
        [_offer(study, name, sheet) for name, sheet in bought(comparison).items()],
        study=study,
        notes=(
            "Paid before receipt: days, weighted by share of the price; negative is paid after.",
            *_log_words(comparison),
        ),
    )


def _log_words(comparison: Comparison) -> list[str]:
    """What the delivery logs of the offers show, with the number of deliveries behind it."""
    said = []
    for name in bought(comparison):
        quote = comparison.study.quotes[comparison.study.alternatives[name].buy]
        if quote.log is not None:
            found = statistics(quote.log)
            late = found.mean_lateness
            side = "later" if late > 0.0 else "earlier"
            said.append(
                f"{quote.title}: lead time, its spread and rejects from {found.deliveries} deliveries; "
                f"{percent(found.on_time_share)} on time ({percent(found.on_time_lower)} to "
                f"{percent(found.on_time_upper)}, 95 % limits), {plain(abs(late), 0)} d {side} than "
                f"promised on average; orders still open: {len(quote.log.still_open)}."
            )
    return said


def _offer(study: Study, name: str, sheet: CostSheet) -> list[object]:
    assert isinstance(sheet, LandedCost)
    quote = study.quotes[study.alternatives[name].buy]
    home = currency_of(study)
    exchange = (
        "home"
        if quote.currency == home
        else f"{quote.currency} at {significant(single(study.rates.currency[quote.currency].rate), 4)}"
    )
    rejected = quote.rejected_at_receipt + quote.rejected_at_assembly + quote.rejected_in_field
    once = "paid already" if study.alternatives[name].current else single(_paid_once(sheet))
    spread = single(quote.lead_time_sd)
    return [
        quote.title,
        single(sheet.ordered),
        single(least_order(quote)),
        single(sheet.unit_price),
        exchange,
        f"{quote.delivery_term} {quote.place}",
        single(quote.lead_time),
        spread if spread > 0.0 else "not stated",
        "the offer" if quote.log is None else f"log, n = {len(quote.log.received)}",
        single(sheet.prepaid_days),
        percent(single(rejected)),
        single(sheet.non_price_index),
        single(sheet.per_part()),
        once,
        quote.valid_to.isoformat(),
        quote.status,
    ]


def _paid_once(sheet: CostSheet) -> Number:
    return sheet.once(lambda line: line.step != STOCK)
