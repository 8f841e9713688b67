"""A part: its blank, and the routes by which it can be made."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import numpy as np

from costmodel.records import quantities as q
from costmodel.records.cuts import AnyCut
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Name, Named, Record, Vouched
from costmodel.records.route import MachineStep, Route


class Blank(Vouched):
    """What one part is cut from: a weighed mass, or a shape with dimensions, and what sawing it costs.

    ``length`` is cut length without kerf; ``kerf`` is what the saw or parting tool takes. Where ``bar_length``
    is stated, each blank also pays its share of the ``remnant`` that no blank comes from. ``saw`` is the price
    of sawing, where no step of the route saws; it follows the material's index series.
    """

    material: Name
    shape: Literal["mass", "round", "block"]
    mass: q.MaybeKilograms = None
    diameter: q.MaybeMillimetres = None
    width: q.MaybeMillimetres = None
    height: q.MaybeMillimetres = None
    length: q.MaybeMillimetres = None
    kerf: q.AnyMillimetres = 0.0
    bar_length: q.MaybeMillimetres = None
    remnant: q.AnyMillimetres = 0.0
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
        if self.bar_length is not None and self.shape == "mass":
            yield Fault("bar_length", f"{self.bar_length}", "a blank with dimensions", "State its shape.")
        elif self.bar_length is not None and self.length is not None and self._longer_than_bar():
            expected = "at least one blank with its kerf, and the remnant"
            yield Fault("bar_length", f"{self.bar_length}", expected, "Correct the lengths.")
        if self.mass is not None and np.any(self.finished_mass > self.mass):
            yield Fault(
                "finished_mass",
                range_shown(self.finished_mass),
                "at most the mass of the blank",
                "Correct one of the two.",
            )

    def _longer_than_bar(self) -> bool:
        assert self.bar_length is not None
        assert self.length is not None
        return bool(np.any(self.length + self.kerf > self.bar_length - self.remnant))


class Part(Record):
    """A component as the drawing knows it, with the ways in which the shop could make it."""

    name: Name
    title: str
    revision: str
    invented: bool = False
    blank: Blank
    routes: Named[Route]

    def links(self) -> Iterator[Fault]:
        """Cuts taken from another step are there, and are its own; a bar that is fed has a length."""
        for name, route in self.routes.items():
            for key, step in route.steps.items():
                at = f"routes.{name}.steps.{key}"
                if isinstance(step, MachineStep) and step.feeds_bar and self.blank.bar_length is None:
                    yield Fault(
                        f"{at}.feeds_bar", "true", "a blank with a bar_length", "Add it to the blank."
                    )
                if isinstance(step, MachineStep) and step.cuts_from and not self._source(step.cuts_from):
                    expected = "a step with cuts of its own, as route.step"
                    yield Fault(f"{at}.cuts_from", step.cuts_from, expected, "Correct the name.")

    def _source(self, words: str) -> Named[AnyCut]:
        """The cuts that stand at ``route.step``; none where that step has none of its own."""
        for name, route in self.routes.items():
            step = route.steps.get(words.removeprefix(f"{name}."))
            if words.startswith(f"{name}.") and isinstance(step, MachineStep):
                return step.cuts
        return Named()

    def cuts_of(self, step: MachineStep) -> Named[AnyCut]:
        """The cuts of a step: its own, or those of the step that it names."""
        return self._source(step.cuts_from) if step.cuts_from else step.cuts
