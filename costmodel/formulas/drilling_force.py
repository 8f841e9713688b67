"""Thrust and torque of a twist drill in a solid hole, by the handbook's power laws."""

from __future__ import annotations

from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._powers import power
from costmodel.units import Number

MM_PER_INCH = 25.4
NEWTON_PER_POUND = 4.4482216152605
NEWTON_M_PER_INCH_POUND = NEWTON_PER_POUND * MM_PER_INCH / 1000.0
FEED_EXPONENT = 0.8
THRUST_EXPONENT = 0.8
TORQUE_EXPONENT = 1.8


def drill_feed_factor(feed: Number) -> Number:
    """Feed factor of drilling thrust and torque.

    f^0.8, which is what the handbook's table of feed factors tabulates, in either unit of length.

    Parameters
    ----------
    feed
        Feed per revolution [mm] (or [in] for the inch column of the table), any shape, > 0.

    Returns
    -------
    Number
        Factor [-], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, p. 1152, table of feed factors.
    """
    positive(feed=feed)
    return power(feed, FEED_EXPONENT)


def drill_thrust_factor(diameter: Number) -> Number:
    """Diameter factor of drilling thrust.

    D^0.8, which is what the handbook's table tabulates, in either unit of length.

    Parameters
    ----------
    diameter
        Drill diameter [mm] (or [in] for the inch column of the table), any shape, > 0.

    Returns
    -------
    Number
        Factor [-], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, p. 1152, table of diameter factors.
    """
    positive(diameter=diameter)
    return power(diameter, THRUST_EXPONENT)


def drill_torque_factor(diameter: Number) -> Number:
    """Diameter factor of drilling torque.

    D^1.8, which is what the handbook's table tabulates, in either unit of length.

    Parameters
    ----------
    diameter
        Drill diameter [mm] (or [in] for the inch column of the table), any shape, > 0.

    Returns
    -------
    Number
        Factor [-], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, p. 1152, table of diameter factors.
    """
    positive(diameter=diameter)
    return power(diameter, TORQUE_EXPONENT)


def drilling_thrust(
    material_factor: Number,
    feed: Number,
    diameter: Number,
    thrust_chisel_factor: Number,
    chisel_factor: Number,
    wear_factor: Number = 1.0,
) -> Number:
    """Thrust that a twist drill needs.

    In inches and pounds T = 2 Kd f^0.8 D^0.8 B W + Kd D^2 J W: the lips, and the chisel edge in the middle.

    Parameters
    ----------
    material_factor
        Kd, the work material's factor, the same number in inch and metric tables [-], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    diameter
        Drill diameter [mm], any shape, > 0.
    thrust_chisel_factor
        B, by the ratio of chisel edge to drill diameter [-], any shape, > 0.
    chisel_factor
        J, by the same ratio [-], any shape, >= 0.
    wear_factor
        W, 1 for a sharp drill [-], any shape, > 0.

    Returns
    -------
    Number
        Thrust [N], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, pp. 1152-1153, eq. (1).
    """
    positive(
        material_factor=material_factor, thrust_chisel_factor=thrust_chisel_factor, wear_factor=wear_factor
    )
    positive(feed=feed, diameter=diameter)
    not_negative(chisel_factor=chisel_factor)
    inch_feed, inches = feed / MM_PER_INCH, diameter / MM_PER_INCH
    lips = 2.0 * drill_feed_factor(inch_feed) * drill_thrust_factor(inches) * thrust_chisel_factor
    return NEWTON_PER_POUND * material_factor * wear_factor * (lips + inches * inches * chisel_factor)


def drilling_torque(
    material_factor: Number,
    feed: Number,
    diameter: Number,
    torque_chisel_factor: Number,
    wear_factor: Number = 1.0,
) -> Number:
    """Torque that a twist drill needs; its power is power_from_torque.

    In inches and pounds M = Kd f^0.8 D^1.8 A W.

    Parameters
    ----------
    material_factor
        Kd, the work material's factor, the same number in inch and metric tables [-], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    diameter
        Drill diameter [mm], any shape, > 0.
    torque_chisel_factor
        A, by the ratio of chisel edge to drill diameter [-], any shape, > 0.
    wear_factor
        W, 1 for a sharp drill [-], any shape, > 0.

    Returns
    -------
    Number
        Torque [N m], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, pp. 1152-1153, eq. (2).
    """
    positive(
        material_factor=material_factor, torque_chisel_factor=torque_chisel_factor, wear_factor=wear_factor
    )
    positive(feed=feed, diameter=diameter)
    inch_feed, inches = feed / MM_PER_INCH, diameter / MM_PER_INCH
    factors = drill_feed_factor(inch_feed) * drill_torque_factor(inches)
    return NEWTON_M_PER_INCH_POUND * material_factor * wear_factor * factors * torque_chisel_factor
