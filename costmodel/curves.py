"""What charts draw, as numbers: the model at many volumes, months and draws. Nothing is rounded or drawn here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.cost_lines import IN_USE, Line
from costmodel.crossings import VOLUME, Crossing, levelled_cash
from costmodel.decision import Decision
from costmodel.draws.spreads import quantile
from costmodel.make_or_buy import (
    AlternativeCost,
    Comparison,
    alternative_cost,
    cash_by_month,
    levelled,
    once_worth,
)
from costmodel.payback import Payback, cumulative_saving, payback
from costmodel.records.address import sweep
from costmodel.records.study import Study
from costmodel.sensitivity import Swing
from costmodel.uncertainty import Outcome

Floats = npt.NDArray[np.float64]
POINTS = 120
SHARES = 99


class Subject(NamedTuple):
    """What a chart is about: the study, its money, the names and titles of its alternatives."""

    study: str
    currency: str
    invented: bool
    titles: dict[str, str]
    kinds: dict[str, str]


def subject_of(study: Study) -> Subject:
    """The words that every chart of a study shares."""
    kinds = {
        name: "split" if alternative.shares else "make" if alternative.make else "buy"
        for name, alternative in study.alternatives.items()
    }
    titles = {name: alternative.title for name, alternative in study.alternatives.items()}
    invented = study.invented or study.rates.year.invented or study.part.invented
    return Subject(study.name, study.rates.year.home_currency, invented, titles, kinds)


class Cheapest(NamedTuple):
    """The alternative that costs least cash from a volume on, up to the next of these."""

    volume: int
    """First whole number [part/yr]."""
    name: str


def cheapest_by_volume(totals: Mapping[str, Floats], low: int) -> tuple[Cheapest, ...]:
    """Which of all alternatives is the cheapest, from their totals at every whole volume from `low` on."""
    names = list(totals)
    best = np.argmin(np.stack(list(totals.values())), axis=0)
    turns = (0, *(np.flatnonzero(np.diff(best)) + 1))
    return tuple(Cheapest(low + int(at), names[best[at]]) for at in turns)


class VolumeCurves(NamedTuple):
    """Cash cost of a part, once-costs spread over the horizon, over the yearly volume."""

    subject: Subject
    volumes: Floats
    """Whole numbers [part/yr]."""
    per_part: dict[str, Floats]
    """[money/part] of every alternative."""
    first: str
    second: str
    crossings: tuple[Crossing, ...]
    """Of `first` and `second`, the best ways to make and to buy."""
    cheapest: tuple[Cheapest, ...]
    """Of all alternatives, over the same volumes."""
    demand: float
    """[part/yr]"""
    band: tuple[float, float] | None
    """Demand at 10 and 90 % [part/yr]; None where no range is stated."""


def cost_over_volume(decision: Decision, points: int = POINTS) -> VolumeCurves:
    """Every alternative over the volumes that were searched for crossings."""
    study = decision.study
    low, high = decision.crossing_range
    grid = np.unique(np.rint(np.geomspace(low, high, points)))
    cheapest = cheapest_by_volume(decision.totals, low)
    turns = [found.volume for found in decision.crossings] + [found.volume for found in cheapest]
    marks = [at for volume in turns for at in (volume - 1, volume)]
    demand = float(study.demand.per_year)
    volumes = np.unique([*grid, *(float(mark) for mark in marks if mark >= low), demand])
    column = study.with_inputs({VOLUME: sweep(volumes)})
    per_part = {
        name: np.broadcast_to(levelled_cash(column, name), (volumes.size, 1)).ravel() / volumes
        for name in study.alternatives
    }
    return VolumeCurves(
        subject=subject_of(study),
        volumes=volumes,
        per_part=per_part,
        first=decision.make.name,
        second=decision.buy.name,
        crossings=decision.crossings,
        cheapest=cheapest,
        demand=demand,
        band=_band(study),
    )


def _band(study: Study) -> tuple[float, float] | None:
    spread = study.uncertainty.get(VOLUME)
    if spread is None:
        return None
    return float(quantile(study, spread, 0.1)), float(quantile(study, spread, 0.9))


GROUPS = (
    "price or material",
    "machine and tools",
    "hands and set-up",
    "outside work",
    "freight and duty",
    "faults and scrap",
    "stock and the rest",
)
ONCE_SPREAD = "once, spread"
_GROUP_OF_STEP = {
    "blank": GROUPS[0],
    "price": GROUPS[0],
    "transport": GROUPS[4],
    "duty": GROUPS[4],
    "quality": GROUPS[5],
    IN_USE: GROUPS[5],
}
_GROUP_OF_ELEMENT = {
    "scrap": GROUPS[5],
    "rework": GROUPS[5],
    "machine": GROUPS[1],
    "tooling": GROUPS[1],
    "labour": GROUPS[2],
    "set-up": GROUPS[2],
    "outside": GROUPS[3],
}


def group_of(line: Line) -> str:
    """The group of a cost line in the stacked bars; what is named nowhere belongs to the last."""
    return _GROUP_OF_ELEMENT.get(line.element) or _GROUP_OF_STEP.get(line.step, GROUPS[-1])


class CostStack(NamedTuple):
    """What the cost of a part is made of, alternative by alternative."""

    subject: Subject
    basis: str
    groups: tuple[str, ...]
    running: dict[str, tuple[float, ...]]
    """Running cost by group [money/part]; sums to the cost of a part."""
    once: dict[str, float]
    """What is paid once, as equal amounts over the horizon [money/part]."""


def cost_stack(comparison: Comparison) -> CostStack:
    """Running cost by group and once-costs apart, for every alternative on the comparison's basis."""
    return CostStack(
        subject=subject_of(comparison.study),
        basis=comparison.basis,
        groups=GROUPS,
        running={name: _by_group(cost) for name, cost in comparison.alternatives.items()},
        once={
            name: float(
                levelled(once_worth(cost, comparison.study, with_stock=False), comparison.study)
                / cost.per_year_parts
            )
            for name, cost in comparison.alternatives.items()
        },
    )


def _by_group(cost: AlternativeCost) -> tuple[float, ...]:
    def in_group(group: str) -> float:
        return float(cost.per_part(lambda line: group_of(line) == group))

    return tuple(in_group(group) for group in GROUPS)


class CostSteps(NamedTuple):
    """Why one alternative costs another amount than another: step by step from the one figure to the other."""

    subject: Subject
    start: str
    target: str
    before: float
    """[money/part]"""
    after: float
    """[money/part]"""
    steps: dict[str, float]
    """By group; they add to the difference [money/part]."""


def cost_steps(stack: CostStack, start: str, target: str) -> CostSteps:
    """From the cost of a part by one way to that by another, what is paid once spread in it."""
    groups = (*stack.groups, ONCE_SPREAD)
    before, after = ([*stack.running[name], stack.once[name]] for name in (start, target))
    steps = {group: now - was for group, was, now in zip(groups, before, after, strict=True)}
    return CostSteps(stack.subject, start, target, sum(before), sum(after), steps)


class CashCurve(NamedTuple):
    """Cash saved up to each month by changing from one alternative to another."""

    subject: Subject
    start: str
    target: str
    months: Floats
    """Month 0 to the horizon."""
    saved: Floats
    """Without the money that stock ties up or frees [money]."""
    with_stock: Floats
    """With it, as the bank account sees it [money]."""
    back_month: int | None
    """First month from which `saved` stays above zero; None where it does not end there, 0 with nothing paid."""
    deepest: float
    """The most that is out at once, `saved` at its lowest [money]."""


def cash_over_months(study: Study, change: Payback) -> CashCurve:
    """The cumulative cash of a change, with and without the money in stock."""
    saved = cumulative_saving(study, change.start, change.target).ravel()
    flows = [cash_by_month(alternative_cost(study, name, "cash"), study) for name in change[:2]]
    return CashCurve(
        subject=subject_of(study),
        start=change.start,
        target=change.target,
        months=np.arange(saved.size, dtype=np.float64),
        saved=saved,
        with_stock=np.cumsum(flows[0] - flows[1], axis=0).ravel(),
        back_month=_back_month(saved),
        deepest=float(saved.min()),
    )


def _back_month(saved: Floats) -> int | None:
    below = np.flatnonzero(saved < 0.0)
    if below.size == 0:
        return 0
    month = int(below[-1]) + 1
    return month if month < saved.size else None


class SwingBars(NamedTuple):
    """How far each input alone moves the advantage of making over buying, widest first."""

    subject: Subject
    study: Study
    first: str
    second: str
    base: float
    """The advantage with every input at its base [money]."""
    swings: tuple[Swing, ...]
    """Those that move it."""
    idle: tuple[Swing, ...]
    """Those that do not: neither alternative, or no cash, depends on them."""


def ranked_swings(decision: Decision) -> SwingBars:
    """The swings that move the advantage, and apart those that do not."""
    worth = decision.comparison.worth
    base = float(worth[decision.buy.name] - worth[decision.make.name])
    least = 1e-9 * max(1.0, abs(base))
    return SwingBars(
        subject=subject_of(decision.study),
        study=decision.study,
        first=decision.make.name,
        second=decision.buy.name,
        base=base,
        swings=tuple(swing for swing in decision.swings if swing.width > least),
        idle=tuple(swing for swing in decision.swings if swing.width <= least),
    )


class AdvantageCurve(NamedTuple):
    """Worth today of what making saves over buying: how often it stays below each value."""

    subject: Subject
    first: str
    second: str
    shares: Floats
    """[fraction]"""
    values: Floats
    """[money]"""
    points: tuple[float, float, float]
    """At 10, 50 and 90 % [money]."""
    chance: float
    """Share of draws in which making costs less [fraction]."""
    draws: int


def advantage_curve(study: Study, outcome: Outcome, shares: Iterable[float] = ()) -> AdvantageCurve:
    """The advantage in every hundredth of the draws."""
    wanted = np.array(list(shares) or np.arange(1, SHARES + 1) / (SHARES + 1), dtype=np.float64)
    return AdvantageCurve(
        subject=subject_of(study),
        first=outcome.first,
        second=outcome.second,
        shares=wanted,
        values=np.quantile(outcome.sample, wanted),
        points=outcome.advantage,
        chance=outcome.chance,
        draws=outcome.draws,
    )


def recommended_change(decision: Decision) -> Payback:
    """From today's way to the one recommended; where that is today's, to the best way of the other side."""
    current, target = decision.comparison.current.name, decision.verdict.alternative
    if target == current:
        target = decision.buy.name if current == decision.make.name else decision.make.name
    return decision.payback if target == decision.payback.target else payback(decision.study, current, target)


def is_todays(decision: Decision) -> bool:
    """Whether the alternative recommended is how it is done today."""
    return decision.verdict.alternative == decision.comparison.current.name
