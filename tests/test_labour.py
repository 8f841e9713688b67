"""Two clocks, lots and one person at several machines, which is checked against queues solved another way."""

from __future__ import annotations

import heapq
from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.formulas import labour, machine_tending


def test_machine_minutes_of_the_requirements() -> None:
    """Acceptance example M1 (invented): (46.0 + 1.5) / 4, at 60 an hour."""
    minutes = labour.machine_minutes_per_part(46.0, 1.5, 4.0)
    assert minutes == 11.875
    assert labour.cost_of_minutes(minutes, 60.0 / 60) == 11.875


def test_hands_on_minutes_of_the_requirements() -> None:
    """Acceptance example M2 (invented): 7 min a load at 42 an hour, not the machine's 47.5."""
    hands, attended = (labour.hands_on_minutes_per_part(7.0, 4.0, share, 47.5) for share in (0.0, 1.0))
    assert labour.cost_of_minutes(hands, 42.0 / 60) == pytest.approx(1.225)
    assert labour.cost_of_minutes(attended, 42.0 / 60) == pytest.approx(8.3125)


def test_half_attendance_stands_by_for_half_of_the_rest() -> None:
    assert labour.hands_on_minutes_per_part(7.0, 1.0, 0.5, 47.0) == pytest.approx(7.0 + 20.0)
    assert labour.hands_on_minutes_per_part(7.0, 1.0, 0.5, 5.0) == 7.0


def test_loading_inside_adds_and_outside_hides() -> None:
    inside, outside = (
        labour.machine_minutes_per_load(46.0, 1.5, 7.0, place) for place in reversed(get_args(labour.Loading))
    )
    assert {inside, outside} == {54.5, 47.5}
    assert labour.machine_minutes_per_load(46.0, 1.5, 7.0, "inside the cycle") == 54.5
    assert labour.machine_minutes_per_load(5.0, 1.5, 7.0) == 8.5


def test_set_up_of_the_requirements() -> None:
    """Acceptance example M3 (invented): 25 min at 102/h are 42.50, 0.2125 at lot 200, 0.85 at lot 50; 150 min 255."""
    for minutes, lot, cost in (
        (25.0, 200.0, 0.2125),
        (25.0, 50.0, 0.85),
        (150.0, 200.0, 1.275),
        (150.0, 50.0, 5.10),
    ):
        shared = labour.unit_minutes_with_set_up(minutes, 0.0, lot)
        assert labour.cost_of_minutes(shared, 102.0 / 60) == pytest.approx(cost)


@given(set_up=st.floats(1.0, 500.0), unit=st.floats(0.0, 100.0), lot=st.floats(2.0, 500.0))
def test_half_the_lot_doubles_the_share_of_the_set_up(set_up: float, unit: float, lot: float) -> None:
    whole, half = (labour.unit_minutes_with_set_up(set_up, unit, size) - unit for size in (lot, lot / 2))
    assert half == pytest.approx(2 * whole, rel=1e-6, abs=1e-9)


def test_a_chain_runs_at_its_slowest_station() -> None:
    assert labour.chained_minutes([12.0, 30.0], [4.0, 5.0]) == 30.0
    assert labour.chained_minutes([12.0, 8.0], [7.0, 9.0]) == 16.0


def test_machines_one_person_tends() -> None:
    """Acceptance example S5 (invented): (6 + 46) / (6 + 1)."""
    got = machine_tending.machines_per_person(6.0, 46.0, 1.0)
    assert got.exact == pytest.approx(7.4, abs=0.05)
    assert got.whole == 7.0


def test_regular_machines_wait_only_beyond_that_number() -> None:
    assert machine_tending.regular_waiting_minutes(7, 6.0, 46.0, 1.0) == 0.0
    assert machine_tending.regular_waiting_minutes(8, 6.0, 46.0, 1.0) == pytest.approx(8 * 7.0 - 52.0)


def balanced(machines: int, service: float, run: float) -> tuple[float, float]:
    """Share of time a machine runs and the person is busy, from the balance of a birth and death chain."""
    rates = np.zeros((machines + 1, machines + 1))
    for down in range(machines):
        rates[down, down + 1] = (machines - down) / run
        rates[down + 1, down] = 1 / service
    rates -= np.diag(rates.sum(axis=1))
    table = np.vstack([rates.T, np.ones(machines + 1)])
    chance = np.linalg.lstsq(table, np.append(np.zeros(machines + 1), 1.0), rcond=None)[0]
    running = float(np.sum(chance * np.arange(machines, -1, -1))) / machines
    return running, float(1 - chance[0])


@pytest.mark.parametrize("machines", [1, 2, 5, 9])
def test_exponential_service_agrees_with_the_balance_of_the_chain(machines: int) -> None:
    running, busy = balanced(machines, 7.0, 46.0)
    got = machine_tending.machine_interference(machines, 7.0, 46.0, "exponential")
    assert got.running == pytest.approx(running)
    assert got.person_busy == pytest.approx(busy)


def simulated(machines: int, service: float, run: float, loads: int) -> float:
    """Loads a minute of machines that run exponential times and are served in order of their calls."""
    generator = np.random.default_rng(11)
    calls = [(float(time), index) for index, time in enumerate(generator.exponential(run, machines))]
    heapq.heapify(calls)
    free = 0.0
    for _ in range(loads):
        call, index = heapq.heappop(calls)
        free = max(free, call) + service
        heapq.heappush(calls, (free + float(generator.exponential(run)), index))
    return loads / free


@pytest.mark.parametrize("machines", [3, 6, 9])
def test_constant_service_agrees_with_simulation(machines: int) -> None:
    """400 000 loads: their number scatters by less than its root, 0.16 %; four times that is allowed."""
    got = machine_tending.machine_interference(machines, 7.0, 46.0)
    assert got.loads_per_minute == pytest.approx(simulated(machines, 7.0, 46.0, 400_000), rel=0.0064)


@pytest.mark.parametrize("service", get_args(machine_tending.Service))
@pytest.mark.parametrize("machines", [1, 4, 12])
def test_time_of_a_machine_is_running_service_and_waiting(
    machines: int, service: machine_tending.Service
) -> None:
    got = machine_tending.machine_interference(machines, 7.0, 46.0, service)
    cycle = 7.0 + 46.0 + got.waiting_minutes
    assert got.running == pytest.approx(46.0 / cycle)
    assert got.loads_per_minute == pytest.approx(machines / cycle)
    assert got.person_busy == pytest.approx(machines * 7.0 / cycle)
    assert got.waiting_minutes >= -1e-9


def test_one_machine_never_waits_and_many_wait_as_if_the_person_never_rested() -> None:
    assert machine_tending.machine_interference(1, 7.0, 46.0).waiting_minutes == pytest.approx(0.0, abs=1e-9)
    crowd = machine_tending.machine_interference(60, 7.0, 46.0)
    assert crowd.person_busy == pytest.approx(1.0, abs=1e-6)
    assert crowd.waiting_minutes == pytest.approx(
        machine_tending.regular_waiting_minutes(60, 7.0, 46.0), rel=1e-6
    )


@given(machines=st.integers(2, 12), service=st.floats(1.0, 20.0), run=st.floats(10.0, 100.0))
def test_irregular_machines_wait_more_than_regular_and_less_with_even_service(
    machines: int, service: float, run: float
) -> None:
    regular = machine_tending.regular_waiting_minutes(machines, service, run)
    constant, exponential = (
        machine_tending.machine_interference(machines, service, run, kind).waiting_minutes
        for kind in get_args(machine_tending.Service)
    )
    assert regular <= constant * (1 + 1e-9) + 1e-9
    assert constant <= exponential * (1 + 1e-9) + 1e-9
