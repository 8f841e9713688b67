"""What would change the answer: each input over its own range, and the value at which the answer flips."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.draws.spreads import quantile
from costmodel.make_or_buy import compare
from costmodel.records.quote import Tier
from costmodel.records.route import Item
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.sensitivity import Swing, advantage, swings

TIME = "part.routes.route.steps.mill.programme"
PRICE = "quotes.supplier.tiers.1.price"
RATE = "rates.machines.mill.consumables"
OTHER = "part.routes.route.steps.fit.items.all.cost"


def case(plain: Study, **ranges: Uncertain) -> Study:
    """Buying at 31.80 against making at 14.00 and 12 minutes at 80 an hour."""
    study = plain.with_inputs(
        {
            PRICE: 31.80,
            RATE: 80.0,
            TIME: 12.0,
            "part.routes.route.steps.fit.items.all": Item(name="all", element="other", cost=14.0),
        }
    )
    return study.with_inputs({"uncertainty": {row.name: row for row in ranges.values()}})


def uniform(address: str, low: float, high: float) -> Uncertain:
    return Uncertain(name=address, shape="uniform", low=low, high=high)


def test_the_switching_value_is_where_both_cost_the_same(plain: Study) -> None:
    """31.80 = 14.00 + 80/60 t at t = 13.35 min, 11 % above the 12 of the base."""
    (it,) = swings(case(plain, time=uniform(TIME, 10.0, 16.0)), "make", "buy")
    assert it.address == TIME
    assert it.unit == "min/load"
    assert it.base == 12.0
    assert it.switching == pytest.approx((31.80 - 14.00) * 60 / 80, rel=1e-6)
    assert f"{it.switching:.2f}" == "13.35"
    assert it.distance == pytest.approx(13.35 / 12.0 - 1.0, rel=1e-4)
    assert f"{it.distance:+.0%}" == "+11%"
    # at a tenth and nine tenths of its own range, 4,000 parts a year
    assert (it.low, it.high) == pytest.approx((10.6, 15.4), rel=1e-9)
    assert it.advantage_low == pytest.approx(4000 * (31.80 - 14.00 - 80 / 60 * 10.6), rel=1e-9)
    assert it.advantage_high == pytest.approx(4000 * (31.80 - 14.00 - 80 / 60 * 15.4), rel=1e-9)
    assert it.flips
    assert it.width == pytest.approx(4000 * 80 / 60 * 4.8, rel=1e-9)


def test_none_in_range_is_none(plain: Study) -> None:
    (it,) = swings(case(plain, time=uniform(TIME, 11.0, 13.0)), "make", "buy")
    assert it.switching is None
    assert it.distance is None
    assert not it.flips


def test_the_widest_swing_comes_first_and_each_has_its_own_range(plain: Study) -> None:
    """Hourly rate 70 to 90, price 31 to 33, minutes 10 to 16; per part 12/60 x 16, 1.6, 80/60 x 4.8 wide."""
    study = case(
        plain,
        rate=uniform(RATE, 70.0, 90.0),
        price=uniform(PRICE, 31.0, 33.0),
        time=uniform(TIME, 10.0, 16.0),
    )
    found = swings(study, "make", "buy")
    assert [it.address for it in found] == [TIME, RATE, PRICE]
    assert [it.width for it in found] == pytest.approx(
        [4000 * 80 / 60 * 4.8, 4000 * 12 / 60 * 16.0, 4000 * 1.6], rel=1e-9
    )
    assert [it.flips for it in found] == [
        True,
        False,
        False,
    ]  # 17.80 against at most 88/5 = 17.60 and 31.20 - 30


def test_an_input_that_does_not_matter_swings_nothing(small: Study) -> None:
    swing = next(it for it in swings(small, "make-cuts", "near-b") if it.address == "rates.currency.EUR.rate")
    assert swing.width == 0.0
    assert swing.switching is None


def test_the_switching_value_nearest_to_the_base_is_given(plain: Study) -> None:
    """A price break: 40 up to 500 a time, 25 from there; making at 30.00 is cheaper below it, dearer above."""
    study = case(plain, lot=uniform("alternatives.buy.lot", 100.0, 900.0)).with_inputs(
        {
            PRICE: 40.0,
            "quotes.supplier.tiers.500": Tier(name="500", quantity=500.0, price=25.0, currency="USD"),
        }
    )
    (it,) = swings(study, "make", "buy")
    assert it.switching == pytest.approx(500.0, abs=0.01)


@pytest.mark.parametrize("base, switching", [(200.0, 400.0), (1000.0, 800.0)])
def test_of_two_switching_values_the_nearer_one_is_given(plain: Study, base: float, switching: float) -> None:
    """Bought at 40, at 25 from 400 a time, at 40 again from 800, against making at 30.00: it flips at both breaks."""
    tiers = {
        f"quotes.supplier.tiers.{least:g}": Tier(
            name=f"{least:g}", quantity=least, price=price, currency="USD"
        )
        for least, price in ((400.0, 25.0), (800.0, 40.0))
    }
    study = case(plain, lot=uniform("alternatives.buy.lot", 100.0, 1200.0)).with_inputs(
        {PRICE: 40.0, "alternatives.buy.lot": base, **tiers}
    )
    (it,) = swings(study, "make", "buy")
    assert it.switching == pytest.approx(switching, abs=0.01)


def test_the_advantage_is_the_difference_of_worths(small: Study) -> None:
    worth = compare(small).worth
    assert advantage(small, "make-cuts", "near-b") == pytest.approx(
        worth["near-b"] - worth["make-cuts"], rel=1e-14
    )


def test_each_end_of_a_swing_is_a_single_what_if(small: Study) -> None:
    for it in swings(small, "make-cuts", "near-b"):
        assert isinstance(it, Swing)
        spread = small.uncertainty[it.address]
        assert (it.low, it.high) == pytest.approx(
            (float(quantile(small, spread, 0.1)), float(quantile(small, spread, 0.9)))
        )
        for value, expected in ((it.low, it.advantage_low), (it.high, it.advantage_high)):
            alone = advantage(small.with_inputs({it.address: value}), "make-cuts", "near-b")
            assert expected == pytest.approx(float(alone), rel=1e-12)
        if it.switching is not None:
            at = advantage(small.with_inputs({it.address: it.switching}), "make-cuts", "near-b")
            assert abs(at) < 1e-3 * np.abs([it.advantage_low, it.advantage_high]).max()
