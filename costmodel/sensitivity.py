"""What would change the answer: swings of each input over its own range, and the value at which the answer flips."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.draws.spreads import quantile
from costmodel.make_or_buy import alternative_cost, present_worth
from costmodel.maturity import uncertain_inputs
from costmodel.records.address import unit_at, value_at
from costmodel.records.fields import Status
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.units import Number

POINTS = 65
RESCANS = 2
BLOCK = 8192
Floats = npt.NDArray[np.float64]


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
    status: Status
    owner: str

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
    """One-at-a-time swings of every uncertain input, each over its own range, widest first.

    All what-ifs of a pass are one block: first the ends of every range, then the whole of every range, since
    price breaks can flip the answer within one whose ends agree, then closer and closer around where it flips.
    """
    uncertain = uncertain_inputs(study)
    if not uncertain:
        return ()
    scans = {name: _scan(study, spread) for name, spread in uncertain.items()}
    ends = {
        name: np.array(
            [*(float(quantile(study, spread, share)) for share in (0.1, 0.9)), *scans[name][[0, -1]]]
        )
        for name, spread in uncertain.items()
    }
    base, found = one_at_a_time(study, first, second, ends)
    switching = _switching(study, first, second, scans)
    home = study.rates.year.home_currency
    result = [
        Swing(
            address=name,
            unit=unit_at(study, name, home),
            base=float(value_at(study, name)),
            low=float(ends[name][0]),
            high=float(ends[name][1]),
            advantage_low=float(found[name][0]),
            advantage_high=float(found[name][1]),
            flips=bool(np.any(np.sign(found[name][:2]) != np.sign(base))),
            switching=switching.get(name),
            status=spread.status,
            owner=spread.owner,
        )
        for name, spread in uncertain.items()
    ]
    return tuple(sorted(result, key=lambda swing: -swing.width))


def one_at_a_time(
    study: Study, first: str, second: str, values: dict[str, Floats]
) -> tuple[float, dict[str, Floats]]:
    """The advantage at the base, and at each of the values of each input with all others at their base.

    All what-ifs of all inputs are columns of one block, run in slices of bounded size.
    """
    base = {name: float(value_at(study, name)) for name in values}
    size = sum(row.size for row in values.values()) + 1
    block = np.repeat(np.array(list(base.values()))[:, np.newaxis], size, axis=1)
    places: dict[str, slice] = {}
    start = 1
    for at, (name, row) in enumerate(values.items()):
        places[name] = slice(start, start + row.size)
        block[at, places[name]] = row
        start += row.size
    plan = study.plan(values)
    result = np.empty(size)
    for begin in range(0, size, BLOCK):
        some = slice(begin, min(begin + BLOCK, size))
        result[some] = advantage(plan.apply([row.copy() for row in block[:, some]]), first, second)
    return float(result[0]), {name: result[place] for name, place in places.items()}


def _scan(study: Study, spread: Uncertain) -> Floats:
    """Values over the whole range of an input: to its ends, or from 0.1 to 99.9 % where it has none."""
    if spread.shape in ("discrete", "measured"):
        return np.unique(spread.values or spread.log)
    ends = spread.low, spread.high
    least, most = (
        float(quantile(study, spread, share)) if end is None else end
        for share, end in zip((0.001, 0.999), ends, strict=True)
    )
    return np.unique([*np.linspace(least, most, POINTS), float(value_at(study, spread.name))])


def _switching(study: Study, first: str, second: str, scans: dict[str, Floats]) -> dict[str, float]:
    """For each input the sign change nearest to its base, where there is one, all refined together."""
    near = {name: float(value_at(study, name)) for name in scans}
    points, found = scans, dict[str, float]()
    for _ in range(1 + RESCANS):
        if not points:
            break
        _, curves = one_at_a_time(study, first, second, points)
        finer: dict[str, Floats] = {}
        for name, values in points.items():
            at = _nearest_change(values, curves[name], near[name])
            if at is not None:
                (low, high), (below, above) = values[at : at + 2], curves[name][at : at + 2]
                near[name] = found[name] = float(low + (high - low) * below / (below - above))
                finer[name] = np.linspace(low, high, POINTS)
        points = finer
    return found


def _nearest_change(points: Floats, curve: Floats, near: float) -> int | None:
    """The place before the sign change that lies nearest to a value."""
    changes: Sequence[int] = np.flatnonzero(np.sign(curve[1:]) != np.sign(curve[:-1])).tolist()
    if not changes:
        return None
    return min(changes, key=lambda at: max(points[at] - near, near - points[at + 1]))
