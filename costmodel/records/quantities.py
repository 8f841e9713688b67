"""The number fields that several records share: one name for each unit and range."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from costmodel.records.fields import OWN_CURRENCY, Quantity
from costmodel.units import Number

Money: TypeAlias = Annotated[Number, Quantity("money", at_least=0)]
MaybeMoney: TypeAlias = Annotated[Number | None, Quantity("money", at_least=0, optional=True)]
SomeMoney: TypeAlias = Annotated[Number, Quantity("money", above=0)]
OwnMoney: TypeAlias = Annotated[Number, Quantity(OWN_CURRENCY, at_least=0)]
MoneyPerYear: TypeAlias = Annotated[Number, Quantity("money/yr", at_least=0)]
MoneyPerHour: TypeAlias = Annotated[Number, Quantity("money/h", at_least=0)]
MaybeMoneyPerHour: TypeAlias = Annotated[Number | None, Quantity("money/h", at_least=0, optional=True)]
MoneyPerKilogram: TypeAlias = Annotated[Number, Quantity("money/kg", at_least=0)]
MaybeMoneyPerKilogram: TypeAlias = Annotated[Number | None, Quantity("money/kg", at_least=0, optional=True)]
MoneyPerPart: TypeAlias = Annotated[Number, Quantity("money/part", at_least=0)]
MaybeMoneyPerPart: TypeAlias = Annotated[Number | None, Quantity("money/part", at_least=0, optional=True)]
MoneyPerLot: TypeAlias = Annotated[Number, Quantity("money/lot", at_least=0)]
MoneyPerShipment: TypeAlias = Annotated[Number, Quantity("money/shipment", at_least=0)]

Fraction: TypeAlias = Annotated[Number, Quantity("fraction", at_least=0, at_most=1)]
MaybeFraction: TypeAlias = Annotated[
    Number | None, Quantity("fraction", at_least=0, at_most=1, optional=True)
]
MaybePartOfOne: TypeAlias = Annotated[Number | None, Quantity("fraction", at_least=0, below=1, optional=True)]
Share: TypeAlias = Annotated[Number, Quantity("fraction", above=0, at_most=1)]
TaylorExponent: TypeAlias = Annotated[
    Number | None, Quantity("fraction", at_least=0.01, at_most=1, optional=True)
]
YearlyRate: TypeAlias = Annotated[Number, Quantity("fraction", above=-1, below=1)]
MaybeYearlyRate: TypeAlias = Annotated[Number | None, Quantity("fraction", above=-1, below=1, optional=True)]
Reserve: TypeAlias = Annotated[Number, Quantity("fraction", above=-10, below=1)]
PlainNumber: TypeAlias = Annotated[Number, Quantity("", at_least=0)]
SomeNumber: TypeAlias = Annotated[Number, Quantity("", above=0)]
MaybeSomeNumber: TypeAlias = Annotated[Number | None, Quantity("", above=0, optional=True)]
WearExponent: TypeAlias = Annotated[Number, Quantity("", at_least=0, at_most=5)]
MaybePlainNumber: TypeAlias = Annotated[Number | None, Quantity("", at_least=0, optional=True)]

Minutes: TypeAlias = Annotated[Number, Quantity("min", at_least=0)]
MaybeMinutes: TypeAlias = Annotated[Number | None, Quantity("min", above=0, optional=True)]
MinutesPerLoad: TypeAlias = Annotated[Number, Quantity("min/load", at_least=0)]
MaybeMinutesPerLoad: TypeAlias = Annotated[Number | None, Quantity("min/load", above=0, optional=True)]
MinutesPerPart: TypeAlias = Annotated[Number, Quantity("min/part", at_least=0)]
MinutesPerLot: TypeAlias = Annotated[Number, Quantity("min/lot", at_least=0)]
HoursPerYear: TypeAlias = Annotated[Number, Quantity("h/yr", above=0)]
Hours: TypeAlias = Annotated[Number, Quantity("h", at_least=0)]
Days: TypeAlias = Annotated[Number, Quantity("d", at_least=0)]
SignedDays: TypeAlias = Annotated[Number, Quantity("d")]
Years: TypeAlias = Annotated[Number, Quantity("yr", above=0, at_most=100)]

Millimetres: TypeAlias = Annotated[Number, Quantity("mm", above=0)]
MaybeMillimetres: TypeAlias = Annotated[Number | None, Quantity("mm", above=0, optional=True)]
AnyMillimetres: TypeAlias = Annotated[Number, Quantity("mm", at_least=0)]
SquareMetres: TypeAlias = Annotated[Number, Quantity("m2", at_least=0)]
CubicMillimetres: TypeAlias = Annotated[Number, Quantity("mm3", above=0)]
AnyCubicMillimetres: TypeAlias = Annotated[Number, Quantity("mm3", at_least=0)]
MaybeKilograms: TypeAlias = Annotated[Number | None, Quantity("kg", above=0, optional=True)]
AnyKilograms: TypeAlias = Annotated[Number, Quantity("kg", at_least=0)]
KilogramsPerCubicMillimetre: TypeAlias = Annotated[Number, Quantity("kg/mm3", above=0)]
Kilowatts: TypeAlias = Annotated[Number, Quantity("kW", at_least=0)]
MaybeCuttingSpeed: TypeAlias = Annotated[Number | None, Quantity("m/min", above=0, optional=True)]
FeedSpeed: TypeAlias = Annotated[Number, Quantity("mm/min", above=0)]
MaybeFeedSpeed: TypeAlias = Annotated[Number | None, Quantity("mm/min", above=0, optional=True)]
MaybeSpindleSpeed: TypeAlias = Annotated[Number | None, Quantity("1/min", above=0, optional=True)]
MaybeStress: TypeAlias = Annotated[Number | None, Quantity("N/mm2", above=0, optional=True)]

MaybeAreaRate: TypeAlias = Annotated[Number | None, Quantity("mm2/min", above=0, optional=True)]
MaybeTorque: TypeAlias = Annotated[Number | None, Quantity("N*m", above=0, optional=True)]
MaybeKilowatts: TypeAlias = Annotated[Number | None, Quantity("kW", above=0, optional=True)]
MaybeVariation: TypeAlias = Annotated[
    Number | None, Quantity("fraction", at_least=0.01, at_most=3, optional=True)
]

PartsPerYear: TypeAlias = Annotated[Number, Quantity("part/yr", above=0)]
AnyPartsPerYear: TypeAlias = Annotated[Number, Quantity("part/yr", at_least=0)]
PartsPerWeek: TypeAlias = Annotated[Number, Quantity("part/wk", at_least=0)]
Parts: TypeAlias = Annotated[Number, Quantity("part", above=0)]
AnyParts: TypeAlias = Annotated[Number, Quantity("part", at_least=0)]
MaybeParts: TypeAlias = Annotated[Number | None, Quantity("part", above=0, optional=True)]

EnergyPrice: TypeAlias = Annotated[Number, Quantity("money/kWh", at_least=0)]
MaybeEnergyPrice: TypeAlias = Annotated[Number | None, Quantity("money/kWh", at_least=0, optional=True)]
SpacePrice: TypeAlias = Annotated[Number, Quantity("money/m2/yr", at_least=0)]
MaybeSpacePrice: TypeAlias = Annotated[Number | None, Quantity("money/m2/yr", at_least=0, optional=True)]
Degrees: TypeAlias = Annotated[Number, Quantity("deg", above=0, below=180)]
AnyDegrees: TypeAlias = Annotated[Number, Quantity("deg", at_least=0, below=180)]
MaybeSlope: TypeAlias = Annotated[Number | None, Quantity("deg", above=0, at_most=90, optional=True)]
WeeksPerYear: TypeAlias = Annotated[Number, Quantity("wk/yr", above=0, at_most=53)]
Probability: TypeAlias = Annotated[Number, Quantity("fraction", above=0, below=1)]
AnyHoursPerYear: TypeAlias = Annotated[Number, Quantity("h/yr", at_least=0)]
MaybePerYear: TypeAlias = Annotated[Number | None, Quantity("1/yr", above=0, optional=True)]
AnyPerYear: TypeAlias = Annotated[Number, Quantity("1/yr", at_least=0)]
MaybeCubicMillimetres: TypeAlias = Annotated[Number | None, Quantity("mm3", above=0, optional=True)]
MaybeMoneyPerShipment: TypeAlias = Annotated[
    Number | None, Quantity("money/shipment", at_least=0, optional=True)
]
AtLeastOne: TypeAlias = Annotated[Number, Quantity("", at_least=1)]
Factor: TypeAlias = Annotated[Number, Quantity("", above=0)]
