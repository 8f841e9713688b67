"""The decision: make or buy, how sure, on what conditions. The rules of the verdict stand here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, NamedTuple, get_args

import numpy as np

from costmodel.blinding import shows_pay
from costmodel.capacity import MachineHours, machine_hours
from costmodel.cost_lines import Flag
from costmodel.crossings import Crossing, Floats, crossings_of, totals_by_volume
from costmodel.draws.spreads import quantile
from costmodel.errors import InputError, Problem
from costmodel.make_or_buy import AlternativeCost, Comparison, alternative_cost, compare, levelled, once_worth
from costmodel.maturity import maturity_flags
from costmodel.payback import Payback, payback
from costmodel.records.address import value_at
from costmodel.records.study import BASIS_WORDS, RateBasis, Study, fingerprint
from costmodel.records.uncertain import Uncertain
from costmodel.register import Assumption, freshness_flags, register, steady_flags
from costmodel.returns import AfterTax, Returns, after_tax, returns
from costmodel.sensitivity import Swing, swings
from costmodel.uncertainty import Outcome, Points, Sample, outcome, points, sample
from costmodel.units import Number

TAILS = 0.01
"""Share on either side of a range without ends beyond which a value is taken for none of its own."""

Answer = Literal["make", "buy", "too close to call"]


class BasisView(NamedTuple):
    """Both sides on one rate basis, today's running cost with once-costs levelled [money/part]."""

    basis: RateBasis
    make: float
    buy: float

    @property
    def answer(self) -> Literal["make", "buy"]:
        """The cheaper side on this basis."""
        return "make" if self.make < self.buy else "buy"


class Rival(NamedTuple):
    """Another way from which the draws do not tell the named one apart."""

    name: str
    saved: Points
    """Worth today of what the named one saves over it at 10, 50 and 90 % [money]."""


class Verdict(NamedTuple):
    """The recommendation in one word, the alternative it names or leans to, and why."""

    answer: Answer
    alternative: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Decision:
    """The verdict and what it rests on; all else that the page shows is worked out when first asked for.

    A what-if that asks only for the verdict and one chart so pays for nothing more.
    """

    study: Study
    comparison: Comparison
    make: AlternativeCost
    buy: AlternativeCost
    drawn: Sample
    """The two sides in every draw."""
    outcome: Outcome
    """What the draws say of the two sides."""
    bases: tuple[BasisView, ...]
    capacity: tuple[MachineHours, ...]
    verdict: Verdict
    pay_shown: bool = True
    """Whether pay, and minutes of hands by which it could be worked out, may be shown."""

    @cached_property
    def drawn_of_all(self) -> Sample:
        """Every alternative in the same draws."""
        return self.drawn.of(self.study.alternatives)

    @cached_property
    def outcome_of_all(self) -> Outcome:
        """What the draws say of every alternative."""
        return outcome(self.drawn_of_all, self.make.name, self.buy.name)

    @cached_property
    def rivals(self) -> tuple[Rival, ...]:
        """Ways beside the two sides whose gap to the one named holds zero from 10 to 90 %, the best first.

        The verdict is between making and buying; this says whether the way it names is told from the next one.
        """
        names, worth = self.drawn_of_all.names, self.drawn_of_all.worth
        named = worth[names.index(self.verdict.alternative)]
        others = [name for name in names if name not in (self.make.name, self.buy.name)]
        gaps = [Rival(name, points(worth[names.index(name)] - named)) for name in others]
        close = [rival for rival in gaps if rival.saved[0] <= 0.0 <= rival.saved[2]]
        return tuple(sorted(close, key=lambda rival: rival.saved[1]))

    @cached_property
    def steps_worth(self) -> float:
        """Worth today of the steps that bring the hours making lacks, over the horizon; in no other figure [money]."""
        yearly = sum(step.per_year for hours in self.capacity for step in hours.steps)
        once = sum(step.once for hours in self.capacity for step in hours.steps)
        return yearly / float(levelled(1.0, self.study)) + once

    @cached_property
    def fitting(self) -> tuple[str, ...]:
        """Ways that need no missing hours and cost less cash than the best way to buy, on base values, best first."""
        worth, bar = self.comparison.worth, self.comparison.worth[self.buy.name]
        made = [cost for cost in self.comparison.alternatives.values() if cost.kind != "buy"]
        fit = [cost.name for cost in made if not any(it.short for it in machine_hours(self.study, cost))]
        return tuple(sorted((name for name in fit if worth[name] < bar), key=lambda name: float(worth[name])))

    @cached_property
    def fingerprint(self) -> str:
        """Of all inputs."""
        return fingerprint(self.study)

    @cached_property
    def payback(self) -> Payback:
        """When making has paid back what is spent once, against today's way."""
        return payback(self.study, self.comparison.current.name, self.make.name)

    @cached_property
    def returns(self) -> Returns:
        """What the money put into making earns, against today's way."""
        return returns(self.study, self.comparison.current.name, self.make.name)

    @cached_property
    def after_tax(self) -> AfterTax | None:
        """The same after tax; nothing where the study states no tax."""
        tax = self.study.finance.tax
        current = self.comparison.current.name
        return None if tax is None else after_tax(self.study, current, self.make.name, tax)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Every volume in `crossing_range` at which the cheaper side changes."""
        return crossings_of(self.totals, self.make.name, self.buy.name, self.crossing_range[0])

    @cached_property
    def totals(self) -> dict[str, Floats]:
        """Cash a year of every alternative at every whole volume in `crossing_range` [money/yr]."""
        return totals_by_volume(self.study, self.study.alternatives, *self.crossing_range)

    @cached_property
    def crossing_range(self) -> tuple[int, int]:
        """The volumes looked at [part/yr]."""
        return volume_range(self.study)

    @cached_property
    def swings(self) -> tuple[Swing, ...]:
        """What each input moves, alone and over its own range, widest first."""
        found = swings(self.study, self.make.name, self.buy.name)
        return tuple(swing for swing in found if self.pay_shown or not shows_pay(swing.address))

    @cached_property
    def register(self) -> tuple[Assumption, ...]:
        """Every assumption."""
        return tuple(row for row in register(self.study) if self.pay_shown or not shows_pay(row.address))

    @cached_property
    def flags(self) -> tuple[Flag, ...]:
        """What a person should look at: stale figures, limits near, quotes unlike."""
        study = self.study
        told = (*freshness_flags(study), *range_flags(study), *maturity_flags(study), *steady_flags(study))
        return (*told, *_all_flags(self.comparison))

    def conditions(self) -> tuple[Swing, ...]:
        """What must stay true: the inputs whose switching value lies in their range, nearest first."""
        found = [swing for swing in self.swings if swing.switching is not None]
        return tuple(sorted(found, key=lambda swing: abs(swing.distance or np.inf)))

    def status_counts(self) -> dict[str, int]:
        """How many assumptions are guessed, quoted, measured."""
        return {
            status: sum(row.status == status for row in self.register)
            for status in ("guess", "quoted", "measured")
        }


def without_pay(decision: Decision) -> Decision:
    """The decision with all that shows pay left out of what its page and tables list."""
    return replace(decision, pay_shown=False)


def decide(study: Study, *, draws: int = 8192, seed: int = 1) -> Decision:
    """Compare the best way to make with the best way to buy, both chosen on the base values, and judge."""
    comparison = compare(study)
    make, buy = _best(comparison, "make"), _best(comparison, "buy")
    drawn = sample(study, (make.name, buy.name), draws=draws, seed=seed)
    said = outcome(drawn, make.name, buy.name)
    bases = tuple(_on_basis(study, basis, make.name, buy.name) for basis in get_args(RateBasis))
    capacity = machine_hours(study, make)
    verdict = judge(said, bases, capacity, make, buy)
    return Decision(study, comparison, make, buy, drawn, said, bases, capacity, verdict)


def best_pair(study: Study, comparison: Comparison | None = None) -> tuple[str, str]:
    """The names of the best way to make and the best way to buy, on the base values."""
    comparison = comparison or compare(study)
    return _best(comparison, "make").name, _best(comparison, "buy").name


def chosen_way(study: Study, name: str, kind: Literal["make", "buy", "current"]) -> str:
    """The alternative of a name; without one today's way, or the best of a kind by cash over the horizon."""
    if not name:
        comparison = compare(study)
        return comparison.current.name if kind == "current" else _best(comparison, kind).name
    if name not in study.alternatives:
        expected = f"one of {', '.join(study.alternatives)}"
        raise InputError([Problem(study.name, "alternatives", name, expected, "Name one of them, or none.")])
    return name


def _best(comparison: Comparison, kind: str) -> AlternativeCost:
    """The alternative of a kind whose cash over the horizon is worth least."""
    costs = [cost for cost in comparison.alternatives.values() if cost.kind == kind]
    if not costs:
        expected, remedy = f"an alternative to {kind}", f"Add one that states {kind}; a split alone is none."
        raise InputError([Problem("study", "alternatives", "none", expected, remedy)])
    return min(costs, key=lambda cost: float(comparison.worth[cost.name]))


def volume_range(study: Study) -> tuple[int, int]:
    """Yearly volumes worth looking at: from a twentieth of the demand to three times it."""
    per_year = float(study.demand.per_year)
    return int(np.ceil(per_year / 20.0)), int(np.ceil(per_year * 3.0))


def _on_basis(study: Study, basis: RateBasis, make: str, buy: str) -> BasisView:
    costs = [alternative_cost(study, name, basis) for name in (make, buy)]
    made, bought = (float(levelled_per_part(study, cost)) for cost in costs)
    return BasisView(basis, made, bought)


def levelled_per_part(study: Study, cost: AlternativeCost) -> Number:
    """Today's running cost and once-costs as equal yearly amounts, a part [money/part]."""
    paid_once = levelled(once_worth(cost, study, with_stock=False), study)
    return (cost.per_year() + paid_once) / study.demand.per_year


def judge(
    said: Outcome,
    bases: Iterable[BasisView],
    capacity: Iterable[MachineHours],
    make: AlternativeCost,
    buy: AlternativeCost,
) -> Verdict:
    """The rules of the verdict.

    Making or buying is recommended where the 10 to 90 % range of the advantage does not hold zero, every rate
    basis gives that answer, and the hours that making needs are there. Otherwise it is too close to call, and the
    reasons say why.
    """
    low, middle, high = said.advantage
    side: Literal["make", "buy"] = "make" if middle > 0.0 else "buy"
    winner = make if side == "make" else buy
    against = _reasons_against(low <= 0.0 <= high, side, bases, capacity)
    if against:
        return Verdict("too close to call", winner.name, against)
    return Verdict(side, winner.name, ("every rate basis gives the same answer",))


def _reasons_against(
    holds_zero: bool, side: str, bases: Iterable[BasisView], capacity: Iterable[MachineHours]
) -> tuple[str, ...]:
    reasons = []
    if holds_zero:
        reasons.append("the 10 to 90 % range of the gap holds zero")
    answers = {view.basis: view.answer for view in bases}
    if len(set(answers.values())) > 1:
        other = " and on ".join(
            f'"{BASIS_WORDS[basis]}"' for basis, answer in answers.items() if answer != side
        )
        reasons.append(f"the answer depends on the rate basis: it is the other one on {other}")
    elif answers and side not in answers.values():
        reasons.append("base values at today's prices give the other answer on every rate basis")
    for hours in capacity:
        if hours.short > 0.0 and side == "make":
            when = f"from month {hours.short_from} on, at the pace of its busiest month"
            reasons.append(f"{hours.machine} is short of {hours.short:.0f} h a year {when}")
    return tuple(reasons)


def range_flags(study: Study) -> tuple[Flag, ...]:
    """Inputs whose value their own range does not hold: the range was stated around another one."""
    text = "its value lies outside its own range, which was stated around another: state it anew"
    return tuple(
        Flag(address, text)
        for address, spread in study.uncertainty.items()
        if not _held(study, address, spread)
    )


def _held(study: Study, address: str, spread: Uncertain) -> bool:
    listed = spread.values or spread.log
    if spread.low is not None and spread.high is not None:
        low, high = spread.low, spread.high
    elif listed:
        low, high = min(listed), max(listed)
    else:
        low, high = (float(quantile(study, spread, share)) for share in (TAILS, 1.0 - TAILS))
    value, room = float(value_at(study, address)), 1e-9 * max(abs(low), abs(high))
    return low - room <= value <= high + room


def _all_flags(comparison: Comparison) -> tuple[Flag, ...]:
    flags = (flag for cost in comparison.alternatives.values() for flag in cost.flags)
    return tuple(dict.fromkeys(flags))
