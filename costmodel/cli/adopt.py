"""`rates adopt`: open studies taken to another year's rates."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

from costmodel.adoption import Adoption, adopted
from costmodel.cli.apply import log_changes
from costmodel.cli.rate_year import today
from costmodel.cli.shared import console, print_json, show
from costmodel.errors import InputError, Problem
from costmodel.reading import read_rates, read_study
from costmodel.reading.study_edit import edited_files, journal_of, study_files
from costmodel.records.study import Study, fingerprint
from costmodel.tables.renderings import to_dict
from costmodel.tables.table import Column, make_table
from costmodel.writing import finish


def adopt(year: int, studies: list[Path], who: str, why: str, *, as_json: bool) -> None:
    """Take each study to a year's rates: its path, and its own ranges of rates in proportion; each all or nothing."""
    done = [(path, *_adopt(path, year, who, why)) for path in studies]
    rows = [[path.name, *row[4:7]] for path, _, rows in done for row in rows]
    columns = [Column(word) for word in ("study", "input", "was", "new")]
    table = make_table(f"Studies at the rates of {year}", columns, rows)
    written = {path.name: read_study(path) for path in studies}
    prints = {name: fingerprint(study) for name, study in written.items()}
    dated = [f"{name}: {_dated(study)}" for name, study in written.items()]
    left = [f"{path.name}: {name}" for path, found, _ in done for name in found.by_hand]
    if as_json:
        print_json(
            {
                "changes": to_dict(table),
                "inputs": prints,
                "ranges to write by hand": left,
                "to look at": dated,
            }
        )
        return
    screen = console()
    show(screen, [table])
    for name in left:
        screen.print(f"A list of values, to write anew by hand: {name}", style="bold")
    for name, mark in prints.items():
        screen.print(f"{name}: inputs now {mark}.")
    for words in dated:
        screen.print(f"To look at: {words}")


def _dated(study: Study) -> str:
    """The day that a study keeps, and the offers that end before the new year begins."""
    start = study.rates.year.valid_from
    lapsed = [f"{name} on {quote.valid_to}" for name, quote in study.quotes.items() if quote.valid_to < start]
    ended = f"; ended before {start}: {', '.join(lapsed)}" if lapsed else ""
    return f"still of {study.as_of}, and offers are flagged as of that day: state as_of anew{ended}"


def _adopt(path: Path, year: int, who: str, why: str) -> tuple[Adoption, list[tuple[str, ...]]]:
    finish(journal_of(path))
    study = read_study(path)
    if study.decided_on is not None:
        expected, remedy = (
            "an open study",
            "A decision keeps its own year's rates; ask anew in a study of its own.",
        )
        raise InputError([Problem(path.name, "decided_on", f"{study.decided_on}", expected, remedy)])
    was = tomllib.loads(path.read_text(encoding="utf-8-sig"))["rates"]
    now = (Path(was).parent / str(year)).as_posix()
    found = adopted(study, read_rates(path.parent / now))
    values = {"rates": now} if now != was else {}
    rows = list(_log_rows(study, found, was, values, path.name, who, why))
    if rows:
        files = study_files(path)
        texts = edited_files(files, values, found.ranges, study.rates.year.home_currency)
        log_changes(path, texts, rows)
    return found, rows


def _log_rows(
    study: Study, found: Adoption, was: str, values: dict[str, str], name: str, who: str, why: str
) -> Iterator[tuple[str, ...]]:
    head, place = (today(), who, why), f"studies/{name}"
    for address, now in values.items():
        yield (*head, place, address, was, now, *("",) * 4)
    for address, fields in found.ranges.items():
        texts = [
            value for word, value in fields.items() if word not in ("shape", "source", "owner", "status")
        ]
        before = study.uncertainty[address].shape
        how = "in proportion to the rate"
        new = ", ".join(texts)
        yield (
            *head,
            place,
            f"uncertainty.{address}",
            f"its range of before ({before})",
            new,
            "",
            "",
            how,
            "",
        )
