"""Tables of the make side beyond the cost of a part: minutes item by item, tools at risk, settings, lots, life logs."""

from __future__ import annotations

from collections.abc import Iterable

from costmodel.formulas.life_fit import Estimate, TaylorLogFit, Verdict
from costmodel.life_log import ToolLog
from costmodel.lot_size import LotChoice
from costmodel.machine_rate import IdleHours
from costmodel.part_cost import PartCost
from costmodel.records.study import Study
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import money, plain, significant
from costmodel.tables.table import Column, Table, make_table, single
from costmodel.tables.words import described
from costmodel.tool_policy import Night, ToolRisks
from costmodel.tool_settings import BriskFeed, Setting, SettingCurve

LOT_STEPS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)
UNKNOWN = "cannot be told"


def minutes_table(study: Study, cost: PartCost) -> Table:
    """What the minutes of each step go into, on both clocks, for a part that goes through the step."""
    rows: list[list[object]] = []
    for item in cost.spent:
        often = cost.rhythm.per_part(item.level, item.step)
        machine, hands = single(item.machine * often), single(item.hands_on * often)
        if machine != 0.0 or hands != 0.0:
            rows.append([item.step, item.what, item.level, machine, hands])
    alone = plain(single(cost.unattended_hours()), 0)
    return make_table(
        f"{cost.title}: where the minutes go",
        (
            Column("step"),
            Column("what"),
            Column("occurs per"),
            Column("machine", "min/part", "minutes"),
            Column("hands-on", "min/part", "minutes"),
        ),
        rows,
        study=study,
        notes=(
            "For a part that enters the step; what is shared by a load or a lot is divided by its parts.",
            f"Machines run {alone} hours a year with nobody at work on the part. A price for such hours does not "
            "make them safe.",
        ),
    )


def risks_table(study: Study, risks: ToolRisks) -> Table:
    """Tools whose life scatters: the rule of change now, the cheapest, and running to failure, each with its price."""
    year = f"{currency_of(study)}/yr"
    return make_table(
        "When tools are changed, and what that costs",
        (
            Column("tool"),
            Column("step"),
            Column("mean life", "part", "parts"),
            Column("scatter", "%", "percent"),
            Column("a change", currency_of(study), "money"),
            Column("a failure", currency_of(study), "money"),
            Column("parts lost by it", "part", "number"),
            Column("changed now at", "part", "parts"),
            Column("failures now", "1/yr", "number"),
            Column("cost now", year, "money"),
            Column("cheapest at", "part", "parts"),
            Column("failures then", "1/yr", "number"),
            Column("cost then", year, "money"),
            Column("run to failure", year, "money"),
        ),
        [
            [
                risk.tool,
                risk.step,
                single(risk.life_parts),
                100.0 * single(risk.variation),
                single(risk.planned_cost),
                single(risk.failure.whole),
                single(risk.lost_parts),
                single(risk.now.change_at),
                single(risk.now.failures_per_year),
                single(risk.now.cost_per_year),
                single(risk.cheapest.change_at),
                single(risk.cheapest.failures_per_year),
                single(risk.cheapest.cost_per_year),
                single(risk.to_failure.cost_per_year),
            ]
            for risk in risks.priced
        ],
        study=study,
        notes=(
            "A failure costs the tool, the parts spoilt at what they have cost so far, and what stands still; "
            "unattended, all that follows until it is noticed.",
            f"State no scatter, so that nothing is said of them: {', '.join(risks.unstated)}."
            if risks.unstated
            else "",
        ),
    )


def feeds_table(study: Study, feeds: Iterable[BriskFeed]) -> Table:
    """Cuts at a multiple of their feed: what it saves, and the share of its life that the tool must keep."""
    per_part = f"{currency_of(study)}/part"
    rows: list[list[object]] = []
    for feed in feeds:
        saved, life = feed.change.saved, feed.break_even_life
        rows.append(
            [
                feed.address.split(".cuts.")[-1].rpartition(".")[0],
                feed.tool,
                feed.brisk / feed.now,
                single(feed.change.minutes_per_part),
                single(feed.change.hours_per_year),
                single(saved["cash"]),
                single(saved["practical"]),
                100.0 * life["cash"],
                100.0 * life["practical"],
                "yes" if feed.life_follows else "no",
                "; ".join(flag.text for flag in feed.change.flags) or "no",
            ]
        )
    return make_table(
        "Feeds raised: what is saved, and how much life that may cost",
        (
            Column("cut"),
            Column("tool"),
            Column("times", "", "number"),
            Column("saved", "min/part", "number"),
            Column("saved hours", "h/yr", "number"),
            Column("saved, cash only", per_part, "number"),
            Column("saved, full", per_part, "number"),
            Column("life to keep, cash", "%", "percent"),
            Column("life to keep, full", "%", "percent"),
            Column("life model knows the feed"),
            Column("beyond limits"),
        ),
        rows,
        study=study,
        notes=(
            "Below the share of its life to keep the tool costs more than the time saves. Where the life model does "
            "not know the feed, the saving holds life unchanged.",
            "Whether tool, finish and machine bear the feed is for whoever runs them: nothing here says so.",
        ),
    )


def settings_table(study: Study, settings: Iterable[Setting]) -> Table:
    """The cheapest speed and feed of cuts within all limits, from half to twice what they are."""
    per_part = f"{currency_of(study)}/part"
    rows: list[list[object]] = []
    for it in settings:
        curve = it.curve
        within = [value for value, far in zip(curve.values, curve.beyond, strict=True) if not far]
        rows.append(
            [
                f"{it.step}.{it.cut}",
                it.tool,
                it.setting.replace("_", " "),
                curve.now,
                curve.cost_now,
                curve.best,
                curve.cost_best,
                max(within, default=curve.now),
                "yes" if it.life_follows else "no",
            ]
        )
    return make_table(
        "The cheapest speed and feed, each tried alone",
        (
            Column("cut"),
            Column("tool"),
            Column("setting"),
            Column("now", "", "number"),
            Column("cost now", per_part, "money"),
            Column("cheapest", "", "number"),
            Column("cost then", per_part, "money"),
            Column("fastest within limits", "", "number"),
            Column("life model knows it"),
        ),
        rows,
        study=study,
        notes=(
            "Tried from half to twice the setting through the whole model; speeds in m/min, or 1/min of the spindle; "
            "feeds in mm, or mm/min of the table. A setting at which machine or tool cannot follow is not chosen.",
            "Where the life model does not know the setting, the fastest is cheapest and says nothing of the tool.",
        ),
    )


def setting_table(study: Study, curve: SettingCurve) -> Table:
    """Cost of a part over one speed or feed, the value now and the cheapest within all limits."""
    rows = [
        [value, cost, "yes" if far else "no"]
        for value, cost, far in zip(curve.values, curve.costs, curve.beyond, strict=True)
    ]
    return make_table(
        f"Cost of a part over {described(study, curve.address)}",
        (
            Column("value", "", "number"),
            Column("cost", f"{currency_of(study)}/part", "money"),
            Column("beyond limits"),
        ),
        rows,
        study=study,
        notes=(
            f"Now {significant(curve.now)} at {money(curve.cost_now)}; cheapest within limits "
            f"{significant(curve.best)} at {money(curve.cost_best)}.",
        ),
    )


def night_table(study: Study, nights: Iterable[tuple[str, Night]]) -> Table:
    """Stretches without a person: parts loaded, and what failed tools spoil with and without detection."""
    year = f"{currency_of(study)}/yr"
    return make_table(
        "Runs without a person",
        (
            Column("step"),
            Column("loads", "load", "whole"),
            Column("takes", "min", "minutes"),
            Column("parts", "part", "parts"),
            Column("any failure", "%", "percent"),
            Column("spoilt, unseen", "part", "number"),
            Column("spoilt, seen", "part", "number"),
            Column("a year, unseen", year, "money"),
            Column("a year, seen", year, "money"),
        ),
        [
            [
                step,
                night.loads,
                single(night.minutes),
                single(night.parts),
                100.0 * single(night.failure_chance),
                single(night.scrap_unseen),
                single(night.scrap_seen),
                single(night.cost_unseen),
                single(night.cost_seen),
            ]
            for step, night in nights
        ],
        study=study,
        notes=(
            "Seen: each failure is noticed at the end of its load and stops the run; unseen: all later loads are lost.",
            "A price for unattended hours does not make them safe: ask the insurer and the fire authority first.",
        ),
    )


def lots_table(study: Study, choice: LotChoice) -> Table:
    """Running cost a year about the cheapest lot, and of the lot now in use."""
    wanted = sorted({choice.now, choice.cheapest, *(round(choice.cheapest * step) for step in LOT_STEPS)})
    known = dict(zip(choice.lots, choice.per_year, strict=True))
    rows = [
        [lot, known[lot], known[lot] - choice.cost, _lot_word(lot, choice)] for lot in wanted if lot in known
    ]
    year = f"{currency_of(study)}/yr"
    return make_table(
        "How many to make or order at once",
        (
            Column("lot", "part", "whole"),
            Column("running cost", year, "money"),
            Column("above the cheapest", year, "money"),
            Column(""),
        ),
        rows,
        study=study,
        notes=(
            f"At the cheapest, {plain(choice.by_lot, 0)} a year is paid by the lot (set-up, transport, minimums) and "
            f"{plain(choice.stock, 0)} for stock and shortage.",
        ),
    )


def _lot_word(lot: float, choice: LotChoice) -> str:
    words = [word for word, value in (("now", choice.now), ("cheapest", choice.cheapest)) if value == lot]
    return " and ".join(words)


def idle_table(study: Study, idle: Iterable[IdleHours]) -> Table:
    """Standing cost of hours that machines could run and do not: a line of the year, in no part."""
    year = f"{currency_of(study)}/yr"
    return make_table(
        "Hours left idle, a cost of the year",
        (
            Column("machine"),
            Column("standing cost", year, "money"),
            Column("practical hours", "h/yr", "hours"),
            Column("used", "h/yr", "hours"),
            Column("idle cost", year, "money"),
        ),
        [
            [
                row.machine,
                single(row.standing_per_year),
                single(row.practical_hours),
                single(row.used_hours),
                single(row.cost),
            ]
            for row in idle
        ],
        study=study,
        notes=("Used: all work on the machine, this part's with it. No part carries idle hours.",),
    )


def life_table(logs: Iterable[ToolLog], invented: bool) -> Table:
    """What a log says of each tool, with bounds, and plainly where it says nothing."""
    rows: list[list[object]] = []
    for log in logs:
        taylor = log.taylor
        verdicts = [log.scatter.verdict, *([taylor.verdict] if taylor else [])]
        rows.append(
            [
                log.tool,
                f"{log.edges}, {log.worn} worn",
                log.unit,
                _bounds(log.scatter.scale),
                _bounds(log.scatter.shape),
                UNKNOWN if taylor is None else _bounds(taylor.exponent),
                UNKNOWN if taylor is None else _bounds(taylor.constant),
                _constant_feed(log),
                UNKNOWN if taylor is None else _feed_exponent(taylor),
                _variation(taylor),
                UNKNOWN if log.safe is None else single(log.safe.change_at),
                _words(verdicts),
            ]
        )
    return make_table(
        "What the log of tool lives says",
        (
            Column("tool"),
            Column("edges"),
            Column("life in"),
            Column("scale"),
            Column("shape"),
            Column("Taylor exponent"),
            Column("Taylor constant", "m/min"),
            Column("at a feed of", "mm"),
            Column("feed exponent"),
            Column("varies by", "%", "percent"),
            Column("mean less 3 s", "", "parts"),
            Column("can the log support it"),
        ),
        rows,
        invented=invented,
        notes=(
            "Likeliest values with their 95 % bounds; edges taken out still good count as having lasted longer.",
            "Scale and shape are over all settings of the log; with several speeds take the Taylor constants.",
            "With a feed exponent the constant is that of a feed of 1 mm: the three go together into the row of the "
            "tool. Without one it holds at the feed of the log alone.",
        ),
    )


def _constant_feed(log: ToolLog) -> str:
    if log.taylor is None or log.taylor.constant is None or log.constant_feed is None:
        return UNKNOWN
    return significant(log.constant_feed)


def _feed_exponent(fit: TaylorLogFit) -> str:
    """The exponent, or that the log shows none: one feed, or a fit that failed."""
    return "one feed" if fit.exponent and fit.feed_exponent is None else _bounds(fit.feed_exponent)


def _variation(fit: TaylorLogFit | None) -> float | str:
    """Scatter at equal settings, from the fit that takes speed and feed out of it [%]."""
    return UNKNOWN if fit is None or fit.variation is None else 100.0 * fit.variation


def _bounds(estimate: Estimate | None) -> str:
    if estimate is None:
        return UNKNOWN
    value, low, high = (significant(number) for number in (estimate.value, estimate.low, estimate.high))
    return f"{value} ({low} to {high})"


def _words(verdicts: Iterable[Verdict]) -> str:
    found = tuple(verdicts)
    reasons = dict.fromkeys(reason for verdict in found for reason in verdict.reasons)
    cautions = dict.fromkeys(caution for verdict in found for caution in verdict.cautions)
    head = "no: " + "; ".join(reasons) if reasons else "yes"
    return "; ".join([head, *cautions])
