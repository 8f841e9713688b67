"""Soft factors: what is judged of the alternatives, not counted."""

from __future__ import annotations

import math
from collections.abc import Iterator

from costmodel.records import quantities as q
from costmodel.records.faults import Fault
from costmodel.records.fields import Name, Record


class Criterion(Record):
    """A soft factor: a mark for every alternative, the least mark that passes, and its weight.

    More is better. ``at_least`` is the gate: an alternative below it is out, whatever its other marks.
    """

    name: Name
    title: str
    weight: q.PlainNumber
    at_least: q.MaybePlainNumber = None
    marks: dict[str, float]

    def rules(self) -> Iterator[Fault]:
        """Marks are numbers of 0 or more."""
        for name, mark in self.marks.items():
            if not (math.isfinite(mark) and mark >= 0.0):
                yield Fault(f"marks.{name}", f"{mark}", "a mark of 0 or more", "Correct it.")
