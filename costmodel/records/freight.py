"""A freight lane: what a carrier, a forwarder and a broker charge for one shipment."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Literal

import numpy as np

from costmodel.records import quantities as q
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Sourced
from costmodel.units import Number

BREAKS = 5
"""Weight breaks that a lane can hold, beside its first price."""


class Freight(Sourced):
    """A freight lane: price a kilogram chargeable, the least a shipment costs, and its fixed charges.

    ``volumetric_density`` is what a volume is deemed to weigh: 1000 kg/m3 for sea weight or measure, 167 kg/m3
    for air at 6000 cm3/kg. ``weight_step`` is what the carrier rounds up to; a parcel lane rounds each package.

    From ``break_1`` kilograms chargeable on, every kilogram costs ``price_1``, and so on up to ``break_5``; a
    shipment just below a break is charged as if it weighed the break where that is cheaper. The range of ``price``
    moves the first price alone.

    ``unit_charge`` is paid for each pallet or container; as many are needed as ``unit_volume`` and ``unit_mass``
    ask for. A lane of full containers has a price of 0 a kilogram.
    """

    headline = "price"

    price: q.MoneyPerKilogram
    low: q.MaybeMoneyPerKilogram = None
    high: q.MaybeMoneyPerKilogram = None
    break_1: q.MaybeKilograms = None
    price_1: q.MaybeMoneyPerKilogram = None
    break_2: q.MaybeKilograms = None
    price_2: q.MaybeMoneyPerKilogram = None
    break_3: q.MaybeKilograms = None
    price_3: q.MaybeMoneyPerKilogram = None
    break_4: q.MaybeKilograms = None
    price_4: q.MaybeMoneyPerKilogram = None
    break_5: q.MaybeKilograms = None
    price_5: q.MaybeMoneyPerKilogram = None
    mode: Literal["sea", "air", "road", "parcel"]
    minimum: q.MoneyPerShipment
    volumetric_density: q.KilogramsPerCubicMillimetre
    weight_step: q.MaybeKilograms = None
    surcharge: q.Fraction = 0.0
    unit_volume: q.MaybeCubicMillimetres = None
    unit_mass: q.MaybeKilograms = None
    unit_charge: q.MoneyPerShipment = 0.0
    loading: q.MoneyPerShipment = 0.0
    origin: q.MoneyPerShipment = 0.0
    export_clearance: q.MoneyPerShipment = 0.0
    terminal: q.MoneyPerShipment = 0.0
    insurance: q.Fraction
    unloading: q.MoneyPerShipment = 0.0
    broker: q.MoneyPerShipment
    inland: q.MoneyPerShipment
    transit: q.Days

    @property
    def tariff(self) -> tuple[tuple[Number, Number], ...]:
        """Chargeable weight from which each price holds [kg], and that price [money/kg]; the first from 0 kg on."""
        return ((0.0, self.price), *((weight, price) for _, weight, price in self._stated()))

    def _stated(self) -> Iterator[tuple[int, Number, Number]]:
        for number in range(1, BREAKS + 1):
            weight, price = getattr(self, f"break_{number}"), getattr(self, f"price_{number}")
            if weight is not None and price is not None:
                yield number, weight, price

    def rules(self) -> Iterator[Fault]:
        """Breaks are whole, rise, and make a kilogram no dearer; a charge for each container needs its size."""
        if np.any(self.unit_charge > 0.0) and self.unit_volume is None and self.unit_mass is None:
            yield Fault("unit_volume", "", "the volume of what unit_charge pays for", 'Write "1.2 m3", say.')
        for number in range(1, BREAKS + 1):
            pair = (f"break_{number}", f"price_{number}")
            missing = [name for name in pair if getattr(self, name) is None]
            if len(missing) == 1:
                other = pair[0] if missing[0] == pair[1] else pair[1]
                remedy = "A break is a weight and the price from it on: state both or neither."
                yield Fault(missing[0], "", f"a value, since {other} has one", remedy)
        stated = [
            (0, 0.0, self.price),
            *self._stated(),
        ]
        for (_, lighter, dearer), (number, heavier, cheaper) in pairwise(stated):
            if np.all(heavier <= lighter):
                found = f"{range_shown(heavier)} after {range_shown(lighter)}"
                yield Fault(f"break_{number}", found, "weights in rising order", "Sort the breaks.")
            if np.all(cheaper > dearer):
                found, expected = (
                    range_shown(cheaper),
                    f"at most {range_shown(dearer)}, the price of a lighter shipment",
                )
                yield Fault(f"price_{number}", found, expected, "Correct one of the two.")
