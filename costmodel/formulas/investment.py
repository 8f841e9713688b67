"""Worth of a flow of money over periods: present value, rates of return, payback.

A flow is one amount per period, from period 0 (the day of the decision) on; each amount may be an array of
draws.
Money out is negative. Interest is a fraction per period of the same length.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import not_negative, within
from costmodel.formulas._series import Series, any_number, items
from costmodel.formulas.annuity import capital_recovery_factor
from costmodel.units import Number

WithinPeriod = Literal["linear", "end"]

SAME_RATE = 1e-6
"""Zeros of the worth closer than this, relative, are one: rounding splits a zero that only touches nothing."""
NEGLIGIBLE = 1e-14
"""An amount this small in relation to the largest of its flow counts as none in a search for rates."""


def net_present_value(interest: Number, flows: Series) -> Number:
    """Worth today of a flow of money.

    sum of flow_k (1 + i)^-k, by Horner's rule

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    flows
        Amount of each period from period 0 on [money].

    Returns
    -------
    Number
        Net present value [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no amount.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, net present value.
    """
    within("interest", interest, above=-1.0)
    discount = 1.0 / (1.0 + interest)
    worth: Number = 0.0 * discount
    for amount in reversed(items("flows", flows)):
        worth = worth * discount + amount
    return worth


def cumulative_worth(interest: Number, flows: Series) -> tuple[Number, ...]:
    """Worth today of a flow up to each of its periods: the curve behind a discounted payback.

    sum over j = 0..k of flow_j (1 + i)^-j

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1; 0 for the plain sum.
    flows
        Amount of each period from period 0 on [money].

    Returns
    -------
    tuple of Number
        Cumulative worth at the end of each period [money].

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no amount.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, discounted payback.
    """
    within("interest", interest, above=-1.0)
    discount = 1.0 / (1.0 + interest)
    factor: Number = 1.0 + 0.0 * discount
    worth: Number = 0.0
    curve: list[Number] = []
    for amount in items("flows", flows):
        worth = worth + amount * factor
        curve.append(worth)
        factor = factor * discount
    return tuple(curve)


def equivalent_annual_worth(interest: Number, flows: Series) -> Number:
    """Level amount at the end of each period after period 0 that is worth as much as a flow.

    net present value x A/P over the periods of the flow

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    flows
        Amount of each period from period 0 on [money], at least two.

    Returns
    -------
    Number
        Equivalent amount [money/period], broadcast shape of the arguments; minus this is the equivalent cost.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or fewer than two amounts.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, equivalent annuity of projects with unequal lives.
    """
    amounts = items("flows", flows)
    if len(amounts) < 2:
        raise LimitError("flows", f"{len(amounts)} number", "at least 2 numbers")
    return net_present_value(interest, amounts) * capital_recovery_factor(interest, len(amounts) - 1.0)


def _worth_by_discount(amounts: npt.NDArray[np.float64], discount: float) -> float:
    """Sum of a_k v^k, divided by v^n above v = 1 so that it never overflows; the sign is that of the sum."""
    if discount <= 1.0:
        return float(np.polyval(amounts[::-1], discount))
    return float(np.polyval(amounts, 1.0 / discount))


def _limits_between_zeros(amounts: npt.NDArray[np.float64]) -> list[float]:
    """Discount factors that hold each positive zero of the worth apart from the next; none without a zero."""
    if amounts.size < 2:
        return []
    # as a polynomial in the discount and in the growth: each is exact where the other's first amount is tiny
    growths = np.roots(amounts)
    zeros = np.concatenate((np.roots(amounts[::-1]), 1.0 / growths[np.abs(growths) > NEGLIGIBLE]))
    candidates = np.unique(zeros.real[zeros.real > 0.0])
    if not candidates.size:
        return []
    apart = candidates[np.append(True, np.diff(np.log(candidates)) > SAME_RATE)]
    return [apart[0] / 2.0, *np.sqrt(apart[1:] * apart[:-1]), apart[-1] * 2.0]


def internal_rates(flows: Series) -> npt.NDArray[np.float64]:
    """Every interest at which the worth of a flow changes sign.

    The worth is a polynomial in v = 1/(1 + i). Its positive zeros are bracketed between the companion-matrix
    roots and refined; a zero where the worth only touches nothing is no rate of return and is left out. A
    flow with several changes of sign may have several rates or none: then none is the answer to a decision,
    its worth is.

    Parameters
    ----------
    flows
        Amount of each period from period 0 on [money], one number each: no arrays of draws.

    Returns
    -------
    array
        All internal rates above -100 % [fraction per period], rising; empty where there is none.

    Raises
    ------
    LimitError
        No amount, or amounts that are arrays.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, internal rate of return and its multiple values.
    """
    from scipy.optimize import brentq

    given = items("flows", flows)
    if any(np.ndim(amount) for amount in given):
        raise LimitError("flows", "arrays", "one number for each period")
    amounts = np.array(given, dtype=np.float64)
    amounts = np.trim_zeros(np.where(np.abs(amounts) > NEGLIGIBLE * np.abs(amounts).max(), amounts, 0.0))
    limits = _limits_between_zeros(amounts)
    rates = []
    for low, high in pairwise(limits):
        if (_worth_by_discount(amounts, low) >= 0.0) != (_worth_by_discount(amounts, high) >= 0.0):
            root = brentq(lambda discount: _worth_by_discount(amounts, discount), low, high, xtol=1e-15)
            rates.append(1.0 / root - 1.0)
    return np.array(sorted(rates))


def modified_internal_rate(flows: Series, finance_rate: Number, reinvest_rate: Number) -> Number:
    """Rate of return when money in is reinvested and money out is financed at stated rates.

    (future worth of the positive amounts / present worth of the negative ones)^(1/n) - 1: always one value

    Parameters
    ----------
    flows
        Amount of each period from period 0 on [money], at least two.
    finance_rate
        Interest on money out, per period [fraction], > -1.
    reinvest_rate
        Interest on money in, per period [fraction], > -1.

    Returns
    -------
    Number
        Modified internal rate [fraction per period], broadcast shape; infinite where no money goes out.

    Raises
    ------
    LimitError
        A rate of -100 % or less, or fewer than two amounts.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, modified internal rate of return.
    """
    within("finance_rate", finance_rate, above=-1.0)
    within("reinvest_rate", reinvest_rate, above=-1.0)
    amounts = items("flows", flows)
    periods = len(amounts) - 1
    if periods < 1:
        raise LimitError("flows", "1 number", "at least 2 numbers")
    growth, discount = 1.0 + reinvest_rate, 1.0 / (1.0 + finance_rate)
    future: Number = 0.0
    present: Number = 0.0
    for amount in amounts:
        future = future * growth + np.maximum(amount, 0.0)
    for amount in reversed(amounts):
        present = present * discount - np.minimum(amount, 0.0)
    ratio = choose(np.equal(present, 0.0), np.inf, future / choose(np.equal(present, 0.0), 1.0, present))
    rate: Number = np.power(ratio, 1.0 / periods) - 1.0
    return rate


def profitability_index(interest: Number, flows: Series) -> Number:
    """Worth of the money in for each unit of money out: the ranking value when money is scarce.

    present worth of positive amounts / present worth of negative amounts; NOT net present value / outlay

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    flows
        Amount of each period from period 0 on [money].

    Returns
    -------
    Number
        Index [-], broadcast shape of the arguments; infinite where no money goes out.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no amount.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, profitability index.
    """
    amounts = items("flows", flows)
    inflow = net_present_value(interest, [np.maximum(amount, 0.0) for amount in amounts])
    outflow = net_present_value(interest, [-np.minimum(amount, 0.0) for amount in amounts])
    none = np.equal(outflow, 0.0)
    return choose(none, np.inf, inflow / choose(none, 1.0, outflow))


def simple_payback(outlay: Number, saving: Number) -> Number:
    """Time until a level saving has brought back an outlay, without interest.

    outlay / saving, in the period of the saving; infinite where nothing is saved

    Parameters
    ----------
    outlay
        Money out at the start [money], >= 0.
    saving
        Money saved in each period [money/period], any sign.

    Returns
    -------
    Number
        Payback [period], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An outlay below zero.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, payback.
    """
    not_negative(outlay=outlay)
    any_number(saving=saving)
    saves = np.greater(saving, 0.0)
    return choose(saves, outlay / choose(saves, saving, 1.0), np.inf)


def payback_period(flows: Series, interest: Number = 0.0, within_period: WithinPeriod = "linear") -> Number:
    """Time at which the cumulative worth of a flow first reaches zero.

    linear: the amount of a period is taken to come in evenly during it; end: it comes at its end.
    With interest this is the discounted payback. Later returns below zero do not change the answer.

    Parameters
    ----------
    flows
        Amount of each period from period 0 on [money].
    interest
        Interest per period [fraction], > -1; 0 (default) for the simple payback.
    within_period
        "linear" (default) or "end" [-].

    Returns
    -------
    Number
        Payback [period], broadcast shape; 0 if nothing goes out first, infinite if it is never reached.

    Raises
    ------
    LimitError
        Interest of -100 % or less, no amount, or an unknown convention.

    References
    ----------
    OpenStax, Principles of Finance 2e, ch. 16, payback and discounted payback (5.05 years, linear in the
    year).
    """
    one_of("within_period", within_period, get_args(WithinPeriod))
    curve = cumulative_worth(interest, flows)
    payback = choose(np.greater_equal(curve[0], 0.0), 0.0, np.inf)
    before = curve[0]
    for period, after in enumerate(curve[1:], start=1):
        reached = np.isinf(payback) & np.greater_equal(after, 0.0)
        missing: Number = 0.0
        if within_period == "linear":
            missing = after / choose(reached, after - before, 1.0)
        payback = choose(reached, period - missing, payback)
        before = after
    return payback
