"""`check`: what was understood of each file, or every problem in it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Literal

import numpy as np
import typer

from costmodel.cautions import INVENTED
from costmodel.cli.faults import BAD_INPUT, problem_of, tell
from costmodel.cli.shared import print_json, print_text, screen_width
from costmodel.errors import InputError, Problem
from costmodel.reading import check_quotes, read_part, read_rates, read_study
from costmodel.reading.quote_found import QuoteReading, Reading
from costmodel.reading.study_edit import study_files
from costmodel.records.fields import Named
from costmodel.records.part import Part
from costmodel.records.quote import Quote
from costmodel.records.rates import Rates, outside_own_range
from costmodel.records.rates import rate_tables as rates_tables
from costmodel.records.route import MachineStep
from costmodel.records.route_faults import name_faults, twice_faults
from costmodel.records.study import Study
from costmodel.register import freshness_flags, register
from costmodel.tables.renderings import to_dict, to_text
from costmodel.tables.table import Column, Table, make_table
from costmodel.units import Number

Kind = Literal["study", "part", "quotes", "rates"]
Understood = list[tuple[str, str, str]]

HUNDRED = 100.0
_CODE = re.compile(r'"\s*[+-]?[\d.]+\s+([A-Z]{3})\b')


def run(files: list[Path], currency: str | None, decimal: str = "", *, as_json: bool) -> None:
    """Check every file; problems of all of them are told together."""
    understood: Understood = []
    problems: list[Problem] = []
    cells: list[Reading] = []
    records: list[tuple[Path, Part | Rates | Study]] = []
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
            rows, made_up, record = _read(path, home)
            records.append((path, record))
            understood += [(_shown(path), word, text) for word, text in rows]
            invented |= made_up
        except InputError as error:
            problems += error.problems
        except OSError as error:
            problems.append(problem_of(error))
    problems += _beside_each_other(records)
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


def _read(path: Path, home: str) -> tuple[list[tuple[str, str]], bool, Part | Rates | Study]:
    """Rows of what was understood, whether the data are invented, and the record."""
    kind = _kind(path)
    if kind == "study":
        study = read_study(path)
        invented = study.invented or study.rates.year.invented or study.part.invented
        offers = (
            check_quotes(study_files(path).quotes, study.rates.year.home_currency) if study.quotes else None
        )
        left_out = _left_out_rows(offers) if offers else []
        rows = [
            *_study_rows(study),
            *_part_rows(study.part),
            *_route_flags(study),
            *_quote_rows(study.quotes),
            *left_out,
        ]
        return rows, invented, study
    if kind == "part":
        currency = home or _sole_currency(path)
        part = read_part(path, currency)
        return [*_part_rows(part), ("money", f"in {currency or 'none'}")], part.invented, part
    rates = read_rates(path if path.is_dir() else path.parent)
    return _rates_rows(rates), rates.year.invented, rates


def _beside_each_other(records: list[tuple[Path, Part | Rates | Study]]) -> list[Problem]:
    """What a part names that a year given beside it does not have, or has too."""
    years = [rates for _, rates in records if isinstance(rates, Rates)]
    return [
        Problem(_shown(path), fault.place.removeprefix("part."), fault.value, fault.expected, fault.remedy)
        for path, part in records
        if isinstance(part, Part)
        for rates in years
        for route in part.routes.values()
        for fault in (*name_faults(route, rates), *twice_faults(part, route, rates))
    ]


def _route_flags(study: Study) -> list[tuple[str, str]]:
    """What each route asks of its machines and tools beyond what they state, as `cost` says it."""
    from costmodel.machine_work import route_work

    return [
        ("to be known", f"{name}: {flag.place}: {flag.text}")
        for name, route in study.part.routes.items()
        for work in route_work(study.part, route, study.rates).values()
        for flag in work.flags
    ]


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
    rows = [*_quote_rows(reading.quotes), *_left_out_rows(reading)]
    rows += [("passed over", words) for words in reading.passed_over]
    if reading.problems:
        rows.append(
            (
                "to be asked",
                f"questions below: {len(reading.problems)}; an offer with one of them is not read yet",
            )
        )
    return rows


def _left_out_rows(reading: QuoteReading) -> list[tuple[str, str]]:
    return [("not quoted", words) for words in reading.left_out]


def _quote_rows(quotes: Named[Quote]) -> list[tuple[str, str]]:
    """What decides of each offer, as it was understood: what it is, its prices, its times and payment, its faults."""
    return [
        (what, f"{quote.title}: {words(quote)}")
        for quote in quotes.values()
        for what, words in (
            ("offer", _offer_words),
            ("prices", _price_words),
            ("times", _time_words),
            ("faults", _fault_words),
        )
    ]


def _offer_words(quote: Quote) -> str:
    return (
        f"{quote.part} revision {quote.revision}, {quote.delivery_term} {quote.place}, valid {quote.valid_from} to "
        f"{quote.valid_to}, {quote.status}"
    )


def _price_words(quote: Quote) -> str:
    tiers = ", ".join(f"{_exact(tier.price)} from {_exact(tier.quantity)}" for tier in quote.tiers.values())
    rule = "" if quote.tier_rule == "all_units" else ", each price for the parts of its tier"
    charges = [
        f"{name.replace('_', ' ')} {_exact(getattr(quote, name))}"
        for name in ("packaging", "order_charge", "equipment", "qualification", "first_article")
        if getattr(quote, name)
    ]
    surcharge = [f"surcharge {_percent(quote.surcharge)} of the price"] if quote.surcharge else []
    least = f"least order {_exact(quote.minimum_order)} parts"
    return "; ".join([f"{tiers} parts, {quote.currency} a part{rule}", least, *surcharge, *charges])


def _time_words(quote: Quote) -> str:
    basis = f" by {len(quote.log.received)} deliveries" if quote.log else ""
    return f"lead time {_exact(quote.lead_time)} d, spread {_exact(quote.lead_time_sd)} d{basis}; {_payment(quote)}"


def _payment(quote: Quote) -> str:
    balance = _when(float(np.asarray(quote.balance_days)))
    if not quote.deposit_share:
        return f"paid {balance}"
    deposit = _when(float(np.asarray(quote.deposit_days)))
    return f"{_percent(quote.deposit_share)} paid {deposit}, the rest {balance}"


def _when(days: float) -> str:
    """Days before receipt in words."""
    return f"{_exact(abs(days))} d {'before' if days > 0.0 else 'after'} receipt" if days else "at receipt"


def _fault_words(quote: Quote) -> str:
    return (
        f"rejected {_percent(quote.rejected_at_receipt)} at receipt, {_percent(quote.rejected_at_assembly)} at "
        f"assembly, {_percent(quote.rejected_in_field)} in the field"
    )


def _exact(value: Number) -> str:
    """A figure as it was understood: money in cents, and further decimals where it has them."""
    number = round(float(np.asarray(value)), 6)
    cents = f"{number:.2f}"
    return f"{number:.0f}" if number.is_integer() else cents if float(cents) == number else f"{number:.10g}"


def _percent(share: Number) -> str:
    return f"{round(float(np.asarray(share)) * HUNDRED, 6):g} %"


def _year_words(rates: Rates) -> str:
    year = rates.year
    note = f", {INVENTED.lower()}" if year.invented else ""
    return f"{year.year} in {year.home_currency}, valid {year.valid_from} to {year.valid_to}{note}"


def _rates_rows(rates: Rates) -> list[tuple[str, str]]:
    counts = ", ".join(f"{len(getattr(rates, name))} {name.replace('_', ' ')}" for name in rates_tables())
    flags = [("to be known", f"rates.{text}") for text in outside_own_range(rates)]
    return [("rates", _year_words(rates)), ("rows", counts), *flags]
