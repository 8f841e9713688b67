"""What it costs to make a part: one route at given rates, every line kept.

Start here. ``part_cost`` walks the route from blank to finished part. Each step gives lines of cost (what it
adds to a part, a load or a lot) and clocks (minutes of the machine and of hands). Parts lost on the way carry
what they have cost so far: one scrap line a step, where the loss happens.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import ALWAYS, Clock, CostSheet, Flag, Level, Line, Mark, Rhythm, total
from costmodel.cut_time import CutTime, cut_time
from costmodel.errors import InputError, Problem
from costmodel.formulas import blanks, lot_charges, rate_bases, yields
from costmodel.machine_rate import RateTerm, terms_on
from costmodel.records.part import Blank, Part
from costmodel.records.rates import Labour, Rates
from costmodel.records.route import AnyStep, BenchStep, MachineStep, Once, OutsideStep, Route, Step
from costmodel.records.study import RateBasis
from costmodel.tool_use import ToolUse, tool_uses
from costmodel.units import Number

BLANK = "blank"


class StepCost(NamedTuple):
    """What one step adds: lines per part or load as if no part were lost, clocks, tools, cuts, flags."""

    lines: tuple[Line, ...]
    clocks: tuple[Clock, ...] = ()
    tools: tuple[ToolUse, ...] = ()
    cuts: tuple[CutTime, ...] = ()
    flags: tuple[Flag, ...] = ()


@dataclass(frozen=True)
class PartCost(CostSheet):
    """The cost of a part by one route, with what was computed on the way."""

    tools: tuple[ToolUse, ...] = ()
    cuts: tuple[CutTime, ...] = ()
    parts_in: Mapping[str, Number] | None = None
    """Parts that enter each step for one good part at the end [-]."""


@dataclass(frozen=True)
class Setting:
    """What a step needs to know to be costed, besides itself."""

    rates: Rates
    material: str
    lot: Number
    basis: RateBasis
    contributions: Mapping[str, Number]
    parts_in: Mapping[str, Number]
    time_factor: Number


def part_cost(
    part: Part,
    route: Route,
    rates: Rates,
    *,
    lot: Number,
    per_year: Number,
    basis: RateBasis = "practical",
    contributions: Mapping[str, Number] | None = None,
) -> PartCost:
    """Cost one route of a part at given rates.

    `lot` is good parts made at once [part], `per_year` good parts a year [part/yr]; both broadcast. `basis`
    chooses the machine-hour rate; on "displaced" `contributions` gives what an hour of other work on each
    machine would earn [money/h].
    """
    stages = [BLANK, *route.steps]
    stage_yields = [1.0, *(step_yield(step, rates) for step in route.steps.values())]
    parts_in = dict(zip(stages, yields.parts_into_stages(stage_yields), strict=True))
    setting = Setting(
        rates, part.blank.material, lot, basis, contributions or {}, parts_in, route.time_factor
    )
    costs = {BLANK: StepCost(blank_lines(part.blank, rates))}
    costs |= {name: _step_cost(step, setting) for name, step in route.steps.items()}
    loads = {n: 1.0 / s.parts_per_load for n, s in route.steps.items() if isinstance(s, MachineStep)}
    lines = [line for cost in costs.values() for line in cost.lines]
    lines += _scrap_lines(costs, route, stage_yields, loads)
    lines += [
        Line("route", yearly.name, "year", "cash", yearly.cost, yearly.series)
        for yearly in route.yearly.values()
    ]
    lines += [line for once in route.once.values() for line in _once_lines(once, rates)]
    return PartCost(
        name=route.name,
        title=route.title,
        lines=tuple(lines),
        clocks=tuple(clock for cost in costs.values() for clock in cost.clocks),
        rhythm=Rhythm(per_year=per_year, lot=lot, shipment=lot, loads=loads),
        flags=tuple(flag for cost in costs.values() for flag in cost.flags),
        tools=tuple(tool for cost in costs.values() for tool in cost.tools),
        cuts=tuple(cut for cost in costs.values() for cut in cost.cuts),
        parts_in=parts_in,
    )


def step_yield(step: AnyStep, rates: Rates) -> Number:
    """Good out over in of one step; an outside processor's yield stands with its rates."""
    if isinstance(step, OutsideStep):
        return rates.processors[step.processor].process_yield
    return step.step_yield


def blank_mass(blank: Blank, rates: Rates) -> Number:
    """Mass bought for one part, kerf included [kg]."""
    if blank.mass is not None:
        return blank.mass
    assert blank.length is not None
    length = blank.length + blank.kerf
    if blank.diameter is not None:
        volume = blanks.round_volume(blank.diameter, length)
    else:
        assert blank.width is not None
        assert blank.height is not None
        volume = blanks.plate_volume(length, blank.width, blank.height)
    return blanks.blank_mass(volume, rates.materials[blank.material].density)


def blank_lines(blank: Blank, rates: Rates) -> tuple[Line, ...]:
    """Material, its cutting to length, and what the chips bring.

    Raises InputError where the finished part is heavier than its blank.
    """
    stock = rates.materials[blank.material]
    mass = blank_mass(blank, rates)
    if np.any(blank.finished_mass > mass):
        expected = f"at most {np.min(mass):.4g} kg, the mass of the blank"
        found, remedy = f"{np.max(blank.finished_mass):.4g} kg", "Correct it or the size of the blank."
        raise InputError([Problem("part", "blank.finished_mass", found, expected, remedy)])
    return (
        Line(BLANK, "material", "part", "cash", mass * stock.price, stock.series),
        Line(BLANK, "sawing", "part", "cash", blank.saw, stock.series),
        Line(
            BLANK,
            "chips sold",
            "part",
            "cash",
            (blank.finished_mass - mass) * stock.chip_credit,
            stock.series,
        ),
    )


def _step_cost(step: AnyStep, setting: Setting) -> StepCost:
    if isinstance(step, MachineStep):
        return _machine_step(step, setting)
    if isinstance(step, OutsideStep):
        return _outside_step(step, setting)
    return _bench_step(step, setting)


def _item_lines(step: Step) -> list[Line]:
    return [
        Line(step.name, item.element, "part", "cash", item.cost, item.series, note=item.name)
        for item in step.items.values()
    ]


def _machine_step(step: MachineStep, setting: Setting) -> StepCost:
    machine = setting.rates.machines[step.machine]
    cuts = tuple(
        cut_time(step, cut, setting.rates, setting.material, setting.time_factor)
        for cut in step.cuts.values()
    )
    tools = tool_uses(step, cuts, setting.rates)
    terms = terms_on(setting.basis, machine, setting.rates, setting.contributions.get(step.machine, 0.0))
    grade = setting.rates.labour[step.operator or machine.operator]
    lines: list[Line] = []
    clocks: list[Clock] = []
    for level, minutes in _machine_minutes(step, cuts, tools, setting).items():
        element = "set-up" if level == "lot" else "machine"
        lines += _rate_lines(step.name, element, level, minutes, terms)
        clocks.append(Clock(step.name, "machine", step.machine, level, minutes * _lost(level, step, setting)))
    for level, minutes in _hands_minutes(step, cuts, tools, setting).items():
        element = "set-up" if level == "lot" else "labour"
        lines.append(_labour_line(step.name, element, level, minutes, grade))
        clocks.append(Clock(step.name, "hands-on", grade.name, level, minutes * _lost(level, step, setting)))
    lines += _tool_lines(step, tools, setting.rates)
    flags = tuple(Flag(f"{step.name}.{cut.name}", text) for cut in cuts for text in cut.flags)
    return StepCost((*lines, *_item_lines(step)), tuple(clocks), tools, cuts, flags)


def _tool_lines(step: MachineStep, tools: tuple[ToolUse, ...], rates: Rates) -> list[Line]:
    """One line for the tools that follow the same index series."""
    by_series: dict[str, list[Number]] = {}
    for tool in tools:
        by_series.setdefault(rates.tools[tool.tool].series, []).append(tool.cost_per_part)
    return [
        Line(step.name, "tooling", "part", "cash", total(costs), series)
        for series, costs in by_series.items()
    ]


def _machine_minutes(
    step: MachineStep, cuts: tuple[CutTime, ...], tools: tuple[ToolUse, ...], setting: Setting
) -> dict[Level, Number]:
    """Machine minutes by level: cuts a part, changes and moves a load, set-up a lot."""
    machine = setting.rates.machines[step.machine]
    a_part = total(cut.minutes for cut in cuts) + total(tool.change_minutes_per_part for tool in tools)
    a_load = (
        setting.time_factor * (step.programme or 0.0)
        + _tool_changes(step) * machine.tool_change
        + step.index_moves * machine.index_time
        + step.probing
        + (step.hands_on if step.loading == "inside" else machine.pallet_swap)
    )
    return {"part": a_part, "load": a_load, "lot": step.set_up}


def _tool_changes(step: MachineStep) -> int:
    """Changes of tool in one load: each run of cuts with one tool serves every part of the load."""
    used = [cut.tool for cut in step.cuts.values()]
    return sum(1 for before, tool in zip(["", *used], used, strict=False) if tool != before)


def _hands_minutes(
    step: MachineStep, cuts: tuple[CutTime, ...], tools: tuple[ToolUse, ...], setting: Setting
) -> dict[Level, Number]:
    """Hands-on minutes by level: inspection and standing by a part, loading a load, set-up a lot.

    Standing by is a share of the time the machine runs by itself; loading inside the cycle is hands already.
    """
    machine = _machine_minutes(step, cuts, tools, setting)
    changes = total(tool.change_minutes_per_part for tool in tools)
    loading = step.hands_on if step.loading == "inside" else 0.0
    return {
        "part": step.inspection + changes + step.attendance * (machine["part"] - changes),
        "load": step.hands_on + step.attendance * (machine["load"] - loading),
        "lot": step.set_up + step.inspection_per_lot,
    }


def _lost(level: Level, step: Step, setting: Setting) -> Number:
    """Occurrences for one good part at the end: a set-up serves the lot, whatever is lost in it."""
    return 1.0 if level == "lot" else setting.parts_in[step.name]


def _rate_lines(
    step: str, element: str, level: Level, minutes: Number, terms: tuple[RateTerm, ...]
) -> list[Line]:
    return [
        Line(
            step,
            element,
            level,
            term.mark,
            rate_bases.machine_charge(minutes, term.per_hour),
            term.series,
            note=term.element,
        )
        for term in terms
    ]


def _labour_line(step: str, element: str, level: Level, minutes: Number, grade: Labour) -> Line:
    cost = rate_bases.machine_charge(minutes, labour_per_hour(grade))
    return Line(step, element, level, "cash", cost, grade.series, note=grade.name)


def labour_per_hour(grade: Labour) -> Number:
    """What an hour of a grade costs the employer [money/h]: the wage and what is paid on top of it."""
    return rate_bases.rate_with_overhead(grade.wage, grade.on_costs)


def _outside_step(step: OutsideStep, setting: Setting) -> StepCost:
    lines, clocks = _outside_lines(step, setting), ()  # type: tuple[Line, ...], tuple[Clock, ...]
    if step.labour:
        grade = setting.rates.labour[step.labour]
        lines += (
            _labour_line(step.name, "labour", "part", step.inspection, grade),
            _labour_line(step.name, "labour", "lot", step.inspection_per_lot, grade),
        )
        clocks = (
            Clock(step.name, "hands-on", grade.name, "part", step.inspection * _lost("part", step, setting)),
            Clock(step.name, "hands-on", grade.name, "lot", step.inspection_per_lot),
        )
    return StepCost(lines, clocks)


def _outside_lines(step: OutsideStep, setting: Setting) -> tuple[Line, ...]:
    """The processor's price a part, and by lot what its minimum adds and the way there and back costs."""
    processor = setting.rates.processors[step.processor]
    sent = setting.lot * setting.parts_in[step.name]
    charged = sent if step.charged_rejects else sent * processor.process_yield
    minimum = lot_charges.minimum_top_up(charged, processor.price, processor.lot_minimum)
    return (
        Line(step.name, "outside", "part", "cash", processor.price, processor.series, note=processor.name),
        Line(step.name, "outside", "lot", "cash", minimum, processor.series, note="lot minimum"),
        Line(step.name, "outside", "lot", "cash", processor.transport, processor.series, note="transport"),
        *_item_lines(step),
    )


def _bench_step(step: BenchStep, setting: Setting) -> StepCost:
    grade = setting.rates.labour[step.labour]
    a_part, a_lot = step.hands_on + step.inspection, step.set_up + step.inspection_per_lot
    lines = (
        _labour_line(step.name, "labour", "part", a_part, grade),
        _labour_line(step.name, "set-up", "lot", a_lot, grade),
        *_item_lines(step),
    )
    clocks = (
        Clock(step.name, "hands-on", grade.name, "part", a_part * _lost("part", step, setting)),
        Clock(step.name, "hands-on", grade.name, "lot", a_lot),
    )
    return StepCost(lines, clocks)


def _scrap_lines(
    costs: Mapping[str, StepCost], route: Route, stage_yields: list[Number], loads: Mapping[str, Number]
) -> list[Line]:
    """What lost parts have cost so far, one line a step, mark and index series, where they are lost."""
    keys = dict.fromkeys(
        (line.mark, line.series) for cost in costs.values() for line in cost.lines if _per_part(line)
    )
    lines: list[Line] = []
    for mark, series in keys:
        adds = [_unit_cost(cost, mark, series, loads) for cost in costs.values()]
        refunds = [_not_charged(name, route, cost, series, mark) for name, cost in costs.items()]
        losses = yields.loss_by_stage(adds, stage_yields, refunds)
        lines += [
            Line(name, "scrap", "part", mark, loss, series)
            for name, loss in zip(costs, losses, strict=True)
            if name != BLANK
        ]
    return lines


def _per_part(line: Line) -> bool:
    return line.level in ("part", "load")


def _unit_cost(cost: StepCost, mark: Mark, series: str, loads: Mapping[str, Number]) -> Number:
    return total(
        line.amount if line.level == "part" else line.amount * loads[line.step]
        for line in cost.lines
        if _per_part(line) and line.mark == mark and line.series == series
    )


def _not_charged(name: str, route: Route, cost: StepCost, series: str, mark: Mark) -> Number:
    """What a processor that charges good parts only takes back for a lost one [money/part]."""
    step = route.steps.get(name)
    if not isinstance(step, OutsideStep) or step.charged_rejects:
        return 0.0
    return total(
        line.amount
        for line in cost.lines
        if line.level == "part" and line.element == "outside" and (line.mark, line.series) == (mark, series)
    )


def _once_lines(once: Once, rates: Rates) -> Iterator[Line]:
    """What is paid once, and our share of what it is still worth at the end of the horizon."""
    paid = once.cost if once.cost is not None else once.hours * labour_per_hour(rates.labour[once.labour])
    yield Line("route", once.kind, "once", "cash", once.share * paid, note=once.name, first_month=once.month)
    left = -once.share * once.end_value
    yield Line("route", "end value", "once", "cash", left, note=once.name, first_month=ALWAYS)
