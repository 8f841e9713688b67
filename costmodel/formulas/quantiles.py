"""Draws of uncertain inputs: a uniform number u between 0 and 1 in, the value with that chance below it out.

One path for plain, Sobol and correlated draws. Parameters may be arrays as well; nothing branches on draws,
and a range without width gives its one value.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import Series, adding_to_one, any_number, in_order, items
from costmodel.formulas.distributions import Z90
from costmodel.units import Number

Scale = Literal["linear", "log"]


def _between_0_and_1(u: Number) -> None:
    within("u", u, above=0.0, below=1.0)


def uniform_quantile(u: Number, low: Number, high: Number) -> Number:
    """Value of a uniform distribution at a chance u.

    a + u (b - a)

    Parameters
    ----------
    u
        Chance of a lower value [fraction], above 0 and below 1.
    low
        Least value [any unit].
    high
        Greatest value [same unit], >= low.

    Returns
    -------
    Number
        Value [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        u outside 0 to 1, or values out of order.

    References
    ----------
    Closed form.
    """
    _between_0_and_1(u)
    in_order(low, high, np.inf, "high")
    return low + u * (high - low)


def triangular_quantile(u: Number, low: Number, likely: Number, high: Number) -> Number:
    """Value of a triangular distribution at a chance u.

    With c = (m - a)/(b - a): a + m' where both branches are capped at the mode, so that no branch is taken:
    sqrt(min(u, c) (b - a)(m - a)) - sqrt(min(1 - u, 1 - c) (b - a)(b - m)) + a + b - m

    Parameters
    ----------
    u
        Chance of a lower value [fraction], above 0 and below 1.
    low
        Least value [any unit].
    likely
        Most likely value [same unit], from low to high.
    high
        Greatest value [same unit].

    Returns
    -------
    Number
        Value [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        u outside 0 to 1, or values out of order.

    References
    ----------
    Inverse of the triangular distribution function; closed form.
    """
    _between_0_and_1(u)
    in_order(low, likely, high)
    span = high - low
    left, right = likely - low, high - likely
    mode = left / choose(np.greater(span, 0.0), span, 1.0)
    rise: Number = np.sqrt(np.minimum(u, mode) * (span * left))
    fall: Number = np.sqrt(np.minimum(1.0 - u, 1.0 - mode) * (span * right))
    return rise - fall + (low + right)


def pert_quantile(u: Number, low: Number, likely: Number, high: Number) -> Number:
    """Value of a PERT distribution at a chance u.

    a + (b - a) x inverse beta distribution function with 1 + 4 (m - a)/(b - a) and 1 + 4 (b - m)/(b - a)

    Parameters
    ----------
    u
        Chance of a lower value [fraction], above 0 and below 1.
    low
        Least value [any unit].
    likely
        Most likely value [same unit], from low to high.
    high
        Greatest value [same unit].

    Returns
    -------
    Number
        Value [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        u outside 0 to 1, or values out of order.

    References
    ----------
    Beta distribution with the PERT mean (weight 4); inverse by scipy.special.betaincinv.
    """
    from scipy.special import betaincinv

    _between_0_and_1(u)
    in_order(low, likely, high)
    span = high - low
    mode = (likely - low) / choose(np.greater(span, 0.0), span, 1.0)
    share: Number = betaincinv(1.0 + 4.0 * mode, 5.0 - 4.0 * mode, u)
    return low + span * share


def normal_quantile(u: Number, mean: Number, sd: Number) -> Number:
    """Value of a normal distribution at a chance u.

    mean + sd x inverse of the standard normal distribution function

    Parameters
    ----------
    u
        Chance of a lower value [fraction], above 0 and below 1.
    mean
        Mean [any unit].
    sd
        Standard deviation [same unit], >= 0.

    Returns
    -------
    Number
        Value [same unit], broadcast shape of the arguments; may be below zero.

    Raises
    ------
    LimitError
        u outside 0 to 1, or a standard deviation below zero.

    References
    ----------
    Inverse by scipy.special.ndtri.
    """
    from scipy.special import ndtri

    _between_0_and_1(u)
    any_number(mean=mean)
    not_negative(sd=sd)
    score: Number = ndtri(u)
    return mean + sd * score


def lognormal_quantile(u: Number, log_mean: Number, log_sd: Number) -> Number:
    """Value of a lognormal distribution at a chance u.

    exp(mu + s x inverse of the standard normal distribution function)

    Parameters
    ----------
    u
        Chance of a lower value [fraction], above 0 and below 1.
    log_mean
        Mean of the logarithm [-].
    log_sd
        Standard deviation of the logarithm [-], >= 0.

    Returns
    -------
    Number
        Value [any unit], above zero, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        u outside 0 to 1, or a standard deviation below zero.

    References
    ----------
    Inverse by scipy.special.ndtri.
    """
    not_negative(log_sd=log_sd)
    value: Number = np.exp(normal_quantile(u, log_mean, log_sd))
    return value


def three_point_quantile(u: Number, p10: Number, p50: Number, p90: Number, scale: Scale = "linear") -> Number:
    """Value at a chance u of a distribution through a 10, a 50 and a 90 % point, all three met exactly.

    Two half-normals joined at the median: p50 + max(z, 0)(p90 - p50)/z90 + min(z, 0)(p50 - p10)/z90, z the
    standard normal value of u. Not the split normal of the statistics books, which joins at the mode and does
    not put half of the values on each side. Scale "log" does the same to the logarithms, for values that stay
    above zero.

    Parameters
    ----------
    u
        Chance of a lower value [fraction], above 0 and below 1.
    p10
        Value that 10 % of all values lie below [any unit], above zero on the log scale.
    p50
        Median [same unit], from p10 to p90.
    p90
        Value that 90 % of all values lie below [same unit].
    scale
        "linear" (default) or "log" [-].

    Returns
    -------
    Number
        Value [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        u outside 0 to 1, points out of order, a point not above zero on the log scale, or an unknown scale.

    References
    ----------
    Construction of this library from the inverse by scipy.special.ndtri.
    """
    in_order(p10, p50, p90, "p50")
    one_of("scale", scale, get_args(Scale))
    if scale == "log":
        positive(p10=p10)
        p10, p50, p90 = np.log(p10), np.log(p50), np.log(p90)
    score = normal_quantile(u, 0.0, 1.0 / Z90)
    value: Number = p50 + np.maximum(score, 0.0) * (p90 - p50) + np.minimum(score, 0.0) * (p50 - p10)
    return np.exp(value) if scale == "log" else value


def discrete_quantile(u: Number, values: Series, chances: Series) -> Number:
    """Value at a chance u of a list of values with their chances: a scenario, or the entries of a log.

    the first value whose cumulative chance reaches u, in the order given

    Parameters
    ----------
    u
        Chance [fraction], above 0 and below 1.
    values
        Values, rising where correlation is to mean anything [any unit].
    chances
        Chance of each value [fraction], adding up to 1.

    Returns
    -------
    Number
        Value [same unit], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        u outside 0 to 1, series of different lengths, or chances below zero or not adding up to 1.

    References
    ----------
    Inverse of a step function.
    """
    _between_0_and_1(u)
    found = items("values", values)
    shares = items("chances", chances, len(found), at_least=0.0)
    total: Number = 0.0
    chosen: Number = found[0] + 0.0 * u
    for value, share in zip(found, shares, strict=True):
        chosen = choose(np.greater(u, total), value, chosen)
        total = total + share
    adding_to_one("chances", total)
    return chosen
