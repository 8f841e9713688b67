"""Disruption, second source, availability."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from costmodel.formulas.disruption import (
    availability,
    availability_of_two,
    disruption_loss,
    second_source_value,
    time_beyond_bridge,
)


def test_a_supply_that_stops_for_eight_weeks_once_in_ten_years() -> None:
    assert disruption_loss(0.10, 8.0, 80.0, 60.0) == pytest.approx(3840.0)
    assert disruption_loss(0.10, 8.0, 80.0, 60.0, bridged=5.0) == pytest.approx(1440.0)
    assert disruption_loss(0.10, 8.0, 80.0, 60.0, bridged=9.0) == 0.0


def test_a_second_source_may_cost_more_than_it_saves() -> None:
    value = second_source_value(4000.0, 0.30, 8.70, disruption_loss(0.10, 8.0, 80.0, 60.0))
    assert value.premium == pytest.approx(10_440.0)
    assert value.avoided_loss == pytest.approx(3_840.0)
    assert value.net_value == pytest.approx(-6_600.0)


def test_what_remains_and_upkeep_count_against_a_second_source() -> None:
    value = second_source_value(4000.0, 0.30, 1.0, 9000.0, loss_with_both=2000.0, upkeep=500.0)
    assert value == pytest.approx((1200.0, 7000.0, 5300.0))


@settings(deadline=None)
@given(st.floats(0.5, 20.0), st.floats(0.0, 40.0))
def test_a_random_duration_beyond_the_bridge_is_an_integral(duration: float, bridged: float) -> None:
    tail = quad(lambda t: np.exp(-t / duration), bridged, np.inf)[0]
    assert time_beyond_bridge(duration, bridged, law="exponential") == pytest.approx(tail, rel=1e-6, abs=1e-9)
    fixed = time_beyond_bridge(duration, bridged)
    assert time_beyond_bridge(duration, bridged, law="exponential") >= fixed - 1e-9


def test_availability_is_the_share_of_time_up() -> None:
    generator = np.random.default_rng(3)
    up, down = generator.exponential(90.0, 200_000), generator.exponential(10.0, 200_000)
    assert availability(90.0, 10.0) == pytest.approx(up.sum() / (up.sum() + down.sum()), abs=0.002)
    assert availability(90.0, 0.0) == 1.0


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_two_sources_are_never_worse_than_the_better_one(first: float, second: float, common: float) -> None:
    both = availability_of_two(first, second, common_cause=common)
    assert both >= max(first, second) - 1e-12
    assert both <= availability_of_two(first, second) + 1e-12
    assert availability_of_two(first, second, common_cause=1.0) == pytest.approx(max(first, second))
    assert availability_of_two(first, 0.0) == pytest.approx(first)
    assert both == pytest.approx(availability_of_two(second, first, common_cause=common))


def test_independent_sources_are_down_together_by_chance() -> None:
    assert availability_of_two(0.9, 0.8) == pytest.approx(0.98)
    assert availability_of_two(0.9, 0.8, common_cause=0.5) == pytest.approx(0.94)
