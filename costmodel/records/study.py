"""A study: one question about one part, with every input it rests on, and the one way to change them."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from costmodel.records import quantities as q
from costmodel.records.address import Plan, child, make_plan, tokens
from costmodel.records.criterion import Criterion
from costmodel.records.faults import Fault, joined, range_shown
from costmodel.records.fields import Name, Named, Record, Vouched
from costmodel.records.part import Part
from costmodel.records.quote import FOUND_AT, Quote
from costmodel.records.quote_faults import quote_faults, unlike_offer
from costmodel.records.rates import Rates, missing_row
from costmodel.records.route_faults import name_faults, twice_faults
from costmodel.records.uncertain import (
    Driver,
    RankCorrelation,
    Scenario,
    Uncertain,
    correlation_faults,
    in_their_columns,
    weight_faults,
)
from costmodel.units import Number

DOUBTS = ("uncertainty", "drivers", "correlations")
"""Tables of a study that say how far inputs may be off."""
RateBasis = Literal["practical", "budgeted", "cash", "displaced"]
BASIS_WORDS: dict[RateBasis, str] = {
    "practical": "full, practical hours",
    "budgeted": "full, budgeted hours",
    "cash": "cash only",
    "displaced": "cash and displaced work",
}
"""What an hour of a machine is counted at, as a reader is told."""

NO_INPUT = ("decided_on",)
"""Fields of a study that move no figure and no fingerprint."""


class Demand(Vouched):
    """How many good parts are used: a year, how that grows, how unevenly a week, and what a missing one costs.

    ``peak`` is the busiest month over the average one.
    """

    per_year: q.PartsPerYear
    growth: q.YearlyRate = 0.0
    weekly_sd: q.PartsPerWeek
    weeks: q.WeeksPerYear
    shortage_cost: q.MoneyPerPart
    peak: q.AtLeastOne = 1.0


class Tax(Record):
    """How equipment is written off and income taxed, for the view after tax; an accountant sets these.

    "macrs" takes 3, 5 or 7 years, with the half-year convention of the published table. "declining balance"
    writes off ``factor`` over the years of what is left in the books.
    """

    rate: q.Fraction
    method: Literal["straight line", "declining balance", "macrs"]
    years: Annotated[int, Field(ge=1, le=40)]
    factor: q.PlainNumber = 2.0

    def rules(self) -> Iterator[Fault]:
        """The published table has three recovery periods; a year writes off at most all that is left."""
        if self.method == "macrs" and self.years not in (3, 5, 7):
            yield Fault(
                "years", str(self.years), "3, 5 or 7 years for macrs", "Choose one or another method."
            )
        if self.method == "declining balance" and np.any((self.factor <= 0.0) | (self.factor > self.years)):
            expected = f"a number above 0 and at most the {self.years} years"
            yield Fault("factor", range_shown(self.factor), expected, "Write 2 for the double rate, say.")


class Finance(Vouched):
    """How money is counted: the discount rate a year, the horizon in months, stock holding a year, service.

    ``service`` is the share of orders of stock that bring it in time ("cycle"), or of demand served from the shelf
    ("fill"). ``basis`` states which machine-hour rate the running cost is shown at; the cash flow is on cash always.
    ``money`` states in which terms the discount rate is: nominal (default), or real, of today's buying power,
    when ``inflation`` turns the index series into real changes. The two are never mixed.
    """

    discount_rate: q.Fraction
    money: Literal["nominal", "real"] = "nominal"
    inflation: q.YearlyRate = 0.0
    tax: Tax | None = None
    horizon: Annotated[int, Field(ge=1, le=600)]
    holding: q.Fraction
    service: q.Probability
    service_measure: Literal["cycle", "fill"] = "cycle"
    basis: RateBasis = "practical"

    def rules(self) -> Iterator[Fault]:
        """Holding stock costs at least the interest on its money."""
        if np.any(self.holding < self.discount_rate):
            expected = "at least the discount rate, which it contains"
            yield Fault("holding", range_shown(self.holding), expected, "Raise it or lower discount_rate.")


class Portion(Record):
    """The share of the volume that one of the other alternatives carries in a split.

    ``steps_up`` is the share of what a stop of another one leaves missing that this one brings in its place.
    """

    name: Name
    share: q.Share
    steps_up: q.Fraction = 1.0


class Alternative(Record):
    """One way of getting good parts to the point of use: make by a route, buy from a supplier, or a split.

    ``lot`` is what is made or ordered at once; ``orders_per_year`` instead makes it follow the volume.
    ``ramp`` is the share of the volume that it carries in its first, second, ... month; the way of today
    carries the rest until the list ends.
    ``current`` marks how it is done today: what was paid once for it is past and counts nothing, and its stock
    is there: a change sets that money free over ``use_up`` months, while the old stock is used. ``override``
    is the reason for comparing an offer that has expired or is for another revision; every page shows it.
    """

    name: Name
    title: str
    make: str = ""
    buy: str = ""
    shares: Named[Portion] = Named()
    lot: q.MaybeParts = None
    orders_per_year: q.MaybePerYear = None
    ramp: tuple[Annotated[float, Field(ge=0, le=1)], ...] = ()
    current: bool = False
    use_up: Annotated[int, Field(ge=1, le=60)] = 3
    override: str = ""

    def stepped_in(self, stopped: str) -> Number:
        """Share of what a stop of one source of a split leaves missing that the others bring [fraction]."""
        others: Number = sum((it.steps_up for name, it in self.shares.items() if name != stopped), start=0.0)
        return np.minimum(others, 1.0)

    def rules(self) -> Iterator[Fault]:
        """Exactly one of make, buy, shares; a lot unless it is a split; shares that sum to one."""
        given = [word for word in ("make", "buy", "shares") if getattr(self, word)]
        if len(given) != 1:
            yield Fault(
                "make", " and ".join(given) or "none", "exactly one of make, buy, shares", "State one."
            )
        if not self.shares and (self.lot is None) == (self.orders_per_year is None):
            expected = "what is made or ordered at once: lot or orders_per_year, one of the two"
            yield Fault("lot", "", expected, 'Write lot = "200 part", say.')
        total: Number = sum((portion.share for portion in self.shares.values()), start=0.0)
        if self.shares and np.any(np.abs(total - 1.0) > 1e-9):
            yield Fault("shares", range_shown(total), "shares that sum to 100 %", "Correct the shares.")


class CapacityStep(Record):
    """A way to more hours of a machine: how many a year, and what they cost an hour, a year and once.

    ``per_hour`` is what such an hour costs more than a free one; what is paid once is shared over ``life``.
    """

    name: Name
    title: str
    hours: q.HoursPerYear
    per_hour: q.MoneyPerHour = 0.0
    per_year: q.MoneyPerYear = 0.0
    once: q.Money = 0.0
    life: q.Years = 1.0


class Hours(Vouched):
    """Hours a year that a machine has free, and what an hour of other work displaced from it would earn.

    ``steps`` are the ways beyond: overtime, a second shift, unattended hours, a second machine.
    """

    name: Name
    free_hours: q.AnyHoursPerYear
    contribution: q.MoneyPerHour = 0.0
    steps: Named[CapacityStep] = Named()


class StudyHead(Record):
    """What a study states itself, in a file and in memory alike.

    ``decided_on`` is the day of its decision: from then on it is held by the rates of its own year. Without it the
    study is open, and other rates may move its answer.
    """

    name: Name
    title: str
    question: str
    as_of: datetime.date
    review_date: datetime.date
    decided_on: datetime.date | None = None
    prepared_by: str
    cleared_by: str
    invented: bool
    demand: Demand
    finance: Finance
    alternatives: Named[Alternative]
    capacity: Named[Hours] = Named()
    criteria: Named[Criterion] = Named()
    drivers: Named[Driver] = Named()
    correlations: Named[RankCorrelation] = Named()
    ranges_from_rates: bool = True
    """Whether the low and high of a rates row that the study uses are its range, where it states no other."""


class Study(StudyHead):
    """One make-or-buy question with every input it rests on."""

    part: Part
    rates: Rates
    quotes: Named[Quote]
    uncertainty: Named[Uncertain] = Named()
    scenarios: Named[Scenario] = Named()

    def rules(self) -> Iterator[Fault]:
        """No cost stands both on the part and in the rates; a what-if can raise one of the two from nothing."""
        for route in self.part.routes.values():
            yield from twice_faults(self.part, route, self.rates)

    def links(self) -> Iterator[Fault]:
        """Every name used is the name of something; one alternative is how it is done today."""
        for route in self.part.routes.values():
            yield from name_faults(route, self.rates)
        for name, quote in self.quotes.items():
            yield from quote_faults(name, quote, self.rates)
        if self.part.blank.material not in self.rates.materials:
            yield missing_row(
                "part.blank.material", self.part.blank.material, self.rates.materials, "materials"
            )
        for place in FOUND_AT if self.quotes else ():
            if place not in self.rates.faults:
                yield missing_row(f"rates.faults.{place}", place, self.rates.faults, "faults")
        for name in self.capacity:
            if name not in self.rates.machines:
                yield missing_row(f"capacity.{name}", name, self.rates.machines, "machines")
        for name, criterion in self.criteria.items():
            for missing in [key for key in self.alternatives if key not in criterion.marks]:
                place, expected = f"criteria.{name}.marks", f"a mark for the alternative {missing}"
                yield Fault(place, "", expected, "Mark every alternative, or leave the factor out.")
            for other in [key for key in criterion.marks if key not in self.alternatives]:
                yield missing_row(f"criteria.{name}.marks", other, self.alternatives, "alternatives")
        yield from self._alternative_faults()

        yield from correlation_faults(self.drivers, self.correlations, self.uncertainty)
        yield from weight_faults(self.scenarios)

    def _alternative_faults(self) -> Iterator[Fault]:
        for name, alternative in self.alternatives.items():
            place = f"alternatives.{name}"
            if alternative.make and alternative.make not in self.part.routes:
                yield missing_row(f"{place}.make", alternative.make, self.part.routes, "routes")
            if alternative.buy and alternative.buy not in self.quotes:
                yield missing_row(f"{place}.buy", alternative.buy, self.quotes, "quotes")
            if alternative.buy in self.quotes and not alternative.override:
                yield from unlike_offer(f"{place}.buy", self.quotes[alternative.buy], self.part, self.as_of)
            for other in alternative.shares:
                if other not in self.alternatives or self.alternatives[other].shares:
                    yield missing_row(f"{place}.shares.{other}", other, self.alternatives, "alternatives")
        current = [name for name, alternative in self.alternatives.items() if alternative.current]
        if len(current) != 1:
            expected = "exactly one alternative marked current, the status quo"
            yield Fault("alternatives", ", ".join(current) or "none", expected, "Add current = true to one.")

    def plan(self, addresses: Iterable[str]) -> Plan:
        """Resolve addresses once; ``plan.apply(values)`` then gives a new study. Raises InputError."""
        return make_plan(self, addresses, self.rates.year.home_currency)

    def with_inputs(self, changes: Mapping[str, object]) -> Study:
        """A new study with the inputs at these addresses changed; values may be arrays of draws.

        Raises InputError for an address that does not exist and a value its field refuses.
        """
        study: Study = self.plan(changes).apply(list(changes.values()))
        return study

    def with_lot(self, name: str, lot: Number) -> Study:
        """A new study in which an alternative makes or orders so many parts at once [part]."""
        changes: dict[str, object] = {joined("alternatives", name, "lot"): lot}
        if self.alternatives[name].orders_per_year is not None:
            changes[joined("alternatives", name, "orders_per_year")] = None
        return self.with_inputs(changes)

    def settled(self, changes: Mapping[str, object]) -> Study:
        """A new study in which these inputs are known: changed, and no longer drawn where they were uncertain.

        Every what-if is one: a range that was stated around the old value says nothing of the new one.
        """
        doubts = {place: value for place, value in changes.items() if tokens(place)[0] in DOUBTS}
        if doubts:
            known = {place: value for place, value in changes.items() if place not in doubts}
            return self.with_inputs(doubts).settled(known)
        left = in_their_columns(self.uncertainty, changes)
        measured = {
            joined("part", "routes", name, "maturity"): "measured"
            for name in self.part.routes
            if joined("part", "routes", name, "time_factor") in changes
        }
        kept = {name: driver.without(changes) for name, driver in self.drivers.items()}
        groups = {name: group.without(changes) for name, group in self.correlations.items()}
        return self.with_inputs(
            {
                **measured,
                **changes,
                "uncertainty": Named(left),
                "drivers": Named({name: driver for name, driver in kept.items() if driver.inputs}),
                "correlations": Named({name: group for name, group in groups.items() if group.inputs}),
            }
        )

    def with_scenario(self, name: str) -> Study:
        """A new study in which the inputs of a named scenario are settled; InputError if there is none."""
        scenario: Scenario = child(self.scenarios, name, f"scenarios.{name}")
        return self.settled(scenario.inputs)


def fingerprint(study: Study) -> str:
    """Twelve hexadecimal signs of the SHA-256 of all inputs of a study read from files (no arrays)."""
    return fingerprint_of(study.model_dump(mode="json"))


def fingerprint_of(inputs: Mapping[str, object]) -> str:
    """The fingerprint of a study's inputs as a file keeps them.

    Whether they are decided on is no input, nor is the column in which a range is drawn.
    """
    counted = {name: value for name, value in inputs.items() if name not in NO_INPUT}
    ranges = counted.get("uncertainty")
    if isinstance(ranges, Mapping):
        counted["uncertainty"] = {name: _without_column(spread) for name, spread in ranges.items()}
    text = json.dumps(counted, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _without_column(spread: object) -> object:
    if not isinstance(spread, Mapping):
        return spread
    return {field: value for field, value in spread.items() if field != "column"}
