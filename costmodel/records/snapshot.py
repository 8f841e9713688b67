"""A plan frozen at its decision, who signed it on which inputs, and what really happened since."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from costmodel.records.faults import Fault
from costmodel.records.fields import Name, Named, Record
from costmodel.records.study import Study

Role = Literal["prepared", "checked", "approved"]

FORMAT = 1
"""Number of the form in which plans are kept; it rises with every new field that an old plan cannot know."""


class Signature(Record):
    """Who prepared, checked or approved, when, and the fingerprint of the inputs that lay before them."""

    role: Role
    who: str
    day: datetime.date
    fingerprint: str


class Planned(Record):
    """The figures that a decision promised; months are None where the money never comes back."""

    per_part: float
    baseline_per_part: float
    saving_per_year: float
    once: float
    payback_months: float | None


class Snapshot(Record):
    """A study with every input as it was decided on, what was chosen over what, and what that promised.

    ``marks`` are the SHA-256 of the files that the study was read from, by path beside the study's. ``mark`` is the
    fingerprint of the inputs as the plan's file keeps them, that of the decision until a later form adds a field;
    ``edited`` says, of a plan read from a file, that they no longer have it.
    """

    format: int = FORMAT
    study: Study
    fingerprint: str
    library: str
    decided_on: datetime.date
    answer: str
    chosen: Name
    baseline: Name
    planned: Planned
    marks: dict[str, str] = Field(default_factory=dict)
    signatures: tuple[Signature, ...] = ()
    mark: str = ""
    edited: Annotated[bool, Field(exclude=True)] = False

    def links(self) -> Iterator[Fault]:
        """Both sides stand among the study's alternatives."""
        for field in ("chosen", "baseline"):
            name = getattr(self, field)
            if name not in self.study.alternatives:
                known = ", ".join(self.study.alternatives)
                yield Fault(field, name, f"an alternative of the study ({known})", "Correct the name.")


class Actual(Record):
    """What an input really was, as text with its unit; ``n`` and ``spread`` where it was measured.

    ``counted`` says that it was counted or paid in full, and is no sample. ``cause`` names the cause of the gap
    where the usual one does not fit.
    """

    name: str
    value: str
    source: str
    n: Annotated[int, Field(ge=1)] | None = None
    spread: str = ""
    counted: bool = False
    cause: str = ""


class Actuals(Record):
    """What a period after a decision really brought, input by input."""

    title: str
    since: datetime.date
    until: datetime.date
    prepared_by: str
    invented: bool
    actual: Named[Actual]

    def rules(self) -> Iterator[Fault]:
        """A period ends after it begins."""
        if self.until <= self.since:
            yield Fault("until", f"{self.until}", f"a day after {self.since}", "Correct one of the two.")
