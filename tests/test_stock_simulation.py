"""The daily simulation against exact results for simple demands, and against closed forms it is to correct."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, lognorm, norm, poisson

from costmodel.errors import LimitError
from costmodel.formulas.inventory import fill_rate, lead_time_demand
from costmodel.formulas.stock_simulation import simulate_stock, simulated_reorder_point

ERRORS = 4.0
LEAD = 10


def constant(value: float):
    return lambda generator, count: np.full(count, value)


def bernoulli(chance: float):
    return lambda generator, count: generator.binomial(1, chance, count).astype(float)


def poisson_demand(mean: float):
    return lambda generator, count: generator.poisson(mean, count).astype(float)


def test_one_demand_at_a_time_agrees_with_exact_results() -> None:
    """The position is uniform over r + 1 .. r + Q; the stock after a lead time is it less that time's demand."""
    chance, point, order = 0.4, 4, 6
    run = simulate_stock(
        np.random.default_rng(1),
        bernoulli(chance),
        constant(LEAD),
        reorder_point=point,
        order_quantity=order,
        days=2000,
        draws=200,
    )
    positions = np.arange(point + 1, point + order + 1)[:, None]
    demand = np.arange(LEAD + 1)
    during = binom.pmf(demand, LEAD, chance)
    stock = np.mean(np.maximum(positions - demand, 0) @ during)
    owed = np.mean(np.maximum(demand - positions, 0) @ during)
    owed_before = np.mean(np.maximum(demand - positions, 0) @ binom.pmf(demand, LEAD - 1, chance))
    short_days = np.mean(binom.sf(positions, LEAD, chance))
    assert run.average_stock == pytest.approx(stock, abs=ERRORS * run.average_stock_error)
    assert run.average_owed == pytest.approx(owed, abs=ERRORS * run.average_owed_error)
    assert run.fill_rate == pytest.approx(1 - (owed - owed_before) / chance, abs=ERRORS * run.fill_rate_error)
    assert run.stockout_days == pytest.approx(short_days, abs=ERRORS * run.stockout_days_error)
    service = binom.cdf(point, LEAD - 1, chance)
    assert run.cycle_service == pytest.approx(service, abs=ERRORS * run.cycle_service_error)
    assert max(run.fill_rate_error, run.cycle_service_error) < 0.003


def test_several_outstanding_orders_agree_with_exact_results() -> None:
    mean, point, order = 3.0, 33, 8
    run = simulate_stock(
        np.random.default_rng(2),
        poisson_demand(mean),
        constant(LEAD),
        reorder_point=point,
        order_quantity=order,
        days=1500,
        draws=200,
    )
    positions = np.arange(point + 1, point + order + 1)[:, None]
    demand = np.arange(120)
    owed = np.mean(np.maximum(demand - positions, 0) @ poisson.pmf(demand, mean * LEAD))
    owed_before = np.mean(np.maximum(demand - positions, 0) @ poisson.pmf(demand, mean * (LEAD - 1)))
    stock = np.mean(np.maximum(positions - demand, 0) @ poisson.pmf(demand, mean * LEAD))
    assert run.average_stock == pytest.approx(stock, abs=ERRORS * run.average_stock_error)
    assert run.fill_rate == pytest.approx(1 - (owed - owed_before) / mean, abs=ERRORS * run.fill_rate_error)


def test_lost_demand_agrees_with_a_renewal_argument() -> None:
    """One part in stock, reordered when sold: each sale is followed by L - 1 days without stock."""
    chance = 0.3
    run = simulate_stock(
        np.random.default_rng(3),
        bernoulli(chance),
        constant(LEAD),
        reorder_point=0.0,
        order_quantity=1.0,
        days=3000,
        draws=200,
        unmet="lost",
    )
    expected = 1.0 / (1.0 + (LEAD - 1) * chance)
    assert run.fill_rate == pytest.approx(expected, abs=ERRORS * run.fill_rate_error)
    assert run.average_owed == 0.0


def test_a_benign_case_confirms_the_closed_form() -> None:
    """Many demands, steady lead time, large orders: the normal formulas hold within the simulation's error."""
    run = simulate_stock(
        np.random.default_rng(4),
        poisson_demand(100.0),
        constant(20),
        reorder_point=2000.0,
        order_quantity=6000.0,
        days=4000,
        draws=256,
    )
    # Orders are placed half a day's demand below the reorder point and arrive before the last day's demand.
    demand = lead_time_demand(100.0, 10.0, 19.0, 0.0)
    stock = 2000.0 - demand.mean - 50.0
    closed = fill_rate(stock, float(np.hypot(demand.spread, 100.0 / np.sqrt(12.0))), 6000.0)
    assert run.fill_rate == pytest.approx(closed, abs=ERRORS * run.fill_rate_error + 5e-5)


SPREAD, MEDIAN = 0.5, 30.0


def skewed(generator: np.random.Generator, count: int) -> np.ndarray:
    return MEDIAN * np.exp(SPREAD * generator.standard_normal(count))


def normal_point(service: float) -> float:
    """Reorder point that the normal law gives for ten parts a day and the moments of the skewed lead time."""
    law = lognorm(SPREAD, scale=MEDIAN)
    demand = lead_time_demand(10.0, 0.0, law.mean() - 1.0, law.std())
    return float(np.round(demand.mean + norm.ppf(service) * demand.spread, -1))


def test_skewed_lead_times_give_less_service_than_the_normal_law_promises() -> None:
    point = normal_point(0.99)
    run = simulate_stock(
        np.random.default_rng(5),
        constant(10.0),
        skewed,
        reorder_point=point,
        order_quantity=3000.0,
        days=20_000,
        draws=100,
    )
    exact = lognorm.cdf(point / 10.0 + 1.5, SPREAD, scale=MEDIAN)  # whole days, the last one not waited for
    assert run.cycle_service == pytest.approx(exact, abs=ERRORS * run.cycle_service_error)
    assert run.cycle_service < 0.99 - ERRORS * run.cycle_service_error


@pytest.mark.slow
def test_the_corrected_reorder_point_gives_the_service_wanted() -> None:
    generator = np.random.default_rng(6)
    state = generator.bit_generator.state
    corrected = simulated_reorder_point(
        generator,
        constant(10.0),
        skewed,
        wanted=0.95,
        measure="cycle_service",
        order_quantity=3000.0,
        closed_form=normal_point(0.95),
        spread=160.0,
        days=4000,
        draws=60,
    )
    assert generator.bit_generator.state == state
    cycles = 4000 * 10.0 / 3000.0 * 60
    margin = ERRORS * np.sqrt(0.95 * 0.05 / cycles)
    low, high = (
        10.0 * (lognorm.ppf(share, SPREAD, scale=MEDIAN) - 2.5) for share in (0.95 - margin, 0.95 + margin)
    )
    assert low < corrected < high + 20.0


def test_a_higher_fill_rate_needs_a_higher_reorder_point() -> None:
    points = [
        simulated_reorder_point(
            np.random.default_rng(7),
            poisson_demand(3.0),
            constant(LEAD),
            wanted=wanted,
            measure="fill_rate",
            order_quantity=20.0,
            closed_form=30.0,
            spread=5.5,
            days=300,
            draws=40,
            run_in=50,
        )
        for wanted in (0.9, 0.99)
    ]
    assert points[0] < points[1]


def run(**changes):
    arguments = {
        "generator": np.random.default_rng(8),
        "daily_demand": poisson_demand(3.0),
        "lead_time": constant(LEAD),
        "reorder_point": 30.0,
        "order_quantity": 20.0,
        "days": 40,
        "run_in": 10,
        "draws": 20,
    }
    return simulate_stock(**arguments | changes)


def test_one_seed_gives_the_same_numbers_twice() -> None:
    assert run() == run()
    assert run() != run(generator=np.random.default_rng(9))


def test_the_standard_error_is_the_spread_of_repeated_runs() -> None:
    runs = [run(generator=np.random.default_rng(seed), days=100) for seed in range(150)]
    for figure, error in (("fill_rate", "fill_rate_error"), ("average_stock", "average_stock_error")):
        spread = np.std([getattr(one, figure) for one in runs])
        assert np.mean([getattr(one, error) for one in runs]) == pytest.approx(spread, rel=0.2)


def test_enough_stock_is_never_short() -> None:
    full = run(reorder_point=500.0)
    assert (full.fill_rate, full.cycle_service, full.stockout_days, full.average_owed) == (1.0, 1.0, 0.0, 0.0)


def test_no_demand_has_no_service_to_speak_of() -> None:
    idle = run(daily_demand=constant(0.0))
    assert np.isnan(idle.fill_rate)
    assert np.isnan(idle.cycle_service)
    assert idle.average_stock == 50.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"order_quantity": 0.0},
        {"reorder_point": -21.0},
        {"reorder_point": float("nan")},
        {"days": 0},
        {"run_in": -1},
        {"draws": 1},
        {"unmet": "waiting"},
        {"daily_demand": constant(-1.0)},
        {"lead_time": constant(-1.0)},
        {"lead_time": constant(float("nan"))},
        {"lead_time": constant(1e6)},
    ],
)
def test_wrong_arguments_are_refused(wrong: dict) -> None:
    with pytest.raises(LimitError):
        run(**wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"wanted": 1.0},
        {"wanted": 0.0},
        {"measure": "service"},
        {"closed_form": -1.0},
        {"spread": 0.0},
        {"order_quantity": 0.0},
        {"wanted": 0.999999, "closed_form": 0.0, "spread": 0.01},
    ],
)
def test_wrong_searches_are_refused(wrong: dict) -> None:
    right = {
        "wanted": 0.9,
        "measure": "fill_rate",
        "order_quantity": 20.0,
        "closed_form": 30.0,
        "spread": 5.5,
    }
    with pytest.raises(LimitError):
        simulated_reorder_point(
            np.random.default_rng(8),
            poisson_demand(3.0),
            constant(LEAD),
            days=40,
            run_in=10,
            draws=20,
            **right | wrong,
        )
