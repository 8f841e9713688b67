"""Minutes of one occurrence of a cut and the way its tool is fed: the kind chooses the formula."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from costmodel.cut_motion import Motion, pitch_of
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
from costmodel.units import Number


class Times(NamedTuple):
    """Minutes of one occurrence of a cut: in feed, and otherwise."""

    in_cut: Number
    other: Number = 0.0
    finish: Number | None = None
    """Those of the finish pass or of the wall, which are in feed too; None where the kind has none."""
    way: Number | None = None
    """Fed in cut [mm]; None where it is the minutes at the feed of the cut and of its finish pass."""


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
    entry = _entry(cut, motion)
    wall = pocket.wall * cut.finish_feed_share
    way = motion.feed_speed * (pocket.floor + wall + entry * cut.entry_feed_share)
    return Times(pocket.floor + pocket.wall + entry, finish=pocket.wall, way=way)


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
    way = (number.rough + number.finish) * (cut.length + cut.approach)
    return Times(rough + finish, finish=finish, way=way)


def _at_stated_spindle_speed(cut: kinds.TurnFace | kinds.PartOff, motion: Motion) -> Times:
    """Across at one spindle speed: the one that the cut states."""
    return Times(turning.turning_minutes(_across(cut), motion.feed, motion.spindle_speed))


def _across(cut: kinds.TurnFace | kinds.PartOff) -> Number:
    return (cut.diameter - cut.inner_diameter) / 2.0


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
        ),
        way=_across(cut),
    )


def _part_off(cut: kinds.PartOff, motion: Motion) -> Times:
    if cut.spindle_speed is not None:
        return _at_stated_spindle_speed(cut, motion)
    return Times(
        turning.parting_minutes(
            cut.diameter, cut.inner_diameter, motion.feed, motion.cutting_speed, motion.max_spindle_speed
        ),
        way=_across(cut),
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


MINUTES: dict[type, Callable[[Any, Motion], Times]] = {
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
