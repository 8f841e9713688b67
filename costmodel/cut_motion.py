"""How the tool moves in a cut: diameter, speeds and feeds from whichever the cut states."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.errors import InputError, Problem
from costmodel.formulas import chip_thickness, cutting, thread_dimensions
from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.records.rates import Machine
from costmodel.records.route import MachineStep
from costmodel.records.tool import Tool
from costmodel.units import Number

ENDLESS = float("inf")
STANDS_STILL = 0.0


class Motion(NamedTuple):
    """How the tool moves in a cut, in canonical units."""

    diameter: Number
    """Of the tool where it turns, of the work where that turns, of the bore where a bar turns in it [mm].

    At a stated cutting speed a facing or grooving cut of one spindle speed has that of the middle of its way.
    """
    cutting_speed: Number
    """[m/min]"""
    spindle_speed: Number
    """[1/min]; held at the limit where it follows the diameter; 0 where a blade is drawn and nothing turns."""
    asked: Number
    """The highest spindle speed that the cut asks for, whatever the limit [1/min]."""
    feed_speed: Number
    """[mm/min]"""
    feed: Number
    """Per tooth, or per revolution where there is one edge [mm]."""
    rapid: Number
    """[mm/min]"""
    max_spindle_speed: Number
    """[1/min]"""
    width: Number | None
    """Cutting width of the tool, where it states one [mm]."""


WORK_TURNS = (kinds.Turn, kinds.TurnFace, kinds.Bore, kinds.PartOff, kinds.Groove, kinds.ThreadTurn)
ONE_EDGE = (*WORK_TURNS, kinds.BoreMill)


def motion_of(step: MachineStep, cut: AnyCut, tool: Tool, machine: Machine) -> Motion:
    """The motion of one cut of a step.

    Raises InputError where the cut needs a dimension that its tool does not state.
    """
    limit = ENDLESS if machine.spindle_speed is None else machine.spindle_speed
    if isinstance(cut, kinds.Saw):
        assert cut.cutting_speed is not None
        feed = cut.feed if cut.feed is not None else _rate(cut) / cut.width
        still, speed = STANDS_STILL, cut.cutting_speed
        return Motion(cut.height, speed, still, still, feed, still, machine.rapid, limit, tool.width)
    diameter = cut.diameter if isinstance(cut, ONE_EDGE) else tool.diameter
    if diameter is None:
        raise missing_dimension(step, cut, "diameter")
    if isinstance(cut, kinds.Bore | kinds.BoreMill) and tool.diameter is not None:
        _fits(step, cut, tool.diameter)
    if cut.spindle_speed is not None:
        asked = spindle = cut.spindle_speed
        speed = cutting.cutting_speed(spindle, diameter)
    else:
        assert cut.cutting_speed is not None
        diameter, speed = _middle(cut, diameter), cut.cutting_speed
        asked = spindle = cutting.spindle_speed(speed, diameter)
        if follows_diameter(cut):
            asked = cutting.spindle_speed(speed, _narrowest(cut, diameter))
            spindle = np.minimum(spindle, limit)
            speed = cutting.cutting_speed(spindle, diameter)
    teeth = 1 if isinstance(cut, ONE_EDGE) else tool.teeth
    feed_speed, feed = _feed(cut, spindle, teeth, diameter)
    return Motion(diameter, speed, spindle, asked, feed_speed, feed, machine.rapid, limit, tool.width)


def follows_diameter(cut: AnyCut) -> bool:
    """Whether a lathe brings its spindle to the cutting speed by itself, as far as it turns."""
    across = isinstance(cut, kinds.TurnFace | kinds.PartOff | kinds.Groove)
    each = isinstance(cut, kinds.TurnedPasses) and cut.speed == "each pass"
    return (across or each) and cut.spindle_speed is None


def _middle(cut: AnyCut, diameter: Number) -> Number:
    """The diameter at which one spindle speed across a face or groove has the cutting speed."""
    if isinstance(cut, kinds.TurnFace) and cut.speed == "average diameter":
        return (cut.diameter + cut.inner_diameter) / 2.0
    return cut.diameter - cut.depth if isinstance(cut, kinds.Groove) else diameter


def _narrowest(cut: AnyCut, diameter: Number) -> Number:
    """The narrowest diameter that is turned at the cutting speed; to a middle the spindle cannot follow anyway."""
    if not isinstance(cut, kinds.TurnedPasses):
        return diameter
    number = cutting.rough_and_finish_passes(cut.depth, cut.depth_of_cut, cut.finish_allowance)
    roughed = 2.0 * cut.depth_of_cut * np.maximum(number.rough - 1.0, 0.0)
    if isinstance(cut, kinds.Bore):
        return cut.diameter - 2.0 * cut.finish_allowance - roughed
    finished = 2.0 * (cut.depth - cut.finish_allowance)
    return cut.diameter - np.where(np.greater(number.finish, 0.0), finished, roughed)[()]


def missing_dimension(step: MachineStep, cut: AnyCut, field: str) -> InputError:
    """The error of a tool that does not state what its cut needs."""
    place = f"steps.{step.name}.cuts.{cut.name}.tool"
    expected, remedy = f"a tool with a {field}", f"Add its {field} to tools.csv."
    return InputError([Problem("rates", place, cut.tool, expected, remedy)])


def _fits(step: MachineStep, cut: kinds.Bore | kinds.BoreMill, bar: Number) -> None:
    """Raise InputError for a bar that does not go into the bore that it makes."""
    if np.any(np.greater(bar, cut.diameter)):
        place = f"steps.{step.name}.cuts.{cut.name}.tool"
        expected = f"a bar no thicker than its bore of {float(np.min(cut.diameter)):g} mm"
        remedy = "Choose another tool or correct the diameter."
        raise InputError([Problem("part", place, f"{cut.tool}, {float(np.max(bar)):g} mm", expected, remedy)])


def pitch_of(cut: kinds.Threaded) -> Number:
    """The pitch of a thread [mm] from whichever the cut states."""
    if cut.pitch is not None:
        return cut.pitch
    assert cut.threads_per_inch is not None
    return thread_dimensions.pitch_from_threads_per_inch(cut.threads_per_inch)


def _rate(cut: kinds.Saw) -> Number:
    assert cut.cutting_rate is not None
    return cut.cutting_rate


def _feed(cut: AnyCut, spindle: Number, teeth: int, diameter: Number) -> tuple[Number, Number]:
    """Feed speed [mm/min] and feed per tooth [mm] from whichever the cut states."""
    if isinstance(cut, kinds.Tap | kinds.ThreadTurn):
        pitch = pitch_of(cut)
        return cutting.feed_speed(spindle, pitch), pitch
    if cut.feed is not None:
        return cut.feed, cutting.feed_per_tooth(cut.feed, spindle, teeth)
    if cut.feed_per_rev is not None:
        return cutting.feed_speed(spindle, cut.feed_per_rev), cut.feed_per_rev / teeth
    if isinstance(cut, kinds.SideCut) and cut.chip_thickness is not None:
        per_tooth = chip_thickness.feed_for_chip_thickness(cut.chip_thickness, cut.width_of_cut, diameter)
    else:
        assert cut.feed_per_tooth is not None
        per_tooth = cut.feed_per_tooth
    return cutting.feed_speed(spindle, per_tooth, teeth), per_tooth
