"""Tables of one part by one route: its cost by step, element and level, its hours, tools and cuts."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from costmodel.cost_lines import ALWAYS, CostSheet, Level, Line, in_force, is_cash, total
from costmodel.cut_time import CutTime
from costmodel.make_or_buy import MONTHS_PER_YEAR
from costmodel.part_cost import PartCost
from costmodel.records.route import AnyStep, MachineStep, OutsideStep
from costmodel.records.study import Study
from costmodel.records.tool import LIFE_FACTORS
from costmodel.supply import STOCK
from costmodel.tables.rounding import percent, plain, significant
from costmodel.tables.table import Column, Table, make_table, single

PER_THOUSAND = 1000.0
UNTOLD = "cannot be told"
LEVELS: tuple[Level, ...] = ("part", "load", "lot", "shipment", "year")


def currency_of(study: Study) -> str:
    """The home currency."""
    return study.rates.year.home_currency


def money_columns(study: Study) -> tuple[Column, ...]:
    """Cash, allocated, total of a part."""
    unit = f"{currency_of(study)}/part"
    return tuple(Column(name, unit, "money") for name in ("cash", "allocated", "total"))


def money_cells(sheet: CostSheet, keep: Callable[[Line], bool]) -> list[float]:
    """Cash, allocated and total running cost of a part of the lines kept [money/part]."""
    cash = single(sheet.per_part(lambda line: keep(line) and is_cash(line)))
    allocated = single(sheet.per_part(lambda line: keep(line) and not is_cash(line)))
    return [cash, allocated, single(sheet.per_part(keep))]


def everything(line: Line) -> bool:
    """Keeps every line."""
    return True


def cost_by_step(study: Study, sheet: CostSheet, *, with_pay: bool = True) -> Table:
    """Running cost of a good part by step and element, with the minutes of both clocks.

    Without pay the minutes of hands are left out: beside the money they would give it away.
    """
    rows: list[list[object]] = []
    for step, element in dict.fromkeys((line.step, line.element) for line in sheet.lines if in_force(line)):
        cells = money_cells(sheet, lambda line, s=step, e=element: (line.step, line.element) == (s, e))  # type: ignore[misc]
        minutes = [_minutes(sheet, kind, step, element) for kind in ("machine", "hands-on")]
        if any(cells) or any(minutes):
            rows.append([step, element, _levels(sheet, step, element), *cells, *minutes])
    sums: list[object] = ["total", "", "", *money_cells(sheet, everything)]
    sums += [single(sheet.minutes_per_part(kind)) for kind in ("machine", "hands-on")]
    table = make_table(
        f"{sheet.title}: a good part by step and element",
        (
            Column("step"),
            Column("element"),
            Column("occurs per"),
            *money_columns(study),
            Column("machine", "min/part", "minutes"),
            Column("hands-on", "min/part", "minutes"),
        ),
        [*rows, sums],
        study=study,
        totals=1,
        notes=(
            _rhythm_words(sheet),
            "Minutes include those spent on parts that are lost; their money stands under scrap.",
            "Elements that cost nothing are left out.",
        ),
    )
    return table if with_pay else table.without("hands-on")


def _rhythm_words(sheet: CostSheet) -> str:
    lot, per_year = single(sheet.rhythm.lot), single(sheet.rhythm.per_year)
    return f"At {plain(per_year, 0)} good parts a year in lots of {plain(lot, 0)}."


def _levels(sheet: CostSheet, step: str, element: str) -> str:
    lines = [line for line in sheet.lines if (line.step, line.element) == (step, element)]
    found = {line.level for line in lines if in_force(line) and line.amount != 0.0}
    return ", ".join(level for level in LEVELS if level in found)


def _minutes(sheet: CostSheet, kind: str, step: str, element: str) -> float:
    """Minutes of a clock for one good part: set-up by the lot, everything else with the machine or the hands."""
    running = {"machine": "machine", "hands-on": "labour"}[kind]
    clocks = (clock for clock in sheet.clocks if clock.kind == kind and clock.step == step)
    return single(
        total(
            clock.minutes * sheet.rhythm.per_part(clock.level, clock.step)
            for clock in clocks
            if element == ("set-up" if clock.level == "lot" else running)
        )
    )


def cost_by_element(study: Study, sheet: CostSheet) -> Table:
    """Running cost of a good part by element, and each one's share."""
    elements = dict.fromkeys(line.element for line in sheet.lines if in_force(line))
    return _split(study, sheet, "element", {e: lambda line, e=e: line.element == e for e in elements})  # type: ignore[misc]


def cost_by_level(study: Study, sheet: CostSheet) -> Table:
    """Running cost of a good part by how often its lines occur, and each level's share."""
    found = {line.level for line in sheet.lines if in_force(line)}
    levels = [level for level in LEVELS if level in found]
    return _split(study, sheet, "level", {n: lambda line, n=n: line.level == n for n in levels})  # type: ignore[misc]


def _split(study: Study, sheet: CostSheet, word: str, keeps: dict[str, Callable[[Line], bool]]) -> Table:
    sums = money_cells(sheet, everything)
    whole = sums[-1] or 1.0
    rows: list[list[object]] = []
    for name, keep in keeps.items():
        cells = money_cells(sheet, keep)
        if any(cells):
            rows.append([name, *cells, 100.0 * cells[-1] / whole])
    return make_table(
        f"{sheet.title}: a good part by {word}",
        (Column(word), *money_columns(study), Column("share", "%", "percent")),
        [*rows, ["total", *sums, 100.0]],
        study=study,
        totals=1,
        notes=(_rhythm_words(sheet),),
    )


def once_table(study: Study, sheet: CostSheet, spread_over: float | None = None) -> Table:
    """What is paid once, with its owner and month, kept out of the running cost; spread over parts on request only.

    What is made in-house also bears standing cost of its machine, which is not paid and stands apart.
    """
    currency = currency_of(study)
    route = study.part.routes.get(sheet.name)
    owners = {} if route is None else {name: once.owner for name, once in route.once.items()}
    once = (line for line in sheet.lines if line.level == "once" and line.step != STOCK)
    lines = [line for line in once if line.first_month < ALWAYS or line.amount != 0.0]
    columns = [
        Column("paid once for"),
        Column("kind"),
        Column("owner"),
        Column("in month", "", "whole"),
        Column("that is"),
        Column("paid", currency, "money"),
        Column("allocated", currency, "money"),
    ]
    rows: list[list[object]] = []
    for line in lines:
        last = line.first_month >= ALWAYS
        month = study.finance.horizon if last else line.first_month
        cells = [single(line.amount), 0.0] if is_cash(line) else [0.0, single(line.amount)]
        named = line.note or line.element
        when: list[object] = ["the last" if last else month, month_of(study.as_of, month)]
        rows.append([named, line.element, owners.get(named, ""), *when, *cells])
    paid = single(total(line.amount for line in lines if is_cash(line)))
    borne = single(total(line.amount for line in lines if not is_cash(line)))
    sums: list[object] = ["total", "", "", "", "", paid, borne]
    notes = ["Month 0 is the day of the decision. None of this is in the running cost of a part."]
    if spread_over is not None:
        columns.append(Column("spread", f"{currency}/part", "money", step=0.001))
        for row, line in zip(rows, lines, strict=True):
            row.append(single(line.amount) / spread_over if is_cash(line) else 0.0)
        sums.append(paid / spread_over)
        notes.append(f"What is paid, spread over {plain(spread_over, 0)} parts, as asked, without interest.")
    return make_table(f"{sheet.title}: paid once", columns, [*rows, sums], study=study, totals=1, notes=notes)


def month_of(day: datetime.date, later: int) -> str:
    """The calendar month so many months after a day, as ISO 8601 writes it."""
    years, month = divmod(day.month - 1 + later, MONTHS_PER_YEAR)
    return f"{day.year + years}-{month + 1:02d}"


def steps_table(study: Study, cost: PartCost, route: str) -> Table:
    """Each step: where, parts a load, yield, parts that enter for one good part at the end, and both clocks."""
    parts_in, stage_yields = cost.parts_in or {}, cost.stage_yields or {}
    rows: list[list[object]] = []
    good = 1.0
    for name, step in study.part.routes[route].steps.items():
        share = single(stage_yields[name])
        good *= share
        load = step.parts_per_load if isinstance(step, MachineStep) else "one by one"
        clocks = [_step_minutes(cost, kind, name) for kind in ("machine", "hands-on")]
        rows.append([name, _where(step), load, 100.0 * share, single(parts_in[name]), *clocks])
    return make_table(
        f"{cost.title}: steps",
        (
            Column("step"),
            Column("where"),
            Column("parts a load", "part", "whole"),
            Column("yield", "%", "percent"),
            Column("enter for one good", "part", "number"),
            Column("machine", "min/part", "minutes"),
            Column("hands-on", "min/part", "minutes"),
        ),
        rows,
        study=study,
        notes=(
            f"Good at the end of all that begin: {percent(good)}; blanks to start for a lot: "
            f"{plain(single(cost.blanks_to_start()), 0)}. Yields count what rework saves and failed tools spoil.",
        ),
    )


def _where(step: AnyStep) -> str:
    if isinstance(step, MachineStep):
        return step.machine
    return f"outside: {step.processor}" if isinstance(step, OutsideStep) else f"bench: {step.labour}"


def _step_minutes(cost: PartCost, kind: str, step: str) -> float:
    return sum(_minutes(cost, kind, step, element) for element in ("machine", "labour", "set-up"))


def _factor_notes(study: Study, cost: PartCost) -> list[str]:
    """The stated factors on the life of the tools in use, each with its range and source."""
    notes = []
    for name in dict.fromkeys(use.tool for use in cost.tools):
        tool = study.rates.tools[name]
        for word in LIFE_FACTORS:
            factor, low, high, source = (
                getattr(tool, f"{word}_{end}") for end in ("factor", "low", "high", "source")
            )
            if low is not None:
                reach = f"{significant(single(low))} to {significant(single(high))}"
                stated = f"{significant(single(factor))} for {word.replace('_', '-')} ({reach}; {source})"
                notes.append(f"Life of {name} times {stated}.")
    return notes


def tools_table(study: Study, cost: PartCost) -> Table:
    """Every cutting tool of a route: parts an edge, what it costs a part, minutes in cut and for changing it."""
    per_part = f"{currency_of(study)}/part"
    rows: list[list[object]] = [
        [
            use.step,
            use.tool,
            use.life,
            single(use.in_cut),
            single(use.parts_per_edge),
            100.0 * single(use.life_used),
            PER_THOUSAND * single(use.failures),
            single(use.cost_per_part),
            single(use.change_minutes_per_part),
        ]
        for use in cost.tools
    ]
    sums: list[object] = [
        "total",
        "",
        "",
        single(total(use.in_cut for use in cost.tools)),
        "",
        "",
        PER_THOUSAND * single(total(use.failures for use in cost.tools)),
        single(total(use.cost_per_part for use in cost.tools)),
        single(total(use.change_minutes_per_part for use in cost.tools)),
    ]
    notes = [
        *_factor_notes(study, cost),
        "For a part that enters the step; parts lost on the way add to it under scrap.",
        "An edge is changed after the parts stated, when that share of its mean life is used; it fails before only "
        "where its row says how its life scatters.",
    ]
    if not cost.tools:
        notes.append("No cuts are stated: the steps give measured minutes, which name no tools.")
    return make_table(
        f"{cost.title}: cutting tools",
        (
            Column("step"),
            Column("tool"),
            Column("life by"),
            Column("in cut", "min/part", "minutes"),
            Column("parts an edge", "part", "parts"),
            Column("life used", "%", "percent"),
            Column("failures", "1/1000 part", "number"),
            Column("cost", per_part, "money"),
            Column("changing", "min/part", "minutes"),
        ),
        [*rows, sums] if rows else [],
        study=study,
        totals=1 if rows else 0,
        notes=notes,
    )


def _limits_word(cut: CutTime) -> str:
    unchecked = [f"power and torque not checked: {cut.unchecked}"] if cut.unchecked else []
    return "; ".join([*cut.flags, *unchecked]) or "no"


def cuts_table(study: Study, cost: PartCost) -> Table:
    """Every cut with its minutes, speed, feed and power, and whether its machine and tool can do it."""
    return make_table(
        f"{cost.title}: cuts, and whether they can be done",
        (
            Column("step"),
            Column("cut"),
            Column("kind"),
            Column("tool"),
            Column("in cut", "min/part", "minutes"),
            Column("in all", "min/part", "minutes"),
            Column("speed", "m/min", "number"),
            Column("spindle", "1/min", "whole"),
            Column("feed", "mm/min", "whole"),
            Column("power", "kW", "number"),
            Column("torque", "N m", "number"),
            Column("beyond its limits"),
        ),
        [
            [
                cut.step,
                cut.name,
                cut.kind,
                cut.tool,
                single(cut.in_cut),
                single(cut.minutes),
                single(cut.motion.cutting_speed),
                single(cut.motion.spindle_speed),
                single(cut.motion.feed_speed),
                UNTOLD if cut.power is None else single(cut.power),
                UNTOLD if cut.demand.torque is None else single(cut.demand.torque),
                _limits_word(cut),
            ]
            for cut in cost.cuts
        ],
        study=study,
        notes=(
            "Checked against spindle speed, power, torque and feed of the machine and reach and flutes of the tool, "
            "where they are stated. Power and torque are those of a sharp edge at the spindle, by Kienzle's law. That "
            "a cut is within its limits does not make it safe.",
        ),
    )
