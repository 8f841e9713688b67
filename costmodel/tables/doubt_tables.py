"""Tables of doubt and of time: what knowing is worth, what varies with what, scenarios, returns, scarce hours."""

from __future__ import annotations

from collections.abc import Iterable

from costmodel.capacity import MachineHours
from costmodel.information import Information
from costmodel.make_or_buy import MONTHS_PER_YEAR
from costmodel.records.study import Study
from costmodel.returns import AfterTax, Returns
from costmodel.scarce_hours import ScarceHours
from costmodel.scenarios import Cases
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import NEVER, months, plain, scaled
from costmodel.tables.table import Column, Table, make_table, single
from costmodel.tables.words import described, short_name, title_of
from costmodel.uncertainty import Outcome
from costmodel.variance_shares import Share
from costmodel.verdict_map import VerdictMap

CLEAR = 2.0
"""Standard errors above zero from which a figure is told from nothing."""
LEAST_SHARE = 0.001
HALF_A_CENT = 0.005


def chances_table(study: Study, outcome: Outcome) -> Table:
    """How often each alternative costs least of all."""
    rows = [
        [title_of(study, name), 100.0 * chance.value, 100.0 * chance.error]
        for name, chance in outcome.cheapest.items()
    ]
    columns = (
        Column("alternative"),
        Column("cheapest of all in", "% of draws", "chance"),
        Column("standard error", "%", "error"),
    )
    return make_table("How often each alternative is the cheapest", columns, rows, study=study)


def knowing_table(study: Study, found: Information) -> Table:
    """What knowing each input beforehand would save on average: go and measure in this order."""
    currency = currency_of(study)
    rows: list[list[object]] = [
        [
            "everything",
            "",
            "",
            found.everything.value,
            found.everything.error,
            100.0 * found.everything_changes,
        ]
    ]
    rows += [
        [
            described(study, it.address),
            it.status,
            it.owner,
            it.value.value,
            it.value.error,
            100.0 * it.changes,
        ]
        for it in found.inputs
        if it.value.value > CLEAR * it.value.error
    ]
    unclear = len(found.inputs) + 1 - len(rows)
    columns = (
        Column("known beforehand"),
        Column("is now"),
        Column("owner"),
        Column("saves on average", currency, "money"),
        Column("standard error", currency, "error"),
        Column("would change the choice", "% of cases", "percent"),
    )
    notes = (
        f'Against choosing "{title_of(study, found.chosen)}" without knowing more; no measurement is worth more.',
        f"Not told from nothing by these draws: {unclear} other inputs." if unclear else "",
    )
    return make_table("Go and measure: what knowing is worth", columns, rows, study=study, notes=notes)


def shares_table(study: Study, shares: Iterable[Share]) -> Table:
    """What part of the variance of the advantage each input explains."""
    kept = [it for it in shares if it.total.value >= LEAST_SHARE]
    rows = [
        [
            described(study, it.address),
            _by_itself(it),
            100.0 * it.first_order.error,
            100.0 * it.total.value,
            100.0 * it.total.error,
        ]
        for it in kept
    ]
    columns = (
        Column("input"),
        Column("by itself", "%", "percent"),
        Column("its standard error", "%", "error"),
        Column("in all", "%", "percent"),
        Column("standard error", "%", "error"),
    )
    noise = "A share below nothing is noise of the draws: take more of them."
    negative = any(not isinstance(row[1], str) and row[1] < 0.0 for row in rows)
    notes = (f"Inputs below {100.0 * LEAST_SHARE:g} % are left out.", noise if negative else "")
    return make_table(
        "What the doubt comes from: shares of the variance", columns, rows, study=study, notes=notes
    )


def _by_itself(share: Share) -> float | str:
    """What an input explains by itself [%]; in words where it is below nothing, but not clearly so."""
    value, error = share.first_order
    return "about 0" if -CLEAR * error <= value < 0.0 else 100.0 * value


def scenarios_table(study: Study, found: Cases) -> Table:
    """Every alternative in every scenario: worth today of the cash it costs."""
    currency, names = currency_of(study), list(study.alternatives)
    rows: list[list[object]] = [
        [
            case.title,
            _weight(case.weight),
            *(case.worth[name] for name in names),
            title_of(study, _least(case.worth)),
        ]
        for case in found.cases
    ]
    if found.expected is not None:
        rows.append(
            [
                "weighted",
                100.0,
                *(found.expected[name] for name in names),
                title_of(study, _least(found.expected)),
            ]
        )
    columns = (
        Column("scenario"),
        Column("weight", "%", "percent"),
        *(Column(short_name(name), currency, "money") for name in names),
        Column("cheapest"),
    )
    return make_table("Scenarios: cash over the horizon, worth today", columns, rows, study=study)


def _weight(weight: float | None) -> float | str:
    return "not weighted" if weight is None else 100.0 * weight


def _least(worth: dict[str, float]) -> str:
    return min(worth, key=lambda name: worth[name])


def verdict_map_table(study: Study, found: VerdictMap) -> Table:
    """Which alternative is the cheapest at each volume and each value of one input."""
    values = [scaled(float(value), found.unit) for value in found.values]
    rows = [
        [float(volume), *(title_of(study, found.names[int(at)]) for at in line)]
        for volume, line in zip(found.volumes, found.cheapest, strict=True)
    ]
    heads = [Column(f"at {value:.4g} {unit}".strip()) for value, unit in values]
    title = f"The cheapest by volume and {described(study, found.address)}"
    return make_table(title, (Column("volume", "part/yr", "whole"), *heads), rows, study=study)


def returns_table(study: Study, found: Returns, taxed: AfterTax | None) -> Table:
    """What the change brings for the money it takes: worth, rates of return, payback with and without interest."""
    currency = currency_of(study)
    rates = ", ".join(f"{100.0 * rate:.0f} % a year" for rate in found.rates) or f"none: {_no_rate(found)}"
    rows: list[list[object]] = [
        ["worth today, stock money in it", f"{plain(single(found.worth), 0)} {currency}"],
        ["the same as equal yearly amounts", f"{plain(single(found.per_year), 0)} {currency}/yr"],
        ["internal rate of return", rates],
        ["cash back after, without interest", _months(found.simple_months)],
        ["cash back after, with interest", _months(found.discounted_months)],
    ]
    if taxed is not None:
        rows.append(["worth after tax", f"{plain(single(taxed.worth), 0)} {currency}"])
        rows.append(["cash back after tax, without interest", _months(single(taxed.payback_months))])
    notes = (
        f'From "{title_of(study, found.start)}" to "{title_of(study, found.target)}", '
        f"{study.finance.money} money, over {study.finance.horizon} months.",
        ""
        if taxed is None
        else "After tax as the study states it, paid at each year's end: for an accountant to check, no tax result.",
    )
    return make_table(
        "What the change brings", (Column("measure"), Column("value")), rows, study=study, notes=notes
    )


def _no_rate(found: Returns) -> str:
    """Why there is no rate of return."""
    if found.goes_out < HALF_A_CENT:
        return "no money goes out"
    if found.comes_back < HALF_A_CENT:
        return "no money comes back"
    return "a gain at any rate" if found.comes_back > found.goes_out else "a loss at any rate"


def _months(value: float) -> str:
    return NEVER if value == float("inf") else f"{months(value)} months"


def steps_beyond_table(study: Study, hours: Iterable[MachineHours]) -> Table:
    """The cheapest way to the hours that are missing, machine by machine."""
    currency = currency_of(study)
    rows: list[list[object]] = []
    for machine in hours:
        rows += [
            [machine.machine, step.title, step.hours, step.per_year, step.once] for step in machine.steps
        ]
        if machine.uncovered > 0.0:
            rows.append(
                [machine.machine, "no stated step brings them", machine.uncovered, "unknown", "unknown"]
            )
    columns = (
        Column("machine"),
        Column("step beyond the free hours"),
        Column("hours", "h/yr", "hours", step=0.1),
        Column("costs a year", f"{currency}/yr", "money"),
        Column("costs once", currency, "money"),
    )
    nothing: list[list[object]] = [["all", "none needed", 0.0, 0.0, 0.0]]
    return make_table("Hours beyond those free", columns, rows or nothing, study=study)


def awards_table(study: Study, found: ScarceHours) -> Table:
    """Which parts deserve the scarce hours of a machine, best saving an hour first."""
    currency = currency_of(study)
    rows: list[list[object]] = [
        [
            it.claim.part,
            it.claim.saving,
            it.claim.hours,
            it.claim.per_hour,
            it.share * it.claim.hours,
            100.0 * it.share,
        ]
        for it in found.awards
    ]
    columns = (
        Column("part"),
        Column("saved by making it", f"{currency}/yr", "money"),
        Column("hours at its busiest", "h/yr", "hours", step=0.1),
        Column("saved an hour", f"{currency}/h", "money"),
        Column("gets", "h/yr", "hours", step=0.1),
        Column("gets of its hours", "%", "percent", step=0.1),
    )
    notes = (
        "The choice with the greatest saving, not the ranking alone.",
        "Hours all year round at the pace of a part's busiest month: growth, ramp and peak of demand in them.",
        f"Making saves nothing: {', '.join(found.saves_nothing)}." if found.saves_nothing else "",
        f"Need none of these hours: {', '.join(found.needs_none)}." if found.needs_none else "",
        *(
            f"{name} states {plain(hours, 1)} h free a year; not counted."
            for name, hours in found.others.items()
        ),
    )
    nothing: list[list[object]] = [["none", "no part is cheaper to make", *[0.0] * 4]]
    shares = "whole parts" if found.whole else "shares of a part too"
    title = f"Who gets the {plain(found.together.free, 0)} h a year of {found.machine}: {shares}"
    return make_table(title, columns, rows or nothing, study=study, notes=notes)


def together_table(study: Study, found: ScarceHours) -> Table:
    """What all parts that save by being made need of a machine together, and what the missing hours would cost."""
    currency, hours = currency_of(study), found.together
    known = hours.uncovered <= 0.0
    row: list[object] = [
        hours.peak_needed * MONTHS_PER_YEAR,
        hours.free,
        hours.short,
        found.left,
        sum(step.per_year for step in hours.steps) if known else "unknown",
        sum(step.once for step in hours.steps) if known else "unknown",
    ]
    columns = (
        Column("needed at the busiest", "h/yr", "hours", step=0.1),
        Column("free", "h/yr", "hours", step=0.1),
        Column("missing", "h/yr", "hours", step=0.1),
        Column("saved by those left without", f"{currency}/yr", "money"),
        Column("steps cost a year", f"{currency}/yr", "money"),
        Column("steps cost once", currency, "money"),
    )
    notes = (
        "All parts of which making saves, as if their busiest months fell together.",
        "" if known else "The stated steps do not bring the missing hours.",
    )
    title = f"Hours of {found.machine} for all that save by them"
    return make_table(title, columns, [row], study=study, notes=notes)
