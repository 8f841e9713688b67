"""Forces, power and torque: the two ways to a power agree, fits against an independent least-squares routine."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import cutting, cutting_force, drilling_force, turning

positive = st.floats(0.01, 100.0)


def test_at_one_millimetre_the_specific_force_is_its_constant() -> None:
    assert cutting_force.specific_cutting_force(1800.0, 0.25, 1.0) == pytest.approx(1800.0)
    assert cutting_force.specific_cutting_force(1800.0, 0.0, 0.07) == pytest.approx(1800.0)


def test_a_sixteenth_of_the_thickness_doubles_the_specific_force_at_a_quarter() -> None:
    assert cutting_force.specific_cutting_force(1800.0, 0.25, 1 / 16) == pytest.approx(3600.0)


FEEDS = (0.1, 0.2, 0.3, 0.4, 0.6)
MILD_STEEL_TURNING = (3610.0, 3100.0, 2720.0, 2500.0, 2280.0)  # tool-maker table, read


def test_kienzle_fit_agrees_with_a_general_least_squares_routine() -> None:
    slope, base = np.polyfit(np.log(FEEDS), np.log(MILD_STEEL_TURNING), 1)
    fit = cutting_force.kienzle_fit(FEEDS, MILD_STEEL_TURNING)
    assert fit.thickness_exponent == pytest.approx(-slope, rel=1e-9)
    assert fit.unit_specific_force == pytest.approx(np.exp(base), rel=1e-9)


@given(constant=st.floats(500.0, 4000.0), exponent=st.floats(0.0, 0.6))
def test_kienzle_fit_finds_the_constants_that_made_the_table(constant: float, exponent: float) -> None:
    table = cutting_force.specific_cutting_force(constant, exponent, np.array(FEEDS))
    assert isinstance(table, np.ndarray)
    assert tuple(cutting_force.kienzle_fit(FEEDS, table.tolist())) == pytest.approx(
        (constant, exponent), abs=1e-7
    )


@pytest.mark.parametrize(
    "thicknesses, forces",
    [((0.1, 0.1), (2000.0, 2100.0)), ((0.1,), (2000.0,)), ((0.1, 0.2), (2000.0,)), ((0.1, -0.2), (2.0, 1.0))],
)
def test_a_table_that_tells_no_slope_is_refused(
    thicknesses: tuple[float, ...], forces: tuple[float, ...]
) -> None:
    with pytest.raises(LimitError):
        cutting_force.kienzle_fit(thicknesses, forces)


@given(feed=positive, depth=positive, exponent=st.floats(0.0, 0.5))
def test_kienzle_is_a_power_law_of_the_force(feed: float, depth: float, exponent: float) -> None:
    specific = cutting_force.specific_cutting_force(1500.0, exponent, feed)
    force = cutting_force.cutting_force(specific, feed, depth)
    assert cutting_force.empirical_cutting_force(1500.0, feed, depth, 1.0 - exponent, 1.0) == pytest.approx(
        force
    )
    assert cutting_force.specific_force_from_force(force, feed, depth) == pytest.approx(specific)


@given(force=st.floats(10.0, 5000.0), diameter=st.floats(5.0, 300.0), speed=st.floats(10.0, 500.0))
def test_power_torque_and_force_are_one_thing(force: float, diameter: float, speed: float) -> None:
    """A force at the edge: its power gives the torque at the spindle, which gives the force back."""
    power = cutting_force.power_from_force(force, speed)
    spindle = cutting.spindle_speed(speed, diameter)
    torque = cutting_force.torque(power, spindle)
    assert cutting_force.force_from_torque(torque, diameter) == pytest.approx(force)
    assert cutting_force.power_from_torque(torque, spindle) == pytest.approx(power)


def test_power_from_force_and_from_removal_rate_agree() -> None:
    force = cutting_force.cutting_force(2000.0, 0.3, 2.0)
    rate = turning.turning_removal_rate(150.0, 0.3, 2.0)
    assert cutting_force.cutting_power(2000.0, rate) == pytest.approx(
        cutting_force.power_from_force(force, 150.0)
    )


def test_losses_divide_every_power() -> None:
    assert cutting_force.cutting_power(2000.0, 6e4, 0.8) == pytest.approx(2.0 / 0.8)
    assert cutting_force.power_from_force(600.0, 100.0, 0.8) == pytest.approx(1.0 / 0.8)
    plain = cutting_force.power_from_torque(10.0, 1000.0)
    assert cutting_force.power_from_torque(10.0, 1000.0, 0.8) == pytest.approx(plain / 0.8)


def test_metric_form_of_the_drilling_thrust_and_torque() -> None:
    """The handbook's metric form has rounded constants: 0.05 and 0.007 for the thrust in N, 0.000025 for N m."""
    material, feed, diameter, thrust_factor, torque_factor, chisel = 24000.0, 0.2, 20.0, 1.355, 1.085, 0.03
    lips = 0.05 * material * feed**0.8 * diameter**0.8 * thrust_factor
    middle = 0.007 * material * diameter**2 * chisel
    thrust = drilling_force.drilling_thrust(material, feed, diameter, thrust_factor, chisel)
    torque = drilling_force.drilling_torque(material, feed, diameter, torque_factor)
    assert thrust == pytest.approx(lips + middle, rel=0.02)
    assert torque == pytest.approx(0.000025 * material * feed**0.8 * diameter**1.8 * torque_factor, rel=0.02)


def test_wear_multiplies_thrust_and_torque() -> None:
    sharp, worn = (drilling_force.drilling_thrust(2e4, 0.2, 20.0, 1.3, 0.03, wear) for wear in (1.0, 1.3))
    assert worn == pytest.approx(1.3 * sharp)
    sharp, worn = (drilling_force.drilling_torque(2e4, 0.2, 20.0, 1.1, wear) for wear in (1.0, 1.3))
    assert worn == pytest.approx(1.3 * sharp)
