"""Minutes of threads in holes and on studs: tapping and thread milling."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.units import Number

ThreadSide: TypeAlias = Literal["internal", "external"]
ThreadMill: TypeAlias = Literal["single row", "full length"]


class TappingMinutes(NamedTuple):
    """Minutes of one tapped hole: way in [min], way out [min], reversing the spindle [min]."""

    way_in: Number
    way_out: Number
    reversing: Number

    @property
    def total(self) -> Number:
        """Minutes of the hole [min]."""
        return self.way_in + self.way_out + self.reversing


def tapping_minutes(
    depth: Number,
    pitch: Number,
    spindle_speed: Number,
    return_speed_ratio: Number = 1.0,
    approach: Number = 0.0,
    reversing: Number = 0.0,
) -> TappingMinutes:
    """Minutes of rigid tapping one hole, in and out.

    way in = (depth + approach) / (P N); way out = way in / return speed ratio, over the same turns.

    Parameters
    ----------
    depth
        Depth of thread; for a taper pipe thread from thread_length [mm], any shape, > 0.
    pitch
        Pitch [mm], any shape, > 0.
    spindle_speed
        Spindle speed inward [1/min], any shape, > 0.
    return_speed_ratio
        Spindle speed outward over that inward [-], any shape, > 0.
    approach
        Way run in air and past the end for the tap's lead [mm], any shape, >= 0.
    reversing
        Minutes the spindle needs to stop and reverse [min], any shape, >= 0.

    Returns
    -------
    TappingMinutes
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Kinematics of the screw, t = (L + a)/(P N) (1 + N/N_return); no printed numeric example was found.
    """
    positive(depth=depth, pitch=pitch, spindle_speed=spindle_speed, return_speed_ratio=return_speed_ratio)
    not_negative(approach=approach, reversing=reversing)
    way_in = (depth + approach) / (pitch * spindle_speed)
    return TappingMinutes(way_in, way_in / return_speed_ratio, reversing)


def _centre_circle(diameter: Number, cutter_diameter: Number, side: ThreadSide) -> Number:
    positive(diameter=diameter, cutter_diameter=cutter_diameter)
    one_of("side", side, get_args(ThreadSide))
    if side == "external":
        return diameter + cutter_diameter
    circle = diameter - cutter_diameter
    positive(diameter_less_cutter_diameter=circle)
    return circle


def helix_length(
    diameter: Number, cutter_diameter: Number, pitch: Number, side: ThreadSide = "internal"
) -> Number:
    """Path of a thread mill's centre over one turn of the thread.

    sqrt((pi (D - d))^2 + P^2): the circle of the centre unrolled, and one pitch of climb; D + d for an
    outside thread.

    Parameters
    ----------
    diameter
        Diameter of the finished thread at which the cutter's tips run [mm], any shape, > 0.
    cutter_diameter
        Cutter diameter, below that of an internal thread [mm], any shape, > 0.
    pitch
        Pitch [mm], any shape, > 0.
    side
        "internal" (default) or "external" [-].

    Returns
    -------
    Number
        Length of the path [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a cutter that leaves no circle, or an unknown side.

    References
    ----------
    Pythagoras on the unrolled helix: closed form.
    """
    positive(pitch=pitch)
    circle = np.pi * _centre_circle(diameter, cutter_diameter, side)
    path: Number = np.sqrt(circle * circle + pitch * pitch)
    return path


def centre_feed_speed(
    edge_feed_speed: Number, diameter: Number, cutter_diameter: Number, side: ThreadSide = "internal"
) -> Number:
    """Feed speed of a cutter's centre on a circle whose edge is to feed at a stated speed.

    vf (D - d)/D inside, vf (D + d)/D outside: centre and edge turn at the same rate on different circles.

    Parameters
    ----------
    edge_feed_speed
        Feed speed at the edge, feed per tooth times teeth times spindle speed [mm/min], any shape, > 0.
    diameter
        Diameter that the edge cuts [mm], any shape, > 0.
    cutter_diameter
        Cutter diameter, below that of an internal circle [mm], any shape, > 0.
    side
        "internal" (default) or "external" [-].

    Returns
    -------
    Number
        Feed speed of the centre [mm/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a cutter that leaves no circle, or an unknown side.

    References
    ----------
    Geometry of two circles with one angular speed: closed form.
    """
    positive(edge_feed_speed=edge_feed_speed)
    return edge_feed_speed * _centre_circle(diameter, cutter_diameter, side) / diameter


def thread_milling_minutes(
    depth: Number,
    diameter: Number,
    cutter_diameter: Number,
    pitch: Number,
    edge_feed_speed: Number,
    cuts: Number = 1.0,
    entry_turns: Number = 0.0,
    side: ThreadSide = "internal",
    cutter: ThreadMill = "full length",
) -> Number:
    """Minutes in feed of milling one thread along a helix.

    t = cuts * (turns + entry turns) * helix_length / centre_feed_speed. A cutter as long as the thread needs
    one turn, one with a single row of teeth depth/P turns. Entry turns stand for the arcs in and out. The
    first of several cuts is taken as long as the last, which it is within a few percent.

    Parameters
    ----------
    depth
        Depth of thread [mm], any shape, > 0.
    diameter
        Diameter of the finished thread at which the cutter's tips run [mm], any shape, > 0.
    cutter_diameter
        Cutter diameter, below that of an internal thread [mm], any shape, > 0.
    pitch
        Pitch [mm], any shape, > 0.
    edge_feed_speed
        Feed speed at the edge [mm/min], any shape, > 0.
    cuts
        Radial passes [-], any shape, >= 0.
    entry_turns
        Turns spent on the arcs in and out, each cut [-], any shape, >= 0.
    side
        "internal" (default) or "external" [-].
    cutter
        "full length" (default) or "single row" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a cutter that leaves no circle, or an unknown convention.

    References
    ----------
    Way over speed on the helix. Common practice, no source: a 1/4-20 thread in aluminium is milled in two
    passes.
    """
    positive(depth=depth)
    not_negative(cuts=cuts, entry_turns=entry_turns)
    one_of("cutter", cutter, get_args(ThreadMill))
    turns = 1.0 if cutter == "full length" else depth / pitch
    path = helix_length(diameter, cutter_diameter, pitch, side)
    return (
        cuts
        * (turns + entry_turns)
        * path
        / centre_feed_speed(edge_feed_speed, diameter, cutter_diameter, side)
    )
