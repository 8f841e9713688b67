"""Differences split by cause: the parts add up exactly, and no method favours an order it does not state."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import bridge

FACTORS = st.lists(st.tuples(st.floats(0.1, 10.0), st.floats(0.1, 10.0)), min_size=1, max_size=5)


@settings(deadline=None)
@given(FACTORS)
def test_parts_of_a_product_add_up_by_every_method(factors: list[tuple[float, float]]) -> None:
    before, after = (list(column) for column in zip(*factors, strict=True))
    difference = np.prod(after) - np.prod(before)
    for method in ("shapley", "sequential", "one at a time"):
        parts = bridge.product_split(before, after, method)
        assert len(parts) == len(before) + (method == "one at a time")
        assert sum(parts) == pytest.approx(difference, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(FACTORS)
def test_even_sharing_is_the_mean_over_all_orders(factors: list[tuple[float, float]]) -> None:
    size = len(factors)
    shares = np.zeros(size)
    orders = list(permutations(range(size)))
    for order in orders:
        steps = bridge.product_split(
            [factors[place][0] for place in order], [factors[place][1] for place in order], "sequential"
        )
        for place, step in zip(order, steps, strict=True):
            shares[place] += step / len(orders)
    before, after = (list(column) for column in zip(*factors, strict=True))
    assert bridge.product_split(before, after) == pytest.approx(tuple(shares), rel=1e-9, abs=1e-9)


def test_sequential_gives_the_joint_part_to_the_later_factor() -> None:
    assert bridge.product_split([10.0, 5.0], [12.0, 6.0], "sequential") == pytest.approx((10.0, 12.0))
    assert bridge.product_split([10.0, 5.0], [12.0, 6.0]) == pytest.approx((11.0, 11.0))
    assert bridge.product_split([10.0, 5.0], [12.0, 6.0], "one at a time") == pytest.approx((10.0, 10.0, 2.0))


def test_a_factor_that_does_not_move_has_no_part() -> None:
    for method in ("shapley", "sequential"):
        assert bridge.product_split([2.0, 3.0, 4.0], [2.0, 5.0, 4.0], method) == pytest.approx(
            (0.0, 16.0, 0.0)
        )


@settings(deadline=None)
@given(st.floats(0.1, 50.0), st.floats(0.1, 50.0), st.floats(0.1, 50.0), st.floats(0.1, 50.0))
def test_price_and_use_agree_with_one_at_a_time(price: float, use: float, dearer: float, more: float) -> None:
    split = bridge.price_use_split(price, use, dearer, more)
    assert sum(split) == pytest.approx(dearer * more - price * use, rel=1e-9, abs=1e-9)
    parts = bridge.product_split([price, use], [dearer, more], "one at a time")
    assert split == pytest.approx(parts, rel=1e-9, abs=1e-9)


def test_a_years_saving_against_its_plan() -> None:
    # planned 4,000 at 31.80 - 24.10, came to 3,600 at 31.80 - 25.60
    split = bridge.price_use_split(31.80 - 24.10, 4000.0, 31.80 - 25.60, 3600.0)
    assert split == pytest.approx((-6000.0, -3080.0, 600.0))
    assert 30800.0 + sum(split) == pytest.approx(22320.0)


def model(rate: float, minutes: float, scrap: float, finish: float) -> float:
    return (rate * minutes / 60.0 + finish) / (1.0 - scrap)


def runs(old: dict[str, float], new: dict[str, float]) -> dict[frozenset[str], float]:
    names = list(old)
    subsets = [
        frozenset(name for place, name in enumerate(names) if bits >> place & 1)
        for bits in range(2 ** len(names))
    ]
    return {
        moved: model(**{name: (new if name in moved else old)[name] for name in names}) for moved in subsets
    }


OLD = {"rate": 60.0, "minutes": 12.0, "scrap": 0.02, "finish": 1.95}
NEW = {"rate": 63.0, "minutes": 12.8, "scrap": 0.035, "finish": 2.10}


@pytest.mark.parametrize("method", ["shapley", "sequential", "one at a time"])
def test_parts_of_a_model_add_up(method: bridge.SplitMethod) -> None:
    parts = bridge.split_by_cause(runs(OLD, NEW), list(OLD), method)
    assert sum(parts.values()) == pytest.approx(model(**NEW) - model(**OLD), abs=1e-12)
    assert list(parts)[:4] == list(OLD)
    assert ("interaction" in parts) == (method == "one at a time")


def test_the_order_matters_only_where_it_is_stated() -> None:
    results, causes = runs(OLD, NEW), list(OLD)
    even = bridge.split_by_cause(results, causes)
    assert bridge.split_by_cause(results, causes[::-1]) == pytest.approx(even)
    assert bridge.split_by_cause(results, causes[::-1], "sequential") != pytest.approx(
        bridge.split_by_cause(results, causes, "sequential"), rel=1e-6
    )


def test_sequential_needs_only_the_runs_on_its_way() -> None:
    results = {frozenset(): 1.0, frozenset({"a"}): 3.0, frozenset({"a", "b"}): 4.5}
    assert bridge.split_by_cause(results, ["a", "b"], "sequential") == {"a": 2.0, "b": 1.5}
    with pytest.raises(LimitError, match=r"\['b'\]"):
        bridge.split_by_cause(results, ["a", "b"])


def test_a_split_takes_draws() -> None:
    results = {frozenset(): np.array([1.0, 2.0]), frozenset({"a"}): np.array([3.0, 5.0])}
    assert bridge.split_by_cause(results, ["a"])["a"] == pytest.approx([2.0, 3.0])


@pytest.mark.parametrize("causes", [[], ["a", "a"], ["a", "interaction"]])
def test_causes_have_different_names(causes: list[str]) -> None:
    with pytest.raises(LimitError, match="causes"):
        bridge.split_by_cause({frozenset(): 1.0}, causes)


def test_an_unknown_method_is_refused() -> None:
    with pytest.raises(LimitError, match="method"):
        bridge.split_by_cause({frozenset(): 1.0}, ["a"], "by feel")
