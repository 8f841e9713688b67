"""The files of a study with some inputs written anew: each in the place where it stands, and nothing else changed."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from costmodel.reading.found import Found
from costmodel.reading.grid import DELIMITERS, letters, read_grids
from costmodel.reading.quotes import quotes_of
from costmodel.records.address import tokens
from costmodel.toml_text import inline_table, text_value, with_value

_CELL = re.compile(r"row (\d+), cell ([A-Z]+)\d+")
_BYTE_ORDER = "\ufeff"


class StudyFiles(NamedTuple):
    """The files of a study that its inputs stand in."""

    study: Path
    part: Path
    quotes: Path

    def of(self, address: str) -> tuple[Path, tuple[str, ...]]:
        """The file in which an input stands, and its path there."""
        path = tokens(address)
        if path[0] in ("part", "quotes"):
            return getattr(self, path[0]), path[1:]
        return self.study, path


def study_files(path: Path | str) -> StudyFiles:
    """The files that a study names. The study must be one that reads."""
    path = Path(path)
    raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    return StudyFiles(path, path.parent / raw["part"], path.parent / raw["quotes"])


def journal_of(path: Path | str) -> Path:
    """Where changes of a study's files stand while they are written."""
    path = Path(path)
    return path.parent / f".{path.stem}.pending.json"


def refuse_cut_off(path: Path, found: Found) -> None:
    """Note that the writing of a study's files was cut off, so that nobody reads half of it."""
    if journal_of(path).is_file():
        expected = "files that were written to the end"
        found.add(path, "file", "", expected, "Run costmodel apply again: it writes the rest first.")


def edited_files(
    files: StudyFiles, values: Mapping[str, str], ranges: Mapping[str, Mapping[str, str]], home: str
) -> dict[Path, str]:
    """The texts of the files that `values` by address and `ranges` of the study change. Raises InputError.

    All places that cannot be changed in this way are named together.
    """
    found = Found()
    texts: dict[Path, str] = {}
    for address, value in values.items():
        path, place = files.of(address)
        before = texts.get(path) or _text(path, found)
        if path == files.quotes:
            texts[path] = _with_cell(path, before, place, value, home, found)
        elif before:
            texts[path] = _with_value(path, before, place, text_value(value), found)
    for address, fields in ranges.items():
        before = texts.get(files.study) or _text(files.study, found)
        place = ("uncertainty", address)
        texts[files.study] = _with_value(files.study, before, place, inline_table(dict(fields)), found)
    found.stop()
    return texts


def _text(path: Path, found: Found) -> str:
    try:
        with path.open(encoding="utf-8", newline="") as file:
            return file.read()
    except UnicodeDecodeError:
        if path.suffix.lower() == ".csv":
            found.add(path, "file", "", "text in UTF-8", "Save the file as UTF-8.")
    return ""


def _with_value(path: Path, text: str, place: tuple[str, ...], literal: str, found: Found) -> str:
    mark = _BYTE_ORDER if text.startswith(_BYTE_ORDER) else ""
    crlf = "\r\n" in text
    plain = text.removeprefix(mark).replace("\r\n", "\n")
    edited = with_value(plain, place, literal)
    if edited is None:
        expected = "a place of its own in this file"
        remedy = f"Write {literal} there by hand, and no into accept."
        found.add(path, ".".join(place), "", expected, remedy)
        return text
    return mark + (edited.replace("\n", "\r\n") if crlf else edited)


def _with_cell(path: Path, text: str, place: tuple[str, ...], value: str, home: str, found: Found) -> str:
    """The text of a quote file with the cell of one field of one offer written anew."""
    readings = quotes_of(path, home, Found()).understood
    cells = [it for it in readings if (it.supplier, it.field) == place]
    where = _CELL.search(cells[0].place) if cells else None
    if where is None or path.suffix.lower() != ".csv":
        at = cells[0].place if cells else ".".join(place)
        expected = "a cell of a CSV file"
        found.add(path, at, "", expected, f'Write "{value}" there by hand, and no into accept.')
        return text
    row, column = int(where.group(1)) - 1, _number(where.group(2))
    grid = read_grids(path, Found())[0]
    said = value.replace(".", ",") if grid.mark == "," or grid.commas else value
    edited = _replaced(text, row, column, cells[0].found, said)
    if edited is None:
        found.add(path, cells[0].place, cells[0].found, "a cell that can be told apart", "Write it by hand.")
    return edited or text


def _number(name: str) -> int:
    return next(at for at in range(26 * 27) if letters(at) == name)


def _replaced(text: str, row: int, column: int, was: str, value: str) -> str | None:
    mark = _BYTE_ORDER if text.startswith(_BYTE_ORDER) else ""
    end = "\r\n" if "\r\n" in text else "\n"
    plain = text.removeprefix(mark)
    for delimiter, rows in _parsed(plain):
        if row >= len(rows) or column >= len(rows[row]) or rows[row][column].strip() != was.strip():
            continue
        wanted = [list(cells) for cells in rows]
        wanted[row][column] = value
        lines = plain.splitlines()
        if len(lines) == len(rows):
            lines[row] = _line(wanted[row], delimiter)
            return mark + end.join(lines) + (end if plain.endswith(("\n", "\r")) else "")
        return mark + end.join(_line(cells, delimiter) for cells in wanted) + end
    return None


def _parsed(text: str) -> Iterator[tuple[str, list[list[str]]]]:
    for delimiter in DELIMITERS:
        yield delimiter, list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))


def _line(cells: list[str], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="").writerow(cells)
    return out.getvalue()
