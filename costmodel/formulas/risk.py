"""Sums and products of uncertain amounts, their correlation, and the value of knowing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import within
from costmodel.formulas._series import Series, adding_to_one, items
from costmodel.formulas.distributions import LogNormal, lognormal_from_moments, lognormal_moments
from costmodel.units import Number

Goal = Literal["highest", "lowest"]


class PerfectInformation(NamedTuple):
    """Value of knowing the state before choosing.

    expected: expected value of each alternative [money]; best: the best of these [money]; best_if_known:
    expected value of the best in each state [money]; value: what knowing is worth [money].
    """

    expected: tuple[Number, ...]
    best: Number
    best_if_known: Number
    value: Number


def lognormal_product(log_means: Series, log_sds: Series) -> LogNormal:
    """Distribution of a product of independent lognormal amounts, exactly.

    mu = sum of mu_k, s^2 = sum of s_k^2

    Parameters
    ----------
    log_means
        Mean of the logarithm of each factor [-].
    log_sds
        Standard deviation of the logarithm of each factor [-], >= 0.

    Returns
    -------
    LogNormal
        Mean and standard deviation of the logarithm of the product [-].

    Raises
    ------
    LimitError
        No factor, series of different lengths, or a standard deviation below zero.

    References
    ----------
    Closed form.
    """
    means = items("log_means", log_means)
    spreads = items("log_sds", log_sds, len(means), at_least=0.0)
    log_mean: Number = 0.0
    log_variance: Number = 0.0
    for mean, spread in zip(means, spreads, strict=True):
        log_mean = log_mean + mean
        log_variance = log_variance + spread * spread
    return LogNormal(log_mean, np.sqrt(log_variance))


def lognormal_sum(log_means: Series, log_sds: Series) -> LogNormal:
    """Lognormal distribution with the mean and variance of a sum of independent lognormal amounts.

    means and variances add; the sum itself is only about lognormal

    Parameters
    ----------
    log_means
        Mean of the logarithm of each amount [-].
    log_sds
        Standard deviation of the logarithm of each amount [-], >= 0.

    Returns
    -------
    LogNormal
        Mean and standard deviation of the logarithm of the sum [-].

    Raises
    ------
    LimitError
        No amount, series of different lengths, or a standard deviation below zero.

    References
    ----------
    L. F. Fenton, The sum of log-normal probability distributions, 1960 (from memory).
    """
    means = items("log_means", log_means)
    spreads = items("log_sds", log_sds, len(means), at_least=0.0)
    mean: Number = 0.0
    variance: Number = 0.0
    for log_mean, log_sd in zip(means, spreads, strict=True):
        moments = lognormal_moments(log_mean, log_sd)
        mean = mean + moments.mean
        variance = variance + moments.variance
    return lognormal_from_moments(mean, np.sqrt(variance))


def sd_of_sum(sds: Series, correlation: Number = 0.0) -> Number:
    """Standard deviation of a sum whose amounts are all correlated alike.

    s^2 = (1 - r) sum of s_k^2 + r (sum of s_k)^2

    Parameters
    ----------
    sds
        Standard deviation of each amount [any unit], >= 0.
    correlation
        Correlation of every pair [-], 0 (default) to 1.

    Returns
    -------
    Number
        Standard deviation of the sum [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No amount, a standard deviation below zero, or a correlation outside 0 to 1.

    References
    ----------
    Variance of a sum; closed form.
    """
    within("correlation", correlation, at_least=0.0, at_most=1.0)
    total: Number = 0.0
    squares: Number = 0.0
    for sd in items("sds", sds, at_least=0.0):
        total = total + sd
        squares = squares + sd * sd
    spread: Number = np.sqrt((1.0 - correlation) * squares + correlation * total * total)
    return spread


def rank_correlation(pearson: Number) -> Number:
    """Spearman's rank correlation of two values joined by a Gaussian copula.

    (6/pi) asin(r/2)

    Parameters
    ----------
    pearson
        Correlation of the underlying normal values [-], -1 to 1.

    Returns
    -------
    Number
        Rank correlation [-], shape of the argument.

    Raises
    ------
    LimitError
        A correlation outside -1 to 1.

    References
    ----------
    W. H. Kruskal, Ordinal measures of association, 1958 (from memory); closed form.
    """
    within("pearson", pearson, at_least=-1.0, at_most=1.0)
    return 6.0 / np.pi * np.arcsin(pearson / 2.0)


def pearson_from_rank(rank: Number) -> Number:
    """Correlation of the underlying normal values that gives a stated rank correlation.

    2 sin(pi rank / 6), the inverse of `rank_correlation`

    Parameters
    ----------
    rank
        Spearman's rank correlation [-], -1 to 1.

    Returns
    -------
    Number
        Correlation of the normal values [-], shape of the argument.

    Raises
    ------
    LimitError
        A correlation outside -1 to 1.

    References
    ----------
    W. H. Kruskal, Ordinal measures of association, 1958 (from memory); closed form.
    """
    within("rank", rank, at_least=-1.0, at_most=1.0)
    return 2.0 * np.sin(np.pi * rank / 6.0)


def concordance(pearson: Number) -> Number:
    """Kendall's rank correlation of two values joined by a Gaussian copula.

    (2/pi) asin r

    Parameters
    ----------
    pearson
        Correlation of the underlying normal values [-], -1 to 1.

    Returns
    -------
    Number
        Kendall's tau [-], shape of the argument.

    Raises
    ------
    LimitError
        A correlation outside -1 to 1.

    References
    ----------
    W. H. Kruskal, Ordinal measures of association, 1958 (from memory); closed form.
    """
    within("pearson", pearson, at_least=-1.0, at_most=1.0)
    return 2.0 / np.pi * np.arcsin(pearson)


def chance_both_above_median(pearson: Number) -> Number:
    """Chance that two values joined by a Gaussian copula both lie above their medians.

    1/4 + asin(r) / (2 pi)

    Parameters
    ----------
    pearson
        Correlation of the underlying normal values [-], -1 to 1.

    Returns
    -------
    Number
        Chance [fraction], shape of the argument.

    Raises
    ------
    LimitError
        A correlation outside -1 to 1.

    References
    ----------
    Quadrant chance of the bivariate normal distribution; closed form.
    """
    within("pearson", pearson, at_least=-1.0, at_most=1.0)
    return 0.25 + np.arcsin(pearson) / (2.0 * np.pi)


def expected_value(outcomes: Series, chances: Series) -> Number:
    """Mean of outcomes weighted by their chances.

    sum of p_k x_k

    Parameters
    ----------
    outcomes
        Outcome in each state [any unit].
    chances
        Chance of each state [fraction], adding up to 1.

    Returns
    -------
    Number
        Expected value [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Series of different lengths, or chances below zero or not adding up to 1.

    References
    ----------
    Definition.
    """
    values = items("outcomes", outcomes)
    shares = items("chances", chances, len(values), at_least=0.0)
    total: Number = 0.0
    mean: Number = 0.0
    for value, share in zip(values, shares, strict=True):
        mean = mean + share * value
        total = total + share
    adding_to_one("chances", total)
    return mean


def perfect_information(
    payoffs: Sequence[Series], chances: Series, goal: Goal = "highest"
) -> PerfectInformation:
    """Value of knowing which state comes before choosing among alternatives.

    expected value of the best alternative in each state, less the best expected value of one alternative;
    the best is taken per STATE, and for costs it is the lowest

    Parameters
    ----------
    payoffs
        Payoff of each alternative in each state, one series per alternative [money].
    chances
        Chance of each state [fraction], adding up to 1.
    goal
        "highest" (default) for payoffs or "lowest" for costs [-].

    Returns
    -------
    PerfectInformation
        Expected values, the best of them, the best if the state is known, and the value of knowing [money],
        >= 0.

    Raises
    ------
    LimitError
        No alternative, series of different lengths, chances not adding up to 1, or an unknown goal.

    References
    ----------
    J. Heizer and B. Render, Operations Management, module A (decision tables).
    """
    one_of("goal", goal, get_args(Goal))
    if not len(payoffs):
        raise LimitError("payoffs", "no alternative", "at least one")
    better = np.maximum if goal == "highest" else np.minimum
    table = [items("payoffs", alternative, len(chances)) for alternative in payoffs]
    expected = tuple(expected_value(alternative, chances) for alternative in table)
    best = expected[0]
    for value in expected[1:]:
        best = better(best, value)
    known = list(table[0])
    for alternative in table[1:]:
        known = [better(one, other) for one, other in zip(known, alternative, strict=True)]
    best_if_known = expected_value(known, chances)
    return PerfectInformation(expected, best, best_if_known, np.abs(best_if_known - best))
