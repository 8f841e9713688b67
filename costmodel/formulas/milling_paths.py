"""Minutes of milling along paths: contours, clearing at a removal rate, pockets, edges and engraving."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.formulas._choices import not_above
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import whole_up
from costmodel.formulas.cutting import passes
from costmodel.units import Number


class PocketMinutes(NamedTuple):
    """Minutes in feed of a pocket: floor [min], wall [min]."""

    floor: Number
    wall: Number


def contour_minutes(
    path_length: Number,
    radial_stock: Number,
    width_of_cut: Number,
    depth: Number,
    depth_of_cut: Number,
    feed_speed: Number,
) -> Number:
    """Minutes in feed of following a contour, at full depth with a small stepover or in several levels.

    t = path * passes(radial stock, ae) * passes(depth, ap) / vf. At full depth the last factor is 1.

    Parameters
    ----------
    path_length
        Length of the cutter centre's path once around, with run-in and run-out [mm], any shape, > 0.
    radial_stock
        Stock to take off the side [mm], any shape, >= 0.
    width_of_cut
        Radial width of cut, the stepover [mm], any shape, > 0.
    depth
        Depth of the side [mm], any shape, >= 0.
    depth_of_cut
        Axial depth one pass may take [mm], any shape, > 0.
    feed_speed
        Feed speed of the cutter's centre [mm/min], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: way over speed, once for each pass.
    """
    positive(path_length=path_length, feed_speed=feed_speed)
    return path_length * passes(radial_stock, width_of_cut) * passes(depth, depth_of_cut) / feed_speed


def clearing_minutes(
    volume: Number, width_of_cut: Number, depth_of_cut: Number, feed_speed: Number, efficiency: Number = 1.0
) -> Number:
    """Minutes of clearing a volume with a constant engagement of the cutter.

    t = V / (ae ap vf efficiency). With efficiency 1 it is the least time at that engagement; repositioning in
    air and thinner cuts at the borders lower the efficiency, to be measured. The feed speed carries the
    radial chip thinning (feed_for_chip_thickness).

    Parameters
    ----------
    volume
        Volume to clear [mm3], any shape, >= 0.
    width_of_cut
        Radial width of cut [mm], any shape, > 0.
    depth_of_cut
        Axial depth of cut [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    efficiency
        Share of the removal rate that is reached on average [fraction], any shape, > 0 and <= 1.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition of the removal rate, M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21.
    """
    not_negative(volume=volume)
    positive(width_of_cut=width_of_cut, depth_of_cut=depth_of_cut, feed_speed=feed_speed)
    within("efficiency", efficiency, above=0.0, at_most=1.0)
    return volume / (width_of_cut * depth_of_cut * feed_speed * efficiency)


def pocket_minutes(
    length: Number,
    width: Number,
    depth: Number,
    corner_radius: Number,
    diameter: Number,
    stepover: Number,
    depth_of_cut: Number,
    feed_speed: Number,
    wall_feed_speed: Number,
    wall_allowance: Number = 0.0,
    wall_levels: Number = 1.0,
) -> PocketMinutes:
    """Minutes in feed of a rectangular pocket: floor in parallel lanes level by level, then the wall around.

    The centre of the cutter reaches a rectangle smaller by D + 2 allowance each way. Lanes along the length:
    ceil(reach across / stepover) + 1, joined by steps that add the reach across once.
    floor = passes(depth, ap) * (lanes * reach along + reach across) / vf.
    The wall path is the pocket's outline, D/2 inside it, with corners of radius r - D/2:
    wall = levels * [2 (l - D) + 2 (w - D) - (8 - 2 pi)(r - D/2)] / vf of the wall.
    Entering the material is not included, see entry_minutes. The cutter has to fit the corners: D/2 <= r.

    Parameters
    ----------
    length
        Length of the pocket, not below the width [mm], any shape, > 0.
    width
        Width of the pocket [mm], any shape, > 0.
    depth
        Depth of the pocket [mm], any shape, > 0.
    corner_radius
        Radius of the upright corners, not above half the width [mm], any shape, > 0.
    diameter
        Cutter diameter, not above twice the corner radius [mm], any shape, > 0.
    stepover
        Way between lanes, not above the diameter [mm], any shape, > 0.
    depth_of_cut
        Axial depth one level may take [mm], any shape, > 0.
    feed_speed
        Feed speed on the floor [mm/min], any shape, > 0.
    wall_feed_speed
        Feed speed of the cutter's centre along the wall [mm/min], any shape, > 0.
    wall_allowance
        Stock left on the wall by the floor lanes; D + 2 allowance not above the width [mm], any shape, >= 0.
    wall_levels
        Wall passes, axial levels and spring passes together [-], any shape, >= 0.

    Returns
    -------
    PocketMinutes
        Minutes of floor and wall [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a cutter that does not fit the corners or the pocket.

    References
    ----------
    Geometry of the cutter's path.
    """
    positive(length=length, depth=depth, corner_radius=corner_radius, diameter=diameter, stepover=stepover)
    positive(width=width, feed_speed=feed_speed, wall_feed_speed=wall_feed_speed)
    not_negative(wall_allowance=wall_allowance, wall_levels=wall_levels)
    not_above("width", width, "length", length)
    not_above("corner_radius", corner_radius, "half the width", width / 2.0)
    not_above("diameter", diameter, "twice the corner radius", 2.0 * corner_radius)
    not_above("stepover", stepover, "diameter", diameter)
    not_above("diameter and wall allowances", diameter + 2.0 * wall_allowance, "width", width)
    along = length - diameter - 2.0 * wall_allowance
    across = width - diameter - 2.0 * wall_allowance
    lanes = whole_up(across / stepover) + 1.0
    floor = passes(depth, depth_of_cut) * (lanes * along + across) / feed_speed
    corners = (8.0 - 2.0 * np.pi) * (corner_radius - diameter / 2.0)
    outline = 2.0 * (length - diameter) + 2.0 * (width - diameter) - corners
    return PocketMinutes(floor, wall_levels * outline / wall_feed_speed)


def entry_minutes(depth: Number, angle: Number, feed_speed: Number) -> Number:
    """Minutes in feed of entering solid material down a slope: a ramp there and back, a helix, or straight down.

    t = depth / (sin(angle) vf), level by level the same as in one go: a helix unrolled is a ramp, and 90 deg is
    a plunge. The level's own lanes cut what the slope leaves; a helix closes with a flat turn, see
    helix_closing_minutes.

    Parameters
    ----------
    depth
        Depth entered, all levels together [mm], any shape, >= 0.
    angle
        Angle of the slope against the floor [deg], any shape, > 0 and <= 90.
    feed_speed
        Feed speed of the cutter's centre along the slope [mm/min], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Geometry of a slope: closed form.
    """
    not_negative(depth=depth)
    within("angle", angle, above=0.0, at_most=90.0)
    positive(feed_speed=feed_speed)
    minutes: Number = depth / (np.sin(np.radians(angle)) * feed_speed)
    return minutes


def helix_closing_minutes(
    opening_diameter: Number, diameter: Number, feed_speed: Number, levels: Number = 1.0
) -> Number:
    """Minutes in feed of the flat turn that closes a helical entry on each level.

    t = levels * pi (Dh - D) / vf. A hole wider than two cutters would leave a core standing in its middle.

    Parameters
    ----------
    opening_diameter
        Diameter of the hole that the helix opens, above one cutter and not above two [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    feed_speed
        Feed speed of the cutter's centre [mm/min], any shape, > 0.
    levels
        Levels entered, one turn each [-], any shape, >= 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a hole not wider than the cutter or wider than two.

    References
    ----------
    Geometry of the cutter's path.
    """
    positive(opening_diameter=opening_diameter, diameter=diameter, feed_speed=feed_speed)
    not_negative(levels=levels)
    not_above("opening_diameter", opening_diameter, "two cutter diameters", 2.0 * diameter)
    circle = opening_diameter - diameter
    positive(opening_less_diameter=circle)
    return levels * np.pi * circle / feed_speed


def path_minutes(
    path_length: Number,
    feed_speed: Number,
    runs: Number = 1.0,
    entries: Number = 0.0,
    minutes_per_entry: Number = 0.0,
) -> Number:
    """Minutes of a cut along a path: chamfering, edge breaking, engraving.

    t = runs * (path / vf + entries * minutes per entry). An entry is one lift, move and plunge: one for each
    edge or letter.

    Parameters
    ----------
    path_length
        Length of the path once over all edges or letters [mm], any shape, >= 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    runs
        Times the path is run [-], any shape, >= 0.
    entries
        Separate pieces of the path [-], any shape, >= 0.
    minutes_per_entry
        Minutes to lift, move and plunge [min], any shape, >= 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: way over speed, once for each run.
    """
    not_negative(path_length=path_length, runs=runs, entries=entries, minutes_per_entry=minutes_per_entry)
    positive(feed_speed=feed_speed)
    return runs * (path_length / feed_speed + entries * minutes_per_entry)
