"""What several commands need: a study with its changes, tables on the screen, JSON."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import typer

from costmodel.cautions import INVENTED_WORDS
from costmodel.errors import InputError, Problem
from costmodel.reading import read_study
from costmodel.records.study import Study
from costmodel.tables.table import Table, is_invented

if TYPE_CHECKING:
    from rich.console import Console

    from costmodel.tables.stamp import Stamp

PAPER_WIDTH = 110


class Received(NamedTuple):
    """Offers just received: their file, and the decimal mark where it shows none."""

    file: Path
    decimal: str = ""


def changed_study(
    path: Path,
    changes: list[str],
    scenario: str | None,
    *,
    received: Received | None = None,
    override: str = "",
    blind: bool = False,
) -> tuple[Study, list[str]]:
    """The study of a file with a scenario and single changes applied, and words for what was changed.

    `received` are offers to put beside its own, `override` is the reason for comparing unlike ones. `blind` gives both
    without names, and says of pay only that it was changed.
    """
    study = read_study(path, override)
    words = []
    if received is not None:
        study, of_whom = _with_received(study, received, override)
        words.append(of_whom)
    if override and not any(way.override == override for way in study.alternatives.values()):
        words.append(f"override '{override}': no offer needed it")
    if scenario is not None:
        study = study.with_scenario(scenario)
        words.append(f"scenario {scenario}: {study.scenarios[scenario].title}")
    inputs = inputs_of(changes)
    if inputs:
        study = study.settled(inputs)
        words += [f"{address} = {value}" for address, value in inputs.items()]
    if not blind:
        return study, words
    from costmodel.blinding import blind_words, blinded, shows_pay

    hidden = [shows_pay(word.partition(" = ")[0]) for word in words]
    told = ["pay" if pay else blind_words(study, word) for word, pay in zip(words, hidden, strict=True)]
    return blinded(study), told


def _with_received(study: Study, received: Received, override: str) -> tuple[Study, str]:
    from costmodel.offers import with_offers
    from costmodel.reading import check_quotes

    reading = check_quotes(received.file, study.rates.year.home_currency, received.decimal)
    if reading.problems:
        raise InputError(reading.problems)
    words = f"offers of {', '.join(quote.title for quote in reading.quotes.values())}"
    if reading.left_out:
        words += f", not quoted: {'; '.join(reading.left_out)}"
    return with_offers(study, reading.quotes, override), words


def inputs_of(changes: Iterable[str]) -> dict[str, str]:
    """Changed inputs by address, each once, from texts such as ``demand.per_year=2500 part/yr``."""
    inputs: dict[str, str] = {}
    for change in changes:
        address, sign, value = change.partition("=")
        address, value = address.strip(), value.strip()
        if not sign or not address or not value:
            expected = "address=value, such as demand.per_year=2500 part/yr"
            raise InputError(
                [Problem("command line", "--set", change, expected, "Put it in quotes if it has a space.")]
            )
        if address in inputs:
            raise InputError(
                [Problem("command line", "--set", address, "each address once", "Leave one of the two out.")]
            )
        inputs[address] = value
    return inputs


def screen_width() -> int:
    """Characters in a line: those of the terminal, or of a sheet of paper where the output goes to a file."""
    return shutil.get_terminal_size((PAPER_WIDTH, 50)).columns


def console() -> Console:
    """Standard output for tables, as wide as it is."""
    from rich.console import Console

    _show_every_sign()
    return Console(width=screen_width(), highlight=False, markup=False, emoji=False, soft_wrap=False)


def show(screen: Console, tables: Iterable[Table]) -> None:
    """Tables one below the other, each in pieces where it is wider than the screen."""
    from costmodel.tables.renderings import fitted, to_rich

    for table in tables:
        for piece in fitted(table, screen.width):
            screen.print(to_rich(piece, screen.width))
            screen.print()


def show_notice(screen: Console, study: Study, changed: list[str]) -> None:
    """That data are invented, and what was changed for this run, before any figure."""
    if is_invented(study):
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    if changed:
        screen.print(f"Changed for this run: {'; '.join(changed)}\n", style="bold")


def tell_tables(
    study: Study, tables: dict[str, Table], changed: list[str], given: Stamp, *, as_json: bool
) -> None:
    """Tables between what is to be known first and what they rest on; or all of it as JSON."""
    from costmodel.tables.renderings import to_dict
    from costmodel.tables.stamp import stamp_words

    if as_json:
        print_json({"stamp": given, "tables": {name: to_dict(table) for name, table in tables.items()}})
        return
    screen = console()
    show_notice(screen, study, changed)
    show(screen, tables.values())
    screen.print(stamp_words(given))


def as_text(data: Any) -> str:
    """JSON text."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)


def _show_every_sign() -> None:
    """A sign that the output cannot show becomes a question mark, not a fault."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")


def print_text(text: str) -> None:
    """Text on standard output."""
    _show_every_sign()
    typer.echo(text)


def print_json(data: Any) -> None:
    """JSON on standard output."""
    typer.echo(as_text(data))
