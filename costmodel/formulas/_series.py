"""What formulas over several stages, periods or alternatives share: their items, counts and 0/0."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._limits import within
from costmodel.units import Number

Series: TypeAlias = Sequence[Number] | npt.NDArray[np.float64]
"""One number for each stage, period or alternative; each may be an array of draws (rows of a 2-D array)."""

ROUNDING_SLACK = 1e-9
"""A quotient this little above a whole number is that number: 3.0000000000000004 lots are three."""


def items(
    name: str,
    series: Series,
    length: int | None = None,
    *,
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
) -> tuple[Number, ...]:
    """The items of a series; LimitError where one is outside the limits, or where their count is wrong."""
    found = tuple(series)
    if not found or length not in (None, len(found)):
        expected = "given at least once" if length is None else f"{length} numbers"
        raise LimitError(name, f"{len(found)} numbers", expected)
    for position, value in enumerate(found, start=1):
        place = f"{name}, number {position},"
        within(place, value, above=above, at_least=at_least, below=below, at_most=at_most)
    return found


def any_number(**values: Number) -> None:
    """Raise LimitError if any named value is not a number."""
    for name, value in values.items():
        within(name, value)


def whole_count(name: str, value: object, at_least: int) -> None:
    """Raise LimitError unless a count is a whole number and not below its least."""
    if isinstance(value, bool) or not isinstance(value, int) or value < at_least:
        raise LimitError(name, repr(value), f"a whole number, at least {at_least}")


def in_order(low: Number, likely: Number, high: Number, name: str = "likely") -> None:
    """Raise LimitError unless the middle one of three values lies between the others."""
    any_number(low=low, likely=likely, high=high)
    if np.any(np.less(likely, low)) or np.any(np.greater(likely, high)):
        raise LimitError(name, likely, "between the low and the high value")


def adding_to_one(name: str, total: Number) -> None:
    """Raise LimitError unless chances add up to 1."""
    if np.any(np.greater(np.abs(total - 1.0), ROUNDING_SLACK)):
        raise LimitError(name, total, "adding up to 1")


def whole_up(quantity: Number) -> Number:
    """The next whole number at or above a quantity."""
    result: Number = np.ceil(quantity - ROUNDING_SLACK) + 0.0  # + 0.0 turns -0.0 into 0.0
    return result


def whole_down(quantity: Number) -> Number:
    """The next whole number at or below a quantity."""
    result: Number = np.floor(quantity + ROUNDING_SLACK)
    return result


def quotient(numerator: Number, denominator: Number, limit: Number) -> Number:
    """numerator / denominator, and `limit` where the denominator is zero."""
    zero = np.equal(denominator, 0.0)
    result: Number = np.where(zero, limit, numerator / np.where(zero, 1.0, denominator))[()]
    return result
