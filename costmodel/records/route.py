"""A route: the ordered steps by which a part is made, and what is paid once or every year for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from costmodel.records import quantities as q
from costmodel.records.cuts import AnyCut
from costmodel.records.faults import Fault
from costmodel.records.fields import Count, Name, Named, Record, Vouched
from costmodel.records.route_words import Explained

Maturity = Literal["idea", "outline", "planned", "detailed", "proved", "measured"]
Element = Literal[
    "material", "packaging", "consumables", "maintenance", "energy", "space", "inspection", "tooling", "other"
]
WholeOrNone = Annotated[int, Field(ge=0)]


class Item(Explained, Record):
    """Something a step uses up in each part: a label, a bag, a litre of coolant."""

    name: Name
    element: Element
    cost: q.MoneyPerPart
    series: str = ""
    source: str = ""


class Rework(Explained, Record):
    """What is done with the rejects of a step: which share can be reworked, how often that helps, its minutes.

    ``repeat`` says whether a failed rework is tried again. A step that can rework states its first-pass yield
    as its yield.
    """

    reworkable: q.Fraction
    success: q.Fraction
    labour: Name
    hands_on: q.MinutesPerPart = 0.0
    cost: q.MoneyPerPart = 0.0
    repeat: Literal["once", "until settled"] = "once"


class Step(Explained, Record):
    """What every step has: a name, what it uses up, hands that inspect, and what becomes of its rejects.

    ``inspection`` is of every part, ``inspection_per_lot`` of the lot as a whole; ``sampled_inspection`` is of
    each part of a sample by the single normal plan of ISO 2859-1 at 1.0 %, the only quality limit whose
    acceptance numbers are held for every lot. ``salvage`` is what a lost part fetches.
    """

    name: Name
    title: str = ""
    items: Named[Item] = Named()
    inspection: q.MinutesPerPart = 0.0
    inspection_per_lot: q.MinutesPerLot = 0.0
    sampled_inspection: q.MinutesPerPart = 0.0
    inspection_level: Literal["I", "II", "III"] = "II"
    salvage: q.MoneyPerPart = 0.0
    rework: Rework | None = None


class MachineStep(Step):
    """A step on one machine: its load, its programme as cuts or as measured minutes, and the two clocks.

    ``cuts_from`` takes the cuts of another route's step, as ``route.step``. ``loading`` outside the cycle
    costs hands only, unless it takes longer than the machine runs; inside, the machine waits. ``attendance``
    is the share of machine time during which a person must stand by; ``tended_during`` names the step in
    whose standing-by this step's hands-on work is done. ``machines_tended`` by one person, with ``walk``
    between them, make each wait. ``set_up`` is to the first good part. ``fixture`` names the once-cost that
    says what it holds and weighs. The last load of a lot is filled up with other parts (``loads`` shared) and
    charged by its share, or run for the lot alone (whole).

    Where tools state how their life scatters, a failure spoils the part or the load (``failure_spoils``) and
    stops the machine for ``failure_stop``; ``step_yield`` then leaves such losses out. A share of the loads
    (``unattended_share``) runs in stretches of ``unattended_loads``, where a failure also spoils what follows
    it until it is noticed: with the chance ``detection`` at the end of each load.
    """

    kind: Literal["machine"]
    machine: Name
    parts_per_load: Count
    loads: Literal["shared", "whole"] = "shared"
    cuts: Named[AnyCut] = Named()
    cuts_from: str = ""
    programme: q.MaybeMinutesPerLoad = None
    probing: q.MinutesPerLoad = 0.0
    index_moves: WholeOrNone = 0
    feeds_bar: bool = False
    set_up: q.MinutesPerLot = 0.0
    loading: Literal["outside", "inside"]
    hands_on: q.MinutesPerLoad
    attendance: q.Fraction = 0.0
    tended_during: str = ""
    machines_tended: Count = 1
    walk: q.MinutesPerLoad = 0.0
    calls: Literal["regular", "random"] = "regular"
    operator: str = ""
    fixture: str = ""
    failure_spoils: Literal["part", "load"] = "load"
    failure_stop: q.Minutes = 0.0
    unattended_share: q.Fraction = 0.0
    unattended_loads: Count = 1
    detection: q.Fraction = 0.0
    step_yield: q.Share

    def rules(self) -> Iterator[Fault]:
        """The programme is stated once: by cuts, by another step's cuts or by measured minutes."""
        stated = {"cuts": self.cuts, "cuts_from": self.cuts_from, "programme": self.programme is not None}
        given = [word for word, value in stated.items() if value]
        if len(given) != 1:
            found = (
                "neither" if not given else "both" if len(given) == len(stated) - 1 else " and ".join(given)
            )
            expected = "cuts or measured programme minutes, or cuts_from another step"
            yield Fault("programme", found, expected, "State exactly one of them.")
        if self.machines_tended > 1 and np.any(self.hands_on == 0.0):
            yield Fault("hands_on", "0", "what serving one of several machines takes", "State hands_on.")
        if self.calls == "random" and self.loading == "outside":
            expected = 'loading = "inside", where the machine stands while it is served'
            yield Fault("calls", self.calls, expected, "Take calls out or change loading.")


class OutsideStep(Step):
    """A step at an outside processor; its yield and turnaround stand with the processor's rates.

    ``labour`` is the grade that inspects what comes back.
    """

    kind: Literal["outside"]
    processor: Name
    charged_rejects: bool = True
    labour: str = ""

    def rules(self) -> Iterator[Fault]:
        """Minutes of inspection are somebody's."""
        minutes = (self.inspection, self.inspection_per_lot, self.sampled_inspection)
        if not self.labour and any(np.any(value > 0.0) for value in minutes):
            yield Fault("labour", "", "the grade of labour that inspects", 'Add labour = "operator", say.')


class BenchStep(Step):
    """A step of hands only, such as fitting a label in assembly."""

    kind: Literal["bench"]
    labour: Name
    hands_on: q.MinutesPerPart
    set_up: q.MinutesPerLot = 0.0
    step_yield: q.Share


AnyStep = Annotated[MachineStep | OutsideStep | BenchStep, Field(discriminator="kind")]


class Once(Explained, Vouched):
    """Something paid once: a fixture, pallets, a programme, gauges, a first article.

    Bought at a ``cost``, or made in-house: hours of a ``labour`` grade, ``machine_hours`` on a ``machine`` at
    the same rates as a part, and ``material``. ``share`` is our part of what several parts use; instead,
    ``other_volume`` is what the other parts need a year, and ours follows the volumes. A fixture states what
    it ``holds`` at once and its ``mass``, its pallet included.
    """

    name: Name
    kind: Literal[
        "fixture",
        "pallets",
        "programme",
        "prove-out",
        "gauges",
        "first-article",
        "training",
        "travel",
        "other",
    ]
    cost: q.MaybeMoney = None
    hours: q.Hours = 0.0
    labour: str = ""
    machine: str = ""
    machine_hours: q.Hours = 0.0
    material: q.Money = 0.0
    share: q.Share = 1.0
    other_volume: q.AnyPartsPerYear = 0.0
    end_value: q.Money = 0.0
    month: WholeOrNone = 0
    holds: Count | None = None
    mass: q.AnyKilograms = 0.0

    def rules(self) -> Iterator[Fault]:
        """A cost or hours, not both; hours are somebody's or some machine's; one way to share."""
        made = bool(self.labour or self.machine)
        if (self.cost is None) == (not made):
            expected = "a cost, or hours with a labour grade or a machine"
            yield Fault("cost", "both" if made else "", expected, "State exactly one of the two.")
        for field, whose in (("hours", "labour"), ("machine_hours", "machine")):
            if np.any(getattr(self, field) > 0.0) and not getattr(self, whose):
                yield Fault(whose, "", f"whose {field.replace('_', ' ')} these are", f"Add {whose}.")
        if not made and np.any(self.material > 0.0):
            yield Fault(
                "material", f"{self.material}", "material of something made here", "Put it into cost."
            )
        if np.any(self.other_volume > 0.0) and np.any(self.share != 1.0):
            yield Fault("share", f"{self.share}", "share or other_volume, not both", "Take one of them out.")


class RampUp(Explained, Record):
    """What learning to make the part costs once: weeks of poorer yield, and hands-on work that is still slow.

    The yield of the whole route rises in equal steps from ``first_yield`` in the first week to the route's own
    in the last. Hands-on minutes reach those of the steps at part ``learned_at`` along a learning curve: time
    falls to ``learning_rate`` with each doubling, by Crawford's model of the unit or Wright's of the average.
    Machine minutes and set-ups do not learn.
    """

    weeks: Annotated[int, Field(ge=2)]
    first_yield: q.Share
    good_per_week: q.PartsPerWeek
    learning_rate: q.Share = 1.0
    learned_at: q.Parts = 1.0
    learning: Literal["crawford", "wright"] = "crawford"


class Yearly(Explained, Record):
    """Something paid every year for this route: upkeep of a fixture, calibration of gauges.

    ``element`` says of which kind it is. Where none is stated, a name that holds the word for a standing cost of
    a machine, such as maintenance, counts as one: the machine-hour rate holds it already.
    """

    name: Name
    element: Element | Literal[""] = ""
    cost: q.MoneyPerYear
    series: str = ""


class Route(Explained, Vouched):
    """The ordered steps of one way to make the part.

    ``stops`` a year are expected in which nothing is made for ``stop_time``: a breakdown of the only machine,
    say. ``maturity`` says how far its times are worked out; until they are measured, ``time_factor`` on its
    programme minutes carries the range of that class.
    """

    name: Name
    title: str
    steps: Named[AnyStep]
    once: Named[Once] = Named()
    yearly: Named[Yearly] = Named()
    ramp_up: RampUp | None = None
    lead_time: q.Days
    lead_time_sd: q.Days
    stops: q.AnyPerYear = 0.0
    stop_time: q.Days = 0.0
    maturity: Maturity = "measured"
    time_factor: q.Factor = 1.0

    def links(self) -> Iterator[Fault]:
        """A fixture is one of the once-costs, and a step is tended during another machine's step."""
        machines = [name for name, step in self.steps.items() if isinstance(step, MachineStep)]
        for name, step in self.steps.items():
            if not isinstance(step, MachineStep):
                continue
            at = f"steps.{name}"
            if step.fixture and step.fixture not in self.once:
                known = ", ".join(self.once) or "none"
                yield Fault(
                    f"{at}.fixture", step.fixture, f"the name of a once-cost ({known})", "Correct the name."
                )
            if step.tended_during and (step.tended_during not in machines or step.tended_during == name):
                known = ", ".join(other for other in machines if other != name) or "none"
                expected = f"another step on a machine ({known})"
                yield Fault(f"{at}.tended_during", step.tended_during, expected, "Correct the name.")

    def rules(self) -> Iterator[Fault]:
        """A stop has a length."""
        if np.any(self.stops > 0.0) and np.any(self.stop_time <= 0.0):
            yield Fault(
                "stop_time", "", "how long a stop lasts, since stops are stated", 'Write "2 wk", say.'
            )
