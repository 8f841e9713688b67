"""`rates new`, `rates compare`, `rates seal`."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from pathlib import Path
from typing import cast, get_args

from costmodel.cautions import INVENTED_WORDS
from costmodel.cli.shared import console, print_json, show
from costmodel.errors import InputError, Problem
from costmodel.formulas.bridge import SplitMethod
from costmodel.rate_compare import (
    StudyEffect,
    held_decisions,
    open_studies,
    rate_differences,
    year_effects,
)
from costmodel.rate_update import confirm_text, log_rows, log_text, new_year, sheet_texts
from costmodel.reading import read_rates, read_studies
from costmodel.reading.rate_folder import read_changes, read_observations, read_rate_sheets, seal_text
from costmodel.records.rate_sheet import CHANGE_LOG, SEAL, TO_CONFIRM, YEAR_FILE
from costmodel.tables.rate_tables import (
    bridges_table,
    confirm_table,
    differences_table,
    escalation_table,
    held_table,
    update_table,
    verdicts_table,
)
from costmodel.tables.renderings import to_dict
from costmodel.tables.table import Table
from costmodel.writing import recover_folder, write_folder, write_whole

OBSERVATIONS = "index_observations.csv"


def today() -> str:
    """This day, as ISO 8601."""
    return datetime.datetime.now(tz=datetime.UTC).date().isoformat()


def make(
    year: int,
    start: int,
    folder: Path,
    indices: Path | None,
    until: str,
    replace: Path | None,
    who: str,
    why: str,
    *,
    as_json: bool,
) -> None:
    """Make a year and show what became of its rows."""
    if year <= start:
        expected, remedy = f"a year after {start}", "Name a later one: indices escalate forward."
        raise InputError([Problem("command line", "YEAR", str(year), expected, remedy)])
    old = folder / str(start)
    recover_folder(old)
    rates = read_rates(old)
    update = new_year(
        read_rate_sheets(old),
        year,
        read_observations(indices or folder / OBSERVATIONS),
        until=until,
        replacements=read_changes(replace) if replace else (),
    )
    files = {
        YEAR_FILE: update.sheets.year_text,
        **sheet_texts(update.sheets),
        CHANGE_LOG: log_text("", log_rows(update, today(), who, f"{why} (from {start})")),
        TO_CONFIRM: confirm_text(update),
    }
    written = write_folder(folder / str(year), files, check=read_rates)
    tables = {
        "rows": update_table(update, year),
        "escalated": escalation_table(update),
        "to-confirm": confirm_table(update),
    }
    _show(tables, rates.year.invented, as_json, {"written": str(written)})


def _show(tables: dict[str, Table], invented: bool, as_json: bool, more: dict[str, object]) -> None:
    if as_json:
        notice = INVENTED_WORDS if invented else ""
        print_json(
            {**more, "notice": notice, "tables": {name: to_dict(table) for name, table in tables.items()}}
        )
        return
    screen = console()
    if invented:
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    show(screen, tables.values())
    for word, value in more.items():
        screen.print(f"{word.capitalize()}: {value}", style="bold")


def show_effects(
    before: int,
    after: int,
    folder: Path,
    studies: Path,
    method: str,
    charts: Path | None,
    draws: int,
    *,
    decided: bool,
    as_json: bool,
) -> None:
    """Compare two years on every open study of a folder; the decided ones are held by their own year's rates."""
    if method not in get_args(SplitMethod):
        expected = ", ".join(get_args(SplitMethod))
        raise InputError([Problem("command line", "--method", method, expected, "Choose one of these.")])
    old, new = (read_rates(folder / str(year)) for year in (before, after))
    every = read_studies(studies)
    split = cast("SplitMethod", method)
    effects = year_effects(every if decided else open_studies(every), old, new, method=split, draws=draws)
    held = held_decisions(every, draws=draws)
    invented = old.year.invented or new.year.invented
    tables = {"differences": differences_table(rate_differences(old, new), before, after, invented)}
    for effect in effects:
        unit = f"{effect.study}: cost of a part, {before} to {after}"
        tables[f"{effect.study}-by-cause"] = bridges_table(
            effect.by_cause.values(), f"{unit}, by cause", every=True, invented=invented
        )
        tables[f"{effect.study}-by-table"] = bridges_table(
            effect.by_table.values(), f"{unit}, by table", invented=invented
        )
    tables |= {"decided": held_table(held)} if held else {}
    tables["verdicts"] = verdicts_table(effects, before, after)
    changed = [effect.study for effect in effects if effect.changes]
    more: dict[str, object] = {"verdicts that change": ", ".join(changed) or "none"}
    if charts is not None:
        more["charts"] = f"{write_charts(effects, charts)} written to {charts.resolve()}"
    _show(tables, invented, as_json, more)


def write_charts(effects: Iterable[StudyEffect], folder: Path) -> int:
    """Write the bridge of every alternative as SVG and its figures as CSV; how many."""
    from costmodel.charts.bridges import bridge_chart
    from costmodel.charts.style import svg
    from costmodel.review_curves import year_steps
    from costmodel.tables.renderings import to_csv

    folder.mkdir(parents=True, exist_ok=True)
    count = 0
    for effect in effects:
        study = effect.before.study
        for name, bridge in effect.by_cause.items():
            title = study.alternatives[name].title
            stem = folder / f"{effect.study}-{name}"
            write_whole(stem.with_suffix(".svg"), svg(bridge_chart(year_steps(effect, name))))
            table = bridges_table([bridge], title, every=True, invented=study.invented)
            write_whole(stem.with_suffix(".csv"), to_csv(table))
            count += 1
    return count


def seal_year(year: int, folder: Path, *, as_json: bool) -> None:
    """Write the seal of a year, after reading it."""
    target = folder / str(year)
    read_rates(target)
    written = write_whole(target / SEAL, seal_text(target))
    if as_json:
        print_json({"written": str(written)})
    else:
        console().print(
            f"Sealed: {written}. Any later change of this year is found and named when it is read."
        )
