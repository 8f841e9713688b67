"""What can be wrong with an input, said so that its owner can mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One fault in one place of one input.

    ``file`` names the file (or "study" for a value given in Python), ``place`` the row, key or cell,
    ``value`` what stands there, ``expected`` what should, ``remedy`` the nearest way to mend it.
    """

    file: str
    place: str
    value: str
    expected: str
    remedy: str

    def __str__(self) -> str:
        found = f" found {self.value};" if self.value else ""
        return f"{self.file}: {self.place}:{found} expected {self.expected}. {self.remedy}"


class InputError(Exception):
    """Every problem found in one reading, raised together."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class LimitError(ValueError):
    """An argument of a formula outside the range for which the formula holds."""

    def __init__(self, name: str, value: object, expected: str) -> None:
        self.name = name
        self.value = value
        self.expected = expected
        super().__init__(f"{name} must be {expected}, got {value}")


LEAST_DRAWS = 64


def check_draws(draws: int, field: str) -> None:
    """Raise InputError where a count of draws is no power of two, or too small for a range."""
    if draws < LEAST_DRAWS or draws & (draws - 1):
        expected = f"a power of two, {LEAST_DRAWS} or more"
        near = max(LEAST_DRAWS, 1 << max(1, draws).bit_length())
        raise InputError([Problem("command line", field, f"{draws}", expected, f"Take {near}, say.")])
