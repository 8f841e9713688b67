"""Tables of a new year of rates: what became of each row, what to confirm, what moved and what that did."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import get_args

from costmodel.decision import Decision
from costmodel.machine_sheet import MachineSheet
from costmodel.rate_compare import RANGE_FIELDS, Bridge, Difference, StudyEffect
from costmodel.rate_update import Mark, YearUpdate
from costmodel.records.address import tokens
from costmodel.records.rate_sheet import TO_CONFIRM, plain_text
from costmodel.tables.rounding import parts_that_add
from costmodel.tables.table import Column, Table, is_invented, make_table
from costmodel.tables.words import ANSWERS, title_of

CENT = 0.01
SHARED = 3
"""From so many rows of a table on a reason is told once for all of them."""
METHODS = {
    "one at a time": "Each cause moves alone; interaction is what several do together and none does alone.",
    "sequential": "Each cause moves after those before it, in the order shown.",
    "shapley": "Each cause has the mean of its part over all orders in which they may move.",
}

MOST_CAUSES_ACROSS = 6


def update_table(update: YearUpdate, year: int) -> Table:
    """Rows carried, escalated and replaced, by table."""
    names = dict.fromkeys(row.table for row in update.rows)
    counts = {
        name: [sum(it.table == name for it in update.marked(mark)) for mark in get_args(Mark)]
        for name in names
    }
    rows: list[list[object]] = [[name, *count] for name, count in counts.items()]
    sums: list[object] = ["all tables", *(sum(column) for column in zip(*counts.values(), strict=True))]
    columns = [
        Column("table"),
        *(Column(mark, kind="whole") for mark in get_args(Mark)),
    ]
    return make_table(f"Rates of {year}: what became of each row", columns, [*rows, sums], totals=1)


def escalation_table(update: YearUpdate) -> Table:
    """The index values that escalated each row."""
    columns = [
        *(Column(word) for word in ("row", "series", "base month", "month")),
        Column("index, base month", kind="number"),
        Column("index, month", kind="number"),
        Column("change", "%", "percent"),
    ]
    rows = [
        [
            f"{row.table}.{row.name}",
            row.used.series,
            row.used.base_month,
            row.used.month,
            f"{row.used.base_value:g}",
            f"{row.used.value:g}",
            100.0 * row.used.change,
        ]
        for row in update.marked("escalated")
        if row.used is not None
    ]
    note = (
        "New price = old price x index / index of the base month. The base month is that of the row's date."
    )
    return make_table("Escalated by index", columns, rows, notes=[note])


def confirm_table(update: YearUpdate) -> Table:
    """What a person must confirm before the year is used; a reason that many rows of a table share is one line."""
    by_reason: dict[tuple[str, str, str], list[str]] = {}
    for row in update.to_confirm():
        for reason in row.confirm:
            by_reason.setdefault((row.table, row.mark, reason), []).append(row.name)
    rows: list[list[object]] = []
    for (table, mark, reason), names in by_reason.items():
        if len(names) >= SHARED:
            rows.append([f"{table}: {len(names)} rows", mark, reason])
        else:
            rows += [[f"{table}.{name}", mark, reason] for name in names]
    columns = [Column("row"), Column("mark"), Column("why")]
    note = f"Row by row in {TO_CONFIRM} of the year's folder."
    return make_table("To confirm", columns, rows, notes=[note])


def differences_table(found: Iterable[Difference], before: int, after: int, invented: bool) -> Table:
    """Every rate that differs, table by table."""
    words = ("table", "row", "field", f"{before}", f"{after}", "unit")
    columns = [*(Column(word) for word in words), Column("change", "%", "percent")]
    return make_table(
        f"Rates that differ, {before} to {after}", columns, map(_difference_row, found), invented=invented
    )


def moved_table(found: Iterable[Difference], before: int, after: int, invented: bool) -> Table:
    """How many rates of each table differ, rows new and gone among them, and which moved most, ends of ranges last."""
    by_table: dict[str, list[Difference]] = {}
    for difference in found:
        by_table.setdefault(tokens(difference.address)[1], []).append(difference)
    rows: list[list[object]] = []
    for table, listed in by_table.items():
        moved = [it for it in listed if it.change is not None]
        own = [it for it in moved if tokens(it.address)[-1] not in RANGE_FIELDS]
        most = max(own or moved, key=lambda it: abs(it.change or 0.0), default=None)
        path = tokens(most.address)[2:] if most else ()
        size = 100.0 * most.change if most and most.change is not None else "not in numbers"
        rows.append([table.replace("_", " "), len(listed), " ".join(path).replace("_", " "), size])
    columns = [
        *(Column("table"), Column("rates that differ", kind="whole")),
        *(Column("moved most"), Column("by", "%", "percent")),
    ]
    return make_table(f"What moved from {before} to {after}", columns, rows, invented=invented)


def parts_table(effects: Iterable[StudyEffect], before: int, after: int) -> Table:
    """Every alternative of every study: cost of a part at both years' rates, cause by cause, to the cent."""
    listed = list(effects)
    every = [bridge for effect in listed for bridge in effect.by_cause.values()]
    causes = list(dict.fromkeys(cause for bridge in every for cause in bridge.parts))
    unit = every[0].unit if every else ""
    ends = (f"{before}", *causes, f"{after}")
    columns = [Column("study"), Column("alternative"), *(_cents(word, unit) for word in ends)]
    rows = [
        [effect.title, *bridge_cells(bridge, causes)]
        for effect in listed
        for bridge in effect.by_cause.values()
    ]
    note = METHODS[every[0].method] if every else ""
    invented = any(is_invented(effect.after.study) for effect in listed)
    return make_table(
        "Cost of a part at both years' rates, by cause", columns, rows, notes=[note], invented=invented
    )


def verdict_words(effects: Iterable[StudyEffect]) -> tuple[str, ...]:
    """The studies whose verdict is another at the new rates, in a sentence each; or that there is none."""
    listed = list(effects)
    said = [
        f"CHANGES: {effect.title}, from {_answer(effect.before)} to {_answer(effect.after)}."
        for effect in listed
        if effect.changes
    ]
    return tuple(said) or (f"No verdict changes; {len(listed)} open studies were asked.",)


def _answer(decision: Decision) -> str:
    return f"{ANSWERS[decision.verdict.answer]}: {title_of(decision.study, decision.verdict.alternative)}"


def _difference_row(found: Difference) -> Sequence[object]:
    path = tokens(found.address)
    if len(path) == 3:
        word = "a new row" if found.was is None else "no longer there"
        return [path[1], path[2], "", "", "", "", word]
    fraction = found.unit == "fraction"
    shown = [_value(value, fraction) for value in (found.was, found.now)]
    change = "" if found.change is None else 100.0 * found.change
    return [path[1], path[2], path[3].replace("_", " "), *shown, "%" if fraction else found.unit, change]


def _value(value: object, fraction: bool) -> str:
    if isinstance(value, float):
        return plain_text(100.0 * value if fraction else value)
    return "none" if value is None else str(value)


def bridges_table(bridges: Iterable[Bridge], title: str, *, invented: bool, every: bool = False) -> Table:
    """From one figure to another, cause by cause, a row each; every row adds up to the cent.

    Causes that move no row by half a cent are left out, unless `every` one is wanted. Where more causes are left
    than a page is wide, they stand below one another, and every column adds up.
    """
    listed = list(bridges)
    causes = [name for bridge in listed[:1] for name in bridge.parts] if every else _moving(listed)
    unit = listed[0].unit if listed else ""
    heads = ("before", *causes, "after")
    rows = [bridge_cells(bridge, causes) for bridge in listed]
    note = METHODS[listed[0].method] if listed else ""
    if len(causes) > MOST_CAUSES_ACROSS:
        columns = [Column("cause"), *(_cents(bridge.name, unit) for bridge in listed)]
        cells = [[head, *(row[at] for row in rows)] for at, head in enumerate(heads, start=1)]
        return make_table(title, columns, cells, notes=[note], invented=invented, totals=1)
    columns = [Column("alternative"), *(_cents(word, unit) for word in heads)]
    return make_table(title, columns, rows, notes=[note], invented=invented)


def _cents(name: str, unit: str) -> Column:
    return Column(name, unit, "money", step=CENT)


def _moving(bridges: Sequence[Bridge]) -> list[str]:
    names = dict.fromkeys(cause for bridge in bridges for cause in bridge.parts)
    return [name for name in names if any(abs(it.parts.get(name, 0.0)) >= CENT / 2.0 for it in bridges)]


def bridge_cells(bridge: Bridge, causes: Sequence[str]) -> list[object]:
    """Name, figure before, the parts, figure after; in cents that add up, small causes gone into the nearest."""
    before, after = round(bridge.before, 2), round(bridge.after, 2)
    parts = [bridge.parts.get(cause, 0.0) for cause in causes]
    return [bridge.name, before, *(parts_that_add(parts, after - before) if parts else ()), after]


def verdicts_table(effects: Iterable[StudyEffect], before: int, after: int) -> Table:
    """The verdict of each study at both years' rates, and whether it is another one."""
    listed = list(effects)
    columns = [
        Column("study"),
        Column(f"{before}"),
        Column(f"{after}"),
        Column(f"sure {before}", "%", "chance"),
        Column(f"sure {after}", "%", "chance"),
        Column("verdict"),
        Column(f"inputs {before}"),
        Column(f"inputs {after}"),
    ]
    rows = [
        [
            effect.title,
            *(_answer(it) for it in (effect.before, effect.after)),
            *(100.0 * it.outcome.chance for it in (effect.before, effect.after)),
            "CHANGES" if effect.changes else "stands",
            *(it.fingerprint for it in (effect.before, effect.after)),
        ]
        for effect in listed
    ]
    note = "Sure: draws in which making costs less cash over the horizon. Ranges of rates move with their values."
    invented = any(effect.before.study.invented for effect in listed)
    return make_table("Verdicts at both years' rates", columns, rows, notes=[note], invented=invented)


def held_table(held: Iterable[Decision]) -> Table:
    """Studies that are decided: each at its own year's rates, which no other year's move."""
    listed = list(held)
    columns = [
        *(Column(word) for word in ("study", "decided on", "rates", "answer")),
        Column("a part", listed[0].study.rates.year.home_currency if listed else "", "money", step=CENT),
        Column("inputs"),
    ]
    rows = [
        [
            it.study.title,
            f"{it.study.decided_on}",
            f"{it.study.rates.year.year}",
            _answer(it),
            float(it.comparison.alternatives[it.verdict.alternative].per_part()),
            it.fingerprint,
        ]
        for it in listed
    ]
    note = "Decided: held by the rates of their own year. --decided runs them at both years' rates too."
    invented = any(is_invented(it.study) for it in listed)
    return make_table("Decided, and held by their own rates", columns, rows, notes=[note], invented=invented)


def machine_table(sheets: Iterable[MachineSheet], currency: str, *, invented: bool) -> Table:
    """Machines side by side: hours, ratios with their denominators, energy, recovery against the ledger."""
    columns = [
        Column("machine"),
        *(Column(word, "h/yr", "hours") for word in ("planned PBT", "practical", "budgeted", "charged")),
        Column("availability, APT / PBT", "%", "percent"),
        Column("utilisation efficiency, APT / AUBT", "%", "percent"),
        Column("set-up ratio, AUST / AUPT", "%", "percent"),
        Column("load factor", "%", "percent"),
        Column("by"),
        Column("energy", f"{currency}/yr", "money"),
        Column("machines a person", kind="number"),
        Column("rate charged", f"{currency}/h", "money"),
        *(
            Column(word, f"{currency}/yr", "money")
            for word in ("recovered", "ledger", "over-absorbed", "idle")
        ),
    ]
    rows = [
        [
            *(it.machine, it.planned_busy, it.practical_hours, it.budgeted_hours, it.charged_hours),
            100.0 * it.ratios.availability,
            100.0 * it.ratios.utilisation_efficiency,
            100.0 * it.ratios.set_up_ratio,
            *(100.0 * it.load_factor, "meter" if it.metered else "rates", it.energy_cost),
            it.machines_tended if it.machines_tended else "not logged",
            *(it.budgeted_rate, it.recovered),
            "not known" if it.actual_cost is None else it.actual_cost,
            "not known" if it.over_absorbed is None else it.over_absorbed,
            it.idle_cost,
        ]
        for it in sheets
    ]
    notes = [
        "Terms of ISO 22400-2: PBT planned busy time, APT production, AUST set-up, AUPT both, AUBT with delays.",
        "Over-absorbed: rate charged over budgeted hours x hours charged, less the ledger; below zero under-absorbed.",
    ]
    return make_table("Machines: hours, energy, recovery", columns, rows, notes=notes, invented=invented)
