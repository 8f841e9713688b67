"""Sections and chips of cuts with slanting edges: taps, single-point threads, thread mills, chamfers."""

from __future__ import annotations

import numpy as np

from costmodel.formulas._choices import not_above
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import whole_up
from costmodel.units import Number

MM_PER_M = 1000.0
THREAD_HEIGHT = 5.0 / 8.0 * 3.0**0.5 / 2.0  # of the pitch: five eighths of a sharp 60 degree V
QUARTER = 0.25


def thread_section(pitch: Number) -> Number:
    """Section of the groove of a 60 degree thread.

    A = P^2 / 4, as the tapping formula of tool makers has it. The basic profile of ISO 68-1 in a nut has
    0.2368 P^2, a height of 5/8 H and widths of P/8 and 3 P/4: the rounded figure is 6 % above it.

    Parameters
    ----------
    pitch
        Pitch [mm], any shape, > 0.

    Returns
    -------
    Number
        Section [mm2], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    ISO 68-1 (basic profile), from memory; the rounding is that of tapping_torque.
    """
    positive(pitch=pitch)
    return QUARTER * pitch * pitch


def thread_height(pitch: Number) -> Number:
    """Height of a 60 degree thread in a nut, on the radius.

    5/8 H with H = sqrt(3)/2 P, so 0.5413 P.

    Parameters
    ----------
    pitch
        Pitch [mm], any shape, > 0.

    Returns
    -------
    Number
        Height [mm], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    ISO 68-1 (basic profile), from memory.
    """
    positive(pitch=pitch)
    return THREAD_HEIGHT * pitch


def tap_chip_thickness(pitch: Number, flutes: Number, lead_threads: Number) -> Number:
    """Thickness of the chip of each cutting edge in the lead of a tap.

    h = thread height / (flutes * threads of the lead): the edges of the lead open the thread step by step, each
    by the same share of its height.

    Parameters
    ----------
    pitch
        Pitch [mm], any shape, > 0.
    flutes
        Flutes of the tap [-], any shape, >= 1.
    lead_threads
        Threads of the chamfered lead [-], any shape, > 0.

    Returns
    -------
    Number
        Chip thickness [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Geometry of the lead: equal steps.
    """
    within("flutes", flutes, at_least=1.0)
    positive(lead_threads=lead_threads)
    return thread_height(pitch) / (flutes * lead_threads)


def tapping_torque(specific_force: Number, pitch: Number, diameter: Number) -> Number:
    """Torque of a cutting tap.

    M = kc P^2 D / 8000 in N m: the force kc A on the whole section of the thread, thread_section, at half the
    nominal diameter. A sharp tap; a dull one, and a deep hole whose chips jam, ask for more. A tap that forms its
    thread cuts nothing, and this says nothing of it.

    Parameters
    ----------
    specific_force
        Specific cutting force at the chip thickness of the lead [N/mm2], any shape, > 0.
    pitch
        Pitch [mm], any shape, > 0.
    diameter
        Nominal diameter of the thread [mm], any shape, > 0.

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
    Tapping formula of tool makers' catalogues, M = P^2 D kc / 8000, from memory; the tests derive it.
    """
    positive(specific_force=specific_force, diameter=diameter)
    return specific_force * thread_section(pitch) * diameter / (2.0 * MM_PER_M)


def vee_section(depth: Number, included_angle: Number, flat: Number = 0.0) -> Number:
    """Section of a groove with slanting walls.

    A = depth (flat + depth tan(angle/2)): a rectangle under the tip and a triangle on each side.

    Parameters
    ----------
    depth
        Depth of the groove [mm], any shape, > 0.
    included_angle
        Angle between the walls, 0 for a plain slot [deg], any shape, >= 0 and < 180.
    flat
        Width of the bottom [mm], any shape, >= 0.

    Returns
    -------
    Number
        Section [mm2], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Geometry.
    """
    positive(depth=depth)
    not_negative(flat=flat)
    within("included_angle", included_angle, at_least=0.0, below=180.0)
    section: Number = depth * (flat + depth * np.tan(np.radians(included_angle / 2.0)))
    return section


def last_threading_infeed(thread_depth: Number, first_infeed: Number) -> Number:
    """Infeed of the last of the cuts of equal area that take a single-point thread to depth.

    h - a1 sqrt(n - 1) with n = ceil((h / a1)^2) cuts, see turning.threading_cuts: the thinnest chip of the
    thread, on which the specific force is highest. It is the first infeed itself where one cut does.

    Parameters
    ----------
    thread_depth
        Depth of the thread, on the radius [mm], any shape, > 0.
    first_infeed
        Infeed of the first cut, not above the depth [mm], any shape, > 0.

    Returns
    -------
    Number
        Infeed [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a first infeed above the depth.

    References
    ----------
    Similar triangles: closed form.
    """
    positive(thread_depth=thread_depth, first_infeed=first_infeed)
    not_above("first_infeed", first_infeed, "thread_depth", thread_depth)
    ratio = thread_depth / first_infeed
    infeed: Number = thread_depth - first_infeed * np.sqrt(whole_up(ratio * ratio) - 1.0)
    return infeed
