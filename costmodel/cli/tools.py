"""`tools`: rules of changing tools, feeds and runs without a person, priced by the model."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

from costmodel.cli.shared import changed_study, console, print_json, show, show_notice
from costmodel.errors import InputError, Problem
from costmodel.make_or_buy import compare
from costmodel.records.route import MachineStep
from costmodel.records.study import Study
from costmodel.tables.make_tables import feeds_table, night_table, risks_table, settings_table
from costmodel.tables.renderings import to_dict
from costmodel.tables.stamp import stamp, stamp_words
from costmodel.tables.table import Table, single
from costmodel.tool_policy import night, route_of, tool_risks
from costmodel.tool_settings import brisk_feed, longest_cuts, setting_curves


def run(
    path: Path,
    name: str | None,
    cuts: list[str],
    times: float,
    nights: float,
    changes: list[str],
    scenario: str | None,
    *,
    as_json: bool,
) -> None:
    """Price and show."""
    study, changed = changed_study(path, changes, scenario)
    chosen = name if name is not None else _cheapest_made(study)
    tables = tool_tables(study, chosen, cuts, times, nights)
    foot = stamp(study, changed=changed)
    if as_json:
        shown = {key: to_dict(table) for key, table in tables.items()}
        print_json({"stamp": foot, "alternative": chosen, "tables": shown})
        return
    screen = console()
    show_notice(screen, study, changed)
    screen.print(f"{study.part.title}: {study.alternatives[chosen].title}.")
    screen.print()
    show(screen, tables.values())
    screen.print(stamp_words(foot))


def tool_tables(
    study: Study, name: str, cuts: Iterable[str], times: float, nights: float
) -> dict[str, Table]:
    """Rules of change, raised feeds, the cheapest settings, and runs without a person where the route has any."""
    places = [_place(text) for text in cuts] or longest_cuts(study, name)
    tables = {
        "rules": risks_table(study, tool_risks(study, name)),
        "feeds": feeds_table(study, [brisk_feed(study, name, step, cut, times) for step, cut in places]),
        "settings": settings_table(study, setting_curves(study, name, places)),
    }
    alone = [
        (step.name, night(study, name, step.name, step.unattended_loads, nights))
        for step in route_of(study, name).steps.values()
        if isinstance(step, MachineStep) and step.unattended_loads > 1
    ]
    return {**tables, "alone": night_table(study, alone)} if alone else tables


def _cheapest_made(study: Study) -> str:
    making = [name for name, alternative in study.alternatives.items() if alternative.make]
    if not making:
        _refuse("--alternative", "", "an alternative that is made", "This study makes by no route.")
    comparison = compare(study, names=making)
    return min(making, key=lambda name: single(comparison.worth[name]))


def _place(text: str) -> tuple[str, str]:
    step, dot, cut = text.partition(".")
    if not dot or not step or not cut:
        _refuse("--cut", text, "step.cut, such as five-sides.drill-clamp-bolt", "Name both.")
    return step, cut


def _refuse(place: str, value: str, expected: str, remedy: str) -> NoReturn:
    raise InputError([Problem("command line", place, value, expected, remedy)])
