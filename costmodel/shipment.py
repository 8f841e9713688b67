"""One order on a freight lane: the weight that is charged for, its carriage, its pallets or containers."""

from __future__ import annotations

import numpy as np

from costmodel.formulas import freight
from costmodel.records.freight import Freight
from costmodel.records.quote import Quote
from costmodel.units import Number


def chargeable_weight(quote: Quote, lane: Freight, parts: Number) -> Number:
    """Kilograms charged for [kg]; a parcel carrier weighs and rounds each package."""
    if lane.mode == "parcel" and quote.pack is not None:
        package = freight.chargeable_weight(
            quote.pack * quote.packed_mass,
            quote.pack * quote.packed_volume * lane.volumetric_density,
            step=lane.weight_step,
        )
        return parts / quote.pack * package
    return freight.chargeable_weight(
        parts * quote.packed_mass,
        parts * quote.packed_volume * lane.volumetric_density,
        step=lane.weight_step,
    )


def carriage_of(lane: Freight, chargeable: Number) -> Number:
    """Carriage of a shipment by the lane's tariff [money]; a drawn price never makes a heavier kilogram dearer."""
    if len(lane.tariff) == 1:
        return freight.freight_charge(chargeable, lane.price, minimum=lane.minimum, surcharge=lane.surcharge)
    weights, prices = zip(*lane.tariff, strict=True)
    falling = [prices[0]]
    for price in prices[1:]:
        falling.append(np.minimum(price, falling[-1]))
    charge = freight.freight_charge_by_breaks(chargeable, weights, falling, minimum=lane.minimum)
    return charge * (1.0 + lane.surcharge)


def whole_units(quote: Quote, lane: Freight, parts: Number) -> Number:
    """Charge for the pallets or containers of a shipment [money]: as many as its volume and its mass ask for."""
    by_volume = by_mass = 0.0  # type: Number
    if lane.unit_volume is not None:
        by_volume = freight.stepped_charge(parts * quote.packed_volume, lane.unit_volume, lane.unit_charge)
    if lane.unit_mass is not None:
        by_mass = freight.stepped_charge(parts * quote.packed_mass, lane.unit_mass, lane.unit_charge)
    return np.maximum(by_volume, by_mass)
