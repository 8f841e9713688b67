"""Scatter of tool life against the distributions of scipy.stats and numerical integrals."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from costmodel.errors import LimitError
from costmodel.formulas import tool_scatter
from costmodel.formulas.tool_scatter import Family

every_family = pytest.mark.parametrize("family", get_args(Family))
every_variation = pytest.mark.parametrize("variation", [0.01, 0.1, 0.3, 0.8, 1.0, 3.0])


def distribution(mean: float, variation: float, family: Family) -> stats.rv_frozen:
    """The distribution of scipy.stats with these moments; the Weibull shape is checked against it below."""
    if family == "lognormal":
        sigma = float(np.sqrt(np.log1p(variation**2)))
        return stats.lognorm(sigma, scale=mean * np.exp(-(sigma**2) / 2))
    shape = float(tool_scatter.weibull_shape(variation))
    return stats.weibull_min(shape, scale=mean / stats.weibull_min.mean(shape))


@given(variation=st.floats(0.01, 3.0))
def test_weibull_shape_has_the_coefficient_of_variation(variation: float) -> None:
    life = stats.weibull_min(float(tool_scatter.weibull_shape(variation)))
    assert life.std() / life.mean() == pytest.approx(variation, rel=1e-9)


def test_known_weibull_shapes() -> None:
    """Exponential life has shape and coefficient 1; shape 2 has sqrt(4/pi - 1)."""
    assert tool_scatter.weibull_shape(1.0) == pytest.approx(1.0)
    assert tool_scatter.weibull_shape(float(np.sqrt(4 / np.pi - 1))) == pytest.approx(2.0)


@every_family
@every_variation
def test_reliability_and_mean_use_agree_with_scipy(variation: float, family: Family) -> None:
    life = distribution(500.0, variation, family)
    for use in 500.0 * np.array([0.02, 0.4, 0.9, 1.0, 1.1, 2.5]):
        left = tool_scatter.reliability(use, 500.0, variation, family)
        assert left == pytest.approx(life.sf(use), rel=1e-9, abs=1e-200)
        spots = [spot for spot in (400.0, 480.0, 500.0, 520.0) if spot < use]
        integral, _ = quad(life.sf, 0.0, use, points=spots or None, epsabs=1e-11, limit=400)
        assert tool_scatter.expected_use(use, 500.0, variation, family) == pytest.approx(integral, rel=1e-8)


@every_family
@pytest.mark.parametrize("variation", [0.1, 0.3, 0.8, 1.0])
def test_mean_life_left_agrees_with_the_integral(variation: float, family: Family) -> None:
    life = distribution(500.0, variation, family)
    for use in (10.0, 300.0, 500.0, 650.0):
        integral, _ = quad(life.sf, use, 500.0 * 4000, points=[600.0, 900.0, 2000.0, 20_000.0], limit=800)
        got = tool_scatter.mean_residual_life(use, 500.0, variation, family)
        assert got == pytest.approx(integral / life.sf(use), rel=1e-6)


@given(use=st.floats(1.0, 3000.0))
def test_exponential_life_has_no_memory(use: float) -> None:
    assert tool_scatter.mean_residual_life(use, 500.0, 1.0) == pytest.approx(500.0)


@every_family
@every_variation
def test_use_and_life_left_share_the_mean(variation: float, family: Family) -> None:
    use = 480.0
    used = tool_scatter.expected_use(use, 500.0, variation, family)
    left = tool_scatter.reliability(use, 500.0, variation, family)
    assert used + left * tool_scatter.mean_residual_life(use, 500.0, variation, family) == pytest.approx(
        500.0
    )


@every_family
def test_extremes_stay_finite_and_in_range(family: Family) -> None:
    use = 500.0 * np.array([1e-6, 1e-3, 1e3, 1e6])
    for variation in (0.01, 0.3, 3.0):
        with np.errstate(all="raise"):
            left = np.asarray(tool_scatter.reliability(use, 500.0, variation, family))
            used = np.asarray(tool_scatter.expected_use(use, 500.0, variation, family))
        assert np.all((left >= 0.0) & (left <= 1.0))
        assert np.all((used > 0.0) & (used <= 500.0 * (1 + 1e-12)))
        if variation < 1.0:  # with more scatter even a thousandth of the mean life is not sure
            assert used[0] == pytest.approx(use[0])
            assert used[-1] == pytest.approx(500.0)


@every_family
def test_a_use_that_no_edge_survives_has_no_life_left(family: Family) -> None:
    with pytest.raises(LimitError, match="reliability_at_use"):
        tool_scatter.mean_residual_life(5000.0, 500.0, 0.05, family)
