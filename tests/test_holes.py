"""Holes: point allowances, pecking against a walk through its moves, ways out."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.errors import LimitError
from costmodel.formulas import holes


def test_a_flat_bottomed_drill_has_no_point() -> None:
    assert holes.drilling_travel(30.0, 10.0, point_angle=180.0) == pytest.approx(30.0)


def test_the_point_of_a_right_angled_drill_is_half_its_diameter() -> None:
    assert holes.drilling_travel(30.0, 10.0, point_angle=90.0) == pytest.approx(35.0)


def test_conventions_of_the_point() -> None:
    """The 0.29 D of the old rule is 0.5 tan 30 deg, a drill of 120 deg: beside 118 deg it differs by 4 %."""
    none = holes.drilling_travel(30.0, 10.0, allowance="none")
    through = holes.drilling_travel(30.0, 10.0, allowance="0.29 D twice")
    blind = holes.drilling_travel(30.0, 10.0, hole="blind", allowance="0.29 D twice")
    once = holes.drilling_travel(30.0, 10.0, hole="blind", point_angle=120.0)
    assert none == 30.0
    assert through - none == pytest.approx(2 * (blind - none))
    assert once == pytest.approx(blind, abs=0.02)
    assert holes.drilling_travel(30.0, 10.0, clearance=2.0) == holes.drilling_travel(30.0, 10.0) + 2.0


def walked(
    travel: float, feed: float, rapid: float, pecks: int, gap: float, lift: float = np.inf
) -> tuple[float, float, float]:
    """Minutes of cutting, pecking and the last way out, by walking through every move; without a lift right out."""
    step, cutting, pecking, bottom, place = travel / pecks, 0.0, 0.0, 0.0, 0.0
    for index in range(1, pecks + 1):
        target = index * step
        cutting += (target - place) / feed
        bottom = target
        if index < pecks:
            top = max(bottom - lift, 0.0)
            pecking += (bottom - top) / rapid  # off the bottom, or right out
            place = bottom - gap
            pecking += (place - top) / rapid  # and back to the gap
    return cutting, pecking, bottom / rapid


@pytest.mark.parametrize("pecks", [1, 2, 7])
@pytest.mark.parametrize("gap", [0.0, 0.4])
def test_pecking_agrees_with_a_walk_through_its_moves(pecks: int, gap: float) -> None:
    got = holes.drilling_minutes(35.0, 300.0, 12000.0, float(pecks), gap)
    assert tuple(got) == pytest.approx(walked(35.0, 300.0, 12000.0, pecks, gap))
    assert got.total == pytest.approx(sum(walked(35.0, 300.0, 12000.0, pecks, gap)))


@pytest.mark.parametrize("pecks", [1, 2, 7])
@pytest.mark.parametrize("gap", [0.0, 0.4])
def test_breaking_chips_agrees_with_a_walk_through_its_moves(pecks: int, gap: float) -> None:
    got = holes.drilling_minutes(35.0, 300.0, 12000.0, float(pecks), gap, pecking="chip breaking", lift=0.6)
    assert tuple(got) == pytest.approx(walked(35.0, 300.0, 12000.0, pecks, gap, 0.6))
    assert got.total <= holes.drilling_minutes(35.0, 300.0, 12000.0, float(pecks), gap).total


@pytest.mark.parametrize(("gap", "lift", "name"), [(0.5, 0.4, "restart_gap"), (0.1, 3.6, "lift")])
def test_a_drill_lifts_above_its_gap_and_less_than_a_peck(gap: float, lift: float, name: str) -> None:
    with pytest.raises(LimitError, match=name):
        holes.drilling_minutes(35.0, 300.0, 12000.0, 10.0, gap, pecking="chip breaking", lift=lift)


def test_coming_out_at_feed_doubles_a_plain_hole() -> None:
    rapid = holes.drilling_minutes(35.0, 300.0, 12000.0)
    feed = holes.drilling_minutes(35.0, 300.0, 12000.0, retract="feed")
    assert feed.way_out == rapid.cutting
    assert rapid.way_out == pytest.approx(rapid.cutting / 40.0)


def test_a_gap_above_one_peck_is_refused() -> None:
    holes.drilling_minutes(30.0, 300.0, 12000.0, 10.0, 3.0)
    with pytest.raises(LimitError, match="restart_gap"):
        holes.drilling_minutes(30.0, 300.0, 12000.0, 10.0, 3.1)


def test_reaming_goes_in_and_out_at_feed() -> None:
    got = holes.reaming_minutes(20.0, 200.0, 12000.0, overrun=4.0)
    assert got.total == pytest.approx(2 * 24.0 / 200.0)


def test_boring_repeats_its_cuts() -> None:
    one, three = (holes.boring_minutes(20.0, 200.0, 12000.0, cuts) for cuts in (1.0, 3.0))
    assert three.total == pytest.approx(3 * one.total)
    assert one.cutting == pytest.approx(20.0 / 200.0)
    assert one.way_out == pytest.approx(20.0 / 12000.0)


def test_a_bar_is_fed_past_the_end_and_comes_back_over_it() -> None:
    """20 mm and 4 of overrun at 200: 0.12 min in, and the same way out in rapid or at feed."""
    rapid = holes.boring_minutes(20.0, 200.0, 12000.0, 2.0, overrun=4.0)
    feed = holes.boring_minutes(20.0, 200.0, 12000.0, 2.0, overrun=4.0, retract="feed")
    assert (rapid.cutting, rapid.way_out) == pytest.approx((0.24, 0.004))
    assert (feed.cutting, feed.way_out) == pytest.approx((0.24, 0.24))


def test_drilling_removes_the_hole() -> None:
    travel, feed = 25.0, 400.0
    minutes = holes.drilling_minutes(travel, feed, 10000.0).cutting
    assert minutes * holes.drilling_removal_rate(8.0, feed) == pytest.approx(np.pi * 4.0**2 * travel)
