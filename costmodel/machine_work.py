"""What a step on a machine takes: minutes of both clocks item by item, tools, losses by failed tools, flags."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

import numpy as np

from costmodel.blank_cost import loaded_mass, parts_per_bar
from costmodel.cost_lines import Flag, Level, total
from costmodel.cut_limits import exceeded
from costmodel.cut_time import CutTime, cut_time
from costmodel.formulas import bar_and_saw, labour, machine_tending, unattended
from costmodel.formulas._series import whole_up
from costmodel.kept import kept
from costmodel.records.part import Part
from costmodel.records.rates import Machine, Rates
from costmodel.records.route import MachineStep, Route
from costmodel.tool_use import ToolUse, tool_uses
from costmodel.units import Number


class Spent(NamedTuple):
    """Minutes that one thing takes on both clocks, each time its level occurs."""

    step: str
    what: str
    level: Level
    machine: Number
    hands_on: Number


class Losses(NamedTuple):
    """What edges that fail before their change take with them."""

    failures: Number
    """[1/part]"""
    lost: Number
    """Share of the parts that enter the step which failures spoil [fraction]."""
    attended: Number
    """Parts spoilt by a failure while somebody stands by [part]."""
    unattended: Number
    """Parts spoilt by a failure while nobody is there [part]."""
    stopped: Number
    """Machine minutes that stand still after a failure, on average [min]."""


NO_LOSSES = Losses(0.0, 0.0, 0.0, 0.0, 0.0)


class MachineWork(NamedTuple):
    """One step on a machine: its cuts and tools, its minutes item by item, its losses, its flags."""

    step: MachineStep
    cuts: tuple[CutTime, ...]
    tools: tuple[ToolUse, ...]
    spent: tuple[Spent, ...]
    losses: Losses
    flags: tuple[Flag, ...]


WAITING = "waiting for a person"
LOADING = "loading"
STOPPED = "stopped by failed tools"
STANDING_BY = "standing by"
LENT = "done while standing by at"


def machine_minutes(spent: Iterable[Spent], level: Level) -> Number:
    """Machine minutes of a level."""
    return total(item.machine for item in spent if item.level == level)


def hands_minutes(spent: Iterable[Spent], level: Level) -> Number:
    """Hands-on minutes of a level."""
    return total(item.hands_on for item in spent if item.level == level)


def minutes_per_load(spent: Iterable[Spent], parts_per_load: int) -> Number:
    """Machine minutes from one load to the next [min/load]."""
    items = tuple(spent)
    return parts_per_load * machine_minutes(items, "part") + machine_minutes(items, "load")


def loads_per_part(step: MachineStep, entering: Number) -> Number:
    """Loads run for each part that enters a step, `entering` in a lot [load/part].

    Shared, the last load is filled up with other parts and charged by its share; whole, it is run for the lot.
    """
    if step.loads == "whole":
        return whole_up(entering / step.parts_per_load) / entering
    return 1.0 / step.parts_per_load


def share_flags(step: MachineStep, lot: Number) -> Iterator[Flag]:
    """A lot that leaves a load partly empty, charged by its share; nothing is said of many lots at once."""
    if step.loads == "whole" or step.parts_per_load == 1 or np.ndim(lot) > 0:
        return
    filled = lot / step.parts_per_load
    if filled != whole_up(filled):
        text = f"{lot:g} parts fill {filled:.4g} loads of {step.parts_per_load}; the last"
        yield Flag(
            step.name, f'{text} is charged by its share: write loads = "whole" if nothing else fills it'
        )


@kept(4)
def route_work(part: Part, route: Route, rates: Rates) -> dict[str, MachineWork]:
    """Every machine step of a route, with hands that a step lends to the one tended during it."""
    steps = [step for step in route.steps.values() if isinstance(step, MachineStep)]
    works = {step.name: _work(part, route, step, rates) for step in steps}
    free = {name: _by_part(work, STANDING_BY) for name, work in works.items()}
    return {name: _tended(work, works, free) for name, work in works.items()}


def _work(part: Part, route: Route, step: MachineStep, rates: Rates) -> MachineWork:
    machine = rates.machines[step.machine]
    chosen = part.cuts_of(step).values()
    cuts = tuple(cut_time(step, cut, rates, part.blank.material, route.time_factor) for cut in chosen)
    tools = tool_uses(step.name, cuts, rates.tools)
    running = [
        *_part_items(part, step, machine, cuts, tools),
        *_load_items(step, machine, cuts, route.time_factor),
    ]
    standing = tuple(_standing_by(step, running))
    spent = [*running, *standing, *_waiting(step, machine, running, standing)]
    losses = _losses(step, tools, minutes_per_load(spent, step.parts_per_load))
    if losses is not NO_LOSSES:
        stopped = losses.failures * losses.stopped
        spent.append(Spent(step.name, STOPPED, "part", stopped, losses.failures * step.failure_stop))
    spent += [
        Spent(step.name, "inspection", "part", 0.0, step.inspection),
        Spent(step.name, "set-up", "lot", step.set_up, step.set_up),
        Spent(step.name, "inspection of the lot", "lot", 0.0, step.inspection_per_lot),
    ]
    flags = tuple(Flag(f"{step.name}.{cut.name}", text) for cut in cuts for text in cut.flags)
    told = (*_load_flags(part, route, step, rates, tools), *_clock_flags(step, machine))
    more = tuple(Flag(step.name, text) for text in told)
    return MachineWork(
        step, cuts, tools, tuple(spent), losses, (*flags, *more, *_unchecked(step, machine, cuts))
    )


def _unchecked(step: MachineStep, machine: Machine, cuts: tuple[CutTime, ...]) -> Iterator[Flag]:
    """Cuts whose power cannot be told though the machine states a limit: said, not passed over."""
    if machine.spindle_power is None and machine.spindle_torque is None:
        return
    reasons: dict[str, list[str]] = {}
    for cut in cuts:
        if cut.demand.untold:
            reasons.setdefault(cut.demand.untold, []).append(cut.name)
    for reason, names in reasons.items():
        yield Flag(step.name, f"power and torque are not checked for {', '.join(names)}: {reason}")


def _part_items(
    part: Part, step: MachineStep, machine: Machine, cuts: tuple[CutTime, ...], tools: tuple[ToolUse, ...]
) -> Iterator[Spent]:
    """What every part takes: its cuts, worn tools, the bar."""
    yield Spent(step.name, "in cut", "part", total(cut.in_cut for cut in cuts), 0.0)
    yield Spent(step.name, "pecks and ways out", "part", total(cut.other for cut in cuts), 0.0)
    yield Spent(step.name, "rapid moves", "part", total(cut.rapid for cut in cuts), 0.0)
    hands = total(tool.change_minutes_per_part for tool in tools)
    waits = total(tool.waiting_per_part for tool in tools)
    yield Spent(step.name, "worn tools changed", "part", waits, hands)
    if step.feeds_bar:
        feed = bar_and_saw.bar_feed_minutes(
            machine.bar_advance, machine.bar_change, parts_per_bar(part.blank)
        )
        yield Spent(step.name, "bar feed", "part", feed, 0.0)


def _load_items(
    step: MachineStep, machine: Machine, cuts: tuple[CutTime, ...], time_factor: Number
) -> Iterator[Spent]:
    """What every load takes, whichever number of parts it holds."""
    if step.programme is not None:
        yield Spent(step.name, "programme", "load", time_factor * step.programme, 0.0)
    changes = tool_changes([cut.tool for cut in cuts])
    yield Spent(step.name, "tool changes", "load", changes * machine.tool_change, 0.0)
    yield Spent(step.name, "indexing", "load", step.index_moves * machine.index_time, 0.0)
    yield Spent(step.name, "probing", "load", step.probing, 0.0)
    if not step.feeds_bar:
        yield Spent(step.name, "door", "load", machine.door, 0.0)
    if step.loading == "inside":
        yield Spent(step.name, LOADING, "load", step.hands_on, step.hands_on)
    else:
        yield Spent(step.name, LOADING, "load", 0.0, step.hands_on)
        yield Spent(step.name, "pallet swap", "load", machine.pallet_swap, 0.0)
    yield Spent(step.name, "walking", "load", 0.0, step.walk)


def tool_changes(tools: list[str]) -> int:
    """Changes of tool in one load: each run of cuts with one tool serves every part of the load.

    Counted around the cycle: the first cut finds the tool with which the load before ended in the spindle.
    """
    return sum(1 for at, tool in enumerate(tools) if tool != tools[at - 1])


def _standing_by(step: MachineStep, running: list[Spent]) -> Iterator[Spent]:
    """A share of the time that the machine runs by itself: what hands do already is not counted twice."""
    alone = [item for item in running if item.what not in (LOADING, "worn tools changed")]
    for level in ("part", "load"):
        minutes = step.attendance * machine_minutes(alone, level)
        yield Spent(step.name, STANDING_BY, level, 0.0, minutes)


def _waiting(
    step: MachineStep, machine: Machine, running: list[Spent], standing: tuple[Spent, ...]
) -> Iterator[Spent]:
    """What a load waits: for a loading that takes longer than the machine runs, for a person at other machines.

    A person at several machines stands by at one at a time: that is part of the round, beside loading, walking
    and worn tools. At a single machine it makes nothing wait: who loads beside it is there.
    """
    cycle = minutes_per_load(running, step.parts_per_load)
    tended = step.machines_tended
    others = [item for item in (*running, *standing) if item.what != LOADING]
    beside = step.parts_per_load * hands_minutes(others, "part") + hands_minutes(others, "load")
    if step.loading == "outside":
        run = cycle - machine.pallet_swap
        round_trip = step.hands_on + step.walk if tended == 1 else tended * (step.hands_on + beside)
        longest = labour.machine_minutes_per_load(run, machine.pallet_swap, round_trip)
        yield Spent(step.name, WAITING, "load", longest - cycle, 0.0)
    elif tended > 1:
        run = cycle - step.hands_on
        waits = machine_tending.regular_waiting_minutes(tended, step.hands_on, run, beside)
        if step.calls == "random":
            crowd = machine_tending.machine_interference(tended, step.hands_on + step.walk, run)
            waits = np.maximum(waits, crowd.waiting_minutes)
        yield Spent(step.name, WAITING, "load", waits, 0.0)


def _losses(step: MachineStep, tools: tuple[ToolUse, ...], load_minutes: Number) -> Losses:
    """Parts and minutes that failed tools take: the load, or unattended all that follows until it is noticed."""
    failures = total(tool.failures for tool in tools)
    if not np.any(np.greater(failures, 0.0)):
        return NO_LOSSES
    attended = float(step.parts_per_load if step.failure_spoils == "load" else 1)
    chance: Number = -np.expm1(-failures * step.parts_per_load)
    run = unattended.unattended_run(
        step.unattended_loads, step.parts_per_load, load_minutes, chance, step.detection
    )
    alone = step.unattended_share
    safe = np.where(np.greater(failures, 0.0), failures, 1.0)[()]
    without_sister = total(tool.failures for tool in tools if tool.machine_waits) / safe
    stands = unattended.idle_after_failure(
        run.parts, run.expected_good, run.expected_scrap, run.minutes, run.failure_chance
    )
    stopped = step.failure_stop + alone * without_sister * stands
    by_day: Number = -np.expm1(-failures * attended)
    lost = (1.0 - alone) * by_day + alone * run.lost_share
    return Losses(failures, lost, attended, run.scrap_per_failure, stopped)


def _load_flags(
    part: Part, route: Route, step: MachineStep, rates: Rates, tools: tuple[ToolUse, ...]
) -> Iterator[str]:
    """What the machine's table, its magazine or the fixture cannot take."""
    machine = rates.machines[step.machine]
    fixture = route.once[step.fixture] if step.fixture else None
    if machine.table_load is not None:
        held = 0.0 if fixture is None else fixture.mass
        mass = held + step.parts_per_load * loaded_mass(part.blank, rates)
        if np.any(mass > machine.table_load):
            yield exceeded("mass of a load", mass, machine.table_load, "kg")
    if fixture is not None and fixture.holds is not None and step.parts_per_load > fixture.holds:
        yield f"{step.parts_per_load} parts a load are more than the {fixture.holds} that {fixture.name} holds"
    places = sum(rates.tools[tool.tool].sisters for tool in tools)
    if machine.tool_places is not None and places > machine.tool_places:
        yield f"{places} tools are more than the {machine.tool_places} places of {machine.name}"


def _clock_flags(step: MachineStep, machine: Machine) -> Iterator[str]:
    """What a step takes for granted: pallets or a bar feeder that the machine does not state, more than one person."""
    if step.loading == "outside" and np.any(step.hands_on > 0.0) and np.any(machine.pallet_swap == 0.0):
        yield f"is loaded outside the cycle, but {machine.name} states no pallet_swap: the change costs nothing"
    if step.feeds_bar and np.any(machine.bar_advance == 0.0):
        yield f"feeds bar, but {machine.name} states no bar_advance: feeding costs nothing"
    asked = step.machines_tended * step.attendance
    if step.machines_tended > 1 and np.any(asked > 1.0):
        share = f"{100.0 * np.max(asked):.4g} %"
        yield f"standing by at {step.machines_tended} machines asks for {share} of one person: each load waits"


def _tended(work: MachineWork, works: Mapping[str, MachineWork], free: dict[str, Number]) -> MachineWork:
    """The step with its hands-on work done, as far as it goes, while standing by at the step it names.

    `free` holds minutes of standing by that are left to lend at each step [min/part]; what is lent here is
    taken off, since the steps that name one step share its hands in the order of the route.
    """
    step = work.step
    if not step.tended_during:
        return work
    other = works[step.tended_during]
    left = free[other.step.name]
    a_load: Number = np.minimum(left * step.parts_per_load, hands_minutes(work.spent, "load"))
    left = left - a_load / step.parts_per_load
    a_part: Number = np.minimum(left, hands_minutes(work.spent, "part") - step.inspection)
    free[other.step.name] = left - a_part
    what = f"{LENT} {other.step.name}"
    spent = (
        *work.spent,
        Spent(step.name, what, "load", 0.0, -a_load),
        Spent(step.name, what, "part", 0.0, -a_part),
    )
    pace = minutes_per_load(other.spent, other.step.parts_per_load) / other.step.parts_per_load
    mine = minutes_per_load(work.spent, step.parts_per_load) / step.parts_per_load
    slow = np.any(mine > pace)
    text = f"takes {np.max(mine):.4g} min a part, longer than {other.step.name}, during which it is tended"
    flags = (*work.flags, Flag(step.name, text)) if slow else work.flags
    return work._replace(spent=spent, flags=flags)


def _by_part(work: MachineWork, what: str) -> Number:
    loads = 1.0 / work.step.parts_per_load
    items = [item for item in work.spent if item.what == what]
    return hands_minutes(items, "part") + loads * hands_minutes(items, "load")
