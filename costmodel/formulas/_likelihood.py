"""Maximum likelihood of a straight line in ln life, with lines of the log that were not yet worn (censored).

ln T = X b + sigma e, with e of the smallest extreme value (Weibull life) or normal (lognormal life). Slopes
and curvatures are written out, so the observed information is exact.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from costmodel.formulas.tool_scatter import Family

Vector: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]

FARTHEST = 300.0  # scores; a trial step that far off has no likelihood left
LEAST_START = 0.05
LEAST_SIGMA = 1e-3  # worn edges closer to a line than this do not scatter: the likelihood grows without end
NORMAL_LOG_PEAK = -0.5 * float(np.log(2.0 * np.pi))


class Maximum(NamedTuple):
    """Likeliest coefficients b and ln sigma, and the covariance of all of them in that order."""

    coefficients: Vector
    log_sigma: float
    covariance: Vector


def _terms(score: Vector, worn: Flags, family: Family) -> tuple[Vector, Vector, Vector]:
    """Return each line's log likelihood but for -ln sigma, and its first two derivatives by the score."""
    from scipy.special import log_ndtr

    if family == "weibull":
        growth = np.exp(np.minimum(score, FARTHEST))
        return worn * score - growth, worn - growth, -growth
    density = NORMAL_LOG_PEAK - 0.5 * score * score
    survival: Vector = log_ndtr(-score)
    hazard = np.exp(density - survival)
    value = np.where(worn, density, survival)
    return value, -np.where(worn, score, hazard), -np.where(worn, 1.0, hazard * (hazard - score))


def _spread(design: Vector, log_lives: Vector) -> float:
    """Return the standard deviation of ln life about its least-squares line."""
    line, *_ = np.linalg.lstsq(design, log_lives, rcond=None)
    return float(np.std(log_lives - design @ line))


def maximise(design: Vector, log_lives: Vector, worn: Flags, family: Family) -> Maximum | None:
    """Return the maximum of the likelihood, or None where the log has none within reach."""
    from scipy.optimize import minimize

    def score_of(place: Vector) -> Vector:
        scores: Vector = (log_lives - design @ place[:-1]) / np.exp(place[-1])
        return scores

    def value(place: Vector) -> float:
        return float(np.sum(worn) * place[-1] - np.sum(_terms(score_of(place), worn, family)[0]))

    def slope(place: Vector) -> Vector:
        score = score_of(place)
        first = _terms(score, worn, family)[1]
        by_line = design.T @ first / np.exp(place[-1])
        return np.append(by_line, np.sum(first * score + worn))

    def curvature(place: Vector) -> Vector:
        score, sigma = score_of(place), np.exp(place[-1])
        _, first, second = _terms(score, worn, family)
        size = place.size
        table = np.empty((size, size))
        table[:-1, :-1] = -(design.T * second) @ design / sigma**2
        table[:-1, -1] = table[-1, :-1] = -design.T @ (second * score + first) / sigma
        table[-1, -1] = -np.sum(second * score * score + first * score)
        return table

    if _spread(design[worn], log_lives[worn]) < LEAST_SIGMA:
        return None
    line, *_ = np.linalg.lstsq(design, log_lives, rcond=None)
    start = np.append(line, np.log(max(_spread(design, log_lives), LEAST_START)))
    with np.errstate(over="ignore", invalid="ignore"):  # trial steps may leave the range of floats
        place: Vector = minimize(value, start, jac=slope, hess=curvature, method="trust-exact").x
        information = curvature(place)
    if not np.all(np.isfinite(information)) or np.min(np.linalg.eigvalsh(information)) <= 0.0:
        return None
    return Maximum(place[:-1], float(place[-1]), np.linalg.inv(information).astype(np.float64))
