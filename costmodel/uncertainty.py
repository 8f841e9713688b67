"""How sure it all is: draws of the uncertain inputs, the same model run on them, and what comes out.

The alternatives compared are chosen before the draws, on the base values: a draw says how good that choice
is, it does not choose.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import InputError, Problem
from costmodel.formulas import distributions, quantiles
from costmodel.make_or_buy import alternative_cost, present_worth
from costmodel.maturity import maturity_spreads
from costmodel.records.study import Study, Uncertain
from costmodel.units import Number

CHUNK = 8192
REPLICATES = 8
Draws = npt.NDArray[np.float64]


class Outcome(NamedTuple):
    """What the draws say of one alternative against another."""

    first: str
    second: str
    seed: int
    draws: int
    per_part: dict[str, tuple[float, float, float]]
    """Running cost of a good part on the study's basis at 10, 50 and 90 % [money/part]."""
    advantage: tuple[float, float, float]
    """Worth today of what the first saves over the second at 10, 50 and 90 % [money]."""
    mean_advantage: float
    chance: float
    """Share of draws in which the first is cheaper [fraction]."""
    mean_error: float
    """Standard error of the mean advantage over independent scrambles [money]."""
    chance_error: float
    """Standard error of the chance over independent scrambles [fraction]."""
    sample: Draws
    """The advantage in every draw, for the chart [money]."""


def quantile(spread: Uncertain, share: Number) -> Number:
    """The value of an uncertain input that a share of cases does not exceed."""
    if spread.shape == "pert":
        low, likely, high = _given(spread, "low", "likely", "high")
        return quantiles.pert_quantile(share, low, likely, high)
    if spread.shape == "triangular":
        return quantiles.triangular_quantile(share, *_given(spread, "low", "likely", "high"))
    if spread.shape == "three-point":
        p10, p50, p90 = _given(spread, "p10", "p50", "p90")
        return quantiles.three_point_quantile(share, p10, p50, p90)
    if spread.shape == "normal":
        return quantiles.normal_quantile(share, *_given(spread, "mean", "sd"))
    if spread.shape == "lognormal":
        shape = distributions.lognormal_from_moments(*_given(spread, "mean", "sd"))
        return quantiles.lognormal_quantile(share, shape.log_mean, shape.log_sd)
    return quantiles.uniform_quantile(share, *_given(spread, "low", "high"))


def _given(spread: Uncertain, *fields: str) -> tuple[float, ...]:
    return tuple(float(getattr(spread, field)) for field in fields)


def shares(inputs: int, draws: int, seed: int) -> Iterator[Draws]:
    """Scrambled Sobol points in (0, 1), one replicate after the other: inputs as rows, draws behind."""
    from scipy.stats import qmc

    each = draws // REPLICATES
    for replicate in range(REPLICATES):
        generator = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(replicate,)))
        with warnings.catch_warnings():
            # a number of draws that is no power of two balances less well; the standard errors show it
            warnings.filterwarnings("ignore", "The balance properties")
            points = qmc.Sobol(inputs, scramble=True, rng=generator).random(each)
        yield np.ascontiguousarray(np.clip(points, 1e-12, 1.0 - 1e-12).T)


def drawn_studies(study: Study, draws: int, seed: int) -> Iterator[Study]:
    """The study with arrays of draws at every uncertain address, one replicate after the other."""
    spreads = [*study.uncertainty.values(), *maturity_spreads(study)]
    plan = study.plan([spread.name for spread in spreads])
    for block in shares(len(spreads), draws, seed):
        yield plan.apply([quantile(spread, row) for spread, row in zip(spreads, block, strict=True)])


def simulate(study: Study, first: str, second: str, *, draws: int = 8192, seed: int = 1) -> Outcome:
    """Run the model on draws of every uncertain input and compare two alternatives chosen beforehand.

    `draws` is a multiple of the replicates whose spread gives the standard errors; a power of two serves best.
    Raises InputError for another number of draws, or where a draw leaves the range of its input.
    """
    if draws < REPLICATES or draws % REPLICATES:
        expected = f"a multiple of {REPLICATES}"
        raise InputError(
            [Problem("study", "draws", f"{draws}", expected, "Take a power of two, such as 8192.")]
        )
    advantages: list[Draws] = []
    costs: dict[str, list[Draws]] = {first: [], second: []}
    for drawn in drawn_studies(study, draws, seed):
        pair = {name: alternative_cost(drawn, name) for name in (first, second)}
        gap = present_worth(pair[second], drawn) - present_worth(pair[first], drawn)
        advantages.append(_filled(gap, draws // REPLICATES))
        for name, cost in pair.items():
            costs[name].append(_filled(cost.per_part(), draws // REPLICATES))
    sample = np.concatenate(advantages)
    return Outcome(
        first=first,
        second=second,
        seed=seed,
        draws=sample.size,
        per_part={name: _points(np.concatenate(parts)) for name, parts in costs.items()},
        advantage=_points(sample),
        mean_advantage=float(sample.mean()),
        chance=float((sample > 0).mean()),
        mean_error=_error([float(block.mean()) for block in advantages]),
        chance_error=_error([float((block > 0).mean()) for block in advantages]),
        sample=sample,
    )


def _filled(value: Number, size: int) -> Draws:
    return np.array(np.broadcast_to(value, (size,)), dtype=np.float64)


def _points(sample: Draws) -> tuple[float, float, float]:
    low, middle, high = np.quantile(sample, (0.1, 0.5, 0.9))
    return float(low), float(middle), float(high)


def _error(means: list[float]) -> float:
    return float(np.std(means, ddof=1) / np.sqrt(len(means)))
