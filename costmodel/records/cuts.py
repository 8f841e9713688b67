"""Cuts: what one tool does in a step. One class a kind; ``kind`` chooses it in a file.

Symbols of ISO 3002 in brackets: cutting speed (vc), feed per tooth (fz), width of cut (ae), depth of cut (ap).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from costmodel.records import quantities as q
from costmodel.records.faults import Fault
from costmodel.records.fields import Count, Name, Record


class Cut(Record):
    """What every cut has: a tool, a speed, a feed, how often it occurs in a part, its rapid moves.

    The speed is stated as ``cutting_speed`` or ``spindle_speed``, the feed as ``feed`` (of the table),
    ``feed_per_tooth`` or ``feed_per_rev``: one of each, never two.
    """

    name: Name
    tool: Name
    count: Count = 1
    cutting_speed: q.MaybeCuttingSpeed = None
    spindle_speed: q.MaybeSpindleSpeed = None
    feed: q.MaybeFeedSpeed = None
    feed_per_tooth: q.MaybeMillimetres = None
    feed_per_rev: q.MaybeMillimetres = None
    rapid: q.AnyMillimetres = 0.0
    note: str = ""

    def rules(self) -> Iterator[Fault]:
        """One way to state the speed and one to state the feed."""
        yield from self._one_of("cutting_speed", "spindle_speed")
        yield from self._one_of("feed", "feed_per_tooth", "feed_per_rev")

    def _one_of(self, *fields: str) -> Iterator[Fault]:
        given = [field for field in fields if getattr(self, field) is not None]
        if len(given) != 1:
            found = " and ".join(given) or "none"
            yield Fault(fields[0], found, f"exactly one of {', '.join(fields)}", "State it once.")


class Face(Cut):
    """Face milling of a rectangle by parallel passes."""

    kind: Literal["face"]
    length: q.Millimetres
    width: q.Millimetres
    width_of_cut: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres
    overtravel: Literal["both ends", "once", "exact"] = "both ends"


class Contour(Cut):
    """Milling along a wall: radial stock by width of cut, full depth at once or level by level."""

    kind: Literal["contour"]
    length: q.Millimetres
    radial_stock: q.Millimetres
    width_of_cut: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres


class Clear(Cut):
    """Clearing a volume at the removal rate of width, depth and feed."""

    kind: Literal["clear"]
    volume: q.CubicMillimetres
    width_of_cut: q.Millimetres
    depth_of_cut: q.Millimetres
    efficiency: q.Share = 1.0


class Pocket(Cut):
    """A closed rectangular pocket: floor by stepover, level by level, then its wall."""

    kind: Literal["pocket"]
    length: q.Millimetres
    width: q.Millimetres
    depth: q.Millimetres
    width_of_cut: q.Millimetres
    depth_of_cut: q.Millimetres
    corner_radius: q.Millimetres
    wall_allowance: q.AnyMillimetres = 0.0


class Drill(Cut):
    """Drilling, with the point allowance as a stated convention and pecks where the hole is deep."""

    kind: Literal["drill"]
    depth: q.Millimetres
    through: bool = False
    point_angle: q.Degrees = 118.0
    peck: q.MaybeMillimetres = None
    retract: Literal["rapid", "feed"] = "rapid"


class Tap(Cut):
    """Rigid tapping, in and out; the feed is the pitch."""

    kind: Literal["tap"]
    pitch: q.Millimetres
    depth: q.Millimetres
    return_ratio: Annotated[float, Field(gt=0)] = 1.0

    def rules(self) -> Iterator[Fault]:
        """The pitch is the feed: stating another would be a second truth."""
        yield from self._one_of("cutting_speed", "spindle_speed")
        for field in ("feed", "feed_per_tooth", "feed_per_rev"):
            if getattr(self, field) is not None:
                yield Fault(
                    field,
                    str(getattr(self, field)),
                    "no feed, since the pitch is the feed",
                    f"Take out {field}.",
                )


class ThreadMill(Cut):
    """Thread milling on a helix, in one pass or several."""

    kind: Literal["thread-mill"]
    thread_diameter: q.Millimetres
    pitch: q.Millimetres
    depth: q.Millimetres
    passes: Count = 1
    cutter: Literal["full length", "single row"] = "full length"


class Chamfer(Cut):
    """Breaking edges along a path, as a chamfer or as deburring in the machine."""

    kind: Literal["chamfer"]
    length: q.Millimetres
    passes: Count = 1


class Turn(Cut):
    """Turning outside, in passes of a stated depth."""

    kind: Literal["turn"]
    diameter: q.Millimetres
    length: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres


class TurnFace(Cut):
    """Facing on a lathe from the outer diameter to the inner one."""

    kind: Literal["turn-face"]
    diameter: q.Millimetres
    inner_diameter: q.AnyMillimetres = 0.0


class Bore(Cut):
    """Boring to a diameter, in passes of a stated depth."""

    kind: Literal["bore"]
    diameter: q.Millimetres
    length: q.Millimetres
    depth: q.Millimetres
    depth_of_cut: q.Millimetres


class PartOff(Cut):
    """Parting off a bar or tube."""

    kind: Literal["part-off"]
    diameter: q.Millimetres
    inner_diameter: q.AnyMillimetres = 0.0


AnyCut = Annotated[
    Face | Contour | Clear | Pocket | Drill | Tap | ThreadMill | Chamfer | Turn | TurnFace | Bore | PartOff,
    Field(discriminator="kind"),
]
