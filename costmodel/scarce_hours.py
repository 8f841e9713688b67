"""The hours of one machine and several parts that want them: who gets them, and what hours for all would cost."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from costmodel.capacity import Award, Claim, MachineHours, cheapest_steps, deserving, volume_by_month
from costmodel.decision import best_pair
from costmodel.errors import InputError, Problem
from costmodel.make_or_buy import MONTHS_PER_YEAR, compare, levelled
from costmodel.records.study import Hours, Study


class ScarceHours(NamedTuple):
    """Who gets the hours of a machine. A part asks for hours at the pace of its busiest month, all year round."""

    machine: str
    claims: tuple[Claim, ...]
    """Every part, its hours at the pace of its busiest month [h/yr]: peak, growth and ramp of its demand in them."""
    awards: tuple[Award, ...]
    """The parts whose making saves, best saving an hour first."""
    together: MachineHours
    """What all parts of the awards need, as if their busiest months fell together, and the cheapest missing hours."""
    others: dict[str, float]
    """Studies that state other free hours than those counted [h/yr]."""
    whole: bool = True
    """Whether a part gets all of its hours or none; else the last may get a share."""

    @property
    def saves_nothing(self) -> tuple[str, ...]:
        """Parts that would need the hours, but that are not dearer to buy."""
        return tuple(it.part for it in self.claims if it.hours > 0.0 and it.saving <= 0.0)

    @property
    def needs_none(self) -> tuple[str, ...]:
        """Parts whose best way to make needs none of the hours."""
        return tuple(it.part for it in self.claims if it.hours <= 0.0)

    @property
    def left(self) -> float:
        """What the parts, or shares of parts, that get no hours would save [money/yr]."""
        return sum(award.claim.saving - award.saving for award in self.awards)


def hours_for(
    studies: Iterable[Study], machine: str, *, free: float | None = None, whole: bool = True
) -> ScarceHours:
    """Give the free hours of a machine to the parts that save most by them, and price hours for all of them.

    Free hours and steps are those of the first study that states steps, or else hours; `free` tries other hours. Of
    two studies of one name the first counts, so that one that was changed stands before the files.
    Raises InputError where no study states the machine.
    """
    each: dict[str, Study] = {}
    for study in studies:
        each.setdefault(study.name, study)
    stated = {name: study.capacity[machine] for name, study in each.items() if machine in study.capacity}
    if not stated:
        expected = f"free hours of {machine} in one of the studies"
        remedy = f"Add [capacity.{machine}] to one."
        raise InputError([Problem("studies", "capacity", machine, expected, remedy)])
    hours = next((it for it in stated.values() if it.steps), next(iter(stated.values())))
    counted = float(hours.free_hours) if free is None else free
    pairs = [_claims(study, machine) for study in each.values()]
    claims = [busiest for _, busiest in pairs]
    wanting = [(today, busiest) for today, busiest in pairs if busiest.hours > 0.0 and busiest.saving > 0.0]
    return ScarceHours(
        machine=machine,
        claims=tuple(claims),
        awards=deserving([busiest for _, busiest in wanting], counted, whole=whole),
        together=_together(machine, hours, counted, wanting),
        others={
            name: float(it.free_hours)
            for name, it in stated.items()
            if float(it.free_hours) != float(hours.free_hours)
        },
        whole=whole,
    )


def _claims(study: Study, machine: str) -> tuple[Claim, Claim]:
    """What making a study's part asks for at today's demand, and at the pace of its busiest month.

    It saves, over its best way to buy, cash over the horizon as equal yearly amounts [money/yr].
    """
    comparison = compare(study)
    make, buy = (comparison.alternatives[name] for name in best_pair(study, comparison))
    saving = levelled(comparison.worth[buy.name] - comparison.worth[make.name], study)
    today = Claim(study.part.name, float(saving), float(make.machine_hours(machine)))
    months = volume_by_month(study, make)
    return today, today._replace(hours=today.hours * float(months.max()) * float(study.demand.peak))


def _together(
    machine: str, hours: Hours, free: float, wanting: Iterable[tuple[Claim, Claim]]
) -> MachineHours:
    pairs = list(wanting)
    busiest = sum(busiest.hours for _, busiest in pairs)
    bare = MachineHours(
        machine=machine,
        needed=sum(today.hours for today, _ in pairs),
        free=free,
        by_month=np.array([busiest / MONTHS_PER_YEAR]),
        peak=1.0,
    )
    steps, uncovered = cheapest_steps(hours, bare.short)
    return bare._replace(steps=steps, uncovered=uncovered)
