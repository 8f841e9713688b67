"""Specific cutting force, force, power and torque of a cut.

A specific cutting force in N/mm2 and a specific energy in W s/mm3 are one quantity: 1 W s/mm3 = 1000 N/mm2.
Energies quoted "at the motor" already hold the losses of the machine; their efficiency is 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import same_length
from costmodel.formulas._limits import positive, within
from costmodel.formulas._powers import power
from costmodel.units import Number

NEWTON_MM_PER_MINUTE_IN_A_KW = 6.0e7
NEWTON_M_PER_MINUTE_IN_A_KW = 6.0e4
MM_PER_M = 1000.0
LARGEST_EXPONENT = 2.0


class KienzleFit(NamedTuple):
    """Constants of kc = kc1.1 h^-mc: unit specific force kc1.1 [N/mm2], thickness exponent mc [-]."""

    unit_specific_force: float
    thickness_exponent: float


def specific_cutting_force(
    unit_specific_force: Number, thickness_exponent: Number, chip_thickness: Number
) -> Number:
    """Specific cutting force at a chip thickness by Kienzle's law.

    kc = kc1.1 h^-mc: thin chips cost more force for each mm2. In turning h = f sin(kappa), in milling the
    mean chip thickness. Turning and milling constants of one source differ by 1.4 to 1.8: never mix them.

    Parameters
    ----------
    unit_specific_force
        kc1.1, the specific force at 1 mm chip thickness [N/mm2], any shape, > 0.
    thickness_exponent
        mc, the rise towards thin chips; 0 for a constant specific force [-], any shape, >= 0 and < 1.
    chip_thickness
        Chip thickness h [mm], any shape, > 0.

    Returns
    -------
    Number
        Specific cutting force [N/mm2], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    A. Ghosh and A. K. Mallik, Manufacturing Science, Ex 4.5, p. 196 (the same law written as an energy);
    constants by ISO 513 group: docs.steelcam.org, two editions of one tool-maker's table.
    """
    positive(unit_specific_force=unit_specific_force, chip_thickness=chip_thickness)
    within("thickness_exponent", thickness_exponent, at_least=0.0, below=1.0)
    return unit_specific_force * power(chip_thickness, -thickness_exponent)


def kienzle_fit(chip_thicknesses: Sequence[float], specific_forces: Sequence[float]) -> KienzleFit:
    """Kienzle's constants from a table of specific forces against chip thickness.

    Least squares of ln kc on ln h: ln kc = ln kc1.1 - mc ln h.

    Parameters
    ----------
    chip_thicknesses
        Chip thicknesses of the table, two different ones at least [mm], one dimension, > 0.
    specific_forces
        Specific cutting forces beside them [N/mm2], one dimension, > 0.

    Returns
    -------
    KienzleFit
        kc1.1 [N/mm2] and mc [-], floats.

    Raises
    ------
    LimitError
        A value that is not positive, columns of unlike length, or fewer than two different thicknesses.

    References
    ----------
    Least squares; the table of the tests is in the tool-maker pages named there.
    """
    same_length(chip_thicknesses=chip_thicknesses, specific_forces=specific_forces)
    thickness = np.asarray(chip_thicknesses, dtype=np.float64)
    force = np.asarray(specific_forces, dtype=np.float64)
    positive(chip_thicknesses=thickness, specific_forces=force)
    if np.unique(thickness).size < 2:
        raise LimitError("chip_thicknesses", thickness.tolist(), "two different values at least")
    logs: npt.NDArray[np.float64] = np.log(thickness)
    away = logs - logs.mean()
    slope = float(away @ np.log(force) / (away @ away))
    return KienzleFit(float(np.exp(np.log(force).mean() - slope * logs.mean())), -slope)


def empirical_cutting_force(
    coefficient: Number, feed: Number, depth_of_cut: Number, feed_exponent: Number, depth_exponent: Number
) -> Number:
    """Cutting force by a power law in feed and depth of cut.

    F = C f^a d^b, as test laboratories state it; Kienzle's law is a = 1 - mc, b = 1.

    Parameters
    ----------
    coefficient
        C, the force at feed 1 mm and depth 1 mm [N], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    depth_of_cut
        Depth of cut [mm], any shape, > 0.
    feed_exponent
        a [-], any shape, >= 0 and <= 2.
    depth_exponent
        b [-], any shape, >= 0 and <= 2.

    Returns
    -------
    Number
        Cutting force [N], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 14.14, p. 573.
    """
    positive(coefficient=coefficient, feed=feed, depth_of_cut=depth_of_cut)
    within("feed_exponent", feed_exponent, at_least=0.0, at_most=LARGEST_EXPONENT)
    within("depth_exponent", depth_exponent, at_least=0.0, at_most=LARGEST_EXPONENT)
    return coefficient * power(feed, feed_exponent) * power(depth_of_cut, depth_exponent)


def cutting_force(specific_force: Number, feed: Number, depth_of_cut: Number) -> Number:
    """Cutting force on a chip.

    F = kc f ap: the chip's section f ap equals thickness times width, whatever the edge angle.

    Parameters
    ----------
    specific_force
        Specific cutting force [N/mm2], any shape, > 0.
    feed
        Feed per revolution, or chip thickness with the chip's width as depth [mm], any shape, > 0.
    depth_of_cut
        Depth of cut, or the chip's width [mm], any shape, > 0.

    Returns
    -------
    Number
        Cutting force [N], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    A. Ghosh and A. K. Mallik, Manufacturing Science, Ex 4.5, p. 196.
    """
    positive(specific_force=specific_force, feed=feed, depth_of_cut=depth_of_cut)
    return specific_force * feed * depth_of_cut


def specific_force_from_force(force: Number, feed: Number, depth_of_cut: Number) -> Number:
    """Specific cutting force, or specific energy, from a measured force.

    kc = F / (f ap): the inverse of cutting_force.

    Parameters
    ----------
    force
        Cutting force [N], any shape, > 0.
    feed
        Feed per revolution, or uncut chip thickness [mm], any shape, > 0.
    depth_of_cut
        Depth of cut, or the chip's width [mm], any shape, > 0.

    Returns
    -------
    Number
        Specific cutting force [N/mm2], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 14.17, p. 575.
    """
    positive(force=force, feed=feed, depth_of_cut=depth_of_cut)
    return force / (feed * depth_of_cut)


def cutting_power(specific_force: Number, removal_rate: Number, efficiency: Number = 1.0) -> Number:
    """Power to take off a volume in a minute: at the tool, or at the motor when an efficiency is given.

    P = kc Q / efficiency, with 1 kW = 6e7 N mm/min. For turning Q = 1000 v f ap, so P = kc ap f v / 60 000.

    Parameters
    ----------
    specific_force
        Specific cutting force, or specific energy [N/mm2], any shape, > 0.
    removal_rate
        Removal rate [mm3/min], any shape, >= 0.
    efficiency
        Share of the motor's power that reaches the tool [fraction], any shape, > 0 and <= 1.

    Returns
    -------
    Number
        Power [kW], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Tool-maker formula page "Cutting power for turning", mitsubishicarbide.com technical information;
    S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, Ex 24.1 (specific energy).
    """
    positive(specific_force=specific_force)
    within("removal_rate", removal_rate, at_least=0.0)
    within("efficiency", efficiency, above=0.0, at_most=1.0)
    return specific_force * removal_rate / (NEWTON_MM_PER_MINUTE_IN_A_KW * efficiency)


def power_from_force(force: Number, cutting_speed: Number, efficiency: Number = 1.0) -> Number:
    """Power of a cutting force at a speed: at the tool, or at the motor when an efficiency is given.

    P = F v / efficiency, with 1 kW = 60 000 N m/min.

    Parameters
    ----------
    force
        Cutting force [N], any shape, > 0.
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    efficiency
        Share of the motor's power that reaches the tool [fraction], any shape, > 0 and <= 1.

    Returns
    -------
    Number
        Power [kW], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 20, Ex 20.4.
    """
    positive(force=force, cutting_speed=cutting_speed)
    within("efficiency", efficiency, above=0.0, at_most=1.0)
    return force * cutting_speed / (NEWTON_M_PER_MINUTE_IN_A_KW * efficiency)


def torque(power: Number, spindle_speed: Number) -> Number:
    """Torque of a power at a spindle speed.

    M = P / (2 pi N), with 1 kW = 60 000 N m/min.

    Parameters
    ----------
    power
        Power at the spindle [kW], any shape, >= 0.
    spindle_speed
        Spindle speed [1/min], any shape, > 0.

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
    P. C. Sharma, A Textbook of Production Engineering, Ex 15.2, p. 603, and Ex 15.10, p. 630.
    """
    within("power", power, at_least=0.0)
    positive(spindle_speed=spindle_speed)
    return NEWTON_M_PER_MINUTE_IN_A_KW * power / (2.0 * np.pi * spindle_speed)


def power_from_torque(torque: Number, spindle_speed: Number, efficiency: Number = 1.0) -> Number:
    """Power of a torque at a spindle speed: at the tool, or at the motor when an efficiency is given.

    P = 2 pi M N / efficiency, with 1 kW = 60 000 N m/min: the inverse of torque.

    Parameters
    ----------
    torque
        Torque at the spindle [N m], any shape, >= 0.
    spindle_speed
        Spindle speed [1/min], any shape, > 0.
    efficiency
        Share of the motor's power that reaches the tool [fraction], any shape, > 0 and <= 1.

    Returns
    -------
    Number
        Power [kW], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, p. 1153 (P = M N / 9550).
    """
    within("torque", torque, at_least=0.0)
    positive(spindle_speed=spindle_speed)
    within("efficiency", efficiency, above=0.0, at_most=1.0)
    return 2.0 * np.pi * torque * spindle_speed / (NEWTON_M_PER_MINUTE_IN_A_KW * efficiency)


def force_from_torque(torque: Number, diameter: Number) -> Number:
    """Tangential force of a torque at a diameter.

    F = 2 M / D, with D in metres.

    Parameters
    ----------
    torque
        Torque [N m], any shape, >= 0.
    diameter
        Diameter at which the force acts [mm], any shape, > 0.

    Returns
    -------
    Number
        Force [N], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, Ex 22.1, p. 600.
    """
    within("torque", torque, at_least=0.0)
    positive(diameter=diameter)
    return 2.0 * MM_PER_M * torque / diameter
