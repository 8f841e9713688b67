"""Learning curves: each doubling of the number made lowers the time to a fixed share, the learning rate.

Two curves share the name. Crawford: the time of the UNIT falls by the rate at each doubling. Wright: the
cumulative AVERAGE does. At the same rate they differ by about 30 % in total after a hundred units, so the
model is an argument.
Learning belongs to hands-on work and set-ups; programmed machine minutes do not learn until they are
programmed anew.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import positive, within
from costmodel.formulas._series import whole_down
from costmodel.units import Number

LearningModel = Literal["crawford", "wright"]

SHIFT = 10
"""Units summed one by one before the Euler-Maclaurin expansion takes over."""
BERNOULLI_TERMS = (1.0 / 12.0, -1.0 / 720.0, 1.0 / 30240.0, -1.0 / 1209600.0)
"""Bernoulli numbers B2, B4, B6, B8 divided by the factorials of 2, 4, 6, 8."""


def _check_rate(rate: Number) -> None:
    # at 50 % the second unit takes no time at all on Wright's curve
    within("rate", rate, above=0.5, at_most=1.0)


def _to_power(base: Number, exponent: Number) -> Number:
    result: Number = np.power(base, exponent)
    return result


def learning_exponent(rate: Number) -> Number:
    """Exponent of a learning curve.

    b = log2(rate)

    Parameters
    ----------
    rate
        Learning rate [fraction], above 0.5 and at most 1; 1 is no learning.

    Returns
    -------
    Number
        Exponent [-], <= 0, shape of the rate.

    Raises
    ------
    LimitError
        A rate outside its range.

    References
    ----------
    T. P. Wright, Factors affecting the cost of airplanes, 1936 (from memory).
    """
    _check_rate(rate)
    return np.log2(rate)


def _power_sum(exponent: Number, from_unit: Number, to_unit: Number) -> Number:
    """Sum of k^exponent for k = from..to by Euler-Maclaurin; broadcasts, and is exact to about 1e-13."""
    total: Number = 0.0 * exponent
    for step in range(SHIFT):
        total = total + _to_power(from_unit + step, exponent) - _to_power(to_unit + 1.0 + step, exponent)
    low, high = from_unit + float(SHIFT), to_unit + 1.0 + SHIFT
    over = exponent + 1.0
    low_power, high_power = _to_power(low, exponent), _to_power(high, exponent)
    total = total + low * low_power * np.expm1(over * np.log(high / low)) / over
    total = total + (low_power - high_power) / 2.0
    slope, order = exponent, 1
    for term in BERNOULLI_TERMS:
        total = total + term * slope * (
            high_power / _to_power(high, order) - low_power / _to_power(low, order)
        )
        slope = slope * (exponent - order) * (exponent - order - 1.0)
        order += 2
    return total


def unit_time(
    first: Number, rate: Number, unit: Number, model: LearningModel = "crawford", floor: Number = 0.0
) -> Number:
    """Time of one unit.

    Crawford: t1 n^b. Wright: t1 (n^(1+b) - (n-1)^(1+b)). Never below the floor that a machine or a rule sets.

    Parameters
    ----------
    first
        Time of the first unit [min], > 0.
    rate
        Learning rate [fraction], above 0.5 and at most 1.
    unit
        Number of the unit in the order made [-], >= 1.
    model
        "crawford" (default) or "wright" [-].
    floor
        Least time of a unit [min], >= 0.

    Returns
    -------
    Number
        Time of the unit [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or an unknown model.

    References
    ----------
    W. J. Stevenson, Operations Management 14e, p. 340 (unit curve); learning-curve course text (average
    curve).
    """
    positive(first=first)
    within("unit", unit, at_least=1.0)
    within("floor", floor, at_least=0.0)
    one_of("model", model, get_args(LearningModel))
    exponent = learning_exponent(rate)
    if model == "crawford":
        learned = first * _to_power(unit, exponent)
    else:
        learned = first * (_to_power(unit, 1.0 + exponent) - _to_power(unit - 1.0, 1.0 + exponent))
    return np.maximum(learned, floor)


def block_time(
    first: Number, rate: Number, from_unit: Number, to_unit: Number, model: LearningModel = "crawford"
) -> Number:
    """Time of a block of units, the last one included.

    Crawford: t1 x sum of k^b. Wright: t1 (n^(1+b) - (m-1)^(1+b)). The time given is that of the FIRST unit
    ever made, whatever unit the block begins with (see `first_unit_time`).

    Parameters
    ----------
    first
        Time of the first unit [min], > 0.
    rate
        Learning rate [fraction], above 0.5 and at most 1.
    from_unit
        First unit of the block [-], >= 1.
    to_unit
        Last unit of the block [-], >= from_unit.
    model
        "crawford" (default) or "wright" [-].

    Returns
    -------
    Number
        Time of the block [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, a block that ends before it begins, or an unknown model.

    References
    ----------
    AFIT learning-curve vignette (block of units under both models).
    """
    positive(first=first)
    within("from_unit", from_unit, at_least=1.0)
    within("to_unit", to_unit, at_least=1.0)
    if np.any(np.less(to_unit, from_unit)):
        raise LimitError("to_unit", to_unit, "at least from_unit")
    one_of("model", model, get_args(LearningModel))
    exponent = learning_exponent(rate)
    if model == "crawford":
        return first * _power_sum(exponent, from_unit, to_unit)
    return first * (_to_power(to_unit, 1.0 + exponent) - _to_power(from_unit - 1.0, 1.0 + exponent))


def total_time(first: Number, rate: Number, units: Number, model: LearningModel = "crawford") -> Number:
    """Time of all units from the first on.

    Crawford: t1 x sum of k^b for k = 1..n. Wright: t1 n^(1+b).

    Parameters
    ----------
    first
        Time of the first unit [min], > 0.
    rate
        Learning rate [fraction], above 0.5 and at most 1.
    units
        Number of units [-], >= 1.
    model
        "crawford" (default) or "wright" [-].

    Returns
    -------
    Number
        Total time [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or an unknown model.

    References
    ----------
    W. J. Stevenson, Operations Management 14e, p. 340 (unit curve); learning-curve course text (average
    curve).
    """
    within("units", units, at_least=1.0)
    return block_time(first, rate, 1.0, units, model)


def average_time(first: Number, rate: Number, units: Number, model: LearningModel = "crawford") -> Number:
    """Mean time of the units from the first on.

    total time / units

    Parameters
    ----------
    first
        Time of the first unit [min], > 0.
    rate
        Learning rate [fraction], above 0.5 and at most 1.
    units
        Number of units [-], >= 1.
    model
        "crawford" (default) or "wright" [-].

    Returns
    -------
    Number
        Mean time [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or an unknown model.

    References
    ----------
    W. J. Stevenson, Operations Management 14e, p. 340 (unit curve); learning-curve course text (average
    curve).
    """
    return total_time(first, rate, units, model) / units


def total_time_with_floor(first: Number, rate: Number, units: Number, floor: Number) -> Number:
    """Time of all units on Crawford's curve when no unit takes less than a floor.

    The curve holds up to the last unit k with t1 k^b above the floor; each later unit takes the floor.

    Parameters
    ----------
    first
        Time of the first unit [min], > 0.
    rate
        Learning rate [fraction], above 0.5 and at most 1.
    units
        Number of units [-], >= 1.
    floor
        Least time of a unit [min], > 0, such as the minutes that a machine sets.

    Returns
    -------
    Number
        Total time [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range.

    References
    ----------
    Follows from the unit curve; programmed machine time does not learn: common practice, no source.
    """
    positive(first=first, floor=floor)
    within("units", units, at_least=1.0)
    exponent = learning_exponent(rate)
    flat = np.equal(exponent, 0.0)
    beyond = np.log(units) + 1.0
    on_curve = np.minimum(np.log(floor / first) / choose(flat, -1.0, exponent), beyond)
    reached = choose(flat & np.less(floor, first), beyond, on_curve)
    learning_units = np.minimum(whole_down(np.exp(reached)), units)
    learned = first * _power_sum(exponent, 1.0, learning_units)
    return learned + floor * (units - learning_units)


def first_unit_time(time: Number, rate: Number, unit: Number, model: LearningModel = "crawford") -> Number:
    """Time of the first unit, from the time of a later one.

    time / (time of that unit when the first takes 1)

    Parameters
    ----------
    time
        Time of the known unit [min], > 0.
    rate
        Learning rate [fraction], above 0.5 and at most 1.
    unit
        Number of the known unit [-], >= 1.
    model
        "crawford" (default) or "wright" [-].

    Returns
    -------
    Number
        Time of the first unit [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or an unknown model.

    References
    ----------
    W. J. Stevenson, Operations Management 14e, p. 340, Ex. 7S-3.
    """
    positive(time=time)
    return time / unit_time(1.0, rate, unit, model)
