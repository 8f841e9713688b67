"""Interest: the factors between single sums and level series, and rates per period.

Interest is a fraction per period; payments fall at the end of their period. Every
factor holds at zero interest, where its usual quotient would be 0/0.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import positive, within
from costmodel.formulas._series import quotient, whole_count
from costmodel.units import Number

RateConvention = Literal["effective", "nominal"]


def _check(interest: Number, periods: Number) -> None:
    within("interest", interest, above=-1.0)
    positive(periods=periods)


def single_present_worth_factor(interest: Number, periods: Number) -> Number:
    """Worth today of one unit of money received after a number of periods.

    P/F = (1 + i)^-n

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    periods
        Number of periods [-], > 0.

    Returns
    -------
    Number
        P/F [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no period.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 4, table of interest factors (from memory).
    """
    _check(interest, periods)
    return np.exp(-periods * np.log1p(interest))


def level_present_worth_factor(interest: Number, periods: Number) -> Number:
    """Worth today of one unit of money at the end of each of a number of periods.

    P/A = (1 - (1 + i)^-n) / i, and n at zero interest

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    periods
        Number of periods [-], > 0.

    Returns
    -------
    Number
        P/A [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no period.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 4, table of interest factors (from memory).
    """
    _check(interest, periods)
    return quotient(-np.expm1(-periods * np.log1p(interest)), interest, periods)


def capital_recovery_factor(interest: Number, periods: Number) -> Number:
    """Level payment at the end of each period that repays one unit of money with interest.

    A/P = i / (1 - (1 + i)^-n), the reciprocal of P/A, and 1/n at zero interest

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    periods
        Number of periods [-], > 0.

    Returns
    -------
    Number
        A/P [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no period.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 4, table of interest factors (from memory).
    """
    return 1.0 / level_present_worth_factor(interest, periods)


def level_future_worth_factor(interest: Number, periods: Number) -> Number:
    """Sum saved up by one unit of money at the end of each of a number of periods.

    F/A = ((1 + i)^n - 1) / i, and n at zero interest

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    periods
        Number of periods [-], > 0.

    Returns
    -------
    Number
        F/A [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no period.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 4, table of interest factors (from memory).
    """
    _check(interest, periods)
    return quotient(np.expm1(periods * np.log1p(interest)), interest, periods)


def sinking_fund_factor(interest: Number, periods: Number) -> Number:
    """Level payment at the end of each period that saves up one unit of money.

    A/F = i / ((1 + i)^n - 1) = A/P - i, and 1/n at zero interest

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    periods
        Number of periods [-], > 0.

    Returns
    -------
    Number
        A/F [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or no period.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 4, table of interest factors (from memory).
    """
    return 1.0 / level_future_worth_factor(interest, periods)


def gradient_present_worth_factor(interest: Number, periods: int) -> Number:
    """Worth today of a series that is nothing in the first period and one unit more in each later one.

    P/G = sum over k = 1..n of (k - 1) (1 + i)^-k, by Horner's rule, which has no singular
    point at zero interest

    Parameters
    ----------
    interest
        Interest per period [fraction], > -1.
    periods
        Number of periods [-], whole number >= 1.

    Returns
    -------
    Number
        P/G [-], shape of the interest.

    Raises
    ------
    LimitError
        Interest of -100 % or less, or a number of periods that is not whole.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 4, uniform gradient (from memory).
    """
    within("interest", interest, above=-1.0)
    whole_count("periods", periods, 1)
    discount = 1.0 / (1.0 + interest)
    worth = 0.0 * discount
    for step in range(periods - 1, -1, -1):
        worth = (worth + step) * discount
    return worth


def periodic_rate(
    yearly_rate: Number, periods_per_year: Number, convention: RateConvention = "effective"
) -> Number:
    """Interest per month (or week, or quarter) of a yearly rate.

    effective: (1 + r)^(1/m) - 1, so that m periods compound to the yearly rate.
    nominal: r / m, the way loans are quoted; m periods compound to more than r.

    Parameters
    ----------
    yearly_rate
        Interest per year [fraction], > -1.
    periods_per_year
        Periods in a year [-], > 0; 12 for months.
    convention
        "effective" (default) or "nominal" [-].

    Returns
    -------
    Number
        Interest per period [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate of -100 % or less, no period, or an unknown convention.

    References
    ----------
    OpenStax, Principles of Finance 2e, module on interest rates (nominal and effective rate).
    """
    within("yearly_rate", yearly_rate, above=-1.0)
    positive(periods_per_year=periods_per_year)
    one_of("convention", convention, get_args(RateConvention))
    if convention == "nominal":
        return yearly_rate / periods_per_year
    return np.expm1(np.log1p(yearly_rate) / periods_per_year)


def effective_rate(rate: Number, periods_per_year: Number) -> Number:
    """Yearly interest to which the interest of one period compounds.

    (1 + i)^m - 1

    Parameters
    ----------
    rate
        Interest per period [fraction], > -1.
    periods_per_year
        Periods in a year [-], > 0.

    Returns
    -------
    Number
        Effective interest per year [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate of -100 % or less, or no period.

    References
    ----------
    OpenStax, Principles of Finance 2e, module on interest rates (nominal and effective rate).
    """
    within("rate", rate, above=-1.0)
    positive(periods_per_year=periods_per_year)
    return np.expm1(periods_per_year * np.log1p(rate))
