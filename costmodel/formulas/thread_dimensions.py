"""Sizes of threads: pitch, root, tap drill, and the basic dimensions of the American taper pipe thread."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.formulas._choices import not_above
from costmodel.formulas._limits import not_negative, positive
from costmodel.units import Number

MM_PER_INCH = 25.4
SHARP_V_SHARE = 0.75  # of the height of a sharp V is the depth of an American National thread
TWO_SHARP_VS = float(np.sqrt(3.0))  # both sides of a sharp 60 degree V together are this many pitches high
PIPE_TAPER = 1.0 / 16.0  # on diameter
PIPE_THREAD_HEIGHT = 0.8  # pitches


class TaperPipeThread(NamedTuple):
    """Basic dimensions of a taper pipe thread, every field in [mm].

    Pitch diameters at the small end (E0), at hand-tight engagement (E1) and at the end of the effective
    thread (E2); effective length (L2); thread height; minor diameters at the small end and at hand-tight.
    """

    pitch_diameter_at_end: Number
    pitch_diameter_at_hand_tight: Number
    pitch_diameter_at_effective_length: Number
    effective_length: Number
    height: Number
    minor_diameter_at_end: Number
    minor_diameter_at_hand_tight: Number


def pitch_from_threads_per_inch(threads_per_inch: Number) -> Number:
    """Pitch of a thread stated by threads to the inch.

    P = 25.4 / n.

    Parameters
    ----------
    threads_per_inch
        Threads per inch [-], any shape, > 0.

    Returns
    -------
    Number
        Pitch [mm], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition of the inch, 25.4 mm.
    """
    positive(threads_per_inch=threads_per_inch)
    return MM_PER_INCH / threads_per_inch


def thread_length(turns: Number, pitch: Number) -> Number:
    """Length of thread that a number of turns makes.

    l = turns * P. A taper pipe thread is tapped to a count of turns that gives the gauge length.

    Parameters
    ----------
    turns
        Turns of the thread [-], any shape, > 0.
    pitch
        Pitch [mm], any shape, > 0.

    Returns
    -------
    Number
        Length [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition of the pitch of a single-start thread.
    """
    positive(turns=turns, pitch=pitch)
    return turns * pitch


def thread_root_diameter(diameter: Number, pitch: Number) -> Number:
    """Root diameter of an American National thread.

    D - 1.299038 P: the thread is 3/4 of a sharp V deep on each side, and two sharp Vs are sqrt(3) P high.

    Parameters
    ----------
    diameter
        Major diameter [mm], any shape, > 0.
    pitch
        Pitch, below the diameter over 1.299 [mm], any shape, > 0.

    Returns
    -------
    Number
        Root diameter [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a pitch that leaves no root.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, p. 2168, Table 4.
    """
    positive(diameter=diameter, pitch=pitch)
    root = diameter - SHARP_V_SHARE * TWO_SHARP_VS * pitch
    positive(root_diameter=root)
    return root


def thread_share(diameter: Number, pitch: Number, hole_diameter: Number) -> Number:
    """Share of the full thread depth that a tap leaves in a drilled hole.

    (D - hole) / (D - root): 1 when drilled to the root, 0 when drilled to the major diameter.

    Parameters
    ----------
    diameter
        Major diameter [mm], any shape, > 0.
    pitch
        Pitch [mm], any shape, > 0.
    hole_diameter
        Drilled diameter, not above the major diameter [mm], any shape, > 0.

    Returns
    -------
    Number
        Share of the full depth [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a hole above the major diameter.

    References
    ----------
    Machinery's Handbook, 31st ed., Industrial Press 2020, p. 2168, Table 4 (drills and root diameters).
    """
    positive(hole_diameter=hole_diameter)
    not_above("hole_diameter", hole_diameter, "major diameter", diameter)
    return (diameter - hole_diameter) / (diameter - thread_root_diameter(diameter, pitch))


def metric_tap_drill(diameter: Number, pitch: Number) -> Number:
    """Tap drill of a metric thread by the rule of the shop.

    D - P.

    Parameters
    ----------
    diameter
        Nominal diameter [mm], any shape, > 0.
    pitch
        Pitch, below the diameter [mm], any shape, > 0.

    Returns
    -------
    Number
        Drill diameter [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a pitch that leaves no hole.

    References
    ----------
    Within 0.1 mm of the tap drill table of the package bd-warehouse 0.4.0, ISO metric coarse.
    """
    positive(diameter=diameter, pitch=pitch)
    drill = diameter - pitch
    positive(drill_diameter=drill)
    return drill


def taper_pipe_thread(outside_diameter: Number, pitch: Number, hand_tight_length: Number) -> TaperPipeThread:
    """Basic dimensions of an American taper pipe thread (NPT).

    With D and P in inches, as the standard has it: E0 = D - (0.05 D + 1.1) P, L2 = (0.80 D + 6.8) P, E1 = E0
    + L1/16, E2 = E0 + L2/16, h = 0.8 P; minor diameters are pitch diameters less h. The factors in the
    brackets are pure numbers only with D in inches.

    Parameters
    ----------
    outside_diameter
        Outside diameter of the pipe D [mm], any shape, > 0.
    pitch
        Pitch P [mm], any shape, > 0.
    hand_tight_length
        Length of hand-tight engagement L1 [mm], any shape, >= 0.

    Returns
    -------
    TaperPipeThread
        Dimensions [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a pitch that leaves no thread.

    References
    ----------
    ANSI/ASME B1.20.1-1983 (R2001) Table 1a, as reprinted in Machinery's Handbook, 27th ed., p. 1861; the
    formulas from memory, they reproduce the table.
    """
    positive(outside_diameter=outside_diameter, pitch=pitch)
    not_negative(hand_tight_length=hand_tight_length)
    inches = outside_diameter / MM_PER_INCH
    at_end = outside_diameter - (0.05 * inches + 1.1) * pitch
    effective = (0.80 * inches + 6.8) * pitch
    hand_tight = at_end + PIPE_TAPER * hand_tight_length
    height = PIPE_THREAD_HEIGHT * pitch
    positive(minor_diameter=at_end - height)
    return TaperPipeThread(
        pitch_diameter_at_end=at_end,
        pitch_diameter_at_hand_tight=hand_tight,
        pitch_diameter_at_effective_length=at_end + PIPE_TAPER * effective,
        effective_length=effective,
        height=height,
        minor_diameter_at_end=at_end - height,
        minor_diameter_at_hand_tight=hand_tight - height,
    )
