"""Tool life as a random quantity: Weibull or lognormal, stated by its mean and coefficient of variation.

Life is counted in any unit of use: parts, minutes in cut, holes. Weibull stands for failure by a single
injury, lognormal for gradual wear; a coefficient of 0.1 is well controlled, 0.2 to 0.4 usual (from memory),
0.3 was found for high-speed steel (ASME J. Eng. for Industry 93(4), 1971, p. 1044, abstract).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import positive, within
from costmodel.units import Number

Family: TypeAlias = Literal["weibull", "lognormal"]

LEAST_VARIATION, LARGEST_VARIATION = 0.01, 3.0
NEWTON_STEPS = 12
# Beyond these logarithms of (use/scale)^shape nothing is worn, or nothing is left, to double precision; the
# caps keep exp from overflow and underflow.
NO_WEAR, ALL_WORN = -40.0, 6.5
SMALLEST_SURVIVAL = 1e-200
FARTHEST_SCORE = 35.0  # standard deviations; as far as a normal tail keeps its digits


def weibull_shape(variation: Number) -> Number:
    """Shape of the Weibull distribution with a coefficient of variation.

    cv^2 = Gamma(1 + 2/k) / Gamma(1 + 1/k)^2 - 1, solved for u = 1/k by Newton's method on
    ln Gamma(1 + 2u) - 2 ln Gamma(1 + u) = ln(1 + cv^2), which rises with u.

    Parameters
    ----------
    variation
        Coefficient of variation, standard deviation over mean [-], any shape, >= 0.01 and <= 3.

    Returns
    -------
    Number
        Shape k [-], shape of the argument.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Moments of the Weibull distribution: closed form.
    """
    from scipy.special import digamma, gammaln

    within("variation", variation, at_least=LEAST_VARIATION, at_most=LARGEST_VARIATION)
    target: Number = np.log1p(variation * variation)
    inverse: Number = variation
    for _ in range(NEWTON_STEPS):
        excess = gammaln(1.0 + 2.0 * inverse) - 2.0 * gammaln(1.0 + inverse) - target
        slope = 2.0 * (digamma(1.0 + 2.0 * inverse) - digamma(1.0 + inverse))
        inverse = inverse - excess / slope
    return 1.0 / inverse


def reliability(use: Number, mean: Number, variation: Number, family: Family = "weibull") -> Number:
    """Chance that an edge outlasts a stated use.

    Weibull: R = exp(-(t/s)^k), s = mean / Gamma(1 + 1/k). Lognormal: R = Phi((mu - ln t)/sigma) with
    sigma^2 = ln(1 + cv^2), mu = ln mean - sigma^2/2.

    Parameters
    ----------
    use
        Use since the edge was new [part], any shape, > 0.
    mean
        Mean life in the same unit [part], any shape, > 0.
    variation
        Coefficient of variation of the life [-], any shape, >= 0.01 and <= 3.
    family
        "weibull" (default) or "lognormal" [-].

    Returns
    -------
    Number
        Reliability [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown family.

    References
    ----------
    Survival functions of the two distributions: closed form.
    """
    positive(use=use, mean=mean)
    return _scaled_life(variation, family)(use / mean)[0]


def expected_use(use: Number, mean: Number, variation: Number, family: Family = "weibull") -> Number:
    """Mean use of an edge that is replaced at a stated use or when it fails, whichever comes first.

    E[min(T, t)] = integral of R from 0 to t.
    Weibull: mean * P(1/k, (t/s)^k), P the regularised lower incomplete gamma function.
    Lognormal: t R(t) + mean Phi((ln t - mu)/sigma - sigma).

    Parameters
    ----------
    use
        Planned use [part], any shape, > 0.
    mean
        Mean life in the same unit [part], any shape, > 0.
    variation
        Coefficient of variation of the life [-], any shape, >= 0.01 and <= 3.
    family
        "weibull" (default) or "lognormal" [-].

    Returns
    -------
    Number
        Mean use [part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown family.

    References
    ----------
    Integration by parts and the substitution x = (t/s)^k: closed form.
    """
    positive(use=use, mean=mean)
    return mean * _scaled_life(variation, family)(use / mean)[1]


def mean_residual_life(use: Number, mean: Number, variation: Number, family: Family = "weibull") -> Number:
    """Mean life left in an edge that has survived a stated use.

    (mean - E[min(T, t)]) / R(t), with the difference taken as the upper tail of the same closed form.

    Parameters
    ----------
    use
        Use survived, not so far that none survive to double precision [part], any shape, > 0.
    mean
        Mean life in the same unit [part], any shape, > 0.
    variation
        Coefficient of variation of the life [-], any shape, >= 0.01 and <= 3.
    family
        "weibull" (default) or "lognormal" [-].

    Returns
    -------
    Number
        Mean life left [part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, an unknown family, or a use that no edge survives.

    References
    ----------
    Definition of the mean residual life.
    """
    from scipy.special import gammaincc, gammaln, ndtr

    positive(use=use, mean=mean)
    x = use / mean
    left, used = _scaled_life(variation, family)(x)
    positive(reliability_at_use=left - SMALLEST_SURVIVAL)
    if family == "lognormal":
        sigma: Number = np.sqrt(np.log1p(variation * variation))
        beyond: Number = ndtr(sigma - _lognormal_score(x, sigma)) - x * left
        return mean * beyond / left
    shape = weibull_shape(variation)
    log_hazard: Number = shape * (np.log(x) + gammaln(1.0 + 1.0 / shape))
    tail: Number = gammaincc(1.0 / shape, np.exp(np.clip(log_hazard, NO_WEAR, ALL_WORN)))
    return mean * choose(log_hazard < NO_WEAR, 1.0 - used, tail) / left


def _scaled_life(variation: Number, family: Family) -> Callable[[Number], tuple[Number, Number]]:
    """Return the function that gives R and E[min(T, t)]/mean at x = t/mean; its constants are found once."""
    from scipy.special import gammainc, gammaln, ndtr

    within("variation", variation, at_least=LEAST_VARIATION, at_most=LARGEST_VARIATION)
    one_of("family", family, get_args(Family))
    if family == "lognormal":
        sigma: Number = np.sqrt(np.log1p(variation * variation))

        def lognormal(x: Number) -> tuple[Number, Number]:
            score = _lognormal_score(x, sigma)
            left: Number = ndtr(-score)
            return left, x * left + ndtr(score - sigma)

        return lognormal
    shape = weibull_shape(variation)
    log_gamma: Number = gammaln(1.0 + 1.0 / shape)

    def weibull(x: Number) -> tuple[Number, Number]:
        log_hazard: Number = shape * (np.log(x) + log_gamma)
        hazard: Number = np.exp(np.clip(log_hazard, NO_WEAR, ALL_WORN))
        return np.exp(-hazard), choose(log_hazard < NO_WEAR, x, gammainc(1.0 / shape, hazard))

    return weibull


def _lognormal_score(x: Number, sigma: Number) -> Number:
    """Return (ln t - mu) / sigma, kept within the normal tails."""
    score: Number = np.clip(np.log(x) / sigma + 0.5 * sigma, -FARTHEST_SCORE, FARTHEST_SCORE)
    return score
