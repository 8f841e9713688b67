"""`cost`: the part by one route."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn, cast

from costmodel.cli.shared import changed_study, console, print_json, show, show_notice
from costmodel.errors import InputError, Problem
from costmodel.formulas.rate_bases import MINUTES_PER_HOUR
from costmodel.machine_rate import idle_hours
from costmodel.make_or_buy import compare
from costmodel.part_cost import PartCost, part_cost
from costmodel.records.study import BASIS_WORDS, RateBasis, Study
from costmodel.tables.decision_tables import flags_table
from costmodel.tables.hour_tables import hour_bases_table, machines_of, rate_table
from costmodel.tables.make_tables import idle_table, minutes_table
from costmodel.tables.part_tables import (
    cost_by_element,
    cost_by_level,
    cost_by_step,
    cuts_table,
    once_table,
    steps_table,
    tools_table,
)
from costmodel.tables.renderings import to_dict
from costmodel.tables.rounding import APART, plain
from costmodel.tables.stamp import stamp, stamp_words
from costmodel.tables.table import Table, single


def run(
    path: Path,
    route: str | None,
    lot: float | None,
    basis: str | None,
    spread_over: float | None,
    changes: list[str],
    scenario: str | None,
    *,
    as_json: bool,
) -> None:
    """Cost the part and show it."""
    study, changed = changed_study(path, changes, scenario)
    chosen = _route(study, route)
    on = cast(RateBasis, basis) if basis is not None else study.finance.basis
    cost = costed(study, chosen, lot, on)
    tables = cost_tables(study, cost, chosen, on, spread_over)
    foot = stamp(study, changed=changed)
    if as_json:
        shown = {name: to_dict(table) for name, table in tables.items()}
        print_json({"stamp": foot, "route": chosen, "basis": on, "tables": shown})
        return
    screen = console()
    show_notice(screen, study, changed)
    others = [name for name in study.part.routes if name != chosen]
    screen.print(
        f"{study.part.title}, revision {study.part.revision}, by route {chosen}, "
        f"machine hours {BASIS_WORDS[on]}."
        + (f" Other routes: {', '.join(others)}." if others and route is None else "")
    )
    screen.print()
    show(screen, tables.values())
    screen.print(stamp_words(foot))


def costed(study: Study, route: str, lot: float | None, basis: RateBasis) -> PartCost:
    """The cost of the study's part by a route, in the study's lot or another."""
    return part_cost(
        study.part,
        study.part.routes[route],
        study.rates,
        lot=lot if lot is not None else _lot(study, route),
        per_year=study.demand.per_year,
        basis=basis,
        contributions={name: hours.contribution for name, hours in study.capacity.items()},
    )


def cost_tables(
    study: Study, cost: PartCost, route: str, basis: RateBasis, spread_over: float | None
) -> dict[str, Table]:
    """Every table of a part by one route."""
    machines = machines_of(study, route)
    return {
        "by-step": cost_by_step(study, cost),
        "by-element": cost_by_element(study, cost),
        "by-level": cost_by_level(study, cost),
        "once": once_table(study, cost, spread_over),
        "steps": steps_table(study, cost, route),
        "minutes": minutes_table(study, cost),
        "tools": tools_table(study, cost),
        "cuts": cuts_table(study, cost),
        "rate": rate_table(study, machines, basis),
        "rate-bases": hour_bases_table(study, machines),
        **idle_tables(study, cost, machines),
        "flags": flags_table(study, cost.flags),
    }


def idle_tables(study: Study, cost: PartCost, machines: Iterable[str]) -> dict[str, Table]:
    """Hours that the machines would still have idle with this part on them; none where free hours are not stated."""
    rows = []
    for name in machines:
        if name in study.capacity:
            machine = study.rates.machines[name]
            needed = cost.minutes_per_part("machine", name) * cost.rhythm.per_year / MINUTES_PER_HOUR
            other = machine.practical_hours - study.capacity[name].free_hours
            rows.append(idle_hours(machine, study.rates, other + needed))
    return {"idle": idle_table(study, rows)} if rows else {}


def _route(study: Study, wanted: str | None) -> str:
    routes = list(study.part.routes)
    if wanted is not None:
        if wanted not in routes:
            near = difflib.get_close_matches(wanted, routes, n=1)
            _refuse(
                "--route",
                wanted,
                f"a route of {study.part.name}: {', '.join(routes)}",
                f'Did you mean "{near[0]}"?' if near else "Choose one of these.",
            )
        return wanted
    making = [name for name, alternative in study.alternatives.items() if alternative.make]
    if not making:
        if not routes:
            _refuse("routes", "", "a route by which the part is made", "Add one to the part's file.")
        return routes[0]
    comparison = compare(study, names=making)
    return study.alternatives[min(making, key=lambda name: single(comparison.worth[name]))].make


def _lot(study: Study, route: str) -> float:
    for alternative in study.alternatives.values():
        if alternative.make == route:
            if alternative.lot is not None:
                return single(alternative.lot)
            if alternative.orders_per_year is not None:
                return single(study.demand.per_year / alternative.orders_per_year)
    remedy = f"State it, such as --lot {plain(200, 0).replace(APART, '')}."
    _refuse("--lot", "", f"a lot, since no alternative of the study makes by {route}", remedy)


def _refuse(place: str, value: str, expected: str, remedy: str) -> NoReturn:
    raise InputError([Problem("command line", place, value, expected, remedy)])
