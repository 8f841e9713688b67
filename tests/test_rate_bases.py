"""Four bases of a machine-hour rate, and what idle hours cost."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.formulas import rate_bases


def test_one_part_under_four_bases() -> None:
    cash = rate_bases.cash_rate(16.0, 0.0, 1500.0)
    rates = np.array(
        [
            rate_bases.full_rate(96000.0, 2400.0, 16.0),
            rate_bases.full_rate(96000.0, 1500.0, 16.0),
            cash,
            rate_bases.cash_plus_displaced_rate(cash, 70.0),
        ]
    )
    part = 14.0 + rate_bases.machine_charge(12.0, rates)
    assert part == pytest.approx([25.20, 30.00, 17.20, 31.20], abs=1e-12)
    assert list(part < 28.0) == [True, False, True, False]


def test_an_avoidable_cost_raises_the_cash_rate() -> None:
    assert rate_bases.cash_rate(16.0, 3000.0, 1500.0) == 18.0


def test_idle_cost_is_a_line_of_the_year() -> None:
    assert rate_bases.idle_cost(96000.0, 2400.0, 1500.0) == pytest.approx(36000.0)
    assert rate_bases.idle_cost(96000.0, 2400.0, 2400.0) == 0.0
    assert rate_bases.idle_cost(96000.0, 2400.0, 2600.0) == pytest.approx(-8000.0)


@pytest.mark.parametrize("used", [0.0, 900.0, 2400.0, 3000.0])
def test_fixed_cost_is_either_on_parts_or_idle(used: float) -> None:
    on_parts = rate_bases.full_rate(96000.0, 2400.0, 0.0) * used
    assert on_parts + rate_bases.idle_cost(96000.0, 2400.0, used) == pytest.approx(96000.0)


def test_under_absorbed_cost_is_the_idle_cost() -> None:
    rate = rate_bases.full_rate(96000.0, 2400.0, 16.0)
    actual = 96000.0 + 16.0 * 1500.0
    assert rate_bases.over_absorbed(rate, 1500.0, actual) == pytest.approx(-36000.0)
    assert rate_bases.over_absorbed(rate, 2500.0, 96000.0 + 16.0 * 2500.0) > 0.0


def test_running_hours_and_overhead() -> None:
    assert rate_bases.running_hours(250.0, 2.0, 8.0, 0.9) == pytest.approx(3600.0)
    assert rate_bases.rate_with_overhead(40.0, 0.25) == 50.0
    assert rate_bases.overhead_rate(250000.0, 100000.0) == 2.5


def test_an_hour_has_sixty_minutes() -> None:
    assert rate_bases.machine_charge(60.0, 42.0) == 42.0
