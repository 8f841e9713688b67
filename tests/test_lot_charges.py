"""Lot minimums and economic lots, against a search over all whole lots."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import lot_charges

LOTS = np.arange(1.0, 20001.0)


def test_a_finishers_minimum_by_lot() -> None:
    charges = lot_charges.charge_per_part(np.array([50.0, 71.0, 72.0, 200.0]), 1.95, 140.0)
    assert charges == pytest.approx([2.80, 1.97, 1.95, 1.95], abs=0.005)
    assert lot_charges.binding_lot(1.95, 140.0) == 72.0
    assert lot_charges.minimum_top_up(50.0, 1.95, 140.0) == pytest.approx(42.5)
    assert lot_charges.minimum_top_up(72.0, 1.95, 140.0) == 0.0


def test_the_binding_lot_is_the_first_that_pays_no_top_up() -> None:
    top_ups = lot_charges.minimum_top_up(LOTS[:200], 1.95, 140.0)
    assert lot_charges.binding_lot(1.95, 140.0) == LOTS[:200][top_ups == 0.0][0]
    assert lot_charges.binding_lot(2.0, 140.0) == 70.0
    assert lot_charges.binding_lot(1.95, 140.0, "fractional") == pytest.approx(140.0 / 1.95)


def test_a_quick_change_shrinks_the_lot() -> None:
    holding = 23.10 * 0.24
    lots = lot_charges.economic_lot(4000.0, np.array([255.0, 42.5]), holding)
    assert lots == pytest.approx([607.0, 248.0], abs=0.5)
    assert np.all(lots > lot_charges.binding_lot(1.95, 140.0))
    assert lot_charges.economic_lot_with_minimum(4000.0, 42.5, holding, 1.95, 140.0) == pytest.approx(lots[1])


def cost(lot: object, demand: float, set_up: float, holding: float, price: float, minimum: float) -> object:
    charge = lot_charges.charge_per_part(lot, price, minimum)
    return lot_charges.lot_cost_per_year(lot, demand, set_up, holding) + demand * charge


@settings(deadline=None, max_examples=60)
@given(
    st.floats(100.0, 5000.0),
    st.floats(1.0, 300.0),
    st.floats(0.5, 10.0),
    st.floats(0.5, 5.0),
    st.floats(0.0, 500.0),
)
def test_no_whole_lot_is_cheaper(
    demand: float, set_up: float, holding: float, price: float, minimum: float
) -> None:
    given_costs = (demand, set_up, holding, price, minimum)
    best = lot_charges.economic_lot_with_minimum(*given_costs)
    assert cost(best, *given_costs) <= np.min(cost(LOTS, *given_costs)) + 1e-9


def test_a_binding_minimum_moves_the_lot() -> None:
    plain = lot_charges.economic_lot(500.0, 5.0, 5.0)
    with_minimum = lot_charges.economic_lot_with_minimum(500.0, 5.0, 5.0, 1.95, 140.0)
    assert plain < with_minimum == pytest.approx(140.0 / 1.95)
    far = lot_charges.economic_lot_with_minimum(50.0, 5.0, 5.0, 1.95, 140.0)
    assert far == pytest.approx(lot_charges.economic_lot(50.0, 145.0, 5.0))


@settings(deadline=None)
@given(st.floats(10.0, 5000.0), st.floats(1.0, 500.0), st.floats(0.1, 50.0), st.floats(1.05, 50.0))
def test_set_ups_and_stock_cost_the_same_at_the_economic_lot(
    demand: float, set_up: float, holding: float, speed: float
) -> None:
    rate = demand * speed
    lot = lot_charges.economic_lot(demand, set_up, holding, rate)
    total = lot_charges.lot_cost_per_year(lot, demand, set_up, holding, rate)
    assert total == pytest.approx(2.0 * set_up * demand / lot, rel=1e-9)


def test_published_lots_of_buying_and_making() -> None:
    # R. Panneerselvam, Engineering Economics, ex. 13.2, p. 171
    buy = lot_charges.economic_lot(2000.0, 120.0, 1.6)
    make = lot_charges.economic_lot(2000.0, 60.0, 1.0, 8000.0)
    assert (buy, make) == pytest.approx((547.7, 565.7), abs=0.05)
    assert 8.0 * 2000.0 + lot_charges.lot_cost_per_year(buy, 2000.0, 120.0, 1.6) == pytest.approx(
        16876.36, abs=0.01
    )
    assert 5.0 * 2000.0 + lot_charges.lot_cost_per_year(make, 2000.0, 60.0, 1.0, 8000.0) == pytest.approx(
        10424.26, abs=0.01
    )


def test_making_no_faster_than_selling_is_refused() -> None:
    with pytest.raises(LimitError, match="production_rate"):
        lot_charges.economic_lot(2000.0, 60.0, 1.0, np.array([8000.0, 2000.0]))
    with pytest.raises(LimitError, match="production_rate"):
        lot_charges.lot_cost_per_year(100.0, 2000.0, 60.0, 1.0, 1900.0)


def test_lots_are_averaged_or_whole() -> None:
    assert lot_charges.lots_per_year(4100.0, 200.0) == pytest.approx(20.5)
    assert lot_charges.lots_per_year(4100.0, 200.0, "whole") == 21.0
    assert lot_charges.lots_per_year(0.3, 0.1, "whole") == 3.0


def test_halving_the_lot_doubles_the_set_ups() -> None:
    once = lot_charges.lot_cost_per_year(200.0, 4000.0, 42.5, 0.0)
    assert lot_charges.lot_cost_per_year(100.0, 4000.0, 42.5, 0.0) == pytest.approx(2 * once)
