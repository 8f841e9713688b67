"""Replacement of tools: closed forms against simulation, the search against scipy, known optima."""

from __future__ import annotations

from typing import get_args

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import brentq, minimize_scalar

from costmodel.errors import LimitError
from costmodel.formulas import tool_cost, tool_life, tool_replacement, tool_scatter
from costmodel.formulas.tool_scatter import Family

every_family = pytest.mark.parametrize("family", get_args(Family))
EDGES = 200_000
Draws = npt.NDArray[np.float64]


def lives(mean: float, variation: float, family: Family) -> Draws:
    """Lives of many edges, drawn by numpy with its own parametrisation."""
    generator = np.random.default_rng(20260101)
    if family == "lognormal":
        sigma = np.sqrt(np.log1p(variation**2))
        return generator.lognormal(np.log(mean) - sigma**2 / 2, sigma, EDGES)
    shape = float(tool_scatter.weibull_shape(variation))
    drawn: Draws = mean * generator.weibull(shape, EDGES) / stats.weibull_min.mean(shape)
    return drawn


@every_family
@pytest.mark.parametrize("variation", [0.15, 0.35, 0.9])
@pytest.mark.parametrize("count", [150.0, 400.0, 800.0])
def test_planned_replacement_agrees_with_simulation(count: float, variation: float, family: Family) -> None:
    """Cost over use of many cycles; the tolerance is four standard errors of that ratio."""
    planned, failure = 50.0, 350.0
    life = lives(500.0, variation, family)
    use = np.minimum(life, count)
    cost = np.where(life < count, failure, planned)
    rate = cost.mean() / use.mean()
    error = np.std(cost - rate * use) / use.mean() / np.sqrt(EDGES)
    got = tool_replacement.planned_replacement_cost(count, 500.0, variation, planned, failure, family)
    assert abs(got - rate) <= 4 * error + 1e-12
    assert error < 0.01 * rate


@every_family
def test_waiting_for_failure_agrees_with_simulation(family: Family) -> None:
    life = lives(500.0, 0.35, family)
    got = tool_replacement.run_to_failure_cost(500.0, 350.0)
    assert got == pytest.approx(350.0 / life.mean(), rel=4 * 0.35 / np.sqrt(EDGES))
    late = tool_replacement.planned_replacement_cost(1e5, 500.0, 0.35, 50.0, 350.0, family)
    assert late == pytest.approx(got, rel=1e-6)


def test_published_wear_out_case_has_its_optimum_where_the_quartic_says() -> None:
    """R. Durrett, exercise 3.16 (question read): life 2t/900 up to 30; c^4 + 3600 c^2 = 810 000."""

    def rate(age: float) -> float:
        return float(tool_replacement.replacement_cost(300.0, 1200.0, 1 - age**2 / 900, age - age**3 / 2700))

    best = minimize_scalar(rate, bounds=(1.0, 29.9), method="bounded", options={"xatol": 1e-9}).x
    assert best == pytest.approx(brentq(lambda c: c**4 + 3600 * c**2 - 810_000, 1.0, 30.0), rel=1e-5)


def test_wear_out_case_of_the_requirements() -> None:
    """Acceptance example S2 (invented): shape 4, scale 600, 51.40 planned, 358.00 a failure."""
    mean = float(stats.weibull_min.mean(4, scale=600))
    variation = float(stats.weibull_min.std(4, scale=600)) / mean
    plan = tool_replacement.cheapest_count(mean, variation, 51.40, 358.00)
    assert plan.change_at == pytest.approx(290.0, abs=5.0)
    assert plan.cost == pytest.approx(0.236, abs=5e-4)
    assert plan.run_to_failure_cost == pytest.approx(0.658, abs=5e-4)
    at_450 = tool_replacement.planned_replacement_cost(450.0, mean, variation, 51.40, 358.00)
    assert at_450 == pytest.approx(0.317, abs=5e-4)


@every_family
@settings(deadline=None)
@given(variation=st.floats(0.05, 0.7), ratio=st.floats(1.5, 60.0))
def test_cheapest_count_agrees_with_a_scan_of_every_count(
    family: Family, variation: float, ratio: float
) -> None:
    counts = np.arange(1.0, 4000.0)
    scanned = np.asarray(
        tool_replacement.planned_replacement_cost(counts, 400.0, variation, 10.0, 10.0 * ratio, family)
    )
    plan = tool_replacement.cheapest_count(400.0, variation, 10.0, 10.0 * ratio, family)
    waiting = 10.0 * ratio / 400.0
    assert plan.cost == pytest.approx(min(float(scanned.min()), waiting), rel=1e-9)
    if np.isfinite(plan.change_at):
        assert plan.cost == pytest.approx(float(scanned[int(plan.change_at) - 1]), rel=1e-9)
        assert plan.reached == pytest.approx(
            tool_scatter.reliability(plan.change_at, 400.0, variation, family)
        )


def test_the_optimum_balances_hazard_and_cost() -> None:
    """At the best age the hazard equals (rate) / (Cf - Cp): the condition of age replacement."""
    plan = tool_replacement.cheapest_count(500.0, 0.3, 40.0, 400.0, count="fractional")
    shape = float(tool_scatter.weibull_shape(0.3))
    life = stats.weibull_min(shape, scale=500.0 / stats.weibull_min.mean(shape))
    hazard = life.pdf(plan.change_at) / life.sf(plan.change_at)
    assert hazard == pytest.approx(float(plan.cost) / 360.0, rel=1e-4)


def test_without_wear_a_planned_change_never_pays() -> None:
    """Exponential life has no memory; a new edge is no better than a used one."""
    plan = tool_replacement.cheapest_count(500.0, 1.0, 10.0, 400.0)
    assert np.isinf(plan.change_at)
    assert plan.cost == plan.run_to_failure_cost == 400.0 / 500.0
    assert plan.reached == 0.0


def test_a_failure_no_dearer_than_a_change_is_waited_for() -> None:
    assert np.isinf(tool_replacement.cheapest_count(500.0, 0.2, 50.0, 50.0).change_at)


@every_family
def test_dearer_failures_and_more_scatter_lower_the_count(family: Family) -> None:
    ratios = np.array([2.0, 5.0, 20.0, 100.0])
    by_cost = np.asarray(tool_replacement.cheapest_count(500.0, 0.25, 10.0, 10.0 * ratios, family).change_at)
    assert np.all(np.diff(by_cost) < 0)
    spread = np.array([0.05, 0.15, 0.3])
    by_spread = np.asarray(tool_replacement.cheapest_count(500.0, spread, 10.0, 100.0, family).change_at)
    assert np.all(np.diff(by_spread) < 0)


def test_the_count_is_one_at_least() -> None:
    plan = tool_replacement.cheapest_count(2.0, 0.3, 1.0, 500.0)
    assert plan.change_at == 1.0


@every_family
@pytest.mark.parametrize("exponent", [0.15, 0.25, 0.45])
def test_cheapest_speed_agrees_with_a_search(exponent: float, family: Family) -> None:
    """Cost of a piece with 200 m of cut at each speed, with the best replacement of that speed."""
    constant, variation, rate, planned, failure = 300.0, 0.3, 0.9, 8.0, 90.0

    def cost(speed: float) -> float:
        life = tool_life.taylor_life(speed, constant, exponent)
        plan = tool_replacement.cheapest_count(life, variation, planned, failure, family, "fractional")
        return float(200.0 / speed * (rate + plan.cost))

    got = tool_replacement.cheapest_speed(constant, exponent, variation, rate, planned, failure, family)
    speed = float(got.cutting_speed)
    found = minimize_scalar(cost, bounds=(0.3 * speed, 3 * speed), method="bounded", options={"xatol": 1e-6})
    assert cost(speed) <= found.fun * (1 + 1e-9)
    assert speed == pytest.approx(found.x, rel=1e-3)
    assert got.mean_life == pytest.approx(tool_life.taylor_life(speed, constant, exponent))
    plan = tool_replacement.cheapest_count(got.mean_life, variation, planned, failure, family, "fractional")
    assert got.planned_use == pytest.approx(plan.change_at, rel=1e-6)
    assert got.tool_cost == pytest.approx(plan.cost, rel=1e-9)


def test_with_little_scatter_the_cheapest_speed_is_the_deterministic_one_from_below() -> None:
    change, tool, rate = 2.0, 6.0, 0.9
    certain = tool_cost.life_for_minimum_cost(0.25, change, tool, rate)
    scattered = tool_replacement.cheapest_speed(300.0, 0.25, 0.01, rate, change * rate + tool, 500.0)
    assert scattered.mean_life > certain
    assert scattered.mean_life == pytest.approx(certain, rel=0.15)


def test_the_scattered_optimum_is_a_multiple_of_the_deterministic_one() -> None:
    """The multiple depends on scatter and cost ratio, not on Taylor's constants (ASME 102(3), 1980, abstract)."""
    multiples = []
    for constant, exponent in ((300.0, 0.25), (80.0, 0.12)):
        certain = tool_cost.life_for_minimum_cost(exponent, 0.0, 8.0, 0.9)
        got = tool_replacement.cheapest_speed(constant, exponent, 0.3, 0.9, 8.0, 90.0)
        multiples.append(float(got.mean_life / certain))
    assert multiples[0] == pytest.approx(multiples[1])
    assert multiples[0] > 1.0


def test_a_failure_costs_what_it_takes() -> None:
    assert tool_replacement.failure_cost(30.0, 4.0, 22.0, 45.0, 0.5) == pytest.approx(30.0 + 88.0 + 22.5)


def test_safe_count() -> None:
    """Acceptance example S3 (invented): mean 645, s 52.2, three of them below."""
    assert tool_replacement.safe_count(645.0, 52.2) == pytest.approx(488.0, abs=0.5)
    assert tool_replacement.safe_count(645.0, 52.2, 2.0) == pytest.approx(540.6)
    with pytest.raises(LimitError, match="count"):
        tool_replacement.safe_count(150.0, 52.2)
