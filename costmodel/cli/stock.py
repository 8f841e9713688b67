"""`supply`, `switch`, `drawing-change`: having parts when they are needed, and what can happen to that."""

from __future__ import annotations

from pathlib import Path

from costmodel.cli.shared import changed_study, tell_tables
from costmodel.disruption import bridge, drawing_change
from costmodel.errors import InputError, Problem
from costmodel.make_or_buy import compare, current_name
from costmodel.records.study import Study
from costmodel.stock_check import check_stock
from costmodel.tables.part_tables import currency_of
from costmodel.tables.source_tables import stock_check_table
from costmodel.tables.stamp import stamp
from costmodel.tables.supply_tables import (
    bridge_table,
    drawing_change_table,
    second_source_table,
    stock_table,
    stops_table,
)
from costmodel.units import UnitError, quantity


def show_supply(
    path: Path, changes: list[str], scenario: str | None, *, simulate: bool, blind: bool, as_json: bool
) -> None:
    """Stock, stops and second sources of every alternative."""
    study, changed = changed_study(path, changes, scenario, blind=blind)
    comparison = compare(study)
    tables = {
        "stock": stock_table(comparison),
        "stops": stops_table(comparison),
        "second-sources": second_source_table(comparison),
    }
    single_sources = [name for name, way in study.alternatives.items() if not way.shares]
    for name in single_sources if simulate else ():
        tables[f"day-by-day-{name}"] = stock_check_table(study, check_stock(study, name))
    tell_tables(study, tables, changed, stamp(study, changed=changed), as_json=as_json)


def show_switch(
    path: Path,
    start: str | None,
    to: str,
    ramp: float,
    margin: float,
    begins: float | None,
    stock: dict[str, float],
    changes: list[str],
    scenario: str | None,
    *,
    as_json: bool,
) -> None:
    """The bridge from one source to another."""
    study, changed = changed_study(path, changes, scenario)
    old = start or current_name(study)
    for option, name in (("--from", old), ("ALTERNATIVE", to)):
        _known(study, option, name)
    if to == old:
        remedy = "Name the way it will be got, or --from another one."
        raise InputError(
            [Problem("command line", "ALTERNATIVE", to, "another way than the one left", remedy)]
        )
    if study.alternatives[old].shares:
        raise InputError(
            [
                Problem(
                    "command line",
                    "--from",
                    old,
                    "a way from one source, not a split",
                    "Name one of its ways.",
                )
            ]
        )
    if ramp + margin <= 0.0:
        raise InputError(
            [
                Problem(
                    "command line", "--ramp", f"{ramp:g}", "some weeks to bridge", "Say --ramp 5 --margin 3."
                )
            ]
        )
    plan = bridge(study, old, ramp_weeks=ramp, margin_weeks=margin, weeks_until=begins, **stock)
    tables = {"switch": bridge_table(study, old, to, plan, ramp, margin)}
    tell_tables(study, tables, changed, stamp(study, changed=changed), as_json=as_json)


def show_drawing_change(
    path: Path,
    names: list[str],
    unusable: str,
    recovered: str,
    changes: list[str],
    scenario: str | None,
    *,
    as_json: bool,
) -> None:
    """What a change of the drawing costs in stock."""
    study, changed = changed_study(path, changes, scenario)
    for name in names:
        _known(study, "ALTERNATIVE", name)
    home = currency_of(study)
    share = _quantity("--unusable", unusable, "fraction", home)
    back = _quantity("--recovered", recovered, "money/part", home) if recovered else 0.0
    if not 0.0 <= share <= 1.0:
        raise InputError(
            [Problem("command line", "--unusable", unusable, "0 to 100 %", "Say --unusable '60 %'.")]
        )
    found = [
        (name, drawing_change(study, name, unusable=share, recovered=back))
        for name in names or study.alternatives
    ]
    tables = {"drawing-change": drawing_change_table(study, found, share)}
    tell_tables(study, tables, changed, stamp(study, changed=changed), as_json=as_json)


def _known(study: Study, option: str, name: str) -> None:
    if name not in study.alternatives:
        expected = f"one of {', '.join(study.alternatives)}"
        raise InputError(
            [Problem("command line", option, name, expected, "Name an alternative of the study.")]
        )


def _quantity(option: str, text: str, unit: str, home: str) -> float:
    try:
        return quantity(text, unit, home)
    except UnitError as error:
        raise InputError([Problem("command line", option, text, error.expected, error.remedy)]) from error
