"""Ranges and scenarios of a study file to records: their numbers in the unit of the address they belong to."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from costmodel.errors import InputError
from costmodel.reading.found import Found
from costmodel.records.address import currency_at, field_quantity, leaf_field, tokens
from costmodel.records.faults import joined
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.records.used_rows import rates_ranges

Raw = dict[str, Any]
Given = str | int | float | bool
Spread = Given | list[Given]

_WORDS = ("shape", "source", "owner", "status")
_SPREADS = {
    frozenset({"low", "likely", "high"}): ("pert", "triangular"),
    frozenset({"p10", "p50", "p90"}): ("three-point",),
    frozenset({"mean", "sd"}): ("normal", "lognormal"),
    frozenset({"sd"}): ("normal", "lognormal"),
    frozenset({"low", "high"}): ("uniform", "pert", "triangular"),
    frozenset({"values", "chances"}): ("discrete",),
    frozenset({"log"}): ("measured",),
}
"""What numbers are given: the shapes they may describe, the first one where none is named."""
_EXPECTED = (
    "low, likely, high; or p10, p50, p90; or mean, sd; or sd; or low, high; or values, chances; or log"
)


def read_uncertainty(
    study: Study, given: Mapping[str, Mapping[str, Spread]], path: Path, found: Found
) -> dict[str, Raw | Uncertain]:
    """The ranges that a file states, and those of the rates rows that it leaves to them."""
    table: dict[str, Raw | Uncertain] = {**read_ranges(study, given, "uncertainty", path, found)}
    if study.ranges_from_rates and not found.problems:
        stated = {tokens(address) for address in table}
        ranges = rates_ranges(study)
        table |= {name: spread for name, spread in ranges.items() if tokens(name) not in stated}
    return table


def read_ranges(
    study: Study, given: Mapping[str, Mapping[str, Spread]], table: str, path: Path, found: Found
) -> dict[str, Raw]:
    """The ranges of one table of a file by address, their numbers in the unit of the address."""
    ranges = {
        address: _spread(study, address, spread, joined(table, address), path, found)
        for address, spread in given.items()
    }
    return {address: raw for address, raw in ranges.items() if raw is not None}


def _spread(
    study: Study, address: str, spread: Mapping[str, Spread], place: str, path: Path, found: Found
) -> Raw | None:
    if not _may_vary(study, address):
        remedy = "Make a scenario of it: counts, names and dates take one value."
        found.add(path, place, "", "a number that may vary", remedy)
        return None
    words = {key: value for key, value in spread.items() if key in _WORDS}
    numbers = {key: value for key, value in spread.items() if key not in words}
    shapes = _SPREADS.get(frozenset(numbers))
    if shapes is None:
        found.add(path, place, ", ".join(numbers), _EXPECTED, "State one of these sets.")
        return None
    if words.setdefault("shape", shapes[0]) not in shapes:
        near = difflib.get_close_matches(str(words["shape"]), shapes, n=1)
        remedy = (
            f'Did you mean "{near[0]}"?' if near else "Choose one of these, or give the numbers it takes."
        )
        found.add(
            path,
            f"{place}.shape",
            str(words["shape"]),
            f"one of {', '.join(shapes)} for these numbers",
            remedy,
        )
        return None
    converted = {
        key: value if key == "chances" else _converted(study, address, value, f"{place}.{key}", path, found)
        for key, value in numbers.items()
    }
    return {"name": address, **words, **converted}


def _converted(study: Study, address: str, value: Spread, place: str, path: Path, found: Found) -> Any:
    if isinstance(value, list):
        return [canonical(study, address, item, place, path, found) for item in value]
    return canonical(study, address, value, place, path, found)


def _may_vary(study: Study, address: str) -> bool:
    """Whether draws may go to an address; one that does not exist is told later, with what does."""
    try:
        return field_quantity(*leaf_field(study, address)) is not None
    except InputError:
        return True


def read_scenarios(study: Study, given: list[Raw], path: Path, found: Found) -> list[Raw]:
    """The scenarios of a file, each input in the unit of its address."""
    table: list[Raw] = []
    for scenario in given:
        place = f"scenarios.{scenario.get('name', '')}"
        inputs = scenario.get("inputs", {})
        if not isinstance(inputs, dict):
            expected = "a table of inputs by address"
            found.add(path, f"{place}.inputs", str(inputs), expected, "Write it as [scenarios.inputs].")
            continue
        before = len(found.problems)
        converted = {
            address: canonical(study, address, value, place, path, found) for address, value in inputs.items()
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


def canonical(study: Study, address: str, value: Given, place: str, path: Path, found: Found) -> Given | None:
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
    except (InputError, PydanticCustomError) as error:
        found.refused(path, place, error)
    return None
