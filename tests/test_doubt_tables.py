"""Tables of doubt, time and hours show what the library computed, and their commands say it too."""

from __future__ import annotations

import json

import numpy as np
import pytest
from typer.testing import CliRunner

from costmodel.capacity import MachineHours, StepTaken
from costmodel.cli import app
from costmodel.decision import best_pair
from costmodel.records.study import Study, Tax
from costmodel.returns import after_tax, returns
from costmodel.scenarios import scenario_cases
from costmodel.tables.doubt_tables import (
    returns_table,
    scenarios_table,
    shares_table,
    steps_beyond_table,
)
from costmodel.uncertainty import Estimate
from costmodel.variance_shares import Share, variance_shares

CLAMP = "data/studies/saddle-clamp.toml"


def test_every_scenario_shows_every_alternative(small: Study) -> None:
    cases = scenario_cases(small)
    table = scenarios_table(small, cases)
    assert len(table.rows) == len(small.scenarios) + 1 + (cases.expected is not None)
    shown = dict(zip(small.alternatives, table.rows[0][2:-1], strict=True))
    assert shown == pytest.approx(cases.cases[0].worth)


def test_returns_say_worth_rate_and_both_paybacks(small: Study) -> None:
    start = next(name for name, it in small.alternatives.items() if it.current)
    found = returns(small, start, "make-cuts")
    taxed = after_tax(small, start, "make-cuts", Tax(rate=0.25, method="straight line", years=5))
    without, with_tax = returns_table(small, found, None), returns_table(small, found, taxed)
    assert len(with_tax.rows) == len(without.rows) + 2
    assert any("accountant" in note for note in with_tax.notes)
    assert f"{float(found.simple_months):.1f} months" in without.column("value")


@pytest.mark.parametrize(
    ("goes_out", "comes_back", "said"),
    [
        (0.0, 900.0, "no money goes out"),
        (900.0, 0.0, "no money comes back"),
        (900.0, 800.0, "a loss at any rate"),
        (700.0, 800.0, "a gain at any rate"),
    ],
)
def test_why_there_is_no_rate_of_return_is_said(
    small: Study, goes_out: float, comes_back: float, said: str
) -> None:
    start = next(name for name, it in small.alternatives.items() if it.current)
    found = returns(small, start, "make-cuts")
    none = found._replace(rates=(), goes_out=goes_out, comes_back=comes_back)
    assert f"none: {said}" in returns_table(small, none, None).column("value")


def test_hours_that_nothing_brings_are_shown(small: Study) -> None:
    hours = MachineHours(
        "mill",
        1000.0,
        800.0,
        np.array([83.0]),
        1.0,
        (StepTaken("nights", "Nights", 150.0, 900.0, 0.0),),
        50.0,
    )
    table = steps_beyond_table(small, [hours])
    assert table.column("hours") == (150.0, 50.0)
    assert table.rows[1][3] == "unknown"


def test_the_doubt_command_gives_its_tables_as_json() -> None:
    told = CliRunner().invoke(app, ["doubt", CLAMP, "--draws", "1024", "--json"])
    assert told.exit_code == 0, told.output
    tables = json.loads(told.stdout)["tables"]
    assert set(tables) == {"chances", "scenarios", "knowledge", "shares", "map"}


def test_draws_asked_for_rule_the_shares_too(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    told = CliRunner().invoke(app, ["doubt", CLAMP, "--draws", "64", "--seed", "3", "--json"])
    assert told.exit_code == 0, told.output
    table = shares_table(study, variance_shares(study, *best_pair(study), draws=64, seed=3))
    assert json.loads(told.stdout)["tables"]["shares"]["rows"] == [list(row) for row in table.rows]


def test_the_error_of_both_shares_is_shown(small: Study) -> None:
    shares = [Share("demand.per_year", Estimate(0.4, 0.02), Estimate(0.5, 0.01))]
    table = shares_table(small, shares)
    assert table.rows[0][1:] == pytest.approx((40.0, 2.0, 50.0, 1.0))


@pytest.mark.parametrize(
    ("value", "error", "said"), [(-0.0108, 0.012, "about 0"), (-0.0108, 0.001, -1.08), (0.003, 0.012, 0.3)]
)
def test_a_share_below_nothing_within_its_error_is_about_0(
    small: Study, value: float, error: float, said: float | str
) -> None:
    shares = [Share("demand.per_year", Estimate(value, error), Estimate(0.02, 0.001))]
    table = shares_table(small, shares)
    assert table.rows[0][1] == (said if isinstance(said, str) else pytest.approx(said))
    assert any("below nothing" in note for note in table.notes) == (said == -1.08)


def test_the_hours_command_wants_a_machine_that_a_study_states() -> None:
    told = CliRunner().invoke(app, ["hours", CLAMP, "--machine", "mill-9x"])
    assert told.exit_code == 2
    assert "mill-9x" in told.stderr
    told = CliRunner().invoke(app, ["hours", CLAMP, "--machine", "mill-5x", "--json"])
    assert told.exit_code == 0, told.output
    assert json.loads(told.stdout)["tables"]["hours"]["rows"][0][0] == "saddle-clamp"
