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
    fitted by powers of the input up to the fourth. No second level of draws is needed. In each independent set
    of draws the choice, with the input known and without, follows the other sets and is priced by the fit of
    this one: a fit that chose by the noise of its own draws would take that noise for a saving.
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
    """Expected saving of choosing by an input, and how often that is another choice."""
    terms = np.split(_terms(values), REPLICATES, axis=1)
    costs = np.split(gaps, REPLICATES, axis=1)
    squares = np.stack([term @ term.T for term in terms])
    products = np.stack([term @ cost.T for term, cost in zip(terms, costs, strict=True)])
    sums = np.stack([cost.sum(axis=1) for cost in costs])
    savings, changes = [], []
    for term, square, product, own_sum in zip(terms, squares, products, sums, strict=True):
        others = _fitted(squares.sum(axis=0) - square, products.sum(axis=0) - product, term)
        own = _fitted(square, product, term)
        blind = int((sums.sum(axis=0) - own_sum).argmin())
        best = others.min(axis=0)
        chosen = np.take_along_axis(own, others.argmin(axis=0)[np.newaxis], axis=0)[0]
        other = best < others[blind]
        savings.append(float(np.where(other, own[blind] - chosen, 0.0).mean()))
        changes.append(float(other.mean()))
    error = float(sensitivity_indices.standard_error(savings))
    return Estimate(float(np.mean(savings)), error), float(np.mean(changes))


def _terms(values: Floats) -> Floats:
    """What the costs are fitted by: powers of an input, or each of its few values by itself."""
    different, place = np.unique(values, return_inverse=True)
    if different.size <= FEW:
        each: Floats = np.equal(np.arange(different.size)[:, np.newaxis], place).astype(np.float64)
        return each
    scaled = (values - values.mean()) / values.std()
    return np.stack([scaled**power for power in range(DEGREE + 1)])


def _fitted(square: Floats, product: Floats, terms: Floats) -> Floats:
    """The fitted cost of each alternative over the cheapest one, in each draw."""
    weights, *_ = np.linalg.lstsq(square, product, rcond=None)
    fitted: Floats = weights.T @ terms
    return fitted
