"""CSV tables of rates, one row a name, with units in their headers."""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterable
from pathlib import Path
from typing import TypeVar

from costmodel.reading.found import Found, near_file
from costmodel.records.address import field_quantity
from costmodel.records.fields import OWN_CURRENCY, Named, Quantity, Record
from costmodel.units import UnitError, factor

RecordType = TypeVar("RecordType", bound=Record)

_HEADER = re.compile(r"^\s*([A-Za-z_][\w ]*?)\s*(?:\[(.*)\])?\s*$")


def read_table(path: Path, kind: type[RecordType], home: str, found: Found) -> Named[RecordType]:
    """The rows of a rates table by name, each checked, with the problems noted in `found`."""
    rows: dict[str, RecordType] = {}
    for number, cells in read_rows(path, kind, home, found, needed=_required(kind)):
        row = found.record(kind, cells, path, f"row {number}", home)
        name = str(cells.get("name", ""))
        if name in rows:
            found.add(
                path, f"row {number}", name, "a name used once", "Give this row another name or take it out."
            )
        elif row is not None:
            rows[name] = row
    return Named(rows)


def _required(kind: type[Record]) -> set[str]:
    return {name for name, info in kind.model_fields.items() if info.is_required()}


def read_rows(
    path: Path,
    kind: type[Record],
    home: str,
    found: Found,
    needed: set[str],
) -> list[tuple[int, dict[str, str]]]:
    """The filled cells of each row with the unit of their header, by column; row 1 is the header."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            lines = list(csv.reader(file))
    except FileNotFoundError:
        found.add(path, "file", str(path), "a file that exists", near_file(path))
        return []
    except OSError as error:
        found.unreadable(path, error)
        return []
    except UnicodeDecodeError:
        found.add(path, "file", "", "text in UTF-8", "Save the file as UTF-8.")
        return []
    except csv.Error as error:
        found.add(
            path, "file", "", f"valid CSV ({error})", "Save it anew as CSV; look for a quote left open."
        )
        return []
    if not lines:
        found.add(path, "row 1", "", "a header", f"Write the columns {', '.join(sorted(needed))}.")
        return []
    columns = _columns(path, lines[0], kind, home, found)
    missing = needed - {name for name, _ in columns if name}
    for name in sorted(missing):
        unit = _unit_words(kind, name, home)
        found.add(path, "row 1", "", f"a column {name}{unit}", "Add the column; nothing stands for it.")
    if missing:
        return []
    for number, line in enumerate(lines[1:], start=2):
        beyond = [cell for cell in line[len(columns) :] if cell.strip()]
        if beyond:
            expected = f"{len(columns)} cells, as many as columns"
            found.add(path, f"row {number}", beyond[0], expected, "Put text with a comma into quotes.")
    return [
        (number, _cells(columns, line))
        for number, line in enumerate(lines[1:], start=2)
        if any(c.strip() for c in line)
    ]


def _unit_words(kind: type[Record], name: str, home: str) -> str:
    spec = _spec(kind, name)
    return (
        f" [{spec.shown(home)}]"
        if spec is not None and spec.unit not in ("", "fraction", OWN_CURRENCY)
        else ""
    )


def _spec(kind: type[Record], name: str) -> Quantity | None:
    return field_quantity(kind, name) if name in kind.model_fields else None


def _columns(
    path: Path, header: list[str], kind: type[Record], home: str, found: Found
) -> list[tuple[str, str]]:
    columns: list[tuple[str, str]] = []
    known = [*kind.model_fields]
    for number, text in enumerate(header, start=1):
        match = _HEADER.match(text)
        name, unit = (
            (match.group(1).strip().replace(" ", "_"), (match.group(2) or "").strip()) if match else ("", "")
        )
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            remedy = f'Did you mean "{near[0]}"?' if near else "Take the column out or correct its name."
            found.add(path, f"row 1, column {number}", text, "a known column", remedy)
            name = ""
        elif name in [column for column, _ in columns]:
            found.add(path, f"row 1, column {number}", text, "each column once", "Take one of the two out.")
        elif unit:
            _check_header_unit(path, number, text, unit, _spec(kind, name), home, found)
        columns.append((name, unit))
    return columns


def _check_header_unit(
    path: Path, number: int, text: str, unit: str, spec: Quantity | None, home: str, found: Found
) -> None:
    if spec is None or spec.unit in ("", OWN_CURRENCY):
        return
    try:
        factor(
            re.sub(rf"\b{home}\b", "money", unit) if home else unit,
            "delta" if spec.unit == "fraction" else spec.unit,
        )
    except UnitError as error:
        found.add(path, f"row 1, column {number}", text, f"[{spec.shown(home)}]", error.remedy)


def _cells(columns: Iterable[tuple[str, str]], line: list[str]) -> dict[str, str]:
    cells: dict[str, str] = {}
    for (name, unit), cell in zip(columns, line, strict=False):
        if name and cell.strip():
            bare = unit and re.fullmatch(r"[+-]?[\d.,]+(?:[eE][+-]?\d+)?", cell.strip())
            cells[name] = f"{cell.strip()} {unit}" if bare else cell.strip()
    return cells
