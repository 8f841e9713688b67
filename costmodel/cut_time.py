"""Minutes and wear of one cut in its step. What a machine or tool cannot do is flagged, never clipped."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.cut_demand import Demand, cut_demand
from costmodel.cut_engagement import Finished, engaged_depth, finish_depth
from costmodel.cut_limits import cut_flags, not_checked
from costmodel.cut_minutes import MINUTES, Times
from costmodel.cut_motion import Motion, missing_dimension, motion_of
from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import cutting
from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.records.rates import Rates
from costmodel.records.route import MachineStep
from costmodel.units import Number


class Stretch(NamedTuple):
    """Minutes of a cut in which the edge wears alike: its rough passes, or its finish pass."""

    minutes: Number
    """[min/part]"""
    feed: Number
    """Per tooth, or per revolution where there is one edge [mm]."""
    depth: Number | None
    """Depth of cut [mm]; None where the kind states none."""


class CutTime(NamedTuple):
    """Minutes of one cut for one part, and the conditions under which its tool wears."""

    step: str
    name: str
    kind: str
    tool: str
    times: int
    """How often it occurs in a part: holes, where it makes one."""
    in_cut: Number
    """Minutes in feed, which wear the edge [min/part]."""
    other: Number
    """Pecks and the way out at feed or in rapid [min/part]."""
    rapid: Number
    """Rapid moves between cuts [min/part]."""
    motion: Motion
    fed_length: Number
    """Way of the tool in feed [mm/part]."""
    wear: tuple[Stretch, ...]
    """The minutes in feed by feed and depth."""
    demand: Demand
    flags: tuple[str, ...]
    """Limits of machine or tool that it passes."""
    unchecked: str
    """Why its power and torque are not checked; empty where they are."""

    @property
    def minutes(self) -> Number:
        """In feed, pecks, way out and rapid moves together [min/part]."""
        return self.in_cut + self.other + self.rapid

    @property
    def power(self) -> Number | None:
        """At the spindle [kW]; None where it cannot be told."""
        return self.demand.power


def cut_time(
    step: MachineStep, cut: AnyCut, rates: Rates, material: str, time_factor: Number = 1.0
) -> CutTime:
    """Time one cut of a step on its machine with its tool; `time_factor` [-] stretches what is not yet measured.

    Raises InputError where the cut needs a dimension that its tool does not state, or where cut and tool do
    not go together.
    """
    machine, tool = rates.machines[step.machine], rates.tools[cut.tool]
    try:
        motion = motion_of(step, cut, tool, machine)
        if isinstance(cut, kinds.Groove) and motion.width is None:
            raise missing_dimension(step, cut, "width")
        times = MINUTES[type(cut)](cut, motion)
        demand = cut_demand(cut, motion, rates.materials[material], tool)
    except LimitError as error:
        place = f"steps.{step.name}.cuts.{cut.name}"
        expected, remedy = f"{error.name} {error.expected}", "Correct the cut or choose another tool."
        raise InputError([Problem("part", place, f"{error.name} {error.value}", expected, remedy)]) from error
    often = time_factor * cut.count
    return CutTime(
        step=step.name,
        name=cut.name,
        kind=cut.kind,
        tool=cut.tool,
        times=cut.count,
        in_cut=often * times.in_cut,
        other=often * times.other,
        rapid=often * cutting.rapid_minutes(cut.rapid, machine.rapid),
        motion=motion,
        fed_length=cut.count * _way(cut, motion, times),
        wear=_wear(cut, motion, times, often),
        demand=demand,
        flags=tuple(cut_flags(cut, motion, demand, machine, tool)),
        unchecked=not_checked(demand, machine),
    )


def _wear(cut: AnyCut, motion: Motion, times: Times, often: Number) -> tuple[Stretch, ...]:
    """The stretches of a cut; the way into a pocket counts as its floor."""
    depth = engaged_depth(cut)
    if times.finish is None:
        return (Stretch(often * times.in_cut, motion.feed, depth),)
    assert isinstance(cut, Finished)
    rough = Stretch(often * (times.in_cut - times.finish), motion.feed, depth)
    return (rough, Stretch(often * times.finish, motion.feed * cut.finish_feed_share, finish_depth(cut)))


def _way(cut: AnyCut, motion: Motion, times: Times) -> Number:
    """Fed in one occurrence [mm]."""
    if times.way is not None:
        return times.way
    if times.finish is None:
        return times.in_cut * motion.feed_speed
    assert isinstance(cut, Finished)
    return (times.in_cut - times.finish * (1.0 - cut.finish_feed_share)) * motion.feed_speed
