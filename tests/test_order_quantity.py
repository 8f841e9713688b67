"""The exact search against trying every quantity."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas.economic_order import economic_order_quantity
from costmodel.formulas.landed import tier_price
from costmodel.formulas.order_quantity import cheapest_order_quantity, yearly_order_cost


@st.composite
def problems(draw: st.DrawFn) -> dict:
    """Price lists, minima, packs and shipment steps; a cost of holding or a maximum, or both."""
    count = draw(st.integers(1, 4))
    breaks = sorted(draw(st.sets(st.integers(1, 900), min_size=count, max_size=count)))
    prices = draw(st.lists(st.floats(2.0, 30.0), min_size=count, max_size=count))
    if draw(st.booleans()):
        prices = sorted(prices, reverse=True)
    steps = draw(st.lists(st.tuples(st.integers(7, 400), st.floats(0.0, 400.0)), max_size=2))
    return {
        "demand": draw(st.floats(50.0, 5000.0)),
        "order_cost": draw(st.floats(0.0, 300.0)),
        "breaks": [float(reached) for reached in breaks],
        "prices": prices,
        "rule": draw(st.sampled_from(["all_units", "incremental"])),
        "holding_rate": draw(st.floats(0.1, 0.5)),
        "holding_cost": draw(st.floats(0.0, 5.0)),
        "minimum_order": draw(st.sampled_from([0.0, 1.0, 130.0, 633.0])),
        "maximum_order": draw(st.sampled_from([None, 1200.0, 4000.0])),
        "multiple": draw(st.sampled_from([1.0, 1.0, 5.0, 12.0, 50.0])),
        "step_quantities": [float(step) for step, _ in steps],
        "step_charges": [charge for _, charge in steps],
    }


def cost_of(quantity: np.ndarray | float, problem: dict) -> np.ndarray:
    search_only = ("minimum_order", "maximum_order", "multiple")
    return np.asarray(
        yearly_order_cost(quantity, **{k: v for k, v in problem.items() if k not in search_only}).total
    )


def every_quantity(problem: dict, up_to: float) -> np.ndarray:
    packs = np.arange(1, int(up_to / problem["multiple"]) + 1) * problem["multiple"]
    return packs[(packs >= problem["minimum_order"]) & (packs >= problem["breaks"][0])]


@settings(max_examples=300, deadline=None)
@given(problems())
def test_the_search_finds_the_cheapest_of_all_quantities(problem: dict) -> None:
    found = cheapest_order_quantity(**problem)
    quantities = every_quantity(problem, problem["maximum_order"] or 60_000.0)
    costs = cost_of(quantities, problem)
    assert found.yearly_cost == pytest.approx(costs.min(), rel=1e-12)
    assert cost_of(found.quantity, problem) == pytest.approx(found.yearly_cost, rel=1e-12)
    assert np.any(np.isclose(quantities, found.quantity))


@settings(max_examples=60, deadline=None)
@given(problems())
def test_the_candidates_are_orders_that_can_be_made_with_their_costs(problem: dict) -> None:
    found = cheapest_order_quantity(**problem)
    assert np.all(np.diff(found.candidates) > 0.0)
    packs = found.candidates / problem["multiple"]
    np.testing.assert_allclose(packs, np.round(packs), atol=1e-9)
    assert found.candidates[0] >= max(problem["minimum_order"], problem["breaks"][0]) - 1e-9
    assert found.candidates[-1] <= (problem["maximum_order"] or np.inf) + 1e-6
    np.testing.assert_allclose(found.costs, cost_of(found.candidates, problem))
    assert found.yearly_cost == found.costs.min()


def test_one_price_and_no_steps_is_the_economic_quantity() -> None:
    found = cheapest_order_quantity(1300.0, 8.0, (1.0,), (0.75,), holding_cost=0.225)
    assert found.quantity == round(economic_order_quantity(1300.0, 8.0, 0.225))
    assert found.candidates.size < 12


def test_the_lines_add_up_to_the_total() -> None:
    cost = yearly_order_cost(
        250.0,
        4000.0,
        30.0,
        (1.0, 200.0),
        (9.0, 8.0),
        holding_rate=0.2,
        holding_cost=0.5,
        step_quantities=(100.0, 1000.0),
        step_charges=(40.0, 300.0),
    )
    assert tuple(cost) == pytest.approx((32_000.0, 480.0, 16 * (3 * 40.0 + 300.0), 2.1 * 125.0))
    assert cost.total == sum(cost)


def test_an_incremental_order_is_held_at_its_average_price() -> None:
    cost = yearly_order_cost(
        300.0, 4000.0, 30.0, (1.0, 200.0), (9.0, 8.0), rule="incremental", holding_rate=0.2
    )
    average = tier_price(300.0, (1.0, 200.0), (9.0, 8.0), rule="incremental")
    assert cost.purchase == pytest.approx(4000.0 * average)
    assert cost.holding == pytest.approx(0.2 * average * 150.0)


def test_a_full_pallet_beats_a_started_one() -> None:
    plain = cheapest_order_quantity(4000.0, 30.0, (1.0,), (10.0,), holding_rate=0.24)
    pallets = cheapest_order_quantity(
        4000.0, 30.0, (1.0,), (10.0,), holding_rate=0.24, step_quantities=(250.0,), step_charges=(90.0,)
    )
    assert plain.quantity == 316.0
    assert pallets.quantity == 250.0
    assert 251.0 in pallets.candidates


def test_the_smallest_of_equals_is_taken() -> None:
    found = cheapest_order_quantity(100.0, 0.0, (1.0,), (5.0,), maximum_order=50.0)
    assert (found.quantity, found.yearly_cost) == (1.0, 500.0)


def test_without_a_cost_of_holding_a_maximum_is_wanted() -> None:
    with pytest.raises(LimitError, match="maximum_order must be given where holding costs nothing"):
        cheapest_order_quantity(100.0, 9.0, (1.0,), (5.0,))
    assert cheapest_order_quantity(100.0, 9.0, (1.0,), (5.0,), maximum_order=70.0).quantity == 70.0


def test_a_minimum_above_the_maximum_is_refused() -> None:
    with pytest.raises(LimitError, match="at least 60, the smallest order possible"):
        cheapest_order_quantity(
            100.0, 9.0, (1.0,), (5.0,), minimum_order=55.0, multiple=20.0, maximum_order=59.0
        )


def test_a_tiny_step_is_refused() -> None:
    with pytest.raises(LimitError, match="step_quantities must be at least"):
        cheapest_order_quantity(
            1e6, 500.0, (1.0,), (5.0,), holding_cost=0.001, step_quantities=(0.1,), step_charges=(0.0,)
        )


@pytest.mark.parametrize(
    "wrong",
    [
        {"demand": 0.0},
        {"multiple": 0.0},
        {"minimum_order": -1.0},
        {"order_cost": -1.0},
        {"holding_cost": -1.0},
        {"holding_rate": -1.0},
        {"breaks": (1.0, 1.0)},
        {"prices": (5.0,)},
        {"prices": (5.0, -4.0)},
        {"step_quantities": (5.0,)},
        {"step_quantities": (0.0,), "step_charges": (1.0,)},
        {"step_quantities": (5.0,), "step_charges": (-1.0,)},
    ],
)
def test_wrong_arguments_are_refused(wrong: dict) -> None:
    right = {
        "demand": 100.0,
        "order_cost": 9.0,
        "breaks": (1.0, 50.0),
        "prices": (5.0, 4.0),
        "holding_cost": 1.0,
    }
    cheapest_order_quantity(**right)
    with pytest.raises(LimitError):
        cheapest_order_quantity(**right | wrong)
