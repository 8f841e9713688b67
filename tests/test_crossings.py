"""Break-even as whole numbers: none, one or several, against arithmetic and against every whole number in turn."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel import crossings as module
from costmodel.crossings import Crossing, break_even_volumes, crossings, levelled_cash, totals_by_volume
from costmodel.records.quote import Tier
from costmodel.records.route import Item, Once
from costmodel.records.study import Study
from costmodel.units import Number

Total = Callable[[Number], Number]
MAKE_BUY = ("make", "buy")
ITEMS = "part.routes.route.steps.fit.items.all"
PRICE = "quotes.supplier.tiers.1.price"


def line(fixed: float, each: float) -> Total:
    return lambda quantity: fixed + each * quantity


def tiered(*tiers: tuple[float, float]) -> Total:
    def total(quantity: Number) -> Number:
        price = np.full(np.shape(quantity), tiers[0][1])
        for least, each in tiers[1:]:
            price = np.where(np.asarray(quantity) >= least, each, price)
        return price * quantity

    return total


# --- acceptance ------------------------------------------------------------------------------------------


def test_one_crossing_is_the_first_whole_number() -> None:
    """18,400/(31.80 - 23.10) = 2,114.94, so making is cheaper from 2,115 on."""
    found = crossings(line(18_400, 23.10), line(0, 31.80), 1, 12_000, MAKE_BUY)
    assert found == (Crossing(2115, "buy", "make", False),)


def test_price_breaks_give_several_crossings() -> None:
    """6,000 + 23.10 against 34/30/24 at 500/2,000: make from 870, buy from 2,000, make from 6,667.

    6,000/(30 - 23.10) = 869.6; at 2,000 the price falls to 24, and 6,000/(24 - 23.10) = 6,666.7.
    """
    found = crossings(line(6_000, 23.10), tiered((0, 34.0), (500, 30.0), (2000, 24.0)), 1, 12_000, MAKE_BUY)
    assert found == (
        Crossing(870, "buy", "make", False),
        Crossing(2000, "make", "buy", True),
        Crossing(6667, "buy", "make", False),
    )


@pytest.mark.parametrize("price", [23.10, 23.0, 0.0])
def test_never_is_none_and_not_a_negative_number(price: float) -> None:
    """Buying that costs no more than making a part is never beaten."""
    assert crossings(line(18_400, 23.10), line(0, price), 1, 50_000, MAKE_BUY) == ()


def in_model(plain: Study, once: float, each: float) -> Study:
    """Making costs `once` and `each`; a horizon of one year without interest, so a year is all there is."""
    fixture = Once(name="fixture", kind="fixture", cost=once)
    return plain.with_inputs(
        {"part.routes.route.once.fixture": fixture, ITEMS: Item(name="all", element="other", cost=each)}
    )


def test_the_model_crosses_where_the_arithmetic_does(plain: Study) -> None:
    study = in_model(plain, 18_400, 23.10).with_inputs({PRICE: 31.80})
    assert break_even_volumes(study, "make", "buy", 200, 12_000) == (Crossing(2115, "buy", "make", False),)
    swapped = break_even_volumes(study, "buy", "make", 200, 12_000)
    assert swapped == (Crossing(2115, "buy", "make", False),)
    at = study.with_inputs({"demand.per_year": 18_400 / (31.80 - 23.10)})
    assert levelled_cash(at, "make") == pytest.approx(levelled_cash(at, "buy"), rel=1e-12)


def test_the_model_meets_every_price_break(plain: Study) -> None:
    """One order a year, so that the volume itself reaches the breaks."""
    study = in_model(plain, 6_000, 23.10).with_inputs(
        {
            PRICE: 34.0,
            "quotes.supplier.tiers.500": Tier(name="500", quantity=500.0, price=30.0, currency="USD"),
            "quotes.supplier.tiers.2000": Tier(name="2000", quantity=2000.0, price=24.0, currency="USD"),
            "alternatives.buy.lot": None,
            "alternatives.buy.orders_per_year": 1.0,
        }
    )
    found = break_even_volumes(study, "make", "buy", 10, 20_000)
    assert [(it.volume, it.lower_from_here, it.jump) for it in found] == [
        (870, "make", False),
        (2000, "buy", True),
        (6667, "make", False),
    ]
    never = study.with_inputs({ITEMS: Item(name="all", element="other", cost=40.0)})
    assert break_even_volumes(never, "make", "buy", 10, 20_000) == ()


def test_a_fixture_pays_from_a_number_of_parts(plain: Study) -> None:
    """128/(0.24 - 0.10) = 914.3, so 915 parts; at 1,500 the saving is 1,500 x 0.14 - 128 = 82.00."""
    study = in_model(plain, 128.0, 0.10).with_inputs({PRICE: 0.24})
    assert [it.volume for it in break_even_volumes(study, "make", "buy", 100, 2000)] == [915]
    at = study.with_inputs({"demand.per_year": 1500.0})
    assert levelled_cash(at, "buy") - levelled_cash(at, "make") == pytest.approx(82.0, rel=1e-11)


# --- every whole number in turn ----------------------------------------------------------------------------


def changes_by_hand(first: Total, second: Total, low: int, high: int) -> list[tuple[int, int]]:
    """Volume and new sign wherever the sign of the difference differs from the last that was not zero."""
    found, last = [], 0.0
    for volume in range(low, high + 1):
        sign = float(np.sign(np.ravel(first(float(volume)) - second(float(volume)))[0]))
        if sign and last and sign != last:
            found.append((volume, int(sign)))
        last = sign or last
    return found


coefficients = st.integers(-40, 40)


@settings(deadline=None, max_examples=150)
@given(
    st.lists(st.tuples(st.integers(1, 90), coefficients), max_size=5),
    coefficients,
    st.integers(-2, 2),
    st.integers(1, 25),
    st.integers(1, 60),
)
def test_every_change_is_found_whatever_the_block(
    jumps: list[tuple[int, int]], start: int, slope: int, block: int, span: int
) -> None:
    """Integer totals, so that equal totals are exactly equal; blocks of any length must not matter."""

    def first(quantity: Number) -> Number:
        total = start + slope * np.asarray(quantity, dtype=float)
        for place, height in jumps:
            total = total + np.where(np.asarray(quantity) >= place, float(height), 0.0)
        return total

    flat = line(0.0, 0.0)
    before, module.BLOCK = module.BLOCK, block
    try:
        found = crossings(first, flat, 5, 5 + span, ("a", "b"))
    finally:
        module.BLOCK = before
    assert [(it.volume, -1 if it.lower_from_here == "a" else 1) for it in found] == changes_by_hand(
        first, flat, 5, 5 + span
    )
    assert all({it.lower_below, it.lower_from_here} == {"a", "b"} for it in found)


@pytest.mark.parametrize("at", [8191, 8192, 8193, 8194, 16_384, 16_385])
def test_a_crossing_at_the_edge_of_a_block_keeps_its_kind(at: int) -> None:
    slope = crossings(line(at - 0.5, 0.0), line(0.0, 1.0), 1, 30_000, MAKE_BUY)
    assert slope == (Crossing(at, "buy", "make", False),)
    jump = crossings(line(0.0, 2.0), tiered((0, 1.0), (at, 3.0)), 1, 30_000, MAKE_BUY)
    assert jump == (Crossing(at, "buy", "make", True),)


def test_a_stretch_of_equal_totals_longer_than_a_block_is_no_loss_of_memory(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Cheaper up to 9, equal from 10 to 29, dearer from 30 on: one change, at 30, in blocks of five."""
    monkeypatch.setattr(module, "BLOCK", 5)

    def first(quantity: Number) -> Number:
        return np.where(np.asarray(quantity) < 10, -1.0, np.where(np.asarray(quantity) < 30, 0.0, 1.0))

    found = crossings(first, line(0.0, 0.0), 1, 60, ("a", "b"))
    assert [(it.volume, it.lower_below, it.lower_from_here) for it in found] == [(30, "a", "b")]


def test_equal_totals_leave_things_as_they_were() -> None:
    assert crossings(line(5, 1), line(5, 1), 1, 100) == ()
    touch = crossings(lambda q: np.abs(np.asarray(q) - 50.0), line(0, 0), 1, 100)
    assert touch == ()  # equal at 50, dearer on both sides
    through = crossings(line(-50, 1), line(0, 0), 1, 100, ("a", "b"))
    assert [it.volume for it in through] == [51]  # equal at 50: the one that was lower stays


def test_the_small_study_against_every_volume(small: Study) -> None:
    """A fixture dear enough that making crosses buying; the model asked at every whole volume by itself nearby."""
    study = small.with_inputs({"part.routes.cuts.once.fixture.cost": 120_000.0})
    found = break_even_volumes(study, "make-cuts", "near-b", 300, 9000)
    assert found
    plan = study.plan(["demand.per_year"])
    for it in found:
        for volume, lower in ((it.volume - 1, it.lower_below), (it.volume, it.lower_from_here)):
            at = plan.apply([float(volume)])
            costs = {name: float(levelled_cash(at, name)) for name in ("make-cuts", "near-b")}
            assert min(costs, key=lambda name: costs[name]) == lower
    volumes = np.arange(300.0, 9001.0).reshape(-1, 1)
    at = plan.apply([volumes])
    gaps = np.ravel(levelled_cash(at, "make-cuts") - levelled_cash(at, "near-b"))
    by_hand = [int(volumes[i, 0]) for i in range(1, gaps.size) if np.sign(gaps[i]) != np.sign(gaps[i - 1])]
    assert [it.volume for it in found] == by_hand


def test_totals_of_every_volume_in_blocks(small: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = totals_by_volume(small, ("make-cuts", "near-b"), 490, 512)
    monkeypatch.setattr(module, "BLOCK", 7)
    again = totals_by_volume(small, ("make-cuts", "near-b"), 490, 512)
    plan = small.plan(["demand.per_year"])
    for name, totals in whole.items():
        assert np.array_equal(totals, again[name])
        for volume in (490, 499, 512):
            alone = float(levelled_cash(plan.apply([float(volume)]), name))
            assert totals[volume - 490] == pytest.approx(alone, rel=1e-13)
