"""The distribution of one uncertain input: its value at a chance, and the fast way there for many draws.

``quantile`` gives one value by the formula of the shape. ``sampler`` gives the same for arrays of draws; for a
PERT range, whose formula has no closed form, it reads a table that is right to a few millionths of the range.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from costmodel.errors import InputError, Problem
from costmodel.formulas import distributions, quantiles
from costmodel.records.address import value_at
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.units import Number

Floats = npt.NDArray[np.float64]
Sampler = Callable[[Floats], None]
"""Puts draws of an input in the place of the chances they are read at."""

CELLS = 32
"""Straight pieces in each halving of the chance, towards 0 and towards 1."""
HALVINGS = 34
"""Down to chances of 2**-34; Sobol points have 2**-33 at least."""
_MANTISSA_BITS = 52
_SHIFT = _MANTISSA_BITS - 5
_FIRST = (1023 - HALVINGS) * CELLS
_ROW = HALVINGS * CELLS
_CURVE_POINTS = 112


def uncertain_numbers(study: Study, spread: Uncertain) -> dict[str, float]:
    """The numbers of a range, with the input's own value where its likely value or its mean is left out.

    Raises InputError where that value does not lie within the range.
    """
    if spread.shape in ("discrete", "measured"):
        return {}
    numbers: dict[str, float] = {}
    for field, value in (("likely", spread.likely), ("mean", spread.mean)):
        if value is not None:
            numbers[field] = value
    wanted = "likely" if spread.shape in ("pert", "triangular") else "mean"
    if spread.shape in ("pert", "triangular", "normal", "lognormal") and wanted not in numbers:
        numbers[wanted] = float(value_at(study, spread.name))
    for field in ("low", "high", "p10", "p50", "p90", "sd"):
        value = getattr(spread, field)
        if value is not None:
            numbers[field] = value
    if "likely" in numbers and not numbers["low"] <= numbers["likely"] <= numbers["high"]:
        expected = f"a value from {numbers['low']:g} to {numbers['high']:g}, the range it has"
        remedy = "Give the input a new range, or settle it."
        raise InputError([Problem("study", spread.name, f"{numbers['likely']:g}", expected, remedy)])
    return numbers


def quantile(study: Study, spread: Uncertain, share: Number) -> Number:
    """The value of an uncertain input that a share of cases does not exceed, by the formula of its shape."""
    n = uncertain_numbers(study, spread)
    if spread.shape == "pert":
        return quantiles.pert_quantile(share, n["low"], n["likely"], n["high"])
    if spread.shape == "triangular":
        return quantiles.triangular_quantile(share, n["low"], n["likely"], n["high"])
    if spread.shape == "three-point":
        return quantiles.three_point_quantile(share, n["p10"], n["p50"], n["p90"])
    if spread.shape == "normal":
        return quantiles.normal_quantile(share, n["mean"], n["sd"])
    if spread.shape == "lognormal":
        shape = distributions.lognormal_from_moments(n["mean"], n["sd"])
        return quantiles.lognormal_quantile(share, shape.log_mean, shape.log_sd)
    if spread.shape == "uniform":
        return quantiles.uniform_quantile(share, n["low"], n["high"])
    if spread.shape == "discrete":
        values, chances = _rising(spread)
        return quantiles.discrete_quantile(share, values, chances)
    return measured_quantile(share, spread.log)


def _rising(spread: Uncertain) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Values and chances in rising order of the values, so that correlation means something."""
    pairs = sorted(zip(spread.values, spread.chances, strict=True))
    return tuple(value for value, _ in pairs), tuple(chance for _, chance in pairs)


def measured_quantile(share: Number, log: tuple[float, ...]) -> Number:
    """The value of a log at a share of cases: straight between its sorted entries, the ends at 0 and 1."""
    entries = np.sort(np.array(log, dtype=np.float64))
    places = np.linspace(0.0, 1.0, entries.size) if entries.size > 1 else np.zeros(1)
    found: Number = np.interp(share, places, entries)
    return found


def sampler(study: Study, spread: Uncertain) -> Sampler:
    """What turns chances into draws of an input: `quantile` with its parameters worked out beforehand."""
    n = uncertain_numbers(study, spread)
    if spread.shape == "pert":
        return _pert_sampler(n["low"], n["likely"], n["high"])
    if spread.shape == "discrete":
        values, chances = _rising(spread)
        bounds, chosen = np.cumsum(chances)[:-1], np.array(values)

        def choose(shares: Floats) -> None:
            shares[:] = chosen[np.searchsorted(bounds, shares, side="left")]

        return choose

    def sample(shares: Floats) -> None:
        shares[:] = quantile(study, spread, shares)

    return sample


def _pert_sampler(low: float, likely: float, high: float) -> Sampler:
    span = high - low
    start, slope = (
        _pert_table((likely - low) / span) if span > 0.0 else (np.zeros(2 * _ROW), np.zeros(2 * _ROW))
    )
    start, slope = low + span * start, span * slope

    def sample(shares: Floats) -> None:
        # The leading bits of a float count its halvings and the cell in them: no search, no logarithm.
        upper = np.greater(shares, 0.5) * _ROW
        nearer = np.subtract(1.0, shares)
        np.minimum(nearer, shares, out=nearer)
        cells = np.right_shift(nearer.view(np.int64), _SHIFT)
        cells -= _FIRST
        cells += upper
        slope.take(cells, out=shares, mode="clip")
        shares *= nearer
        start.take(cells, out=nearer, mode="clip")
        shares += nearer

    return sample


@cache
def _bounds() -> Floats:
    """Where the straight pieces of one half meet: chances from 2**-34 to one half."""
    halvings = 2.0 ** np.arange(-HALVINGS, -1.0)[:, np.newaxis]
    return np.append((halvings * (1.0 + np.arange(CELLS) / CELLS)).ravel(), 0.5)


@lru_cache(maxsize=1024)
def _pert_table(mode: float) -> tuple[Floats, Floats]:
    """Start and slope of every straight piece, first of the lower half, then of the upper one seen from 1."""
    bounds = _bounds()
    odds = np.log(bounds) - np.log1p(-bounds)
    both = _pert_curve(1.0 + 4.0 * mode, 5.0 - 4.0 * mode, np.concatenate([odds, -odds]))
    values = both.reshape(2, bounds.size)
    slope, start = np.zeros((2, _ROW)), np.zeros((2, _ROW))
    slope[:, : bounds.size - 1] = np.diff(values, axis=1) / np.diff(bounds)
    start[:, : bounds.size] = values
    start[:, : bounds.size] -= slope[:, : bounds.size] * bounds
    return start.ravel(), slope.ravel()


def _pert_curve(a: float, b: float, log_odds: Floats) -> Floats:
    """Inverse beta distribution function at chances given by their log odds.

    The log odds of the value against those of the chance are nearly straight lines towards both ends, so that
    a cubic through points of the distribution function itself, with its density as slope, is good to a few millionths.
    """
    from scipy.special import betainc, betaln

    log_beta = float(betaln(a, b))
    least = -(HALVINGS + 2) * np.log(2.0)
    ends = (least + np.log(a) + log_beta) / a, -(least + np.log(b) + log_beta) / b
    at = np.linspace(*ends, _CURVE_POINTS)
    log_value, log_rest = -np.log1p(np.exp(-at)), -np.log1p(np.exp(at))
    value = np.exp(log_value)
    lower = value < a / (a + b)
    nearer = betainc(np.where(lower, a, b), np.where(lower, b, a), np.where(lower, value, np.exp(log_rest)))
    odds = np.log(nearer) - np.log1p(-nearer)
    odds[~lower] *= -1.0
    slopes = nearer * (1.0 - nearer) * np.exp(log_beta - a * log_value - b * log_rest)
    piece = np.clip(np.searchsorted(odds, log_odds) - 1, 0, _CURVE_POINTS - 2)
    width = odds[piece + 1] - odds[piece]
    t = (log_odds - odds[piece]) / width
    rise = at[piece + 1] - at[piece]
    first, last = slopes[piece] * width - rise, rise - slopes[piece + 1] * width
    height = at[piece] + t * rise + t * (1.0 - t) * ((1.0 - t) * first + t * last)
    found: Floats = 1.0 / (1.0 + np.exp(-height))
    return found
