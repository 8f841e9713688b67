"""Where two totals cross: every whole volume at which the cheaper alternative changes, steps included."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.make_or_buy import alternative_cost, levelled, present_worth
from costmodel.records.address import sweep
from costmodel.records.study import Study
from costmodel.units import Number

Floats = npt.NDArray[np.float64]
BLOCK = 8192
VOLUME = "demand.per_year"


class Crossing(NamedTuple):
    """A whole number from which the other total is the lower one."""

    volume: int
    """First whole number at which ``lower_from_here`` is the cheaper [part or part/yr]."""
    lower_below: str
    lower_from_here: str
    jump: bool
    """Whether a step (a price break, a minimum) makes the change, and not the slope of the two totals."""


def crossings(
    first: Callable[[Number], Number],
    second: Callable[[Number], Number],
    low: int,
    high: int,
    names: tuple[str, str] = ("first", "second"),
) -> tuple[Crossing, ...]:
    """Every crossing of two totals over the whole numbers from `low` to `high`.

    `first` and `second` take a column of quantities and return totals. Every whole number is looked at, so no
    step between two points of a grid is missed; where the totals are equal the one that was lower stays.
    """
    found: list[Crossing] = []
    before = 0.0
    tail: list[float] = []
    for start in range(low, high + 1, BLOCK):
        volumes = np.arange(start, min(start + BLOCK, high + 1))
        column = sweep(volumes)
        gaps = np.broadcast_to(first(column) - second(column), np.shape(column)).ravel()
        signs = np.sign(gaps)
        for position in _changes(signs, before):
            history = np.array([*tail, *gaps[: position + 3]])
            at = len(tail) + int(position)
            lower = names[0] if signs[position] < 0 else names[1]
            other = names[1] if lower == names[0] else names[0]
            found.append(Crossing(int(volumes[position]), other, lower, _is_jump(history, at)))
        filled = signs[signs != 0]
        before = float(filled[-1]) if filled.size else before
        tail = [*gaps[-3:]]
    return tuple(found)


def _changes(signs: np.ndarray[tuple[int, ...], np.dtype[np.float64]], before: float) -> list[int]:
    """Positions at which the sign differs from the last sign that was not zero."""
    places = np.flatnonzero(signs)
    kept = signs[places]
    previous = np.concatenate([[before or (kept[0] if kept.size else 0.0)], kept[:-1]])
    return [int(place) for place in places[kept != previous]]


def _is_jump(gaps: np.ndarray[tuple[int, ...], np.dtype[np.float64]], at: int) -> bool:
    """A step at this place is far larger than the steps around it."""
    steps = np.abs(np.diff(gaps))
    here = steps[at - 1] if at >= 1 else 0.0
    around = [steps[i] for i in (at - 2, at) if 0 <= i < len(steps)]
    return bool(around) and bool(here > 3.0 * max(around) + 1e-9)


def levelled_cash(study: Study, name: str) -> Number:
    """Cash a year of one alternative, once-costs and all, as equal yearly amounts [money/yr]."""
    return levelled(present_worth(alternative_cost(study, name, "cash"), study), study)


def totals_by_volume(study: Study, names: Iterable[str], low: int, high: int) -> dict[str, Floats]:
    """Cash a year of each alternative at every whole yearly volume from `low` to `high` [money/yr]."""
    plan = study.plan([VOLUME])
    totals = {name: np.empty(high + 1 - low) for name in names}
    for start in range(low, high + 1, BLOCK):
        volumes = np.arange(start, min(start + BLOCK, high + 1))
        column = plan.apply([sweep(volumes)])
        for name, row in totals.items():
            row[volumes - low] = np.broadcast_to(levelled_cash(column, name), (volumes.size, 1)).ravel()
    return totals


def crossings_of(totals: Mapping[str, Floats], first: str, second: str, low: int) -> tuple[Crossing, ...]:
    """Every crossing of two alternatives whose totals are known at every whole volume from `low` on."""

    def total_of(name: str) -> Callable[[Number], Number]:
        return lambda volumes: totals[name][np.asarray(volumes, dtype=np.int64) - low]

    return crossings(total_of(first), total_of(second), low, low + totals[first].size - 1, (first, second))


def break_even_volumes(study: Study, first: str, second: str, low: int, high: int) -> tuple[Crossing, ...]:
    """Every yearly volume from `low` to `high` at which the cheaper of two alternatives changes, on cash."""
    return crossings_of(totals_by_volume(study, (first, second), low, high), first, second, low)
