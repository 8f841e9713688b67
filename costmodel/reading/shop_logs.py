"""Logs of the shop, CSV or XLSX: cycle times, set-ups, parts lost, tool changes, deliveries, energy.

A log says by its columns what it is of. Key columns name the place: ``route`` and ``step``, or ``machine``,
``tool``, ``processor``. Every other column is a field of that place, with its unit in the header, such as ``hands_on
[min/load]`` or ``parts_per_edge [part]``. Two pairs stand for a field: ``started`` and ``good`` for a yield, ``energy
[kWh]`` and ``hours [h]`` for a load factor. ``date`` says how old what was measured is; ``note`` and ``who`` are for
people. A delivery log, as `reading.deliveries` has it, is of the supplier whose name ends its file's name: lead time,
its spread, rejects.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from costmodel.errors import InputError
from costmodel.reading.deliveries import deliveries_of
from costmodel.reading.found import Found
from costmodel.reading.grid import Grid, read_grids
from costmodel.reading.numbers import QuestionError, day
from costmodel.records.address import currency_at, field_quantity, leaf_field, value_at
from costmodel.records.faults import joined
from costmodel.records.shop_log import Log
from costmodel.records.study import Study

KEYS = {
    "step": ("part", "routes", "{route}", "steps", "{step}"),
    "machine": ("rates", "machines", "{machine}"),
    "tool": ("rates", "tools", "{tool}"),
    "processor": ("rates", "processors", "{processor}"),
}
FOR_PEOPLE = ("date", "note", "who", "lot")
PAIRS = (("started", "good"), ("energy", "hours"))
_HEADER = re.compile(r"^\s*([A-Za-z_][\w ]*?)\s*(?:\[(.*)\])?\s*$")
Row = dict[str, str]


def read_logs(path: Path | str, study: Study) -> tuple[Log, ...]:
    """The logs of a file, one for each input it says something of. Raises InputError with every problem."""
    path, found = Path(path), Found()
    logs: list[Log] = []
    for grid in read_grids(path, found):
        logs += _logs(path, grid, study, found)
    found.stop()
    return tuple(logs)


def _logs(path: Path, grid: Grid, study: Study, found: Found) -> Iterator[Log]:
    header = [_HEADER.match(cell.text) for cell in grid.rows[0]]
    names = [match.group(1).strip().replace(" ", "_") if match else "" for match in header]
    units = {name: (match.group(2) or "").strip() for name, match in zip(names, header, strict=True) if match}
    key = next((name for name in KEYS if name in names), "")
    if not key and "received" in names:
        yield from _delivery_logs(path, study, found)
        return
    if not key or (key == "step" and "route" not in names):
        expected = "columns route and step, or machine, tool or processor; or a delivery log"
        found.add(path, grid.row_place(0), ", ".join(names), expected, "Say what each row is of.")
        return
    by_place: dict[str, list[tuple[str, Row]]] = {}
    for number, cells in enumerate(grid.rows[1:], start=1):
        row = {name: cell.text for name, cell in zip(names, cells, strict=False) if name and cell.text}
        if row:
            address = joined(*(part.format(**{"route": "", key: "", **row}) for part in KEYS[key]))
            by_place.setdefault(address, []).append((grid.row_place(number), row))
    fields = [name for name in units if name not in (key, "route", *FOR_PEOPLE)]
    for address, rows in by_place.items():
        last = _last_day(path, rows, found)
        for log in _of_place(path, address, fields, units, rows, study, found):
            yield log._replace(last=last)


def _last_day(path: Path, rows: list[tuple[str, Row]], found: Found) -> datetime.date | None:
    days = []
    for place, row in rows:
        if "date" in row:
            try:
                days.append(day(row["date"]))
            except QuestionError as error:
                found.add(path, place, row["date"], error.expected, error.remedy)
    return max(days, default=None)


def _delivery_logs(path: Path, study: Study, found: Found) -> Iterator[Log]:
    """Lead time, its spread and rejects at receipt of the supplier whose name the file's name ends with."""
    suppliers = [name for name in study.quotes if path.stem == name or path.stem.endswith(f"-{name}")]
    log = deliveries_of(path, found)
    if log is None:
        return
    if not suppliers:
        expected = f"a file named after a supplier of the study ({', '.join(study.quotes)})"
        found.add(path, "file", path.stem, expected, "Name it so: study-supplier.csv.")
        return
    address = joined("quotes", max(suppliers, key=len))
    days = tuple(
        float((received - ordered).days) for ordered, received in zip(log.ordered, log.received, strict=True)
    )
    last = max(log.received)
    yield Log(f"{address}.lead_time", days, last=last)
    if len(days) > 1:
        yield Log(f"{address}.lead_time_sd", days, of_spread=True, last=last)
    yield Log(f"{address}.rejected_at_receipt", good=sum(log.rejected), tried=sum(log.quantity), last=last)


def _of_place(
    path: Path,
    address: str,
    fields: Iterable[str],
    units: Mapping[str, str],
    rows: list[tuple[str, Row]],
    study: Study,
    found: Found,
) -> Iterator[Log]:
    try:
        owner = value_at(study, address)
    except InputError as error:
        for problem in error.problems:
            found.add(path, rows[0][0], problem.value, problem.expected, problem.remedy)
        return
    paired = {word for pair in PAIRS if all(it in units for it in pair) for word in pair}
    yield from _yield_log(path, address, owner, rows, found) if "good" in paired else ()
    yield from _load_factor_log(path, address, owner, rows, found) if "energy" in paired else ()
    for field in (name for name in fields if name not in paired):
        values = [
            value
            for place, row in rows
            if field in row
            and (value := _value(path, f"{address}.{field}", row[field], units[field], place, study, found))
            is not None
        ]
        if values:
            yield Log(f"{address}.{field}", tuple(values))


def _value(
    path: Path, address: str, text: str, unit: str, place: str, study: Study, found: Found
) -> float | None:
    """A logged value in the canonical unit of its input."""
    try:
        spec = field_quantity(*leaf_field(study, address))
        home = currency_at(study, address, study.rates.year.home_currency)
        bare = re.fullmatch(r"[+-]?[\d.]+(?:[eE][+-]?\d+)?", text)
        value: Any = (
            None if spec is None else spec.check(f"{text} {unit}" if bare and unit else text, home, True)
        )
        return None if value is None else float(value)
    except (InputError, PydanticCustomError) as error:
        found.refused(path, place, error)
    return None


def _numbers(path: Path, rows: list[tuple[str, Row]], word: str, found: Found) -> list[float]:
    numbers = []
    for place, row in rows:
        try:
            numbers.append(float(row.get(word, "").split(" ")[0]))
        except ValueError:
            found.add(path, place, row.get(word, ""), f"a number for {word}", "Fill it in.")
    return numbers


def _yield_log(
    path: Path, address: str, owner: Any, rows: list[tuple[str, Row]], found: Found
) -> Iterator[Log]:
    started, good = (_numbers(path, rows, word, found) for word in ("started", "good"))
    field = "process_yield" if hasattr(owner, "process_yield") else "step_yield"
    if sum(good) > sum(started):
        found.add(path, rows[0][0], f"{sum(good):g} good", f"at most {sum(started):g} started", "Correct it.")
    else:
        yield Log(f"{address}.{field}", good=sum(good), tried=sum(started))


def _load_factor_log(
    path: Path, address: str, owner: Any, rows: list[tuple[str, Row]], found: Found
) -> Iterator[Log]:
    """Energy over hours and the plate's power: the share of it that the machine really draws."""
    energy, hours = (_numbers(path, rows, word, found) for word in ("energy", "hours"))
    shares = [
        used / (ran * float(owner.power)) for used, ran in zip(energy, hours, strict=False) if ran > 0.0
    ]
    if shares:
        yield Log(f"{address}.load_factor", tuple(shares))
