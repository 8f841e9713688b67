"""Weight that a carrier charges for, and what carriage and its insurance cost.

A volumetric divisor is a volume per kilogram: 6000 cm3/kg is 6.0e6 mm3/kg in canonical units.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np

from costmodel.formulas._choices import ROUNDING_GUARD, not_above, one_of, rising, same_length, whole_steps
from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.units import Number

AIR_DIVISOR = 6.0e6
"""Air cargo, 6000 cm3/kg [mm3/kg]; couriers use 5000, older lists 7000."""
COURIER_DIVISOR = 5.0e6
"""Couriers, 5000 cm3/kg [mm3/kg]."""
SEA_DIVISOR = 1.0e6
"""Sea freight, one tonne to the cubic metre [mm3/kg]; some local carriers take 500 kg, 2.0e6."""
KILOGRAMS_PER_TONNE = 1000.0
INSURED_UPLIFT = 0.10
HALF = 0.5


def volumetric_weight(
    length: Number,
    width: Number,
    height: Number,
    *,
    divisor: Number = AIR_DIVISOR,
    side_step: Number | None = None,
    side_rounding: Literal["nearest", "up"] = "nearest",
) -> Number:
    """Weight that a package is deemed to have by its size.

    length x width x height / divisor. Parcel carriers first round every side to a whole inch or centimetre:
    to the nearest (a half goes up) or always up.

    Parameters
    ----------
    length
        Longest side [mm], > 0.
    width
        Second side [mm], > 0.
    height
        Third side [mm], > 0.
    divisor
        Volume that counts as one kilogram [mm3/kg], > 0.
    side_step
        Step to which each side is rounded first [mm], > 0; None for no rounding.
    side_rounding
        How a side is rounded [-], "nearest" or "up".

    Returns
    -------
    Number
        Volumetric weight, not rounded [kg].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Air divisor 6000 cm3/kg (166 in3/lb) and courier divisor 5000 cm3/kg (139 in3/lb): carriers' tariff pages.
    """
    one_of("side_rounding", side_rounding, ("nearest", "up"))
    positive(length=length, width=width, height=height, divisor=divisor)
    if side_step is None:
        return length * width * height / divisor
    positive(side_step=side_step)
    volume: Number = 1.0
    for side in (length, width, height):
        if side_rounding == "up":
            volume = volume * whole_steps(side, side_step) * side_step
        else:
            volume = volume * np.floor(side / side_step + HALF + ROUNDING_GUARD) * side_step
    return volume / divisor


def chargeable_weight(actual_weight: Number, deemed_weight: Number, *, step: Number | None = None) -> Number:
    """Weight charged for: the greater of the actual and the volumetric, rounded up.

    max(actual, volumetric), rounded up to the carrier's step. With the sea divisor it is weight or measure
    in kilograms.

    Parameters
    ----------
    actual_weight
        Weight on the scale [kg], > 0.
    deemed_weight
        Volumetric weight [kg], >= 0.
    step
        Step to which the carrier rounds up [kg], > 0; None for no rounding.

    Returns
    -------
    Number
        Chargeable weight [kg].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Carriers' tariff pages (greater of actual and volumetric, next whole kilogram or pound).
    """
    positive(actual_weight=actual_weight)
    not_negative(deemed_weight=deemed_weight)
    weight: Number = np.maximum(actual_weight, deemed_weight)
    if step is None:
        return weight
    positive(step=step)
    return whole_steps(weight, step) * step


def weight_or_measure(
    weight: Number, volume: Number, *, divisor: Number = SEA_DIVISOR, minimum: Number = 0.0
) -> Number:
    """Freight units of a part-container shipment by sea: the greater of tonnes and cubic metres.

    max(weight / 1000 kg, volume / (divisor x 1000 kg), minimum). With one tonne to the cubic metre the second
    term is the volume in cubic metres.

    Parameters
    ----------
    weight
        Gross weight [kg], > 0.
    volume
        Volume of the shipment [mm3], > 0.
    divisor
        Volume that counts as one kilogram [mm3/kg], > 0.
    minimum
        Least number of freight units charged [-], >= 0.

    Returns
    -------
    Number
        Freight units (weight or measure) [-].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Forwarders' pages on less-than-container freight (W/M, greater of tonnes and cubic metres).
    """
    positive(weight=weight, volume=volume, divisor=divisor)
    not_negative(minimum=minimum)
    deemed = np.maximum(weight, volume / divisor)
    units: Number = np.maximum(deemed / KILOGRAMS_PER_TONNE, minimum)
    return units


def freight_charge(
    chargeable: Number, rate: Number, *, minimum: Number = 0.0, surcharge: Number = 0.0
) -> Number:
    """Carriage of one shipment with a minimum charge and a surcharge in per cent.

    max(chargeable x rate, minimum) x (1 + surcharge).

    Parameters
    ----------
    chargeable
        Chargeable weight or freight units [kg] or [-], > 0.
    rate
        Carriage of one unit of it [money/kg] or [money], >= 0.
    minimum
        Least charge of a shipment [money], >= 0.
    surcharge
        Fuel and like surcharges on the charge [fraction], >= 0.

    Returns
    -------
    Number
        Carriage of the shipment [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source.
    """
    positive(chargeable=chargeable)
    not_negative(rate=rate, minimum=minimum, surcharge=surcharge)
    return np.maximum(chargeable * rate, minimum) * (1.0 + surcharge)


def freight_charge_by_breaks(
    chargeable: Number, breaks: Sequence[Number], rates: Sequence[Number], *, minimum: Number = 0.0
) -> Number:
    """Carriage of one shipment from a tariff with weight breaks.

    The least of max(chargeable, break) x rate over all breaks, no less than the minimum: a shipment just
    below a break is charged as if it weighed the break, where that is cheaper.

    Parameters
    ----------
    chargeable
        Chargeable weight [kg], > 0.
    breaks
        Weight from which each rate holds [kg], rising, the first usually 0.
    rates
        Carriage of one kilogram at each break [money/kg], >= 0, not rising, as many as breaks.
    minimum
        Least charge of a shipment [money], >= 0.

    Returns
    -------
    Number
        Carriage of the shipment [money].

    Raises
    ------
    LimitError
        An argument outside its range, breaks not rising, rates rising, or unlike lengths.

    References
    ----------
    Common practice in air cargo tariffs, no source.
    """
    same_length(breaks=breaks, rates=rates)
    rising("breaks", breaks)
    positive(chargeable=chargeable)
    not_negative(breaks=breaks[0], rates=rates[-1], minimum=minimum)
    for before, after in pairwise(rates):
        not_above("rates", after, "the rate of the break before", before)
    charge: Number = np.maximum(chargeable, breaks[0]) * rates[0]
    for reached, rate in zip(breaks[1:], rates[1:], strict=True):
        charge = np.minimum(charge, np.maximum(chargeable, reached) * rate)
    at_least: Number = np.maximum(charge, minimum)
    return at_least


def stepped_charge(quantity: Number, step_quantity: Number, step_charge: Number) -> Number:
    """Charge for whole pallets or containers.

    ceil(quantity / step) x charge of one step.

    Parameters
    ----------
    quantity
        Parts shipped at once [parts], > 0.
    step_quantity
        Parts that one pallet or container holds [parts], > 0.
    step_charge
        Charge of one pallet or container [money], >= 0.

    Returns
    -------
    Number
        Charge of the shipment [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source.
    """
    positive(quantity=quantity, step_quantity=step_quantity)
    not_negative(step_charge=step_charge)
    return whole_steps(quantity, step_quantity) * step_charge


def insurance_premium(
    goods_value: Number,
    rate: Number,
    *,
    freight: Number = 0.0,
    uplift: Number = INSURED_UPLIFT,
    premium_insured: bool = False,
) -> Number:
    """Premium of cargo insurance on the value of the goods and carriage plus a tenth.

    P = rate x insured sum, the sum being (goods + freight) x (1 + uplift); where the premium itself is
    insured the sum is (goods + freight + P) x (1 + uplift), so P = r (1 + u) (goods + freight) / (1 - r (1
    + u)).

    Parameters
    ----------
    goods_value
        Value of the goods [money], >= 0.
    rate
        Premium on the insured sum [fraction], 0 to 1.
    freight
        Carriage that is insured with the goods [money], >= 0.
    uplift
        What is insured above the value [fraction], >= 0.
    premium_insured
        Whether the insured sum contains the premium [-].

    Returns
    -------
    Number
        Premium [money].

    Raises
    ------
    LimitError
        An argument outside its range, or a rate that with its uplift reaches 1 while the premium is insured.

    References
    ----------
    ICC Incoterms 2020, rules CIF and CIP, A5: cover of the contract price plus 10 %.
    """
    fraction(rate=rate)
    not_negative(goods_value=goods_value, freight=freight, uplift=uplift)
    loading = rate * (1.0 + uplift)
    premium = loading * (goods_value + freight)
    if not premium_insured:
        return premium
    within("rate with uplift", loading, below=1.0)
    return premium / (1.0 - loading)
