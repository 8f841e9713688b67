"""The rates of one year: what an hour, a kilogram, a tool, a processor, a shipment costs, and since when."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterator, Mapping
from typing import Annotated, Literal, get_args

import numpy as np
from pydantic import StringConstraints

from costmodel.records import quantities as q
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Count, CurrencyCode, Name, Named, Record, Sourced
from costmodel.records.freight import Freight
from costmodel.records.tool import Tool


class Machine(Sourced):
    """A machine's yearly sheet and its clock: what an hour is made of, how fast the machine moves, what it can.

    ``other_yearly`` is any further standing cost of a year, such as insurance or a software seat.
    ``capital_rule`` says how its price comes into the year. ``door`` is paid each load; ``bar_advance`` each
    part and ``bar_change`` each bar of a machine that feeds bars. ``table_load`` is the mass it carries,
    ``tool_places`` what its magazine or turret holds. ``work`` is what it does. A limit or a work that is not stated
    is not checked.
    """

    headline = "purchase_price"

    purchase_price: q.Money
    low: q.MaybeMoney = None
    high: q.MaybeMoney = None
    salvage: q.Money
    life: q.Years
    interest: q.Fraction
    space: Name
    floor_area: q.SquareMetres
    energy: Name
    power: q.Kilowatts
    load_factor: q.Fraction
    maintenance: q.MoneyPerYear
    consumables: q.MoneyPerHour
    other_yearly: q.MoneyPerYear = 0.0
    capital_rule: Literal[
        "annuity", "straight line plus interest on average investment", "straight line without interest"
    ] = "annuity"
    practical_hours: q.HoursPerYear
    budgeted_hours: q.HoursPerYear
    operator: Name
    rapid: q.FeedSpeed
    tool_change: q.Minutes
    index_time: q.Minutes = 0.0
    pallet_swap: q.Minutes = 0.0
    door: q.Minutes = 0.0
    bar_advance: q.Minutes = 0.0
    bar_change: q.Minutes = 0.0
    spindle_speed: q.MaybeSpindleSpeed = None
    spindle_power: q.MaybeKilowatts = None
    spindle_torque: q.MaybeTorque = None
    max_feed: q.FeedSpeed
    table_load: q.MaybeKilograms = None
    tool_places: Count | None = None
    work: Literal["milling", "turning", "milling and turning", "sawing"] | None = None

    def rules(self) -> Iterator[Fault]:
        """What is left at the end of life is worth no more than the machine cost."""
        if np.any(self.salvage > self.purchase_price):
            yield Fault(
                "salvage", range_shown(self.salvage), "at most the purchase price", "Correct one of the two."
            )


class Labour(Sourced):
    """A grade of labour: the hourly wage and what the employer pays on top, as a share of the wage."""

    headline = "wage"

    wage: q.MoneyPerHour
    low: q.MaybeMoneyPerHour = None
    high: q.MaybeMoneyPerHour = None
    on_costs: q.Fraction


class Material(Sourced):
    """A stock material: price, density, what clean chips bring, and its resistance to cutting.

    ``minimum_mass`` is the least that is sold at once; ``chip_recovery`` the share of chips that is sold.
    ``specific_force`` is that of a chip 1 mm thick and rises for thinner ones by ``force_exponent`` (Kienzle). An
    exponent of 0 makes it a specific energy, the same for every chip: 1 W s/mm3 is 1000 N/mm2.
    """

    headline = "price"

    price: q.MoneyPerKilogram
    low: q.MaybeMoneyPerKilogram = None
    high: q.MaybeMoneyPerKilogram = None
    density: q.KilogramsPerCubicMillimetre
    minimum_mass: q.AnyKilograms = 0.0
    chip_credit: q.MoneyPerKilogram = 0.0
    chip_recovery: q.Fraction = 1.0
    specific_force: q.MaybeStress = None
    force_exponent: q.MaybePartOfOne = None

    def rules(self) -> Iterator[Fault]:
        """Chips bring no more than the stock costs."""
        if np.any(self.chip_credit > self.price):
            found = range_shown(self.chip_credit)
            yield Fault("chip_credit", found, "at most the price of the stock", "Correct one of the two.")


class Processor(Sourced):
    """An outside processor: price a part, the least it charges for a lot, its own yield and turnaround."""

    headline = "price"

    price: q.MoneyPerPart
    low: q.MaybeMoneyPerPart = None
    high: q.MaybeMoneyPerPart = None
    lot_minimum: q.MoneyPerLot
    transport: q.MoneyPerLot = 0.0
    process_yield: q.Share
    turnaround: q.Days


Cleared = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]


class Duty(Sourced):
    """A duty layer as its user or broker states it: rate, what it is charged on, and from when to when.

    A ``stacked`` layer is charged on its base and on the duty of the layers before it in the offer.
    """

    headline = "rate"

    rate: q.Fraction
    low: q.MaybeFraction = None
    high: q.MaybeFraction = None
    base: Literal["full", "content", "remainder"]
    stacked: bool = False
    valid_from: datetime.date
    valid_to: datetime.date
    cleared_by: Cleared


class EntryFee(Sourced):
    """A fee of customs entry by value, with its least and most a shipment, and its dates.

    Next year's fee is a row of its own; the offer names both, and each counts in its months.
    """

    headline = "rate"

    rate: q.Fraction
    low: q.MaybeFraction = None
    high: q.MaybeFraction = None
    minimum: q.MoneyPerShipment
    maximum: q.MaybeMoneyPerShipment = None
    valid_from: datetime.date
    valid_to: datetime.date
    cleared_by: Cleared

    def rules(self) -> Iterator[Fault]:
        """The least of a fee is no more than its most."""
        if self.maximum is not None and np.any(self.minimum > self.maximum):
            found = range_shown(self.minimum)
            yield Fault("minimum", found, "at most the maximum", "Correct one of the two.")


class Currency(Sourced):
    """What one unit of a foreign currency costs in home currency; its name is its ISO 4217 code."""

    headline = "rate"

    rate: q.SomeMoney
    low: q.MaybeMoney = None
    high: q.MaybeMoney = None


class Energy(Sourced):
    """The price of energy."""

    headline = "price"

    price: q.EnergyPrice
    low: q.MaybeEnergyPrice = None
    high: q.MaybeEnergyPrice = None


class Space(Sourced):
    """What floor space costs a year."""

    headline = "price"

    price: q.SpacePrice
    low: q.MaybeSpacePrice = None
    high: q.MaybeSpacePrice = None


class FaultCost(Sourced):
    """What one faulty part costs where it is found: at receipt, at assembly, or in the field."""

    headline = "cost"

    cost: q.MoneyPerPart
    low: q.MaybeMoneyPerPart = None
    high: q.MaybeMoneyPerPart = None


class Series(Sourced):
    """An index series: the expected change a year of what follows it."""

    headline = "yearly_change"

    yearly_change: q.YearlyRate
    low: q.MaybeYearlyRate = None
    high: q.MaybeYearlyRate = None


class RateYear(Record):
    """What the year's folder says of itself."""

    year: int
    home_currency: CurrencyCode
    customs_basis: Literal["FOB", "CIF"]
    valid_from: datetime.date
    valid_to: datetime.date
    review_by: datetime.date
    invented: bool
    note: str = ""


class Rates(Record):
    """Every table of one year."""

    year: RateYear
    machines: Named[Machine]
    labour: Named[Labour]
    materials: Named[Material]
    tools: Named[Tool]
    processors: Named[Processor]
    freight: Named[Freight]
    duties: Named[Duty]
    entry_fees: Named[EntryFee]
    currency: Named[Currency]
    energy: Named[Energy]
    spaces: Named[Space]
    faults: Named[FaultCost]
    indices: Named[Series]

    def links(self) -> Iterator[Fault]:
        """A machine's energy, space and operator stand in their tables, and every series among the indices."""
        tables: tuple[tuple[str, Mapping[str, object]], ...]
        tables = (("energy", self.energy), ("space", self.spaces), ("operator", self.labour))
        for name, machine in self.machines.items():
            for field, table in tables:
                wanted = getattr(machine, field)
                if wanted not in table:
                    yield missing_row(f"machines.{name}.{field}", wanted, table, field)
        for field in type(self).model_fields:
            rows = getattr(self, field)
            for name, row in rows.items() if isinstance(rows, Named) else ():
                if row.series and row.series not in self.indices:
                    yield missing_row(f"{field}.{name}.series", row.series, self.indices, "indices")


def outside_own_range(rates: Rates) -> Iterator[str]:
    """A sentence for each row whose value does not lie in the range that the row states."""
    for table, kind in rate_tables().items():
        for name, row in getattr(rates, table).items():
            value, low, high = (getattr(row, word, None) for word in (kind.headline, "low", "high"))
            below = value is not None and low is not None and np.any(np.less(value, low))
            above = value is not None and high is not None and np.any(np.greater(value, high))
            if value is not None and (below or above):
                ends = " to ".join(
                    f"{word} {range_shown(it)}"
                    for word, it in (("low", low), ("high", high))
                    if it is not None
                )
                yield f"{table}.{name}: {kind.headline} {range_shown(value)} is not from {ends}: state them anew"


MOST_NAMES = 12


def rate_tables() -> dict[str, type[Sourced]]:
    """The name of each rates table and the record of its rows."""
    fields = {name: get_args(info.annotation) for name, info in Rates.model_fields.items()}
    return {name: kinds[0] for name, kinds in fields.items() if kinds}


def missing_row(place: str, wanted: str, table: Mapping[str, object], what: str) -> Fault:
    """The fault of a name that no row of a table has, with the names most like it where there are many."""
    near = difflib.get_close_matches(wanted, table, n=MOST_NAMES, cutoff=0.0)
    many = len(table) > MOST_NAMES
    known = f"{', '.join(near)} and {len(table) - len(near)} others" if many else ", ".join(table) or "none"
    return Fault(
        place, wanted, f"the name of a row of {what} (there are: {known})", "Add the row or correct the name."
    )
