"""Taylor's law: its inverses, its order of sensitivity, and what factors do."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import life_factors, tool_life

speeds = st.floats(20.0, 800.0)
exponents = st.floats(0.08, 0.7)


@given(speed=speeds, constant=speeds, exponent=exponents)
def test_life_speed_and_constant_undo_each_other(speed: float, constant: float, exponent: float) -> None:
    life = tool_life.taylor_life(speed, constant, exponent)
    assert tool_life.taylor_speed(life, constant, exponent) == pytest.approx(speed)
    assert tool_life.taylor_constant(speed, life, exponent) == pytest.approx(constant)


def test_at_the_constant_an_edge_lasts_a_minute() -> None:
    assert tool_life.taylor_life(229.0, 229.0, 0.22) == 1.0


@given(first=speeds, second=speeds, constant=speeds, exponent=exponents)
def test_two_points_give_the_law_back(first: float, second: float, constant: float, exponent: float) -> None:
    if abs(first / second - 1.0) < 0.05:
        return
    lives = [tool_life.taylor_life(speed, constant, exponent) for speed in (first, second)]
    fit = tool_life.taylor_fit([first, second], lives)
    assert tuple(fit) == pytest.approx((exponent, constant), rel=1e-6)


@pytest.mark.parametrize(
    "pair, lives",
    [([100.0, 200.0], [20.0, 30.0]), ([100.0, 100.0], [20.0, 10.0]), ([100.0, 200.0], [20.0, 20.0])],
)
def test_two_points_whose_life_does_not_fall_are_refused(pair: list[float], lives: list[float]) -> None:
    with pytest.raises(LimitError, match="lives"):
        tool_life.taylor_fit(pair, lives)


def test_the_extended_law_without_feed_and_depth_is_taylors() -> None:
    assert tool_life.extended_life(120.0, 0.3, 2.0, 300.0, 0.25, 0.0, 0.0) == pytest.approx(
        tool_life.taylor_life(120.0, 300.0, 0.25)
    )


@given(speed=speeds, feed=st.floats(0.02, 1.0), depth=st.floats(0.1, 10.0), exponent=exponents)
def test_the_extended_law_undoes_itself(speed: float, feed: float, depth: float, exponent: float) -> None:
    law = {"exponent": exponent, "feed_exponent": 0.4, "depth_exponent": -0.2}
    life = tool_life.extended_life(speed, feed, depth, 400.0, **law)
    assert tool_life.extended_speed(life, feed, depth, 400.0, **law) == pytest.approx(speed)
    assert tool_life.extended_constant(speed, life, feed, depth, **law) == pytest.approx(400.0)


def test_speed_matters_more_than_feed_and_feed_more_than_depth() -> None:
    """Order of the extended law of P. C. Sharma, Ex 14.4: exponents 1/0.13, 0.77/0.13, 0.37/0.13."""
    law = {"constant": 28.37, "exponent": 0.13, "feed_exponent": 0.77, "depth_exponent": 0.37}
    base = (30.0, 0.3, 2.5)
    lives = [
        tool_life.extended_life(
            *(value * (1.2 if index == raised else 1.0) for index, value in enumerate(base)), **law
        )
        for raised in range(3)
    ]
    assert lives[0] < lives[1] < lives[2] < tool_life.extended_life(*base, **law)


def test_at_the_break_even_speed_both_tools_last_equally_long() -> None:
    speed = tool_life.break_even_speed(150.0, 0.1, 300.0, 0.3)
    first, second = tool_life.taylor_life(speed, 150.0, 0.1), tool_life.taylor_life(speed, 300.0, 0.3)
    assert first == pytest.approx(second)
    assert tool_life.taylor_life(0.9 * speed, 150.0, 0.1) > tool_life.taylor_life(0.9 * speed, 300.0, 0.3)
    assert tool_life.taylor_life(1.1 * speed, 150.0, 0.1) < tool_life.taylor_life(1.1 * speed, 300.0, 0.3)


def test_two_laws_with_one_exponent_never_meet() -> None:
    with pytest.raises(LimitError, match="second_exponent"):
        tool_life.break_even_speed(150.0, np.array([0.1, 0.3]), 300.0, 0.3)


def test_life_factors_multiply_and_default_to_one() -> None:
    assert life_factors.life_factor() == 1.0
    assert life_factors.life_factor(0.8, 1.5, 2.0) == pytest.approx(2.4)


def test_measured_run_out_loss_lies_in_the_range_stated() -> None:
    """148 holes at 0.00008 in, 125 at 0.0002 in (trade press, read): 10 to 13 % a tenth bracket it."""
    tenth = 0.00254
    low, high = (life_factors.run_out_factor(2 * tenth, 0.8 * tenth, loss / tenth) for loss in (0.13, 0.10))
    assert low <= 125 / 148 <= high


def test_run_out_at_the_reference_changes_nothing_and_a_huge_one_is_refused() -> None:
    assert life_factors.run_out_factor(0.002, 0.002, 40.0) == 1.0
    with pytest.raises(LimitError, match="life_left"):
        life_factors.run_out_factor(0.03, 0.002, 40.0)
