"""Speeds, feeds, passes, rapid moves and chip thickness: identities, limits and independent geometry."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import chip_thickness, cutting


@given(speed=st.floats(1.0, 1000.0), diameter=st.floats(0.1, 500.0))
def test_spindle_speed_and_cutting_speed_undo_each_other(speed: float, diameter: float) -> None:
    assert cutting.cutting_speed(cutting.spindle_speed(speed, diameter), diameter) == pytest.approx(speed)


def test_the_edge_travels_one_circumference_a_turn() -> None:
    assert cutting.spindle_speed(cutting_speed=np.pi, diameter=1000.0) == pytest.approx(1.0)


@given(spindle=st.floats(10.0, 30000.0), feed=st.floats(0.001, 2.0), teeth=st.integers(1, 20))
def test_feed_speed_and_feed_per_tooth_undo_each_other(spindle: float, feed: float, teeth: int) -> None:
    assert cutting.feed_per_tooth(cutting.feed_speed(spindle, feed, teeth), spindle, teeth) == pytest.approx(
        feed
    )


def test_one_tooth_is_a_feed_per_revolution() -> None:
    assert cutting.feed_speed(500.0, 0.2) == pytest.approx(100.0)
    assert cutting.feed_per_tooth(100.0, 500.0) == pytest.approx(0.2)


@given(count=st.integers(1, 2000), depth=st.floats(0.01, 20.0))
def test_a_whole_number_of_depths_needs_just_that_many_passes(count: int, depth: float) -> None:
    assert cutting.passes(depth * count, depth) == count
    assert cutting.passes(depth * (count + 0.01), depth) == count + 1


def test_no_stock_needs_no_pass() -> None:
    none = cutting.passes(0.0, 1.0)
    assert none == 0.0
    assert not np.signbit(none)


def test_finish_pass_is_taken_only_where_stock_is_left_for_it() -> None:
    both = cutting.rough_and_finish_passes(np.array([5.0, 5.0, 0.5]), 2.0, np.array([0.0, 1.0, 0.5]))
    assert np.array_equal(both.rough, [3.0, 2.0, 0.0])
    assert np.array_equal(both.finish, [0.0, 1.0, 1.0])


def test_an_allowance_above_the_stock_is_refused() -> None:
    with pytest.raises(LimitError, match="finish_allowance"):
        cutting.rough_and_finish_passes(1.0, 1.0, 1.1)


def moved(distance: float, rate: float, acceleration: float) -> float:
    """Minutes of a move by integrating the speed in small steps: speed up, cruise, slow down."""
    place, minutes, speed, step = 0.0, 0.0, 0.0, 1e-6
    while place < distance / 2:
        speed = min(rate, speed + acceleration * step)
        place += speed * step
        minutes += step
    return 2 * minutes


@pytest.mark.parametrize("distance", [20.0, 600.0])
def test_rapid_move_agrees_with_integration(distance: float) -> None:
    rate, acceleration = 20000.0, 3.6e6
    assert cutting.rapid_minutes(distance, rate, acceleration) == pytest.approx(
        moved(distance, rate, acceleration), rel=2e-3
    )


def test_rapid_move_is_smooth_where_it_just_reaches_its_rate() -> None:
    rate, acceleration = 20000.0, 3.6e6
    turning_point = rate**2 / acceleration
    below, above = (
        cutting.rapid_minutes(turning_point * share, rate, acceleration) for share in (1 - 1e-9, 1 + 1e-9)
    )
    assert below == pytest.approx(above, rel=1e-8)


def test_without_an_acceleration_a_rapid_move_is_distance_over_rate() -> None:
    assert cutting.rapid_minutes(500.0, 10000.0) == 0.05
    assert cutting.rapid_minutes(0.0, 10000.0) == 0.0


def tooth_chip(width: float, diameter: float, centred: bool) -> tuple[float, float, float]:
    """Engagement [deg], largest and mean chip over feed, from points along the arc that lie in the work.

    The tooth at angle t from the direction of feed cuts where the work is; its chip is as thick as the part of
    the feed along its radius.
    """
    angle = np.linspace(0.0, np.pi, 400_001)
    across = -np.cos(angle) * diameter / 2  # place of the tooth across the feed
    inside = np.abs(across) <= width / 2 if centred else across <= -diameter / 2 + width
    thickness = np.sin(angle[inside])
    return float(np.degrees(np.mean(inside) * np.pi)), float(thickness.max()), float(thickness.mean())


@pytest.mark.parametrize("centred", [False, True])
@pytest.mark.parametrize("width", [3.0, 20.0, 50.0, 70.0, 99.0])
def test_engagement_and_mean_chip_agree_with_points_on_the_arc(width: float, centred: bool) -> None:
    position: chip_thickness.Position = "centred" if centred else "side"
    engaged, _, mean = tooth_chip(width, 100.0, centred)
    assert chip_thickness.engagement_angle(width, 100.0, position) == pytest.approx(engaged, abs=0.01)
    got = chip_thickness.mean_chip_thickness(1.0, width, 100.0, position=position)
    assert got == pytest.approx(mean, rel=1e-3)


@pytest.mark.parametrize("width", [3.0, 20.0, 50.0, 70.0, 99.0])
def test_largest_chip_agrees_with_points_on_the_arc(width: float) -> None:
    _, largest, _ = tooth_chip(width, 100.0, centred=False)
    assert chip_thickness.chip_thickness_ratio(width, 100.0) == pytest.approx(largest, abs=1e-4)


def test_a_lower_edge_angle_thins_the_chip_by_its_sine() -> None:
    for rule in get_args(chip_thickness.ChipRule):
        full, thin = (
            chip_thickness.mean_chip_thickness(0.2, 30.0, 100.0, it, rule=rule) for it in (90.0, 30.0)
        )
        assert thin == pytest.approx(full / 2)


def test_the_square_root_rule_is_high_by_the_percentages_it_states() -> None:
    shares = np.array([0.05, 0.10, 0.20, 0.30, 0.50])
    exact = chip_thickness.mean_chip_thickness(1.0, shares, 1.0)
    high = np.asarray(chip_thickness.mean_chip_thickness(1.0, shares, 1.0, rule="approximate") / exact - 1.0)
    assert np.all((high[:4] > 0.008) & (high[:4] < 0.07))
    assert high[4] == pytest.approx(0.11, abs=0.005)


def test_the_square_root_rule_stops_at_half_the_diameter_and_at_side_cuts() -> None:
    with pytest.raises(LimitError, match="width_of_cut"):
        chip_thickness.mean_chip_thickness(0.1, 51.0, 100.0, rule="approximate")
    with pytest.raises(LimitError, match="position"):
        chip_thickness.mean_chip_thickness(0.1, 20.0, 100.0, position="centred", rule="approximate")


@pytest.mark.parametrize(
    "formula",
    [
        chip_thickness.engagement_angle,
        chip_thickness.chip_thickness_ratio,
        lambda width, diameter: chip_thickness.feed_for_chip_thickness(0.1, width, diameter),
        lambda width, diameter: chip_thickness.mean_chip_thickness(0.1, width, diameter),
    ],
)
def test_a_cut_wider_than_the_cutter_is_refused(formula: object) -> None:
    assert callable(formula)
    formula(10.0, 10.0)
    with pytest.raises(LimitError, match="width_of_cut"):
        formula(10.1, 10.0)
