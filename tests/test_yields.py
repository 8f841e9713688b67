"""Yield along a route: a simulated flow of parts as oracle, and identities."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import yields

COSTS = [18.85, 3.20, 1.95, 0.50]
SHARES = [0.985, 0.99, 0.97, 1.0]
ROUTES = st.lists(
    st.tuples(st.floats(0.0, 50.0), st.floats(0.5, 1.0), st.floats(-2.0, 5.0)), min_size=1, max_size=8
)


def test_a_route_with_late_scrap() -> None:
    assert yields.cost_per_good_part(COSTS, SHARES) == pytest.approx(25.77, abs=0.005)
    assert yields.flat_factor_cost(COSTS, SHARES) == pytest.approx(25.90, abs=0.005)
    assert yields.cost_per_good_part(COSTS, [1.0] * 4) == pytest.approx(24.50)
    rolled = yields.rolled_yield(SHARES)
    assert yields.blanks_to_start(1.0, rolled) == pytest.approx(1.0572, abs=5e-5)
    assert yields.blanks_to_start(200.0, rolled, "whole") == 212.0


def flow_cost(route: list[tuple[float, float, float]], start: float) -> tuple[float, float]:
    """Money spent and good parts left when a number of parts is followed through the stages."""
    parts, spent = start, 0.0
    for cost, share, salvage in route:
        spent += parts * cost
        spent -= parts * (1.0 - share) * salvage
        parts *= share
    return spent, parts


@settings(deadline=None)
@given(ROUTES)
def test_cost_is_what_the_flow_of_parts_spends(route: list[tuple[float, float, float]]) -> None:
    costs, shares, salvage = (list(column) for column in zip(*route, strict=True))
    spent, good = flow_cost(route, 1000.0)
    assert yields.cost_per_good_part(costs, shares, salvage) == pytest.approx(
        spent / good, rel=1e-9, abs=1e-9
    )
    assert yields.parts_into_stages(shares)[0] == pytest.approx(1000.0 / good)


@settings(deadline=None)
@given(ROUTES)
def test_stages_and_losses_add_up(route: list[tuple[float, float, float]]) -> None:
    costs, shares, salvage = (list(column) for column in zip(*route, strict=True))
    losses = yields.loss_by_stage(costs, shares, salvage)
    total = yields.cost_per_good_part(costs, shares, salvage)
    assert sum(costs) + sum(losses) == pytest.approx(total, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(ROUTES)
def test_the_flat_factor_is_never_below(route: list[tuple[float, float, float]]) -> None:
    costs, shares, _ = (list(column) for column in zip(*route, strict=True))
    assert yields.flat_factor_cost(costs, shares) >= yields.cost_per_good_part(costs, shares) - 1e-9


def test_a_loss_stands_at_the_stage_where_it_happens() -> None:
    assert yields.loss_by_stage([10.0, 5.0], [1.0, 0.5]) == pytest.approx((0.0, 15.0))
    assert yields.loss_by_stage([10.0, 5.0], [0.5, 1.0]) == pytest.approx((10.0, 0.0))
    assert yields.loss_by_stage([10.0, 5.0], [0.5, 1.0], [4.0, 0.0]) == pytest.approx((6.0, 0.0))


def test_rejects_that_are_not_charged_cost_nothing() -> None:
    in_price = yields.stage_cost_per_part_in(2.0, 0.8, "good parts")
    assert in_price == pytest.approx(1.6)
    assert yields.cost_per_good_part([in_price], [0.8]) == pytest.approx(2.0)
    assert yields.cost_per_good_part([yields.stage_cost_per_part_in(2.0, 0.8)], [0.8]) == pytest.approx(2.5)


def test_rework_once() -> None:
    rework = yields.rework_loop(0.9, 0.5, 0.8, 3.0)
    assert rework == pytest.approx((0.94, 0.05, 0.15))


def test_rework_until_settled_is_the_sum_of_its_rounds() -> None:
    good, waiting, reworks = 0.9, 0.1 * 0.6, 0.0
    for _ in range(200):
        reworks += waiting
        good += waiting * 0.7
        waiting *= 0.3 * 0.6
    rework = yields.rework_loop(0.9, 0.6, 0.7, 3.0, "until settled")
    assert rework == pytest.approx((good, reworks, reworks * 3.0))


def test_rework_that_always_succeeds_saves_every_reworkable_part() -> None:
    assert yields.rework_loop(0.9, 1.0, 1.0, 0.0, "until settled").stage_yield == pytest.approx(1.0)


def test_rework_that_never_settles_is_refused() -> None:
    with pytest.raises(LimitError, match="success"):
        yields.rework_loop(0.9, 1.0, 0.0, 1.0, "until settled")
    assert yields.rework_loop(0.9, 1.0, 0.0, 1.0).stage_yield == pytest.approx(0.9)


def test_a_ramp_takes_more_blanks() -> None:
    path = yields.ramp_yields(0.70, 0.95, 6)
    assert path == pytest.approx((0.70, 0.75, 0.80, 0.85, 0.90, 0.95))
    ramped = yields.ramp_blanks(40.0, path)
    steady = yields.ramp_blanks(40.0, [0.95] * 6)
    assert ramped == pytest.approx(294.0, abs=0.5)
    assert steady == pytest.approx(253.0, abs=0.5)
    assert (ramped - steady) * 20.0 == pytest.approx(829.0, abs=0.5)


def test_a_hundred_percent_needs_one_blank_a_part() -> None:
    assert yields.blanks_to_start(200.0, yields.rolled_yield([1.0, 1.0]), "whole") == 200.0
    assert yields.parts_into_stages([1.0, 1.0]) == (1.0, 1.0)


def test_yields_may_be_draws() -> None:
    draws = np.array([0.5, 1.0])
    assert yields.parts_into_stages([draws, 0.5])[0] == pytest.approx([4.0, 2.0])
