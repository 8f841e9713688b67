"""Sections, chips and torque of threads against geometry integrated step by step and against forces."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from costmodel.errors import LimitError
from costmodel.formulas import cutting_force, thread_force, turning

SQRT3 = np.sqrt(3.0)


def test_a_thread_is_five_eighths_of_a_sharp_v_high() -> None:
    """ISO 68-1, from memory: H = sqrt(3)/2 P; M8 has a height of 0.677 mm in the nut."""
    assert thread_force.thread_height(1.25) == pytest.approx(0.677, abs=0.0005)
    assert thread_force.thread_height(2.0) == pytest.approx(5 / 8 * SQRT3)


def test_the_rounded_section_lies_above_the_basic_profile() -> None:
    """ISO 68-1, from memory: in a nut the groove is P/8 wide at its ground and 3/4 P at the bore."""
    height = thread_force.thread_height(1.0)
    profile, _ = quad(lambda up: 1 / 8 + 2 * up / SQRT3, 0.0, height)
    assert 1 / 8 + 2 * height / SQRT3 == pytest.approx(3 / 4)
    assert thread_force.thread_section(1.0) == pytest.approx(profile, rel=0.06)
    assert thread_force.thread_section(1.0) > profile
    assert thread_force.thread_section(3.0) == pytest.approx(9 * thread_force.thread_section(1.0))


def test_torque_of_a_tap_is_its_force_at_half_the_diameter() -> None:
    force = cutting_force.cutting_force(2000.0, 1.0, thread_force.thread_section(1.5))
    torque = thread_force.tapping_torque(2000.0, 1.5, 10.0)
    assert cutting_force.force_from_torque(torque, 10.0) == pytest.approx(force)


def test_power_of_a_tap_is_that_of_the_volume_it_takes_off() -> None:
    """Groove section times the way of the major diameter a minute: turning with the section for feed times depth."""
    speed, diameter, pitch, turns = 2000.0, 10.0, 1.5, 400.0
    torque = thread_force.tapping_torque(speed, pitch, diameter)
    rate = turning.turning_removal_rate(
        np.pi * diameter * turns / 1000.0, 1.0, thread_force.thread_section(pitch)
    )
    assert cutting_force.power_from_torque(torque, turns) == pytest.approx(
        cutting_force.cutting_power(speed, rate)
    )


def test_edges_of_the_lead_share_the_height() -> None:
    """M6 with three flutes and a lead of three threads: nine edges open 0.541 mm."""
    assert 9 * thread_force.tap_chip_thickness(1.0, 3.0, 3.0) == pytest.approx(0.5413, abs=5e-5)


@pytest.mark.parametrize(("angle", "flat"), [(60.0, 0.0), (90.0, 0.3), (0.0, 2.0), (40.0, 1.2)])
def test_a_groove_is_the_sum_of_its_widths(angle: float, flat: float) -> None:
    width = lambda up: flat + 2 * up * np.tan(np.radians(angle / 2))  # noqa: E731
    section, _ = quad(width, 0.0, 1.7)
    assert thread_force.vee_section(1.7, angle, flat) == pytest.approx(section)


@pytest.mark.parametrize(("depth", "first"), [(1.0, 0.5), (1.84, 0.4), (0.7, 0.7), (2.0, 1.3)])
def test_the_last_infeed_ends_at_the_depth(depth: float, first: float) -> None:
    """Cuts of equal area follow each other until one would pass the depth: its own infeed is what is left."""
    reached, cuts = 0.0, 0
    while reached < depth - 1e-12:
        cuts += 1
        before, reached = reached, min(first * np.sqrt(cuts), depth)
    assert cuts == turning.threading_cuts(depth, first)
    assert thread_force.last_threading_infeed(depth, first) == pytest.approx(reached - before)


def test_a_first_infeed_above_the_depth_is_refused() -> None:
    with pytest.raises(LimitError, match="first_infeed"):
        thread_force.last_threading_infeed(0.5, 0.6)
