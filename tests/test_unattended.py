"""Running without a person: the night against simulation and by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import unattended


def enumerated(loads: int, chance: float, detection: float) -> tuple[float, float, float]:
    """Loads spoilt, loads good and chance of any failure, over every course the night can take."""
    spoilt = good = any_failure = 0.0
    for course in itertools.product((False, True), repeat=2 * loads):
        fails, seen = course[:loads], course[loads:]
        weight = float(np.prod([chance if x else 1 - chance for x in fails]))
        weight *= float(np.prod([detection if x else 1 - detection for x in seen]))
        broken, stopped, bad, fine = False, False, 0, 0
        for failed, noticed in zip(fails, seen, strict=True):
            if stopped:
                break
            broken = broken or failed
            bad, fine = bad + broken, fine + (not broken)
            stopped = broken and noticed
        spoilt += weight * bad
        good += weight * fine
        any_failure += weight * (bad > 0)
    return spoilt, good, any_failure


@pytest.mark.parametrize("detection", [0.0, 0.4, 1.0])
def test_a_night_agrees_with_every_course_it_can_take(detection: float) -> None:
    spoilt, good, any_failure = enumerated(5, 0.15, detection)
    run = unattended.unattended_run(5, 4.0, 47.5, 0.15, detection)
    assert run.expected_scrap == pytest.approx(4 * spoilt)
    assert run.expected_good == pytest.approx(4 * good)
    assert run.failure_chance == pytest.approx(any_failure)
    assert run.scrap_per_failure == pytest.approx(4 * spoilt / any_failure)
    assert run.lost_share == pytest.approx(spoilt / (spoilt + good))


def test_night_of_the_requirements() -> None:
    """Acceptance example S4 (invented): 6 loads of 4 at 47.5 min, 0.4 % a load, 230 nights, 22.00 a part."""
    blind, watched = (unattended.unattended_run(6, 4.0, 47.5, 0.004, detection) for detection in (0.0, 1.0))
    assert blind.parts == 24.0
    assert blind.minutes / 60 == pytest.approx(4.75)
    assert blind.failure_chance == pytest.approx(0.024, abs=5e-4)
    assert blind.expected_scrap == pytest.approx(0.334, abs=5e-4)
    assert watched.expected_scrap == pytest.approx(0.095, abs=5e-4)
    yearly = [unattended.scrap_cost_per_year(run.expected_scrap, 230.0, 22.0) for run in (blind, watched)]
    assert yearly == pytest.approx([1689.0, 481.0], abs=0.5)


def test_a_sure_night_spoils_nothing() -> None:
    run = unattended.unattended_run(6, 4.0, 47.5, 0.0)
    assert (run.expected_scrap, run.expected_good, run.scrap_per_failure) == (0.0, 24.0, 0.0)


def test_a_sure_failure_spoils_everything_unless_it_is_seen() -> None:
    assert unattended.unattended_run(6, 4.0, 47.5, 1.0).expected_scrap == 24.0
    assert unattended.unattended_run(6, 4.0, 47.5, 1.0, 1.0).expected_scrap == 4.0


@given(chance=st.floats(0.0, 1.0), detection=st.floats(0.0, 1.0), loads=st.integers(1, 40))
def test_detection_saves_blanks_but_no_output(chance: float, detection: float, loads: int) -> None:
    blind, watched = (unattended.unattended_run(loads, 4.0, 47.5, chance, it) for it in (0.0, detection))
    assert watched.expected_good == pytest.approx(blind.expected_good)
    assert watched.expected_scrap <= blind.expected_scrap + 1e-12
    assert blind.expected_good + blind.expected_scrap == pytest.approx(blind.parts)


def test_loads_by_morning_are_whole_and_ready() -> None:
    assert unattended.loads_by_morning(8 * 60.0, 47.5) == 10.0
    assert unattended.loads_by_morning(6 * 47.5, 47.5) == 6.0
    assert unattended.loads_by_morning(8 * 60.0, 47.5, 6.0) == 6.0


def test_price_of_careful_settings() -> None:
    """Acceptance example S6 (invented): 46 against 37 min a load of 4, at 16/h and 80/h, 4,000 parts a year."""
    cheap, dear = (unattended.setting_price(46.0, 37.0, 4.0, rate / 60, 4000.0) for rate in (16.0, 80.0))
    assert cheap.minutes_per_part == 2.25
    assert cheap.cost_per_part == pytest.approx(0.60)
    assert dear.cost_per_part == pytest.approx(3.00)
    assert dear.minutes_per_year / 60 == pytest.approx(150.0)


def test_a_careful_setting_that_is_quicker_is_refused() -> None:
    with pytest.raises(LimitError, match="careful_minutes"):
        unattended.setting_price(36.0, 37.0, 4.0, 1.0, 4000.0)
