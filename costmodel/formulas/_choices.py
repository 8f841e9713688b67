"""Worded choices, tables given as two sequences, and a choice between two numbers that broadcasts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.units import Number

ROUNDING_GUARD = 1e-9


def one_of(name: str, value: str, choices: Sequence[str]) -> None:
    """Raise LimitError unless the word is one of the choices."""
    if value not in choices:
        raise LimitError(name, f'"{value}"', "one of " + ", ".join(f'"{choice}"' for choice in choices))


def same_length(**sequences: Sequence[Any] | npt.NDArray[np.float64]) -> None:
    """Raise LimitError unless the named sequences have one length and hold something."""
    lengths = {name: len(sequence) for name, sequence in sequences.items()}
    if len(set(lengths.values())) != 1 or 0 in lengths.values():
        raise LimitError(" and ".join(lengths), tuple(lengths.values()), "of one length, at least 1")


def rising(name: str, values: Sequence[Number]) -> None:
    """Raise LimitError unless every value is above the one before it."""
    for before, after in pairwise(values):
        if not np.all(np.greater(after, before)):
            raise LimitError(name, f"{after} after {before}", "in rising order")


def not_above(name: str, value: Number, limit_name: str, limit: Number) -> None:
    """Raise LimitError if any element of the value is above its limit."""
    if type(value) is float and type(limit) is float and value <= limit:
        return
    if not np.all(np.less_equal(value, limit)):
        raise LimitError(name, value, f"at most {limit_name} ({limit})")


def choose(condition: Any, where_true: Number, where_false: Number) -> Number:
    """`where_true` or `where_false` by element; a float stays a float."""
    chosen: Number = np.where(condition, where_true, where_false)[()]
    return chosen


def whole_steps(value: Number, step: Number) -> Number:
    """How many whole steps cover the value; a rounding error above a whole number does not add one."""
    steps: Number = np.ceil(value / step - ROUNDING_GUARD)
    return steps
