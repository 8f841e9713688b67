"""Faults found inside records, and their way to the person who wrote the file."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

import numpy as np
from pydantic import BaseModel, ValidationError
from pydantic_core import PydanticCustomError

from costmodel.errors import Problem
from costmodel.units import Number


@dataclass(frozen=True)
class Fault:
    """One thing wrong inside a record; whoever knows the file and the place makes it a Problem."""

    place: str
    value: str
    expected: str
    remedy: str


def faults_error(*faults: Fault) -> PydanticCustomError:
    """The pydantic error that carries faults to the reader."""
    return PydanticCustomError("faults", "{faults}", {"faults": faults})


def range_shown(value: Number) -> str:
    """A number in a message, or the range of an array of draws."""
    low, high = np.min(value), np.max(value)
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def joined(*parts: str) -> str:
    """A dotted address of the parts that are not empty; a part with a dot is quoted, as in TOML."""
    return ".".join(_quoted(part) if "." in part else part for part in parts if part)


def _quoted(part: str) -> str:
    return f"'{part}'" if '"' in part else f'"{part}"'


def problems(error: ValidationError, file: str, known: Iterable[str] = (), prefix: str = "") -> list[Problem]:
    """Every fault of a pydantic error as a Problem of `file`, its place a dotted address after `prefix`."""
    return [
        Problem(
            file,
            ".".join(part for part in (prefix, place) if part),
            fault.value,
            fault.expected,
            fault.remedy,
        )
        for item in error.errors(include_url=False)
        for place, fault in _faults(item, tuple(known))
    ]


def _faults(item: Any, known: tuple[str, ...]) -> Iterator[tuple[str, Fault]]:
    place = joined(*_without_kinds(item["loc"]))
    if item["type"] == "faults":
        for fault in item["ctx"]["faults"]:
            yield ".".join(part for part in (place, fault.place) if part), fault
        return
    shown = "" if isinstance(item["input"], (dict, list, BaseModel)) else str(item["input"])
    yield place, _explained(item, place, shown, known)


CURRENCY_CODE = r"^[A-Z]{3}$"
NEEDED = "this field"
"""What is expected where a field that must be stated is missing."""
TABLES_OF_KINDS = ("steps", "cuts")


def _without_kinds(location: tuple[str | int, ...]) -> list[str]:
    """The parts of a place as the file has them: pydantic adds the kind after the name of a step or a cut."""
    parts = iter(str(part) for part in location)
    kept: list[str] = []
    for part in parts:
        kept.append(part)
        if part in ("routes", *TABLES_OF_KINDS):
            kept += islice(parts, 1)  # a name, which may itself be "cuts"
        if part in TABLES_OF_KINDS:
            next(parts, None)
    return kept


def _explained(item: Any, place: str, shown: str, known: tuple[str, ...]) -> Fault:
    kind, context = item["type"], item.get("ctx", {})
    if kind == "missing":
        return Fault("", "", NEEDED, f"Add {place.rpartition('.')[2]}; nothing stands for it.")
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(place.rpartition(".")[2], known, n=1)
        remedy = f'Did you mean "{near[0]}"?' if near else "Take it out or correct its name."
        return Fault("", "", "a known field", remedy)
    if kind in ("literal_error", "union_tag_invalid"):
        choices = str(context.get("expected") or context.get("expected_tags"))
        tag = str(context.get("tag", shown))
        near = difflib.get_close_matches(tag, choices.replace("'", "").replace(",", " ").split(), n=1)
        return Fault("", tag, choices, f'Did you mean "{near[0]}"?' if near else "Choose one of these.")
    if kind == "union_tag_not_found":
        field = str(context.get("discriminator")).strip("'")
        return Fault("", "", f"a {field}", f"Add {field} to say what it is.")
    if kind.startswith("date"):
        return Fault("", shown, "a date", "Write it as ISO 8601, such as 2026-03-31.")
    if kind == "string_pattern_mismatch" and context.get("pattern") == CURRENCY_CODE:
        return Fault(
            "", shown, "the three capital letters of a currency", "Write it as in ISO 4217: USD, EUR."
        )
    if kind == "string_pattern_mismatch":
        return Fault("", shown, "a name of letters, digits, dots, dashes", "Take out spaces and other signs.")
    message = item["msg"].removeprefix("Input should be ")
    return Fault("", shown, message, "Correct the value.")
