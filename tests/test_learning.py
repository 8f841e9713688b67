"""Learning curves: sums unit by unit as oracle, the doubling property, floors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import learning, learning_fit

RATES = st.floats(0.51, 1.0)
UNITS = st.integers(1, 400)


def unit_by_unit(first: float, rate: float, units: int, floor: float = 0.0) -> np.ndarray:
    times = first * np.array([rate ** np.log2(unit) for unit in range(1, units + 1)])
    return np.maximum(times, floor)


@settings(deadline=None)
@given(RATES, UNITS)
def test_the_unit_curve_adds_up_unit_by_unit(rate: float, units: int) -> None:
    expected = unit_by_unit(20.0, rate, units)
    assert learning.unit_time(20.0, rate, float(units)) == pytest.approx(expected[-1], rel=1e-12)
    assert learning.total_time(20.0, rate, float(units)) == pytest.approx(expected.sum(), rel=1e-12)


@pytest.mark.parametrize("rate", [0.5000001, 0.7, 0.9, 1.0])
@pytest.mark.parametrize("units", [1, 2, 3, 10, 100000])
def test_totals_of_few_and_of_many_units(rate: float, units: int) -> None:
    expected = unit_by_unit(1.0, rate, units).sum()
    assert learning.total_time(1.0, rate, float(units)) == pytest.approx(expected, rel=1e-12)


@settings(deadline=None)
@given(RATES, UNITS, st.integers(0, 300))
def test_blocks_lie_between_totals(rate: float, start: int, more: int) -> None:
    for model in ("crawford", "wright"):
        block = learning.block_time(20.0, rate, float(start), float(start + more), model)
        units = [
            learning.unit_time(20.0, rate, float(unit), model) for unit in range(start, start + more + 1)
        ]
        assert block == pytest.approx(np.sum(units), rel=1e-9)


@settings(deadline=None)
@given(RATES, UNITS)
def test_each_model_doubles_in_its_own_way(rate: float, units: int) -> None:
    def fall(formula: object, model: str) -> float:
        assert callable(formula)
        return formula(20.0, rate, 2.0 * units, model) / formula(20.0, rate, float(units), model)

    assert fall(learning.unit_time, "crawford") == pytest.approx(rate)
    assert fall(learning.average_time, "wright") == pytest.approx(rate)
    if rate < 0.99:
        assert fall(learning.average_time, "crawford") > rate
        assert units == 1 or fall(learning.unit_time, "wright") != pytest.approx(rate, rel=1e-9)


def test_the_same_rate_means_two_things() -> None:
    crawford = learning.total_time(100.0, 0.85, 125.0)
    wright = learning.total_time(100.0, 0.85, 125.0, "wright")
    assert crawford / wright == pytest.approx(1.29, abs=0.005)


def test_hands_on_work_at_unit_64() -> None:
    assert learning.unit_time(20.0, 0.9, 64.0) == pytest.approx(10.63, abs=0.005)
    assert learning.unit_time(20.0, 0.9, 64.0, floor=12.0) == 12.0
    assert learning.unit_time(20.0, 0.9, 64.0, "wright", floor=12.0) == 12.0


@settings(deadline=None)
@given(RATES, UNITS, st.floats(1.0, 30.0))
def test_a_floor_stops_the_curve(rate: float, units: int, floor: float) -> None:
    expected = unit_by_unit(20.0, rate, units, floor).sum()
    assert learning.total_time_with_floor(20.0, rate, float(units), floor) == pytest.approx(
        expected, rel=1e-9
    )


def test_a_floor_without_learning() -> None:
    assert learning.total_time_with_floor(20.0, 1.0, 5.0, 10.0) == pytest.approx(100.0)
    assert learning.total_time_with_floor(20.0, 1.0, 5.0, 30.0) == pytest.approx(150.0)
    assert learning.total_time_with_floor(20.0, 1.0 - 1e-15, 5.0, 10.0) == pytest.approx(100.0)


def test_no_learning_is_a_constant_time() -> None:
    for model in ("crawford", "wright"):
        assert learning.unit_time(20.0, 1.0, 50.0, model) == pytest.approx(20.0)
        assert learning.total_time(20.0, 1.0, 50.0, model) == pytest.approx(1000.0)


@settings(deadline=None)
@given(RATES, UNITS)
def test_the_first_unit_is_found_again(rate: float, unit: int) -> None:
    for model in ("crawford", "wright"):
        time = learning.unit_time(20.0, rate, float(unit), model)
        assert learning.first_unit_time(time, rate, float(unit), model) == pytest.approx(20.0)


@settings(deadline=None)
@given(RATES, st.integers(2, 400))
def test_the_rate_is_found_again(rate: float, units: int) -> None:
    total = learning.total_time(80.0, rate, float(units), "wright")
    assert learning_fit.rate_from_total(80.0, total, float(units)) == pytest.approx(rate)
    times = learning.unit_time(80.0, rate, np.array([1.0, float(units)]))
    assert learning_fit.rate_from_two_units(1.0, times[0], float(units), times[1]) == pytest.approx(rate)


def test_a_wrong_rate_is_the_ratio_of_two_curves() -> None:
    taken = learning.average_time(1.0, 0.85, 250.0, "wright")
    true = learning.average_time(1.0, 0.87, 250.0, "wright")
    assert learning_fit.error_of_wrong_rate(250.0, 0.85, 0.87) == pytest.approx(true / taken - 1.0)
    assert learning_fit.error_of_wrong_rate(250.0, 0.85, 0.85) == 0.0


@settings(deadline=None)
@given(st.floats(0.55, 0.98), st.integers(5, 300), st.integers(0, 300))
def test_the_midpoint_takes_about_the_mean_time(rate: float, start: int, more: int) -> None:
    midpoint = learning_fit.block_midpoint(rate, float(start), float(start + more))
    mean = learning.block_time(1.0, rate, float(start), float(start + more)) / (more + 1)
    assert start - 0.5 <= midpoint <= start + more + 0.5
    assert learning.unit_time(1.0, rate, midpoint) == pytest.approx(mean, rel=5e-3)


def test_units_out_of_order_are_refused() -> None:
    with pytest.raises(LimitError, match="to_unit"):
        learning.block_time(20.0, 0.9, 10.0, np.array([12.0, 9.0]))
    with pytest.raises(LimitError, match="to_unit"):
        learning_fit.block_midpoint(0.9, 10.0, 9.0)
    with pytest.raises(LimitError, match="number"):
        learning_fit.rate_from_two_units(4.0, 20.0, 4.0, 18.0)
