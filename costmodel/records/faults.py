"""Faults found inside records, and their way to the person who wrote the file."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import PydanticCustomError

from costmodel.errors import Problem


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


def joined(*parts: str) -> str:
    """A dotted address of the parts that are not empty; a part with a dot is quoted, as in TOML."""
    return ".".join(f'"{part}"' if "." in part and part != "." else part for part in parts if part)


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


TABLES_OF_KINDS = ("steps", "cuts")


def _without_kinds(location: tuple[str | int, ...]) -> list[str]:
    """The parts of a place as the file has them: pydantic adds the kind after the name of a step or a cut."""
    parts = [str(part) for part in location]
    return [
        part for number, part in enumerate(parts) if number < 2 or parts[number - 2] not in TABLES_OF_KINDS
    ]


def _explained(item: Any, place: str, shown: str, known: tuple[str, ...]) -> Fault:
    kind, context = item["type"], item.get("ctx", {})
    if kind == "missing":
        return Fault("", "", "this field", f"Add {place.rpartition('.')[2]}; nothing stands for it.")
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
        return Fault(
            "",
            "",
            f"a {context.get('discriminator')}",
            f"Add {context.get('discriminator')} to say what it is.",
        )
    if kind.startswith("date"):
        return Fault("", shown, "a date", "Write it as ISO 8601, such as 2026-03-31.")
    if kind == "string_pattern_mismatch":
        return Fault("", shown, "a name of letters, digits, dots, dashes", "Take out spaces and other signs.")
    message = item["msg"].removeprefix("Input should be ")
    return Fault("", shown, message, "Correct the value.")
