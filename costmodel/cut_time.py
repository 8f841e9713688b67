"""Minutes of one cut: its kind chooses the formula. What a machine or tool cannot do is flagged, never clipped."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

import numpy as np

from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import (
    chip_thickness,
    cutting,
    cutting_force,
    holes,
    milling,
    milling_paths,
    threads,
    turning,
)
from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.records.rates import Machine, Material, Rates, Tool
from costmodel.records.route import MachineStep
from costmodel.units import Number


class Motion(NamedTuple):
    """How the tool moves in a cut, in canonical units."""

    diameter: Number
    """Of the tool where it turns, of the work where that turns [mm]."""
    cutting_speed: Number
    """[m/min]"""
    spindle_speed: Number
    """[1/min]"""
    feed_speed: Number
    """[mm/min]"""
    feed: Number
    """Per tooth, or per revolution where there is one edge [mm]."""
    rapid: Number
    """[mm/min]"""
    max_spindle_speed: Number
    """[1/min]"""


class CutTime(NamedTuple):
    """Minutes of one cut for one part, and the conditions under which its tool wears."""

    name: str
    kind: str
    tool: str
    in_cut: Number
    """Minutes in feed, which wear the edge [min/part]."""
    minutes: Number
    """In feed, pecks, way out and rapid moves together [min/part]."""
    motion: Motion
    depth_of_cut: Number | None
    """[mm]; None where the kind states none."""
    power: Number | None
    """At the spindle [kW]; None where the material has no specific force or the kind no removal rate."""
    flags: tuple[str, ...]


class Times(NamedTuple):
    """Minutes of one occurrence of a cut: in feed, and otherwise."""

    in_cut: Number
    other: Number = 0.0


TURNING = (kinds.Turn, kinds.TurnFace, kinds.Bore, kinds.PartOff)


def cut_time(
    step: MachineStep, cut: AnyCut, rates: Rates, material: str, time_factor: Number = 1.0
) -> CutTime:
    """Time one cut of a step on its machine with its tool; `time_factor` [-] stretches what is not yet measured.

    Raises InputError where the cut needs a dimension that its tool does not state, or where cut and tool do
    not go together.
    """
    try:
        return _timed(step, cut, rates, material, time_factor)
    except LimitError as error:
        place = f"steps.{step.name}.cuts.{cut.name}"
        expected, remedy = f"{error.name} {error.expected}", "Correct the cut or choose another tool."
        raise InputError([Problem("part", place, f"{error.name} {error.value}", expected, remedy)]) from error


def _timed(step: MachineStep, cut: AnyCut, rates: Rates, material: str, time_factor: Number) -> CutTime:
    machine, tool = rates.machines[step.machine], rates.tools[cut.tool]
    motion = _motion(step, cut, tool, machine)
    times = _MINUTES[type(cut)](cut, motion)
    rapid = cutting.rapid_minutes(cut.rapid, machine.rapid)
    power = _power(cut, motion, rates.materials[material], tool)
    return CutTime(
        name=cut.name,
        kind=cut.kind,
        tool=cut.tool,
        in_cut=time_factor * cut.count * times.in_cut,
        minutes=time_factor * cut.count * (times.in_cut + times.other + rapid),
        motion=motion,
        depth_of_cut=getattr(cut, "depth_of_cut", None),
        power=power,
        flags=tuple(_flags(cut, motion, power, machine, tool)),
    )


def _motion(step: MachineStep, cut: AnyCut, tool: Tool, machine: Machine) -> Motion:
    diameter = cut.diameter if isinstance(cut, TURNING) else tool.diameter
    if diameter is None:
        place = f"steps.{step.name}.cuts.{cut.name}.tool"
        raise InputError(
            [Problem("rates", place, cut.tool, "a tool with a diameter", "Add its diameter to tools.csv.")]
        )
    if cut.spindle_speed is not None:
        spindle = cut.spindle_speed
        speed = cutting.cutting_speed(spindle, diameter)
    else:
        assert cut.cutting_speed is not None
        speed = cut.cutting_speed
        spindle = cutting.spindle_speed(speed, diameter)
    teeth = 1 if isinstance(cut, TURNING) else tool.teeth
    feed_speed, feed = _feed(cut, spindle, teeth)
    return Motion(diameter, speed, spindle, feed_speed, feed, machine.rapid, machine.spindle_speed)


def _feed(cut: AnyCut, spindle: Number, teeth: int) -> tuple[Number, Number]:
    """Feed speed [mm/min] and feed per tooth [mm] from whichever the cut states."""
    if isinstance(cut, kinds.Tap):
        return cutting.feed_speed(spindle, cut.pitch), cut.pitch
    if cut.feed is not None:
        return cut.feed, cutting.feed_per_tooth(cut.feed, spindle, teeth)
    if cut.feed_per_tooth is not None:
        return cutting.feed_speed(spindle, cut.feed_per_tooth, teeth), cut.feed_per_tooth
    assert cut.feed_per_rev is not None
    return cutting.feed_speed(spindle, cut.feed_per_rev), cut.feed_per_rev / teeth


def _face(cut: kinds.Face, motion: Motion) -> Times:
    levels = cutting.passes(cut.depth, cut.depth_of_cut)
    return Times(
        milling.face_milling_minutes(
            cut.length,
            cut.width,
            motion.diameter,
            cut.width_of_cut,
            motion.feed_speed,
            levels,
            cut.overtravel,
        )
    )


def _contour(cut: kinds.Contour, motion: Motion) -> Times:
    return Times(
        milling_paths.contour_minutes(
            cut.length, cut.radial_stock, cut.width_of_cut, cut.depth, cut.depth_of_cut, motion.feed_speed
        )
    )


def _clear(cut: kinds.Clear, motion: Motion) -> Times:
    return Times(
        milling_paths.clearing_minutes(
            cut.volume, cut.width_of_cut, cut.depth_of_cut, motion.feed_speed, cut.efficiency
        )
    )


def _pocket(cut: kinds.Pocket, motion: Motion) -> Times:
    pocket = milling_paths.pocket_minutes(
        cut.length,
        cut.width,
        cut.depth,
        cut.corner_radius,
        motion.diameter,
        cut.width_of_cut,
        cut.depth_of_cut,
        motion.feed_speed,
        motion.feed_speed,
        cut.wall_allowance,
    )
    return Times(pocket.floor + pocket.wall)


def _drill(cut: kinds.Drill, motion: Motion) -> Times:
    travel = holes.drilling_travel(
        cut.depth, motion.diameter, "through" if cut.through else "blind", point_angle=cut.point_angle
    )
    pecks = 1.0 if cut.peck is None else cutting.passes(travel, cut.peck)
    hole = holes.drilling_minutes(travel, motion.feed_speed, motion.rapid, pecks, retract=cut.retract)
    return Times(hole.cutting, hole.pecking + hole.way_out)


def _tap(cut: kinds.Tap, motion: Motion) -> Times:
    hole = threads.tapping_minutes(cut.depth, cut.pitch, motion.spindle_speed, cut.return_ratio)
    return Times(hole.way_in, hole.way_out + hole.reversing)


def _thread_mill(cut: kinds.ThreadMill, motion: Motion) -> Times:
    return Times(
        threads.thread_milling_minutes(
            cut.depth,
            cut.thread_diameter,
            motion.diameter,
            cut.pitch,
            motion.feed_speed,
            float(cut.passes),
            cutter=cut.cutter,
        )
    )


def _chamfer(cut: kinds.Chamfer, motion: Motion) -> Times:
    return Times(milling_paths.path_minutes(cut.length, motion.feed_speed, float(cut.passes)))


def _turn(cut: kinds.Turn | kinds.Bore, motion: Motion) -> Times:
    number = cutting.passes(cut.depth, cut.depth_of_cut)
    return Times(turning.turning_minutes(cut.length, motion.feed, motion.spindle_speed, number))


def _at_stated_spindle_speed(cut: kinds.TurnFace | kinds.PartOff, motion: Motion) -> Times:
    """Across at one spindle speed: the one that the cut states."""
    across = (cut.diameter - cut.inner_diameter) / 2.0
    return Times(turning.turning_minutes(across, motion.feed, motion.spindle_speed))


def _turn_face(cut: kinds.TurnFace, motion: Motion) -> Times:
    if cut.spindle_speed is not None:
        return _at_stated_spindle_speed(cut, motion)
    return Times(
        turning.facing_minutes(
            cut.diameter, cut.inner_diameter, motion.feed, motion.cutting_speed, motion.max_spindle_speed
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


_MINUTES: dict[type, Callable[[Any, Motion], Times]] = {
    kinds.Face: _face,
    kinds.Contour: _contour,
    kinds.Clear: _clear,
    kinds.Pocket: _pocket,
    kinds.Drill: _drill,
    kinds.Tap: _tap,
    kinds.ThreadMill: _thread_mill,
    kinds.Chamfer: _chamfer,
    kinds.Turn: _turn,
    kinds.TurnFace: _turn_face,
    kinds.Bore: _turn,
    kinds.PartOff: _part_off,
}


def _power(cut: AnyCut, motion: Motion, material: Material, tool: Tool) -> Number | None:
    """Power at the spindle by Kienzle's law [kW]."""
    if material.specific_force is None or material.force_exponent is None:
        return None
    if isinstance(cut, kinds.Face | kinds.Contour | kinds.Clear | kinds.Pocket):
        rate = cutting.removal_rate(cut.width_of_cut, cut.depth_of_cut, motion.feed_speed)
        chip = chip_thickness.mean_chip_thickness(motion.feed, cut.width_of_cut, motion.diameter)
    elif isinstance(cut, kinds.Drill):
        rate = holes.drilling_removal_rate(motion.diameter, motion.feed_speed)
        chip = motion.feed * np.sin(np.radians(cut.point_angle / 2.0))
    elif isinstance(cut, kinds.Turn | kinds.Bore):
        rate = turning.turning_removal_rate(motion.cutting_speed, motion.feed, cut.depth_of_cut)
        chip = motion.feed
    else:
        return None
    force = cutting_force.specific_cutting_force(material.specific_force, material.force_exponent, chip)
    return cutting_force.cutting_power(force, rate)


def _flags(cut: AnyCut, motion: Motion, power: Number | None, machine: Machine, tool: Tool) -> Iterator[str]:
    """What the machine or the tool cannot do as stated.

    Facing and parting hold the greatest spindle speed near the centre by themselves.
    """
    held = isinstance(cut, kinds.TurnFace | kinds.PartOff) and cut.spindle_speed is None
    limits = (
        ("spindle speed", None if held else motion.spindle_speed, machine.spindle_speed, "1/min"),
        ("feed", motion.feed_speed, machine.max_feed, "mm/min"),
        ("power", power, machine.spindle_power, "kW"),
        ("depth", None if isinstance(cut, TURNING) else getattr(cut, "depth", None), tool.reach, "mm"),
    )
    for word, wanted, limit, unit in limits:
        if wanted is not None and limit is not None and np.any(wanted > limit):
            yield f"{word} {np.max(wanted):.4g} {unit} is above {np.min(limit):.4g} {unit}"
