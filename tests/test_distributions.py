"""Distributions and their inverses against an independent library; points that must be met exactly."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from costmodel.errors import LimitError
from costmodel.formulas import distributions, quantiles

CHANCES = np.linspace(0.001, 0.999, 37)
TRIPLES = (
    st.lists(st.floats(-100.0, 100.0), min_size=3, max_size=3).map(sorted).filter(lambda v: v[2] - v[0] > 0.1)
)


def reference_pert(low: float, likely: float, high: float) -> object:
    alpha = 1 + 4 * (likely - low) / (high - low)
    return stats.beta(alpha, 6 - alpha, loc=low, scale=high - low)


def reference_triangle(low: float, likely: float, high: float) -> object:
    return stats.triang((likely - low) / (high - low), loc=low, scale=high - low)


@settings(deadline=None)
@given(TRIPLES)
def test_triangle_agrees_with_an_independent_library(values: list[float]) -> None:
    reference = reference_triangle(*values)
    assert quantiles.triangular_quantile(CHANCES, *values) == pytest.approx(reference.ppf(CHANCES), abs=1e-7)
    moments = distributions.triangular_moments(*values)
    assert moments == pytest.approx((reference.mean(), reference.var()), rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(TRIPLES)
def test_pert_agrees_with_an_independent_library(values: list[float]) -> None:
    reference = reference_pert(*values)
    assert quantiles.pert_quantile(CHANCES, *values) == pytest.approx(reference.ppf(CHANCES), abs=1e-7)
    moments = distributions.pert_moments(*values)
    assert moments == pytest.approx((reference.mean(), reference.var()), rel=1e-9, abs=1e-9)


def test_the_older_pert_variance_is_another_convention() -> None:
    beta = distributions.pert_moments(2.0, 5.0, 14.0)
    older = distributions.pert_moments(2.0, 5.0, 14.0, "one sixth range")
    assert beta.mean == older.mean
    assert (np.sqrt(beta.variance), np.sqrt(older.variance)) == pytest.approx((2.138, 2.0), abs=5e-4)


@pytest.mark.parametrize("quantile", [quantiles.triangular_quantile, quantiles.pert_quantile])
def test_a_range_without_width_or_with_its_mode_at_an_end(quantile: object) -> None:
    assert callable(quantile)
    assert quantile(0.3, 5.0, 5.0, 5.0) == 5.0
    assert quantile(CHANCES, 5.0, 5.0, 5.0) == pytest.approx(np.full(37, 5.0))
    for likely in (2.0, 6.0):
        values = quantile(CHANCES, 2.0, likely, 6.0)
        assert np.all(np.diff(values) > 0.0)
        assert values.min() >= 2.0
        assert values.max() <= 6.0


def test_other_inverses_agree_with_an_independent_library() -> None:
    assert quantiles.normal_quantile(CHANCES, 3.0, 2.0) == pytest.approx(stats.norm(3.0, 2.0).ppf(CHANCES))
    assert quantiles.uniform_quantile(CHANCES, 3.0, 7.0) == pytest.approx(
        stats.uniform(3.0, 4.0).ppf(CHANCES)
    )
    lognormal = stats.lognorm(s=0.4, scale=np.exp(1.2))
    assert quantiles.lognormal_quantile(CHANCES, 1.2, 0.4) == pytest.approx(lognormal.ppf(CHANCES))
    assert distributions.lognormal_moments(1.2, 0.4) == pytest.approx((lognormal.mean(), lognormal.var()))
    assert stats.norm.ppf(0.9) == distributions.Z90


@settings(deadline=None)
@given(st.floats(0.01, 1000.0), st.floats(0.0, 1000.0))
def test_a_lognormal_value_keeps_its_moments(mean: float, sd: float) -> None:
    shape = distributions.lognormal_from_moments(mean, sd)
    if shape.log_sd < 3.0:
        moments = distributions.lognormal_moments(*shape)
        assert moments.mean == pytest.approx(mean)
        assert np.sqrt(moments.variance) == pytest.approx(sd, rel=1e-6, abs=1e-9 * mean)


@settings(deadline=None)
@given(st.floats(0.01, 100.0), st.floats(1.0, 50.0))
def test_a_lognormal_value_goes_through_its_points(p10: float, ratio: float) -> None:
    shape = distributions.lognormal_from_points(p10, p10 * ratio)
    values = quantiles.lognormal_quantile(np.array([0.1, 0.9]), *shape)
    assert values == pytest.approx([p10, p10 * ratio])


@settings(deadline=None)
@given(TRIPLES)
def test_three_points_are_met_and_the_curve_rises(points: list[float]) -> None:
    values = quantiles.three_point_quantile(np.array([0.1, 0.5, 0.9]), *points)
    assert values == pytest.approx(points, abs=1e-9)
    assert np.all(np.diff(quantiles.three_point_quantile(CHANCES, *points)) >= 0.0)


def test_three_points_of_a_positive_amount() -> None:
    values = quantiles.three_point_quantile(np.array([1e-9, 0.1, 0.5, 0.9]), 1.0, 4.0, 9.0, "log")
    assert values[1:] == pytest.approx([1.0, 4.0, 9.0])
    assert values[0] > 0.0
    assert quantiles.three_point_quantile(1e-9, 1.0, 4.0, 9.0) < 0.0
    with pytest.raises(LimitError, match="p10"):
        quantiles.three_point_quantile(0.5, 0.0, 4.0, 9.0, "log")


def test_symmetric_points_are_a_normal_distribution() -> None:
    sd = 2.0 / distributions.Z90
    assert quantiles.three_point_quantile(CHANCES, 3.0, 5.0, 7.0) == pytest.approx(
        stats.norm(5.0, sd).ppf(CHANCES)
    )


def test_discrete_values_come_with_their_chances() -> None:
    u = (np.arange(1000) + 0.5) / 1000
    drawn = quantiles.discrete_quantile(u, [0.0, 25.0, 50.0], [0.2, 0.0, 0.8])
    assert [np.sum(drawn == value) for value in (0.0, 25.0, 50.0)] == [200, 0, 800]
    assert quantiles.discrete_quantile(0.2, [1.0, 2.0], [0.2, 0.8]) == 1.0
    assert quantiles.discrete_quantile(0.2000001, [1.0, 2.0], [0.2, 0.8]) == 2.0


def test_a_log_of_values_is_drawn_evenly() -> None:
    log = [14.0, 12.0, 16.0]
    drawn = quantiles.discrete_quantile(np.array([0.2, 0.5, 0.8]), log, [1 / 3] * 3)
    assert list(drawn) == log


@pytest.mark.parametrize("chances", [[0.5, 0.4], [0.5, 0.6], [1.2, -0.2]])
def test_chances_that_do_not_add_up_are_refused(chances: list[float]) -> None:
    with pytest.raises(LimitError, match="chances"):
        quantiles.discrete_quantile(0.5, [1.0, 2.0], chances)


@pytest.mark.parametrize("values", [(5.0, 4.0, 6.0), (1.0, 7.0, 6.0)])
def test_values_out_of_order_are_refused(values: tuple[float, float, float]) -> None:
    with pytest.raises(LimitError, match="likely"):
        distributions.triangular_moments(*values)
    with pytest.raises(LimitError, match="likely"):
        distributions.pert_moments(*values)
    for quantile in (quantiles.triangular_quantile, quantiles.pert_quantile):
        with pytest.raises(LimitError, match="likely"):
            quantile(0.5, values[0], np.array([values[1], values[1]]), values[2])
    with pytest.raises(LimitError, match="p50"):
        quantiles.three_point_quantile(0.5, *values)


def test_a_range_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(LimitError, match="high"):
        quantiles.uniform_quantile(0.5, 5.0, 4.0)
    with pytest.raises(LimitError, match="p90"):
        distributions.lognormal_from_points(5.0, 4.0)
