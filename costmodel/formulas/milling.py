"""Minutes of straight milling passes: faces, slots, sides and the flat on a round bar."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import not_above, one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas.cutting import passes
from costmodel.units import Number

Overtravel: TypeAlias = Literal["both ends", "once", "exact"]
Approach: TypeAlias = Literal["exact", "approximate"]
SlotEnds: TypeAlias = Literal["open", "one closed", "closed"]


class FlatTravel(NamedTuple):
    """Travel over a flat on a round bar: width of the flat [mm], overrun of the cutter [mm]."""

    chord: Number
    overrun: Number


def face_overtravel(width_of_cut: Number, diameter: Number, overtravel: Overtravel = "both ends") -> Number:
    """Travel of a face mill beyond the length of the face.

    both ends: D/2 before and D/2 behind, the cutter's centre starts and stops half a cutter off the work.
    once: D/2, the approach only. exact: (D - sqrt(D^2 - w^2)) / 2, the way from first touch until the whole
    width of a centred strip is cut. Sources use all three.

    Parameters
    ----------
    width_of_cut
        Width of cut, not above the diameter [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    overtravel
        "both ends" (default), "once" or "exact" [-].

    Returns
    -------
    Number
        Overtravel of one pass [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a width above the diameter, or an unknown rule.

    References
    ----------
    S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, Ex 24.2 (both ends);
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (once and exact).
    """
    positive(width_of_cut=width_of_cut, diameter=diameter)
    not_above("width_of_cut", width_of_cut, "diameter", diameter)
    one_of("overtravel", overtravel, get_args(Overtravel))
    if overtravel == "exact":
        exact: Number = (diameter - np.sqrt(diameter * diameter - width_of_cut * width_of_cut)) / 2.0
        return exact
    ends = 2.0 if overtravel == "both ends" else 1.0
    return ends * diameter / 2.0


def face_milling_minutes(
    length: Number,
    width: Number,
    diameter: Number,
    width_of_cut: Number,
    feed_speed: Number,
    levels: Number = 1.0,
    overtravel: Overtravel = "both ends",
) -> Number:
    """Minutes in feed of facing a rectangle in parallel passes.

    t = levels * lanes * (l + overtravel) / vf, lanes = passes(width, width of cut). Rough and finish levels
    run at their own feeds: one call each, levels from rough_and_finish_passes.

    Parameters
    ----------
    length
        Length of the face along the passes [mm], any shape, > 0.
    width
        Width of the face across the passes [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    width_of_cut
        Width one pass may take, not above the diameter [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    levels
        Depth levels at this feed [-], any shape, >= 0.
    overtravel
        Rule of face_overtravel: "both ends" (default), "once" or "exact" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a width of cut above the diameter, or an unknown rule.

    References
    ----------
    S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, Ex 24.2 (face milling time).
    """
    positive(length=length, width=width, feed_speed=feed_speed)
    not_negative(levels=levels)
    not_above("width_of_cut", width_of_cut, "diameter", diameter)
    beyond = face_overtravel(np.minimum(width, width_of_cut), diameter, overtravel)
    return levels * passes(width, width_of_cut) * (length + beyond) / feed_speed


def peripheral_approach(radial_depth: Number, diameter: Number, approach: Approach = "exact") -> Number:
    """Way from first touch of a disc or slab mill until it cuts its full radial depth.

    exact: sqrt(d (D - d)), half the chord that the depth cuts off the circle. approximate: sqrt(D d), which
    neglects d beside D. Sources use both; for a slot of 25 mm by a 150 mm cutter they are 55.9 and 61.2 mm.

    Parameters
    ----------
    radial_depth
        Depth of cut measured along the cutter's radius, not above half the diameter [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    approach
        "exact" (default) or "approximate" [-].

    Returns
    -------
    Number
        Approach [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a depth above half the diameter, or an unknown rule.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (exact);
    S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, Ex 24.1 (approximate).
    """
    positive(radial_depth=radial_depth, diameter=diameter)
    not_above("radial_depth", radial_depth, "half the diameter", diameter / 2.0)
    one_of("approach", approach, get_args(Approach))
    reach = diameter - radial_depth if approach == "exact" else diameter
    way: Number = np.sqrt(radial_depth * reach)
    return way


def peripheral_milling_minutes(
    length: Number,
    radial_depth: Number,
    diameter: Number,
    feed_speed: Number,
    runs: Number = 1.0,
    clearance: Number = 0.0,
    approach: Approach = "exact",
) -> Number:
    """Minutes in feed of cutting with the circumference: slab and side milling, slotting with a disc cutter.

    t = runs * (l + approach + clearance) / vf. The three differ only in which way the depth lies.

    Parameters
    ----------
    length
        Length of the surface or slot [mm], any shape, > 0.
    radial_depth
        Depth of cut along the cutter's radius, not above half the diameter [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    runs
        Times the length is run: lanes times depth levels [-], any shape, >= 0.
    clearance
        Way fed in air, both ends together [mm], any shape, >= 0.
    approach
        Rule of peripheral_approach: "exact" (default) or "approximate" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a depth above half the diameter, or an unknown rule.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (peripheral milling time);
    P. C. Sharma, A Textbook of Production Engineering, Ex 4.17, p. 228 (slot).
    """
    positive(length=length, feed_speed=feed_speed)
    not_negative(runs=runs, clearance=clearance)
    return runs * (length + peripheral_approach(radial_depth, diameter, approach) + clearance) / feed_speed


def slotting_minutes(
    length: Number,
    depth: Number,
    diameter: Number,
    depth_of_cut: Number,
    feed_speed: Number,
    ends: SlotEnds = "open",
) -> Number:
    """Minutes in feed of a slot as wide as the end mill that cuts it.

    t = passes(depth, ap) * path / vf. The cutter's centre runs l + D where both ends are open (half a cutter
    off the work at each), l where one end is closed, l - D where both are. Plunging or ramping in is not
    included.

    Parameters
    ----------
    length
        Length of the slot over its round ends, not below the diameter where closed [mm], any shape, > 0.
    depth
        Depth of the slot [mm], any shape, > 0.
    diameter
        Cutter diameter, which is the slot's width [mm], any shape, > 0.
    depth_of_cut
        Axial depth one pass may take [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    ends
        "open" (default), "one closed" or "closed" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a closed slot shorter than the cutter, or an unknown end.

    References
    ----------
    Geometry of the cutter's path; the half-cutter overtravel is that of face milling, S. Kalpakjian and
    S. R. Schmid, Ex 24.2.
    """
    positive(length=length, depth=depth, diameter=diameter, feed_speed=feed_speed)
    one_of("ends", ends, get_args(SlotEnds))
    if ends != "open":
        not_above("diameter", diameter, "length", length)
    beyond = {"open": diameter, "one closed": 0.0, "closed": -diameter}[ends]
    return passes(depth, depth_of_cut) * (length + beyond) / feed_speed


def flat_on_bar(bar_diameter: Number, depth: Number, cutter_diameter: Number) -> FlatTravel:
    """Travel of a disc or slab mill over a flat that it cuts into a round bar, across the bar.

    Chord of the flat: 2 sqrt(d (D1 - d)). The cutter clears it when its centre is sqrt(d (D2 + D1 - d)) past
    the bar's centre, sqrt(d (D1 - d)) of which is half the chord; the difference is the overrun. Minutes:
    (chord + overrun) / vf.

    Parameters
    ----------
    bar_diameter
        Bar diameter D1 [mm], any shape, > 0.
    depth
        Depth of the flat below the bar's outside, not above half the bar [mm], any shape, > 0.
    cutter_diameter
        Cutter diameter D2 [mm], any shape, > 0.

    Returns
    -------
    FlatTravel
        Chord and overrun [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a depth above half the bar.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 4.19, p. 229.
    """
    positive(bar_diameter=bar_diameter, depth=depth, cutter_diameter=cutter_diameter)
    not_above("depth", depth, "half the bar", bar_diameter / 2.0)
    half_chord: Number = np.sqrt(depth * (bar_diameter - depth))
    way_off: Number = np.sqrt(depth * (cutter_diameter + bar_diameter - depth))
    return FlatTravel(2.0 * half_chord, way_off - half_chord)
