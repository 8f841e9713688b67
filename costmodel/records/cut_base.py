"""What cuts have in common: a tool, a speed, a feed; the side of a mill, a thread, a path, passes on a lathe."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import Field, GetJsonSchemaHandler

from costmodel.records import quantities as q
from costmodel.records.cut_words import meaning
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Count, Name, Record
from costmodel.units import Number

FEEDS = ("feed", "feed_per_tooth", "feed_per_rev", "chip_thickness")
PITCHES = ("pitch", "threads_per_inch")


class Cut(Record):
    """What every cut has: a tool, a speed, a feed, how often it occurs in a part, its rapid moves.

    The speed is stated as ``cutting_speed`` or ``spindle_speed``, the feed as ``feed`` (of the table),
    ``feed_per_tooth`` or ``feed_per_rev``: one of each, never two. A cut with the side of a mill may state
    ``chip_thickness`` instead, its largest: the feed is then raised for radial chip thinning.
    """

    feeds: ClassVar[tuple[str, ...]] = FEEDS[:3]

    name: Name
    tool: Name
    count: Count = 1
    cutting_speed: q.MaybeCuttingSpeed = None
    spindle_speed: q.MaybeSpindleSpeed = None
    feed: q.MaybeFeedSpeed = None
    feed_per_tooth: q.MaybeMillimetres = None
    feed_per_rev: q.MaybeMillimetres = None
    chip_thickness: q.MaybeMillimetres = None
    rapid: q.AnyMillimetres = 0.0
    note: str = ""

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """The schema with what each field means, for an editor that shows it."""
        schema: dict[str, Any] = handler.resolve_ref_schema(handler(core_schema))
        fields = schema["properties"]
        for name in [name for name in FEEDS if name not in cls.feeds]:
            del fields[name]
        for name, field in fields.items():
            words = [meaning(fields["kind"]["const"], name), field.get("description", "")]
            field["description"] = "; ".join(word for word in words if word)
        return schema

    def rules(self) -> Iterator[Fault]:
        """One way to state the speed and one to state the feed."""
        yield from self._one_of("cutting_speed", "spindle_speed")
        if self.feeds:
            yield from self._one_of(*self.feeds)
        why = (
            "no feed, since the pitch is the feed"
            if not self.feeds
            else "a feed of the edge, not of its chip"
        )
        for field in (field for field in FEEDS if field not in self.feeds):
            if getattr(self, field) is not None:
                yield Fault(field, str(getattr(self, field)), why, f"Take out {field}.")

    def _one_of(self, *fields: str) -> Iterator[Fault]:
        given = [field for field in fields if getattr(self, field) is not None]
        if len(given) != 1:
            found = " and ".join(given) or "none"
            yield Fault(fields[0], found, f"exactly one of {', '.join(fields)}", "State it once.")

    def _room(self, field: str, room: Number, why: str, *, all_of_it: bool = False) -> Iterator[Fault]:
        """A value within the room there is for it, or all of it where it may be taken up."""
        value = getattr(self, field)
        if np.any(np.greater(value, room) if all_of_it else np.greater_equal(value, room)):
            most = f"{'at most' if all_of_it else 'below'} {float(np.min(room)):g} mm: {why}"
            yield Fault(field, range_shown(value), most, "Correct one of the two.")


class SideCut(Cut):
    """A cut with the side of a mill, so that chips are thinner than the feed where the width is small.

    ``finish_feed_share`` is the feed of the finish pass as a share of the feed before it.
    """

    feeds: ClassVar[tuple[str, ...]] = FEEDS

    width_of_cut: q.Millimetres
    depth_of_cut: q.Millimetres
    finish_feed_share: q.Share = 1.0


class Threaded(Cut):
    """A cut that makes a thread, by its ``pitch`` or its ``threads_per_inch``, one of the two."""

    pitch: q.MaybeMillimetres = None
    threads_per_inch: q.MaybeSomeNumber = None

    def rules(self) -> Iterator[Fault]:
        """One way to state the pitch."""
        yield from super().rules()
        yield from self._one_of(*PITCHES)


class PathCut(Cut):
    """A cut along a path; an entry is one lift, move and plunge."""

    length: q.Millimetres
    passes: Count = 1
    entries: Annotated[int, Field(ge=0)] = 0
    entry_time: q.Minutes = 0.0


class TurnedPasses(Cut):
    """Passes along the work on a lathe, each of a stated depth, the last one on the allowance where one is left.

    A cutting speed is that of the largest diameter for all passes, or ``speed`` lets the spindle follow each.
    """

    diameter: q.Millimetres
    length: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres
    approach: q.AnyMillimetres = 0.0
    finish_allowance: q.AnyMillimetres = 0.0
    finish_feed_share: q.Share = 1.0
    speed: Literal["largest diameter", "each pass"] = "largest diameter"

    def rules(self) -> Iterator[Fault]:
        """Stock short of the middle, and an allowance that is part of it."""
        yield from super().rules()
        yield from self._room("depth", self.diameter / 2.0, "half the diameter")
        yield from self._room("finish_allowance", self.depth, "the stock", all_of_it=True)
