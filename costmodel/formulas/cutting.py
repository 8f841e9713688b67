"""Speeds, feeds, passes, removal rate and rapid moves: what every cut needs before its minutes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.formulas._choices import choose, not_above
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import whole_count, whole_up
from costmodel.units import Number

MM_PER_M = 1000.0


class RoughAndFinish(NamedTuple):
    """Passes of a cut in two grades: rough [-], finish [-]."""

    rough: Number
    finish: Number


def spindle_speed(cutting_speed: Number, diameter: Number) -> Number:
    """Spindle speed that gives a speed at the edge.

    N = 1000 v / (pi D): the edge travels pi D in one turn, 1000 turns metres into millimetres.

    Parameters
    ----------
    cutting_speed
        Speed at the edge [m/min], any shape, > 0.
    diameter
        Diameter at which the edge cuts: the cutter's in milling, the work's in turning [mm], any shape, > 0.

    Returns
    -------
    Number
        Spindle speed [1/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (turning and milling conditions).
    """
    positive(cutting_speed=cutting_speed, diameter=diameter)
    return cutting_speed * MM_PER_M / (np.pi * diameter)


def cutting_speed(spindle_speed: Number, diameter: Number) -> Number:
    """Speed at the edge at a spindle speed.

    v = pi D N / 1000: the inverse of spindle_speed.

    Parameters
    ----------
    spindle_speed
        Spindle speed [1/min], any shape, > 0.
    diameter
        Diameter at which the edge cuts [mm], any shape, > 0.

    Returns
    -------
    Number
        Cutting speed [m/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (turning and milling conditions).
    """
    positive(spindle_speed=spindle_speed, diameter=diameter)
    return np.pi * diameter * spindle_speed / MM_PER_M


def feed_speed(spindle_speed: Number, feed_per_tooth: Number, teeth: int = 1) -> Number:
    """Feed speed of the table or slide.

    vf = N z fz. With one tooth the feed per tooth is the feed per revolution, as in turning and drilling.

    Parameters
    ----------
    spindle_speed
        Spindle speed [1/min], any shape, > 0.
    feed_per_tooth
        Feed per tooth, or per revolution when `teeth` is 1 [mm], any shape, > 0.
    teeth
        Number of teeth that cut in one turn [-], whole number >= 1.

    Returns
    -------
    Number
        Feed speed [mm/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (milling: feed rate).
    """
    positive(spindle_speed=spindle_speed, feed_per_tooth=feed_per_tooth)
    whole_count("teeth", teeth, at_least=1)
    return spindle_speed * feed_per_tooth * teeth


def feed_per_tooth(feed_speed: Number, spindle_speed: Number, teeth: int = 1) -> Number:
    """Feed per tooth at a feed speed.

    fz = vf / (N z): the inverse of feed_speed.

    Parameters
    ----------
    feed_speed
        Feed speed [mm/min], any shape, > 0.
    spindle_speed
        Spindle speed [1/min], any shape, > 0.
    teeth
        Number of teeth that cut in one turn [-], whole number >= 1.

    Returns
    -------
    Number
        Feed per tooth, or per revolution when `teeth` is 1 [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, milling: feed per tooth.
    """
    positive(feed_speed=feed_speed, spindle_speed=spindle_speed)
    whole_count("teeth", teeth, at_least=1)
    return feed_speed / (spindle_speed * teeth)


def passes(stock: Number, depth_per_pass: Number) -> Number:
    """Whole number of passes that take a thickness of stock off.

    n = ceil(stock / depth - 1e-9): a quotient that misses a whole number by rounding is not one pass more.

    Parameters
    ----------
    stock
        Thickness to take off, measured along the infeed [mm], any shape, >= 0.
    depth_per_pass
        Thickness one pass may take [mm], any shape, > 0.

    Returns
    -------
    Number
        Passes [-], whole, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: passes are whole.
    """
    not_negative(stock=stock)
    positive(depth_per_pass=depth_per_pass)
    return whole_up(stock / depth_per_pass)


def rough_and_finish_passes(
    stock: Number, depth_per_pass: Number, finish_allowance: Number
) -> RoughAndFinish:
    """Rough passes down to an allowance, and the one finish pass that takes it.

    rough = passes(stock - allowance, depth); finish = 1 where an allowance is left, else 0.

    Parameters
    ----------
    stock
        Thickness to take off in all [mm], any shape, >= 0.
    depth_per_pass
        Thickness one rough pass may take [mm], any shape, > 0.
    finish_allowance
        Thickness left for the finish pass, not above the stock [mm], any shape, >= 0.

    Returns
    -------
    RoughAndFinish
        Passes of both grades [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an allowance above the stock.

    References
    ----------
    Common practice, no source: in aluminium end milling 0.002 to 0.003 in is left for the finish pass.
    """
    not_negative(stock=stock, finish_allowance=finish_allowance)
    not_above("finish_allowance", finish_allowance, "stock", stock)
    rough = passes(stock - finish_allowance, depth_per_pass)
    return RoughAndFinish(rough, choose(finish_allowance > 0.0, 1.0, 0.0))


def removal_rate(width_of_cut: Number, depth_of_cut: Number, feed_speed: Number) -> Number:
    """Volume a milling cut takes off in a minute.

    Q = ae ap vf.

    Parameters
    ----------
    width_of_cut
        Radial width of cut [mm], any shape, > 0.
    depth_of_cut
        Axial depth of cut [mm], any shape, > 0.
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
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (milling: material removal rate).
    """
    positive(width_of_cut=width_of_cut, depth_of_cut=depth_of_cut, feed_speed=feed_speed)
    return width_of_cut * depth_of_cut * feed_speed


def rapid_minutes(distance: Number, rapid_rate: Number, acceleration: Number = np.inf) -> Number:
    """Minutes of one rapid move from rest to rest.

    t = s/v + v/a where the move is long enough to reach the rapid rate (s >= v^2/a), else t = 2 sqrt(s/a):
    half the way speeding up, half slowing down at the same rate. Without an acceleration t = s/v.

    Parameters
    ----------
    distance
        Length of the move [mm], any shape, >= 0.
    rapid_rate
        Rapid traverse rate [mm/min], any shape, > 0.
    acceleration
        Acceleration of the slowest axis that moves [mm/min2], any shape, > 0.

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
    Kinematics of uniform acceleration: closed form.
    """
    not_negative(distance=distance)
    positive(rapid_rate=rapid_rate, acceleration=acceleration)
    long_move = distance / rapid_rate + rapid_rate / acceleration
    short_move = 2.0 * np.sqrt(distance / acceleration)
    return choose(distance >= rapid_rate * rapid_rate / acceleration, long_move, short_move)
