"""How long an edge lasts: Taylor's law and its extension to feed and depth.

Life is minutes in cut. Powers are taken by exp and log: these formulas stand in the hot part of a simulation.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._limits import positive, within
from costmodel.formulas._powers import power
from costmodel.formulas._series import Series, items
from costmodel.units import Number

LARGEST_EXPONENT = 5.0


class TaylorFit(NamedTuple):
    """Constants of v T^n = C: exponent n [-], constant C, the speed for one minute of life [m/min]."""

    exponent: Number
    constant: Number


def taylor_life(cutting_speed: Number, constant: Number, exponent: Number) -> Number:
    """Life of an edge at a cutting speed.

    v T^n = C, so T = (C/v)^(1/n).

    Parameters
    ----------
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    constant
        C, the speed for one minute of life [m/min], any shape, > 0.
    exponent
        n [-], any shape, > 0.

    Returns
    -------
    Number
        Life [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 22 (tool life).
    """
    positive(cutting_speed=cutting_speed, constant=constant, exponent=exponent)
    return power(constant / cutting_speed, 1.0 / exponent)


def taylor_speed(life: Number, constant: Number, exponent: Number) -> Number:
    """Cutting speed at which an edge has a stated life.

    v = C / T^n.

    Parameters
    ----------
    life
        Life [min], any shape, > 0.
    constant
        C, the speed for one minute of life [m/min], any shape, > 0.
    exponent
        n [-], any shape, > 0.

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
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 22 (tool life).
    """
    positive(life=life, constant=constant, exponent=exponent)
    return constant * power(life, -exponent)


def taylor_constant(cutting_speed: Number, life: Number, exponent: Number) -> Number:
    """Taylor's constant from one observed life.

    C = v T^n.

    Parameters
    ----------
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    life
        Life at that speed [min], any shape, > 0.
    exponent
        n [-], any shape, > 0.

    Returns
    -------
    Number
        C, the speed for one minute of life [m/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 22 (tool life).
    """
    positive(cutting_speed=cutting_speed, life=life, exponent=exponent)
    return cutting_speed * power(life, exponent)


def taylor_fit(speeds: Series, lives: Series) -> TaylorFit:
    """Taylor's constants from two observed lives.

    n = ln(v1/v2) / ln(T2/T1), C = v1 T1^n. More than two lives scatter: they belong in fit_taylor.

    Parameters
    ----------
    speeds
        Two different cutting speeds [m/min], any shape each, > 0.
    lives
        The lives at them; the higher speed has the shorter life [min], any shape each, > 0.

    Returns
    -------
    TaylorFit
        n [-] and C [m/min], broadcast shape of the points.

    Raises
    ------
    LimitError
        A value outside its range, not two of each, or a life that does not fall with the speed.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 22, Ex 22.1.
    """
    first_speed, second_speed = items("speeds", speeds, 2, above=0.0)
    first_life, second_life = items("lives", lives, 2, above=0.0)
    speed_ratio, life_ratio = np.log(first_speed / second_speed), np.log(second_life / first_life)
    if not np.all(speed_ratio * life_ratio > 0.0):
        raise LimitError("lives", (first_life, second_life), "shorter at the higher of two different speeds")
    exponent: Number = speed_ratio / life_ratio
    return TaylorFit(exponent, taylor_constant(first_speed, first_life, exponent))


def extended_constant(
    cutting_speed: Number,
    life: Number,
    feed: Number,
    depth_of_cut: Number,
    exponent: Number,
    feed_exponent: Number,
    depth_exponent: Number,
) -> Number:
    """Constant of the extended Taylor law from one observed life.

    C = v T^n f^a d^b.

    Parameters
    ----------
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    life
        Life [min], any shape, > 0.
    feed
        Feed per revolution or per tooth, as the law's exponents were found [mm], any shape, > 0.
    depth_of_cut
        Depth of cut, or the drill's diameter, as the law was found [mm], any shape, > 0.
    exponent
        n, of the life [-], any shape, > 0.
    feed_exponent
        a [-], any shape, >= -5 and <= 5.
    depth_exponent
        b; negative where life grows, as with a drill's diameter [-], any shape, >= -5 and <= 5.

    Returns
    -------
    Number
        C [m/min at 1 min, 1 mm, 1 mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 14.4, p. 566.
    """
    return taylor_constant(cutting_speed, life, exponent) * _feed_and_depth(
        feed, depth_of_cut, feed_exponent, depth_exponent
    )


def _feed_and_depth(
    feed: Number, depth_of_cut: Number, feed_exponent: Number, depth_exponent: Number
) -> Number:
    positive(feed=feed, depth_of_cut=depth_of_cut)
    within("feed_exponent", feed_exponent, at_least=-LARGEST_EXPONENT, at_most=LARGEST_EXPONENT)
    within("depth_exponent", depth_exponent, at_least=-LARGEST_EXPONENT, at_most=LARGEST_EXPONENT)
    product: Number = np.exp(feed_exponent * np.log(feed) + depth_exponent * np.log(depth_of_cut))
    return product


def extended_life(
    cutting_speed: Number,
    feed: Number,
    depth_of_cut: Number,
    constant: Number,
    exponent: Number,
    feed_exponent: Number,
    depth_exponent: Number,
) -> Number:
    """Life of an edge at a speed, feed and depth by the extended Taylor law.

    v T^n f^a d^b = C, so T = (C / (v f^a d^b))^(1/n).

    Parameters
    ----------
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    feed
        Feed per revolution or per tooth, as the law's exponents were found [mm], any shape, > 0.
    depth_of_cut
        Depth of cut, or the drill's diameter, as the law was found [mm], any shape, > 0.
    constant
        C [m/min at 1 min, 1 mm, 1 mm], any shape, > 0.
    exponent
        n, of the life [-], any shape, > 0.
    feed_exponent
        a [-], any shape, >= -5 and <= 5.
    depth_exponent
        b; negative where life grows, as with a drill's diameter [-], any shape, >= -5 and <= 5.

    Returns
    -------
    Number
        Life [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 14.4, p. 566.
    """
    positive(cutting_speed=cutting_speed, constant=constant, exponent=exponent)
    effort = _feed_and_depth(feed, depth_of_cut, feed_exponent, depth_exponent)
    return power(constant / (cutting_speed * effort), 1.0 / exponent)


def extended_speed(
    life: Number,
    feed: Number,
    depth_of_cut: Number,
    constant: Number,
    exponent: Number,
    feed_exponent: Number,
    depth_exponent: Number,
) -> Number:
    """Cutting speed for a stated life at a feed and depth by the extended Taylor law.

    v = C / (T^n f^a d^b). At a life of 1 min it is Taylor's C for that feed and depth.

    Parameters
    ----------
    life
        Life [min], any shape, > 0.
    feed
        Feed per revolution or per tooth, as the law's exponents were found [mm], any shape, > 0.
    depth_of_cut
        Depth of cut, or the drill's diameter, as the law was found [mm], any shape, > 0.
    constant
        C [m/min at 1 min, 1 mm, 1 mm], any shape, > 0.
    exponent
        n, of the life [-], any shape, > 0.
    feed_exponent
        a [-], any shape, >= -5 and <= 5.
    depth_exponent
        b; negative where life grows, as with a drill's diameter [-], any shape, >= -5 and <= 5.

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
    P. C. Sharma, A Textbook of Production Engineering, Ex 14.4, p. 566.
    """
    effort = _feed_and_depth(feed, depth_of_cut, feed_exponent, depth_exponent)
    return taylor_speed(life, constant, exponent) / effort


def break_even_speed(
    first_constant: Number, first_exponent: Number, second_constant: Number, second_exponent: Number
) -> Number:
    """Cutting speed at which two tools last equally long.

    (C1/v)^(1/n1) = (C2/v)^(1/n2), so ln v = (n2 ln C1 - n1 ln C2) / (n2 - n1). Below it the tool with the
    smaller n lasts longer, above it the other.

    Parameters
    ----------
    first_constant
        C of the first tool [m/min], any shape, > 0.
    first_exponent
        n of the first tool [-], any shape, > 0.
    second_constant
        C of the second tool [m/min], any shape, > 0.
    second_exponent
        n of the second tool, not that of the first [-], any shape, > 0.

    Returns
    -------
    Number
        Cutting speed [m/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or equal exponents, with which the lives never meet.

    References
    ----------
    GATE Mechanical (India) 2017, question on two tools; closed form.
    """
    positive(first_constant=first_constant, first_exponent=first_exponent)
    positive(second_constant=second_constant, second_exponent=second_exponent)
    difference = second_exponent - first_exponent
    if not np.all(np.not_equal(difference, 0.0)):
        raise LimitError("second_exponent", second_exponent, "unlike the first exponent")
    logs = second_exponent * np.log(first_constant) - first_exponent * np.log(second_constant)
    speed: Number = np.exp(logs / difference)
    return speed
