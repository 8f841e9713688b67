"""What a life of an edge costs where a failure ends the tool: against renewal by simulation, and its limits."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.errors import LimitError
from costmodel.formulas.tool_cost import edge_cost_per_part
from costmodel.formulas.tool_lives import price_of_a_life

TOOLS = {
    "new each time": (41.0, 1, 0, 0.0, "used"),
    "reground": (46.5, 1, 2, 13.0, "used"),
    "last life lost": (112.0, 1, 3, 13.0, "lost"),
    "insert": (13.4, 4, 0, 0.0, "used"),
    "edges reground": (60.0, 2, 2, 9.0, "used"),
}


@pytest.mark.parametrize("name", TOOLS)
@pytest.mark.parametrize("reached", [0.0, 0.35, 0.72, 1.0])
def test_a_life_costs_what_simulated_tools_cost(name, reached):
    price, edges, regrinds, regrind_price, last = TOOLS[name]
    random = np.random.default_rng(7)
    money = lives = 0.0
    most = edges * (regrinds + (last == "used"))
    for _ in range(40_000):
        money += price
        had = 0
        while had < most:
            had += 1
            if random.random() >= reached:
                break
            if had % edges == 0 and had // edges <= regrinds:
                money += regrind_price
        lives += had
    found = price_of_a_life(price, reached, edges, regrinds, regrind_price, last)
    assert found.mean == pytest.approx(money / lives, rel=0.01)
    assert found.worn * reached + found.failed * (1.0 - reached) == pytest.approx(found.mean)


@pytest.mark.parametrize("name", TOOLS)
def test_without_failures_it_is_the_plain_share_and_with_nothing_else_the_price(name):
    price, edges, regrinds, regrind_price, last = TOOLS[name]
    plain = edge_cost_per_part(price, 1.0, edges, regrinds, regrind_price, last_life=last)
    assert price_of_a_life(price, 1.0, edges, regrinds, regrind_price, last).mean == pytest.approx(plain)
    assert price_of_a_life(price, 0.0, edges, regrinds, regrind_price, last).mean == pytest.approx(price)
    used = price_of_a_life(price, 0.8, edges, regrinds, regrind_price, last).failed
    assert used < price or (edges, regrinds) == (1, 0)


def test_worn_and_failed_are_the_slope_of_the_mean():
    at, step = 0.8, 1e-6
    found, more, less = (price_of_a_life(46.5, at + by, 2, 2, 13.0) for by in (0.0, step, -step))
    assert found.worn - found.failed == pytest.approx((more.mean - less.mean) / (2 * step), rel=1e-6)


def test_an_array_equals_a_stack_of_floats():
    reached, prices = np.array([0.0, 0.6, 1.0]), np.array([[40.0], [50.0]])
    found = price_of_a_life(prices, reached, 2, 1, 9.0)
    for row, price in enumerate((40.0, 50.0)):
        for column, chance in enumerate((0.0, 0.6, 1.0)):
            single = price_of_a_life(price, chance, 2, 1, 9.0)
            assert [float(it[row, column]) for it in found] == pytest.approx(list(single))


@pytest.mark.parametrize(
    "changed",
    [
        {"price": -1.0},
        {"regrind_price": -1.0},
        {"reached": 1.1},
        {"reached": -0.1},
        {"edges": 0},
        {"regrinds": -1},
        {"last_life": "lost"},
        {"last_life": "kept"},
    ],
)
def test_limits(changed):
    with pytest.raises(LimitError):
        price_of_a_life(**{"price": 10.0, "reached": 0.5, **changed})
