"""Hours needed against hours free, what lies beyond, and which parts deserve the scarce hours."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.formulas import break_even
from costmodel.make_or_buy import MONTHS_PER_YEAR, AlternativeCost
from costmodel.records.study import Hours, Study

Floats = npt.NDArray[np.float64]


class StepTaken(NamedTuple):
    """One step beyond the free hours: how many of its hours are used, and what that costs a year and once."""

    name: str
    title: str
    hours: float
    per_year: float
    once: float


class MachineHours(NamedTuple):
    """Hours that an alternative needs of a machine and those that are free [h]."""

    machine: str
    needed: float
    """A year, at today's demand [h/yr]."""
    free: float
    """[h/yr]"""
    by_month: Floats
    """Needed in each month of the horizon, demand grown and a ramp in it, as if every month were alike [h/month]."""
    peak: float
    """The busiest month over the average one."""
    steps: tuple[StepTaken, ...] = ()
    """The cheapest steps that bring the missing hours; none where nothing is missing."""
    uncovered: float = 0.0
    """Hours that no stated step brings [h/yr]."""

    @property
    def free_month(self) -> float:
        """Free in a month [h/month]."""
        return self.free / MONTHS_PER_YEAR

    @property
    def peak_needed(self) -> float:
        """Needed in the busiest month of the horizon [h/month]."""
        return float(self.by_month.max()) * self.peak

    @property
    def short(self) -> float:
        """Hours missing a year at the pace of the busiest month of the horizon [h/yr]."""
        return max(0.0, (self.peak_needed - self.free_month) * MONTHS_PER_YEAR)

    @property
    def short_from(self) -> int | None:
        """The first month whose busiest pace asks for more hours than are free; None where none does."""
        months = np.flatnonzero(self.by_month * self.peak > self.free_month)
        return int(months[0]) + 1 if months.size else None


class Claim(NamedTuple):
    """A part that could be made with scarce hours: what making it saves a year, and the hours that takes."""

    part: str
    saving: float
    hours: float

    @property
    def per_hour(self) -> float:
        """Saving for each scarce hour [money/h]: what ranks the claims."""
        return float(break_even.contribution_per_scarce_hour(self.saving, self.hours))


class Award(NamedTuple):
    """The share of a part that gets its hours, and what that saves a year [money/yr]."""

    claim: Claim
    share: float
    saving: float


def machine_hours(study: Study, cost: AlternativeCost) -> tuple[MachineHours, ...]:
    """Hours needed against hours free, for every machine whose free hours the study states."""
    shares = volume_by_month(study, cost)
    return tuple(
        _machine_hours(name, hours, float(cost.machine_hours(name)), shares, float(study.demand.peak))
        for name, hours in study.capacity.items()
    )


def volume_by_month(study: Study, cost: AlternativeCost) -> Floats:
    """Volume of an alternative in each month of the horizon over a twelfth of today's yearly demand [-]."""
    months = np.arange(1, study.finance.horizon + 1)
    grown = (1.0 + float(study.demand.growth)) ** (months / MONTHS_PER_YEAR)
    ramp = np.ones(months.size)
    ramp[: len(cost.ramp)] = cost.ramp[: months.size]
    found: Floats = grown * ramp
    return found


def _machine_hours(name: str, hours: Hours, needed: float, shares: Floats, peak: float) -> MachineHours:
    bare = MachineHours(name, needed, float(hours.free_hours), needed / MONTHS_PER_YEAR * shares, peak)
    steps, uncovered = cheapest_steps(hours, bare.short)
    return bare._replace(steps=steps, uncovered=uncovered)


def cheapest_steps(hours: Hours, short: float) -> tuple[tuple[StepTaken, ...], float]:
    """The cheapest set of steps that brings `short` hours a year, and the hours that none brings [h/yr].

    Exact, by mixed-integer programming: a step costs its yearly sum and a year's share of what is paid once
    as soon as one of its hours is used, and every hour its own price.
    """
    steps = list(hours.steps.values())
    limits = np.array([float(step.hours) for step in steps])
    wanted = min(short, float(limits.sum()))
    if wanted <= 0.0:
        return (), max(0.0, short)
    fixed = [float(step.per_year) + float(step.once) / float(step.life) for step in steps]
    per_hour = [float(step.per_hour) for step in steps]
    used = _filled(_chosen(per_hour, fixed, limits, wanted), per_hour, limits, wanted)
    taken = tuple(
        StepTaken(
            step.name,
            step.title,
            float(amount),
            float(step.per_year) + float(step.per_hour) * float(amount),
            float(step.once),
        )
        for step, amount in zip(steps, used, strict=True)
        if amount > 0.0
    )
    return taken, short - wanted


def _chosen(
    per_hour: Sequence[float], fixed: Sequence[float], limits: Floats, wanted: float
) -> npt.NDArray[np.bool_]:
    """Which steps are taken at all: hours of each at their price, and its fixed cost if one is used."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    count = len(per_hour)
    within = np.hstack([np.eye(count), -np.diag(limits)])
    enough = np.array([1.0] * count + [0.0] * count)
    result = milp(
        np.array([*per_hour, *fixed]),
        integrality=np.array([0] * count + [1] * count),
        bounds=Bounds(0.0, np.array([*limits, *([1.0] * count)])),
        constraints=[LinearConstraint(within, ub=0.0), LinearConstraint(enough, lb=wanted)],
    )
    taken: npt.NDArray[np.bool_] = result.x[count:] > 0.5
    return taken


def _filled(
    taken: npt.NDArray[np.bool_], per_hour: Sequence[float], limits: Floats, wanted: float
) -> list[float]:
    """Hours of each step taken, the cheapest hour first."""
    used = [0.0] * len(per_hour)
    for step in sorted(np.flatnonzero(taken), key=lambda number: per_hour[int(number)]):
        used[step] = float(np.minimum(limits[step], wanted))
        wanted -= used[step]
    return used


def deserving(claims: Iterable[Claim], free: float, *, whole: bool = True) -> tuple[Award, ...]:
    """Which claims get the scarce hours so that the saving a year is greatest, best saving an hour first.

    `whole` gives a part all its hours or none; otherwise a share of a part may be made. Exact, by
    mixed-integer programming: ranking by saving an hour alone can leave hours unused.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    ranked = sorted((claim for claim in claims if claim.saving > 0.0), key=lambda claim: -claim.per_hour)
    if not ranked:
        return ()
    result = milp(
        np.array([-claim.saving for claim in ranked]),
        integrality=np.full(len(ranked), int(whole)),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(np.array([claim.hours for claim in ranked]), ub=free),
    )
    shares = np.round(result.x, 9)
    return tuple(
        Award(claim, float(share), float(share) * claim.saving)
        for claim, share in zip(ranked, shares, strict=True)
    )
