"""What it costs to make a part: one route at given rates, every line kept.

Start here. ``part_cost`` walks the route from blank to finished part. Each step gives lines of cost (what it
adds to a part, a load or a lot) and clocks (minutes of the machine and of hands). Parts lost on the way carry
what they have cost so far: one scrap line a step, where the loss happens.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from costmodel.blank_cost import BLANK, blank_lines
from costmodel.cost_lines import Clock, CostSheet, Level, Line, Rhythm, total
from costmodel.cut_time import CutTime
from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import lot_charges, rate_bases, sampling, yields
from costmodel.formulas._limits import within
from costmodel.lost_parts import per_part_amount, scrap_lines
from costmodel.machine_rate import RateTerm, labour_per_hour, terms_on
from costmodel.machine_work import (
    LENT,
    STOPPED,
    WAITING,
    Losses,
    MachineWork,
    Spent,
    hands_minutes,
    loads_per_part,
    machine_minutes,
    route_work,
    share_flags,
)
from costmodel.once_cost import once_lines, ramp_up_lines
from costmodel.records.part import Part
from costmodel.records.rates import Labour, Rates
from costmodel.records.route import AnyStep, BenchStep, MachineStep, OutsideStep, Route, Step
from costmodel.records.study import RateBasis
from costmodel.tool_use import ToolUse
from costmodel.units import Number

SMALLEST_SAMPLED_LOT = 2.0
RUNNING: tuple[Level, ...] = ("part", "load", "lot")


class StepCost(NamedTuple):
    """What one step adds: lines per part or load as if no part were lost, and minutes item by item."""

    lines: tuple[Line, ...]
    spent: tuple[Spent, ...] = ()


@dataclass(frozen=True)
class PartCost(CostSheet):
    """The cost of a part by one route, with what was computed on the way."""

    tools: tuple[ToolUse, ...] = ()
    cuts: tuple[CutTime, ...] = ()
    parts_in: Mapping[str, Number] | None = None
    """Parts that enter each step for one good part at the end [-]."""
    unit: Mapping[str, Number] | None = None
    """What each step adds to a part that goes through it [money/part]."""
    stage_yields: Mapping[str, Number] | None = None
    """Good out over in of each step, rework and failed tools counted [fraction]."""
    spent: tuple[Spent, ...] = ()
    losses: Mapping[str, Losses] | None = None
    """What failed tools take in each machine step."""

    def blanks_to_start(self) -> Number:
        """Whole blanks to start for one lot of good parts [part]."""
        assert self.parts_in is not None
        return yields.blanks_to_start(self.rhythm.lot, 1.0 / self.parts_in[BLANK], "whole")

    def cost_so_far(self, step: str) -> Number:
        """What a part has cost at the end of a step, losses before that step included [money/part]."""
        assert self.unit is not None
        assert self.stage_yields is not None
        at = list(self.unit).index(step)
        before = list(self.stage_yields.values())[:at]
        return yields.cost_per_good_part(list(self.unit.values())[: at + 1], [*before, 1.0])

    def cost_of_lost_part(self, step: str, salvage: Number) -> Number:
        """What a part lost in a step has cost, less what it still fetches [money/part]."""
        return self.cost_so_far(step) - salvage

    def unattended_hours(self) -> Number:
        """Hours a year that machines run with nobody at work at that step [h/yr], good parts and lost.

        Each machine less the hands at its own step: those of a bench or of another machine take nothing off. A
        machine that waits or is stopped does not run.
        """
        assert self.parts_in is not None
        alone = total(
            np.maximum(machine - hands, 0.0) for machine, hands in map(self._at_machine, self.losses or {})
        )
        return alone * self.rhythm.per_year / rate_bases.MINUTES_PER_HOUR

    def _at_machine(self, step: str) -> tuple[Number, Number]:
        """Minutes of a machine and of the hands at it for one good part, whoever pays for them [min/part]."""
        assert self.parts_in is not None
        machine: Number = 0.0
        hands: Number = 0.0
        for item in self.spent:
            stands = item.what in (WAITING, STOPPED)
            if item.step == step and not stands and not item.what.startswith(LENT):
                often = self.rhythm.per_part(item.level, step)
                often = often if item.level == "lot" else often * self.parts_in[step]
                machine, hands = machine + item.machine * often, hands + item.hands_on * often
        return machine, hands


@dataclass(frozen=True)
class Setting:
    """What a step needs to know to be costed, besides itself."""

    rates: Rates
    lot: Number
    basis: RateBasis
    contributions: Mapping[str, Number]
    parts_in: Mapping[str, Number]
    works: Mapping[str, MachineWork]


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
    machine would earn [money/h]. Raises InputError where a cut or a tool cannot be what is stated, for a lot
    below one part and for a year without parts.
    """
    _check_volumes(lot, per_year)
    works = route_work(part, route, rates)
    stages = [BLANK, *route.steps]
    stage_yields = [1.0, *(_stage_yield(step, rates, works) for step in route.steps.values())]
    parts_in = dict(zip(stages, yields.parts_into_stages(stage_yields), strict=True))
    setting = Setting(rates, lot, basis, contributions or {}, parts_in, works)
    costs = {BLANK: StepCost(blank_lines(part.blank, rates, lot * parts_in[BLANK]))}
    costs |= {name: _step_cost(step, setting) for name, step in route.steps.items()}
    machine_steps = [step for step in route.steps.values() if isinstance(step, MachineStep)]
    loads = {step.name: loads_per_part(step, lot * parts_in[step.name]) for step in machine_steps}
    series = rates.materials[part.blank.material].series
    lines = [line for cost in costs.values() for line in cost.lines]
    lines += scrap_lines(
        {name: cost.lines for name, cost in costs.items()}, route, stage_yields, loads, series
    )
    lines += [
        Line("route", yearly.name, "year", "cash", yearly.cost, yearly.series)
        for yearly in route.yearly.values()
    ]
    lines += [
        line
        for once in route.once.values()
        for line in once_lines(once, rates, per_year, basis, setting.contributions)
    ]
    if route.ramp_up is not None:
        steps = [line for cost in costs.values() for line in cost.lines]
        cash = total(per_part_amount(line, loads) for line in steps if line.mark == "cash")
        hands = total(per_part_amount(line, loads) for line in steps if line.element == "labour")
        lines += ramp_up_lines(route.ramp_up, yields.rolled_yield(stage_yields), cash, hands)
    spent = tuple(item for cost in costs.values() for item in cost.spent)
    return PartCost(
        name=route.name,
        title=route.title,
        lines=tuple(lines),
        clocks=_clocks(spent, route, setting),
        rhythm=Rhythm(per_year=per_year, lot=lot, shipment=lot, loads=loads),
        flags=(
            *(flag for work in works.values() for flag in work.flags),
            *(flag for step in machine_steps for flag in share_flags(step, lot)),
        ),
        tools=tuple(tool for work in works.values() for tool in work.tools),
        cuts=tuple(cut for work in works.values() for cut in work.cuts),
        parts_in=parts_in,
        unit={
            name: total(per_part_amount(line, loads) for line in cost.lines) for name, cost in costs.items()
        },
        stage_yields=dict(zip(stages, stage_yields, strict=True)),
        spent=spent,
        losses={name: work.losses for name, work in works.items()},
    )


def _check_volumes(lot: Number, per_year: Number) -> None:
    """A lot has one good part or more and a year has some; neither is endless."""
    try:
        within("lot", lot, at_least=1.0, below=np.inf)
        within("per_year", per_year, above=0.0, below=np.inf)
    except LimitError as error:
        expected = error.expected.replace("below inf", "not endless")
        remedy = "Cost a lot of whole parts and a year of some."
        raise InputError([Problem("part", error.name, f"{error.value}", expected, remedy)]) from error


def step_yield(step: AnyStep, rates: Rates) -> Number:
    """Good out over in of one step as stated; an outside processor's yield stands with its rates."""
    if isinstance(step, OutsideStep):
        return rates.processors[step.processor].process_yield
    return step.step_yield


def _stage_yield(step: AnyStep, rates: Rates, works: Mapping[str, MachineWork]) -> Number:
    """Good out over in of one step, with what rework saves and what failed tools spoil."""
    good = step_yield(step, rates)
    if step.rework is not None:
        fix = step.rework
        good = yields.rework_loop(good, fix.reworkable, fix.success, 0.0, fix.repeat).stage_yield
    lost = works[step.name].losses.lost if step.name in works else 0.0
    if np.any(np.greater_equal(lost, 1.0)):
        place, found = f"steps.{step.name}", "every part lost by failed tools"
        remedy = "Correct the lives and their scatter, or unattended_loads."
        raise InputError([Problem("part", place, found, "tools that fail less often", remedy)])
    return good * (1.0 - lost)


def _step_cost(step: AnyStep, setting: Setting) -> StepCost:
    if isinstance(step, MachineStep):
        cost = _machine_step(step, setting)
    elif isinstance(step, OutsideStep):
        cost = _outside_step(step, setting)
    else:
        cost = _bench_step(step, setting)
    return StepCost((*cost.lines, *_item_lines(step), *_rework_lines(step, setting)), cost.spent)


def _item_lines(step: Step) -> list[Line]:
    return [
        Line(step.name, item.element, "part", "cash", item.cost, item.series, note=item.name)
        for item in step.items.values()
    ]


def _rework_lines(step: AnyStep, setting: Setting) -> list[Line]:
    """What is done again to rejects, for each part that enters the step."""
    if step.rework is None:
        return []
    fix, grade = step.rework, setting.rates.labour[step.rework.labour]
    first = step_yield(step, setting.rates)
    loop = yields.rework_loop(first, fix.reworkable, fix.success, fix.cost, fix.repeat)
    hands = _labour_line(step.name, "rework", "part", loop.reworks * fix.hands_on, grade)
    return [hands, Line(step.name, "rework", "part", "cash", loop.cost, note="what it uses up")]


def _machine_step(step: MachineStep, setting: Setting) -> StepCost:
    machine, work = setting.rates.machines[step.machine], setting.works[step.name]
    terms = terms_on(setting.basis, machine, setting.rates, setting.contributions.get(step.machine, 0.0))
    grade = setting.rates.labour[step.operator or machine.operator]
    spent = (*work.spent, *_sampling(step, setting))
    lines: list[Line] = []
    for level in RUNNING:
        element = "set-up" if level == "lot" else "machine"
        lines += rate_lines(step.name, element, level, machine_minutes(spent, level), terms)
    for level in RUNNING:
        element = "set-up" if level == "lot" else "labour"
        lines.append(_labour_line(step.name, element, level, hands_minutes(spent, level), grade))
    return StepCost((*lines, *_tool_lines(step, work.tools, setting.rates)), spent)


def _sampling(step: Step, setting: Setting) -> list[Spent]:
    """Inspection of a sample of the lot; of a lot smaller than the plan's sample, of all of it."""
    if not np.any(step.sampled_inspection > 0.0):
        return []
    lot: Number = np.maximum(setting.lot, SMALLEST_SAMPLED_LOT)
    plan = sampling.single_sampling_plan(lot, level=step.inspection_level)
    sample: Number = np.minimum(plan.sample, setting.lot)
    return [Spent(step.name, "inspection of the sample", "lot", 0.0, sample * step.sampled_inspection)]


def _tool_lines(step: MachineStep, tools: tuple[ToolUse, ...], rates: Rates) -> list[Line]:
    """One line for the tools that follow the same index series."""
    by_series: dict[str, list[Number]] = {}
    for tool in tools:
        by_series.setdefault(rates.tools[tool.tool].series, []).append(tool.cost_per_part)
    return [
        Line(step.name, "tooling", "part", "cash", total(costs), series)
        for series, costs in by_series.items()
    ]


def rate_lines(
    step: str, element: str, level: Level, minutes: Number, terms: tuple[RateTerm, ...]
) -> list[Line]:
    """Machine minutes at every term of a machine's hour."""
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


def _outside_step(step: OutsideStep, setting: Setting) -> StepCost:
    """The processor's price a part, and by lot what its minimum adds and the way there and back costs."""
    processor = setting.rates.processors[step.processor]
    sent = setting.lot * setting.parts_in[step.name]
    charged = sent if step.charged_rejects else sent * processor.process_yield
    minimum = lot_charges.minimum_top_up(charged, processor.price, processor.lot_minimum)
    lines = (
        Line(step.name, "outside", "part", "cash", processor.price, processor.series, note=processor.name),
        Line(step.name, "outside", "lot", "cash", minimum, processor.series, note="lot minimum"),
        Line(step.name, "outside", "lot", "cash", processor.transport, processor.series, note="transport"),
    )
    if not step.labour:
        return StepCost(lines)
    grade = setting.rates.labour[step.labour]
    spent = (
        Spent(step.name, "inspection", "part", 0.0, step.inspection),
        Spent(step.name, "inspection of the lot", "lot", 0.0, step.inspection_per_lot),
        *_sampling(step, setting),
    )
    hands = [_labour_line(step.name, "labour", it, hands_minutes(spent, it), grade) for it in ("part", "lot")]
    return StepCost((*lines, *hands), spent)


def _bench_step(step: BenchStep, setting: Setting) -> StepCost:
    grade = setting.rates.labour[step.labour]
    spent = (
        Spent(step.name, "hands-on work", "part", 0.0, step.hands_on),
        Spent(step.name, "inspection", "part", 0.0, step.inspection),
        Spent(step.name, "set-up", "lot", 0.0, step.set_up),
        Spent(step.name, "inspection of the lot", "lot", 0.0, step.inspection_per_lot),
        *_sampling(step, setting),
    )
    lines = (
        _labour_line(step.name, "labour", "part", hands_minutes(spent, "part"), grade),
        _labour_line(step.name, "set-up", "lot", hands_minutes(spent, "lot"), grade),
    )
    return StepCost(lines, spent)


def _clocks(spent: tuple[Spent, ...], route: Route, setting: Setting) -> tuple[Clock, ...]:
    """Minutes of each step's machine and grade by level, lost parts included: a set-up serves the lot, whatever
    is lost in it.
    """
    clocks: list[Clock] = []
    for name, step in route.steps.items():
        items = [item for item in spent if item.step == name]
        for level in RUNNING if items else ():
            occurs = 1.0 if level == "lot" else setting.parts_in[name]
            machine, hands = machine_minutes(items, level), hands_minutes(items, level)
            if isinstance(step, MachineStep):
                grade = step.operator or setting.rates.machines[step.machine].operator
                clocks.append(Clock(name, "machine", step.machine, level, machine * occurs))
            else:
                grade = step.labour
            if isinstance(step, MachineStep) or level != "load":
                clocks.append(Clock(name, "hands-on", grade, level, hands * occurs))
        if step.rework is not None:
            fix = step.rework
            loop = yields.rework_loop(
                step_yield(step, setting.rates), fix.reworkable, fix.success, 0.0, fix.repeat
            )
            again = loop.reworks * fix.hands_on * setting.parts_in[name]
            clocks.append(Clock(name, "hands-on", fix.labour, "part", again))
    return tuple(clocks)
