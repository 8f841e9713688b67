"""What a machine did in a year, in the terms of ISO 22400-2, and what it cost in the ledger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, TypeAlias

import numpy as np

from costmodel.records import quantities as q
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Name, Quantity, Record
from costmodel.units import Number

PlannedTime: TypeAlias = Annotated[Number, Quantity("h", above=0)]
MaybeEnergy: TypeAlias = Annotated[Number | None, Quantity("kWh", at_least=0, optional=True)]


class RunLog(Record):
    """A machine's hours of a year [h]; its energy [kWh], ledger cost [money] and people's hours [h] where known.

    ``planned_busy`` PBT is what was planned, ``production`` APT adds value, ``set_up`` AUST prepares it, ``delay`` ADET
    is what held it up. ``people_hours`` are the hours of those who tended it; one who tends two counts half.
    """

    machine: Name
    planned_busy: PlannedTime
    production: q.Hours
    set_up: q.Hours
    delay: q.Hours
    energy: MaybeEnergy = None
    actual_cost: q.MaybeMoney = None
    people_hours: q.Hours = 0.0

    def rules(self) -> Iterator[Fault]:
        """A machine is busy no longer than planned."""
        busy = self.production + self.set_up + self.delay
        if np.any(busy > self.planned_busy * (1.0 + 1e-9)):
            expected = f"at least {range_shown(busy)} h, production, set-up and delay together"
            yield Fault("planned_busy", range_shown(self.planned_busy), expected, "Correct one of them.")
