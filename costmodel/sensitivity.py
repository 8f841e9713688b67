"""What would change the answer: swings of each input over its own range, and the value at which the answer flips."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.make_or_buy import alternative_cost, present_worth
from costmodel.records.address import unit_at, value_at
from costmodel.records.study import Study
from costmodel.spreads import quantile
from costmodel.units import Number

POINTS = 65
RESCANS = 3


class Swing(NamedTuple):
    """How far one input alone moves the advantage of one alternative over another.

    The advantage is worth today of the cash saved [money]: above zero the first alternative is cheaper.
    """

    address: str
    unit: str
    base: float
    low: float
    """Value of the input that one time in ten is not reached [unit]."""
    high: float
    """Value that one time in ten is exceeded [unit]."""
    advantage_low: float
    advantage_high: float
    flips: bool
    """Whether the cheaper alternative changes within low to high."""
    switching: float | None
    """Value at which both cost the same [unit]; None where there is none in the whole range."""

    @property
    def width(self) -> float:
        """Distance between the two ends [money]."""
        return abs(self.advantage_high - self.advantage_low)

    @property
    def distance(self) -> float | None:
        """How far the switching value lies from the base, as a fraction of the base."""
        if self.switching is None or self.base == 0.0:
            return None
        return self.switching / self.base - 1.0


def advantage(study: Study, first: str, second: str) -> Number:
    """Worth today of the cash that `first` saves over `second` [money]."""
    return present_worth(alternative_cost(study, second), study) - present_worth(
        alternative_cost(study, first), study
    )


def swings(study: Study, first: str, second: str) -> tuple[Swing, ...]:
    """One-at-a-time swings of every uncertain input, each over its own range, widest first."""
    found = [_swing(study, first, second, spread) for spread in study.uncertainty.values()]
    return tuple(sorted(found, key=lambda swing: -swing.width))


def _swing(study: Study, first: str, second: str, spread: Uncertain) -> Swing:
    base = float(value_at(study, spread.name))
    least, low, high, most = (float(quantile(study, spread, share)) for share in (0.001, 0.1, 0.9, 0.999))
    points = np.linspace(least, most, POINTS)
    ends = _advantages(study, first, second, spread.name, np.array([low, high, base]))
    curve = _advantages(study, first, second, spread.name, points)
    return Swing(
        address=spread.name,
        unit=unit_at(study, spread.name, study.rates.year.home_currency),
        base=base,
        low=low,
        high=high,
        advantage_low=float(ends[0]),
        advantage_high=float(ends[1]),
        flips=bool(np.any(np.sign(ends[:2]) != np.sign(ends[2]))),
        switching=_switching(study, first, second, spread.name, points, curve, base),
    )


def _advantages(
    study: Study, first: str, second: str, address: str, values: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    result = advantage(study.with_inputs({address: values}), first, second)
    return np.broadcast_to(np.asarray(result, dtype=np.float64), values.shape)


def _switching(
    study: Study,
    first: str,
    second: str,
    address: str,
    points: npt.NDArray[np.float64],
    curve: npt.NDArray[np.float64],
    base: float,
) -> float | None:
    """The sign change nearest to the base, refined by scanning its interval again."""
    changes = np.flatnonzero(np.sign(curve[1:]) != np.sign(curve[:-1]))
    if changes.size == 0:
        return None
    at = int(changes[np.argmin(np.abs(points[changes] - base))])
    for _ in range(RESCANS):
        points = np.linspace(points[at], points[at + 1], POINTS)
        curve = _advantages(study, first, second, address, points)
        inner = np.flatnonzero(np.sign(curve[1:]) != np.sign(curve[:-1]))
        at = int(inner[0]) if inner.size else 0
    return float((points[at] + points[at + 1]) / 2.0)
