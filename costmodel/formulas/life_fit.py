"""Life constants from the shop's own log, with their bounds, and a plain word on what the log can support.

A log has one line for each edge: what it lasted, whether it was worn out or taken out while still good
(censored), the cutting speed, and the feed where it varied. The fits are by maximum likelihood; the bounds
come from the observed information, on the logarithms of the positive constants.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, get_args

import numpy as np

from costmodel.formulas._choices import one_of, same_length
from costmodel.formulas._likelihood import Flags, Maximum, Vector, maximise
from costmodel.formulas._limits import positive, within
from costmodel.formulas.tool_scatter import Family

FEWEST_WORN = 5  # edges worn out, below which no spread can be told
FEW_WORN = 20  # below which the tail of the distribution rests on the family assumed
SMALLEST_SPEED_RANGE = 1.1
WIDEST_BOUNDS = 4.0  # upper over lower bound, beyond which a constant is only named, not known
LARGEST_CORRELATION = 0.98
FAMILIES = get_args(Family)


class Estimate(NamedTuple):
    """A constant from a log: likeliest value [its unit], lower bound [its unit], upper bound [its unit]."""

    value: float
    low: float
    high: float


class Verdict(NamedTuple):
    """Whether the log supports the fit, and every reason against it or caution about it, in plain words."""

    supported: bool
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]


class ScatterFit(NamedTuple):
    """Life at one condition: scale and shape, None where the log cannot give them; verdict.

    Weibull: scale is the characteristic life [the log's unit], shape k [-]. Lognormal: scale is the median
    life, shape the standard deviation of ln life [-].
    """

    scale: Estimate | None
    shape: Estimate | None
    verdict: Verdict


class TaylorLogFit(NamedTuple):
    """Taylor constants of the mean life, v T^n f^a = C: None where the log cannot give them.

    Exponent n [-]; constant C [m/min]; feed exponent a [-], None where no feeds were given; shape as in
    ScatterFit [-]; coefficient of variation of life [-]; verdict.
    """

    exponent: Estimate | None
    constant: Estimate | None
    feed_exponent: Estimate | None
    shape: Estimate | None
    variation: float | None
    verdict: Verdict


class SafeChange(NamedTuple):
    """Change at the mean less some deviations [part]; mean [part]; standard deviation [part]; verdict."""

    change_at: float
    mean: float
    standard_deviation: float
    verdict: Verdict


def _checked_log(lives: Sequence[float], worn: Sequence[bool], confidence: float) -> tuple[Vector, Flags]:
    same_length(lives=lives, worn=worn)
    log = np.asarray(lives, dtype=np.float64)
    positive(lives=log)
    within("confidence", confidence, above=0.0, below=1.0)
    return log, np.asarray(worn, dtype=np.bool_)


def _count_reasons(worn: Flags) -> tuple[list[str], list[str]]:
    """Return reasons and cautions that follow from how many edges were worn out."""
    number, worn_out = worn.size, int(np.sum(worn))
    reasons, cautions = [], []
    if worn_out < FEWEST_WORN:
        reasons.append(f"only {worn_out} of {number} edges were worn out; {FEWEST_WORN} are needed at least")
    elif worn_out < FEW_WORN:
        cautions.append(f"{worn_out} worn edges say little about early failures: log {FEW_WORN} or more")
    if 2 * worn_out < number:
        cautions.append("more than half of the edges were taken out before they were worn")
    return reasons, cautions


def _estimate(value: float, error: float, score: float) -> Estimate:
    """Return a positive constant and its bounds from the value and standard error of its logarithm."""
    with np.errstate(over="ignore"):  # a bound beyond the range of floats is infinite
        low, middle, high = np.exp([value - score * error, value, value + score * error])
    return Estimate(float(middle), float(low), float(high))


def _error(slope: Vector, found: Maximum) -> float:
    """Return the standard error of a function of b and ln sigma with this slope (delta method)."""
    return float(np.sqrt(slope @ found.covariance @ slope))


def _shape(found: Maximum, family: Family, score: float) -> Estimate:
    sign = -1.0 if family == "weibull" else 1.0
    return _estimate(sign * found.log_sigma, float(np.sqrt(found.covariance[-1, -1])), score)


def _log_mean_offset(sigma: float, family: Family) -> tuple[float, float]:
    """Return ln(mean life) less the line, and its slope by ln sigma."""
    from scipy.special import digamma, gammaln

    if family == "lognormal":
        return 0.5 * sigma**2, sigma**2
    return float(gammaln(1.0 + sigma)), float(digamma(1.0 + sigma) * sigma)


def fit_scatter(
    lives: Sequence[float], worn: Sequence[bool], family: Family = "weibull", confidence: float = 0.95
) -> ScatterFit:
    """Scale and shape of tool life at one condition, by maximum likelihood.

    A worn edge adds its density, one still good the chance of having lasted longer. Bounds: value times
    exp(+- z standard error of its logarithm).

    Parameters
    ----------
    lives
        Use of each edge when it was taken out [part or min], one dimension, > 0.
    worn
        True where the edge was worn out, False where it was still good [-], as many.
    family
        "weibull" (default) or "lognormal" [-].
    confidence
        Two-sided confidence of the bounds [fraction], > 0 and < 1.

    Returns
    -------
    ScatterFit
        Scale [unit of lives], shape [-] and verdict.

    Raises
    ------
    LimitError
        An argument outside its range, or columns of unlike length.

    References
    ----------
    W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data (1998), ch. 7 and 8, from memory.
    """
    from scipy.special import ndtri

    log, worn_out = _checked_log(lives, worn, confidence)
    one_of("family", family, FAMILIES)
    reasons, cautions = _count_reasons(worn_out)
    found = None
    if np.unique(log[worn_out]).size < 2:
        reasons.append("the worn edges show no two different lives")
    else:
        found = maximise(np.ones((log.size, 1)), np.log(log), worn_out, family)
    if found is None:
        return ScatterFit(None, None, Verdict(False, tuple(reasons), tuple(cautions)))
    score = float(ndtri(0.5 + 0.5 * confidence))
    scale = _estimate(float(found.coefficients[0]), _error(np.array([1.0, 0.0]), found), score)
    shape = _shape(found, family, score)
    if shape.high > WIDEST_BOUNDS * shape.low:
        reasons.append("the bounds of the shape are too wide to tell early failure from wear")
    return ScatterFit(scale, shape, Verdict(not reasons, tuple(reasons), tuple(cautions)))


def _speed_reasons(speeds: Vector, feeds: Vector | None, worn: Flags) -> tuple[list[str], bool]:
    """Return what the settings in the log do not show, and whether that makes the fit impossible."""
    used = speeds[worn]
    if np.unique(used).size < 2:
        return ["the worn edges ran at one speed only: life at other speeds cannot be told"], True
    reasons = []
    if np.max(used) < SMALLEST_SPEED_RANGE * np.min(used):
        reasons.append("the speeds lie within 10 % of each other")
    if feeds is None:
        return reasons, False
    if np.unique(feeds[worn]).size < 2:
        return [*reasons, "the worn edges ran at one feed only: leave the feeds out"], True
    together = abs(float(np.corrcoef(np.log(used), np.log(feeds[worn]))[0, 1]))
    if together > LARGEST_CORRELATION:
        return [
            *reasons,
            "speed and feed were always changed together: their effects cannot be told apart",
        ], True
    return reasons, False


def fit_taylor(
    speeds: Sequence[float],
    lives: Sequence[float],
    worn: Sequence[bool],
    feeds: Sequence[float] | None = None,
    family: Family = "weibull",
    confidence: float = 0.95,
) -> TaylorLogFit:
    """Taylor constants of the mean life and the scatter about it, by maximum likelihood.

    ln T = b0 + b1 ln v + b2 ln f + sigma e; n = -1/b1, a = b2/b1, ln C = n (b0 + ln mean of exp(sigma e)).
    The bounds of n, C and shape are taken on their logarithms, those of a on itself, by the delta method.

    Parameters
    ----------
    speeds
        Cutting speed of each edge [m/min], one dimension, > 0.
    lives
        Minutes in cut of each edge when it was taken out [min], as many, > 0.
    worn
        True where the edge was worn out, False where it was still good [-], as many.
    feeds
        Feed of each edge, None where it never varied [mm], as many, > 0.
    family
        "weibull" (default) or "lognormal" [-].
    confidence
        Two-sided confidence of the bounds [fraction], > 0 and < 1.

    Returns
    -------
    TaylorLogFit
        Constants with bounds, coefficient of variation of life, and verdict.

    Raises
    ------
    LimitError
        An argument outside its range, or columns of unlike length.

    References
    ----------
    W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data (1998), ch. 17, from memory.
    """
    log, worn_out = _checked_log(lives, worn, confidence)
    one_of("family", family, FAMILIES)
    same_length(speeds=speeds, lives=lives)
    speed = np.asarray(speeds, dtype=np.float64)
    positive(speeds=speed)
    feed = None if feeds is None else np.asarray(feeds, dtype=np.float64)
    columns = [np.ones(log.size), np.log(speed)]
    if feed is not None:
        same_length(feeds=feed.tolist(), lives=lives)
        positive(feeds=feed)
        columns.append(np.log(feed))
    reasons, cautions = _count_reasons(worn_out)
    more, impossible = _speed_reasons(speed, feed, worn_out)
    reasons += more
    found = None if impossible else maximise(np.column_stack(columns), np.log(log), worn_out, family)
    if found is None:
        if not impossible:
            reasons.append("the log has no likeliest fit: the lives follow the settings without any scatter")
        return TaylorLogFit(None, None, None, None, None, Verdict(False, tuple(reasons), tuple(cautions)))
    return _taylor_result(found, feed is not None, family, confidence, reasons, cautions)


def _taylor_result(
    found: Maximum,
    with_feed: bool,
    family: Family,
    confidence: float,
    reasons: list[str],
    cautions: list[str],
) -> TaylorLogFit:
    from scipy.special import ndtri

    score = float(ndtri(0.5 + 0.5 * confidence))
    sigma = float(np.exp(found.log_sigma))
    shape, variation = _shape(found, family, score), _variation(sigma, family)
    base, by_speed = float(found.coefficients[0]), float(found.coefficients[1])
    if by_speed + score * float(np.sqrt(found.covariance[1, 1])) >= 0.0:
        reasons.append("the log does not show beyond its scatter that life falls with the speed")
        verdict = Verdict(False, tuple(reasons), tuple(cautions))
        return TaylorLogFit(None, None, None, shape, variation, verdict)
    exponent = -1.0 / by_speed
    offset, offset_slope = _log_mean_offset(sigma, family)
    log_constant = exponent * (base + offset)
    unit = np.eye(found.covariance.shape[0])
    by_exponent = exponent * unit[1]  # slope of ln n
    by_constant = exponent * unit[0] + log_constant * by_exponent + exponent * offset_slope * unit[-1]
    n = _estimate(float(np.log(exponent)), _error(by_exponent, found), score)
    constant = _estimate(log_constant, _error(by_constant, found), score)
    feed_exponent = None
    if with_feed:
        value = float(found.coefficients[2]) / by_speed
        half = score * _error((unit[2] - value * unit[1]) / by_speed, found)
        feed_exponent = Estimate(value, value - half, value + half)
    if n.high > WIDEST_BOUNDS * n.low:
        reasons.append("the bounds of the exponent are too wide to choose a speed by")
    verdict = Verdict(not reasons, tuple(reasons), tuple(cautions))
    return TaylorLogFit(n, constant, feed_exponent, shape, variation, verdict)


def _variation(sigma: float, family: Family) -> float:
    """Return the coefficient of variation of life."""
    from scipy.special import gammaln

    if family == "lognormal":
        return float(np.sqrt(np.expm1(sigma**2)))
    return float(np.sqrt(np.expm1(gammaln(1.0 + 2.0 * sigma) - 2.0 * gammaln(1.0 + sigma))))


def safe_change(lives: Sequence[float], deviations: float = 3.0) -> SafeChange:
    """Count at which to change, from a log of worn edges: mean less some standard deviations, with a verdict.

    Standard deviation with n - 1. It weighs no cost: cheapest_count does.

    Parameters
    ----------
    lives
        Life of each worn edge, two at least [part], one dimension, > 0.
    deviations
        Standard deviations below the mean [-], >= 0.

    Returns
    -------
    SafeChange
        Count, mean and standard deviation [part], and verdict.

    Raises
    ------
    LimitError
        An argument outside its range, or fewer than two lives.

    References
    ----------
    Common practice, no source: change at the mean less three standard deviations.
    """
    log = np.asarray(lives, dtype=np.float64)
    positive(lives=log)
    within("number of lives", log.size, at_least=2)
    within("deviations", deviations, at_least=0.0)
    mean, deviation = float(np.mean(log)), float(np.std(log, ddof=1))
    count = mean - deviations * deviation
    reasons, cautions = _count_reasons(np.ones(log.size, dtype=np.bool_))
    if count <= 0.0:
        reasons.append("the spread is so large that no count is left: find what varies first")
    return SafeChange(count, mean, deviation, Verdict(not reasons, tuple(reasons), tuple(cautions)))
