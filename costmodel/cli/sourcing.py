"""`entry-sheet`, `deliveries`, `price`: what a buyer writes and keeps, and what he asks of a price."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from costmodel.cli.shared import as_text, changed_study, console, print_json, show, tell_tables
from costmodel.delivery_log import as_offered, summary, with_log
from costmodel.errors import InputError, Problem
from costmodel.make_or_buy import alternative_cost
from costmodel.quote_check import price_check
from costmodel.reading import read_deliveries, read_should_cost, read_study, study_should_costs
from costmodel.reading.entry_sheet import write_entry_sheet
from costmodel.records.study import Study
from costmodel.stock_check import check_stock
from costmodel.tables.part_tables import currency_of
from costmodel.tables.renderings import to_dict
from costmodel.tables.source_tables import log_table, price_check_table, price_checks_table, stock_check_table
from costmodel.tables.stamp import stamp
from costmodel.tables.table import Column, Table, is_invented, make_table, single
from costmodel.writing import refuse_taken


def write_sheet(
    output: Path, study_file: Path | None, currency: str, *, with_offers: bool, as_json: bool
) -> None:
    """Write an entry sheet: blank, for a study's part, or with its offers; never over a sheet that is there."""
    refuse_taken(output)
    if study_file is None:
        if with_offers:
            remedy = "Name the study too: --study data/studies/saddle-clamp.toml."
            raise InputError(
                [Problem("command line", "--with-offers", "", "a study whose offers to write", remedy)]
            )
        written = write_entry_sheet(output, currency)
    else:
        study = read_study(study_file)
        rates = study.rates
        quantities = sorted(
            {int(tier.quantity) for quote in study.quotes.values() for tier in quote.tiers.values()}
        )
        written = write_entry_sheet(
            output,
            rates.year.home_currency,
            quotes=study.quotes if with_offers else None,
            part=study.part.name,
            revision=study.part.revision,
            quantities=quantities,
            names={"freight": rates.freight, "currency": rates.currency, "series": rates.indices},
        )
    typer.echo(as_text({"written": str(written)}) if as_json else f"Written: {written}")


def show_log(log_file: Path, supplier: str, study_file: Path | None, quote: str, *, as_json: bool) -> None:
    """What a log shows; with a study, what it changes in the cost of a good part and in the stock."""
    log = read_deliveries(log_file, supplier)
    found = summary(log)
    if study_file is None:
        tables = {"log": log_table(found)}
    else:
        study = read_study(study_file)
        if quote not in study.quotes:
            known = ", ".join(study.quotes)
            raise InputError(
                [Problem("command line", "--quote", quote, f"one of {known}", "Name the offer.")]
            )
        measured = with_log(study, quote, log)
        ways = [name for name, way in study.alternatives.items() if way.buy == quote]
        said = log_table(found, stated=as_offered(study, quote), invented=is_invented(study))
        tables = {"log": said, "changes": _changes(study, measured, ways)}
        for name in ways:
            tables[f"stock-{name}"] = stock_check_table(measured, check_stock(measured, name, found.best))
    if as_json:
        print_json({name: to_dict(table) for name, table in tables.items()})
        return
    show(console(), tables.values())


def _changes(study: Study, measured: Study, ways: list[str]) -> Table:
    """A good part and its stock, as the offer says and as the log does."""
    unit = f"{currency_of(study)}/part"
    rows: list[list[Any]] = []
    for name in ways:
        before, after = alternative_cost(study, name), alternative_cost(measured, name)
        rows.append(
            [
                before.title,
                single(before.per_part()),
                single(after.per_part()),
                single(before.portions[0].stock.safety),
                single(after.portions[0].stock.safety),
            ]
        )
    return make_table(
        "What the log changes",
        (
            Column("alternative"),
            Column("good part, as offered", unit, "money"),
            Column("by the log", unit, "money"),
            Column("safety stock, as offered", "part", "parts"),
            Column("by the log", "part", "parts"),
        ),
        rows,
        study=study,
    )


def show_prices(
    study_file: Path,
    guess_files: list[Path],
    draws: int,
    seed: int,
    changes: list[str],
    scenario: str | None,
    *,
    as_json: bool,
) -> None:
    """The price of each offer beside the range of its maker's likely cost, with what is assumed of him."""
    study, changed = changed_study(study_file, changes, scenario)
    if guess_files:
        guesses = tuple(read_should_cost(file, study) for file in guess_files)
    else:
        guesses = study_should_costs(study_file, study)
    if not guesses:
        expected = f"what is assumed of a supplier: ../should_cost/{study_file.stem}-*.toml, or a file named"
        remedy = "Copy data/should_cost/saddle-clamp-overseas-a.toml and write what you assume of the maker."
        raise InputError([Problem(study_file.name, "should_cost", "none found", expected, remedy)])
    found = [price_check(study, guess, draws=draws, seed=seed) for guess in guesses]
    tables = {"prices": price_checks_table(study, found)}
    tables |= {
        f"assumed {guess.name}": price_check_table(study, check)
        for guess, check in zip(guesses, found, strict=True)
    }
    tell_tables(study, tables, changed, stamp(study, changed=changed), as_json=as_json)
