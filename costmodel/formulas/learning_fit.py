"""Learning curves read backwards: the rate from times, the unit that stands for a block, a wrong rate."""

from __future__ import annotations

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._limits import positive, within
from costmodel.formulas.learning import learning_exponent
from costmodel.units import Number


def block_midpoint(rate: Number, from_unit: Number, to_unit: Number) -> Number:
    """Unit whose time is about the mean time of a block on Crawford's curve.

    k = [((n + 1/2)^(1+b) - (m - 1/2)^(1+b)) / ((1 + b)(n - m + 1))]^(1/b), the integral in place of the sum

    Parameters
    ----------
    rate
        Learning rate [fraction], above 0.5 and below 1.
    from_unit
        First unit of the block, m [-], >= 1.
    to_unit
        Last unit of the block, n [-], >= from_unit.

    Returns
    -------
    Number
        Number of the unit, not whole [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or a block that ends before it begins.

    References
    ----------
    AFIT learning-curve vignette (midpoint of a block; its "m - .05" is a slip for m - 0.5).
    """
    within("rate", rate, above=0.5, below=1.0)
    within("from_unit", from_unit, at_least=1.0)
    within("to_unit", to_unit, at_least=1.0)
    if np.any(np.less(to_unit, from_unit)):
        raise LimitError("to_unit", to_unit, "at least from_unit")
    exponent = learning_exponent(rate)
    over = 1.0 + exponent
    area: Number = np.power(to_unit + 0.5, over) - np.power(from_unit - 0.5, over)
    mean: Number = area / (over * (to_unit - from_unit + 1.0))
    midpoint: Number = np.power(mean, 1.0 / exponent)
    return midpoint


def rate_from_total(first: Number, total: Number, units: Number) -> Number:
    """Learning rate on Wright's curve from the time of the first unit and the total of all.

    b = ln(T / (n t1)) / ln n, rate = 2^b

    Parameters
    ----------
    first
        Time of the first unit [min], > 0.
    total
        Time of all units [min], > 0.
    units
        Number of units [-], > 1.

    Returns
    -------
    Number
        Learning rate [fraction], broadcast shape of the arguments; above 1 where times rose.

    Raises
    ------
    LimitError
        A time not above zero, or fewer than two units.

    References
    ----------
    AFIT learning-curve vignette (slope from totals).
    """
    positive(first=first, total=total)
    within("units", units, above=1.0)
    return np.exp2(np.log(total / (units * first)) / np.log(units))


def rate_from_two_units(first_number: Number, first_time: Number, number: Number, time: Number) -> Number:
    """Learning rate on Crawford's curve from the times of two units.

    b = ln(t / t0) / ln(n / n0), rate = 2^b

    Parameters
    ----------
    first_number
        Number of the earlier unit [-], >= 1.
    first_time
        Its time [min], > 0.
    number
        Number of the later unit [-], > first_number.
    time
        Its time [min], > 0.

    Returns
    -------
    Number
        Learning rate [fraction], broadcast shape of the arguments; above 1 where times rose.

    Raises
    ------
    LimitError
        A time not above zero, or units that are not in order.

    References
    ----------
    The unit curve solved for its exponent.
    """
    within("first_number", first_number, at_least=1.0)
    positive(first_time=first_time, time=time)
    if not np.all(np.greater(number, first_number)):
        raise LimitError("number", number, "above first_number")
    return np.exp2(np.log(time / first_time) / np.log(number / first_number))


def error_of_wrong_rate(units: Number, rate_taken: Number, true_rate: Number) -> Number:
    """Relative error of a time when the learning rate is taken wrongly.

    n^(b true - b taken) - 1: the unit time on Crawford's curve, the average and total on Wright's

    Parameters
    ----------
    units
        Number of units [-], >= 1.
    rate_taken
        Learning rate assumed [fraction], above 0.5 and at most 1.
    true_rate
        Learning rate that comes true [fraction], above 0.5 and at most 1.

    Returns
    -------
    Number
        True time over assumed time, less one [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range.

    References
    ----------
    AFIT learning-curve vignette (rate error).
    """
    within("units", units, at_least=1.0)
    difference = learning_exponent(true_rate) - learning_exponent(rate_taken)
    return np.expm1(difference * np.log(units))
