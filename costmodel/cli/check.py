"""`check`: what was understood of each file, or every problem in it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Literal

import typer

from costmodel.cautions import INVENTED
from costmodel.cli.faults import BAD_INPUT, problem_of, tell
from costmodel.cli.shared import print_json, print_text, screen_width
from costmodel.errors import InputError, Problem
from costmodel.reading import check_quotes, read_part, read_rates, read_study
from costmodel.reading.quotes import QuoteReading, Reading
from costmodel.records.fields import Named
from costmodel.records.part import Part
from costmodel.records.quote import Quote
from costmodel.records.rates import Rates, outside_own_range
from costmodel.records.rates import rate_tables as rates_tables
from costmodel.records.route import MachineStep
from costmodel.records.study import Study
from costmodel.register import freshness_flags, register
from costmodel.tables.renderings import to_dict, to_text
from costmodel.tables.table import Column, Table, make_table

Kind = Literal["study", "part", "quotes", "rates"]
Understood = list[tuple[str, str, str]]

_CODE = re.compile(r'"\s*[+-]?[\d.]+\s+([A-Z]{3})\b')


def run(files: list[Path], currency: str | None, decimal: str = "", *, as_json: bool) -> None:
    """Check every file; problems of all of them are told together."""
    understood: Understood = []
    problems: list[Problem] = []
    cells: list[Reading] = []
    invented = False
    home = currency or _home_of_rates(files)
    for path in files:
        try:
            if _kind(path) == "quotes":
                reading = check_quotes(path, home, decimal)
                understood += [(_shown(path), word, text) for word, text in _reading_rows(reading)]
                cells += [row for row in reading.understood if not row.plain]
                problems += reading.problems
                continue
            rows, made_up = _read(path, home)
            understood += [(_shown(path), word, text) for word, text in rows]
            invented |= made_up
        except InputError as error:
            problems += error.problems
        except OSError as error:
            problems.append(problem_of(error))
    table = make_table(
        "Understood",
        (Column("file"), Column("what"), Column("understood as")),
        understood,
        invented=invented,
    )
    if as_json:
        found = [problem.__dict__ for problem in problems]
        told = {"ok": not problems, "problems": found, "understood": to_dict(table)}
        print_json(told | {"cells": [to_dict(it) for it in _cell_tables(cells)]})
    elif understood:
        shown = [table, *_cell_tables(cells)]
        print_text("\n\n".join(to_text(it, screen_width()) for it in shown))
    if problems:
        tell(problems)
        raise typer.Exit(BAD_INPUT)


def _cell_tables(cells: list[Reading]) -> list[Table]:
    """The cells that were read another way than they stand; its module loads the model, so only where it is needed."""
    if not cells:
        return []
    from costmodel.tables.source_tables import understood_table

    return [understood_table(cells)]


def _shown(path: Path) -> str:
    return path.name or str(path)


def _kind(path: Path) -> Kind:
    """What a path holds, by its name and its topmost keys."""
    if path.is_dir():
        return "rates"
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        return "quotes"
    if path.suffix.lower() == ".csv":
        return "rates" if path.stem in rates_tables() and _beside(path).is_file() else "quotes"
    if path.name == "year.toml":
        return "rates"
    if path.suffix.lower() == ".toml":
        return "part" if {"routes", "blank"} & _keys(path) else "study"
    expected = "a study or part (.toml), quotes (.csv, .xlsx) or a folder of a year's rates"
    raise InputError([Problem(path.name, "file", str(path), expected, "Name a file of one of these kinds.")])


def _beside(path: Path) -> Path:
    return path.parent / "year.toml"


def _keys(path: Path) -> set[str]:
    """The topmost keys of a TOML file; none where it cannot be read, which its reader then says in full."""
    try:
        return set(tomllib.loads(path.read_text(encoding="utf-8-sig")))
    except (OSError, ValueError):
        return set()


def _home_of_rates(files: Iterable[Path]) -> str:
    for path in files:
        if path.is_dir():
            try:
                year = tomllib.loads((path / "year.toml").read_text(encoding="utf-8-sig"))
                return str(year.get("home_currency", ""))
            except (OSError, ValueError):
                continue
    return ""


def _read(path: Path, home: str) -> tuple[list[tuple[str, str]], bool]:
    """Rows of what was understood, and whether the data are invented."""
    kind = _kind(path)
    if kind == "study":
        study = read_study(path)
        invented = study.invented or study.rates.year.invented or study.part.invented
        return [*_study_rows(study), *_part_rows(study.part), *_quote_rows(study.quotes)], invented
    if kind == "part":
        currency = home or _sole_currency(path)
        part = read_part(path, currency)
        return [*_part_rows(part), ("money", f"in {currency or 'none'}")], part.invented
    rates = read_rates(path if path.is_dir() else path.parent)
    return _rates_rows(rates), rates.year.invented


def _sole_currency(path: Path) -> str:
    """The currency that a part checked alone writes beside its numbers, where it writes one only."""
    if not path.is_file():
        return ""
    codes = sorted(set(_CODE.findall(path.read_text(encoding="utf-8-sig", errors="replace"))))
    if len(codes) > 1:
        expected = "one home currency"
        remedy = "State it: --currency USD, or check the file together with its rates folder."
        raise InputError([Problem(path.name, "money", ", ".join(codes), expected, remedy)])
    return codes[0] if codes else ""


def _study_rows(study: Study) -> list[tuple[str, str]]:
    rows = register(study)
    guesses = sum(row.status == "guess" for row in rows)
    names = ", ".join(study.alternatives)
    flags = [f"{flag.place}: {flag.text}" for flag in freshness_flags(study)]
    flags += [
        f"{it.name}: compared all the same, {it.override}"
        for it in study.alternatives.values()
        if it.override
    ]
    flags += [f"rates.{text}" for text in outside_own_range(study.rates)]
    demand = f"{study.demand.per_year:g} parts a year, {study.finance.horizon} months, data of {study.as_of}"
    result = [
        ("study", study.title),
        ("demand", demand),
        ("alternatives", f"{len(study.alternatives)}: {names}"),
        ("rates", _year_words(study.rates)),
        ("ranges", f"{len(study.uncertainty)} uncertain inputs, {len(study.scenarios)} scenarios"),
        ("figures", f"{len(rows)}, of them {guesses} guesses"),
    ]
    return result + [("to be known", flag) for flag in flags]


def _part_rows(part: Part) -> list[tuple[str, str]]:
    result = [("part", f"{part.title}, revision {part.revision}, of {part.blank.material}")]
    for name, route in part.routes.items():
        machine_steps = [step for step in route.steps.values() if isinstance(step, MachineStep)]
        cuts = sum(len(part.cuts_of(step)) for step in machine_steps)
        loads = ", ".join(f"{step.parts_per_load} a load on {step.machine}" for step in machine_steps)
        result.append(("route", f"{name}: {len(route.steps)} steps, {cuts} cuts; {loads or 'no machine'}"))
    return result


def _reading_rows(reading: QuoteReading) -> list[tuple[str, str]]:
    """The offers that are certain, lines and sheets without any, and how much has to be asked."""
    rows = _quote_rows(reading.quotes)
    rows += [("passed over", words) for words in reading.passed_over]
    if reading.problems:
        rows.append(
            ("to be asked", f"{len(reading.problems)} cells; offers with one of them are not read yet")
        )
    return rows


def _quote_rows(quotes: Named[Quote]) -> list[tuple[str, str]]:
    return [
        (
            "offer",
            f"{quote.title}: {len(quote.tiers)} prices in {quote.currency} "
            f"(from {', '.join(f'{float(tier.quantity):g}' for tier in quote.tiers.values())} parts), "
            f"{quote.delivery_term}, "
            f"valid {quote.valid_from} to {quote.valid_to}"
            + (f", lead time and rejects by {len(quote.log.received)} deliveries" if quote.log else ""),
        )
        for quote in quotes.values()
    ]


def _year_words(rates: Rates) -> str:
    year = rates.year
    note = f", {INVENTED.lower()}" if year.invented else ""
    return f"{year.year} in {year.home_currency}, valid {year.valid_from} to {year.valid_to}{note}"


def _rates_rows(rates: Rates) -> list[tuple[str, str]]:
    counts = ", ".join(f"{len(getattr(rates, name))} {name.replace('_', ' ')}" for name in rates_tables())
    flags = [("to be known", f"rates.{text}") for text in outside_own_range(rates)]
    return [("rates", _year_words(rates)), ("rows", counts), *flags]
