"""The shop's log of tool lives: one row for each edge that was taken out, worn or still good."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from costmodel.records import quantities as q
from costmodel.records.faults import Fault
from costmodel.records.fields import Name, Named, Record


class EdgeLife(Record):
    """One edge: its tool, the speed and feed it ran at, what it lasted, and whether it was worn when taken out."""

    name: Name
    tool: Name
    cutting_speed: q.MaybeCuttingSpeed = None
    feed: q.MaybeMillimetres = None
    minutes: q.MaybeMinutes = None
    parts: q.MaybeParts = None
    worn: Literal["yes", "no"]
    note: str = ""

    def rules(self) -> Iterator[Fault]:
        """An edge lasted minutes in cut, or parts."""
        if self.minutes is None and self.parts is None:
            yield Fault("minutes", "", "minutes in cut or parts", "Fill in one of the two.")


class LifeLog(Record):
    """Every edge of a log, by its running number."""

    edges: Named[EdgeLife]
    invented: bool = False
