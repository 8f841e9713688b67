"""How sure it all is: draws of the uncertain inputs, the same model run on them, and what comes out.

The alternatives compared are chosen before the draws, on the base values: a draw says how good that choice
is, it does not choose.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.draws import REPLICATES, Drawing, Method, drawing
from costmodel.evaluation import evaluate
from costmodel.formulas import sensitivity_indices
from costmodel.records.study import Study
from costmodel.tape.chunks import Model, run_all

CHUNK = 16384
Draws = npt.NDArray[np.float64]
Points = tuple[float, float, float]


class Estimate(NamedTuple):
    """A figure from draws, and its standard error over the independent sets of draws."""

    value: float
    error: float


@dataclass(frozen=True)
class Sample:
    """Every alternative of interest in every draw, one independent set of draws after the other."""

    study: Study
    drawing: Drawing
    method: Method
    names: tuple[str, ...]
    per_part: Draws
    """Running cost of a good part on the study's basis [money/part], a row for each alternative."""
    worth: Draws
    """Worth today of the cash it costs over the horizon [money], a row for each alternative."""

    def input(self, address: str) -> Draws:
        """One input in every draw, drawn again."""
        return self.drawing.one(address)

    def of(self, names: Iterable[str]) -> Sample:
        """The named alternatives in the same draws; only those not there yet are costed."""
        chosen = tuple(names)
        missing = tuple(name for name in chosen if name not in self.names)
        more = _costed(self.study, self.drawing, self.method, missing) if missing else self
        row = {name: (found, found.names.index(name)) for found in (more, self) for name in found.names}
        places = [row[name] for name in chosen]
        per_part = np.stack([found.per_part[at] for found, at in places])
        worth = np.stack([found.worth[at] for found, at in places])
        return Sample(self.study, self.drawing, self.method, chosen, per_part, worth)

    def estimate(self, values: Draws) -> Estimate:
        """Mean over all draws, with its standard error from the spread between the sets."""
        means = values.reshape(REPLICATES, -1).mean(axis=1)
        return Estimate(float(means.mean()), float(sensitivity_indices.standard_error(means)))


class Outcome(NamedTuple):
    """What the draws say of every alternative, and of one of them against another."""

    first: str
    second: str
    seed: int
    draws: int
    method: Method
    per_part: dict[str, Points]
    """Running cost of a good part on the study's basis at 10, 50 and 90 % [money/part]."""
    mean_per_part: dict[str, Estimate]
    """[money/part]"""
    cheapest: dict[str, Estimate]
    """Share of draws in which an alternative costs least of all [fraction]."""
    advantage: Points
    """Worth today of what the first saves over the second at 10, 50 and 90 % [money]."""
    mean_advantage: float
    chance: float
    """Share of draws in which the first is cheaper than the second [fraction]."""
    mean_error: float
    """Standard error of the mean advantage over independent sets of draws [money]."""
    chance_error: float
    """Standard error of the chance over independent sets of draws [fraction]."""
    sample: Draws
    """The advantage in every draw, for the chart [money]."""


def sample(
    study: Study,
    names: Iterable[str] = (),
    *,
    draws: int = 8192,
    seed: int = 1,
    method: Method = "sobol",
    chunk: int = CHUNK,
    workers: int = 1,
    tape: bool = True,
) -> Sample:
    """Run the model on draws of every uncertain input for all alternatives of a study, or those named.

    `chunk` is how many draws are in memory at once, `workers` how many threads share the chunks; neither
    changes a number. Without `tape` the model itself runs on every chunk: the same within rounding, slower.
    """
    chosen = tuple(names) or tuple(study.alternatives)
    how = drawing(study, draws, seed, method)
    return _costed(study, how, method, chosen, chunk=chunk, workers=workers, tape=tape)


def _costed(
    study: Study,
    how: Drawing,
    method: Method,
    names: tuple[str, ...],
    *,
    chunk: int = CHUNK,
    workers: int = 1,
    tape: bool = True,
) -> Sample:
    per_part, worth = (np.empty((len(names), how.draws)) for _ in range(2))
    model = _model(study, how, names)
    run_all(model, how, [*per_part, *worth], chunk=chunk, workers=workers, tape=tape)
    return Sample(study, how, method, names, per_part, worth)


def _model(study: Study, how: Drawing, names: tuple[str, ...]) -> Model:
    plan = study.plan(how.addresses)

    def model(rows: Sequence[Any]) -> Sequence[Any]:
        costs = evaluate(plan.apply(rows), names)
        return [*(cost.per_part for cost in costs), *(cost.worth for cost in costs)]

    return model


def simulate(
    study: Study,
    first: str,
    second: str,
    *,
    draws: int = 8192,
    seed: int = 1,
    method: Method = "sobol",
    names: Iterable[str] = (),
    chunk: int = CHUNK,
    workers: int = 1,
) -> Outcome:
    """Draw every uncertain input and compare two alternatives chosen beforehand, and all of a study or `names`.

    `draws` is rounded up to a multiple of the eight sets whose spread gives the standard errors; a power of two
    serves best. Raises InputError for fewer, or where a draw leaves the range of its input.
    """
    chosen = tuple(dict.fromkeys((first, second, *(names or study.alternatives))))
    drawn = sample(study, chosen, draws=draws, seed=seed, method=method, chunk=chunk, workers=workers)
    return outcome(drawn, first, second)


def outcome(drawn: Sample, first: str, second: str) -> Outcome:
    """What a sample says of every alternative in it, and of the first against the second."""
    names = drawn.names
    gap = drawn.worth[names.index(second)] - drawn.worth[names.index(first)]
    least = drawn.worth.min(axis=0)
    mean, chance = drawn.estimate(gap), drawn.estimate((gap > 0.0).astype(np.float64))
    return Outcome(
        first=first,
        second=second,
        seed=drawn.drawing.seed,
        draws=gap.size,
        method=drawn.method,
        per_part={name: points(row) for name, row in zip(names, drawn.per_part, strict=True)},
        mean_per_part={name: drawn.estimate(row) for name, row in zip(names, drawn.per_part, strict=True)},
        cheapest={
            name: drawn.estimate((row == least).astype(np.float64))
            for name, row in zip(names, drawn.worth, strict=True)
        },
        advantage=points(gap),
        mean_advantage=mean.value,
        chance=chance.value,
        mean_error=mean.error,
        chance_error=chance.error,
        sample=gap,
    )


def points(values: Draws) -> Points:
    """Values at 10, 50 and 90 %."""
    low, middle, high = np.quantile(values, (0.1, 0.5, 0.9))
    return float(low), float(middle), float(high)
