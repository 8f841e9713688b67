"""Is a supplier's quality drifting? Statements from a delivery log, each with its confidence.

The arguments are the rows of one log, deliveries in the order of receipt: data, not draws.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import not_above, one_of, same_length
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas.quality import Sides, share_limits

Series = npt.NDArray[np.float64]
_NEWTON_STEPS = 50
_CONVERGED = 1e-12


class RejectHistory(NamedTuple):
    """Share of rejected parts up to each delivery, with exact limits."""

    share: Series
    """Rejected share of all parts received so far [fraction]."""
    lower: Series
    """Lower confidence limit [fraction]."""
    upper: Series
    """Upper confidence limit [fraction]."""


class PeriodComparison(NamedTuple):
    """Two periods of a log compared."""

    share_before: float
    """Rejected share of the earlier period [fraction]."""
    share_after: float
    """Rejected share of the later period [fraction]."""
    chance: float
    """Chance of a difference as large as this, or larger, if nothing had changed (p-value) [fraction]."""
    parts: float
    """Parts in both periods, on which the statement rests [parts]."""


class RejectTrend(NamedTuple):
    """Trend of the rejected share in time, by logistic regression."""

    share_at_start: float
    """Fitted share on the first day [fraction]."""
    share_at_end: float
    """Fitted share on the last day [fraction]."""
    slope: float
    """Change of the logarithm of the odds of rejection [1/d]."""
    standard_error: float
    """Standard error of the slope [1/d]."""
    chance: float
    """Chance of such a slope, of either sign, if nothing changed (two-sided p-value) [fraction]."""
    deliveries: int
    """Deliveries on which the trend rests [-]."""


def _checked_log(received: Series, rejected: Series) -> None:
    same_length(received=received, rejected=rejected)
    positive(received=received)
    not_negative(rejected=rejected)
    not_above("rejected", rejected, "received", received)


def cumulative_reject_share(
    received: Series, rejected: Series, *, confidence: float = 0.95, sides: Sides = "two"
) -> RejectHistory:
    """Rejected share of all parts received so far, after each delivery, with exact confidence limits.

    Running sums, limits of Clopper and Pearson. Limits hold delivery by delivery, not for the whole curve.

    Parameters
    ----------
    received
        Parts in each delivery [parts], > 0.
    rejected
        Parts of it rejected [parts], 0 to received.
    confidence
        Confidence of each statement [fraction], above 0 and below 1.
    sides
        Whether one limit is stated or both together [-], "one" or "two".

    Returns
    -------
    RejectHistory
        Share and limits after each delivery [fraction].

    Raises
    ------
    LimitError
        An argument outside its range, or unlike lengths.

    References
    ----------
    C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
    """
    _checked_log(received, rejected)
    total, bad = np.cumsum(received), np.cumsum(rejected)
    limits = share_limits(bad, total, confidence=confidence, sides=sides)
    return RejectHistory(bad / total, np.asarray(limits.lower), np.asarray(limits.upper))


def weighted_reject_share(received: Series, rejected: Series, *, weight: float = 0.2) -> Series:
    """Rejected share in which recent deliveries count more.

    Exponentially weighted means of rejected and of received parts, one divided by the other, so that a large
    delivery counts for more than a small one: m = w x + (1 - w) m before, from the first delivery.

    Parameters
    ----------
    received
        Parts in each delivery [parts], > 0.
    rejected
        Parts of it rejected [parts], 0 to received.
    weight
        Weight of the newest delivery, w [fraction], above 0 to 1.

    Returns
    -------
    array
        Weighted share after each delivery [fraction].

    Raises
    ------
    LimitError
        An argument outside its range, or unlike lengths.

    References
    ----------
    S. W. Roberts, Technometrics 1 (1959) 239-250, geometric moving averages (from memory).
    """
    _checked_log(received, rejected)
    within("weight", weight, above=0.0, at_most=1.0)
    shares = np.empty(len(received))
    smooth_received, smooth_rejected = float(received[0]), float(rejected[0])
    for index in range(len(received)):
        smooth_received += weight * (float(received[index]) - smooth_received)
        smooth_rejected += weight * (float(rejected[index]) - smooth_rejected)
        shares[index] = smooth_rejected / smooth_received
    return shares


def compare_periods(
    received_before: int,
    rejected_before: int,
    received_after: int,
    rejected_after: int,
    *,
    alternative: Literal["worse", "better", "different"] = "worse",
) -> PeriodComparison:
    """Whether the later of two periods has another share of rejected parts: Fisher's exact test.

    Given the rejected parts of both periods together, their number in the later one is hypergeometric if
    nothing changed. The periods must be chosen before looking at the log, or the chance is too small.

    Parameters
    ----------
    received_before
        Parts received in the earlier period [parts], whole number > 0.
    rejected_before
        Parts of it rejected [parts], whole number, 0 to received.
    received_after
        Parts received in the later period [parts], whole number > 0.
    rejected_after
        Parts of it rejected [parts], whole number, 0 to received.
    alternative
        What is asked about the later period [-], "worse", "better" or "different".

    Returns
    -------
    PeriodComparison
        Both shares and the chance [fraction], and the parts.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    R. A. Fisher, Statistical Methods for Research Workers, exact treatment of 2 x 2 tables (scipy.stats).
    """
    from scipy.stats import fisher_exact

    one_of("alternative", alternative, ("worse", "better", "different"))
    positive(received_before=float(received_before), received_after=float(received_after))
    not_negative(rejected_before=float(rejected_before), rejected_after=float(rejected_after))
    not_above("rejected_before", float(rejected_before), "received_before", float(received_before))
    not_above("rejected_after", float(rejected_after), "received_after", float(received_after))
    table = [
        [int(rejected_after), int(received_after - rejected_after)],
        [int(rejected_before), int(received_before - rejected_before)],
    ]
    side = {"worse": "greater", "better": "less", "different": "two-sided"}[alternative]
    chance = float(fisher_exact(table, alternative=side)[1])
    return PeriodComparison(
        rejected_before / received_before,
        rejected_after / received_after,
        chance,
        float(received_before + received_after),
    )


def reject_trend(days: Series, received: Series, rejected: Series) -> RejectTrend:
    """Trend of the rejected share in time.

    Logistic regression ln(p / (1 - p)) = a + b day by maximum likelihood (Newton's method); the standard
    error comes from the information matrix and the chance from the normal law of b over its error, which
    wants a dozen rejected parts or more. A log whose rejects all lie at one end has no finite slope and is
    refused.

    Parameters
    ----------
    days
        Day of each delivery from any start [d], not all equal.
    received
        Parts in each delivery [parts], > 0.
    rejected
        Parts of it rejected [parts], 0 to received, neither none nor all in the whole log.

    Returns
    -------
    RejectTrend
        Fitted shares [fraction], slope and its standard error [1/d], chance [fraction], deliveries.

    Raises
    ------
    LimitError
        An argument outside its range, unlike lengths, or a log without a finite slope.

    References
    ----------
    P. McCullagh and J. A. Nelder, Generalized Linear Models, 2nd ed., ch. 4 (binary data; from memory).
    """
    from scipy.special import expit, ndtr

    _checked_log(received, rejected)
    same_length(days=days, received=received)
    within("rejected share of the log", float(np.sum(rejected) / np.sum(received)), above=0.0, below=1.0)
    spread = float(np.std(days))
    within("spread of days", spread, above=0.0)
    scaled = (days - np.mean(days)) / spread
    level, slope, error = _logistic_line(scaled, received, rejected)
    ends = expit(level + slope * np.array([np.min(scaled), np.max(scaled)]))
    return RejectTrend(
        share_at_start=float(ends[0]),
        share_at_end=float(ends[1]),
        slope=slope / spread,
        standard_error=error / spread,
        chance=float(2.0 * ndtr(-abs(slope / error))),
        deliveries=len(received),
    )


def _logistic_line(scaled: Series, received: Series, rejected: Series) -> tuple[float, float, float]:
    """Level, slope and standard error of the slope, by Newton's method on the likelihood."""
    from scipy.special import expit, logit

    level, slope = float(logit(np.sum(rejected) / np.sum(received))), 0.0
    for _ in range(_NEWTON_STEPS):
        share = expit(level + slope * scaled)
        weight = received * share * (1.0 - share)
        zeroth, first, second = (float(np.sum(weight * scaled**power)) for power in range(3))
        determinant = zeroth * second - first**2
        if not determinant > 0.0:
            break
        residual = rejected - received * share
        pull, tilt = float(np.sum(residual)), float(np.sum(residual * scaled))
        level_step = (second * pull - first * tilt) / determinant
        slope_step = (zeroth * tilt - first * pull) / determinant
        level, slope = level + level_step, slope + slope_step
        if abs(level_step) + abs(slope_step) < _CONVERGED * (1.0 + abs(level) + abs(slope)):
            return level, slope, float(np.sqrt(zeroth / determinant))
    raise LimitError("rejected", "all at one end of the log", "spread over it, so that a trend is finite")
