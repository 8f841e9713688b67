"""A route: the ordered steps by which a part is made, and what is paid once or every year for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from costmodel.records import quantities as q
from costmodel.records.cuts import AnyCut
from costmodel.records.faults import Fault
from costmodel.records.fields import Count, Name, Named, Record, Vouched

Maturity = Literal["idea", "outline", "planned", "detailed", "proved", "measured"]
Element = Literal[
    "material", "packaging", "consumables", "maintenance", "energy", "space", "inspection", "tooling", "other"
]


class Item(Record):
    """Something a step uses up in each part: a label, a bag, a litre of coolant."""

    name: Name
    element: Element
    cost: q.MoneyPerPart
    series: str = ""
    source: str = ""


class Step(Record):
    """What every step has: a name, what it uses up, and hands that inspect a part or a lot."""

    name: Name
    title: str = ""
    items: Named[Item] = Named()
    inspection: q.MinutesPerPart = 0.0
    inspection_per_lot: q.MinutesPerLot = 0.0


class MachineStep(Step):
    """A step on one machine: its load, its programme as cuts or as measured minutes, and the two clocks.

    ``loading`` outside the cycle costs hands only; inside, the machine waits as well. ``attendance`` is the
    share of machine time during which a person must stand by. ``set_up`` is to the first good part.
    """

    kind: Literal["machine"]
    machine: Name
    parts_per_load: Count
    cuts: Named[AnyCut] = Named()
    programme: q.MaybeMinutesPerLoad = None
    probing: q.MinutesPerLoad = 0.0
    index_moves: Annotated[int, Field(ge=0)] = 0
    set_up: q.MinutesPerLot = 0.0
    loading: Literal["outside", "inside"]
    hands_on: q.MinutesPerLoad
    attendance: q.Fraction = 0.0
    operator: str = ""
    step_yield: q.Share

    def rules(self) -> Iterator[Fault]:
        """The programme is stated once: by cuts or by measured minutes."""
        if bool(self.cuts) == (self.programme is not None):
            found = "both" if self.cuts else "neither"
            yield Fault(
                "programme", found, "cuts or measured programme minutes", "State exactly one of the two."
            )


class OutsideStep(Step):
    """A step at an outside processor; its yield and turnaround stand with the processor's rates.

    ``labour`` is the grade that inspects what comes back.
    """

    kind: Literal["outside"]
    processor: Name
    charged_rejects: bool = True
    labour: str = ""

    def rules(self) -> Iterator[Fault]:
        """Minutes of inspection are somebody's."""
        if not self.labour and (np.any(self.inspection > 0.0) or np.any(self.inspection_per_lot > 0.0)):
            yield Fault("labour", "", "the grade of labour that inspects", 'Add labour = "operator", say.')


class BenchStep(Step):
    """A step of hands only, such as fitting a label in assembly."""

    kind: Literal["bench"]
    labour: Name
    hands_on: q.MinutesPerPart
    set_up: q.MinutesPerLot = 0.0
    step_yield: q.Share


AnyStep = Annotated[MachineStep | OutsideStep | BenchStep, Field(discriminator="kind")]


class Once(Record):
    """Something paid once: a fixture, pallets, a programme, gauges, a first article.

    Stated as ``cost`` or as ``hours`` of a ``labour`` grade. ``share`` is our part of what several parts use.
    """

    name: Name
    kind: Literal[
        "fixture",
        "pallets",
        "programme",
        "prove-out",
        "gauges",
        "first-article",
        "training",
        "travel",
        "other",
    ]
    cost: q.MaybeMoney = None
    hours: q.Hours = 0.0
    labour: str = ""
    share: q.Share = 1.0
    end_value: q.Money = 0.0
    month: Annotated[int, Field(ge=0)] = 0
    owner: str = ""

    def rules(self) -> Iterator[Fault]:
        """A cost or hours of somebody, not both."""
        if (self.cost is None) == (self.labour == ""):
            yield Fault("cost", "", "a cost, or hours with a labour grade", "State exactly one of the two.")


class Yearly(Record):
    """Something paid every year for this route: upkeep of a fixture, calibration of gauges."""

    name: Name
    cost: q.MoneyPerYear
    series: str = ""


class Route(Vouched):
    """The ordered steps of one way to make the part.

    ``maturity`` says how far its times are worked out; until they are measured, ``time_factor`` on its
    programme minutes carries the range of that class.
    """

    name: Name
    title: str
    steps: Named[AnyStep]
    once: Named[Once] = Named()
    yearly: Named[Yearly] = Named()
    lead_time: q.Days
    lead_time_sd: q.Days
    maturity: Maturity = "measured"
    time_factor: q.Factor = 1.0
