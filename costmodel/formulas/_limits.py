"""Range checks of the formulas: the same strictness for one number and for an array of draws."""

from __future__ import annotations

import numpy as np

from costmodel.errors import LimitError
from costmodel.units import Number


def _extremes(value: Number) -> tuple[float, float]:
    if isinstance(value, np.ndarray):
        return (float(value.min()), float(value.max())) if value.size else (0.0, 0.0)
    return value, value


def within(
    name: str,
    value: Number,
    *,
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
) -> None:
    """Raise LimitError unless every element of `value` lies in the stated range; NaN never does."""
    low, high = _extremes(value)
    inside = (
        low == low
        and (above is None or low > above)
        and (at_least is None or low >= at_least)
        and (below is None or high < below)
        and (at_most is None or high <= at_most)
    )
    if not inside:
        limits = (("above", above), ("at least", at_least), ("below", below), ("at most", at_most))
        expected = " and ".join(f"{word} {limit:g}" for word, limit in limits if limit is not None)
        shown = f"{low:g} to {high:g}" if isinstance(value, np.ndarray) else value
        raise LimitError(name, shown, expected or "a number")


def positive(**values: Number) -> None:
    """Raise LimitError unless every named value is above zero."""
    for name, value in values.items():
        within(name, value, above=0.0)


def not_negative(**values: Number) -> None:
    """Raise LimitError if any named value is below zero."""
    for name, value in values.items():
        within(name, value, at_least=0.0)


def fraction(**values: Number) -> None:
    """Raise LimitError unless every named value lies from 0 to 1."""
    for name, value in values.items():
        within(name, value, at_least=0.0, at_most=1.0)
