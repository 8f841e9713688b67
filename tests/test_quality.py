"""Cost of faults, inspection, what samples prove, capability."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, binomtest, norm

from costmodel.errors import LimitError
from costmodel.formulas.quality import (
    fault_costs,
    inspection_policy_cost,
    inspection_threshold,
    rule_of_three,
    sample_to_prove,
    share_limits,
    share_outside_tolerance,
)

COUNTS = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def test_faults_cost_by_where_they_are_found() -> None:
    lines = fault_costs((12.0, 3.0, 0.5), (9.0, 65.0, 400.0), 1000.0)
    assert lines == pytest.approx((0.108, 0.195, 0.200))
    assert sum(lines) == pytest.approx(0.503)


def test_a_place_without_a_cost_is_refused() -> None:
    with pytest.raises(LimitError, match="found and unit_costs must be of one length"):
        fault_costs((12.0, 3.0), (9.0,), 1000.0)


@settings(deadline=None)
@given(st.floats(0.0, 9.0), st.floats(0.1, 90.0), st.floats(0.1, 1.0), st.floats(0.0, 0.95), st.booleans())
def test_inspecting_all_pays_above_the_threshold_only(
    inspection: float, escape: float, detection: float, bad: float, replaced: bool
) -> None:
    none, every, cheapest = (
        inspection_policy_cost(
            bad,
            inspection,
            escape,
            policy=policy,
            detection=detection,
            replacement_inspected=replaced,
        )
        for policy in ("none", "all", "cheapest")
    )
    threshold = inspection_threshold(inspection, escape, detection=detection)
    assert cheapest == min(none, every)
    assert np.sign(none - every) == np.sign(bad - threshold) or bad == pytest.approx(
        threshold, rel=1e-9, abs=1e-9
    )


def test_a_perfect_supplier_costs_only_the_inspection_that_is_done() -> None:
    assert inspection_policy_cost(0.0, 2.0, 60.0, policy="none") == 0.0
    assert inspection_policy_cost(0.0, 2.0, 60.0, policy="all") == 2.0


def test_without_replacement_the_plain_terms_remain() -> None:
    plain = {"detection": 0.8, "replacement_inspected": False}
    assert inspection_policy_cost(0.1, 2.0, 60.0, policy="none", **plain) == pytest.approx(6.0)
    assert inspection_policy_cost(0.1, 2.0, 60.0, policy="all", **plain) == pytest.approx(2.0 + 1.2)


def test_replacing_costs_an_inspected_good_part() -> None:
    """Simulated: parts are inspected one after another until a good one is found."""
    generator = np.random.default_rng(5)
    tries = generator.geometric(0.7, 400_000)
    cost = inspection_policy_cost(0.3, 1.0, 9.0, policy="all")
    assert cost == pytest.approx(tries.mean(), abs=4 * tries.std() / np.sqrt(tries.size))


def test_no_bad_part_in_200_proves_less_than_one_and_a_half_per_cent() -> None:
    upper = share_limits(0.0, 200.0).upper
    assert upper < 0.015
    assert round(100 * upper, 1) == 1.5
    assert rule_of_three(200.0) == 0.015


@settings(deadline=None)
@given(COUNTS, st.floats(0.5, 0.999))
def test_two_sided_limits_agree_with_an_exact_interval(counts: tuple[int, int], confidence: float) -> None:
    bad, sampled = counts
    limits = share_limits(float(bad), float(sampled), confidence=confidence, sides="two")
    exact = binomtest(bad, sampled).proportion_ci(confidence, method="exact")
    assert limits.lower == pytest.approx(exact.low, abs=1e-9)
    assert limits.upper == pytest.approx(exact.high, abs=1e-9)


@settings(deadline=None)
@given(COUNTS, st.floats(0.5, 0.999))
def test_a_one_sided_limit_leaves_just_the_chance_stated(counts: tuple[int, int], confidence: float) -> None:
    bad, sampled = counts
    limits = share_limits(float(bad), float(sampled), confidence=confidence)
    if bad < sampled:
        assert binom.cdf(bad, sampled, limits.upper) == pytest.approx(1.0 - confidence, abs=1e-8)
    else:
        assert limits.upper == 1.0
    if bad > 0:
        assert binom.sf(bad - 1, sampled, limits.lower) == pytest.approx(1.0 - confidence, abs=1e-8)
    else:
        assert limits.lower == 0.0


@settings(deadline=None)
@given(st.integers(3, 5000))
def test_the_rule_of_three_is_a_little_above_the_exact_limit(sampled: int) -> None:
    exact = share_limits(0.0, float(sampled)).upper
    assert exact <= rule_of_three(float(sampled)) <= exact * 1.6
    if sampled >= 100:
        assert rule_of_three(float(sampled)) <= exact * 1.02


@settings(deadline=None)
@given(st.floats(0.001, 0.5), st.floats(0.5, 0.99))
def test_the_sample_that_proves_a_share_is_the_smallest(share: float, confidence: float) -> None:
    parts = sample_to_prove(share, confidence=confidence)
    assert parts == round(parts)
    assert share_limits(0.0, parts, confidence=confidence).upper <= share * (1 + 1e-6)
    if parts > 1:
        assert share_limits(0.0, parts - 1.0, confidence=confidence).upper > share * (1 - 1e-6)


@settings(deadline=None)
@given(st.floats(0.0, 2.5), st.floats(0.0, 2.0))
def test_a_share_outside_agrees_with_the_normal_law(capability: float, shift: float) -> None:
    limits = 3.0 * capability
    both = norm.sf(limits, loc=shift) + norm.cdf(-limits, loc=shift)
    assert share_outside_tolerance(capability, shift=shift) == pytest.approx(both, rel=1e-9)
    one = norm.sf(limits, loc=shift)
    assert share_outside_tolerance(capability, shift=shift, sides="one") == pytest.approx(one, rel=1e-9)
