"""What a cut asks of its spindle: volume a minute, power and torque, or plainly why that cannot be told."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.cut_engagement import engaged_depth, engaged_width, finish_depth
from costmodel.cut_motion import Motion, pitch_of
from costmodel.formulas import (
    chip_thickness,
    cutting,
    cutting_force,
    holes,
    thread_force,
    turning,
)
from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.records.rates import Material
from costmodel.records.tool import Tool
from costmodel.units import Number

CHAMFER_ANGLE = 45.0
LEAST_STOCK = 1e-9
"""Stock of draws that leave none on a wall, where other draws do [mm]."""


class Demand(NamedTuple):
    """What a cut asks for by Kienzle's law, None where material, tool or kind do not tell."""

    removal_rate: Number | None
    """[mm3/min]"""
    power: Number | None
    """At the spindle [kW]."""
    torque: Number | None
    """At the spindle [N m]."""
    untold: str = ""
    """Why power and torque cannot be told; empty where they are."""


class Chip(NamedTuple):
    """What a cut takes off: [mm3/min], and how thick its chip is, the thinnest of several passes [mm]."""

    rate: Number
    thickness: Number


def cut_demand(cut: AnyCut, motion: Motion, material: Material, tool: Tool) -> Demand:
    """Power and torque at the spindle while the tool is in cut; of a pocket, the greater of floor and wall."""
    if isinstance(cut, kinds.Saw):
        rate = cut.width * motion.width * motion.feed_speed if motion.width else None
        return Demand(rate, None, None, SAWN)
    untold = _untold(cut, motion, tool)
    chip = None if untold else _chip(cut, motion, tool)
    if chip is None:
        return Demand(
            None, None, None, untold or f"{material.name} states no specific_force and force_exponent"
        )
    demand = _demand(cut, chip, motion, material)
    if not isinstance(cut, kinds.Pocket) or not np.any(cut.wall_allowance > 0.0):
        return demand
    wall = _demand(cut, _wall_chip(cut, motion), motion, material)
    rate, power, torque = (_greater(one, other) for one, other in zip(demand[:3], wall[:3], strict=True))
    return Demand(rate, power, torque, demand.untold)


def _demand(cut: AnyCut, chip: Chip, motion: Motion, material: Material) -> Demand:
    if material.specific_force is None or material.force_exponent is None:
        return Demand(chip.rate, None, None, f"{material.name} states no specific_force and force_exponent")
    force = cutting_force.specific_cutting_force(
        material.specific_force, material.force_exponent, chip.thickness
    )
    if isinstance(cut, kinds.Tap):
        torque = thread_force.tapping_torque(force, pitch_of(cut), motion.diameter)
        return Demand(chip.rate, cutting_force.power_from_torque(torque, motion.spindle_speed), torque)
    power = cutting_force.cutting_power(force, chip.rate)
    return Demand(chip.rate, power, cutting_force.torque(power, motion.spindle_speed))


def _greater(one: Number | None, other: Number | None) -> Number | None:
    return None if one is None or other is None else np.maximum(one, other)[()]


def _wall_chip(cut: kinds.Pocket, motion: Motion) -> Chip:
    """What the pass around the wall takes: the allowance, as deep as it stands."""
    share = cut.finish_feed_share
    slower = motion._replace(feed=motion.feed * share, feed_speed=motion.feed_speed * share)
    return _milled(np.maximum(cut.wall_allowance, LEAST_STOCK), finish_depth(cut), slower)


SAWN = "no spindle turns a saw's blade"
FORMED = "a thread that is formed has no chip"


def _untold(cut: AnyCut, motion: Motion, tool: Tool) -> str:
    """What a cut or its tool leaves out that its power needs."""
    if isinstance(cut, kinds.PartOff) and motion.width is None:
        return f"{tool.name} states no width"
    if isinstance(cut, kinds.Chamfer) and cut.leg is None:
        return "states no leg"
    if isinstance(cut, kinds.TurnFace) and cut.depth_of_cut is None:
        return "states no depth_of_cut"
    return FORMED if isinstance(cut, kinds.Tap) and cut.method == "forming" else ""


def _chip(cut: AnyCut, motion: Motion, tool: Tool) -> Chip | None:
    """What is taken off, from the section that the kind really takes."""
    if isinstance(cut, kinds.Milling):
        return _milled_chip(cut, motion)
    if isinstance(cut, kinds.Holes):
        return _hole_chip(cut, motion, tool)
    if isinstance(cut, kinds.ThreadTurn):
        first = thread_force.vee_section(cut.first_infeed, cut.thread_angle)
        infeed = thread_force.last_threading_infeed(cut.depth, cut.first_infeed)
        thickness = infeed * np.sin(np.radians(cut.thread_angle / 2.0))
        return Chip(turning.turning_removal_rate(motion.cutting_speed, 1.0, first), thickness)
    width = engaged_depth(cut) if isinstance(cut, kinds.TurnedPasses | kinds.TurnFace) else motion.width
    if width is None:
        return None
    return Chip(turning.turning_removal_rate(motion.cutting_speed, motion.feed, width), motion.feed)


def _milled_chip(cut: kinds.Milling, motion: Motion) -> Chip:
    if isinstance(cut, kinds.SideCut | kinds.Slot | kinds.SideMill):
        depth = engaged_depth(cut)
        assert depth is not None
        if isinstance(cut, kinds.SideMill):
            return _milled(depth, cut.width, motion)
        return _milled(
            engaged_width(cut) if isinstance(cut, kinds.SideCut) else motion.diameter, depth, motion
        )
    if isinstance(cut, kinds.Chamfer):
        assert cut.leg is not None
        corner = thread_force.vee_section(cut.leg, 2.0 * CHAMFER_ANGLE) / (2.0 * cut.passes)
        mean = chip_thickness.mean_chip_thickness(
            motion.feed, cut.leg / cut.passes, motion.diameter, CHAMFER_ANGLE
        )
        return Chip(corner * motion.feed_speed, mean)
    groove = thread_force.vee_section(cut.depth, cut.cone_angle, motion.diameter)
    mean = chip_thickness.mean_chip_thickness(motion.feed, motion.diameter, motion.diameter)
    return Chip(groove / cut.passes * motion.feed_speed, mean)


def _hole_chip(cut: kinds.Holes, motion: Motion, tool: Tool) -> Chip:
    if isinstance(cut, kinds.Drill):
        thickness: Number = motion.feed * np.sin(np.radians(cut.point_angle / 2.0))
        return Chip(holes.drilling_removal_rate(motion.diameter, motion.feed_speed), thickness)
    if isinstance(cut, kinds.Ream):
        drilled = motion.diameter - 2.0 * cut.stock
        whole = holes.drilling_removal_rate(motion.diameter, motion.feed_speed)
        return Chip(whole - holes.drilling_removal_rate(drilled, motion.feed_speed), motion.feed)
    if isinstance(cut, kinds.BoreMill):
        depth = engaged_depth(cut)
        assert depth is not None
        rate = turning.turning_removal_rate(motion.cutting_speed, motion.feed, depth)
        return Chip(rate, motion.feed)
    pitch = pitch_of(cut)
    section = thread_force.thread_section(pitch)
    if isinstance(cut, kinds.Tap):
        thickness = thread_force.tap_chip_thickness(pitch, float(tool.teeth), cut.lead_threads)
        return Chip(turning.turning_removal_rate(motion.cutting_speed, 1.0, section), thickness)
    rows = cut.depth / pitch if cut.cutter == "full length" else 1.0
    infeed = thread_force.thread_height(pitch) / cut.passes
    thickness = chip_thickness.mean_chip_thickness(motion.feed, infeed, motion.diameter)
    return Chip(rows * section / cut.passes * motion.feed_speed, thickness)


def _milled(width: Number, depth: Number, motion: Motion) -> Chip:
    rate = cutting.removal_rate(width, depth, motion.feed_speed)
    return Chip(rate, chip_thickness.mean_chip_thickness(motion.feed, width, motion.diameter))
