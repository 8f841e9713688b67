"""From logged values to an estimate: middle and spread, outliers, and weight against what was believed before.

The functions over a log take plain numbers, not draws: a log is what happened.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import any_number
from costmodel.units import Number

Estimator = Literal["robust where outliers", "mean", "median"]

MAD_TO_SD = 1.482602218505602
"""1 / inverse normal of 0.75: makes the median absolute deviation of a normal log its standard deviation."""
OUTLIER_SCORE = 3.5
"""Distance from the median, in spreads, from which a value counts as an outlier."""
MEDIAN_LOSS = 1.2533141373155003
"""Square root of pi / 2: how much wider the error of a median is than that of a mean, for a normal log."""

BELIEF_WORTH = 3.0
"""How many values of a log the belief's spread counts as, where the log's own is looked for."""


class Estimate(NamedTuple):
    """Middle [unit], spread [unit], error of the middle [unit], values [-], outliers [-], robust or not [-]."""

    middle: float
    spread: float
    error: float
    n: int
    outliers: int
    robust: bool


class Weighed(NamedTuple):
    """Estimate [unit], its standard deviation [unit], weight that the log has in it [fraction]."""

    middle: Number
    spread: Number
    weight: Number


def log_estimate(log: npt.NDArray[np.float64], estimator: Estimator = "robust where outliers") -> Estimate:
    """Middle and spread of a log of values.

    mean and standard deviation (n - 1), or median and 1.4826 x median absolute deviation. "robust where
    outliers" takes the second where a value is further than 3.5 of those spreads from the median. Standard
    error: s / sqrt(n), and 1.2533 times that for a median.

    Parameters
    ----------
    log
        Values in the order logged [any unit], at least one.
    estimator
        "robust where outliers" (default), "mean" or "median" [-].

    Returns
    -------
    Estimate
        Middle, spread, standard error [unit of the log], number of values and of outliers [-].

    Raises
    ------
    LimitError
        No value, a value that is not finite, or an unknown estimator.

    References
    ----------
    B. Iglewicz and D. C. Hoaglin, How to Detect and Handle Outliers, ASQC, 1993, modified z-score 3.5 (from memory).
    """
    one_of("estimator", estimator, get_args(Estimator))
    values = np.asarray(log, dtype=np.float64)
    if values.size == 0 or not np.all(np.isfinite(values)):
        raise LimitError("log", f"{values.size} values", "at least one value, all of them finite")
    middle = float(np.median(values))
    deviation = MAD_TO_SD * float(np.median(np.abs(values - middle)))
    far = int(np.sum(np.abs(values - middle) > OUTLIER_SCORE * deviation)) if deviation > 0.0 else 0
    root = float(np.sqrt(values.size))
    if estimator == "median" or (estimator != "mean" and far):
        return Estimate(middle, deviation, MEDIAN_LOSS * deviation / root, values.size, far, True)
    spread = float(np.std(values, ddof=1)) if values.size > 1 else 0.0
    return Estimate(float(np.mean(values)), spread, spread / root, values.size, far, False)


def shrunk_mean(prior: Number, prior_spread: Number, middle: Number, error: Number) -> Weighed:
    """Estimate between what was believed and what was measured, each by its certainty.

    w = s0^2 / (s0^2 + e^2); estimate = w x measured + (1 - w) x believed; spread = s0 sqrt(1 - w). With e = s /
    sqrt(n) the weight is n / (n + s^2 / s0^2): few values move the estimate little, many make it their own.

    Parameters
    ----------
    prior
        Value believed before [unit].
    prior_spread
        Standard deviation of that belief [unit], > 0.
    middle
        Middle of the log [unit].
    error
        Standard error of that middle [unit], >= 0.

    Returns
    -------
    Weighed
        Estimate and its spread [unit], weight of the log [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A spread not above zero or an error below zero.

    References
    ----------
    A. Gelman et al., Bayesian Data Analysis, ch. 2, normal mean with known variance (from memory).
    """
    any_number(prior=prior, middle=middle)
    positive(prior_spread=prior_spread)
    not_negative(error=error)
    weight = prior_spread**2 / (prior_spread**2 + error**2)
    return Weighed(weight * middle + (1.0 - weight) * prior, prior_spread * np.sqrt(1.0 - weight), weight)


def clash(prior: Number, prior_spread: Number, middle: Number, error: Number) -> Number:
    """How many times further a log lies from the belief than both let expect, at least one.

    max(1, |measured - believed| / sqrt(s0^2 + e^2)): the scale by which the errors of two results that disagree are
    raised.

    Parameters
    ----------
    prior
        Value believed before [unit].
    prior_spread
        Standard deviation of that belief [unit], > 0.
    middle
        Middle of the log [unit].
    error
        Standard error of that middle [unit], >= 0.

    Returns
    -------
    Number
        Factor on the spread of what is known [-], at least 1, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A spread not above zero or an error below zero.

    References
    ----------
    R. T. Birge, The calculation of errors by the method of least squares, Physical Review 40, 1932 (from memory).
    """
    any_number(prior=prior, middle=middle)
    positive(prior_spread=prior_spread)
    not_negative(error=error)
    far = np.abs(np.subtract(middle, prior)) / np.sqrt(prior_spread**2 + error**2)
    return np.maximum(far, 1.0)[()]


def weighed_log(prior: Number, prior_spread: Number, middle: Number, spread: Number, n: Number) -> Weighed:
    """Estimate between a belief and the middle of a log of few or many values.

    A log's own spread is not trusted where it is short: it is pooled with the belief's, which counts as 3 values: s^2
    = (3 s0^2 + (n - 1) s^2) / (n + 2), error e = s / sqrt(n). Then as `shrunk_mean`, the spread times the 90 % point of
    t with n + 2 degrees of freedom over that of a normal distribution, and times `clash`.

    Parameters
    ----------
    prior
        Value believed before [unit].
    prior_spread
        Standard deviation of that belief [unit], > 0.
    middle
        Middle of the log [unit].
    spread
        Standard deviation of a value of the log, as it bears on the middle [unit], >= 0.
    n
        Values in the log [-], whole number >= 1.

    Returns
    -------
    Weighed
        Estimate, the spread of a normal distribution with its 10 and 90 % points [unit], weight of the log [fraction].

    Raises
    ------
    LimitError
        A spread of the belief not above zero, one of the log below zero, or no whole number of values.

    References
    ----------
    A. Gelman et al., Bayesian Data Analysis, ch. 3, scaled inverse chi-square belief on a variance (from memory).
    """
    from scipy.special import ndtri, stdtrit

    not_negative(spread=spread)
    within("n", n, at_least=1.0)
    if np.any(np.not_equal(np.mod(n, 1.0), 0.0)):
        raise LimitError("n", n, "a whole number of values")
    freedom = BELIEF_WORTH + n - 1.0
    pooled = (BELIEF_WORTH * prior_spread**2 + (n - 1.0) * spread**2) / freedom
    error = np.sqrt(pooled / n)
    found = shrunk_mean(prior, prior_spread, middle, error)
    wide = stdtrit(freedom, 0.9) / ndtri(0.9) * clash(prior, prior_spread, middle, error)
    return found._replace(spread=(found.spread * wide)[()])


def shrunk_share(prior: Number, prior_spread: Number, good: Number, tried: Number) -> Weighed:
    """Share between what was believed and what was counted.

    A beta belief of mean m and standard deviation s is worth k = m (1 - m) / s^2 - 1 parts; estimate = (k m + good)
    / (k + tried); spread = sqrt(p (1 - p) / (k + tried + 1)); weight of the count = tried / (k + tried).

    Parameters
    ----------
    prior
        Share believed before [fraction], above 0 and below 1.
    prior_spread
        Standard deviation of that belief [fraction], > 0 and below sqrt(m (1 - m)).
    good
        Parts counted as good [part], >= 0.
    tried
        Parts counted in all [part], >= good.

    Returns
    -------
    Weighed
        Share, its spread, weight of the count [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A share or count outside its range, or a spread too wide for any share.

    References
    ----------
    A. Gelman et al., Bayesian Data Analysis, ch. 2, beta belief on a binomial share (from memory).
    """
    within("prior", prior, above=0.0, below=1.0)
    positive(prior_spread=prior_spread)
    not_negative(good=good, tried=tried)
    if np.any(np.greater(good, tried)):
        raise LimitError("good", good, "at most the parts tried")
    worth = prior * (1.0 - prior) / prior_spread**2 - 1.0
    if np.any(np.less_equal(worth, 0.0)):
        raise LimitError("prior_spread", prior_spread, "narrower than any share can be")
    share = (worth * prior + good) / (worth + tried)
    spread = np.sqrt(share * (1.0 - share) / (worth + tried + 1.0))
    return Weighed(share, spread, tried / (worth + tried))
