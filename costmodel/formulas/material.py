"""Material of a part: what is bought for its blank, what is cut away, and what chips bring back."""

from __future__ import annotations

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._limits import fraction, not_negative, positive
from costmodel.units import Number


def bought_mass(needed_mass: Number, minimum_mass: Number) -> Number:
    """Mass that is paid for when the stockist sells no less than a minimum.

    max(needed, minimum); what is left over may be worth something later, and is not credited here

    Parameters
    ----------
    needed_mass
        Mass needed for the order [kg], > 0.
    minimum_mass
        Minimum buy [kg], >= 0.

    Returns
    -------
    Number
        Mass paid [kg], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No mass needed, or a minimum below zero.

    References
    ----------
    Definition.
    """
    positive(needed_mass=needed_mass)
    not_negative(minimum_mass=minimum_mass)
    return np.maximum(needed_mass, minimum_mass)


def material_cost(
    mass: Number, price: Number, sawing: Number, chip_mass: Number, chip_price: Number
) -> Number:
    """Cost of the material of one blank.

    mass x price + sawing - chips x what they fetch

    Parameters
    ----------
    mass
        Mass paid for by the blank [kg], > 0.
    price
        Price of the material [money/kg], >= 0.
    sawing
        Sawing bought or done for the blank [money/part], >= 0.
    chip_mass
        Chips that are sold [kg], >= 0, not above the mass paid.
    chip_price
        What chips fetch [money/kg], >= 0; 0 for mixed or oily chips.

    Returns
    -------
    Number
        Cost [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or more chips than mass.

    References
    ----------
    Definition.
    """
    positive(mass=mass)
    not_negative(price=price, sawing=sawing, chip_mass=chip_mass, chip_price=chip_price)
    if np.any(np.greater(chip_mass, mass)):
        raise LimitError("chip_mass", chip_mass, "at most mass")
    return mass * price + sawing - chip_mass * chip_price


def removed_volume(blank_volume: Number, part_volume: Number) -> Number:
    """Volume that is cut away from a blank.

    blank - part

    Parameters
    ----------
    blank_volume
        Volume of the blank [mm3], > 0.
    part_volume
        Volume of the finished part [mm3], > 0, not above the blank's.

    Returns
    -------
    Number
        Volume removed [mm3], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A volume not above zero, or a part larger than its blank.

    References
    ----------
    Definition.
    """
    positive(blank_volume=blank_volume, part_volume=part_volume)
    if np.any(np.greater(part_volume, blank_volume)):
        raise LimitError("part_volume", part_volume, "at most blank_volume")
    return blank_volume - part_volume


def chip_share(blank_volume: Number, part_volume: Number) -> Number:
    """Share of a blank that becomes chips.

    1 - part / blank

    Parameters
    ----------
    blank_volume
        Volume of the blank [mm3], > 0.
    part_volume
        Volume of the finished part [mm3], > 0, not above the blank's.

    Returns
    -------
    Number
        Chip share [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A volume not above zero, or a part larger than its blank.

    References
    ----------
    Definition. Aluminium parts from a block often turn half or more into chips: common practice, no source.
    """
    return removed_volume(blank_volume, part_volume) / blank_volume


def chip_mass(removed: Number, density: Number, recovered: Number) -> Number:
    """Mass of chips that is collected and sold.

    volume removed x density x share recovered

    Parameters
    ----------
    removed
        Volume removed [mm3], >= 0.
    density
        Density [kg/mm3], > 0.
    recovered
        Share of the chips that is collected clean [fraction].

    Returns
    -------
    Number
        Mass of chips sold [kg], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range.

    References
    ----------
    Definition.
    """
    not_negative(removed=removed)
    positive(density=density)
    fraction(recovered=recovered)
    return removed * density * recovered
