"""Whether machine and tool can do what a cut asks: reported, never clipped, never called safe."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from costmodel.cut_demand import Demand
from costmodel.cut_engagement import engaged_depth, finish_depth
from costmodel.cut_motion import Motion, follows_diameter, pitch_of
from costmodel.formulas import holes, thread_dimensions
from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.records.rates import Machine
from costmodel.records.tool import Tool
from costmodel.units import Number


def cut_flags(cut: AnyCut, motion: Motion, demand: Demand, machine: Machine, tool: Tool) -> Iterator[str]:
    """What the machine or the tool cannot do as stated."""
    yield from _other_trade(cut, machine, tool)
    limits = (
        ("spindle speed", motion.asked, machine.spindle_speed, "1/min"),
        ("feed", motion.feed_speed, machine.max_feed, "mm/min"),
        ("power", demand.power, machine.spindle_power, "kW"),
        ("torque", demand.torque, machine.spindle_torque, "N m"),
        ("depth", _depth(cut, motion), tool.reach, "mm"),
        ("depth of cut", _engaged(cut), tool.flute_length, "mm"),
    )
    for word, wanted, limit, unit in limits:
        if wanted is not None and limit is not None and np.any(wanted > limit):
            held = " and held there" if word == "spindle speed" and follows_diameter(cut) else ""
            yield exceeded(word, wanted, limit, unit) + held


def _other_trade(cut: AnyCut, machine: Machine, tool: Tool) -> Iterator[str]:
    """A tool that is made for other cuts, a machine that does other work; nothing where they do not say."""
    if tool.made_for and cut.kind not in tool.kinds_made():
        yield f"{tool.name} is made for {', '.join(tool.kinds_made())}, not for {cut.kind}"
    works = _works(cut)
    if machine.work and not any(work in machine.work for work in works):
        yield f"{machine.name} does {machine.work}, no {' or '.join(works)}"


def _works(cut: AnyCut) -> tuple[str, ...]:
    if isinstance(cut, kinds.Saw):
        return ("sawing",)
    if isinstance(cut, kinds.Drill | kinds.Ream | kinds.Tap):
        return ("milling", "turning")
    return ("turning",) if isinstance(cut, kinds.Turning) else ("milling",)


def not_checked(demand: Demand, machine: Machine) -> str:
    """Why power and torque of a cut are not checked; empty where they are."""
    if demand.untold:
        return demand.untold
    stated = (machine.spindle_power, machine.spindle_torque)
    missing = [
        word for word, limit in zip(("spindle_power", "spindle_torque"), stated, strict=True) if limit is None
    ]
    return f"{machine.name} states no {' and no '.join(missing)}" if missing else ""


def exceeded(word: str, wanted: Number, limit: Number, unit: str) -> str:
    """The words of a limit that is passed; of draws, the farthest."""
    most, least = float(np.max(wanted)), float(np.min(limit))
    apart = (digits for digits in range(4, 17) if f"{most:.{digits}g}" != f"{least:.{digits}g}")
    digits = next(apart, 4)
    shown, stated = (float(f"{value:.{digits}g}") for value in (most, least))
    return f"{word} {shown:.9g} {unit} is above {stated:.9g} {unit}"


def _depth(cut: AnyCut, motion: Motion) -> Number | None:
    """How deep the tool has to reach, with a drill's point and what runs out behind; None from outside."""
    if isinstance(cut, kinds.Drill):
        return holes.drilling_travel(cut.depth, motion.diameter, point_angle=cut.point_angle)
    if isinstance(cut, kinds.Ream | kinds.BoreMill):
        return cut.depth + cut.overrun
    if isinstance(cut, kinds.TurnedPasses):
        return cut.length if isinstance(cut, kinds.Bore) else None
    if isinstance(cut, kinds.Tap) and cut.turns is not None:
        return thread_dimensions.thread_length(cut.turns, pitch_of(cut))
    if isinstance(cut, kinds.PartOff):
        return (cut.diameter - cut.inner_diameter) / 2.0
    if isinstance(cut, kinds.ThreadTurn | kinds.Face):
        return None
    depth: Number | None = getattr(cut, "depth", None)
    return depth


def _engaged(cut: AnyCut) -> Number | None:
    """How long a stretch of the flutes is in the work at once."""
    if isinstance(cut, kinds.ThreadMill):
        return cut.depth if cut.cutter == "full length" else None
    depth = engaged_depth(cut) if isinstance(cut, kinds.SideCut | kinds.Slot) else None
    if isinstance(cut, kinds.Pocket) and depth is not None:
        deeper: Number = np.maximum(depth, finish_depth(cut))
        return deeper
    return depth
