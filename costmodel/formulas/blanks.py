"""Blanks: volume and mass of pieces of bar, tube and plate, and how many blanks a bar gives."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import whole_down
from costmodel.units import Number

LastCut = Literal["needed", "saved"]

HEXAGON_SHARE_OF_SQUARE = 3.0**0.5 / 2.0


def round_volume(diameter: Number, length: Number) -> Number:
    """Volume of a round bar.

    pi/4 D^2 L

    Parameters
    ----------
    diameter
        Diameter [mm], > 0.
    length
        Length [mm], > 0.

    Returns
    -------
    Number
        Volume [mm3], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A dimension not above zero.

    References
    ----------
    Geometry.
    """
    positive(diameter=diameter, length=length)
    return np.pi / 4.0 * diameter * diameter * length


def tube_volume(outer_diameter: Number, inner_diameter: Number, length: Number) -> Number:
    """Volume of a round tube.

    pi/4 (D^2 - d^2) L

    Parameters
    ----------
    outer_diameter
        Outer diameter [mm], > 0.
    inner_diameter
        Bore [mm], >= 0, below the outer diameter.
    length
        Length [mm], > 0.

    Returns
    -------
    Number
        Volume [mm3], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A dimension out of range, or a bore not below the outer diameter.

    References
    ----------
    Geometry.
    """
    positive(outer_diameter=outer_diameter, length=length)
    not_negative(inner_diameter=inner_diameter)
    if np.any(np.greater_equal(inner_diameter, outer_diameter)):
        raise LimitError("inner_diameter", inner_diameter, "below outer_diameter")
    return np.pi / 4.0 * (outer_diameter - inner_diameter) * (outer_diameter + inner_diameter) * length


def plate_volume(length: Number, width: Number, thickness: Number) -> Number:
    """Volume of a piece of plate, of flat or of square bar.

    L x W x T

    Parameters
    ----------
    length
        Length [mm], > 0.
    width
        Width [mm], > 0.
    thickness
        Thickness [mm], > 0.

    Returns
    -------
    Number
        Volume [mm3], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A dimension not above zero.

    References
    ----------
    Geometry.
    """
    positive(length=length, width=width, thickness=thickness)
    return length * width * thickness


def hexagon_volume(across_flats: Number, length: Number) -> Number:
    """Volume of a hexagon bar.

    sqrt(3)/2 s^2 L

    Parameters
    ----------
    across_flats
        Width across flats [mm], > 0.
    length
        Length [mm], > 0.

    Returns
    -------
    Number
        Volume [mm3], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A dimension not above zero.

    References
    ----------
    Geometry: six triangles of height s/2 and base s/sqrt(3).
    """
    positive(across_flats=across_flats, length=length)
    return HEXAGON_SHARE_OF_SQUARE * across_flats * across_flats * length


def blank_mass(volume: Number, density: Number) -> Number:
    """Mass of a blank.

    volume x density

    Parameters
    ----------
    volume
        Volume [mm3], > 0.
    density
        Density [kg/mm3], > 0; 7.85 g/cm3 is 7.85e-6 kg/mm3.

    Returns
    -------
    Number
        Mass [kg], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Volume or density not above zero.

    References
    ----------
    Definition of density.
    """
    positive(volume=volume, density=density)
    return volume * density


def parts_per_bar(
    bar_length: Number, part_length: Number, kerf: Number, remnant: Number, last_cut: LastCut = "needed"
) -> Number:
    """Whole blanks from one bar.

    needed: every blank is cut off, n = floor((bar - remnant) / (blank + kerf)), as on a lathe or with a
    clamped end.
    saved: the last blank is what remains, n = floor((bar - remnant + kerf) / (blank + kerf)).

    Parameters
    ----------
    bar_length
        Length of a bar as bought [mm], > 0.
    part_length
        Length of a blank with its facing allowance [mm], > 0.
    kerf
        Width of a saw or parting cut [mm], >= 0.
    remnant
        End that cannot be used, clamped or pushed [mm], >= 0.
    last_cut
        "needed" (default) or "saved" [-].

    Returns
    -------
    Number
        Whole blanks per bar [part], broadcast shape of the arguments; 0 where the bar is too short.

    Raises
    ------
    LimitError
        A length out of range, or an unknown convention.

    References
    ----------
    Geometry; which convention applies: common practice, no source.
    """
    positive(bar_length=bar_length, part_length=part_length)
    not_negative(kerf=kerf, remnant=remnant)
    one_of("last_cut", last_cut, get_args(LastCut))
    usable = bar_length - remnant + (kerf if last_cut == "saved" else 0.0)
    return np.maximum(whole_down(usable / (part_length + kerf)), 0.0)


def bar_length_per_part(bar_length: Number, parts: Number) -> Number:
    """Length of bar paid for by each blank, with its kerf and its share of the remnant.

    bar length / blanks per bar

    Parameters
    ----------
    bar_length
        Length of a bar as bought [mm], > 0.
    parts
        Blanks per bar [part], > 0.

    Returns
    -------
    Number
        Length charged [mm/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No length, or no blank in the bar.

    References
    ----------
    Definition.
    """
    positive(bar_length=bar_length, parts=parts)
    return bar_length / parts
