"""`doubt` and `hours`: what the answer rests on, and which parts deserve the hours there are."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np

from costmodel.cli.shared import changed_study, tell_tables
from costmodel.crossings import VOLUME
from costmodel.decision import best_pair, volume_range
from costmodel.information import value_of_information
from costmodel.records.study import Study
from costmodel.scarce_hours import hours_for
from costmodel.scenarios import scenario_cases
from costmodel.sensitivity import swings
from costmodel.tables.doubt_tables import (
    awards_table,
    chances_table,
    knowing_table,
    scenarios_table,
    shares_table,
    steps_beyond_table,
    together_table,
    verdict_map_table,
)
from costmodel.tables.stamp import stamp
from costmodel.tables.table import Table
from costmodel.uncertainty import outcome, sample
from costmodel.variance_shares import variance_shares
from costmodel.verdict_map import verdict_map

MAP_SIZE = 6


def run_doubt(
    path: Path, draws: int, seed: int, changes: list[str], scenario: str | None, *, as_json: bool
) -> None:
    """Draw, and show what the doubt about the answer comes from and what knowing more would be worth."""
    study, changed = changed_study(path, changes, scenario)
    make, buy = best_pair(study)
    drawn = sample(study, draws=draws, seed=seed)
    said = outcome(drawn, make, buy)
    tables = {
        "chances": chances_table(study, said),
        "scenarios": scenarios_table(study, scenario_cases(study)),
        "knowledge": knowing_table(study, value_of_information(drawn)),
        "shares": shares_table(study, variance_shares(study, make, buy, draws=draws, seed=seed)),
        **_map(study, make, buy),
    }
    tell_tables(study, tables, changed, stamp(study, said, changed), as_json=as_json)


def _map(study: Study, make: str, buy: str) -> dict[str, Table]:
    """The map over volume and the input that moves the answer most besides it."""
    moving = next((it for it in swings(study, make, buy) if it.address != VOLUME and it.low < it.high), None)
    if moving is None:
        return {}
    low, high = volume_range(study)
    volumes = [float(round(volume)) for volume in np.geomspace(low, high, MAP_SIZE)]
    values = [float(value) for value in np.linspace(moving.low, moving.high, MAP_SIZE)]
    return {"map": verdict_map_table(study, verdict_map(study, moving.address, values, volumes))}


def run_hours(paths: Iterable[Path], machine: str, *, whole: bool, as_json: bool) -> None:
    """Give the scarce hours of a machine to the parts that save most by them."""
    studies = [changed_study(path, [], None)[0] for path in paths]
    found = hours_for(studies, machine, whole=whole)
    first = studies[0]
    tables = {
        "hours": awards_table(first, found),
        "together": together_table(first, found),
        "beyond": steps_beyond_table(first, [found.together]),
    }
    tell_tables(first, tables, [], stamp(first), as_json=as_json)
