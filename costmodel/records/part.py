"""A part: its blank, and the routes by which it can be made."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import numpy as np

from costmodel.records import quantities as q
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Name, Named, Record, Vouched
from costmodel.records.route import Route


class Blank(Vouched):
    """What one part is cut from: a weighed mass, or a shape with dimensions, and what sawing it costs.

    ``length`` is cut length without kerf; ``kerf`` is what the saw or parting tool takes. The price of sawing
    follows the material's index series.
    """

    material: Name
    shape: Literal["mass", "round", "block"]
    mass: q.MaybeKilograms = None
    diameter: q.MaybeMillimetres = None
    width: q.MaybeMillimetres = None
    height: q.MaybeMillimetres = None
    length: q.MaybeMillimetres = None
    kerf: q.AnyMillimetres = 0.0
    saw: q.MoneyPerPart = 0.0
    finished_mass: q.AnyKilograms

    def rules(self) -> Iterator[Fault]:
        """The shape has its dimensions, and the finished part is no heavier than its blank."""
        needs = {"mass": ("mass",), "round": ("diameter", "length"), "block": ("width", "height", "length")}
        for field in needs[self.shape]:
            if getattr(self, field) is None:
                yield Fault(
                    field,
                    "",
                    f"a value, since shape is {self.shape}",
                    f"Add {field} or choose another shape.",
                )
        if self.mass is not None and np.any(self.finished_mass > self.mass):
            yield Fault(
                "finished_mass",
                range_shown(self.finished_mass),
                "at most the mass of the blank",
                "Correct one of the two.",
            )


class Part(Record):
    """A component as the drawing knows it, with the ways in which the shop could make it."""

    name: Name
    title: str
    revision: str
    invented: bool = False
    blank: Blank
    routes: Named[Route]
