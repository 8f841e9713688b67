"""Minutes of holes: drilling, reaming, boring. Travel, pecking and the way out are kept apart."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import not_above, one_of
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.units import Number

PointAllowance: TypeAlias = Literal["point once", "0.29 D twice", "none"]
Hole: TypeAlias = Literal["through", "blind"]
Retract: TypeAlias = Literal["rapid", "feed"]
Pecking: TypeAlias = Literal["full retract", "chip breaking"]

POINT_SHARE = 0.29


class HoleMinutes(NamedTuple):
    """Minutes of one hole: cutting in feed [min], pecking in rapid [min], way out at the end [min]."""

    cutting: Number
    pecking: Number
    way_out: Number

    @property
    def total(self) -> Number:
        """Minutes of the hole [min]."""
        return self.cutting + self.pecking + self.way_out


def drilling_travel(
    depth: Number,
    diameter: Number,
    hole: Hole = "through",
    allowance: PointAllowance = "point once",
    point_angle: Number = 118.0,
    clearance: Number = 0.0,
) -> Number:
    """Travel of a drill in feed.

    l = depth + point allowance + clearance. point once: D/2 tan(90 - angle/2), the height of the drill's
    point, added once. 0.29 D twice: the approach and, in a through hole, the same again to break through.
    none: as in old texts for blind holes. The depth of a blind hole is that of its full diameter. Sources use
    all three.

    Parameters
    ----------
    depth
        Depth of the full diameter, or the thickness drilled through [mm], any shape, > 0.
    diameter
        Drill diameter [mm], any shape, > 0.
    hole
        "through" (default) or "blind" [-].
    allowance
        "point once" (default), "0.29 D twice" or "none" [-].
    point_angle
        Point angle of the drill, used by "point once" [deg], any shape, > 0 and <= 180.
    clearance
        Way fed in air before and behind [mm], any shape, >= 0.

    Returns
    -------
    Number
        Travel [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown convention.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (point once);
    P. C. Sharma, A Textbook of Production Engineering, Ex 4.14, p. 221 (0.29 D twice).
    """
    positive(depth=depth, diameter=diameter)
    not_negative(clearance=clearance)
    within("point_angle", point_angle, above=0.0, at_most=180.0)
    one_of("hole", hole, get_args(Hole))
    one_of("allowance", allowance, get_args(PointAllowance))
    if allowance == "none":
        return depth + clearance
    if allowance == "0.29 D twice":
        times = 2.0 if hole == "through" else 1.0
        return depth + clearance + times * POINT_SHARE * diameter
    point: Number = 0.5 * diameter * np.tan(np.radians(90.0 - 0.5 * point_angle))
    return depth + clearance + point


def drilling_minutes(
    travel: Number,
    feed_speed: Number,
    rapid_rate: Number,
    pecks: Number = 1.0,
    restart_gap: Number = 0.0,
    retract: Retract = "rapid",
    pecking: Pecking = "full retract",
    lift: Number = 0.0,
) -> HoleMinutes:
    """Minutes of one hole fed to a travel, in one go or in equal pecks.

    full retract: after peck i of n the drill leaves i l/n in rapid, right out of the hole, and comes back to a
    gap above the bottom; the gap is fed again: cutting = (l + (n - 1) gap) / vf, pecking = (n - 1)(l - gap) /
    rapid, as the ways out and in add up to n (n - 1) l/n - (n - 1) gap.
    chip breaking: it lifts a little off the bottom and comes back to the gap: pecking = (n - 1)(2 lift - gap) /
    rapid. With coolant through the drill pecks is usually 1. The way out at the end is rapid, or at feed where
    the wall is finished.

    Parameters
    ----------
    travel
        Travel in feed, from drilling_travel [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    rapid_rate
        Rapid traverse rate [mm/min], any shape, > 0.
    pecks
        Number of pecks, whole; from passes(travel, peck depth) [-], any shape, >= 1.
    restart_gap
        Gap above the bottom at which feeding restarts, not above one peck [mm], any shape, >= 0.
    retract
        "rapid" (default) or "feed" [-].
    pecking
        "full retract" (default) or "chip breaking" [-].
    lift
        Way lifted off the bottom to break the chip, not below the gap nor above one peck [mm], any shape, >= 0.

    Returns
    -------
    HoleMinutes
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a gap or a lift above one peck, or an unknown convention.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (drilling time); pecking: sum of an arithmetic
    series of ways.
    """
    positive(travel=travel, feed_speed=feed_speed, rapid_rate=rapid_rate)
    within("pecks", pecks, at_least=1.0)
    not_negative(restart_gap=restart_gap, lift=lift)
    not_above("restart_gap", restart_gap, "one peck", travel / pecks)
    one_of("retract", retract, get_args(Retract))
    one_of("pecking", pecking, get_args(Pecking))
    restarts = pecks - 1.0
    cutting = (travel + restarts * restart_gap) / feed_speed
    if pecking == "full retract":
        moved = restarts * (travel - restart_gap)
    else:
        not_above("restart_gap", restart_gap, "lift", lift)
        not_above("lift", lift, "one peck", travel / pecks)
        moved = restarts * (2.0 * lift - restart_gap)
    return HoleMinutes(
        cutting, moved / rapid_rate, travel / (rapid_rate if retract == "rapid" else feed_speed)
    )


def reaming_minutes(
    depth: Number, feed_speed: Number, rapid_rate: Number, overrun: Number = 0.0, retract: Retract = "feed"
) -> HoleMinutes:
    """Minutes of reaming one hole: the drilling time at the reamer's feed, without a point.

    Cutting = (depth + overrun) / vf; the way out at feed, as the reamer touches the finished wall.

    Parameters
    ----------
    depth
        Depth reamed [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    rapid_rate
        Rapid traverse rate [mm/min], any shape, > 0.
    overrun
        Way fed in air and past the end for the reamer's lead [mm], any shape, >= 0.
    retract
        "feed" (default) or "rapid" [-].

    Returns
    -------
    HoleMinutes
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown way out.

    References
    ----------
    The drilling time of M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21, without the point.
    """
    positive(depth=depth)
    not_negative(overrun=overrun)
    return drilling_minutes(depth + overrun, feed_speed, rapid_rate, retract=retract)


def boring_minutes(
    depth: Number,
    feed_speed: Number,
    rapid_rate: Number,
    cuts: Number = 1.0,
    overrun: Number = 0.0,
    retract: Retract = "rapid",
) -> HoleMinutes:
    """Minutes of boring one hole with a single-point bar on a mill, in one or several cuts of equal feed.

    Each cut takes (depth + overrun) / vf and a way out: rapid with the spindle stopped and the edge lifted
    off the wall, or at feed. Boring on a lathe is turning_minutes.

    Parameters
    ----------
    depth
        Depth bored [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    rapid_rate
        Rapid traverse rate [mm/min], any shape, > 0.
    cuts
        Number of cuts [-], any shape, >= 0.
    overrun
        Way fed in air before and behind [mm], any shape, >= 0.
    retract
        "rapid" (default) or "feed" [-].

    Returns
    -------
    HoleMinutes
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown way out.

    References
    ----------
    The drilling time of M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21, without the point.
    """
    positive(depth=depth)
    not_negative(cuts=cuts, overrun=overrun)
    one = drilling_minutes(depth + overrun, feed_speed, rapid_rate, retract=retract)
    return HoleMinutes(cuts * one.cutting, cuts * one.pecking, cuts * one.way_out)


def drilling_removal_rate(diameter: Number, feed_speed: Number) -> Number:
    """Volume a drill takes off in a minute.

    Q = pi D^2/4 vf.

    Parameters
    ----------
    diameter
        Drill diameter [mm], any shape, > 0.
    feed_speed
        Feed speed [mm/min], any shape, > 0.

    Returns
    -------
    Number
        Removal rate [mm3/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 15.10, p. 630.
    """
    positive(diameter=diameter, feed_speed=feed_speed)
    return np.pi * diameter * diameter / 4.0 * feed_speed
