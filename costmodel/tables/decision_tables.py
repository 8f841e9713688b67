"""Tables of a decision: alternatives, rate bases, break-evens, payback, hours, switching values, what is known."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from costmodel.capacity import MachineHours
from costmodel.cost_lines import Flag, is_cash
from costmodel.crossings import Crossing
from costmodel.decision import Decision
from costmodel.make_or_buy import Comparison
from costmodel.payback import Payback
from costmodel.records.study import BASIS_WORDS, Study
from costmodel.register import Assumption
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import (
    NEVER,
    amount,
    chance,
    decimals_of_range,
    plain,
    range_text,
    scaled,
    significant,
)
from costmodel.tables.table import Column, Table, make_table, single
from costmodel.tables.words import described
from costmodel.uncertainty import Outcome

KINDS = ("make", "buy", "split")
KIND_WORDS = {"make": "make", "buy": "buy", "split": "make and buy"}
NOT_DRAWN = "not drawn"
NONE_IN_RANGE = "none in range"


def alternatives_table(comparison: Comparison, outcome: Outcome | None = None) -> Table:
    """Every alternative at the same volume and point of use; with an outcome, rounded to what its range supports."""
    study = comparison.study
    currency = currency_of(study)
    steps = _steps(study, outcome)
    columns = [
        Column("alternative"),
        Column("kind"),
        Column("a part", f"{currency}/part", "money", steps.get("part")),
        Column("of it cash", f"{currency}/part", "money", steps.get("part")),
        Column("a year", f"{currency}/yr", "money", steps.get("year")),
        Column("once", currency, "money", steps.get("year")),
        Column("tied up", currency, "money", steps.get("year")),
        Column("short", "part/yr", "parts"),
        Column(f"cash worth, {study.finance.horizon} months", currency, "money", steps.get("worth")),
    ]
    if outcome is not None:
        columns.insert(3, Column("10 to 90 %", f"{currency}/part", "range"))
    rows: list[list[object]] = []
    for name, cost in comparison.alternatives.items():
        row: list[object] = [
            f"{cost.title} (today)" if cost.current else cost.title,
            KIND_WORDS[cost.kind],
            single(cost.per_part()),
            single(cost.per_part(is_cash)),
            single(cost.per_year()),
            single(cost.once()),
            single(cost.tied_up()),
            single(cost.short_per_year()),
            single(comparison.worth[name]),
        ]
        if outcome is not None:
            row.insert(3, _drawn(outcome, name))
        rows.append(row)
    return make_table(
        "Alternatives side by side",
        columns,
        rows,
        study=study,
        notes=(
            f"All at {plain(single(study.demand.per_year), 0)} good parts a year at the point of use; a part is the "
            f"running cost, machine hours {BASIS_WORDS[comparison.basis]}; once is not in it.",
            *_leaning(comparison, outcome),
            *_absent(comparison),
        ),
    )


def _steps(study: Study, outcome: Outcome | None) -> dict[str, float]:
    """What the ranges support, as steps of rounding: of a part, of a year, of the worth."""
    if outcome is None or any(low == high for low, _, high in outcome.per_part.values()):
        return {}
    decimals = min(decimals_of_range(low, high) for low, _, high in outcome.per_part.values())
    volume = int(np.floor(np.log10(single(study.demand.per_year))))
    low, _, high = outcome.advantage
    return {
        "part": 10.0**-decimals,
        "year": 10.0 ** (volume - decimals),
        "worth": 10.0 ** -decimals_of_range(low, high),
    }


def _drawn(outcome: Outcome, name: str) -> str:
    if name not in outcome.per_part:
        return NOT_DRAWN
    low, _, high = outcome.per_part[name]
    return range_text(low, high)


EDGE = 0.05
"""So near an end of a range, as a share of its width, a base value is at its edge."""


def _leaning(comparison: Comparison, outcome: Outcome | None) -> tuple[str, ...]:
    """Why a figure can lie outside its own range, where one does."""
    drawn = {} if outcome is None else outcome.per_part
    base = {name: single(comparison.alternatives[name].per_part()) for name in drawn}
    places = ((base[name] - low) / (high - low) for name, (low, _, high) in drawn.items() if low < high)
    if all(EDGE <= place <= 1.0 - EDGE for place in places):
        return ()
    return (
        "A part takes every input at its base value. Where ranges lean to one side, as bad luck does, that lies at "
        "the edge of the range or outside it: go by the range.",
    )


def _absent(comparison: Comparison) -> tuple[str, ...]:
    """Kinds of alternatives that a comparison lacks, by name, so that a missing one is no zero."""
    there = {cost.kind for cost in comparison.alternatives.values()}
    missing = [KIND_WORDS[kind] for kind in KINDS if kind not in there]
    others = [cost for cost in comparison.alternatives.values() if cost.kind == "buy" and not cost.current]
    missing += [] if others else ["another supplier"]
    return (f"Not in this study: {', '.join(missing)}.",) if missing else ()


def bases_table(decision: Decision) -> Table:
    """Making and buying on the four bases of the machine-hour rate, and the answer on each."""
    study = decision.study
    unit = f"{currency_of(study)}/part"
    return make_table(
        "Four bases of the machine-hour rate",
        (
            Column("hours counted"),
            Column("make", unit, "money"),
            Column("buy", unit, "money"),
            Column("cheaper"),
        ),
        [
            [BASIS_WORDS[view.basis], single(view.make), single(view.buy), view.answer]
            for view in decision.bases
        ],
        study=study,
        notes=(
            f'"{decision.make.title}" against "{decision.buy.title}", once-costs spread, at today\'s prices; only what '
            "an hour of a machine counts differs between the rows.",
            "The answer depends on the basis."
            if len({view.answer for view in decision.bases}) > 1
            else "The answer is the same on all.",
        ),
    )


def break_even_table(
    crossings: Iterable[Crossing],
    searched: tuple[int, int],
    *,
    study: Study | None = None,
    unit: str = "part/yr",
) -> Table:
    """Every whole number from which another side is the cheaper; ``never`` where there is none."""
    low, high = searched

    def title(name: str) -> str:
        return study.alternatives[name].title if study and name in study.alternatives else name

    rows: list[list[object]] = [
        [
            crossing.volume,
            title(crossing.lower_from_here),
            title(crossing.lower_below),
            "jump" if crossing.jump else "slope",
        ]
        for crossing in crossings
    ]
    return make_table(
        "Where the cheaper side changes",
        (
            Column("from", unit, "whole"),
            Column("cheaper from here"),
            Column("cheaper below"),
            Column("made by"),
        ),
        rows or [[NEVER, "no change", "no change", "none"]],
        study=study,
        notes=(
            f"Every whole number from {plain(low, 0)} to {plain(high, 0)} was looked at, on cash, once-costs spread.",
            "A jump is a price break, a minimum or a lot, not the slope of the two costs."
            if any(row[-1] == "jump" for row in rows)
            else "",
        ),
    )


def payback_table(study: Study, change: Payback) -> Table:
    """What a change takes and brings on three bases; cash is the headline."""
    currency = currency_of(study)
    bases = (
        ("cash (headline)", change.cash_saving, change.cash_months),
        ("as booked, at the full rate", change.booked_saving, change.booked_months),
        ("cash, hours at what else they earn", change.refilled_saving, change.refilled_months),
    )
    start, target = study.alternatives[change.start].title, study.alternatives[change.target].title
    return make_table(
        "When the money is back",
        (
            Column("saving counted"),
            Column("paid once", currency, "money"),
            Column("saved a year", f"{currency}/yr", "money"),
            Column("back after", "months", "months"),
        ),
        [[name, single(change.once), single(saving), single(back)] for name, saving, back in bases],
        study=study,
        notes=(
            f'From "{start}" to "{target}".',
            f"Worth today of the change, on cash over {study.finance.horizon} months: "
            f"{plain(single(change.present_worth), 0)} {currency}, stock money in it.",
            "Booked savings hold hours that stay paid; only cash comes back.",
        ),
    )


def capacity_table(decision: Decision) -> Table:
    """Machine hours that making needs against those free, in a year and in the busiest month of the horizon."""
    rows = [
        [hours.machine, hours.needed, hours.free, hours.peak_needed, hours.free_month, _fits(hours)]
        for hours in decision.capacity
    ]
    unknown: list[list[object]] = [["none", "free hours not stated", *["not stated"] * 3, "unknown"]]
    study = decision.study
    return make_table(
        "Machine hours, a year and in the busiest month",
        (
            Column("machine"),
            Column("needed", "h/yr", "hours"),
            Column("free", "h/yr", "hours"),
            Column("needed at most", "h/month", "hours"),
            Column("free a month", "h/month", "hours"),
            Column("short"),
        ),
        rows or unknown,
        study=study,
        notes=(
            f'For "{decision.make.title}", set-ups and lost parts in it; at most: in the busiest month of '
            f"{study.finance.horizon}, demand grown, {plain(single(study.demand.peak), 2)} times an average one.",
        ),
    )


def _fits(hours: MachineHours) -> str:
    if hours.short_from is None:
        return "fits"
    return f"{plain(hours.short, 0)} h/yr from month {hours.short_from}"


def switching_table(decision: Decision, most: int | None = None) -> Table:
    """The value of each input at which the answer turns, and how far off it is; ``none in range`` where none."""
    study = decision.study
    rows: list[list[object]] = []
    for swing in decision.swings[:most]:
        turning = NONE_IN_RANGE if swing.switching is None else scaled(swing.switching, swing.unit)[0]
        distance = NONE_IN_RANGE if swing.switching is None else "base is zero"
        rows.append(
            [
                described(study, swing.address),
                *(scaled(value, swing.unit)[0] for value in (swing.base, swing.low, swing.high)),
                turning,
                distance if swing.distance is None else 100.0 * swing.distance,
                scaled(swing.base, swing.unit)[1] or "none",
                "yes" if swing.flips else "no",
                swing.status,
                swing.address,
            ]
        )
    return make_table(
        "What would change the answer, widest swing first",
        (
            Column("input"),
            Column("base", "", "number"),
            Column("at 10 %", "", "number"),
            Column("at 90 %", "", "number"),
            Column("turns at", "", "number"),
            Column("distance", "%", "percent"),
            Column("unit"),
            Column("turns within 10 to 90 %"),
            Column("status"),
            Column("address"),
        ),
        rows,
        study=study,
        notes=("One input at a time, each over its own range.",)
        if rows
        else ("No ranges are stated: nothing says how sure the answer is.",),
    )


def outcome_table(decision: Decision) -> Table:
    """What the draws say: the advantage at 10, 50 and 90 %, and how often making is the cheaper."""
    study, outcome = decision.study, decision.outcome
    currency = currency_of(study)
    step = (
        None
        if outcome.advantage[0] == outcome.advantage[2]
        else 10.0 ** -decimals_of_range(*outcome.advantage[::2])
    )
    return make_table(
        "How sure: worth today of what making saves over buying",
        (
            Column("at 10 %", currency, "money", step),
            Column("at 50 %", currency, "money", step),
            Column("at 90 %", currency, "money", step),
            Column("mean", currency, "money", step),
            Column("error of mean", currency, "error"),
            Column("making cheaper in", "% of draws", "chance"),
        ),
        [[*outcome.advantage, outcome.mean_advantage, outcome.mean_error, 100.0 * outcome.chance]],
        study=study,
        notes=(
            f'"{decision.make.title}" against "{decision.buy.title}", chosen before the draws; cash over '
            f"{study.finance.horizon} months.",
            f"{plain(outcome.draws, 0)} draws, seed {outcome.seed}; making is cheaper in {chance(outcome.chance)}"
            + (
                f", give or take {significant(100.0 * outcome.chance_error, 1)} percentage points."
                if outcome.chance_error > 0.0
                else "."
            ),
        ),
    )


def status_table(decision: Decision) -> Table:
    """How many of the figures are guesses, quoted, measured."""
    counts = decision.status_counts()
    whole = max(1, len(decision.register))
    rows: list[list[object]] = [[status, count, 100.0 * count / whole] for status, count in counts.items()]
    return make_table(
        "What is guessed and what is measured",
        (Column("status"), Column("figures", "", "whole"), Column("share", "%", "percent")),
        [*rows, ["total", len(decision.register), 100.0]],
        study=decision.study,
        totals=1,
    )


def register_table(study: Study, register: Iterable[Assumption]) -> Table:
    """Every figure that a study rests on: value, range, source, date, owner, status."""
    return make_table(
        "Figures this rests on",
        (
            Column("address"),
            Column("value"),
            Column("low"),
            Column("high"),
            Column("status"),
            Column("source"),
            Column("as of"),
            Column("owner"),
            Column("used by"),
        ),
        [
            [
                row.address,
                *(_value(value, row.unit) for value in (row.value, row.low, row.high)),
                row.status,
                row.source or "not stated",
                row.as_of.isoformat() if row.as_of else "not stated",
                row.owner or "not stated",
                "all" if len(row.used_by) == len(study.alternatives) else ", ".join(row.used_by),
            ]
            for row in register
        ],
        study=study,
    )


def _value(value: object, unit: str) -> str:
    if value is None:
        return "not stated"
    number = single(value)  # type: ignore[arg-type]
    return amount(number, "fraction" if "fraction" in unit else unit)


def flags_table(study: Study, flags: Iterable[Flag]) -> Table:
    """What a reader must know: stale rates, expired offers, limits exceeded."""
    rows = [[flag.place, flag.text] for flag in flags]
    return make_table(
        "To be known",
        (Column("place"), Column("what")),
        rows or [["none", "no rate is stale, no offer expired, no limit exceeded"]],
        study=study,
    )
