"""Chargeable weight, carriage and insurance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas.freight import (
    COURIER_DIVISOR,
    chargeable_weight,
    freight_charge,
    freight_charge_by_breaks,
    insurance_premium,
    stepped_charge,
    volumetric_weight,
    weight_or_measure,
)

TARIFF = ((0.0, 45.0, 100.0, 300.0), (6.0, 4.5, 3.8, 3.1))


def test_a_half_side_goes_up_and_the_rest_to_the_nearest() -> None:
    sides = np.array([10.4, 10.5, 11.5, 10.6])
    nearest = volumetric_weight(sides, 1.0, 1.0, divisor=1.0, side_step=1.0)
    up = volumetric_weight(sides, 1.0, 1.0, divisor=1.0, side_step=1.0, side_rounding="up")
    assert np.asarray(nearest).tolist() == [10.0, 11.0, 12.0, 11.0]
    assert np.asarray(up).tolist() == [11.0, 11.0, 12.0, 11.0]


def test_every_side_is_rounded() -> None:
    one_long = [
        volumetric_weight(*sides, divisor=1.0, side_step=1.0)
        for sides in ((9.6, 5, 5), (5, 9.6, 5), (5, 5, 9.6))
    ]
    assert one_long == pytest.approx([250.0] * 3)


def test_a_courier_charges_a_fifth_more_than_air_cargo() -> None:
    air, courier = (
        volumetric_weight(400.0, 300.0, 200.0),
        volumetric_weight(400.0, 300.0, 200.0, divisor=COURIER_DIVISOR),
    )
    assert courier / air == pytest.approx(1.2)


@settings(deadline=None)
@given(st.floats(0.1, 500.0), st.floats(0.0, 500.0), st.sampled_from([0.5, 1.0]))
def test_a_chargeable_weight_is_rounded_up_by_less_than_a_step(
    actual: float, deemed: float, step: float
) -> None:
    charged = chargeable_weight(actual, deemed, step=step)
    greater = chargeable_weight(actual, deemed)
    assert greater in (actual, deemed)
    assert greater >= actual
    assert greater >= deemed
    assert -1e-6 <= charged - greater < step
    assert charged / step == pytest.approx(round(charged / step), abs=1e-9)


def test_weight_or_measure_has_a_minimum_and_a_local_convention() -> None:
    assert weight_or_measure(100.0, 0.3e9) == pytest.approx(0.3)
    assert weight_or_measure(100.0, 0.3e9, minimum=1.0) == 1.0
    assert weight_or_measure(100.0, 0.3e9, divisor=2.0e6) == pytest.approx(0.15)  # 500 kg to the cubic metre
    assert weight_or_measure(200.0, 0.3e9, divisor=2.0e6) == pytest.approx(0.2)


def test_a_small_shipment_pays_the_minimum_and_the_surcharge_on_it() -> None:
    assert freight_charge(10.0, 3.0, minimum=85.0, surcharge=0.2) == pytest.approx(102.0)
    assert freight_charge(50.0, 3.0, minimum=85.0, surcharge=0.2) == pytest.approx(180.0)


@pytest.mark.parametrize(
    ("weight", "charge"),
    [
        (10.0, 60.0),
        (33.0, 198.0),
        (34.0, 45.0 * 4.5),
        (45.0, 202.5),
        (84.0, 378.0),
        (90.0, 380.0),
        (400.0, 1240.0),
    ],
)
def test_a_shipment_below_a_break_may_be_charged_as_the_break(weight: float, charge: float) -> None:
    assert freight_charge_by_breaks(weight, *TARIFF) == pytest.approx(charge)


@settings(deadline=None)
@given(st.floats(0.1, 1000.0), st.floats(0.0, 50.0))
def test_a_heavier_shipment_never_costs_less(weight: float, more: float) -> None:
    lighter, heavier = (freight_charge_by_breaks(w, *TARIFF) for w in (weight, weight + more))
    assert heavier >= lighter * (1 - 1e-12)
    plain = weight * TARIFF[1][sum(weight >= reached for reached in TARIFF[0]) - 1]
    assert lighter <= plain * (1 + 1e-12)


def test_a_tariff_that_rises_or_lacks_a_rate_is_refused() -> None:
    with pytest.raises(LimitError, match="at most the rate of the break before"):
        freight_charge_by_breaks(10.0, (0.0, 45.0), (4.0, 4.5))
    with pytest.raises(LimitError, match="of one length"):
        freight_charge_by_breaks(10.0, (0.0, 45.0), (4.0,))
    with pytest.raises(LimitError, match="rising order"):
        freight_charge_by_breaks(10.0, (45.0, 0.0), (4.0, 3.0))


def test_a_started_pallet_is_a_pallet() -> None:
    parts = np.array([1.0, 200.0, 201.0, 399.0, 400.0])
    assert np.asarray(stepped_charge(parts, 200.0, 75.0)).tolist() == [75.0, 75.0, 150.0, 150.0, 150.0]
    assert stepped_charge(0.3, 0.1, 1.0) == 3.0


def test_the_insured_sum_is_a_tenth_above_the_value() -> None:
    assert insurance_premium(10_000.0, 0.004) == pytest.approx(44.0)
    assert insurance_premium(10_000.0, 0.004, freight=1000.0) == pytest.approx(48.4)
    assert insurance_premium(10_000.0, 0.004, uplift=0.0) == pytest.approx(40.0)


@settings(deadline=None)
@given(st.floats(0.0, 0.5), st.floats(0.0, 0.3))
def test_an_insured_premium_is_the_premium_on_itself_and_the_goods(rate: float, uplift: float) -> None:
    premium = insurance_premium(1000.0, rate, freight=80.0, uplift=uplift, premium_insured=True)
    assert premium == pytest.approx(insurance_premium(1080.0 + premium, rate, uplift=uplift), abs=1e-9)


def test_a_premium_that_eats_itself_is_refused() -> None:
    with pytest.raises(LimitError, match="rate with uplift must be below 1"):
        insurance_premium(1000.0, 0.95, uplift=0.1, premium_insured=True)
