"""Threads: helices measured along their points, and what sizes have to agree with each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import thread_dimensions, threads


def test_a_tap_feeds_one_pitch_a_turn() -> None:
    got = threads.tapping_minutes(24.0, 1.5, 400.0, return_speed_ratio=2.0, approach=3.0, reversing=0.01)
    turns = 27.0 / 1.5
    assert tuple(got) == pytest.approx((turns / 400.0, turns / 800.0, 0.01))
    assert got.total == pytest.approx(turns / 400.0 + turns / 800.0 + 0.01)


def measured(radius: float, pitch: float) -> float:
    """Length of one turn of a helix, along the chords of its points."""
    angle = np.linspace(0.0, 2 * np.pi, 20001)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), pitch * angle / (2 * np.pi)])
    return float(np.sum(np.linalg.norm(np.diff(points), axis=0)))


def test_helix_agrees_with_its_points() -> None:
    assert threads.helix_length(20.0, 14.0, 2.5) == pytest.approx(measured(3.0, 2.5), rel=1e-7)
    assert threads.helix_length(20.0, 14.0, 2.5, "external") == pytest.approx(measured(17.0, 2.5), rel=1e-7)


def test_without_a_pitch_term_the_helix_is_a_circle() -> None:
    assert threads.helix_length(20.0, 14.0, 1e-9) == pytest.approx(18.8496, rel=1e-5)


@pytest.mark.parametrize("side, radius", [("internal", 3.0), ("external", 17.0)])
def test_edge_and_centre_turn_together(side: str, radius: float) -> None:
    """The edge runs at D/2 and the centre at its own radius, both once round in the same time."""
    centre = threads.centre_feed_speed(900.0, 20.0, 14.0, side)  # type: ignore[arg-type]
    assert 2 * np.pi * radius / centre == pytest.approx(2 * np.pi * 10.0 / 900.0)


def test_thread_milling_by_its_parts() -> None:
    once = threads.thread_milling_minutes(20.0, 20.0, 14.0, 2.5, 900.0)
    assert once == pytest.approx(measured(3.0, 2.5) / (900.0 * 6.0 / 20.0), rel=1e-7)
    assert threads.thread_milling_minutes(20.0, 20.0, 14.0, 2.5, 900.0, cuts=2.0) == 2 * once
    row = threads.thread_milling_minutes(20.0, 20.0, 14.0, 2.5, 900.0, cutter="single row")
    assert row == pytest.approx(8 * once)
    arcs = threads.thread_milling_minutes(20.0, 20.0, 14.0, 2.5, 900.0, entry_turns=0.5)
    assert arcs == pytest.approx(1.5 * once)


@pytest.mark.parametrize("formula", [threads.helix_length, threads.centre_feed_speed])
def test_a_cutter_that_leaves_no_circle_is_refused(formula: object) -> None:
    assert callable(formula)
    values = {"pitch": 2.0} if formula is threads.helix_length else {"edge_feed_speed": 500.0}
    formula(diameter=20.0, cutter_diameter=20.0, side="external", **values)
    with pytest.raises(LimitError, match="diameter_less_cutter_diameter"):
        formula(diameter=20.0, cutter_diameter=20.0, **values)


def test_a_hole_at_the_root_leaves_the_full_thread_and_at_the_outside_none() -> None:
    root = thread_dimensions.thread_root_diameter(6.35, 1.27)
    assert thread_dimensions.thread_share(6.35, 1.27, root) == pytest.approx(1.0)
    assert thread_dimensions.thread_share(6.35, 1.27, 6.35) == 0.0
    with pytest.raises(LimitError, match="hole_diameter"):
        thread_dimensions.thread_share(6.35, 1.27, 6.36)


@given(diameter=st.floats(1.6, 60.0), share=st.floats(0.05, 0.25))
def test_the_metric_rule_leaves_77_percent_of_thread(diameter: float, share: float) -> None:
    pitch = share * diameter
    drill = thread_dimensions.metric_tap_drill(diameter, pitch)
    assert thread_dimensions.thread_share(diameter, pitch, drill) == pytest.approx(1 / 1.299038, rel=1e-6)


@pytest.mark.parametrize(
    "formula", [thread_dimensions.thread_root_diameter, thread_dimensions.metric_tap_drill]
)
def test_a_pitch_that_leaves_nothing_is_refused(formula: object) -> None:
    assert callable(formula)
    with pytest.raises(LimitError):
        formula(2.0, 2.0)


def test_a_taper_pipe_thread_tapers_one_in_sixteen() -> None:
    thread = thread_dimensions.taper_pipe_thread(21.336, 25.4 / 14, 8.128)
    rise = thread.pitch_diameter_at_effective_length - thread.pitch_diameter_at_end
    assert rise / thread.effective_length == pytest.approx(1 / 16)
    assert (thread.pitch_diameter_at_hand_tight - thread.pitch_diameter_at_end) / 8.128 == pytest.approx(
        1 / 16
    )
    assert thread.pitch_diameter_at_hand_tight - thread.minor_diameter_at_hand_tight == pytest.approx(
        thread.height
    )


def test_a_pipe_pitch_that_leaves_no_thread_is_refused() -> None:
    with pytest.raises(LimitError, match="minor_diameter"):
        thread_dimensions.taper_pipe_thread(5.0, 3.0, 1.0)


def test_letter_r_lies_between_the_minor_diameters_of_the_eighth_inch_pipe_thread() -> None:
    """Common practice, no source: 1/8-27 NPT is tapped after letter R, 0.339 in."""
    thread = thread_dimensions.taper_pipe_thread(0.405 * 25.4, 25.4 / 27, 0.1615 * 25.4)
    assert thread.minor_diameter_at_end < 0.339 * 25.4 < thread.minor_diameter_at_hand_tight
