"""Milling: travel by independent geometry, limits, and what pockets and contours must add up to."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import cutting, milling, milling_paths


def test_overtravel_rules_stand_in_their_known_order() -> None:
    exact, once, both = (
        milling.face_overtravel(60.0, 150.0, rule) for rule in ("exact", "once", "both ends")
    )
    assert exact < once < both
    assert (once, both) == (75.0, 150.0)


def test_exact_overtravel_is_once_when_the_face_is_as_wide_as_the_cutter() -> None:
    assert milling.face_overtravel(80.0, 80.0, "exact") == pytest.approx(
        milling.face_overtravel(80.0, 80.0, "once")
    )


def test_exact_overtravel_is_the_way_from_first_touch_to_full_width() -> None:
    """With the centre d before the edge of a strip, the cutter covers the strip's corners when they are within D/2."""
    way = milling.face_overtravel(60.0, 150.0, "exact")
    centre_before_edge = 75.0 - way
    assert np.hypot(centre_before_edge, 30.0) == pytest.approx(75.0)


def test_lanes_and_levels_multiply_one_pass() -> None:
    one = milling.face_milling_minutes(200.0, 40.0, 80.0, 60.0, 500.0)
    assert milling.face_milling_minutes(200.0, 120.0, 80.0, 40.0, 500.0, levels=2.0) == pytest.approx(6 * one)


def test_a_narrow_face_counts_with_its_own_width_in_the_exact_rule() -> None:
    narrow = milling.face_milling_minutes(200.0, 20.0, 80.0, 60.0, 1.0, overtravel="exact")
    assert narrow == pytest.approx(200.0 + milling.face_overtravel(20.0, 80.0, "exact"))


def test_a_width_of_cut_above_the_cutter_is_refused_even_on_a_narrow_face() -> None:
    with pytest.raises(LimitError, match="width_of_cut"):
        milling.face_milling_minutes(200.0, 20.0, 80.0, 81.0, 500.0)
    with pytest.raises(LimitError, match="width_of_cut"):
        milling.face_overtravel(81.0, 80.0)


@given(depth=st.floats(0.1, 49.0))
def test_peripheral_approach_ends_when_the_cutter_is_at_depth(depth: float) -> None:
    """The centre is D/2 - d above the surface at first touch of the work's corner, which lies on the circle."""
    way = milling.peripheral_approach(depth, 100.0)
    assert np.hypot(way, 50.0 - depth) == pytest.approx(50.0)


@given(depth=st.floats(0.01, 50.0))
def test_the_approximate_approach_is_longer(depth: float) -> None:
    assert milling.peripheral_approach(depth, 100.0, "approximate") > milling.peripheral_approach(
        depth, 100.0
    )


def test_a_disc_deeper_than_its_radius_is_refused() -> None:
    with pytest.raises(LimitError, match="radial_depth"):
        milling.peripheral_milling_minutes(100.0, 50.1, 100.0, 500.0)


def slope_walked(depth: float, angle: float, radius: float, steps: int = 20_000) -> float:
    """Length of a helix of a radius that falls at an angle, piece by piece."""
    turned = depth / (radius * np.tan(np.radians(angle)))
    around = np.linspace(0.0, turned, steps)
    points = np.array([radius * np.cos(around), radius * np.sin(around), depth * around / turned])
    return float(np.sum(np.sqrt(np.sum(np.diff(points, axis=1) ** 2, axis=0))))


def test_a_helix_is_as_long_as_a_ramp_of_its_angle() -> None:
    ramp = 500.0 * milling_paths.entry_minutes(6.0, 3.0, 500.0)
    assert ramp == pytest.approx(slope_walked(6.0, 3.0, 4.0), rel=1e-6)
    assert ramp == pytest.approx(np.hypot(6.0, 6.0 / np.tan(np.radians(3.0))))


def test_straight_down_and_a_slope_of_thirty_degrees() -> None:
    assert milling_paths.entry_minutes(12.0, 90.0, 60.0) == pytest.approx(0.2)
    assert milling_paths.entry_minutes(12.0, 30.0, 60.0) == pytest.approx(0.4)


def test_a_helix_closes_once_a_level_and_leaves_no_core() -> None:
    """A hole of 16 by a cutter of 10: the centre goes round 6 mm."""
    assert milling_paths.helix_closing_minutes(16.0, 10.0, 100.0, 3.0) == pytest.approx(3 * 6 * np.pi / 100.0)
    assert milling_paths.helix_closing_minutes(20.0, 10.0, 100.0) > 0.0
    for opening in (10.0, 20.1):
        with pytest.raises(LimitError, match="opening"):
            milling_paths.helix_closing_minutes(opening, 10.0, 100.0)


def test_peripheral_runs_and_clearance() -> None:
    one = milling.peripheral_milling_minutes(100.0, 10.0, 100.0, 1.0)
    assert milling.peripheral_milling_minutes(100.0, 10.0, 100.0, 1.0, runs=3.0) == pytest.approx(3 * one)
    assert milling.peripheral_milling_minutes(100.0, 10.0, 100.0, 1.0, clearance=7.0) == pytest.approx(
        one + 7.0
    )


def test_the_ends_of_a_slot() -> None:
    paths = {
        ends: milling.slotting_minutes(50.0, 4.0, 10.0, 4.0, 1.0, ends)
        for ends in ("open", "one closed", "closed")
    }
    assert paths == {"open": 60.0, "one closed": 50.0, "closed": 40.0}
    assert milling.slotting_minutes(50.0, 9.0, 10.0, 4.0, 2.0) == 90.0


def test_a_closed_slot_shorter_than_the_cutter_is_refused() -> None:
    assert milling.slotting_minutes(8.0, 4.0, 10.0, 4.0, 1.0, "open") == 18.0
    with pytest.raises(LimitError, match="diameter"):
        milling.slotting_minutes(8.0, 4.0, 10.0, 4.0, 1.0, "closed")


@given(bar=st.floats(20.0, 100.0), share=st.floats(0.02, 0.5), cutter=st.floats(20.0, 200.0))
def test_the_cutter_just_leaves_the_bar_after_chord_and_overrun(
    bar: float, share: float, cutter: float
) -> None:
    """At the end of the overrun the two circles touch: their centres are the sum of the radii apart."""
    depth = share * bar
    flat = milling.flat_on_bar(bar, depth, cutter)
    sideways = flat.chord / 2 + flat.overrun
    upright = bar / 2 - depth + cutter / 2
    assert np.hypot(sideways, upright) == pytest.approx((bar + cutter) / 2)
    assert np.hypot(flat.chord / 2, bar / 2 - depth) == pytest.approx(bar / 2)


def test_a_flat_beyond_the_middle_is_refused() -> None:
    with pytest.raises(LimitError, match="depth"):
        milling.flat_on_bar(50.0, 25.1, 100.0)


def test_a_contour_at_full_depth_with_small_steps_against_shallow_full_width() -> None:
    deep = milling_paths.contour_minutes(300.0, 5.0, 0.5, 40.0, 40.0, 6000.0)
    assert deep == pytest.approx(10 * 300.0 / 6000.0)
    shallow = milling_paths.contour_minutes(300.0, 5.0, 5.0, 40.0, 4.0, 6000.0)
    assert shallow == pytest.approx(deep)


def test_clearing_moves_the_volume_at_the_removal_rate() -> None:
    minutes = milling_paths.clearing_minutes(1e5, 1.0, 25.0, 4000.0)
    assert minutes * cutting.removal_rate(1.0, 25.0, 4000.0) == pytest.approx(1e5)
    assert milling_paths.clearing_minutes(1e5, 1.0, 25.0, 4000.0, efficiency=0.5) == pytest.approx(
        2 * minutes
    )


def pocket(**changes: float) -> milling_paths.PocketMinutes:
    given_values = {
        "length": 100.0, "width": 60.0, "depth": 20.0, "corner_radius": 8.0, "diameter": 12.0, "stepover": 6.0,
        "depth_of_cut": 5.0, "feed_speed": 1.0, "wall_feed_speed": 1.0,
    }  # fmt: skip
    return milling_paths.pocket_minutes(**(given_values | changes))


def test_pocket_by_hand() -> None:
    """Reach 88 by 48: 8 steps of 6 are 9 lanes, 4 levels; wall 176 + 96 less the corners."""
    got = pocket()
    assert got.floor == pytest.approx(4 * (9 * 88 + 48))
    straights = 2 * (100 - 16) + 2 * (60 - 16)
    assert got.wall == pytest.approx(straights + 2 * np.pi * (8 - 6))


def test_pocket_minutes_fall_with_their_own_feed() -> None:
    slow, fast = pocket(), pocket(feed_speed=500.0, wall_feed_speed=250.0)
    assert fast.floor == pytest.approx(slow.floor / 500.0)
    assert fast.wall == pytest.approx(slow.wall / 250.0)


def test_lanes_of_a_pocket_leave_nothing_standing() -> None:
    """Points of the floor away from the corners are within D/2 of some lane, and with one lane less they are not."""
    reach, stepover, radius = 49.0, 11.0, 6.0
    lanes = pocket(width=61.0, stepover=stepover, depth=5.0).floor
    count = round(float((lanes - reach) / 88.0))
    points = np.linspace(0.0, 61.0, 6101)

    def farthest(number: int) -> float:
        centres = radius + np.linspace(0.0, reach, number)
        return float(np.max(np.min(np.abs(points[:, None] - centres), axis=1)))

    assert farthest(count) <= radius
    assert farthest(count - 1) > radius


def test_a_pocket_of_the_cutters_width_is_one_lane() -> None:
    got = pocket(width=12.0, corner_radius=6.0, depth=5.0)
    assert got.floor == 88.0
    assert got.wall == 2 * 88.0


def test_with_a_small_cutter_the_floor_time_is_volume_over_removal_rate() -> None:
    got = pocket(diameter=0.05, corner_radius=1.0, stepover=0.025)
    bound = milling_paths.clearing_minutes(100.0 * 60.0 * 20.0, 0.025, 5.0, 1.0)
    assert got.floor == pytest.approx(bound, rel=2e-3)


def test_an_allowance_moves_the_lanes_in_and_leaves_the_wall_path() -> None:
    assert pocket(wall_allowance=0.5).wall == pocket().wall
    assert pocket(wall_allowance=0.5).floor < pocket().floor
    assert pocket(wall_levels=2.0).wall == 2 * pocket().wall


@pytest.mark.parametrize(
    "changes, name",
    [
        ({"diameter": 16.1}, "diameter"),  # does not fit corners of 8
        ({"corner_radius": 30.1}, "corner_radius"),
        ({"width": 100.1}, "width"),
        ({"stepover": 12.1}, "stepover"),
        ({"wall_allowance": 24.1}, "diameter and wall allowances"),
    ],
)
def test_what_does_not_fit_a_pocket_is_refused(changes: dict[str, float], name: str) -> None:
    with pytest.raises(LimitError, match=name):
        pocket(**changes)


def test_a_path_in_pieces_adds_its_entries() -> None:
    assert milling_paths.path_minutes(600.0, 300.0) == 2.0
    assert milling_paths.path_minutes(600.0, 300.0, runs=2.0, entries=10.0, minutes_per_entry=0.05) == 5.0
