"""Drift of quality in a delivery log; the logs are drawn, so they are invented."""

from __future__ import annotations

from math import comb

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit

from costmodel.errors import LimitError
from costmodel.formulas.quality import share_limits
from costmodel.formulas.quality_drift import (
    compare_periods,
    cumulative_reject_share,
    reject_trend,
    weighted_reject_share,
)

DAYS = np.linspace(0.0, 700.0, 60)
RECEIVED = np.tile([200.0, 150.0, 240.0], 20)
DRIFTING = np.random.default_rng(3).binomial(RECEIVED.astype(int), expit(-4.5 + 0.003 * DAYS)).astype(float)
STEADY = np.random.default_rng(4).binomial(RECEIVED.astype(int), 0.02).astype(float)


def test_the_last_cumulative_share_is_that_of_the_whole_log() -> None:
    history = cumulative_reject_share(RECEIVED, DRIFTING)
    limits = share_limits(DRIFTING.sum(), RECEIVED.sum(), sides="two")
    assert history.share[-1] == pytest.approx(DRIFTING.sum() / RECEIVED.sum())
    assert (history.lower[-1], history.upper[-1]) == pytest.approx((limits.lower, limits.upper))
    assert np.all(history.lower <= history.share)
    assert np.all(history.share <= history.upper)
    first = share_limits(DRIFTING[0], RECEIVED[0], sides="two")
    assert history.upper[0] == pytest.approx(first.upper)


def test_a_weight_of_one_forgets_everything_and_equal_shares_stay() -> None:
    np.testing.assert_allclose(weighted_reject_share(RECEIVED, DRIFTING, weight=1.0), DRIFTING / RECEIVED)
    np.testing.assert_allclose(weighted_reject_share(RECEIVED, 0.03 * RECEIVED, weight=0.2), 0.03)


def test_a_weighted_share_is_a_sum_with_geometric_weights() -> None:
    weight, count = 0.2, len(RECEIVED)
    weights = weight * (1 - weight) ** np.arange(count - 1, -1, -1.0)
    weights[0] = (1 - weight) ** (count - 1)
    expected = (weights @ DRIFTING) / (weights @ RECEIVED)
    assert weighted_reject_share(RECEIVED, DRIFTING, weight=weight)[-1] == pytest.approx(expected)


def test_the_weighted_share_follows_a_drift_that_the_cumulative_one_hides() -> None:
    weighted = weighted_reject_share(RECEIVED, DRIFTING, weight=0.2)[-1]
    assert weighted > 1.3 * cumulative_reject_share(RECEIVED, DRIFTING).share[-1]


def chance_of_at_least(rejected: int, received: int, all_rejected: int, all_received: int) -> float:
    """Hypergeometric tail by counting."""
    ways = [
        comb(all_rejected, k) * comb(all_received - all_rejected, received - k)
        for k in range(rejected, min(all_rejected, received) + 1)
    ]
    return sum(ways) / comb(all_received, received)


def test_two_periods_are_compared_exactly() -> None:
    worse = compare_periods(300, 2, 200, 7)
    assert worse.share_before == pytest.approx(2 / 300)
    assert worse.share_after == pytest.approx(7 / 200)
    assert worse.parts == 500.0
    assert worse.chance == pytest.approx(chance_of_at_least(7, 200, 9, 500), rel=1e-9)
    better = compare_periods(200, 7, 300, 2, alternative="better")
    assert better.chance == pytest.approx(worse.chance, rel=1e-9)
    assert compare_periods(300, 2, 200, 7, alternative="different").chance >= worse.chance


def test_no_rejects_in_both_periods_prove_nothing() -> None:
    assert compare_periods(300, 0, 200, 0).chance == 1.0


@pytest.mark.parametrize(
    "counts", [(0, 0, 9, 0), (9, 10, 9, 0), (9, -1, 9, 0), (9, 0, 0, 0), (9, 0, 9, 10), (9, 0, 9, -1)]
)
def test_impossible_periods_are_refused(counts: tuple[int, int, int, int]) -> None:
    with pytest.raises(LimitError):
        compare_periods(*counts)


def test_an_unknown_alternative_is_refused() -> None:
    with pytest.raises(LimitError, match="alternative"):
        compare_periods(9, 0, 9, 0, alternative="greater")


def test_the_trend_is_the_likeliest_logistic_line() -> None:
    trend = reject_trend(DAYS, RECEIVED, DRIFTING)

    def minus_log_likelihood(line: np.ndarray) -> float:
        odds = line[0] + line[1] * DAYS / 100.0
        return float(np.sum(RECEIVED * np.logaddexp(0.0, odds) - DRIFTING * odds))

    best = minimize(minus_log_likelihood, [-4.0, 0.0], method="BFGS", options={"gtol": 1e-6})
    assert trend.slope == pytest.approx(best.x[1] / 100.0, rel=1e-4)
    assert trend.share_at_start == pytest.approx(expit(best.x[0]), rel=1e-4)
    assert trend.share_at_end == pytest.approx(expit(best.x[0] + best.x[1] * 7.0), rel=1e-4)
    assert trend.standard_error == pytest.approx(np.sqrt(best.hess_inv[1, 1]) / 100.0, rel=0.05)
    assert trend.deliveries == 60
    assert trend.chance < 1e-6


def test_the_standard_error_is_the_spread_of_slopes_of_steady_logs() -> None:
    generator = np.random.default_rng(11)
    trends = [
        reject_trend(DAYS, RECEIVED, generator.binomial(RECEIVED.astype(int), 0.02).astype(float))
        for _ in range(300)
    ]
    slopes = np.array([trend.slope for trend in trends])
    errors = np.array([trend.standard_error for trend in trends])
    assert slopes.std() == pytest.approx(errors.mean(), rel=0.15)
    assert np.mean([trend.chance < 0.05 for trend in trends]) == pytest.approx(0.05, abs=0.04)


def test_a_steady_log_shows_no_trend() -> None:
    assert reject_trend(DAYS, RECEIVED, STEADY).chance > 0.05


def test_a_log_without_a_finite_trend_is_refused() -> None:
    ends = np.zeros(60)
    ends[-1] = RECEIVED[-1]
    with pytest.raises(LimitError, match="at one end"):
        reject_trend(DAYS, RECEIVED, ends)
    for none_or_all in (np.zeros(60), RECEIVED):
        with pytest.raises(LimitError, match="rejected share of the log"):
            reject_trend(DAYS, RECEIVED, none_or_all)
    with pytest.raises(LimitError, match="spread of days"):
        reject_trend(np.full(60, 7.0), RECEIVED, STEADY)
    with pytest.raises(LimitError, match="of one length"):
        reject_trend(DAYS[:-1], RECEIVED, STEADY)


@pytest.mark.parametrize("formula", [cumulative_reject_share, weighted_reject_share])
def test_impossible_logs_are_refused(formula) -> None:
    for received, rejected in (
        ([0.0, 9.0], [0.0, 1.0]),
        ([9.0, 9.0], [-1.0, 1.0]),
        ([9.0, 9.0], [10.0, 1.0]),
        ([9.0, np.nan], [1.0, 1.0]),
        ([9.0, 9.0], [1.0]),
        ([], []),
    ):
        with pytest.raises(LimitError):
            formula(np.array(received), np.array(rejected))


@pytest.mark.parametrize("weight", [0.0, 1.1, float("nan")])
def test_a_weight_outside_its_range_is_refused(weight: float) -> None:
    with pytest.raises(LimitError, match="weight"):
        weighted_reject_share(RECEIVED, STEADY, weight=weight)


def test_two_thousand_deliveries_take_no_time() -> None:
    received, rejected = np.full(2000, 50.0), np.tile([0.0, 1.0], 1000)
    assert len(cumulative_reject_share(received, rejected).share) == 2000
    assert len(weighted_reject_share(received, rejected)) == 2000
