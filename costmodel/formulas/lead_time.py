"""What a delivery log says about lead time and lateness, and distributions fitted to it.

Times are calendar days. The log's arrays are data, one row for each delivery; the fitted law broadcasts.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of, same_length
from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.formulas.quality import share_limits
from costmodel.units import Number

Days = npt.NDArray[np.float64]
Family = Literal["lognormal", "gamma", "empirical"]
FAMILIES: tuple[str, ...] = ("lognormal", "gamma", "empirical")
_NEWTON_STEPS = 30
_HALF_LOG_2_PI = 0.9189385332046727


class DeliveryStatistics(NamedTuple):
    """What a delivery log shows."""

    deliveries: int
    """Deliveries in the log [-]."""
    mean_lead_time: float
    """Mean days from order to receipt [d]."""
    lead_time_spread: float
    """Standard deviation of them, with n - 1 [d]; not a number for a single delivery."""
    mean_lateness: float
    """Mean days from promised to received, early ones negative [d]."""
    lateness_spread: float
    """Standard deviation of them, with n - 1 [d]."""
    mean_days_late: float
    """Mean days late, an early delivery counting 0 [d]."""
    on_time_share: float
    """Share of the deliveries inside the window [fraction]."""
    on_time_lower: float
    """Lower two-sided confidence limit of that share [fraction]."""
    on_time_upper: float
    """Upper limit [fraction]."""


class LeadTimeFit(NamedTuple):
    """A law of the lead time."""

    family: str
    """"lognormal", "gamma" or "empirical"."""
    shape: float
    """Lognormal: standard deviation of the logarithm; gamma: shape; empirical: not a number [-]."""
    scale: float
    """Lognormal: median; gamma: scale; empirical: not a number [d]."""
    mean: float
    """Mean of the law [d]."""
    spread: float
    """Standard deviation of the law [d]."""
    log_likelihood: float
    """Logarithm of the likelihood of the log; not a number for the empirical law [-]."""
    deliveries: int
    """Deliveries it rests on [-]."""
    observed: Days
    """The lead times themselves, rising [d]."""


def delivery_statistics(
    ordered: Days,
    promised: Days,
    received: Days,
    *,
    early: float = 0.0,
    late: float = 0.0,
    confidence: float = 0.95,
) -> DeliveryStatistics:
    """Lead time, lateness and share on time of a delivery log.

    lead time = received - ordered; lateness = received - promised; on time where
    -early <= lateness <= late. Limits of the share on time by Clopper and Pearson, two-sided.

    Parameters
    ----------
    ordered
        Day of each order, from any start [d].
    promised
        Day promised for it [d].
    received
        Day received [d], not before the order.
    early
        Days too early that still count as on time [d], >= 0.
    late
        Days too late that still count as on time [d], >= 0.
    confidence
        Confidence of the limits [fraction], above 0 and below 1.

    Returns
    -------
    DeliveryStatistics
        Number of deliveries [-], means and spreads [d], share on time with limits [fraction].

    Raises
    ------
    LimitError
        An argument outside its range, unlike lengths, or a receipt before its order.

    References
    ----------
    Definitions; limits by Clopper and Pearson, Biometrika 26 (1934) 404-413.
    """
    same_length(ordered=ordered, promised=promised, received=received)
    not_negative(received_less_ordered=received - ordered, early=early, late=late)
    lead_times, lateness = received - ordered, received - promised
    within("lateness", lateness)
    count = len(received)
    on_time = float(np.count_nonzero((lateness >= -early) & (lateness <= late)))
    limits = share_limits(on_time, float(count), confidence=confidence, sides="two")
    return DeliveryStatistics(
        deliveries=count,
        mean_lead_time=float(np.mean(lead_times)),
        lead_time_spread=_sample_spread(lead_times),
        mean_lateness=float(np.mean(lateness)),
        lateness_spread=_sample_spread(lateness),
        mean_days_late=float(np.mean(np.maximum(lateness, 0.0))),
        on_time_share=on_time / count,
        on_time_lower=float(limits.lower),
        on_time_upper=float(limits.upper),
    )


def _sample_spread(values: Days) -> float:
    return float(np.std(values, ddof=1)) if len(values) > 1 else float("nan")


def fit_lead_time(
    lead_times: Days, *, family: Literal["likeliest", "lognormal", "gamma", "empirical"] = "likeliest"
) -> LeadTimeFit:
    """Law of the lead time, by maximum likelihood.

    lognormal: mean and standard deviation (with n) of the logarithms. gamma: ln k - digamma(k) = ln of the
    mean - mean of the ln, by Newton's method; scale = mean / k. empirical: the lead times themselves, each
    equally likely. "likeliest" takes the lognormal or the gamma law, whichever makes the log more likely
    (they have two parameters each, so no penalty differs). The number of deliveries is part of the answer:
    a fit to a handful says little about the tail.

    Parameters
    ----------
    lead_times
        Days from order to receipt of each delivery [d], > 0, two of them different (one suffices for the
        empirical law).
    family
        Law wanted [-], "likeliest", "lognormal", "gamma" or "empirical".

    Returns
    -------
    LeadTimeFit
        Parameters, moments [d], likelihood and number of deliveries.

    Raises
    ------
    LimitError
        An argument outside its range, or lead times without spread.

    References
    ----------
    N. L. Johnson, S. Kotz and N. Balakrishnan, Continuous Univariate Distributions, vol. 1, 2nd ed., ch. 14
    and 17 (maximum likelihood; from memory).
    """
    one_of("family", family, ("likeliest", *FAMILIES))
    same_length(lead_times=lead_times)
    positive(lead_times=lead_times)
    observed = np.sort(np.asarray(lead_times, dtype=float))
    if family == "empirical":
        nothing = float("nan")
        mean, spread = float(np.mean(observed)), float(np.std(observed))
        return LeadTimeFit("empirical", nothing, nothing, mean, spread, nothing, len(observed), observed)
    if observed[0] == observed[-1]:
        raise LimitError("lead_times", f"{len(observed)} of {observed[0]:g}", "at least two that differ")
    if family == "likeliest":
        lognormal, gamma = _fit_lognormal(observed), _fit_gamma(observed)
        return lognormal if lognormal.log_likelihood >= gamma.log_likelihood else gamma
    return _fit_lognormal(observed) if family == "lognormal" else _fit_gamma(observed)


def _fit_lognormal(observed: Days) -> LeadTimeFit:
    logarithms = np.log(observed)
    middle, shape = float(np.mean(logarithms)), float(np.std(logarithms))
    mean = float(np.exp(middle + shape**2 / 2.0))
    spread = mean * float(np.sqrt(np.expm1(shape**2)))
    likelihood = -len(observed) * (middle + np.log(shape) + _HALF_LOG_2_PI + 0.5)
    return LeadTimeFit(
        "lognormal", shape, float(np.exp(middle)), mean, spread, float(likelihood), len(observed), observed
    )


def _fit_gamma(observed: Days) -> LeadTimeFit:
    from scipy.special import digamma, gammaln, polygamma

    mean, mean_logarithm = float(np.mean(observed)), float(np.mean(np.log(observed)))
    gap = np.log(mean) - mean_logarithm
    shape = (3.0 - gap + np.sqrt((gap - 3.0) ** 2 + 24.0 * gap)) / (12.0 * gap)
    for _ in range(_NEWTON_STEPS):
        slope = 1.0 / shape - polygamma(1, shape)
        shape = 1.0 / (1.0 / shape + (np.log(shape) - digamma(shape) - gap) / (shape**2 * slope))
    scale = mean / shape
    likelihood = len(observed) * (
        (shape - 1.0) * mean_logarithm - shape - gammaln(shape) - shape * np.log(scale)
    )
    spread = float(scale * np.sqrt(shape))
    return LeadTimeFit(
        "gamma", float(shape), float(scale), mean, spread, float(likelihood), len(observed), observed
    )


def lead_time_quantile(fit: LeadTimeFit, share: Number) -> Number:
    """Lead time that is not exceeded with a given chance: the inverse distribution, also for drawing.

    lognormal: median x exp(shape x inverse of Phi). gamma: scale x inverse incomplete gamma function.
    empirical: linear between the lead times in rising order, the lowest at 0 and the highest at 1, nothing
    beyond.

    Parameters
    ----------
    fit
        Law of the lead time, see `fit_lead_time` [-].
    share
        Chance, or a uniform draw [fraction], above 0 and below 1; 0 and 1 too for the empirical law.

    Returns
    -------
    Number
        Lead time [d].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    R. J. Hyndman and Y. Fan, American Statistician 50 (1996) 361-365, definition 7 (empirical quantile).
    """
    from scipy.special import gammaincinv, ndtri

    if fit.family == "empirical":
        fraction(share=share)
        between: Number = np.quantile(fit.observed, share)
        return between
    within("share", share, above=0.0, below=1.0)
    quantile: Number = (
        np.exp(fit.shape * ndtri(share)) if fit.family == "lognormal" else gammaincinv(fit.shape, share)
    )
    return fit.scale * quantile


def chance_within(fit: LeadTimeFit, days: Number) -> Number:
    """Chance that a delivery comes within some days of its order.

    Distribution function of the law; for the empirical law the share of the log.

    Parameters
    ----------
    fit
        Law of the lead time, see `fit_lead_time` [-].
    days
        Days allowed [d], > 0.

    Returns
    -------
    Number
        Chance [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Distribution functions of the lognormal and gamma laws.
    """
    from scipy.special import gammainc, ndtr

    positive(days=days)
    chance: Number
    if fit.family == "empirical":
        chance = (np.searchsorted(fit.observed, days, side="right") / fit.deliveries)[()]
    elif fit.family == "lognormal":
        chance = ndtr(np.log(days / fit.scale) / fit.shape)
    else:
        chance = gammainc(fit.shape, days / fit.scale)
    return chance


def expected_days_late(fit: LeadTimeFit, promised_days: Number) -> Number:
    """Mean days by which a delivery exceeds a promised lead time, early ones counting 0.

    E max(T - t, 0). lognormal: mean x Phi(s - z) - t Phi(-z) with z = ln(t / median) / s.
    gamma: mean x Q(k + 1, t / scale) - t Q(k, t / scale). empirical: mean over the log.

    Parameters
    ----------
    fit
        Law of the lead time, see `fit_lead_time` [-].
    promised_days
        Lead time promised, t [d], > 0.

    Returns
    -------
    Number
        Mean days late [d].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Partial expectation of the lognormal and gamma laws.
    """
    from scipy.special import gammaincc, ndtr

    positive(promised_days=promised_days)
    late: Number
    if fit.family == "empirical":
        late = 0.0 * promised_days
        for observed in fit.observed.tolist():
            late = late + np.maximum(observed - promised_days, 0.0)
        return late / fit.deliveries
    if fit.family == "lognormal":
        distance = np.log(promised_days / fit.scale) / fit.shape
        late = fit.mean * ndtr(fit.shape - distance) - promised_days * ndtr(-distance)
    else:
        scaled = promised_days / fit.scale
        late = fit.mean * gammaincc(fit.shape + 1.0, scaled) - promised_days * gammaincc(fit.shape, scaled)
    return late
