"""What an operation can give when its arguments lie within known bounds: enough to prove a limit once for all draws."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np


class Interval(NamedTuple):
    """Least and greatest value; for a question, 0 where the answer may be no and 1 where it may be yes."""

    low: float
    high: float


WHOLE = Interval(-np.inf, np.inf)
"""Anything, a value that is not a number included."""
Rule = Callable[..., Interval]
NO, YES, EITHER = Interval(0.0, 0.0), Interval(1.0, 1.0), Interval(0.0, 1.0)


def _hull(*values: float) -> Interval:
    # A value that is not a number is not equal to itself.
    return WHOLE if any(value != value for value in values) else Interval(min(values), max(values))


def _add(one: Interval, other: Interval) -> Interval:
    return _hull(one.low + other.low, one.high + other.high)


def _subtract(one: Interval, other: Interval) -> Interval:
    return _hull(one.low - other.high, one.high - other.low)


def _multiply(one: Interval, other: Interval) -> Interval:
    (a, b), (c, d) = one, other
    return _hull(a * c, a * d, b * c, b * d)


def _divide(one: Interval, other: Interval) -> Interval:
    (a, b), (c, d) = one, other
    return WHOLE if c <= 0.0 <= d else _hull(a / c, a / d, b / c, b / d)


def _minimum(one: Interval, other: Interval) -> Interval:
    return _hull(min(one.low, other.low), min(one.high, other.high))


def _maximum(one: Interval, other: Interval) -> Interval:
    return Interval(max(one.low, other.low), max(one.high, other.high))


def _negative(one: Interval) -> Interval:
    return Interval(-one.high, -one.low)


def _absolute(one: Interval) -> Interval:
    high = max(abs(one.low), abs(one.high))
    return Interval(0.0 if one.low <= 0.0 <= one.high else min(abs(one.low), abs(one.high)), high)


def _square(one: Interval) -> Interval:
    return _multiply(*(2 * (_absolute(one),)))


def _rising(function: np.ufunc, above: float = -np.inf, *, closed: bool = False) -> Rule:
    def bounds(one: Interval) -> Interval:
        if one.low > above or (closed and one.low == above):
            return _hull(float(function(one.low)), float(function(one.high)))
        return WHOLE

    return bounds


def _less(one: Interval, other: Interval) -> Interval:
    return YES if one.high < other.low else NO if one.low >= other.high else EITHER


def _less_equal(one: Interval, other: Interval) -> Interval:
    return YES if one.high <= other.low else NO if one.low > other.high else EITHER


def _equal(one: Interval, other: Interval) -> Interval:
    if one.high < other.low or one.low > other.high:
        return NO
    return YES if one.low == one.high == other.low == other.high else EITHER


def _not(one: Interval) -> Interval:
    return Interval(1.0 - one.high, 1.0 - one.low)


def _choice(condition: Interval, yes: Interval, no: Interval) -> Interval:
    if condition in (YES, NO):
        return yes if condition == YES else no
    return Interval(min(yes.low, no.low), max(yes.high, no.high))


_RULES: dict[Any, Rule] = {
    np.add: _add,
    np.subtract: _subtract,
    np.multiply: _multiply,
    np.divide: _divide,
    np.minimum: _minimum,
    np.maximum: _maximum,
    np.negative: _negative,
    np.absolute: _absolute,
    np.square: _square,
    np.sqrt: _rising(np.sqrt, 0.0, closed=True),
    np.exp: _rising(np.exp),
    np.expm1: _rising(np.expm1),
    np.log: _rising(np.log, 0.0),
    np.log1p: _rising(np.log1p, -1.0),
    np.ceil: _rising(np.ceil),
    np.floor: _rising(np.floor),
    np.less: _less,
    np.less_equal: _less_equal,
    np.greater: lambda one, other: _less(other, one),
    np.greater_equal: lambda one, other: _less_equal(other, one),
    np.equal: _equal,
    np.not_equal: lambda one, other: _not(_equal(one, other)),
    np.logical_not: _not,
    np.invert: _not,
    np.isnan: lambda one: EITHER if one == WHOLE else NO,
    np.where: _choice,
}


def interval_of(operation: Any, arguments: Sequence[Any]) -> Interval:
    """Bounds of an operation's result; everything where there is no rule for it.

    Arguments are intervals or constants. Bounds are rounded as the values themselves are, and rounding never
    turns two values round: they hold for every element.
    """
    rule = _RULES.get(operation) or _BY_NAME.get(getattr(operation, "__name__", ""))
    if rule is None:
        return WHOLE
    given = [value if isinstance(value, Interval) else Interval(value, value) for value in arguments]
    if WHOLE in given and operation is not np.where:
        return EITHER if operation in _QUESTIONS else WHOLE
    found: Interval = rule(*given)
    return found


def _share(*_: Interval) -> Interval:
    return Interval(0.0, 1.0)


_BY_NAME: dict[str, Rule] = dict.fromkeys(("ndtr", "gammainc", "gammaincc", "betainc"), _share)
"""Chances, by the names of functions that are imported only where they are used."""
_QUESTIONS = {np.less, np.less_equal, np.greater, np.greater_equal, np.equal, np.not_equal, np.isnan}
