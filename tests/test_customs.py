"""Customs value, layers of duty and fees; rates here are arithmetic, not anyone's tariff."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas.customs import (
    customs_value,
    duty_layer,
    duty_layers,
    entry_fee,
    entry_fee_breakpoints,
    harbour_fee,
)


@pytest.mark.parametrize(
    ("rates", "bases", "duty"),
    [
        ((0.05,), ("full",), 1.00),
        ((0.05, 0.50, 0.10), ("full", "content", "remainder"), 5.40),
        ((0.05, 0.25), ("full", "full"), 6.00),
        ((0.05, 0.50), ("full", "full"), 11.00),
    ],
)
def test_a_part_of_20_with_metal_for_6(rates: tuple[float, ...], bases: tuple, duty: float) -> None:
    layers = duty_layers(20.0, rates, bases, content_value=6.0)
    assert len(layers) == len(rates)
    assert sum(layers) == pytest.approx(duty)


def test_three_scenarios_of_duty_on_one_part() -> None:
    landed = [
        20.0 + sum(duty_layers(20.0, rates, bases, content_value=6.0))
        for rates, bases in (
            ((0.05,), ("full",)),
            ((0.05, 0.50, 0.10), ("full", "content", "remainder")),
            ((0.05, 0.50), ("full", "full")),
        )
    ]
    np.testing.assert_allclose(landed, [21.0, 25.4, 31.0])


def test_a_stacked_layer_is_reckoned_on_the_layers_before_it() -> None:
    plain = duty_layers(100.0, (0.10, 0.05), ("full", "full"))
    stacked = duty_layers(100.0, (0.10, 0.05), ("full", "full"), stacked=(False, True))
    assert plain == pytest.approx((10.0, 5.0))
    assert stacked == pytest.approx((10.0, 5.5))


def test_other_duty_counts_only_when_stacked() -> None:
    assert duty_layer(100.0, 0.05, other_duty=10.0) == pytest.approx(5.0)
    assert duty_layer(100.0, 0.05, other_duty=10.0, stacked=True) == pytest.approx(5.5)
    assert duty_layer(100.0, 0.05, base="content", content_value=30.0, other_duty=10.0, stacked=True) == (
        pytest.approx(2.0)
    )


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 2.0), st.floats(1.0, 1e6))
def test_content_and_remainder_at_one_rate_are_the_full_value(
    share: float, rate: float, value: float
) -> None:
    parts = duty_layers(value, (rate, rate), ("content", "remainder"), content_value=share * value)
    assert sum(parts) == pytest.approx(duty_layer(value, rate), abs=1e-9)


def test_layers_of_unlike_length_are_refused() -> None:
    with pytest.raises(LimitError, match="of one length"):
        duty_layers(20.0, (0.05, 0.1), ("full",))
    with pytest.raises(LimitError, match="of one length"):
        duty_layers(20.0, (0.05,), ("full",), stacked=(True, False))


def test_a_price_with_and_without_carriage_gives_the_same_value() -> None:
    for basis, value in (("FOB", 1030.0), ("CIF", 1115.0)):
        without = customs_value(1000.0, basis=basis, freight=80.0, insurance=5.0, assists=30.0)
        with_it = customs_value(
            1085.0,
            basis=basis,
            carriage_in_price=85.0,
            freight=80.0,
            insurance=5.0,
            assists=30.0,
        )
        assert without == value
        assert with_it == value


def test_an_entry_fee_on_4000_is_its_minimum() -> None:
    fee = entry_fee(4000.0, 0.003464, minimum=31.67, maximum=614.35)
    assert fee == 31.67
    assert pytest.approx(13.856) == 0.003464 * 4000.0
    assert fee / 200.0 == pytest.approx(0.158, abs=5e-4)


def test_a_fee_without_minimum_or_maximum_is_the_share() -> None:
    assert entry_fee(4000.0, 0.003464) == pytest.approx(13.856)
    assert entry_fee(4e9, 0.003464) == pytest.approx(4e9 * 0.003464)


@settings(deadline=None)
@given(st.floats(1e-4, 0.1), st.floats(0.0, 100.0), st.floats(0.0, 1000.0))
def test_a_fee_leaves_its_minimum_and_meets_its_maximum_at_the_breakpoints(
    rate: float, minimum: float, more: float
) -> None:
    points = entry_fee_breakpoints(rate, minimum=minimum, maximum=minimum + more)
    for value in (points.minimum_below, points.maximum_above):
        assert entry_fee(value, rate, minimum=minimum, maximum=minimum + more) == pytest.approx(
            rate * value, abs=1e-9
        )


def test_only_a_ship_pays_for_the_harbour() -> None:
    assert harbour_fee(4000.0, 0.00125) == pytest.approx(5.0)
    assert [harbour_fee(4000.0, 0.00125, mode=mode) for mode in ("air", "road", "rail")] == [0.0] * 3
    assert harbour_fee(0.0, 0.00125, mode="air") == 0.0
