"""What is assumed of a supplier's own cost, to judge a price by."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from costmodel.records import quantities as q
from costmodel.records.faults import Fault
from costmodel.records.fields import Name, Named, Record, Status
from costmodel.records.uncertain import Uncertain


class ShouldCost(Record):
    """A supplier's cost by our own model: the route that he may use, his inputs as ranges, and his margin.

    ``assumed`` holds a range at the address of each input that differs from ours; every other input is ours.
    ``margin_low`` and ``margin_high`` are shares of the price. ``quantity`` is made at once.
    """

    name: Name
    quote: Name
    route: Name
    quantity: q.Parts
    margin_low: q.Fraction
    margin_high: q.Fraction
    assumed: Named[Uncertain]
    source: str
    status: Status = "guess"

    def rules(self) -> Iterator[Fault]:
        """The margin rises, leaves a cost, and something is assumed."""
        if np.any(self.margin_low > self.margin_high) or np.any(self.margin_high >= 1.0):
            found = f"{self.margin_low} to {self.margin_high}"
            yield Fault(
                "margin_low", found, "two shares below 100 % in rising order", "Sort or correct them."
            )
        if not self.assumed:
            expected = "a range for at least one input of the supplier, such as the wage"
            yield Fault("assumed", "", expected, "Our own rates are not his: state what differs.")
