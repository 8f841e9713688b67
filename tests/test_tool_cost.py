"""Cost of tools a part, and cheapest and quickest speeds against a search."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from costmodel.errors import LimitError
from costmodel.formulas import tool_cost, tool_life
from costmodel.units import Number


def test_count_edges_and_reserve() -> None:
    """Acceptance example M7 (invented): 48.00 over 600 parts, and with a quarter in reserve over 450."""
    assert tool_cost.edge_cost_per_part(48.0, 600.0) == pytest.approx(0.080)
    assert tool_cost.edge_cost_per_part(48.0, 600.0, reserve=0.25) == pytest.approx(0.107, abs=5e-4)
    assert tool_cost.edge_cost_per_part(48.0, 150.0, edges=4) == pytest.approx(0.080)


def test_regrinds_give_lives_and_cost_their_price() -> None:
    """A drill of 40 with three regrinds at 4 makes four lives for 52."""
    assert tool_cost.edge_cost_per_part(40.0, 100.0, regrinds=3, regrind_price=4.0) == pytest.approx(
        52.0 / 400.0
    )


def test_cost_of_a_life_adds_price_change_and_regrind() -> None:
    assert tool_cost.cost_per_life(40.0, 4.0, 3.0, 0.5, 6.0, 0.25) == pytest.approx(10.0 + 1.5 + 1.5)


def test_wear_of_cuts_that_share_a_tool_adds_up() -> None:
    wear = tool_cost.wear_per_part([1.0, 2.0], [20.0, 40.0])
    assert wear == pytest.approx(0.1)
    assert tool_cost.parts_per_edge(1.0, wear) == pytest.approx(10.0)
    assert tool_cost.wear_per_part([3.0], [30.0]) == pytest.approx(1 / tool_cost.parts_per_edge(30.0, 3.0))


def test_whole_parts_per_edge_are_rounded_down_but_for_rounding_errors() -> None:
    assert tool_cost.parts_per_edge(0.3, 0.1, "whole") == 3.0
    assert tool_cost.parts_per_edge(0.29, 0.1, "whole") == 2.0
    assert tool_cost.parts_per_edge(0.29, 0.1) == pytest.approx(2.9)


def test_an_edge_that_does_not_last_one_part_cannot_be_costed() -> None:
    none = tool_cost.parts_per_edge(5.0, 6.0, "whole")
    assert none == 0.0
    with pytest.raises(LimitError, match="parts_per_edge"):
        tool_cost.piece_cost(0.5, 1.0, 6.0, 1.0, 3.0, none)
    with pytest.raises(LimitError, match="parts_per_edge"):
        tool_cost.edge_cost_per_part(10.0, none)


def test_whole_edges_cost_three_to_five_percent_more_in_the_textbook_case() -> None:
    """M. P. Groover, Ex 23.4 (inputs read): 12.78 against 12.19 and 11.31 against 10.99."""
    for speed in (50.0, 42.0):
        minutes = 3.141592653589793 * 100 * 500 / (1000 * speed * 0.25)
        life = tool_life.taylor_life(speed, 70.0, 0.125)
        fractional, whole = (
            tool_cost.piece_cost(
                0.5, 5.0, minutes, 2.0, 3.0, tool_cost.parts_per_edge(life, minutes, rule)
            ).cost
            for rule in get_args(tool_cost.PartsRule)
        )
        assert 0.02 < whole / fractional - 1.0 < 0.06


def costs(
    speed: float, exponent: float, constant: float, change: float, tool: float, rate: float
) -> tuple[Number, Number]:
    """Minutes and money of a piece with 200 m of cut, at a speed."""
    minutes = 200.0 / speed
    life = tool_life.taylor_life(speed, constant, exponent)
    piece = tool_cost.piece_cost(rate, 3.0, minutes, change, tool, tool_cost.parts_per_edge(life, minutes))
    return piece.minutes, piece.cost


@pytest.mark.parametrize("exponent", [0.12, 0.25, 0.6])
def test_economic_lives_agree_with_a_search_over_the_speed(exponent: float) -> None:
    constant, change, tool, rate = 300.0, 2.0, 6.0, 0.9
    for index, life in enumerate(
        (
            tool_cost.life_for_maximum_production(exponent, change),
            tool_cost.life_for_minimum_cost(exponent, change, tool, rate),
        )
    ):
        speed = float(tool_life.taylor_speed(life, constant, exponent))
        found = minimize_scalar(
            lambda v, index=index: costs(v, exponent, constant, change, tool, rate)[index],
            bounds=(0.2 * speed, 5 * speed),
            method="bounded",
            options={"xatol": 1e-8},
        )
        assert speed == pytest.approx(found.x, rel=1e-5)


@given(
    exponent=st.floats(0.05, 0.9),
    change=st.floats(0.1, 10.0),
    tool=st.floats(0.0, 50.0),
    rate=st.floats(0.1, 5.0),
)
def test_the_cheapest_life_is_never_below_the_quickest(
    exponent: float, change: float, tool: float, rate: float
) -> None:
    cheap = tool_cost.life_for_minimum_cost(exponent, change, tool, rate)
    assert cheap >= tool_cost.life_for_maximum_production(exponent, change)


def test_piece_cost_is_time_at_the_rate_and_its_share_of_the_tool() -> None:
    piece = tool_cost.piece_cost(0.5, 5.0, 4.0, 2.0, 3.0, 8.0)
    assert piece.minutes == pytest.approx(9.25)
    assert piece.cost == pytest.approx(0.5 * 9.25 + 3.0 / 8.0)
    assert piece.minutes - 9.0 == pytest.approx(tool_cost.change_minutes_per_part(2.0, 8.0))
