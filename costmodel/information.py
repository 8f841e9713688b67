"""What it would be worth to know: of everything, and of each input alone, so that one measures the right thing first.

Knowing is worth something where it would make somebody choose another alternative. Without it one takes the
alternative that is cheapest on average; with it, the cheapest in each case.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.draws import REPLICATES
from costmodel.formulas import sensitivity_indices
from costmodel.maturity import uncertain_inputs
from costmodel.uncertainty import Estimate, Sample

Floats = npt.NDArray[np.float64]

DEGREE = 4
"""Powers of an input in the regression that estimates the cost of each alternative once the input is known."""
FEW = 12
"""An input with so few different values is averaged value by value instead."""


class Worth(NamedTuple):
    """What knowing one input beforehand would be worth."""

    address: str
    status: str
    owner: str
    value: Estimate
    """Expected saving [money], with its standard error over the independent sets of draws."""
    changes: float
    """Share of cases in which knowing it would change the choice [fraction]."""


class Information(NamedTuple):
    """What knowing would be worth for the choice between the alternatives of a sample."""

    chosen: str
    """Cheapest on average: what one takes without knowing more."""
    everything: Estimate
    """Expected saving of knowing every input beforehand [money]: the most that any study can be worth."""
    everything_changes: float
    """Share of cases in which knowing everything would change the choice [fraction]."""
    inputs: tuple[Worth, ...]
    """Input by input, the most worth knowing first: go and measure in this order."""


def value_of_information(drawn: Sample) -> Information:
    """What it is worth to know everything and each input, from one sample of all alternatives.

    The worth of one input is estimated by regression: the cost of each alternative over the cheapest one is
    fitted by powers of the input up to the fourth, and the least fitted cost taken in each draw. No second
    level of draws is needed; the error of the fit is in the standard error.
    """
    cheapest = int(drawn.worth.mean(axis=1).argmin())
    gaps = drawn.worth - drawn.worth[cheapest]
    least = gaps.min(axis=0)
    everything = drawn.estimate(-least)
    found = []
    for address, spread in uncertain_inputs(drawn.study).items():
        value, changes = _worth_of(drawn.input(address), gaps)
        found.append(Worth(address, spread.status, spread.owner, value, changes))
    ranked = sorted(found, key=lambda worth: (-worth.value.value, -worth.changes))
    return Information(drawn.names[cheapest], everything, float(np.mean(least < 0.0)), tuple(ranked))


def _worth_of(values: Floats, gaps: Floats) -> tuple[Estimate, float]:
    sets = REPLICATES
    by_set = [
        _saving(one, gap)
        for one, gap in zip(np.split(values, sets), np.split(gaps, sets, axis=1), strict=True)
    ]
    saving, changes = _saving(values, gaps)
    return Estimate(saving, float(sensitivity_indices.standard_error([s for s, _ in by_set]))), changes


def _saving(values: Floats, gaps: Floats) -> tuple[float, float]:
    """Expected saving of choosing by fitted costs, and how often that is another choice."""
    fitted = _fitted(values, gaps)
    means = fitted.mean(axis=1)
    best = fitted.min(axis=0)
    saving = float(means.min() - best.mean())
    return max(0.0, saving), float(np.mean(fitted[int(means.argmin())] > best))


def _fitted(values: Floats, gaps: Floats) -> Floats:
    different, place = np.unique(values, return_inverse=True)
    if different.size <= FEW:
        counts = np.bincount(place)
        sums = np.stack([np.bincount(place, weights=gap) for gap in gaps])
        means: Floats = (sums / counts)[:, place]
        return means
    scaled = (values - values.mean()) / values.std()
    basis = np.stack([scaled**power for power in range(DEGREE + 1)])
    weights, *_ = np.linalg.lstsq(basis @ basis.T, basis @ gaps.T, rcond=None)
    result: Floats = weights.T @ basis
    return result
