"""Tables of a review: promised and brought, the gap by cause, lessons; and the signatures of a decision."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from costmodel.records.snapshot import Planned
from costmodel.review import Kept, Review, SignOff, payback_day
from costmodel.review_curves import ReviewCash
from costmodel.tables.rate_tables import CENT, bridges_table
from costmodel.tables.rounding import money, plain, scaled, significant
from costmodel.tables.table import Column, Table, is_invented, make_table
from costmodel.tables.words import described, title_of


def review_tables(found: Review) -> dict[str, Table]:
    """All tables of a review by name."""
    invented = found.actuals.invented or found.study.invented
    unit = f"{found.study.rates.year.home_currency}/yr"
    per_part = [replace(it, name=title_of(found.study, it.name)) for it in (found.gap, found.baseline_gap)]
    return {
        "promised": promised_table(found),
        "gap": bridges_table(per_part, "Cost of a part, plan to actual, by cause", invented=invented),
        "saving": bridges_table(
            [found.saving], f"Saving as booked [{unit}], plan to actual, by cause", invented=invented
        ),
        "lessons": lessons_table(found),
    }


def promised_table(found: Review) -> Table:
    """Promised and realised side by side."""
    currency = found.study.rates.year.home_currency
    plan, real = found.snapshot.planned, found.realised
    rows = [
        ["saving in cash", f"{currency}/yr", money(found.promised_cash), money(found.realised_cash)],
        ["cost of a part", f"{currency}/part", f"{plan.per_part:.2f}", f"{real.per_part:.2f}"],
        ["as before", f"{currency}/part", f"{plan.baseline_per_part:.2f}", f"{real.baseline_per_part:.2f}"],
        ["parts", "part/yr", *(plain(_parts(it), 0) for it in (found.snapshot.study, found.study))],
        [
            "saving as booked, at full machine rates",
            f"{currency}/yr",
            money(plan.saving_per_year),
            money(real.saving_per_year),
        ],
        ["paid once", currency, money(plan.once), money(real.once)],
        ["payback on cash", "months", *(_months(it) for it in (plan, real))],
        ["money back on", "", *(_day(found, it) for it in (plan, real))],
    ]
    columns = [
        Column("figure"),
        Column("unit"),
        *(Column(word, kind="number") for word in ("promised", "realised")),
    ]
    chosen, before = (title_of(found.study, it) for it in (found.snapshot.chosen, found.snapshot.baseline))
    title = f'"{chosen}" against "{before}"'
    return make_table(title, columns, rows, invented=found.actuals.invented)


def _parts(study: object) -> float:
    return float(study.demand.per_year)  # type: ignore[attr-defined]


def _months(planned: Planned) -> str:
    return "never" if planned.payback_months is None else plain(planned.payback_months, 1)


def _day(found: Review, planned: Planned) -> str:
    day = payback_day(found.snapshot.decided_on, planned.payback_months)
    return "never" if day is None else day.isoformat()


def words(found: Review) -> tuple[str, ...]:
    """What a manager must know of a review, in sentences."""
    currency = found.study.rates.year.home_currency
    if found.snapshot.chosen == found.snapshot.baseline:
        plan, real = found.snapshot.planned.per_part, found.realised.per_part
        stayed = "It was decided to stay: nothing was paid, and nothing has to come back."
        return (
            f"{stayed} A part costs {real:.2f} {currency}, {plan:.2f} planned.",
            _again_words(found),
            *_edited_words(found),
        )
    said = [
        f"In cash, {money(found.promised_cash)} {currency} a year was promised and {money(found.realised_cash)} came. "
        f"As booked, at full machine rates: of {money(found.saving.before)} {currency} a year, {found.share:.0%} was "
        f"realised: {money(found.saving.after)} {currency}."
    ]
    if found.reached:
        said.append(f"The money is back: it was on {found.payback_day}.")
    elif found.payback_day is None:
        said.append("At what it really saves the money never comes back.")
    else:
        said.append(f"The money is not back yet; at what it really saves it will be on {found.payback_day}.")
    return (*said, _again_words(found), *_edited_words(found))


def _edited_words(found: Review) -> tuple[str, ...]:
    if found.intact:
        return ()
    return ("The frozen inputs no longer have the fingerprint of the decision: somebody edited them.",)


def _again_words(found: Review) -> str:
    again, currency = found.again, found.study.rates.year.home_currency
    best = title_of(found.study, again.best)
    ahead = f"over the {again.months} months ahead, what is paid counted as past"
    if again.best == found.snapshot.chosen:
        bought = again.best_buy not in ("", again.best)
        rest = f"; buying again would cost {money(-again.buy_lead)} {currency} more" if bought else ""
        return f"It stays the best {ahead}{rest}."
    if again.buy_lead > 0.0:
        buy = title_of(found.study, again.best_buy)
        return f'Buying again would now be better {ahead}: "{buy}" by {money(again.buy_lead)} {currency} worth today.'
    return f'Another way would now be better {ahead}: "{best}" by {money(again.lead)} {currency} worth today.'


def lessons_table(found: Review) -> Table:
    """Planned and actual inputs, and the belief to start from next time."""
    rows = []
    for lesson in found.lessons:
        factor, unit = scaled(1.0, lesson.unit)
        values = [lesson.plan, lesson.actual, lesson.low, lesson.likely, lesson.high]
        shown = [significant(factor * value, 4) for value in values]
        held = {None: "no range", True: "within", False: "OUTSIDE"}[lesson.in_range]
        ratio = f"{lesson.ratio:.2f}" if np.isfinite(lesson.ratio) else ""
        n = "" if lesson.n is None else str(lesson.n)
        rows.append(
            [
                described(found.study, lesson.address),
                unit,
                *shown[:2],
                ratio,
                held,
                n,
                f"{lesson.weight:.2f}",
                *shown[2:],
            ]
        )
    numbers = [Column(word, kind="number") for word in ("plan", "actual", "ratio")]
    more = [Column(word, kind="number") for word in ("n", "weight", "next: 10 %", "50 %", "90 %")]
    columns = [Column("input"), Column("unit"), *numbers, Column("10-90 % range"), *more]
    note = (
        "Weight: of what happened against what was believed, by the certainty of both. The last three columns are the "
        "belief to start the next plan from."
    )
    return make_table("Lessons", columns, rows, notes=[note], invented=found.actuals.invented)


def history_table(plans: Iterable[tuple[Kept, Sequence[str]]]) -> Table:
    """Every frozen plan: its figures as decided and from its own inputs today, and files that are others by now."""
    listed = list(plans)
    currency = listed[0][0].snapshot.study.rates.year.home_currency if listed else ""
    columns = [
        *(Column(word) for word in ("study", "decided on", "rates", "chosen")),
        Column("a part, as decided", f"{currency}/part", "money", step=CENT),
        Column("a part, today", f"{currency}/part", "money", step=CENT),
        *(Column(word) for word in ("figures", "inputs", "files changed since")),
    ]
    rows = [
        [
            plan.snapshot.study.name,
            f"{plan.snapshot.decided_on}",
            f"{plan.snapshot.study.rates.year.year}",
            plan.snapshot.chosen,
            *(plan.snapshot.planned.per_part, plan.today.per_part),
            "the same to the cent" if plan.holds else "DIFFER",
            plan.snapshot.fingerprint,
            ", ".join(changed) or "none",
        ]
        for plan, changed in listed
    ]
    note = "Figures come from the frozen inputs, with the rates of their own year; no later edit of a file moves them."
    invented = any(is_invented(plan.snapshot.study) for plan, _ in listed)
    return make_table("Decisions kept", columns, rows, notes=[note], invented=invented)


def review_cash_table(curve: ReviewCash) -> Table:
    """Cash saved so far by month, promised and realised."""
    currency = curve.subject.currency
    columns = [
        Column("month", "", "whole"),
        *(Column(word, currency, "money") for word in ("promised", "on what happened", "gap")),
        Column("month is"),
    ]
    rows = [
        [int(month), plan, real, real - plan, "reviewed" if month <= curve.reviewed else "ahead"]
        for month, plan, real in zip(curve.months, curve.promised, curve.realised, strict=True)
    ]
    titles = curve.subject.titles
    title = (
        f'Cash saved so far by "{titles[curve.target]}" against "{titles[curve.start]}", stock money apart'
    )
    return make_table(title, columns, rows, invented=curve.subject.invented)


def sign_off_table(found: SignOff) -> Table:
    """Who signed on which inputs, and what has changed since."""
    rows = [*([line, "stands" if found.valid else "see below"] for line in found.lines)]
    notes = [f"CHANGED: {line}" for line in found.changed]
    notes += [f"DUE: {found.due}"] if found.due else []
    return make_table("Signatures", [Column("signed"), Column("state")], rows, notes=notes)
