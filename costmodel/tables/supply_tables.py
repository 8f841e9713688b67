"""Tables of having parts when they are needed: stock, stops, second sources, a change of source or of the drawing."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from costmodel.cost_lines import Line
from costmodel.disruption import Bridge, DrawingChange, second_source, stops_cost
from costmodel.make_or_buy import AlternativeCost, Comparison, Portion
from costmodel.records.study import Study
from costmodel.supply import DAYS_PER_YEAR, STOCK, source_named, weeks_of_use
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import percent, plain, significant
from costmodel.tables.table import Column, Table, make_table, single

Source = tuple[str, str, Portion]
HOLDING = ("stock interest", "stock storage")


def sources(study: Study, cost: AlternativeCost) -> list[Source]:
    """The alternatives from one source of which a cost consists: its name, its title in the table, its portion."""
    shares = study.alternatives[cost.name].shares
    names = list(shares) or [cost.name]
    titles = [
        f"{study.alternatives[name].title}, for {percent(single(portion.share))} of the volume"
        for name, portion in shares.items()
    ] or [cost.title]
    return list(zip(names, titles, cost.portions, strict=True))


def _all_sources(comparison: Comparison) -> list[Source]:
    costs = comparison.alternatives.values()
    return [source for cost in costs for source in sources(comparison.study, cost)]


def stock_table(comparison: Comparison) -> Table:
    """Lead time, stock and shortage of every source, made or bought, at the share of the volume that it carries."""
    study, currency = comparison.study, currency_of(comparison.study)
    measure = "demand from the shelf" if study.finance.service_measure == "fill" else "orders in time"
    return make_table(
        "Stock of each source, made or bought",
        (
            Column("source"),
            Column("lead time", "d", "whole"),
            Column("its spread, sd", "d", "whole"),
            Column("a lot brings", "part", "parts"),
            Column("safety stock", "part", "parts"),
            Column("order at", "part", "parts"),
            Column("on the way", "part", "parts"),
            Column("short", "part/yr", "parts"),
            Column("holding", f"{currency}/yr", "money"),
            Column("shortage", f"{currency}/yr", "money"),
        ),
        [_stock_row(title, portion) for _, title, portion in _all_sources(comparison)],
        study=study,
        notes=(
            f"Safety stock for {percent(single(study.finance.service))} of {measure}, over the spread of demand and of "
            "lead time together. Order at: parts on hand and on order.",
            "On the way: our own goods under way only; what is paid ahead is counted with the price.",
            f"Lead times are calendar days; parts are used in {plain(single(study.demand.weeks), 0)} weeks of a year.",
        ),
    )


def _stock_row(title: str, portion: Portion) -> list[object]:
    stock, sheet = portion.stock, portion.sheet

    def yearly(*elements: str) -> float:
        return single(sheet.per_year(lambda line: line.step == STOCK and line.element in elements))

    spread = single(stock.lead_time.sd)
    return [
        title,
        single(stock.lead_time.mean),
        spread if spread > 0.0 else "not stated",
        single(stock.cycle * 2.0),
        single(stock.safety),
        single(stock.reorder_point),
        single(stock.pipeline),
        single(stock.short_per_year),
        yearly(*HOLDING),
        yearly("shortage"),
    ]


def stops_table(comparison: Comparison) -> Table:
    """What happens when a source stops altogether: how long stock lasts, and what is missing after that."""
    study, currency = comparison.study, currency_of(comparison.study)
    rows = []
    for name, title, portion in _all_sources(comparison):
        _, stops = source_named(study, name)
        shelf = np.maximum(portion.stock.safety, 0.0) + portion.stock.cycle
        rows.append(
            [
                title,
                single(stops.per_year),
                single(stops.days),
                single(shelf / portion.sheet.rhythm.per_year * DAYS_PER_YEAR),
                single(portion.stock.lost_in_stops),
                single(portion.sheet.per_year(_is_stop)),
            ]
        )
    return make_table(
        "When a source stops",
        (
            Column("source"),
            Column("stops", "1/yr", "number"),
            Column("a stop lasts", "d", "whole"),
            Column("the shelf bridges", "d", "whole"),
            Column("missing", "part/yr", "parts"),
            Column("expected loss", f"{currency}/yr", "money"),
        ),
        rows,
        study=study,
        notes=(
            "A machine that breaks down stops its source as a supplier does: both are stated as stops a year and their "
            "length.",
            "In a split the other sources bring their steps_up share of what a stop leaves missing, else all of it."
            if any(way.shares for way in study.alternatives.values())
            else "",
            f"A missing part costs {significant(single(study.demand.shortage_cost))} {currency}. The shelf: safety "
            "stock and, on average, half a lot.",
        ),
    )


def _is_stop(line: Line) -> bool:
    return (line.step, line.element) == (STOCK, "stops")


def second_source_table(comparison: Comparison) -> Table:
    """For each split of two: what keeping the other source costs a year, and the loss of stops that it avoids."""
    study, currency = comparison.study, currency_of(comparison.study)
    rows: list[list[object]] = []
    for name, cost in comparison.alternatives.items():
        shares = list(study.alternatives[name].shares)
        for alone, second in zip(shares, reversed(shares), strict=True) if len(shares) == 2 else ():
            worth = second_source(study, alone, second, name)
            share = single(study.alternatives[name].shares[second].share)
            rows.append(
                [
                    study.alternatives[alone].title,
                    f"{percent(share)} {study.alternatives[second].title}",
                    percent(single(study.alternatives[name].stepped_in(alone))),
                    single(stops_cost(comparison.alternatives[alone])),
                    single(stops_cost(cost)),
                    single(worth.premium),
                    single(worth.avoided_loss),
                    single(worth.net_value),
                ]
            )
    return make_table(
        "What a second source is worth",
        (
            Column("first source"),
            Column("second source"),
            Column("steps up for"),
            Column("loss of stops, first alone", f"{currency}/yr", "money"),
            Column("with both", f"{currency}/yr", "money"),
            Column("premium", f"{currency}/yr", "money"),
            Column("loss avoided", f"{currency}/yr", "money"),
            Column("net", f"{currency}/yr", "money"),
        ),
        rows or [["none", "no split of two in this study", *["not stated"] * 6]],
        study=study,
        notes=(
            "Premium: running cost of both less that of the first alone, stops left out; each keeps its own tiers, "
            "minimums, lots and stock. Below zero it is a saving.",
            "Steps up for: share of what a stop of the first leaves missing that the second brings once the shelf is "
            "empty, at no further cost and while it does not stop itself (steps_up of a share).",
            "Once-costs and what cannot be priced, such as a supplier kept awake, are not in it.",
        ),
    )


def bridge_table(study: Study, old: str, new: str, plan: Bridge, ramp: float, margin: float) -> Table:
    """Leaving a source: bridge stock, last buy, when to order it, and when to fall back."""
    currency = currency_of(study)
    left = single(plan.left) + single(plan.good) - single(study.demand.per_year / study.demand.weeks) * ramp
    spare = single(plan.begins_in) - single(plan.order_weeks_before)
    rows: list[tuple[str, object, str]] = [
        ("what is in stock lasts", single(plan.use_up_weeks), "wk"),
        ("the ramp begins in", single(plan.begins_in), "wk"),
        ("still in stock or on order then", single(plan.left), "part"),
        ("missing until then, to be ordered as usual", single(plan.missing), "part"),
        ("bridge stock", single(plan.bridge), "part"),
        ("good parts still needed for it", single(plan.wanted), "part"),
        ("last buy from the old source", single(plan.last_buy), "part"),
        ("money in the last buy", single(plan.money), currency),
        ("order the last buy before the ramp begins", single(plan.order_weeks_before), "wk"),
        ("order it from today within", spare if spare >= 0.0 else "too late for that day", "wk"),
        ("fall back to the old source, if nothing good has come by the end of week", ramp, "wk"),
        ("parts left then", max(left, 0.0), "part"),
    ]
    after = single(weeks_of_use(source_named(study, old)[0].mean, study.demand))
    late = after > margin
    return make_table(
        f"From {study.alternatives[old].title} to {study.alternatives[new].title}",
        (Column("what"), Column("value", "", "number"), Column("unit")),
        rows,
        study=study,
        notes=(
            f"Weeks are weeks in which parts are used, {plain(single(study.demand.weeks), 0)} a year. The ramp takes "
            f"{plain(ramp, 0)}, the margin is {plain(margin, 0)}.",
            f"The old source takes {plain(after, 1)} such weeks to deliver: "
            + (
                "longer than the margin lasts, so keep an order open with it until the ramp is proved."
                if late
                else "within the margin."
            ),
            "The last buy holds what will be rejected, the least order and whole packages, at the price of that order.",
            "Keep the old equipment, drawing and terms until then.",
        ),
    )


def drawing_change_table(study: Study, found: Iterable[tuple[str, DrawingChange]], unusable: float) -> Table:
    """A change of the drawing: what each alternative has on the shelf and on the way, and what that costs."""
    currency = currency_of(study)
    return make_table(
        "A change of the drawing",
        (
            Column("alternative"),
            Column("safety stock", "part", "parts"),
            Column("half a lot", "part", "parts"),
            Column("on the way", "part", "parts"),
            Column("just before a delivery", currency, "money"),
            Column("on any day", currency, "money"),
        ),
        [
            [
                study.alternatives[name].title,
                *(single(number) for number in (change.safety, change.cycle, change.afloat)),
                single(change.least),
                single(change.average),
            ]
            for name, change in found
        ],
        study=study,
        notes=(
            f"{percent(unusable)} of the parts no longer serve. Parts on order and not yet shipped are taken as "
            "stopped in time: ask each supplier.",
        ),
    )
