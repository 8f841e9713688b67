"""Delivery logs and laws fitted to them; the logs are drawn, so they are invented."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import fixed_quad

from costmodel.errors import LimitError
from costmodel.formulas.lead_time import (
    chance_within,
    delivery_statistics,
    expected_days_late,
    fit_lead_time,
    lead_time_quantile,
)

SKEWED = np.round(np.random.default_rng(1).lognormal(4.4, 0.3, 60), 1)
EARLIER = np.round(np.random.default_rng(1).gamma(9.0, 10.0, 60), 1)
LATENESS = np.array([-2.0, 0.0, 0.0, 3.0, 4.0, 11.0])


def statistics(**window: float):
    ordered = np.arange(6.0) * 14.0
    return delivery_statistics(ordered, ordered + 70.0, ordered + 70.0 + LATENESS, **window)


def test_a_log_gives_its_moments() -> None:
    found = statistics()
    assert found.deliveries == 6
    assert found.mean_lead_time == pytest.approx(70.0 + 16 / 6)
    assert found.mean_lateness == pytest.approx(16 / 6)
    assert found.lead_time_spread == found.lateness_spread == pytest.approx(stats.tstd(LATENESS))
    assert found.mean_days_late == pytest.approx(18 / 6)


@pytest.mark.parametrize(
    ("early", "late", "on_time"), [(0.0, 0.0, 2), (0.0, 3.0, 3), (2.0, 3.0, 4), (5.0, 20.0, 6), (1.9, 3.9, 3)]
)
def test_the_window_is_closed_on_both_sides(early: float, late: float, on_time: int) -> None:
    found = statistics(early=early, late=late)
    assert found.on_time_share == pytest.approx(on_time / 6)
    exact = stats.binomtest(on_time, 6).proportion_ci(0.95, method="exact")
    assert (found.on_time_lower, found.on_time_upper) == pytest.approx((exact.low, exact.high))


def test_one_delivery_has_no_spread() -> None:
    one = np.array([10.0])
    assert np.isnan(delivery_statistics(one, one + 5.0, one + 6.0).lead_time_spread)


@pytest.mark.parametrize(
    ("ordered", "promised", "received", "window"),
    [
        ([5.0], [9.0], [4.0], {}),
        ([5.0], [np.nan], [8.0], {}),
        ([5.0], [9.0], [np.nan], {}),
        ([5.0, 6.0], [9.0], [9.0], {}),
        ([], [], [], {}),
        ([5.0], [9.0], [9.0], {"early": -1.0}),
        ([5.0], [9.0], [9.0], {"late": -1.0}),
        ([5.0], [9.0], [9.0], {"confidence": 1.0}),
    ],
)
def test_an_impossible_log_is_refused(ordered: list, promised: list, received: list, window: dict) -> None:
    with pytest.raises(LimitError):
        delivery_statistics(np.array(ordered), np.array(promised), np.array(received), **window)


def test_the_lognormal_fit_agrees_with_scipy() -> None:
    fit = fit_lead_time(SKEWED, family="lognormal")
    shape, _, scale = stats.lognorm.fit(SKEWED, floc=0)
    assert (fit.shape, fit.scale) == pytest.approx((shape, scale), rel=1e-4)
    law = stats.lognorm(fit.shape, scale=fit.scale)
    assert (fit.mean, fit.spread) == pytest.approx((law.mean(), law.std()))
    assert fit.log_likelihood == pytest.approx(law.logpdf(SKEWED).sum())
    assert fit.deliveries == 60


def test_the_gamma_fit_agrees_with_scipy() -> None:
    fit = fit_lead_time(EARLIER, family="gamma")
    shape, _, scale = stats.gamma.fit(EARLIER, floc=0)
    assert (fit.shape, fit.scale) == pytest.approx((shape, scale), rel=1e-4)
    law = stats.gamma(fit.shape, scale=fit.scale)
    assert (fit.mean, fit.spread) == pytest.approx((law.mean(), law.std()))
    assert fit.mean == pytest.approx(EARLIER.mean())
    assert fit.log_likelihood == pytest.approx(law.logpdf(EARLIER).sum())


@settings(deadline=None)
@given(st.floats(0.3, 400.0), st.integers(0, 1000))
def test_the_gamma_fit_has_no_better_neighbour(shape: float, seed: int) -> None:
    drawn = np.random.default_rng(seed).gamma(shape, 10.0, 30) + 1e-9
    fit = fit_lead_time(drawn, family="gamma")
    for factor in (0.97, 1.03):
        other = stats.gamma.logpdf(drawn, fit.shape * factor, scale=fit.mean / (fit.shape * factor)).sum()
        assert other < fit.log_likelihood


def test_the_likeliest_law_is_the_one_with_the_larger_likelihood() -> None:
    for log in (SKEWED, EARLIER):
        both = {family: fit_lead_time(log, family=family) for family in ("lognormal", "gamma")}
        chosen = fit_lead_time(log)
        assert chosen.log_likelihood == max(fit.log_likelihood for fit in both.values())
        assert chosen.family in both
    assert fit_lead_time(np.random.default_rng(2).lognormal(4.0, 0.8, 400)).family == "lognormal"
    assert fit_lead_time(np.random.default_rng(2).gamma(1.2, 30.0, 400)).family == "gamma"


def test_the_empirical_law_is_the_log_itself() -> None:
    fit = fit_lead_time(np.array([90.0, 60.0, 70.0]), family="empirical")
    assert (fit.mean, fit.deliveries) == (pytest.approx(220 / 3), 3)
    assert fit.observed.tolist() == [60.0, 70.0, 90.0]
    np.testing.assert_allclose(
        lead_time_quantile(fit, np.array([0.0, 0.5, 0.75, 1.0])), [60.0, 70.0, 80.0, 90.0]
    )
    np.testing.assert_allclose(
        chance_within(fit, np.array([59.9, 60.0, 89.0, 90.0])), [0.0, 1 / 3, 2 / 3, 1.0]
    )
    np.testing.assert_allclose(expected_days_late(fit, np.array([50.0, 65.0, 95.0])), [70 / 3, 10.0, 0.0])


FITS = {family: fit_lead_time(SKEWED, family=family) for family in ("lognormal", "gamma")}
LAWS = {
    "lognormal": stats.lognorm(FITS["lognormal"].shape, scale=FITS["lognormal"].scale),
    "gamma": stats.gamma(FITS["gamma"].shape, scale=FITS["gamma"].scale),
}


@pytest.mark.parametrize("family", ["lognormal", "gamma"])
@settings(deadline=None)
@given(share=st.floats(0.001, 0.999), days=st.floats(20.0, 250.0))
def test_a_fitted_law_agrees_with_scipy(family: str, share: float, days: float) -> None:
    fit, law = FITS[family], LAWS[family]
    assert lead_time_quantile(fit, share) == pytest.approx(law.ppf(share), rel=1e-9)
    assert chance_within(fit, days) == pytest.approx(law.cdf(days), abs=1e-12)
    late = fixed_quad(law.sf, days, 1200.0, n=200)[0]
    assert expected_days_late(fit, days) == pytest.approx(late, abs=1e-8)


@pytest.mark.parametrize("family", ["lognormal", "gamma", "empirical"])
def test_uniform_draws_become_lead_times_with_the_moments_of_the_law(family: str) -> None:
    fit = fit_lead_time(SKEWED, family=family)
    drawn = lead_time_quantile(fit, np.random.default_rng(4).uniform(1e-9, 1 - 1e-9, 200_000))
    assert np.mean(drawn) == pytest.approx(fit.mean, rel=0.01)
    assert np.std(drawn) == pytest.approx(fit.spread, rel=0.03 if family != "empirical" else 0.1)


def test_a_log_without_spread_is_refused_not_given_one() -> None:
    with pytest.raises(LimitError, match="lead_times must be at least two that differ, got 2 of 70"):
        fit_lead_time(np.array([70.0, 70.0]))
    assert fit_lead_time(np.array([70.0]), family="empirical").spread == 0.0


@pytest.mark.parametrize("days", [[0.0, 9.0], [-1.0, 9.0], [np.nan, 9.0], []])
def test_an_impossible_lead_time_is_refused(days: list) -> None:
    with pytest.raises(LimitError):
        fit_lead_time(np.array(days))
