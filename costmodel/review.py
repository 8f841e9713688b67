"""A year after: the plan as it was decided, the same model on what happened, and what the gap is made of.

The plan is a snapshot: its inputs stand in it, so that no later edit of a file moves them. Actual inputs go
through `study.settled`, the one mechanism of every what-if. The gap is split in the stated order of causes, each after
those before it ("sequential"), as a variance account in a works does; other methods are at hand.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from costmodel.decision import Decision, decide
from costmodel.draws.spreads import quantile
from costmodel.formulas.bridge import SplitMethod
from costmodel.formulas.investment import simple_payback
from costmodel.formulas.measured_values import Weighed, weighed_log
from costmodel.make_or_buy import MONTHS_PER_YEAR, compare, current_name
from costmodel.make_or_buy import alternative_cost as cost_of
from costmodel.measured import around, belief, number_text, range_number
from costmodel.payback import payback
from costmodel.rate_compare import Bridge, Difference, bridges, cause_of, differences, running
from costmodel.records.address import tokens, unit_at, value_at
from costmodel.records.faults import joined
from costmodel.records.fields import Record
from costmodel.records.rate_sheet import Change
from costmodel.records.snapshot import Actual, Actuals, Planned, Signature, Snapshot
from costmodel.records.study import Study, fingerprint
from costmodel.supply import DAYS_PER_YEAR

CAUSES = ("rate", "cycle", "scrap", "finish", "tooling", "paid once", "offer", "volume", "other")
DAYS_PER_MONTH = DAYS_PER_YEAR / MONTHS_PER_YEAR


def freeze(
    decision: Decision,
    day: datetime.date,
    *,
    library: str = "",
    marks: Mapping[str, str] | None = None,
    signatures: Iterable[Signature] = (),
) -> Snapshot:
    """The snapshot of a decision: what it leans to, over how it is done today, with the figures it promised."""
    study = decision.study
    chosen, baseline = decision.verdict.alternative, current_name(study)
    return Snapshot(
        study=study,
        fingerprint=decision.fingerprint,
        library=library,
        decided_on=day,
        answer=decision.verdict.answer,
        chosen=chosen,
        baseline=baseline,
        planned=planned(study, chosen, baseline),
        marks=dict(marks or {}),
        signatures=tuple(signatures),
    )


def plan_or_now(plan: Snapshot | None, study: Study, *, draws: int = 256) -> Snapshot:
    """The plan that was kept; where none was, the study as it stands, decided now."""
    return plan or freeze(decide(study, draws=draws), study.as_of)


def planned(study: Study, chosen: str, baseline: str) -> Planned:
    """What changing from the baseline to the chosen alternative promises."""
    back = payback(study, baseline, chosen)
    months = float(back.cash_months)
    return Planned(
        per_part=running(chosen)(study),
        baseline_per_part=running(baseline)(study),
        saving_per_year=saving(chosen, baseline)(study),
        once=float(back.once),
        payback_months=months if np.isfinite(months) else None,
    )


def saving(chosen: str, baseline: str) -> Callable[[Study], float]:
    """Saved a year by one alternative against another [money/yr]: cost of a part times parts, both on one study."""
    return lambda study: float(cost_of(study, baseline).per_year() - cost_of(study, chosen).per_year())


def gap_cause(address: str, root: Record) -> str:
    """The cause of a gap that an input belongs to, in the words of a works' variance account."""
    path = tokens(address)
    general = cause_of(address, root)
    if path[0] == "demand" or (general == "volume" and path[0] != "rates"):
        return "volume"
    if general == "yield":
        return "offer" if path[0] == "quotes" else "scrap"
    if path[0] == "rates":
        return {"processors": "finish", "tools": "tooling"}.get(path[1], "rate")
    if path[0] == "quotes":
        return "offer"
    if path[0] == "part":
        return _cause_in_part(path)
    return "other"


def _cause_in_part(path: tuple[str, ...]) -> str:
    if "once" in path:
        return "paid once"
    if "items" in path or "yearly" in path or "blank" in path:
        return "other"
    return "cycle"


class Lesson(NamedTuple):
    """An input as planned and as it was, whether the plan's range held it, and the belief to start from next time."""

    address: str
    unit: str
    plan: float
    actual: float
    in_range: bool | None
    """None where the plan gave no range."""
    n: int | None
    weight: float
    low: float
    likely: float
    high: float
    """10, 50 and 90 % points of the new belief [unit]."""

    @property
    def ratio(self) -> float:
        """Actual over plan."""
        return self.actual / self.plan if self.plan else np.inf


class Again(NamedTuple):
    """The question asked anew on actual inputs: what is paid is past, the rest of the horizon lies ahead."""

    months: int
    best: str
    best_buy: str
    lead: float
    """Worth today of the best over the chosen alternative [money]; zero where the chosen is the best."""
    buy_lead: float
    """Worth today of the best way to buy over the chosen alternative [money]; below zero where buying costs more."""


@dataclass(frozen=True)
class Review:
    """What a decision promised and what it brought."""

    snapshot: Snapshot
    actuals: Actuals
    study: Study
    gap: Bridge
    """Cost of a part of the chosen alternative, plan to actual, by cause."""
    baseline_gap: Bridge
    saving: Bridge
    """Saving a year, plan to actual, by cause."""
    realised: Planned
    promised_cash: float
    """Cash saved a year as planned [money/yr], the basis of the decision and of every payback."""
    realised_cash: float
    months: float
    """Months from the decision to the end of the period."""
    lessons: tuple[Lesson, ...]
    again: Again

    @property
    def reached(self) -> bool:
        """Whether the money paid once is back by the end of the period."""
        return self.realised.payback_months is not None and self.realised.payback_months <= self.months

    @property
    def payback_day(self) -> datetime.date | None:
        """When the money is back, at what it really saves; None where it never is."""
        return payback_day(self.snapshot.decided_on, self.realised.payback_months)

    @property
    def share(self) -> float:
        """Saving realised as a share of the saving promised."""
        return self.saving.after / self.saving.before if self.saving.before else np.inf

    @property
    def intact(self) -> bool:
        """Whether the frozen inputs still have the fingerprint of the decision."""
        return not self.snapshot.edited


def payback_day(start: datetime.date, months: float | None) -> datetime.date | None:
    """The day so many months after another; None for never."""
    return None if months is None else start + datetime.timedelta(days=round(months * DAYS_PER_MONTH))


def review(snapshot: Snapshot, actuals: Actuals, *, method: SplitMethod = "sequential") -> Review:
    """Run the plan's own model on what happened. Raises InputError for an address that the plan does not have."""
    plan = snapshot.study
    study = plan.settled({address: actual.value for address, actual in actuals.actual.items()})
    chosen, baseline = snapshot.chosen, snapshot.baseline
    currency = plan.rates.year.home_currency
    measures = {
        "chosen": (f"{currency}/part", running(chosen)),
        "baseline": (f"{currency}/part", running(baseline)),
        "saving": (f"{currency}/yr", saving(chosen, baseline)),
    }
    found = _numbers(differences(plan, study, home=currency), actuals)
    causes = [cause for cause in CAUSES if any(_cause(it.address, plan, actuals) == cause for it in found)]
    split = bridges(
        plan,
        study,
        measures,
        causes=causes or CAUSES[:1],
        classify=lambda address, root: _cause(address, root, actuals),
        method=method,
        found=found,
    )
    months = (actuals.until - snapshot.decided_on).days / DAYS_PER_MONTH
    return Review(
        snapshot=snapshot,
        actuals=actuals,
        study=study,
        gap=replace(split["chosen"], name=chosen),
        baseline_gap=replace(split["baseline"], name=baseline),
        saving=split["saving"],
        realised=_realised(snapshot, actuals, study),
        promised_cash=_cash(plan, snapshot),
        realised_cash=_cash(study, snapshot),
        months=months,
        lessons=tuple(_lesson(plan, study, actual) for actual in actuals.actual.values()),
        again=_again(study, chosen, months),
    )


def _cash(study: Study, snapshot: Snapshot) -> float:
    """Cash saved a year [money/yr]."""
    return float(payback(study, snapshot.baseline, snapshot.chosen).cash_saving)


def _realised(snapshot: Snapshot, actuals: Actuals, study: Study) -> Planned:
    """What the change brought; money paid once stays as it was paid, however many parts are used since."""
    plan, chosen, baseline = snapshot.study, snapshot.chosen, snapshot.baseline
    rest = {name: it.value for name, it in actuals.actual.items() if _cause(name, plan, actuals) != "volume"}
    once = float(payback(plan.settled(rest), baseline, chosen).once)
    months = float(simple_payback(max(once, 0.0), _cash(study, snapshot) / MONTHS_PER_YEAR))
    back = months if np.isfinite(months) else None
    return Planned(**{**planned(study, chosen, baseline).__dict__, "once": once, "payback_months": back})


def _numbers(found: Iterable[Difference], actuals: Actuals) -> tuple[Difference, ...]:
    """The differences that somebody stated; that a route's times are measured now moves no figure."""
    return tuple(it for it in found if it.address in actuals.actual)


def _cause(address: str, root: Record, actuals: Actuals) -> str:
    return actuals.actual[address].cause or gap_cause(address, root)


def _lesson(plan: Study, study: Study, actual: Actual) -> Lesson:
    address = actual.name
    believed, sd, ranged = belief(plan, address)
    value = float(value_at(study, address))
    held = None
    if ranged:
        low, high = (float(quantile(plan, plan.uncertainty[address], share)) for share in (0.1, 0.9))
        held = low <= value <= high
    spread = range_number(plan, address, actual.spread) if actual.spread else sd
    n = actual.n if _sampled(actual) else 1
    weighed = Weighed(value, sd, 1.0) if actual.counted else weighed_log(believed, sd, value, spread, n or 1)
    middle = float(weighed.middle)
    unit = unit_at(plan, address, plan.rates.year.home_currency)
    low_end, high_end = around(middle, float(weighed.spread), unit)
    return Lesson(
        *(address, unit, believed, value, held, actual.n, float(weighed.weight)),
        *(low_end, middle, high_end),
    )


def lesson_changes(found: Review) -> tuple[Change, ...]:
    """The lessons as changes for a person to accept, their ranges the belief to start from next time."""
    actual = found.actuals.actual
    return tuple(
        Change(
            address=lesson.address,
            was=number_text(lesson.plan, lesson.unit),
            value=number_text(lesson.likely, lesson.unit),
            low=number_text(lesson.low, lesson.unit),
            high=number_text(lesson.high, lesson.unit),
            n=lesson.n,
            spread=actual[lesson.address].spread,
            how=_how(actual[lesson.address], lesson),
            source=f"review to {found.actuals.until}: {actual[lesson.address].source}",
            as_of=found.actuals.until,
            owner=found.actuals.prepared_by,
            status="measured"
            if _sampled(actual[lesson.address]) or actual[lesson.address].counted
            else "guess",
        )
        for lesson in found.lessons
        if lesson.actual != lesson.plan
    )


def _sampled(actual: Actual) -> bool:
    return bool(actual.n and actual.spread)


def _how(actual: Actual, lesson: Lesson) -> str:
    """How a lesson was found: what was counted is taken, its range as wide as the plan's since years differ."""
    came = number_text(lesson.actual, lesson.unit)
    if actual.counted:
        return f"counted: {came}; its range is as wide as the plan's was, for another year"
    sample = "" if _sampled(actual) else "; one figure, no sample, so still a belief"
    return f"came to {came}, weight {lesson.weight:.2f} against the plan{sample}"


def _again(study: Study, chosen: str, months: float) -> Again:
    left = max(1, int(study.finance.horizon - round(months)))
    changes: dict[str, object] = {joined("alternatives", current_name(study), "current"): False}
    changes |= {joined("alternatives", chosen, "current"): True, "finance.horizon": left}
    ahead = compare(study.with_inputs(changes))
    worth = {name: float(amount) for name, amount in ahead.worth.items()}
    best = min(worth, key=lambda name: worth[name])
    buys = [name for name, cost in ahead.alternatives.items() if cost.kind == "buy"]
    best_buy = min(buys, key=lambda name: worth[name]) if buys else ""
    buy_lead = worth[chosen] - worth[best_buy] if best_buy else -np.inf
    return Again(left, best, best_buy, worth[chosen] - worth[best], buy_lead)


class Kept(NamedTuple):
    """What a plan promised when it was decided, and what its own inputs give today."""

    snapshot: Snapshot
    today: Planned

    @property
    def holds(self) -> bool:
        """Whether every figure is the same to the cent, and the inputs are those of the decision."""
        pairs = zip(self.snapshot.planned.__dict__.values(), self.today.__dict__.values(), strict=True)
        same = all(
            one == other if one is None or other is None else round(one - other, 2) == 0.0
            for one, other in pairs
        )
        return same and not self.snapshot.edited


def kept(snapshot: Snapshot) -> Kept:
    """A plan's figures computed anew from its frozen inputs, at the rates of its own year."""
    return Kept(snapshot, planned(snapshot.study, snapshot.chosen, snapshot.baseline))


class SignOff(NamedTuple):
    """What a page says of its signatures: a line each, what has changed since, and whether a review is due."""

    lines: tuple[str, ...]
    changed: tuple[str, ...]
    due: str = ""

    @property
    def valid(self) -> bool:
        """Whether all signatures stand on the inputs as they are."""
        return bool(self.lines) and not self.changed


def sign_off(snapshot: Snapshot, study: Study, today: datetime.date) -> SignOff:
    """Who signed, on which inputs; whether the inputs of today are others, and which; whether a review is due.

    A signature on the kept inputs is held against these inputs themselves, not their fingerprint: a later version of
    the library may know a field more, which the plan then has at its stated value.
    """
    now = fingerprint(study)
    moved = list(dict.fromkeys(_whole(it.address) for it in differences(snapshot.study, study)))
    lines = [
        f"{signature.role} by {signature.who} on {signature.day}, inputs {signature.fingerprint}"
        for signature in snapshot.signatures
    ]
    changed = [
        f"inputs have changed since {signature.who} {signature.role} them: {signature.fingerprint}, now {now}"
        for signature in snapshot.signatures
        if (moved if signature.fingerprint == snapshot.fingerprint else signature.fingerprint != now)
    ]
    if changed:
        shown = ", ".join(moved[:6]) + (f" and {len(moved) - 6} more" if len(moved) > 6 else "")
        changed.append(f"what differs: {shown}" if moved else "the signed inputs were others than those kept")
    due = f"a review was due by {study.review_date}" if study.review_date < today else ""
    return SignOff(tuple(lines), tuple(changed), due)


def _whole(address: str) -> str:
    """An address as a person looks for it: of a range, the input that it is of."""
    path = tokens(address)
    return f"the range of {path[1]}" if path[0] == "uncertainty" and len(path) > 1 else address


def signed(snapshot: Snapshot, signature: Signature) -> Snapshot:
    """The snapshot with one more signature; a role signed again replaces the earlier one."""
    kept = (it for it in snapshot.signatures if it.role != signature.role)
    return Snapshot(**{**snapshot.__dict__, "signatures": (*kept, signature)})
