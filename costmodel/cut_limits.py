"""What a cut asks of machine and tool, and whether they can: reported, never clipped, never called safe."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from costmodel.cut_motion import Motion, pitch_of
from costmodel.formulas import chip_thickness, cutting, cutting_force, holes, thread_dimensions, turning
from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.records.rates import Machine, Material, Tool
from costmodel.units import Number


class Demand(NamedTuple):
    """What a cut asks for by Kienzle's law, None where material, tool or kind do not tell."""

    removal_rate: Number | None
    """[mm3/min]"""
    power: Number | None
    """At the spindle [kW]."""
    torque: Number | None
    """At the spindle [N m]."""


NOTHING_TOLD = Demand(None, None, None)


class Chip(NamedTuple):
    """What a cut takes off: [mm3/min], and how thick its chip is [mm]."""

    rate: Number
    thickness: Number


def cut_demand(cut: AnyCut, motion: Motion, material: Material) -> Demand:
    """Power and torque at the spindle while the tool is in cut."""
    chip = _chip(cut, motion)
    if chip is None:
        return NOTHING_TOLD
    if material.specific_force is None or material.force_exponent is None:
        return Demand(chip.rate, None, None)
    force = cutting_force.specific_cutting_force(
        material.specific_force, material.force_exponent, chip.thickness
    )
    power = cutting_force.cutting_power(force, chip.rate)
    return Demand(chip.rate, power, cutting_force.torque(power, motion.spindle_speed))


def _chip(cut: AnyCut, motion: Motion) -> Chip | None:
    """What is taken off; None for kinds whose chip has no simple section: threads, edges, a saw's many teeth."""
    if isinstance(cut, kinds.SideCut):
        return _milled(cut.width_of_cut, cut.depth_of_cut, motion)
    if isinstance(cut, kinds.Slot):
        return _milled(motion.diameter, cut.depth_of_cut, motion)
    if isinstance(cut, kinds.SideMill):
        return _milled(cut.depth_of_cut, cut.width, motion)
    if isinstance(cut, kinds.Drill):
        thickness = motion.feed * np.sin(np.radians(cut.point_angle / 2.0))
        return Chip(holes.drilling_removal_rate(motion.diameter, motion.feed_speed), thickness)
    if isinstance(cut, kinds.Ream):
        drilled = motion.diameter - 2.0 * cut.stock
        whole = holes.drilling_removal_rate(motion.diameter, motion.feed_speed)
        return Chip(whole - holes.drilling_removal_rate(drilled, motion.feed_speed), motion.feed)
    if isinstance(cut, kinds.TurnedPasses | kinds.BoreMill):
        rate = turning.turning_removal_rate(motion.cutting_speed, motion.feed, cut.depth_of_cut)
        return Chip(rate, motion.feed)
    if isinstance(cut, kinds.Groove | kinds.PartOff) and motion.width is not None:
        rate = turning.turning_removal_rate(motion.cutting_speed, motion.feed, motion.width)
        return Chip(rate, motion.feed)
    return None


def _milled(width: Number, depth: Number, motion: Motion) -> Chip:
    rate = cutting.removal_rate(width, depth, motion.feed_speed)
    return Chip(rate, chip_thickness.mean_chip_thickness(motion.feed, width, motion.diameter))


def cut_flags(cut: AnyCut, motion: Motion, demand: Demand, machine: Machine, tool: Tool) -> Iterator[str]:
    """What the machine or the tool cannot do as stated."""
    limits = (
        ("spindle speed", _spindle(cut, motion), machine.spindle_speed, "1/min"),
        ("feed", motion.feed_speed, machine.max_feed, "mm/min"),
        ("power", demand.power, machine.spindle_power, "kW"),
        ("torque", demand.torque, machine.spindle_torque, "N m"),
        ("depth", _depth(cut), tool.reach, "mm"),
        ("depth of cut", _engaged(cut), tool.flute_length, "mm"),
    )
    for word, wanted, limit, unit in limits:
        if wanted is not None and limit is not None and np.any(wanted > limit):
            yield exceeded(word, wanted, limit, unit)


def exceeded(word: str, wanted: Number, limit: Number, unit: str) -> str:
    """The words of a limit that is passed; of draws, the farthest."""
    return f"{word} {np.max(wanted):.4g} {unit} is above {np.min(limit):.4g} {unit}"


def _spindle(cut: AnyCut, motion: Motion) -> Number | None:
    """The spindle speed that must be reached; across at a cutting speed a lathe holds its greatest by itself."""
    across = isinstance(cut, kinds.TurnFace | kinds.PartOff | kinds.Groove)
    return None if across and cut.spindle_speed is None else motion.spindle_speed


def _depth(cut: AnyCut) -> Number | None:
    """How deep the tool has to reach; None where it works from outside."""
    if isinstance(cut, kinds.TurnedPasses):
        return cut.length if isinstance(cut, kinds.Bore) else None
    if isinstance(cut, kinds.Tap) and cut.turns is not None:
        return thread_dimensions.thread_length(cut.turns, pitch_of(cut))
    if isinstance(cut, kinds.SideMill | kinds.Groove | kinds.ThreadTurn | kinds.Face):
        return None
    depth: Number | None = getattr(cut, "depth", None)
    return depth


def _engaged(cut: AnyCut) -> Number | None:
    """How long a stretch of the flutes is in the work at once."""
    return cut.depth_of_cut if isinstance(cut, kinds.SideCut | kinds.Slot) else None
