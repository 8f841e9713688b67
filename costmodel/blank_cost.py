"""What one part is cut from: its mass and its share of a bar, its price, its sawing, what the chips bring."""

from __future__ import annotations

import numpy as np

from costmodel.cost_lines import Line
from costmodel.errors import InputError, Problem
from costmodel.formulas import blanks, material
from costmodel.records.part import Blank
from costmodel.records.rates import Rates
from costmodel.units import Number

BLANK = "blank"


def parts_per_bar(blank: Blank) -> Number:
    """Whole blanks from one bar [part]."""
    assert blank.bar_length is not None
    assert blank.length is not None
    return blanks.parts_per_bar(blank.bar_length, blank.length, blank.kerf, blank.remnant)


def bought_mass(blank: Blank, rates: Rates) -> Number:
    """Mass bought for one part, kerf and its share of a bar's remnant included [kg]."""
    if blank.mass is not None:
        return blank.mass
    assert blank.length is not None
    length = blank.length + blank.kerf
    if blank.bar_length is not None:
        length = blanks.bar_length_per_part(blank.bar_length, parts_per_bar(blank))
    return _mass(blank, length, rates)


def loaded_mass(blank: Blank, rates: Rates) -> Number:
    """Mass of one blank as it is clamped [kg]."""
    if blank.mass is not None:
        return blank.mass
    assert blank.length is not None
    return _mass(blank, blank.length, rates)


def _mass(blank: Blank, length: Number, rates: Rates) -> Number:
    if blank.diameter is not None:
        volume = blanks.round_volume(blank.diameter, length)
    else:
        assert blank.width is not None
        assert blank.height is not None
        volume = blanks.plate_volume(length, blank.width, blank.height)
    return blanks.blank_mass(volume, rates.materials[blank.material].density)


def blank_lines(blank: Blank, rates: Rates, blanks_per_lot: Number) -> tuple[Line, ...]:
    """Material, its cutting to length, what the chips bring, and what a stockist's minimum adds to a lot.

    Raises InputError where the finished part is heavier than its blank.
    """
    stock = rates.materials[blank.material]
    mass = bought_mass(blank, rates)
    if np.any(blank.finished_mass > mass):
        expected = f"at most {np.min(mass):.4g} kg, the mass of the blank"
        found, remedy = f"{np.max(blank.finished_mass):.4g} kg", "Correct it or the size of the blank."
        raise InputError([Problem("part", "blank.finished_mass", found, expected, remedy)])
    chips = (mass - blank.finished_mass) * stock.chip_recovery
    lines = [
        Line(BLANK, "material", "part", "cash", mass * stock.price, stock.series),
        Line(BLANK, "sawing", "part", "cash", blank.saw, stock.series),
        Line(BLANK, "chips sold", "part", "cash", -chips * stock.chip_credit, stock.series),
    ]
    if np.any(stock.minimum_mass > 0.0):
        needed = mass * blanks_per_lot
        more = material.bought_mass(needed, stock.minimum_mass) - needed
        lines.append(Line(BLANK, "minimum buy", "lot", "cash", more * stock.price, stock.series))
    return tuple(lines)
