"""A year's folder as text, its seal, index observations and change files: what a new year is made from."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Mapping
from pathlib import Path

from costmodel.reading.found import Found, near_file
from costmodel.reading.tables import read_rows
from costmodel.records.rate_sheet import (
    CHANGE_LOG,
    SEAL,
    YEAR_FILE,
    Change,
    Observation,
    RateSheet,
    RateSheets,
)
from costmodel.records.rates import rate_tables
from costmodel.records.run_log import RunLog


def read_rate_sheets(folder: Path | str) -> RateSheets:
    """The tables of a year's folder as text, each row filled to the width of its header. Raises InputError."""
    folder = Path(folder)
    found = Found()
    tables = {name: _sheet(folder / f"{name}.csv", found) for name in rate_tables()}
    year_text = _text(folder / YEAR_FILE, found)
    found.stop()
    return RateSheets(year_text, tables)


def _text(path: Path, found: Found) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        found.add(path, "file", str(path), "a file that exists", near_file(path))
    except OSError as error:
        found.unreadable(path, error)
    except UnicodeDecodeError:
        found.add(path, "file", "", "text in UTF-8", "Save the file as UTF-8.")
    return ""


def _sheet(path: Path, found: Found) -> RateSheet:
    lines = list(csv.reader(io.StringIO(_text(path, found)))) or [[]]
    header = tuple(lines[0])
    rows = [tuple([*line, *[""] * len(header)][: len(header)]) for line in lines[1:] if any(line)]
    if header and "name" not in header:
        found.add(path, "row 1", "", "a column name", "Add the column; nothing stands for it.")
    return RateSheet(path.stem, header, tuple(rows))


def read_observations(path: Path | str) -> tuple[Observation, ...]:
    """Index values by series and month from a CSV file. Raises InputError."""
    path = Path(path)
    found = Found()
    needed = {"series", "month", "value", "base", "source"}
    rows = [
        found.record(Observation, cells, path, f"row {number}")
        for number, cells in read_rows(path, Observation, "", found, needed)
    ]
    found.stop()
    kept = tuple(row for row in rows if row is not None)
    twice = [row for row in kept if sum((it.series, it.month) == (row.series, row.month) for it in kept) > 1]
    for row in twice[:1]:
        found.add(
            path, f"{row.series} {row.month}", "", "one value a month", "Take the one out that was revised."
        )
    bases = {row.series: row.base for row in kept}
    for row in kept:
        if row.base != bases[row.series]:
            expected = f'one base a series, "{bases[row.series]}"'
            found.add(
                path, f"{row.series} {row.month}", row.base, expected, "Link the two bases before using them."
            )
            break
    found.stop()
    return kept


def read_changes(path: Path | str) -> tuple[Change, ...]:
    """Proposed changes from a CSV file, as a person may have marked them. Raises InputError."""
    path = Path(path)
    found = Found()
    needed = {"address", "value", "source", "as_of", "owner", "status"}
    rows = [
        found.record(Change, cells, path, f"row {number}")
        for number, cells in read_rows(path, Change, "", found, needed)
    ]
    found.stop()
    return tuple(row for row in rows if row is not None)


def read_log(folder: Path) -> str:
    """The change log of a year's folder, empty where there is none yet."""
    path = folder / CHANGE_LOG
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def file_marks(folder: Path) -> dict[str, str]:
    """The SHA-256 of each input file of a year's folder, line ends set aside."""
    names = (YEAR_FILE, *(f"{name}.csv" for name in rate_tables()))
    return {name: file_mark(folder / name) for name in names if (folder / name).is_file()}


def file_mark(path: Path) -> str:
    """The SHA-256 of a text file, line ends and a mark of byte order set aside."""
    content = path.read_bytes().removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n")
    return hashlib.sha256(content).hexdigest()


def changed_since(folder: Path, marks: Mapping[str, str]) -> tuple[str, ...]:
    """Files of a folder that are not as these marks have them, or are gone."""
    now = file_marks(folder)
    return tuple(name for name, mark in marks.items() if now.get(name) != mark)


def seal_text(folder: Path) -> str:
    """The content of a seal: file and SHA-256, a row each."""
    return "file,sha256\n" + "".join(f"{name},{mark}\n" for name, mark in file_marks(folder).items())


def read_seal(folder: Path) -> dict[str, str]:
    """The marks of a sealed year; empty where the year is not sealed."""
    path = folder / SEAL
    if not path.is_file():
        return {}
    lines = path.read_text(encoding="utf-8").splitlines()[1:]
    return {name: mark for name, _, mark in (line.partition(",") for line in lines)}


def check_seal(folder: Path, found: Found) -> None:
    """Note every file of a sealed year that was changed after a study rested on it."""
    for name in changed_since(folder, read_seal(folder)):
        found.add(
            folder / name,
            f"rates {folder.name}",
            "a changed file",
            "the file as it was when the year was sealed, since decisions rest on it",
            "Restore it; new figures belong in a new year.",
        )


def refuse_sealed(folder: Path) -> None:
    """Raise InputError for a year that decisions rest on: it is never edited."""
    found = Found()
    if read_seal(folder):
        found.add(
            folder / SEAL,
            f"rates {folder.name}",
            "a sealed year",
            "a year that no decision rests on",
            "Make a new year from it and change that one.",
        )
    found.stop()


def read_run_logs(path: Path | str, home: str) -> tuple[RunLog, ...]:
    """The run log of each machine from a CSV file, a row a machine and year. Raises InputError."""
    path = Path(path)
    found = Found()
    needed = {"machine", "planned_busy", "production", "set_up", "delay"}
    rows = [
        found.record(RunLog, cells, path, f"row {number}", home)
        for number, cells in read_rows(path, RunLog, home, found, needed)
    ]
    found.stop()
    return tuple(row for row in rows if row is not None)
