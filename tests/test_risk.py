"""Sums, correlation, value of knowing, sensitivity indices: closed forms, simulation, independent libraries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from costmodel.errors import LimitError
from costmodel.formulas import risk, sensitivity_indices

GENERATOR = np.random.default_rng(20260101)


def test_the_product_of_lognormal_amounts_is_simulated() -> None:
    logs = GENERATOR.normal([[0.5], [1.0]], [[0.3], [0.4]], (2, 200000))
    product = risk.lognormal_product([0.5, 1.0], [0.3, 0.4])
    assert np.exp(logs.sum(axis=0)).mean() == pytest.approx(
        np.exp(product.log_mean + product.log_sd**2 / 2), rel=0.01
    )


def test_the_sum_of_lognormal_amounts_keeps_mean_and_variance() -> None:
    parts = [stats.lognorm(s=sd, scale=np.exp(mean)) for mean, sd in ((0.2, 0.5), (1.0, 0.3))]
    total = risk.lognormal_sum([0.2, 1.0], [0.5, 0.3])
    matched = stats.lognorm(s=total.log_sd, scale=np.exp(total.log_mean))
    assert matched.mean() == pytest.approx(sum(part.mean() for part in parts))
    assert matched.var() == pytest.approx(sum(part.var() for part in parts))


def test_the_spread_of_a_correlated_sum_is_the_matrix_product() -> None:
    sds = np.array([10.0, 20.0, 30.0])
    for correlation in (0.0, 0.3, 1.0):
        matrix = np.full((3, 3), correlation) + (1 - correlation) * np.eye(3)
        assert risk.sd_of_sum(sds, correlation) == pytest.approx(np.sqrt(sds @ matrix @ sds))
    assert risk.sd_of_sum(sds) == risk.sd_of_sum(sds, 0.0)
    assert risk.sd_of_sum(sds, 1.0) == pytest.approx(60.0)


@settings(deadline=None)
@given(st.floats(-1.0, 1.0))
def test_rank_correlation_is_undone(rank: float) -> None:
    assert risk.rank_correlation(risk.pearson_from_rank(rank)) == pytest.approx(rank, abs=1e-9)


def test_measures_of_dependence_are_those_of_draws() -> None:
    one, other = GENERATOR.multivariate_normal([0, 0], [[1, 0.6], [0.6, 1]], 20000).T
    assert risk.rank_correlation(0.6) == pytest.approx(stats.spearmanr(one, other).statistic, abs=0.02)
    assert risk.concordance(0.6) == pytest.approx(stats.kendalltau(one, other).statistic, abs=0.02)
    assert risk.chance_both_above_median(0.6) == pytest.approx(np.mean((one > 0) & (other > 0)), abs=0.02)


@pytest.mark.parametrize("correlation", [-1.0, 0.0, 1.0])
def test_dependence_at_its_ends(correlation: float) -> None:
    assert risk.rank_correlation(correlation) == pytest.approx(correlation)
    assert risk.concordance(correlation) == pytest.approx(correlation)
    assert risk.chance_both_above_median(correlation) == pytest.approx((1 + correlation) / 4)


PAYOFFS = st.lists(st.lists(st.floats(-100.0, 100.0), min_size=3, max_size=3), min_size=1, max_size=4)


@settings(deadline=None)
@given(PAYOFFS)
def test_knowing_is_never_worth_less_than_nothing(payoffs: list[list[float]]) -> None:
    chances = [0.5, 0.3, 0.2]
    result = risk.perfect_information(payoffs, chances)
    means = np.array(payoffs) @ chances
    assert result.expected == pytest.approx(tuple(means))
    assert result.best == pytest.approx(means.max())
    assert result.best_if_known == pytest.approx(np.array(payoffs).max(axis=0) @ chances)
    assert result.value >= 0.0
    costs = [[-payoff for payoff in alternative] for alternative in payoffs]
    lowest = risk.perfect_information(costs, chances, "lowest")
    assert lowest.value == pytest.approx(result.value, abs=1e-9)
    assert lowest.best == pytest.approx(-result.best, abs=1e-9)


def test_one_alternative_leaves_nothing_to_know() -> None:
    assert risk.perfect_information([[5.0, -5.0]], [0.5, 0.5]).value == 0.0


def test_tables_with_a_hole_are_refused() -> None:
    with pytest.raises(LimitError, match="payoffs"):
        risk.perfect_information([[1.0, 2.0], [1.0]], [0.5, 0.5])
    with pytest.raises(LimitError, match="payoffs"):
        risk.perfect_information([], [1.0])
    for chances in ([0.5, 0.4], [1.5, -0.5]):
        with pytest.raises(LimitError, match="chances"):
            risk.expected_value([1.0, 2.0], chances)


# --- sensitivity indices -----------------------------------------------------------------------------

FIRST, TOTAL = (
    [0.313905, 0.442411, 0.0],
    [0.557589, 0.442411, 0.243684],
)  # Ishigami, a = 7, b = 0.1, closed form


def ishigami(x: np.ndarray) -> np.ndarray:
    return np.sin(x[..., 0]) + 7.0 * np.sin(x[..., 1]) ** 2 + 0.1 * x[..., 2] ** 4 * np.sin(x[..., 0])


def sobol_blocks(draws: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    points = (stats.qmc.Sobol(6, seed=7).random(draws) * 2 - 1) * np.pi
    one, other = points[:, :3], points[:, 3:]
    mixed = np.array([np.where(np.arange(3) == place, other, one) for place in range(3)])
    return ishigami(one), ishigami(other), ishigami(mixed)


def test_indices_of_a_published_function() -> None:
    one, other, mixed = sobol_blocks(2**14)
    assert one.mean() == pytest.approx(3.5, abs=0.01)
    assert one.var() == pytest.approx(13.844588, rel=0.01)
    for place in range(3):
        blocks = (one, other, mixed[place])
        assert sensitivity_indices.total_index(*blocks) == pytest.approx(TOTAL[place], abs=0.01)
        for estimator in ("saltelli", "jansen"):
            first = sensitivity_indices.first_order_index(*blocks, estimator)
            assert first == pytest.approx(FIRST[place], abs=0.01)


def test_indices_agree_with_an_independent_library() -> None:
    from SALib.analyze.sobol import first_order, total_order

    one, other, mixed = sobol_blocks(2**10)
    for place in range(3):
        centre = np.concatenate((one, other)).mean()
        shifted = (one - centre, other - centre, mixed[place] - centre)
        expected = first_order(shifted[0], shifted[2], shifted[1])
        found = sensitivity_indices.first_order_index(one, other, mixed[place])
        assert found == pytest.approx(np.squeeze(expected), rel=1e-10, abs=1e-12)
        expected = total_order(shifted[0], shifted[2], shifted[1])
        assert sensitivity_indices.total_index(one, other, mixed[place]) == pytest.approx(
            np.squeeze(expected), rel=1e-10
        )


def test_indices_of_a_sum_are_shares_of_its_variance() -> None:
    one, other = GENERATOR.normal(size=(2, 3, 100000))
    weights = np.array([1.0, 2.0, 3.0])
    for place in range(3):
        mixed = one.copy()
        mixed[place] = other[place]
        results = (weights @ one, weights @ other, weights @ mixed)
        share = weights[place] ** 2 / 14.0
        assert sensitivity_indices.total_index(*results) == pytest.approx(share, abs=0.02)
        assert sensitivity_indices.first_order_index(*results) == pytest.approx(share, abs=0.02)


def test_several_results_at_once() -> None:
    one, other, mixed = sobol_blocks(2**8)
    both = [np.stack((block, 2.0 * block + 5.0)) for block in (one, other, mixed[0])]
    indices = sensitivity_indices.total_index(*both)
    assert indices.shape == (2,)
    assert indices[0] == pytest.approx(indices[1])


def test_an_additive_shift_changes_no_index() -> None:
    one, other, mixed = sobol_blocks(2**8)
    plain = sensitivity_indices.first_order_index(one, other, mixed[1])
    shifted = sensitivity_indices.first_order_index(one + 1e4, other + 1e4, mixed[1] + 1e4)
    assert shifted == pytest.approx(plain, rel=1e-6)


@pytest.mark.parametrize(
    "blocks",
    [
        (np.ones(4), np.ones(4), np.ones(4)),
        (np.arange(4.0), np.arange(4.0), np.arange(5.0)),
        (np.arange(1.0), np.arange(1.0), np.arange(1.0)),
        (np.array([1.0, np.nan]), np.arange(2.0), np.arange(2.0)),
    ],
)
def test_draws_that_say_nothing_are_refused(blocks: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    with pytest.raises(LimitError, match="results"):
        sensitivity_indices.total_index(*blocks)
    with pytest.raises(LimitError, match="results"):
        sensitivity_indices.first_order_index(*blocks)


def test_an_unknown_estimator_is_refused() -> None:
    with pytest.raises(LimitError, match="estimator"):
        sensitivity_indices.first_order_index(np.arange(4.0), np.arange(4.0), np.arange(4.0), "best")


@settings(deadline=None)
@given(st.lists(st.floats(-100.0, 100.0), min_size=2, max_size=12))
def test_the_standard_error_agrees_with_an_independent_library(values: list[float]) -> None:
    assert sensitivity_indices.standard_error(values) == pytest.approx(stats.sem(values), abs=1e-9)


def test_one_replicate_has_no_standard_error() -> None:
    with pytest.raises(LimitError, match="at least 2"):
        sensitivity_indices.standard_error([3.0])
