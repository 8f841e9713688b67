"""Range checks of the formulas: the same strictness for one number and for an array of draws."""

from __future__ import annotations

import numpy as np

from costmodel.errors import LimitError
from costmodel.units import Number


def _holds(
    value: Number, above: float | None, at_least: float | None, below: float | None, at_most: float | None
) -> bool:
    """Whether every element lies within the limits; NaN lies within none."""
    if not isinstance(value, np.ndarray):
        return bool(
            value == value
            and (above is None or value > above)
            and (at_least is None or value >= at_least)
            and (below is None or value < below)
            and (at_most is None or value <= at_most)
        )
    checks = ((np.greater, above), (np.greater_equal, at_least), (np.less, below), (np.less_equal, at_most))
    stated = [(compare, limit) for compare, limit in checks if limit is not None]
    if not stated:
        return not np.any(np.isnan(value))
    return all(np.logical_and.reduce(compare(value, limit), axis=None) for compare, limit in stated)


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
    if not _holds(value, above, at_least, below, at_most):
        limits = (("above", above), ("at least", at_least), ("below", below), ("at most", at_most))
        expected = " and ".join(f"{word} {limit:g}" for word, limit in limits if limit is not None)
        shown = f"{value.min():g} to {value.max():g}" if isinstance(value, np.ndarray) else value
        raise LimitError(name, shown, expected or "a number")


def positive(**values: Number) -> None:
    """Raise LimitError unless every named value is above zero."""
    for name, value in values.items():
        if type(value) is not float or not value > 0.0:  # one plain number needs no further look
            within(name, value, above=0.0)


def not_negative(**values: Number) -> None:
    """Raise LimitError if any named value is below zero."""
    for name, value in values.items():
        if type(value) is not float or not value >= 0.0:
            within(name, value, at_least=0.0)


def fraction(**values: Number) -> None:
    """Raise LimitError unless every named value lies from 0 to 1."""
    for name, value in values.items():
        if type(value) is not float or not 0.0 <= value <= 1.0:
            within(name, value, at_least=0.0, at_most=1.0)
