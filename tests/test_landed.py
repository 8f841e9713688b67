"""Price tiers, minimum orders and currency."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas.landed import home_money, ordered_quantity, tier_price

BREAKS = (1.0, 50.0, 80.0, 100.0)
PRICES = (20.0, 18.0, 17.0, 16.0)


def test_an_all_units_price_changes_at_its_break() -> None:
    quantity = np.array([0.5, 1.0, 49.0, 49.999, 50.0, 79.0, 80.0, 100.0, 1e6])
    assert tier_price(quantity, BREAKS, PRICES).tolist() == [20, 20, 20, 20, 18, 18, 17, 16, 16]


@settings(deadline=None)
@given(st.integers(1, 300))
def test_an_incremental_price_is_the_mean_of_the_prices_of_its_parts(quantity: int) -> None:
    each = [PRICES[sum(part > reached for reached in BREAKS[1:])] for part in range(1, quantity + 1)]
    got = tier_price(float(quantity), BREAKS, PRICES, rule="incremental")
    assert got == pytest.approx(sum(each) / quantity, rel=1e-12)


@settings(deadline=None)
@given(st.floats(1.0, 500.0))
def test_an_incremental_price_lies_between_the_first_and_the_price_of_all_units(quantity: float) -> None:
    got = tier_price(quantity, BREAKS, PRICES, rule="incremental")
    assert tier_price(quantity, BREAKS, PRICES) <= got * (1 + 1e-12)
    assert got <= PRICES[0] * (1 + 1e-12)


def test_the_money_of_an_incremental_order_does_not_jump_at_a_break() -> None:
    below, above = 80.0 - 1e-7, 80.0 + 1e-7
    money = [q * tier_price(q, BREAKS, PRICES, rule="incremental") for q in (below, above)]
    assert money[1] - money[0] == pytest.approx(0.0, abs=1e-5)
    assert 79.0 * tier_price(79.0, BREAKS, PRICES) > 80.0 * tier_price(80.0, BREAKS, PRICES)


def test_prices_may_be_draws() -> None:
    drawn = np.array([20.0, 21.0])
    assert tier_price(60.0, (1.0, 50.0), (drawn, drawn - 3.0)).tolist() == [17.0, 18.0]


def test_a_tier_without_a_price_is_refused() -> None:
    with pytest.raises(LimitError, match="breaks and prices must be of one length"):
        tier_price(10.0, (1.0, 50.0), (20.0,))
    with pytest.raises(LimitError, match="of one length, at least 1"):
        tier_price(10.0, (), ())


def test_breaks_out_of_order_are_refused() -> None:
    with pytest.raises(LimitError, match="breaks must be in rising order"):
        tier_price(10.0, (1.0, 80.0, 50.0), (20.0, 18.0, 17.0))


@pytest.mark.parametrize(
    ("needed", "minimum", "multiple", "ordered"),
    [
        (120.0, 0.0, None, 120.0),
        (120.0, 250.0, None, 250.0),
        (120.0, 0.0, 50.0, 150.0),
        (150.0, 0.0, 50.0, 150.0),
        (120.0, 260.0, 50.0, 300.0),
        (0.3, 0.0, 0.1, 0.3),  # a rounding error above three packs orders no fourth
    ],
)
def test_an_order_is_topped_up(needed: float, minimum: float, multiple: float | None, ordered: float) -> None:
    assert ordered_quantity(needed, minimum_order=minimum, multiple=multiple) == pytest.approx(ordered)


def test_ten_per_cent_on_the_exchange_rate_is_ten_per_cent_on_the_price() -> None:
    rates = np.array([0.9, 1.0, 1.1])
    np.testing.assert_allclose(home_money(22.0, rates) - 22.0, [-2.2, 0.0, 2.2], atol=1e-12)


@settings(deadline=None)
@given(st.floats(0.01, 100.0), st.floats(-1e6, 1e6))
def test_a_rate_and_its_inverse_give_the_same_money(rate: float, amount: float) -> None:
    direct = home_money(amount, rate)
    assert home_money(amount, 1.0 / rate, quoted="foreign_per_home") == pytest.approx(direct, rel=1e-12)
