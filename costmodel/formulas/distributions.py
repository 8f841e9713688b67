"""Distributions of uncertain inputs by their inverse: a uniform number u between 0 and 1 in, a value out.

One path for plain, Sobol and correlated draws. Parameters may be arrays as well. Each inverse is free of
branches on draws; degenerate ranges (low = high, no spread) give the constant.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import any_number, in_order
from costmodel.units import Number

PertVariance = Literal["beta", "one sixth range"]

Z90 = 1.2815515655446004
"""Standard normal value that 90 % of all values lie below; the 10 % point is its negative."""


class Moments(NamedTuple):
    """Mean [unit of the value] and variance [its square] of a distribution."""

    mean: Number
    variance: Number


class LogNormal(NamedTuple):
    """The logarithm of a lognormal value: its log_mean [-] and its log_sd, the standard deviation [-]."""

    log_mean: Number
    log_sd: Number


def triangular_moments(low: Number, likely: Number, high: Number) -> Moments:
    """Mean and variance of a triangular distribution.

    (a + m + b)/3 and (a^2 + m^2 + b^2 - a m - a b - m b)/18

    Parameters
    ----------
    low
        Least value [any unit].
    likely
        Most likely value [same unit], from low to high.
    high
        Greatest value [same unit].

    Returns
    -------
    Moments
        Mean [same unit] and variance [its square], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Values out of order.

    References
    ----------
    Integrals of the triangular density; closed form.
    """
    in_order(low, likely, high)
    left, right = likely - low, high - likely
    return Moments((low + likely + high) / 3.0, (left * left + left * right + right * right) / 18.0)


def pert_moments(low: Number, likely: Number, high: Number, variance: PertVariance = "beta") -> Moments:
    """Mean and variance of a PERT distribution.

    Mean (a + 4 m + b)/6. The variance has two conventions: "beta" is that of the beta distribution with this
    mean from which draws are made, (mean - a)(b - mean)/7; "one sixth range" is the older rule ((b - a)/6)^2.

    Parameters
    ----------
    low
        Least value [any unit].
    likely
        Most likely value [same unit], from low to high.
    high
        Greatest value [same unit].
    variance
        "beta" (default) or "one sixth range" [-].

    Returns
    -------
    Moments
        Mean [same unit] and variance [its square], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Values out of order, or an unknown convention.

    References
    ----------
    Malcolm, Roseboom, Clark and Fazar, Operations Research 7, 1959 (range rule, from memory); beta: closed
    form.
    """
    in_order(low, likely, high)
    one_of("variance", variance, get_args(PertVariance))
    mean = (low + 4.0 * likely + high) / 6.0
    if variance == "beta":
        return Moments(mean, (mean - low) * (high - mean) / 7.0)
    sixth = (high - low) / 6.0
    return Moments(mean, sixth * sixth)


def lognormal_moments(log_mean: Number, log_sd: Number) -> Moments:
    """Mean and variance of a lognormal distribution.

    exp(mu + s^2/2) and mean^2 (exp(s^2) - 1)

    Parameters
    ----------
    log_mean
        Mean of the logarithm [-].
    log_sd
        Standard deviation of the logarithm [-], >= 0.

    Returns
    -------
    Moments
        Mean [unit of the value] and variance [its square], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A standard deviation below zero.

    References
    ----------
    Closed form.
    """
    any_number(log_mean=log_mean)
    not_negative(log_sd=log_sd)
    mean: Number = np.exp(log_mean + log_sd * log_sd / 2.0)
    return Moments(mean, mean * mean * np.expm1(log_sd * log_sd))


def lognormal_from_moments(mean: Number, sd: Number) -> LogNormal:
    """Lognormal distribution with a given mean and standard deviation.

    s^2 = ln(1 + (sd/mean)^2), mu = ln(mean) - s^2/2

    Parameters
    ----------
    mean
        Mean of the value [any unit], > 0.
    sd
        Standard deviation of the value [same unit], >= 0.

    Returns
    -------
    LogNormal
        Mean and standard deviation of the logarithm [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A mean not above zero, or a standard deviation below zero.

    References
    ----------
    Closed form.
    """
    positive(mean=mean)
    not_negative(sd=sd)
    share = sd / mean
    log_variance: Number = np.log1p(share * share)
    return LogNormal(np.log(mean) - log_variance / 2.0, np.sqrt(log_variance))


def lognormal_from_points(p10: Number, p90: Number) -> LogNormal:
    """Lognormal distribution through two points.

    mu = (ln p10 + ln p90)/2, s = (ln p90 - ln p10)/(2 z90)

    Parameters
    ----------
    p10
        Value that 10 % of all values lie below [any unit], > 0.
    p90
        Value that 90 % of all values lie below [same unit], >= p10.

    Returns
    -------
    LogNormal
        Mean and standard deviation of the logarithm [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A value not above zero, or values out of order.

    References
    ----------
    Closed form.
    """
    positive(p10=p10, p90=p90)
    if np.any(np.less(p90, p10)):
        raise LimitError("p90", p90, "at least p10")
    low, high = np.log(p10), np.log(p90)
    return LogNormal((low + high) / 2.0, (high - low) / (2.0 * Z90))
