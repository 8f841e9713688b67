"""A cutting tool: what it is, what it costs, how long its edges last and what changes that."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal, get_args

import numpy as np
from pydantic import Field

from costmodel.records import quantities as q
from costmodel.records.cuts import Holes, Milling, Saw, Turning
from costmodel.records.faults import Fault, range_shown
from costmodel.records.fields import Count, Sourced


class Tool(Sourced):
    """A cutting tool: geometry, price, edges, and how long an edge lasts.

    ``life`` chooses the model: "count" takes ``parts_per_edge``; "minutes" takes ``edge_minutes`` in cut;
    "holes" takes ``holes_per_edge``; "length" takes ``edge_length`` fed in cut; "taylor" takes
    ``taylor_constant`` (the speed for a life of one minute) and its exponents. Wear of cuts that share the
    tool adds up. Three factors multiply the life: run-out, coolant, coating. Each is 1 unless its row states the
    range in which it may lie (``run_out_low``, ``run_out_high``) and where that comes from (``run_out_source``).

    A tool of n ``regrinds`` has n + 1 lives; where the last is mostly lost, ``last_life`` spreads the price over n.
    An edge is changed at its life less ``reserve``, after whole parts if ``parts_rule`` says so. A worn edge
    costs ``change_minutes`` of hands and machine, of hands alone where ``sisters`` stand in the magazine.
    ``variation`` is the coefficient of variation of the life; where it is stated, the life above is the mean,
    some edges fail before their change, and ``lost_in_failure`` says what goes with them: the "edge" alone, as is
    common with inserts, or the whole "tool" with the edges and regrinds left on it. A ``reserve`` below 0 then plans
    the change beyond the mean. ``policy`` is to
    change as planned or to run to failure. ``made_for`` names the kinds of cut it is meant for, with commas; left
    out, no cut is questioned.
    """

    headline = "price"

    price: q.Money
    low: q.MaybeMoney = None
    high: q.MaybeMoney = None
    diameter: q.MaybeMillimetres = None
    teeth: Count = 1
    reach: q.MaybeMillimetres = None
    flute_length: q.MaybeMillimetres = None
    width: q.MaybeMillimetres = None
    edges: Count = 1
    regrinds: Annotated[int, Field(ge=0)] = 0
    regrind_price: q.Money = 0.0
    last_life: Literal["used", "lost"] = "used"
    life: Literal["count", "minutes", "holes", "length", "taylor"]
    parts_per_edge: q.MaybeParts = None
    edge_minutes: q.MaybeMinutes = None
    holes_per_edge: q.MaybeSomeNumber = None
    edge_length: q.MaybeMillimetres = None
    taylor_constant: q.MaybeCuttingSpeed = None
    taylor_exponent: q.TaylorExponent = None
    feed_exponent: q.WearExponent = 0.0
    depth_exponent: q.WearExponent = 0.0
    run_out_factor: q.SomeNumber = 1.0
    run_out_low: q.MaybeSomeNumber = None
    run_out_high: q.MaybeSomeNumber = None
    run_out_source: str = ""
    coolant_factor: q.SomeNumber = 1.0
    coolant_low: q.MaybeSomeNumber = None
    coolant_high: q.MaybeSomeNumber = None
    coolant_source: str = ""
    coating_factor: q.SomeNumber = 1.0
    coating_low: q.MaybeSomeNumber = None
    coating_high: q.MaybeSomeNumber = None
    coating_source: str = ""
    parts_rule: Literal["fractional", "whole"] = "fractional"
    reserve: q.Reserve = 0.0
    change_minutes: q.Minutes = 0.0
    sisters: Count = 1
    variation: q.MaybeVariation = None
    family: Literal["weibull", "lognormal"] = "weibull"
    policy: Literal["planned", "to failure"] = "planned"
    lost_in_failure: Literal["edge", "tool"] = "edge"
    made_for: str = ""

    def rules(self) -> Iterator[Fault]:
        """The chosen life model has what it needs, a factor its source, a policy its scatter."""
        for field in LIFE_NEEDS[self.life]:
            if getattr(self, field) is None:
                yield Fault(
                    field, "", f'a value, since life = "{self.life}"', f"Add {field} or choose another life."
                )
        for word in LIFE_FACTORS:
            yield from self._factor_faults(word)
        for kind in self.kinds_made():
            if kind not in KINDS:
                yield Fault("made_for", kind, f"kinds of cut, such as {KINDS[0]}", "Name kinds, with commas.")
        if self.last_life == "lost" and self.regrinds == 0:
            yield Fault("regrinds", "0", "1 at least, since the last life is lost", "Take out last_life.")
        if self.policy == "to failure" and self.variation is None:
            yield Fault(
                "variation", "", "how the life scatters, since policy is to failure", "Add variation."
            )
        if self.variation is None and np.any(self.reserve < 0.0):
            expected = "0 or more: an edge whose life does not scatter lasts no longer than that"
            yield Fault("reserve", f"{self.reserve}", expected, "Raise it, or add variation.")

    def kinds_made(self) -> tuple[str, ...]:
        """The kinds of cut it is meant for; none where it says nothing."""
        return tuple(kind.strip() for kind in self.made_for.split(",") if kind.strip())

    def _factor_faults(self, word: str) -> Iterator[Fault]:
        factor, low, high = (getattr(self, f"{word}_{end}") for end in ("factor", "low", "high"))
        stated = np.any(factor != 1.0) or low is not None or high is not None
        if not stated:
            return
        for end, value in (("low", low), ("high", high)):
            if value is None:
                expected = f"how {end} {word}_factor may be"
                yield Fault(f"{word}_{end}", "", expected, f"Add {word}_{end}.")
        if low is not None and high is not None and (np.any(factor < low) or np.any(factor > high)):
            expected = f"within its range, {range_shown(low)} to {range_shown(high)}"
            yield Fault(f"{word}_factor", range_shown(factor), expected, "Correct the factor or its range.")
        if not getattr(self, f"{word}_source"):
            yield Fault(f"{word}_source", "", f"where {word}_factor comes from", "Name the source.")


KINDS = tuple(
    get_args(kind.model_fields["kind"].annotation)[0]
    for kind in (*get_args(Milling), *get_args(Holes), *get_args(Turning), Saw)
)
LIFE_FACTORS = ("run_out", "coolant", "coating")
LIFE_NEEDS = {
    "count": ("parts_per_edge",),
    "minutes": ("edge_minutes",),
    "holes": ("holes_per_edge",),
    "length": ("edge_length",),
    "taylor": ("taylor_constant", "taylor_exponent"),
}
