"""Lathe work and blanks: facing against an integral, threads, parting, bars and saws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from costmodel.errors import LimitError
from costmodel.formulas import bar_and_saw, cutting, turning


def integrated(outer: float, inner: float, feed: float, speed: float, limit: float) -> float:
    """Minutes of facing at constant surface speed, ring by ring."""

    def minutes_per_mm(radius: float) -> float:
        return 1.0 / (feed * min(1000.0 * speed / (2 * np.pi * max(radius, 1e-12)), limit))

    bend = min(max(1000.0 * speed / (2 * np.pi * limit), inner / 2), outer / 2)
    return float(quad(minutes_per_mm, inner / 2, bend)[0] + quad(minutes_per_mm, bend, outer / 2)[0])


@pytest.mark.parametrize("inner", [0.0, 10.0, 70.0])
@pytest.mark.parametrize("limit", [100.0, 900.0, 5000.0])
def test_constant_surface_speed_agrees_with_the_integral(inner: float, limit: float) -> None:
    got = turning.facing_minutes(100.0, inner, 0.2, 150.0, limit, "constant surface speed")
    assert got == pytest.approx(integrated(100.0, inner, 0.2, 150.0, limit), rel=1e-6)


@given(outer=st.floats(20.0, 300.0), share=st.floats(0.0, 0.95))
def test_without_a_limit_both_facing_rules_agree(outer: float, share: float) -> None:
    average = turning.facing_minutes(outer, share * outer, 0.2, 150.0)
    constant = turning.facing_minutes(outer, share * outer, 0.2, 150.0, speed="constant surface speed")
    assert average == pytest.approx(constant)


def test_a_spindle_limit_slows_the_average_rule_down() -> None:
    assert turning.facing_minutes(100.0, 0.0, 0.2, 150.0, 500.0) == pytest.approx(50.0 / (0.2 * 500.0))


def test_nothing_to_face_takes_no_time() -> None:
    for speed in ("average diameter", "constant surface speed"):
        assert turning.facing_minutes(50.0, 50.0, 0.2, 100.0, 800.0, speed) == pytest.approx(0.0, abs=1e-15)


def test_an_inner_diameter_above_the_outer_is_refused() -> None:
    with pytest.raises(LimitError, match="inner_diameter"):
        turning.facing_minutes(50.0, 50.1, 0.2, 100.0)
    with pytest.raises(LimitError, match="inner_diameter"):
        turning.parting_minutes(50.0, 50.1, 0.2, 100.0)


def test_parting_is_facing_at_constant_surface_speed_down_to_the_middle() -> None:
    got = turning.parting_minutes(40.0, 0.0, 0.1, 100.0, 2000.0)
    assert got == pytest.approx(integrated(40.0, 0.0, 0.1, 100.0, 2000.0), rel=1e-6)


def test_turning_removes_the_ring() -> None:
    """Volume of a ring 2 mm thick at a mean diameter of 50 mm, over its removal rate, is the time of the cut."""
    speed = 120.0
    minutes = turning.turning_minutes(80.0, 0.25, cutting.spindle_speed(speed, 50.0))
    volume = np.pi * (26.0**2 - 24.0**2) * 80.0
    assert minutes * turning.turning_removal_rate(speed, 0.25, 2.0) == pytest.approx(volume)


def test_cuts_and_approach_of_turning() -> None:
    assert turning.turning_minutes(80.0, 0.25, 400.0, cuts=3.0, approach=2.0) == pytest.approx(
        3 * 82.0 / 100.0
    )


def test_a_groove_is_its_plunges() -> None:
    plunge = turning.facing_minutes(50.0, 40.0, 0.1, 100.0)
    assert turning.grooving_minutes(50.0, 5.0, 3.0, 3.0, 0.1, 100.0) == pytest.approx(plunge)
    assert turning.grooving_minutes(50.0, 5.0, 7.0, 3.0, 0.1, 100.0) == pytest.approx(3 * plunge)
    assert turning.grooving_minutes(50.0, 25.0, 3.0, 3.0, 0.1, 100.0) > plunge
    with pytest.raises(LimitError, match="depth"):
        turning.grooving_minutes(50.0, 25.1, 3.0, 3.0, 0.1, 100.0)


@given(depth=st.floats(0.2, 5.0), infeed=st.floats(0.05, 0.5))
def test_threading_cuts_reach_the_depth_with_equal_chip_areas(depth: float, infeed: float) -> None:
    cuts = float(turning.threading_cuts(depth, infeed))
    assert infeed * np.sqrt(cuts) >= depth * (1 - 1e-8)
    assert infeed * np.sqrt(cuts - 1) < depth


def test_threading_runs_in_at_the_pitch_and_back_in_rapid() -> None:
    got = turning.threading_minutes(30.0, 1.5, 500.0, 6000.0, cuts=8.0, approach=5.0)
    assert got == pytest.approx(8 * (35.0 / 750.0 + 35.0 / 6000.0))


def test_parts_of_a_bar_are_whole() -> None:
    assert bar_and_saw.parts_per_bar(3000.0, 100.0, 26.0, 3.0) == 100.0
    assert bar_and_saw.parts_per_bar(3000.0, 100.1, 26.0, 3.0) == 99.0
    with pytest.raises(LimitError, match="remnant"):
        bar_and_saw.parts_per_bar(100.0, 101.0, 26.0, 3.0)


def test_a_bar_change_is_shared_by_its_parts() -> None:
    assert bar_and_saw.bar_feed_minutes(0.1, 4.0, 40.0) == pytest.approx(0.2)


def test_sawing_by_area_and_by_feed_agree_on_a_square_bar() -> None:
    by_area = bar_and_saw.sawing_minutes(50.0 * 50.0, 1000.0)
    assert by_area == bar_and_saw.sawing_minutes_by_feed(50.0, 1000.0 / 50.0)
    assert bar_and_saw.sawing_minutes_by_feed(50.0, 20.0, overtravel=10.0) == 3.0


@pytest.mark.parametrize("limit", [np.inf, 1500.0, 1000.0, 700.0, 300.0])
@pytest.mark.parametrize("cuts", [0, 1, 3, 6])
def test_passes_at_constant_speed_are_the_sum_of_turned_passes(cuts: int, limit: float) -> None:
    one_by_one = sum(
        turning.turning_minutes(
            80.0, 0.2, min(limit, 1000.0 * 120.0 / (np.pi * (60.0 - 5.0 * at))), approach=3.0
        )
        for at in range(cuts)
    )
    together = turning.stepped_turning_minutes(80.0, 0.2, 120.0, 60.0, 2.5, float(cuts), 3.0, limit)
    assert together == pytest.approx(one_by_one, rel=1e-12)


def test_passes_that_reach_the_middle_are_refused() -> None:
    assert turning.stepped_turning_minutes(80.0, 0.2, 120.0, 20.0, 2.5, 4.0) > 0.0
    with pytest.raises(LimitError, match="last_pass"):
        turning.stepped_turning_minutes(80.0, 0.2, 120.0, 20.0, 2.5, 5.0)
