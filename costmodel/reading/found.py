"""Gathers problems while files are read, so that one run names them all."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from costmodel.errors import InputError, Problem
from costmodel.records.faults import problems
from costmodel.records.fields import Record

RecordType = TypeVar("RecordType", bound=Record)


class Found:
    """The problems of every file read so far."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.files: set[Path] = set()
        """Files read together; where two have the same name, problems name their folder too."""

    def shown(self, file: Path) -> str:
        """A file's name, with its folder where another file read with it has the same name."""
        twins = any(other.name == file.name and other != file for other in self.files)
        return f"{file.parent.name}/{file.name}" if twins else file.name

    def add(self, file: Path, place: str, value: str, expected: str, remedy: str) -> None:
        """Note one problem."""
        self.problems.append(Problem(self.shown(file), place, value, expected, remedy))

    def refused(self, file: Path, place: str, error: InputError | PydanticCustomError) -> None:
        """Note under one place of a file what an input's own check refused."""
        for found in error.problems if isinstance(error, InputError) else (error.context or {})["faults"]:
            self.add(file, place, found.value, found.expected, found.remedy)

    def unreadable(self, file: Path, error: OSError) -> None:
        """Note a file that is there and cannot be read: a folder, or one without permission."""
        reason = (error.strerror or type(error).__name__).lower()
        self.add(file, "file", str(file), f"a file to read ({reason})", "Name a file that may be read.")

    def record(
        self,
        kind: type[RecordType],
        raw: object,
        file: Path,
        place: str = "",
        home: str = "",
        *,
        from_file: bool = True,
    ) -> RecordType | None:
        """The record of these raw fields, or None with its problems noted under `place`.

        `from_file` asks for a unit with every quantity that people write; numbers that a program kept have none.
        """
        try:
            return kind.model_validate(raw, context={"from_file": from_file, "home_currency": home})
        except ValidationError as error:
            self.problems += problems(error, self.shown(file), kind.model_fields, place)
        return None

    def stop(self) -> None:
        """Raise InputError with every problem noted so far, if there is one."""
        if self.problems:
            raise InputError(self.problems)


def near_file(path: Path) -> str:
    """The remedy for a file that is not there: the nearest name in its folder."""
    names = [item.name for item in path.parent.glob("*")] if path.parent.is_dir() else []
    near = difflib.get_close_matches(path.name, names, n=1)
    return f'Did you mean "{near[0]}"?' if near else "Correct the path or write the file."
