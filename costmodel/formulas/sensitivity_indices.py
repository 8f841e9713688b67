"""Which input the spread of a result is due to, estimated from draws; and how sure an estimate is.

These are statistics: unlike all other formulas they reduce the last axis, the draws. Three runs of the same
model are compared: on a block of draws A, on an independent block B, and on A with the one input in question
taken from B.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._series import Series, items
from costmodel.units import Number

Draws = npt.NDArray[np.float64]
FirstOrderEstimator = Literal["saltelli", "jansen"]


def _centred(results: Draws, other_results: Draws, mixed_results: Draws) -> tuple[Draws, Draws, Draws, Draws]:
    """The three runs less their common mean, and the variance of the two independent ones."""
    shapes = {np.shape(results), np.shape(other_results), np.shape(mixed_results)}
    if len(shapes) != 1 or np.ndim(results) < 1 or np.shape(results)[-1] < 2:
        raise LimitError("results", sorted(shapes), "three arrays of one shape with at least 2 draws")
    if not np.all(np.isfinite([results, other_results, mixed_results])):
        raise LimitError("results", "a value that is not finite", "numbers")
    both = np.concatenate((results, other_results), axis=-1)
    mean = both.mean(axis=-1, keepdims=True)
    variance = both.var(axis=-1)
    if np.any(variance <= 0.0):
        raise LimitError("results", "draws that are all equal", "a result with some spread")
    return results - mean, other_results - mean, mixed_results - mean, variance


def first_order_index(
    results: Draws, other_results: Draws, mixed_results: Draws, estimator: FirstOrderEstimator = "saltelli"
) -> Draws:
    """Share of the variance of a result that one input explains by itself.

    saltelli: mean(B (AB - A)) / V. jansen: 1 - mean((B - AB)^2) / (2 V). V is the variance over A and B
    together.

    Parameters
    ----------
    results
        Results on the draws A [any unit], draws on the last axis.
    other_results
        Results on the independent draws B [same unit].
    mixed_results
        Results on A with the one input taken from B [same unit].
    estimator
        "saltelli" (default) or "jansen" [-].

    Returns
    -------
    array
        First-order index [fraction] without the last axis; the error of estimation may put it below 0.

    Raises
    ------
    LimitError
        Arrays of different shapes, fewer than two draws, no spread, or an unknown estimator.

    References
    ----------
    A. Saltelli et al., Computer Physics Communications 181, 2010, 259-270, table 2 (from memory).
    """
    one_of("estimator", estimator, get_args(FirstOrderEstimator))
    first, other, mixed, variance = _centred(results, other_results, mixed_results)
    if estimator == "saltelli":
        explained = np.mean(other * (mixed - first), axis=-1)
    else:
        explained = variance - np.mean((other - mixed) ** 2, axis=-1) / 2.0
    index: Draws = explained / variance
    return index


def total_index(results: Draws, other_results: Draws, mixed_results: Draws) -> Draws:
    """Share of the variance of a result that would be left if all inputs but one were known.

    mean((A - AB)^2) / (2 V): what one input explains by itself and together with others

    Parameters
    ----------
    results
        Results on the draws A [any unit], draws on the last axis.
    other_results
        Results on the independent draws B [same unit]; used for the variance only.
    mixed_results
        Results on A with the one input taken from B [same unit].

    Returns
    -------
    array
        Total index [fraction] without the last axis, >= 0.

    Raises
    ------
    LimitError
        Arrays of different shapes, fewer than two draws, or no spread.

    References
    ----------
    M. J. W. Jansen, Computer Physics Communications 117, 1999, 35-43 (from memory).
    """
    first, _, mixed, variance = _centred(results, other_results, mixed_results)
    index: Draws = np.mean((first - mixed) ** 2, axis=-1) / (2.0 * variance)
    return index


def standard_error(replicates: Series) -> Number:
    """Standard error of the mean of independent estimates, such as those of several scrambles.

    s / sqrt(R) with s^2 = sum of (x_k - mean)^2 / (R - 1)

    Parameters
    ----------
    replicates
        Estimate of each replicate [any unit], at least two; each may be an array of several results.

    Returns
    -------
    Number
        Standard error of their mean [same unit], shape of one estimate.

    Raises
    ------
    LimitError
        Fewer than two replicates.

    References
    ----------
    Definition.
    """
    estimates = items("replicates", replicates)
    count = len(estimates)
    if count < 2:
        raise LimitError("replicates", f"{count} number", "at least 2 numbers")
    total: Number = 0.0
    for estimate in estimates:
        total = total + estimate
    squares: Number = 0.0
    for estimate in estimates:
        deviation = estimate - total / count
        squares = squares + deviation * deviation
    error: Number = np.sqrt(squares / (count - 1) / count)
    return error
