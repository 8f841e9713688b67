"""Prices of one date in money of another: index series, rates a year, nominal and real amounts.

An index moves a price by the RATIO of its values, never by index points: points depend on the base year.
Nominal amounts go with nominal interest, real ones with real interest; the two never meet in one sum.
"""

from __future__ import annotations

import numpy as np

from costmodel.formulas._limits import positive, within
from costmodel.formulas._series import any_number
from costmodel.units import Number


def escalated_price(price: Number, index_then: Number, index_now: Number) -> Number:
    """Price brought to another date by an index series.

    base price x I1 / I0

    Parameters
    ----------
    price
        Price on the base date [money].
    index_then
        Index value of the base date [-], > 0.
    index_now
        Index value of the new date, same series and base [-], > 0.

    Returns
    -------
    Number
        Price on the new date [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An index value not above zero.

    References
    ----------
    US Bureau of Labor Statistics, price adjustment guide for contracting parties (arithmetic from memory).
    """
    any_number(price=price)
    positive(index_then=index_then, index_now=index_now)
    return price * (index_now / index_then)


def relative_change(value_then: Number, value_now: Number) -> Number:
    """Change of an index or a price in relation to what it was.

    (I1 - I0) / I0

    Parameters
    ----------
    value_then
        Value on the base date [-], > 0.
    value_now
        Value on the new date [-], > 0.

    Returns
    -------
    Number
        Change [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A value not above zero.

    References
    ----------
    US Bureau of Labor Statistics, price adjustment guide for contracting parties (arithmetic from memory).
    """
    positive(value_then=value_then, value_now=value_now)
    return value_now / value_then - 1.0


def escalated_over_years(price: Number, rate: Number, years: Number) -> Number:
    """Price after a number of years of a constant yearly rise.

    price x (1 + f)^years; years below zero lead back

    Parameters
    ----------
    price
        Price at the start [money].
    rate
        Rise per year [fraction], > -1.
    years
        Years, whole or not [year], any sign.

    Returns
    -------
    Number
        Price after the years [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate of -100 % or less.

    References
    ----------
    Compound growth.
    """
    any_number(price=price, years=years)
    within("rate", rate, above=-1.0)
    growth: Number = np.exp(years * np.log1p(rate))
    return price * growth


def real_amount(nominal: Number, inflation: Number, years: Number) -> Number:
    """Amount of a later year in money of the base year.

    nominal / (1 + f)^years

    Parameters
    ----------
    nominal
        Amount in money of its own year [money].
    inflation
        General inflation per year [fraction], > -1.
    years
        Years from the base year to its own [year].

    Returns
    -------
    Number
        Amount in money of the base year [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Inflation of -100 % or less.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 8 (actual and real dollars, from memory).
    """
    within("inflation", inflation, above=-1.0)
    return escalated_over_years(nominal, inflation, -1.0 * years)


def nominal_amount(real: Number, inflation: Number, years: Number) -> Number:
    """Amount in money of the base year, as it will be paid in a later year.

    real x (1 + f)^years

    Parameters
    ----------
    real
        Amount in money of the base year [money].
    inflation
        General inflation per year [fraction], > -1.
    years
        Years from the base year to the payment [year].

    Returns
    -------
    Number
        Amount in money of the year of payment [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Inflation of -100 % or less.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 8 (actual and real dollars, from memory).
    """
    within("inflation", inflation, above=-1.0)
    return escalated_over_years(real, inflation, years)


def real_rate(nominal_rate: Number, inflation: Number) -> Number:
    """Interest that is left when inflation is taken out of it.

    (1 + i) / (1 + f) - 1, not i - f

    Parameters
    ----------
    nominal_rate
        Interest in money of the day [fraction], > -1.
    inflation
        General inflation over the same period [fraction], > -1.

    Returns
    -------
    Number
        Real interest [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate of -100 % or less.

    References
    ----------
    I. Fisher, The Theory of Interest, 1930 (from memory).
    """
    within("nominal_rate", nominal_rate, above=-1.0)
    within("inflation", inflation, above=-1.0)
    return (nominal_rate - inflation) / (1.0 + inflation)


def nominal_rate(real: Number, inflation: Number) -> Number:
    """Interest in money of the day that leaves a given real interest.

    (1 + r)(1 + f) - 1

    Parameters
    ----------
    real
        Real interest [fraction], > -1.
    inflation
        General inflation over the same period [fraction], > -1.

    Returns
    -------
    Number
        Nominal interest [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A rate of -100 % or less.

    References
    ----------
    I. Fisher, The Theory of Interest, 1930 (from memory).
    """
    within("real", real, above=-1.0)
    within("inflation", inflation, above=-1.0)
    return real + inflation + real * inflation
