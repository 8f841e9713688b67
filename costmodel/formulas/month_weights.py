"""What a payment in every month from one month to another is worth on the day of the decision (month 0).

One weight per group of cash lines with the same months and growth replaces a months x draws table.
Interest and growth are fractions per month.
"""

from __future__ import annotations

import numpy as np

from costmodel.formulas._limits import within
from costmodel.formulas._series import Series, items, quotient, whole_count
from costmodel.units import Number


def _check_months(
    interest: Number, growth: Number, first_month: int, last_month: int, growth_from: int
) -> None:
    within("interest", interest, above=-1.0)
    within("growth", growth, above=-1.0)
    whole_count("first_month", first_month, 0)
    whole_count("growth_from", growth_from, 0)
    whole_count("last_month", last_month, first_month)


def level_weight(interest: Number, first_month: int, last_month: int) -> Number:
    """Worth today of one unit of money in every month from the first to the last.

    w = sum over m = first..last of (1 + i)^-m: the growing weight without growth

    Parameters
    ----------
    interest
        Interest per month [fraction], > -1.
    first_month
        First month with a payment [-], whole number >= 0; month 0 is not discounted.
    last_month
        Last month with a payment [-], whole number >= first_month.

    Returns
    -------
    Number
        Weight [-], shape of the interest.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or months that are not whole or end before they begin.

    References
    ----------
    Geometric series; at first month 1 this is P/A.
    """
    return growing_weight(interest, 0.0, first_month, last_month)


def growing_weight(
    interest: Number, growth: Number, first_month: int, last_month: int, growth_from: int = 0
) -> Number:
    """Worth today of a payment in every month from the first to the last that grows by a constant rate.

    w = sum over m = first..last of (1 + g)^(m - growth_from) (1 + i)^-m. With x = ln((1 + g)/(1 + i)) and
    N months the geometric series is expm1(N x) / expm1(x): it keeps its digits at small x and is N at x = 0.

    Parameters
    ----------
    interest
        Interest per month [fraction], > -1.
    growth
        Growth per month [fraction], > -1.
    first_month
        First month with a payment [-], whole number >= 0.
    last_month
        Last month with a payment [-], whole number >= first_month.
    growth_from
        Month whose payment is one unit of money [-], whole number >= 0; 0 for prices of the decision day.

    Returns
    -------
    Number
        Weight [-], broadcast shape of interest and growth.

    Raises
    ------
    LimitError
        A rate of -100 % or less, or months that are not whole or end before they begin.

    References
    ----------
    Geometric gradient: Sullivan, Wicks and Koelling, Engineering Economy, ch. 4 (from memory), with first
    month and growth from month 1.
    """
    _check_months(interest, growth, first_month, last_month, growth_from)
    log_growth = np.log1p(growth)
    log_ratio = log_growth - np.log1p(interest)
    months = last_month - first_month + 1
    series = quotient(np.expm1(months * log_ratio), np.expm1(log_ratio), float(months))
    start: Number = np.exp(first_month * log_ratio - growth_from * log_growth)
    return start * series


def horner_weight(
    interest: Number,
    first_month: int,
    last_month: int,
    growth: Number = 0.0,
    growth_from: int = 0,
    pattern: Series | None = None,
) -> Number:
    """Worth today of any monthly pattern of payments from the first to the last month.

    w = sum over m = first..last of a_m (1 + g)^(m - growth_from) (1 + i)^-m by Horner's rule, one product
    a month in place: no singular point, and no months x draws matrix

    Parameters
    ----------
    interest
        Interest per month [fraction], > -1.
    first_month
        First month with a payment [-], whole number >= 0.
    last_month
        Last month with a payment [-], whole number >= first_month.
    growth
        Growth per month [fraction], > -1.
    growth_from
        Month whose payment is not grown [-], whole number >= 0.
    pattern
        Payment of each month from the first to the last, before growth [money]; one unit each if not given.

    Returns
    -------
    Number
        Weight [-], or worth [money] where the pattern is money; broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate of -100 % or less, months that are not whole or end before they begin, or a pattern of
        another length.

    References
    ----------
    W. G. Horner's rule for polynomials; equal to the geometric series where the pattern is level.
    """
    _check_months(interest, growth, first_month, last_month, growth_from)
    months = last_month - first_month + 1
    amounts = (1.0,) * months if pattern is None else items("pattern", pattern, months)
    ratio = (1.0 + growth) / (1.0 + interest)
    shape = np.broadcast_shapes(np.shape(ratio), *map(np.shape, amounts))
    worth: Number = np.zeros(shape)[()]
    for amount in reversed(amounts):
        worth *= ratio
        worth += amount
    start: Number = np.exp(first_month * np.log(ratio) - growth_from * np.log1p(growth))
    return start * worth
