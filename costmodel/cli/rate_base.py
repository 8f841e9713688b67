"""`rates machines`, `rates hours`, `rates currency`."""

from __future__ import annotations

import datetime
from pathlib import Path

from costmodel.calendar_hours import planned_hours
from costmodel.cli.shared import console, print_json, show
from costmodel.errors import InputError, Problem
from costmodel.machine_sheet import machine_sheet
from costmodel.reading import read_rates
from costmodel.reading.rate_folder import read_run_logs
from costmodel.records.rates import Currency, missing_row
from costmodel.reference_rates import as_changes, reference_rate
from costmodel.tables.measured_tables import change_file
from costmodel.tables.rate_tables import machine_table
from costmodel.tables.renderings import to_dict
from costmodel.tables.table import Column, Table, make_table
from costmodel.writing import write_new


def machine_sheets(year: int, log: Path, folder: Path, *, as_json: bool) -> None:
    """Show the sheet of every machine in a run log."""
    rates = read_rates(folder / str(year))
    home = rates.year.home_currency
    logs = read_run_logs(log, home)
    missing = [
        missing_row("machine", it.machine, rates.machines, "machines")
        for it in logs
        if it.machine not in rates.machines
    ]
    if missing:
        raise InputError(Problem(log.name, it.place, it.value, it.expected, it.remedy) for it in missing)
    table = machine_table((machine_sheet(rates, it) for it in logs), home, invented=rates.year.invented)
    _show(table, {}, as_json)


def _show(table: Table, more: dict[str, object], as_json: bool) -> None:
    if as_json:
        print_json({**more, "table": to_dict(table)})
        return
    screen = console()
    show(screen, [table])
    for word, value in more.items():
        screen.print(f"{word.capitalize()}: {value}")


def show_hours(
    year: int,
    country: str,
    region: str,
    shifts: float,
    shift_hours: float,
    utilisation: float,
    closed: list[str],
    *,
    as_json: bool,
) -> None:
    """Show the planned hours of a year and the holidays left out."""
    found = planned_hours(
        year,
        country,
        region=region,
        shifts=shifts,
        hours_per_shift=shift_hours,
        utilisation=utilisation,
        closed=[day_of(text, "--closed") for text in closed],
    )
    rows = [(day.isoformat(), name) for day, name in found.holidays]
    rows += [(day.isoformat(), "closed") for day in found.closed]
    table = make_table(f"Days off in {year}", [Column("day"), Column("why")], sorted(rows))
    more: dict[str, object] = {
        "working days": found.days,
        "hours a year": found.hours,
        "source": found.source,
    }
    _show(table, more, as_json)


def day_of(text: str, option: str) -> datetime.date:
    """A day of the command line."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError as error:
        expected = "a day as ISO 8601, such as 2026-06-15"
        raise InputError([Problem("command line", option, text, expected, "Correct it.")]) from error


def show_currency(
    year: int, until: str, who: str, folder: Path, output: Path | None, *, as_json: bool
) -> None:
    """Show the reference rate of every currency of a year beside the rate it has."""
    rates = read_rates(folder / str(year))
    home, day = rates.year.home_currency, day_of(until, "--until")
    found = [reference_rate(code, home, day) for code in rates.currency]
    rows = [
        (it.currency, f"{rates.currency[it.currency].rate:.6g}", f"{it.rate:.6g}", f"{it.low:.6g} to {it.high:.6g}",
         100.0 * it.yearly_change, it.day.isoformat(), it.source)
        for it in found
    ]  # fmt: skip
    columns = [
        Column("currency"),
        *(Column(word, home) for word in ("in the rates", "reference", "10-90 % of a year")),
    ]
    columns += [Column("sd of a year", "%", "percent"), Column("day"), Column("source")]
    newer = [
        f"{it.currency}: its rate of {rates.currency[it.currency].as_of} is newer than the reference of {it.day}."
        for it in found
        if rates.currency[it.currency].as_of > it.day
    ]
    more: dict[str, object] = {}
    if output is not None:
        changes = [
            change
            for it in found
            for change in as_changes(it, _as_they_are(rates.currency[it.currency], home), who)
        ]
        more["written"] = str(write_new(output, change_file(changes)))
    _show(make_table(f"Reference rates up to {day}", columns, rows, notes=newer), more, as_json)


def _as_they_are(row: Currency, home: str) -> dict[str, str]:
    """Rate and range of a currency as text, to be held against the row when they are replaced."""
    numbers = {"rate": row.rate, "low": row.low, "high": row.high}
    return {word: f"{float(value):.6g} {home}" for word, value in numbers.items() if value is not None}
