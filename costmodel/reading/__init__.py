"""TOML and CSV files to records. The only module that opens input files.

Every problem of every file of a study is found and reported together, each with its file, its place, what
was found, what was expected and how to mend it.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from pydantic import Field
from pydantic_core import PydanticCustomError

from costmodel.errors import InputError
from costmodel.reading.found import Found, near_file
from costmodel.reading.rate_folder import check_seal
from costmodel.reading.tables import read_quote_rows, read_table
from costmodel.records.address import currency_at, field_quantity, leaf_field
from costmodel.records.faults import joined
from costmodel.records.fields import Named, Record
from costmodel.records.part import Part
from costmodel.records.quote import Quote
from costmodel.records.rates import Rates, RateYear, rate_tables
from costmodel.records.study import Study, StudyHead

Raw = dict[str, Any]
Given = str | int | float | bool

_SPREADS = {
    frozenset({"low", "likely", "high"}): "pert",
    frozenset({"p10", "p50", "p90"}): "three-point",
    frozenset({"mean", "sd"}): "normal",
    frozenset({"low", "high"}): "uniform",
}


class StudyFile(StudyHead):
    """A study as its file states it: other files by path, uncertainty and scenarios as text with units."""

    part: str
    rates: str
    quotes: str
    uncertainty: dict[str, dict[str, Given]] = Field(default_factory=dict)
    scenarios: list[dict[str, Any]] = Field(default_factory=list)


def read_part(path: Path | str, home_currency: str) -> Part:
    """A part and its routes from a TOML file; money in it is in `home_currency`. Raises InputError."""
    found = Found()
    part = _part(Path(path), home_currency, found)
    found.stop()
    assert part is not None
    return part


def read_rates(folder: Path | str) -> Rates:
    """All tables of a year's folder: year.toml and one CSV a table. Raises InputError."""
    found = Found()
    rates = _rates(Path(folder), found)
    found.stop()
    assert rates is not None
    return rates


def read_quotes(path: Path | str, home_currency: str) -> Named[Quote]:
    """The quotes of a CSV file, one row a supplier and quantity break. Raises InputError.

    Prices are in each offer's own currency, what we spend ourselves on a supplier in `home_currency`.
    """
    found = Found()
    quotes = read_quote_rows(Path(path), home_currency, found)
    found.stop()
    return quotes


def read_study(path: Path | str) -> Study:
    """A study and every file it names. Raises InputError with the problems of all of them."""
    path = Path(path)
    found = Found()
    raw = _toml(path, found)
    home = _home_currency(path, raw)
    if raw is not None and not home:
        _without_home(path, raw, found)
    head = found.record(StudyFile, raw, path, home=home) if raw is not None else None
    if head is None:
        found.stop()
        raise AssertionError("a study without a head has problems")
    rates = _rates(path.parent / head.rates, found)
    part = _part(path.parent / head.part, home, found)
    quotes = read_quote_rows(path.parent / head.quotes, home, found)
    found.stop()
    fields = {name: getattr(head, name) for name in StudyHead.model_fields}
    study = found.record(Study, {**fields, "part": part, "rates": rates, "quotes": quotes}, path)
    found.stop()
    assert study is not None
    complete = {
        "uncertainty": _uncertainty(study, head, path, found),
        "scenarios": _scenarios(study, head, path, found),
    }
    found.stop()
    result = found.record(Study, {**study.__dict__, **complete}, path)
    found.stop()
    assert result is not None
    return result


def _toml(path: Path, found: Found) -> Raw | None:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        found.add(path, "file", str(path), "a file that exists", near_file(path))
    except OSError as error:
        found.unreadable(path, error)
    except tomllib.TOMLDecodeError as error:
        found.add(path, "file", "", f"valid TOML ({error})", "Mend the line that it names.")
    except UnicodeDecodeError:
        found.add(path, "file", "", "text in UTF-8", "Save the file as UTF-8.")
    return None


def _without_home(path: Path, raw: Raw, found: Found) -> None:
    """Say why there is no home currency, and nothing else: without it no price can be read."""
    folder = raw.get("rates")
    if isinstance(folder, str):
        _rates(path.parent / folder, found)
    else:
        found.add(path, "rates", "", "the folder of a year's rates", 'Write rates = "../rates/2026", say.')
    found.stop()


def _home_currency(path: Path, raw: Raw | None) -> str:
    folder = (raw or {}).get("rates")
    year = path.parent / folder / "year.toml" if isinstance(folder, str) else None
    if year is None or not year.is_file():
        return ""
    try:
        return str(tomllib.loads(year.read_text(encoding="utf-8-sig")).get("home_currency", ""))
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError):
        return ""


def _part(path: Path, home: str, found: Found) -> Part | None:
    raw = _toml(path, found)
    return None if raw is None else found.record(Part, raw, path, home=home)


def _rates(folder: Path, found: Found) -> Rates | None:
    before = len(found.problems)
    raw = _toml(folder / "year.toml", found)
    year = None if raw is None else found.record(RateYear, raw, folder / "year.toml")
    if year is None:
        return None
    tables = {
        name: read_table(folder / f"{name}.csv", kind, year.home_currency, found)
        for name, kind in rate_tables().items()
    }
    check_seal(folder, found)
    if len(found.problems) > before:
        return None
    return found.record(Rates, {"year": year, **tables}, folder / "year.toml")


def _uncertainty(study: Study, head: StudyFile, path: Path, found: Found) -> dict[str, Raw]:
    table: dict[str, Raw] = {}
    for address, spread in head.uncertainty.items():
        place = joined("uncertainty", address)
        numbers = {
            key: value for key, value in spread.items() if key not in ("shape", "source", "owner", "status")
        }
        words = {key: value for key, value in spread.items() if key not in numbers}
        shape = _SPREADS.get(frozenset(numbers))
        if not _may_vary(study, address):
            expected = "a number that may vary"
            found.add(
                path, place, "", expected, "Make a scenario of it: counts, names and dates take one value."
            )
            continue
        if shape is None:
            expected = "low, likely, high; or p10, p50, p90; or mean, sd; or low, high"
            found.add(path, place, ", ".join(numbers), expected, "State one of these sets.")
            continue
        converted = {
            key: _canonical(study, address, value, f"{place}.{key}", path, found)
            for key, value in numbers.items()
        }
        table[address] = {"name": address, "shape": shape, **words, **converted}
    return table


def _may_vary(study: Study, address: str) -> bool:
    """Whether draws may go to an address; one that does not exist is told later, with what does."""
    try:
        return field_quantity(*leaf_field(study, address)) is not None
    except InputError:
        return True


def _scenarios(study: Study, head: StudyFile, path: Path, found: Found) -> list[Raw]:
    table: list[Raw] = []
    for scenario in head.scenarios:
        place = f"scenarios.{scenario.get('name', '')}"
        inputs = scenario.get("inputs", {})
        if not isinstance(inputs, dict):
            expected = "a table of inputs by address"
            found.add(path, f"{place}.inputs", str(inputs), expected, "Write it as [scenarios.inputs].")
            continue
        before = len(found.problems)
        converted = {
            address: _canonical(study, address, value, place, path, found)
            for address, value in inputs.items()
        }
        if len(found.problems) == before:
            _try_scenario(study, converted, place, path, found)
        table.append({**scenario, "inputs": converted})
    return table


def _try_scenario(study: Study, inputs: Raw, place: str, path: Path, found: Found) -> None:
    """Note what the study would refuse of a scenario, so that it is known before anybody asks for it."""
    try:
        study.with_inputs(inputs)
    except InputError as error:
        for problem in error.problems:
            value = f"{problem.place} {problem.value}".strip()
            found.add(path, place, value, problem.expected, problem.remedy)


def _canonical(
    study: Study, address: str, value: Given, place: str, path: Path, found: Found
) -> Given | None:
    """The value in the unit of its address, so that ranges are checked like the input itself."""
    try:
        record, field = leaf_field(study, address)
        spec = field_quantity(record, field)
        if spec is None:
            return value
        checked = spec.check(
            value, currency_at(study, address, study.rates.year.home_currency), from_file=True
        )
        return None if checked is None else float(checked)
    except InputError as error:
        for problem in error.problems:
            found.add(path, place, problem.value, problem.expected, problem.remedy)
    except PydanticCustomError as error:
        for fault in (error.context or {})["faults"]:
            found.add(path, place, fault.value, fault.expected, fault.remedy)
    return None


def json_schema(kind: str) -> dict[str, Any]:
    """The JSON Schema of a TOML file, "part", "study" or "year", so that an editor completes it."""
    records: dict[str, type[Record]] = {"part": Part, "study": StudyFile, "year": RateYear}
    schema = records[kind].model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
