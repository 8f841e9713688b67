"""`apply`: accepted changes into the files of a study."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from costmodel.cli.rate_year import today
from costmodel.cli.shared import console, print_json, show
from costmodel.measured import Sorted, sorted_changes, with_measured, written_ranges, written_values
from costmodel.rate_update import csv_text
from costmodel.reading import read_study
from costmodel.reading.rate_folder import read_changes
from costmodel.reading.study_edit import StudyFiles, edited_files, journal_of, study_files
from costmodel.records.address import value_at
from costmodel.records.rate_sheet import Change
from costmodel.records.study import Study, fingerprint
from costmodel.tables.renderings import to_dict
from costmodel.tables.table import Column, Table, make_table
from costmodel.writing import finish, write_together

LOG_COLUMNS = ("when", "who", "why", "file", "address", "was", "new", "n", "spread", "how", "source")


def apply_changes(path: Path, file: Path, who: str, why: str, *, as_json: bool) -> None:
    """Write the accepted rows into the study, its part and its quotes, all of them or none, with a log."""
    finish(journal_of(path))
    study = read_study(path)
    found = sorted_changes(study, read_changes(file))
    files = study_files(path)
    values = written_values(study, found.here)
    ranges = written_ranges(study, [*found.here, *found.there])
    with_measured(study, found.here)  # refuses what the model would not take, before anything is written
    texts = edited_files(files, values, ranges, study.rates.year.home_currency)
    rows = list(_log_rows(study, files, found.here, values, ranges, who, why))
    if rows:
        log_changes(path, texts, rows)
    silent = "" if any(found) else f"No row of {file.name} says accept = yes: nothing was applied."
    _tell(rows, found, study, read_study(path), path, silent, as_json=as_json)


def log_changes(path: Path, texts: Mapping[Path, str], rows: Iterable[tuple[str, ...]]) -> None:
    """Write the edited files of a study and the rows of its log, all of them or none."""
    log = log_of(path)
    kept = log.read_text(encoding="utf-8") if log.is_file() else csv_text([LOG_COLUMNS])
    write_together({**texts, log: kept + csv_text(rows)}, journal_of(path))


def log_of(path: Path) -> Path:
    """The change log of a study, beside it."""
    return path.with_name(f"{path.stem}.changes.csv")


def _log_rows(
    study: Study,
    files: StudyFiles,
    changes: Iterable[Change],
    values: Mapping[str, str],
    ranges: Mapping[str, Mapping[str, str]],
    who: str,
    why: str,
) -> Iterator[tuple[str, ...]]:
    by_address = {change.address: change for change in changes}
    for address, new in values.items():
        change = by_address.get(address)
        was = change.was if change else str(value_at(study, address))
        if change is None and was == new:
            continue
        reason = change.why if change and change.why else why
        more = (f"{change.n or ''}", change.spread, change.how, change.source) if change else ("",) * 4
        yield (today(), who, reason, _place(files, address), address, was, new, *more)
    for address, fields in ranges.items():
        spread = study.uncertainty[address]
        was = f"its range of before ({spread.shape})"
        new = f"{fields['p10']} to {fields['p90']}"
        yield (
            *(today(), who, why, _place(files, "uncertainty"), f"uncertainty.{address}", was, new),
            *("", "", "", fields["source"]),
        )


def _place(files: StudyFiles, address: str) -> str:
    """The file of an input, by folder and name."""
    path = files.of(address)[0].resolve()
    return f"{path.parent.name}/{path.name}"


def _tell(
    rows: list[tuple[str, ...]],
    found: Sorted,
    before: Study,
    after: Study,
    path: Path,
    silent: str,
    *,
    as_json: bool,
) -> None:
    columns = [Column(word) for word in ("file", "input", "was", "new")]
    table: Table = make_table(f"Changed: {len(rows)}", columns, [row[3:7] for row in rows])
    left = [change.address for change in found.rates]
    prints = (fingerprint(before), fingerprint(after))
    if as_json:
        print_json(
            {
                "changes": to_dict(table),
                "already there": [change.address for change in found.there],
                "rates": left,
                "nothing applied": silent,
                "inputs": {"before": prints[0], "after": prints[1]},
                "log": str(log_of(path)) if rows else "",
            }
        )
        return
    screen = console()
    show(screen, [table])
    if silent:
        screen.print(silent, style="bold")
    for change in found.there:
        screen.print(f"Already there: {change.address}")
    for address in left:
        screen.print(f"A rate, so left for rates apply: {address}")
    screen.print(
        f"Inputs {prints[0]}, now {prints[1]}.{f' Log: {log_of(path)}' if rows else ''}", style="bold"
    )
    if rows and before.decided_on is not None:
        screen.print(f"Decided on {before.decided_on}: its frozen plan keeps the figures of that day.")
