"""Tables of a buyer's work: a quote sheet as understood, a delivery log, order sizes, soft factors, a price's range."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from costmodel.delivery_log import LogSummary
from costmodel.order_size import OrderSize
from costmodel.quote_check import OWN, PriceCheck
from costmodel.reading.quote_found import Reading
from costmodel.records.study import Study
from costmodel.soft_factors import Flip, SoftFactors
from costmodel.stock_check import StockCheck
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import amount, chance, percent, plain, with_range
from costmodel.tables.table import Column, Table, make_table
from costmodel.tables.words import described

HUNDRED = 100.0
TWO_ERRORS = 2.0
"""Standard errors shown beside a simulated figure."""


def understood_table(
    readings: Iterable[Reading], title: str = "Cells read another way than they stand"
) -> Table:
    """Each cell that needed understanding: where, what stands there, what it was taken for."""
    return make_table(
        title,
        (
            Column("cell"),
            Column("offer"),
            Column("field"),
            Column("stands there"),
            Column("taken for"),
            Column("remark"),
        ),
        [tuple(row) for row in readings],
    )


def log_table(
    summary: LogSummary, *, stated: tuple[float, float, float] | None = None, invented: bool = False
) -> Table:
    """A delivery log in figures, beside what the offer states: lead time, its spread, rejected share."""
    found = summary.statistics
    offer = ("", "", "") if stated is None else (f"{stated[0]:.0f}", f"{stated[1]:.0f}", percent(stated[2]))
    on_time = (
        f"{percent(found.on_time_share)} ({percent(found.on_time_lower)} to {percent(found.on_time_upper)})"
    )
    tail = float(np.asarray(summary.best.observed).max())
    rows: list[tuple[str, str, str]] = [
        ("deliveries", f"{found.deliveries}", ""),
        ("orders still open", f"{summary.still_open}", ""),
        ("lead time, mean [d]", f"{found.mean_lead_time:.0f}", offer[0]),
        ("lead time, standard deviation [d]", _days(found.lead_time_spread), offer[1]),
        ("lead time, longest [d]", f"{tail:.0f}", ""),
        ("later than promised, mean [d]", f"{found.mean_lateness:.1f}", ""),
        ("on time (95 % limits)", on_time, ""),
        ("law of the lead time", f"{summary.best.family}, on {summary.best.deliveries} deliveries", ""),
        ("rejected of parts received", percent(summary.rejected_share), offer[2]),
        ("rejected at most (95 %)", percent(summary.rejected_at_most), ""),
        ("rejected lately", percent(summary.recent_share), ""),
    ]
    if summary.halves is not None:
        halves = f"{percent(summary.halves.share_before)} then {percent(summary.halves.share_after)}"
        rows.append(("rejected, earlier and later half", halves, ""))
        rows.append(("chance that it only looks worse", chance(summary.halves.chance), ""))
    table = make_table(
        f"Delivery log {summary.name}",
        (Column("what"), Column("log"), Column("offer states")),
        rows,
        invented=invented,
        notes=[f"{words[0].upper()}{words[1:]}." for words in summary.words],
    )
    return table if stated else table.without("offer states")


def _days(value: float) -> str:
    return f"{value:.1f}" if np.isfinite(value) else "one delivery has none"


def order_sizes_table(study: Study, sizes: Iterable[OrderSize]) -> Table:
    """What is ordered or made at once today, and what would cost least, every quantity tried."""
    currency = currency_of(study)
    return make_table(
        "How much to order or make at once",
        (
            Column("alternative"),
            Column("today", "part", "parts"),
            Column("cheapest", "part", "parts"),
            Column("running cost today", f"{currency}/yr", "money"),
            Column("at the cheapest", f"{currency}/yr", "money"),
            Column("textbook quantity", "part", "parts"),
        ),
        [
            (
                study.alternatives[size.name].title,
                size.today,
                size.lot,
                size.today_per_year,
                size.per_year,
                size.plain or "no cost of an order",
            )
            for size in sizes
        ],
        study=study,
        notes=(
            "Every quantity tried through the model. The textbook quantity knows no tier, minimum or step.",
        ),
    )


def soft_factors_table(study: Study, found: SoftFactors) -> Table:
    """Marks and gates, best first, then the weight of each factor at which the first two change places."""
    by_name = {row.name: row for row in found.marked}
    out = [row.name for row in found.marked if row.failed]
    rows = [
        (study.alternatives[name].title, by_name[name].score, "; ".join(by_name[name].failed) or "passes")
        for name in (*found.order, *out)
    ]
    flips = tuple(_flip_words(flip) for flip in found.flips)
    return make_table(
        "Soft factors: gates first, then weighted marks",
        (Column("alternative"), Column("mark", "", "number"), Column("gates")),
        rows,
        study=study,
        notes=(*flips, "Judged, not counted: no mark is in the money."),
    )


def _flip_words(flip: Flip) -> str:
    turn = (
        "no weight changes the first place"
        if flip.flips_at is None
        else f"the first two change places at {percent(flip.flips_at)}"
    )
    return f"{flip.criterion} weighs {percent(flip.weight)}: {turn}."


NOT_ASSUMED = "nothing assumed"


def price_checks_table(study: Study, found: Iterable[PriceCheck]) -> Table:
    """Every offer of the study: its price, and beside it the range of its maker's likely cost and margin."""
    unit = f"{currency_of(study)}/part"
    by_offer: dict[str, list[PriceCheck]] = {}
    for check in found:
        by_offer.setdefault(check.quote, []).append(check)
    rows: list[list[object]] = []
    for name, quote in study.quotes.items():
        rows += [
            [it.title, it.quantity, it.price, f"{it.low:.1f} to {it.high:.1f}", it.position]
            for it in by_offer.get(name, [])
        ] or [[quote.title, *[NOT_ASSUMED] * 3, "no range"]]
    return make_table(
        "Is a price reasonable?",
        (
            Column("offer"),
            Column("parts at once", "part", "parts"),
            Column("price", unit, "money"),
            Column("likely range", unit, "range"),
            Column("the price lies"),
        ),
        rows,
        study=study,
        notes=(
            "The range: our own cost model on what is assumed of the maker, 10 to 90 % of the draws. It holds no "
            "point: a price outside it is worth a question, no more.",
            "Price: of the offer at that quantity in home money, with packaging and surcharge, before freight and "
            "duty: carriage_in_price is taken off.",
            *(
                f"{study.quotes[name].title}: a price {study.quotes[name].delivery_term} holds {checks[0].held} as "
                "well, of which the offer does not state the amount: it lies that much too high beside its range."
                for name, checks in by_offer.items()
                if checks[0].held
            ),
        ),
    )


def price_check_table(study: Study, found: PriceCheck) -> Table:
    """What the range of one offer rests on: every assumption of its maker, its source and how well it is known."""
    rows = [
        [
            described(study, row.address),
            f"{amount(row.low, row.unit)} to {amount(row.high, row.unit)}",
            row.status,
            row.source or "no source",
        ]
        for row in found.assumed
    ]
    margin = f"{percent(found.margin[0])} to {percent(found.margin[1])} of the price"
    return make_table(
        f"Assumed of {found.title}, at {plain(found.quantity, 0)} parts at once",
        (Column("what"), Column("one in ten below, one in ten above"), Column("status"), Column("source")),
        [*rows, ["margin", margin, found.status, found.source or "no source"]],
        study=study,
        notes=(f"{OWN[0].upper()}{OWN[1:]}.", f"{found.draws} draws."),
    )


def stock_check_table(study: Study, found: StockCheck) -> Table:
    """A reorder point by the closed form and as simulated day by day."""
    verdict = "confirmed, as far as the error of the point tells" if found.confirmed else "corrected"
    basis = f"on {found.deliveries} deliveries" if found.deliveries else "made from mean and spread"
    middle, spread = HUNDRED * found.simulated, HUNDRED * TWO_ERRORS * found.error
    service = with_range(middle, middle - spread, middle + spread)
    off = TWO_ERRORS * found.error_of_needed
    rows = [
        (
            "service wanted",
            f"{percent(found.wanted)} of {'cycles' if found.measure == 'cycle' else 'demand'}",
        ),
        ("reorder point of the closed form", f"{found.closed_form:.0f} part"),
        ("service in the simulation", f"{service} %"),
        ("reorder point that gives the service", f"{found.needed:.0f} part (give or take {off:.0f})"),
        ("closed form", verdict),
        *_correction_rows(study, found),
        ("lead time", f"{found.family} law {basis}"),
    ]
    return make_table(
        f"Stock of {study.alternatives[found.name].title}, day by day",
        (Column("what"), Column("value")),
        rows,
        study=study,
        notes=(
            "Give or take: two standard errors of the simulation. Lead times are drawn one by one, so that orders may "
            "overtake each other: where a source delivers in turn, do not go below the closed form.",
        ),
    )


def _correction_rows(study: Study, found: StockCheck) -> list[tuple[str, str]]:
    """What the correction moves and what that costs in a year; nothing where the closed form is confirmed."""
    if found.confirmed:
        return []
    more = found.extra_parts > 0.0
    cost = f"{plain(abs(found.extra_cost), 0)} {currency_of(study)}/yr"
    moved = "parts added by the correction" if more else "parts taken off by the correction"
    return [
        (moved, f"{abs(found.extra_parts):.0f} part"),
        ("what they cost to hold" if more else "what they save in holding", cost),
    ]
