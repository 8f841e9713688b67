"""Cuts: what one tool does in a step. One class a kind; ``kind`` chooses it in a file.

Symbols of ISO 3002 in brackets: cutting speed (vc), feed per tooth (fz), width of cut (ae), depth of cut (ap),
largest chip thickness (h max).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from costmodel.records import quantities as q
from costmodel.records.cut_base import Cut, PathCut, SideCut, Threaded, TurnedPasses
from costmodel.records.faults import Fault
from costmodel.records.fields import Count


class Face(SideCut):
    """Face milling of a rectangle by parallel passes; a finish pass takes the allowance where one is left."""

    kind: Literal["face"]
    length: q.Millimetres
    width: q.Millimetres
    depth: q.Millimetres
    finish_allowance: q.AnyMillimetres = 0.0
    overtravel: Literal["both ends", "once", "exact"] = "both ends"


class Contour(SideCut):
    """Milling along a wall: radial stock by width of cut, full depth at once or level by level.

    A finish pass takes the allowance, on every level, where one is left.
    """

    kind: Literal["contour"]
    length: q.Millimetres
    radial_stock: q.Millimetres
    depth: q.Millimetres
    finish_allowance: q.AnyMillimetres = 0.0


class Clear(SideCut):
    """Clearing a volume at the removal rate of width, depth and feed: a constant engagement of the cutter."""

    kind: Literal["clear"]
    volume: q.CubicMillimetres
    depth: q.MaybeMillimetres = None
    efficiency: q.Share = 1.0


class Pocket(SideCut):
    """A closed rectangular pocket: floor by stepover, level by level, then its wall at once or in levels.

    The cutter enters each level at ``entry_angle``, on a ramp there and back or on a helix that opens a hole of
    ``entry_diameter``; 90 deg plunges; open where a hole is drilled before. ``entry_feed_share`` is of the feed.
    """

    kind: Literal["pocket"]
    length: q.Millimetres
    width: q.Millimetres
    depth: q.Millimetres
    corner_radius: q.Millimetres
    wall_allowance: q.AnyMillimetres = 0.0
    wall_depth_of_cut: q.MaybeMillimetres = None
    entry: Literal["open", "ramp", "helix"] = "open"
    entry_angle: q.MaybeSlope = None
    entry_diameter: q.MaybeMillimetres = None
    entry_feed_share: q.Share = 1.0

    def rules(self) -> Iterator[Fault]:
        """A slope has its angle, and a helix its diameter."""
        yield from super().rules()
        wanted = {"entry_angle": self.entry != "open", "entry_diameter": self.entry == "helix"}
        for field, needed in wanted.items():
            value = getattr(self, field)
            if needed and value is None:
                yield Fault(field, "", f'a value, since entry = "{self.entry}"', f"Add {field}.")
            elif value is not None and not needed:
                expected = f'none, since entry = "{self.entry}"'
                yield Fault(field, f"{value}", expected, f"Take out {field} or change entry.")


class Slot(Cut):
    """A slot as wide as the end mill that cuts it, level by level."""

    kind: Literal["slot"]
    length: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres
    ends: Literal["open", "one closed", "closed"] = "open"


class SideMill(Cut):
    """Cutting with the circumference of a disc, side or slab mill: a slit, a groove, a side.

    ``width`` is that of the slot, along the cutter's axis, ``depth`` the radial depth, taken in runs of
    ``depth_of_cut``.
    """

    kind: Literal["side-mill"]
    length: q.Millimetres
    width: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres
    approach: Literal["exact", "approximate"] = "exact"


class Drill(Cut):
    """Drilling, with the point allowance as a stated convention and pecks where the hole is deep.

    ``clearance`` is fed in air before and behind. A drill that pecks comes right out, or lifts a little (``lift``) to
    break its chip; it feeds again from ``restart_gap`` above the bottom. With coolant through it state no peck.
    """

    kind: Literal["drill"]
    depth: q.Millimetres
    through: bool = False
    point_angle: q.Degrees = 118.0
    point: Literal["point once", "0.29 D twice", "none"] = "point once"
    clearance: q.AnyMillimetres = 0.0
    peck: q.MaybeMillimetres = None
    pecking: Literal["full retract", "chip breaking"] = "full retract"
    lift: q.AnyMillimetres = 0.0
    restart_gap: q.AnyMillimetres = 0.0
    retract: Literal["rapid", "feed"] = "rapid"

    def rules(self) -> Iterator[Fault]:
        """Pecking is stated only where there are pecks, and a lift only where it breaks chips."""
        yield from super().rules()
        breaking = self.pecking == "chip breaking"
        if self.peck is None and (breaking or np.any(self.restart_gap > 0.0)):
            yield Fault("peck", "", "the depth of one peck, since pecking is stated", "Add peck.")
        if breaking != bool(np.any(self.lift > 0.0)):
            expected = 'above 0 with pecking = "chip breaking", and with that alone'
            yield Fault("lift", f"{self.lift}", expected, 'Write lift = "0.3 mm", say, or take it out.')


class Ream(Cut):
    """Reaming a drilled hole; the way out is at feed, since the reamer touches the finished wall.

    ``stock`` is what the reamer takes off the wall, half the difference of the diameters.
    """

    kind: Literal["ream"]
    depth: q.Millimetres
    stock: q.Millimetres
    overrun: q.AnyMillimetres = 0.0
    retract: Literal["rapid", "feed"] = "feed"


class BoreMill(Cut):
    """Boring a hole on a mill to a diameter with a single-point bar, in cuts of a stated depth.

    ``depth`` is that of the hole, ``stock`` what is taken off the wall, half the difference of the diameters.
    """

    kind: Literal["bore-mill"]
    diameter: q.Millimetres
    depth: q.Millimetres
    stock: q.Millimetres
    depth_of_cut: q.Millimetres
    overrun: q.AnyMillimetres = 0.0
    retract: Literal["rapid", "feed"] = "rapid"

    def rules(self) -> Iterator[Fault]:
        """A hole is there before it is bored."""
        yield from super().rules()
        yield from self._room("stock", self.diameter / 2.0, "half the diameter")


class Tap(Threaded):
    """Rigid tapping, in and out; the feed is the pitch.

    ``depth`` is the way in at feed; a taper pipe thread states ``turns`` instead, the count that gives its
    gauge length. ``lead_threads`` is the chamfered lead of the tap: a short one takes thicker chips. A tap that
    forms its thread takes none.
    """

    feeds: ClassVar[tuple[str, ...]] = ()

    kind: Literal["tap"]
    depth: q.MaybeMillimetres = None
    turns: q.MaybeSomeNumber = None
    approach: q.AnyMillimetres = 0.0
    reversing: q.Minutes = 0.0
    return_ratio: q.SomeNumber = 1.0
    method: Literal["cutting", "forming"] = "cutting"
    lead_threads: q.SomeNumber = 2.5

    def rules(self) -> Iterator[Fault]:
        """A depth or turns."""
        yield from super().rules()
        yield from self._one_of("depth", "turns")


class ThreadMill(Threaded):
    """Thread milling on a helix, in one pass or several; the stated feed is that of the edge.

    Its power takes the chip of a straight side, though the arc is longer in a hole and shorter on a stud.
    """

    kind: Literal["thread-mill"]
    thread_diameter: q.Millimetres
    depth: q.Millimetres
    passes: Count = 1
    entry_turns: q.PlainNumber = 0.0
    side: Literal["internal", "external"] = "internal"
    cutter: Literal["full length", "single row"] = "full length"


class Chamfer(PathCut):
    """Breaking edges along a path, as a chamfer or as deburring in the machine.

    ``leg`` is what a chamfer of 45 deg takes off each face, for its power.
    """

    kind: Literal["chamfer"]
    leg: q.MaybeMillimetres = None


class Engrave(PathCut):
    """Engraving letters or marks along their strokes; ``cone_angle`` is that between the sides of a pointed tool."""

    kind: Literal["engrave"]
    depth: q.Millimetres
    cone_angle: q.AnyDegrees = 0.0


class Turn(TurnedPasses):
    """Turning outside."""

    kind: Literal["turn"]


class Bore(TurnedPasses):
    """Boring inside on a lathe."""

    kind: Literal["bore"]


class TurnFace(Cut):
    """Facing on a lathe from the outer diameter to the inner one; ``depth_of_cut``, along the axis, for its power."""

    kind: Literal["turn-face"]
    diameter: q.Millimetres
    inner_diameter: q.AnyMillimetres = 0.0
    depth_of_cut: q.MaybeMillimetres = None
    speed: Literal["average diameter", "constant surface speed"] = "average diameter"

    def rules(self) -> Iterator[Fault]:
        """Something to cut between the two diameters."""
        yield from super().rules()
        yield from self._room("inner_diameter", self.diameter, "the outer diameter")


class PartOff(Cut):
    """Parting off a bar or tube."""

    kind: Literal["part-off"]
    diameter: q.Millimetres
    inner_diameter: q.AnyMillimetres = 0.0

    def rules(self) -> Iterator[Fault]:
        """Something to cut between the two diameters."""
        yield from super().rules()
        yield from self._room("inner_diameter", self.diameter, "the outer diameter")


class Groove(Cut):
    """An outside groove on a lathe by plunges side by side, each as wide as the insert."""

    kind: Literal["groove"]
    diameter: q.Millimetres
    depth: q.Millimetres
    width: q.Millimetres

    def rules(self) -> Iterator[Fault]:
        """No deeper than the middle."""
        yield from super().rules()
        yield from self._room("depth", self.diameter / 2.0, "half the diameter", all_of_it=True)


class ThreadTurn(Threaded):
    """A thread with a single point on a lathe: cuts of equal chip area, then spring cuts; the pitch is the feed.

    A worm states its lead as ``pitch``. ``thread_angle`` is that between its flanks, for the power.
    """

    feeds: ClassVar[tuple[str, ...]] = ()

    kind: Literal["thread-turn"]
    diameter: q.Millimetres
    length: q.Millimetres
    depth: q.Millimetres
    first_infeed: q.Millimetres
    thread_angle: q.Degrees = 60.0
    spring_cuts: Annotated[int, Field(ge=0)] = 0
    approach: q.AnyMillimetres = 0.0

    def rules(self) -> Iterator[Fault]:
        """A thread short of the middle, and a first pass that is part of it."""
        yield from super().rules()
        yield from self._room("depth", self.diameter / 2.0, "half the diameter")
        yield from self._room("first_infeed", self.depth, "the depth of the thread", all_of_it=True)


class Saw(Cut):
    """One saw cut on a sawing machine, by the way its blade is fed or by the area it cuts in a minute.

    ``height`` is the way of the blade through the stock and ``width`` what it cuts across; the speed is that
    of the blade.
    """

    kind: Literal["saw"]
    height: q.Millimetres
    width: q.Millimetres
    overtravel: q.AnyMillimetres = 0.0
    cutting_rate: q.MaybeAreaRate = None

    def rules(self) -> Iterator[Fault]:
        """A speed of the blade, and a feed or a cutting rate."""
        yield from self._one_of("cutting_speed")
        yield from self._one_of("feed", "cutting_rate")
        for field in ("spindle_speed", "feed_per_tooth", "feed_per_rev", "chip_thickness"):
            if getattr(self, field) is not None:
                expected = "the speed of the blade and its feed or cutting rate"
                yield Fault(field, str(getattr(self, field)), expected, f"Take out {field}.")


Milling = Face | Contour | Clear | Pocket | Slot | SideMill | Chamfer | Engrave
Holes = Drill | Ream | BoreMill | Tap | ThreadMill
Turning = Turn | TurnFace | Bore | PartOff | Groove | ThreadTurn

AnyCut = Annotated[Milling | Holes | Turning | Saw, Field(discriminator="kind")]

__all__ = [
    "AnyCut",
    "Bore",
    "BoreMill",
    "Chamfer",
    "Clear",
    "Contour",
    "Cut",
    "Drill",
    "Engrave",
    "Face",
    "Groove",
    "Holes",
    "Milling",
    "PartOff",
    "PathCut",
    "Pocket",
    "Ream",
    "Saw",
    "SideCut",
    "SideMill",
    "Slot",
    "Tap",
    "ThreadMill",
    "ThreadTurn",
    "Threaded",
    "Turn",
    "TurnFace",
    "TurnedPasses",
    "Turning",
]
