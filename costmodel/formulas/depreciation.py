"""Writing off an outlay year by year, and what tax makes of a saving.

An accountant decides which rule applies. Schedules are tuples with one amount a year, from year 1 on.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, within
from costmodel.formulas._series import Series, any_number, items, whole_count
from costmodel.units import Number

BookFloor = Literal["none", "salvage"]

MACRS_HALF_YEAR = {
    3: (0.3333, 0.4445, 0.1481, 0.0741),
    5: (0.20, 0.32, 0.1920, 0.1152, 0.1152, 0.0576),
    7: (0.1429, 0.2449, 0.1749, 0.1249, 0.0893, 0.0892, 0.0893, 0.0446),
}
"""Shares as printed in IRS Publication 946, Table A-1. They are rounded so as to add to 1, hence the table
and not the formula behind it (200 % declining balance, switch to straight line, half a year at both ends)."""


def straight_line_schedule(price: Number, salvage: Number, years: int) -> tuple[Number, ...]:
    """Equal depreciation in every year.

    (P - S) / N

    Parameters
    ----------
    price
        Outlay written off [money], >= 0.
    salvage
        Value at the end [money].
    years
        Years of writing off [-], whole number >= 1.

    Returns
    -------
    tuple of Number
        Depreciation of each year [money/year].

    Raises
    ------
    LimitError
        A price below zero, or years that are not whole.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ch. 9 (straight line).
    """
    not_negative(price=price)
    any_number(salvage=salvage)
    whole_count("years", years, 1)
    return ((price - salvage) / years,) * years


def declining_balance_schedule(
    price: Number, salvage: Number, rate: Number, years: int, floor: BookFloor = "none"
) -> tuple[Number, ...]:
    """Depreciation as a constant share of what is left in the books.

    D_t = k B_t-1. Without a floor the book value may fall below the salvage value; with it, D_t stops there.

    Parameters
    ----------
    price
        Outlay written off [money], >= 0.
    salvage
        Value at the end [money], used only with the floor.
    rate
        Share written off each year [fraction]; 2/N for double declining balance.
    years
        Years shown [-], whole number >= 1.
    floor
        "none" (default) or "salvage" [-].

    Returns
    -------
    tuple of Number
        Depreciation of each year [money/year].

    Raises
    ------
    LimitError
        A price below zero, a rate outside 0 to 1, years that are not whole, or an unknown convention.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ch. 9 (declining balance, no floor at salvage).
    """
    not_negative(price=price)
    any_number(salvage=salvage)
    fraction(rate=rate)
    whole_count("years", years, 1)
    one_of("floor", floor, get_args(BookFloor))
    book = price
    schedule: list[Number] = []
    for _ in range(years):
        amount = rate * book
        if floor == "salvage":
            amount = np.minimum(amount, np.maximum(book - salvage, 0.0))
        schedule.append(amount)
        book = book - amount
    return tuple(schedule)


def sum_of_years_schedule(price: Number, salvage: Number, years: int) -> tuple[Number, ...]:
    """Depreciation that falls by an equal step every year.

    D_t = (P - S) (N - t + 1) / (N (N + 1) / 2)

    Parameters
    ----------
    price
        Outlay written off [money], >= 0.
    salvage
        Value at the end [money].
    years
        Years of writing off [-], whole number >= 1.

    Returns
    -------
    tuple of Number
        Depreciation of each year [money/year].

    Raises
    ------
    LimitError
        A price below zero, or years that are not whole.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ch. 9 (sum of the years' digits).
    """
    not_negative(price=price)
    any_number(salvage=salvage)
    whole_count("years", years, 1)
    digits = years * (years + 1) / 2.0
    return tuple((price - salvage) * (left / digits) for left in range(years, 0, -1))


def macrs_schedule(price: Number, recovery_years: int) -> tuple[Number, ...]:
    """Depreciation by the published half-year table of the US general system.

    price x table share, one year more than the recovery period; no salvage value

    Parameters
    ----------
    price
        Outlay written off [money], >= 0.
    recovery_years
        Class of the property [-]: 3, 5 or 7.

    Returns
    -------
    tuple of Number
        Depreciation of each year [money/year].

    Raises
    ------
    LimitError
        A price below zero, or a class that has no table here.

    References
    ----------
    IRS Publication 946, Table A-1 (half-year convention).
    """
    not_negative(price=price)
    if recovery_years not in MACRS_HALF_YEAR:
        raise LimitError("recovery_years", recovery_years, "3, 5 or 7")
    return tuple(price * share for share in MACRS_HALF_YEAR[recovery_years])


def half_year_straight_line_schedule(price: Number, recovery_years: int) -> tuple[Number, ...]:
    """Straight-line depreciation that begins and ends with half a year.

    P / N in full years, half of it in the first and the last

    Parameters
    ----------
    price
        Outlay written off [money], >= 0.
    recovery_years
        Recovery period [-], whole number >= 1.

    Returns
    -------
    tuple of Number
        Depreciation of each year [money/year], one year more than the recovery period.

    Raises
    ------
    LimitError
        A price below zero, or years that are not whole.

    References
    ----------
    IRS Publication 946, straight-line method with the half-year convention.
    """
    not_negative(price=price)
    whole_count("recovery_years", recovery_years, 1)
    full = price / recovery_years
    return (full / 2.0, *((full,) * (recovery_years - 1)), full / 2.0)


def book_values(price: Number, depreciation: Series) -> tuple[Number, ...]:
    """What is left in the books at the end of each year.

    B_t = B_t-1 - D_t

    Parameters
    ----------
    price
        Outlay written off [money], >= 0.
    depreciation
        Depreciation of each year [money/year].

    Returns
    -------
    tuple of Number
        Book value at the end of each year [money].

    Raises
    ------
    LimitError
        A price below zero, or no year.

    References
    ----------
    Definition.
    """
    not_negative(price=price)
    book = price
    values: list[Number] = []
    for amount in items("depreciation", depreciation):
        book = book - amount
        values.append(book)
    return tuple(values)


def after_tax_saving(saving: Number, depreciation: Number, tax_rate: Number) -> Number:
    """Cash of a year after tax.

    saving - tax (saving - depreciation): depreciation is no cash, but it lowers the tax. A taxable loss
    counts as tax saved elsewhere.

    Parameters
    ----------
    saving
        Cash before tax [money/year], any sign.
    depreciation
        Depreciation of the year [money/year], >= 0.
    tax_rate
        Tax rate on income [fraction].

    Returns
    -------
    Number
        Cash after tax [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Depreciation below zero, or a tax rate outside 0 to 1.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 7 (after-tax cash flow).
    """
    any_number(saving=saving)
    not_negative(depreciation=depreciation)
    fraction(tax_rate=tax_rate)
    return saving - tax_rate * (saving - depreciation)


def tax_payments(
    outlay: Number, savings: Series, depreciation: Series, tax_rate: Number, sale_value: Number
) -> tuple[Number, ...]:
    """Tax of each year on what an outlay saves.

    tax (saving - depreciation); the last year adds the gain of the sale over the book value (a loss is tax
    saved). Depreciation beyond the last saving is not used, what is short counts as zero. A year with a
    taxable loss pays less than nothing: it counts as tax saved elsewhere.

    Parameters
    ----------
    outlay
        Money out, all of it written off [money], >= 0.
    savings
        Cash of each year before tax [money/year].
    depreciation
        Depreciation of each year [money/year]; may have more or fewer years than the savings.
    tax_rate
        Tax rate on income and on gains [fraction].
    sale_value
        What the sale brings at the end of the last year [money].

    Returns
    -------
    tuple of Number
        Tax of each year from year 1 on [money/year].

    Raises
    ------
    LimitError
        An outlay below zero, no year, depreciation below zero, or a tax rate outside 0 to 1.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 7 (gain on a sale taxed as ordinary income).
    """
    not_negative(outlay=outlay)
    within("sale_value", sale_value)
    yearly = items("savings", savings)
    written = items("depreciation", depreciation, at_least=0.0)[: len(yearly)]
    written = written + (0.0,) * (len(yearly) - len(written))
    paid = [
        saving - after_tax_saving(saving, amount, tax_rate)
        for saving, amount in zip(yearly, written, strict=True)
    ]
    book = book_values(outlay, written)[-1]
    paid[-1] = paid[-1] + tax_rate * (sale_value - book)
    return tuple(paid)


def after_tax_flow(
    outlay: Number, savings: Series, depreciation: Series, tax_rate: Number, sale_value: Number
) -> tuple[Number, ...]:
    """Cash of an investment after tax from the outlay to the sale at the end.

    Period 0 is -outlay, each year the saving less its tax; the last year adds the sale. Tax as in
    `tax_payments`.

    Parameters
    ----------
    outlay
        Money out at the start, all of it written off [money], >= 0.
    savings
        Cash of each year before tax [money/year].
    depreciation
        Depreciation of each year [money/year]; may have more or fewer years than the savings.
    tax_rate
        Tax rate on income and on gains [fraction].
    sale_value
        What the sale brings at the end of the last year [money].

    Returns
    -------
    tuple of Number
        Cash of each period from period 0 on [money].

    Raises
    ------
    LimitError
        An outlay below zero, no year, depreciation below zero, or a tax rate outside 0 to 1.

    References
    ----------
    Sullivan, Wicks and Koelling, Engineering Economy, ch. 7 (gain on a sale taxed as ordinary income).
    """
    paid = tax_payments(outlay, savings, depreciation, tax_rate, sale_value)
    cash = [saving - tax for saving, tax in zip(items("savings", savings), paid, strict=True)]
    cash[-1] = cash[-1] + sale_value
    return (-outlay, *cash)
