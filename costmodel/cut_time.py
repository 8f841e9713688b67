"""Minutes of one cut: its kind chooses the formula. What a machine or tool cannot do is flagged, never clipped."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from costmodel.cut_demand import Demand, cut_demand
from costmodel.cut_limits import cut_flags, not_checked
from costmodel.cut_motion import Finished, Motion, finish_depth, missing_dimension, motion_of, pitch_of
from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import (
    bar_and_saw,
    cutting,
    holes,
    milling,
    milling_paths,
    thread_dimensions,
    threads,
    turning,
)
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
    def fed_length(self) -> Number:
        """Way of the tool in feed [mm/part]."""
        return self.in_cut * self.motion.feed_speed

    @property
    def power(self) -> Number | None:
        """At the spindle [kW]; None where it cannot be told."""
        return self.demand.power


class Times(NamedTuple):
    """Minutes of one occurrence of a cut: in feed, and otherwise."""

    in_cut: Number
    other: Number = 0.0
    finish: Number | None = None
    """Those of the finish pass or of the wall, which are in feed too; None where the kind has none."""


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
        times = _MINUTES[type(cut)](cut, motion)
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
        wear=_wear(cut, motion, times, often),
        demand=demand,
        flags=tuple(cut_flags(cut, motion, demand, machine, tool)),
        unchecked=not_checked(demand, machine),
    )


def _wear(cut: AnyCut, motion: Motion, times: Times, often: Number) -> tuple[Stretch, ...]:
    """The stretches of a cut; the way into a pocket counts as its floor."""
    depth = getattr(cut, "depth_of_cut", None)
    if times.finish is None:
        return (Stretch(often * times.in_cut, motion.feed, depth),)
    assert isinstance(cut, Finished)
    rough = Stretch(often * (times.in_cut - times.finish), motion.feed, depth)
    return (rough, Stretch(often * times.finish, motion.feed * cut.finish_feed_share, finish_depth(cut)))


class Passes(NamedTuple):
    """Passes counted in time of a rough one: all of them, and the finish pass, longer by its slower feed."""

    all: Number
    finish: Number


def _passes(cut: kinds.Face | kinds.Contour | kinds.TurnedPasses, stock: Number, each: Number) -> Passes:
    number = cutting.rough_and_finish_passes(stock, each, cut.finish_allowance)
    finish = number.finish / cut.finish_feed_share
    return Passes(number.rough + finish, finish)


def _in_passes(minutes: Number, passes: Passes) -> Times:
    """Minutes of all passes, and those of the finish pass among them."""
    return Times(minutes, finish=minutes * passes.finish / passes.all)


def _face(cut: kinds.Face, motion: Motion) -> Times:
    passes = _passes(cut, cut.depth, cut.depth_of_cut)
    minutes = milling.face_milling_minutes(
        cut.length,
        cut.width,
        motion.diameter,
        cut.width_of_cut,
        motion.feed_speed,
        passes.all,
        cut.overtravel,
    )
    return _in_passes(minutes, passes)


def _contour(cut: kinds.Contour, motion: Motion) -> Times:
    passes = _passes(cut, cut.radial_stock, cut.width_of_cut)
    levels = cutting.passes(cut.depth, cut.depth_of_cut)
    return _in_passes(milling_paths.path_minutes(cut.length, motion.feed_speed, passes.all * levels), passes)


def _clear(cut: kinds.Clear, motion: Motion) -> Times:
    return Times(
        milling_paths.clearing_minutes(
            cut.volume, cut.width_of_cut, cut.depth_of_cut, motion.feed_speed, cut.efficiency
        )
    )


def _pocket(cut: kinds.Pocket, motion: Motion) -> Times:
    levels = 1.0 if cut.wall_depth_of_cut is None else cutting.passes(cut.depth, cut.wall_depth_of_cut)
    pocket = milling_paths.pocket_minutes(
        cut.length,
        cut.width,
        cut.depth,
        cut.corner_radius,
        motion.diameter,
        cut.width_of_cut,
        cut.depth_of_cut,
        motion.feed_speed,
        motion.feed_speed * cut.finish_feed_share,
        cut.wall_allowance,
        levels,
    )
    return Times(pocket.floor + pocket.wall + _entry(cut, motion), finish=pocket.wall)


def _entry(cut: kinds.Pocket, motion: Motion) -> Number:
    """Minutes down the slope by which each level is entered."""
    if cut.entry_angle is None:
        return 0.0
    feed = cut.entry_feed_share * motion.feed_speed
    slope = milling_paths.entry_minutes(cut.depth, cut.entry_angle, feed)
    if cut.entry_diameter is None:
        return slope
    levels = cutting.passes(cut.depth, cut.depth_of_cut)
    return slope + milling_paths.helix_closing_minutes(cut.entry_diameter, motion.diameter, feed, levels)


def _slot(cut: kinds.Slot, motion: Motion) -> Times:
    return Times(
        milling.slotting_minutes(
            cut.length, cut.depth, motion.diameter, cut.depth_of_cut, motion.feed_speed, cut.ends
        )
    )


def _side_mill(cut: kinds.SideMill, motion: Motion) -> Times:
    runs = cutting.passes(cut.depth, cut.depth_of_cut)
    return Times(
        milling.peripheral_milling_minutes(
            cut.length, cut.depth_of_cut, motion.diameter, motion.feed_speed, runs, approach=cut.approach
        )
    )


def _drill(cut: kinds.Drill, motion: Motion) -> Times:
    hole: holes.Hole = "through" if cut.through else "blind"
    travel = holes.drilling_travel(
        cut.depth, motion.diameter, hole, cut.point, cut.point_angle, cut.clearance
    )
    pecks = 1.0 if cut.peck is None else cutting.passes(travel, cut.peck)
    drilled = holes.drilling_minutes(
        travel, motion.feed_speed, motion.rapid, pecks, cut.restart_gap, cut.retract, cut.pecking, cut.lift
    )
    return Times(drilled.cutting, drilled.pecking + drilled.way_out)


def _ream(cut: kinds.Ream, motion: Motion) -> Times:
    hole = holes.reaming_minutes(cut.depth, motion.feed_speed, motion.rapid, cut.overrun, cut.retract)
    return Times(hole.cutting, hole.way_out)


def _bore_mill(cut: kinds.BoreMill, motion: Motion) -> Times:
    number = cutting.passes(cut.stock, cut.depth_of_cut)
    hole = holes.boring_minutes(cut.depth, motion.feed_speed, motion.rapid, number, cut.overrun, cut.retract)
    return Times(hole.cutting, hole.way_out)


def _tap(cut: kinds.Tap, motion: Motion) -> Times:
    pitch = pitch_of(cut)
    if cut.depth is not None:
        depth = cut.depth
    else:
        assert cut.turns is not None
        depth = thread_dimensions.thread_length(cut.turns, pitch)
    hole = threads.tapping_minutes(
        depth, pitch, motion.spindle_speed, cut.return_ratio, cut.approach, cut.reversing
    )
    return Times(hole.way_in, hole.way_out + hole.reversing)


def _thread_mill(cut: kinds.ThreadMill, motion: Motion) -> Times:
    return Times(
        threads.thread_milling_minutes(
            cut.depth,
            cut.thread_diameter,
            motion.diameter,
            pitch_of(cut),
            motion.feed_speed,
            float(cut.passes),
            cut.entry_turns,
            cut.side,
            cut.cutter,
        )
    )


def _path(cut: kinds.PathCut, motion: Motion) -> Times:
    entering = cut.passes * cut.entries * cut.entry_time
    return Times(milling_paths.path_minutes(cut.length, motion.feed_speed, float(cut.passes)), entering)


def _turn(cut: kinds.TurnedPasses, motion: Motion) -> Times:
    if cut.speed == "each pass" and cut.cutting_speed is not None:
        return _each_pass(cut, motion)
    number = _passes(cut, cut.depth, cut.depth_of_cut)
    minutes = turning.turning_minutes(cut.length, motion.feed, motion.spindle_speed, number.all, cut.approach)
    return _in_passes(minutes, number)


def _each_pass(cut: kinds.TurnedPasses, motion: Motion) -> Times:
    """Minutes of rough passes, each at its own diameter, and of the finish pass at the one it leaves."""
    number = cutting.rough_and_finish_passes(cut.depth, cut.depth_of_cut, cut.finish_allowance)
    outside = isinstance(cut, kinds.Turn)
    before_finish = cut.diameter - 2.0 * (cut.depth - cut.finish_allowance if outside else 0.0)
    largest = cut.diameter - 2.0 * (0.0 if outside else cut.finish_allowance)
    rough, finish = (
        turning.stepped_turning_minutes(
            cut.length,
            feed,
            motion.cutting_speed,
            diameter,
            cut.depth_of_cut,
            passes,
            cut.approach,
            motion.max_spindle_speed,
        )
        for feed, diameter, passes in (
            (motion.feed, largest, number.rough),
            (motion.feed * cut.finish_feed_share, before_finish, number.finish),
        )
    )
    return Times(rough + finish, finish=finish)


def _at_stated_spindle_speed(cut: kinds.TurnFace | kinds.PartOff, motion: Motion) -> Times:
    """Across at one spindle speed: the one that the cut states."""
    across = (cut.diameter - cut.inner_diameter) / 2.0
    return Times(turning.turning_minutes(across, motion.feed, motion.spindle_speed))


def _turn_face(cut: kinds.TurnFace, motion: Motion) -> Times:
    if cut.spindle_speed is not None:
        return _at_stated_spindle_speed(cut, motion)
    return Times(
        turning.facing_minutes(
            cut.diameter,
            cut.inner_diameter,
            motion.feed,
            motion.cutting_speed,
            motion.max_spindle_speed,
            cut.speed,
        )
    )


def _part_off(cut: kinds.PartOff, motion: Motion) -> Times:
    if cut.spindle_speed is not None:
        return _at_stated_spindle_speed(cut, motion)
    return Times(
        turning.parting_minutes(
            cut.diameter, cut.inner_diameter, motion.feed, motion.cutting_speed, motion.max_spindle_speed
        )
    )


def _groove(cut: kinds.Groove, motion: Motion) -> Times:
    assert motion.width is not None
    if cut.spindle_speed is not None:
        plunges = cutting.passes(cut.width, motion.width)
        return Times(turning.turning_minutes(cut.depth, motion.feed, motion.spindle_speed, plunges))
    return Times(
        turning.grooving_minutes(
            cut.diameter,
            cut.depth,
            cut.width,
            motion.width,
            motion.feed,
            motion.cutting_speed,
            motion.max_spindle_speed,
        )
    )


def _thread_turn(cut: kinds.ThreadTurn, motion: Motion) -> Times:
    number = turning.threading_cuts(cut.depth, cut.first_infeed) + cut.spring_cuts
    both = turning.threading_minutes(
        cut.length, motion.feed, motion.spindle_speed, motion.rapid, number, cut.approach
    )
    back = number * (cut.length + cut.approach) / motion.rapid
    return Times(both - back, back)


def _saw(cut: kinds.Saw, motion: Motion) -> Times:
    if cut.cutting_rate is not None:
        return Times(bar_and_saw.sawing_minutes(cut.height * cut.width, cut.cutting_rate))
    return Times(bar_and_saw.sawing_minutes_by_feed(cut.height, motion.feed_speed, cut.overtravel))


_MINUTES: dict[type, Callable[[Any, Motion], Times]] = {
    kinds.Face: _face,
    kinds.Contour: _contour,
    kinds.Clear: _clear,
    kinds.Pocket: _pocket,
    kinds.Slot: _slot,
    kinds.SideMill: _side_mill,
    kinds.Drill: _drill,
    kinds.Ream: _ream,
    kinds.BoreMill: _bore_mill,
    kinds.Tap: _tap,
    kinds.ThreadMill: _thread_mill,
    kinds.Chamfer: _path,
    kinds.Engrave: _path,
    kinds.Turn: _turn,
    kinds.TurnFace: _turn_face,
    kinds.Bore: _turn,
    kinds.PartOff: _part_off,
    kinds.Groove: _groove,
    kinds.ThreadTurn: _thread_turn,
    kinds.Saw: _saw,
}
