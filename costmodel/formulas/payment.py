"""When money leaves: deposits, balances, trade credit and letters of credit."""

from __future__ import annotations

from typing import Literal

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.units import Number

Interest = Literal["simple", "effective"]
DAYS_IN_YEAR = 365.0
BANKERS_YEAR = 360.0
ISSUE_SHARE = 0.0075
CONFIRMATION_SHARE = 0.01


def days_financed_cost(
    amount: Number,
    days: Number,
    yearly_interest: Number,
    *,
    interest: Interest = "simple",
    days_in_year: Number = DAYS_IN_YEAR,
) -> Number:
    """Cost of having an amount tied up for some days.

    simple: amount x i x days / year. effective: amount x ((1 + i)^(days / year) - 1).

    Parameters
    ----------
    amount
        Money tied up [money], any sign.
    days
        How long [d]; negative where it is paid later than the date compared with, then the cost is a gain.
    yearly_interest
        Interest of a year [fraction], >= 0.
    interest
        Whether interest bears interest [-], "simple" or "effective".
    days_in_year
        Days of the reckoning year [d], > 0, usually 365 or 360.

    Returns
    -------
    Number
        Cost of the money [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    OpenStax, Principles of Finance, 2nd ed., ch. 19.2 (simple and effective cost of credit).
    """
    one_of("interest", interest, ("simple", "effective"))
    not_negative(yearly_interest=yearly_interest)
    positive(days_in_year=days_in_year)
    years = days / days_in_year
    if interest == "simple":
        return amount * yearly_interest * years
    return amount * np.expm1(years * np.log1p(yearly_interest))


def payment_terms_cost(
    amount: Number,
    yearly_interest: Number,
    *,
    deposit_share: Number = 0.0,
    deposit_days_before: Number = 0.0,
    balance_days_before: Number = 0.0,
    compared_days_after: Number = 0.0,
    interest: Interest = "simple",
    days_in_year: Number = DAYS_IN_YEAR,
) -> Number:
    """Cost of paying a deposit and a balance before receipt, against paying all some days after it.

    Each payment is financed from its own date to the date compared with: deposit x (days before + days after)
    and balance x (days before + days after), at the interest given.

    Parameters
    ----------
    amount
        Price of the order [money], >= 0.
    yearly_interest
        Interest of a year [fraction], >= 0.
    deposit_share
        Share paid as deposit [fraction], 0 to 1.
    deposit_days_before
        Days from the deposit to the receipt [d]; negative for after.
    balance_days_before
        Days from the balance to the receipt [d]; negative for after, so net 30 is -30.
    compared_days_after
        Days from the receipt to the payment compared with [d].
    interest
        Whether interest bears interest [-], "simple" or "effective".
    days_in_year
        Days of the reckoning year [d], > 0.

    Returns
    -------
    Number
        Cost of the terms [money], negative where they are better than those compared with.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Time value of money, OpenStax, Principles of Finance, 2nd ed., ch. 19.2.
    """
    not_negative(amount=amount)
    fraction(deposit_share=deposit_share)
    deposit = days_financed_cost(
        amount * deposit_share,
        deposit_days_before + compared_days_after,
        yearly_interest,
        interest=interest,
        days_in_year=days_in_year,
    )
    balance = days_financed_cost(
        amount * (1.0 - deposit_share),
        balance_days_before + compared_days_after,
        yearly_interest,
        interest=interest,
        days_in_year=days_in_year,
    )
    return deposit + balance


def trade_credit_cost(
    discount: Number,
    discount_days: Number,
    net_days: Number,
    *,
    interest: Interest = "simple",
    days_in_year: Number = BANKERS_YEAR,
) -> Number:
    """Yearly interest paid by a buyer who lets a discount for early payment pass.

    r = discount / (1 - discount) for net - discount days; simple: r x year / days; effective:
    (1 + r)^(year / days) - 1. Sources disagree on 360 or 365 days and on compounding, hence both are
    arguments.

    Parameters
    ----------
    discount
        Discount for early payment [fraction], 0 to below 1.
    discount_days
        Days within which the discount is given [d], >= 0.
    net_days
        Days until the full price is due [d], > discount_days.
    interest
        Whether interest bears interest [-], "simple" or "effective".
    days_in_year
        Days of the reckoning year [d], > 0.

    Returns
    -------
    Number
        Yearly interest [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    OpenStax, Principles of Finance, 2nd ed., ch. 19.2 (2/10 n/30: 36.73 % on 360 days).
    """
    one_of("interest", interest, ("simple", "effective"))
    within("discount", discount, at_least=0.0, below=1.0)
    not_negative(discount_days=discount_days)
    positive(days_in_year=days_in_year)
    within("net_days - discount_days", net_days - discount_days, above=0.0)
    period_interest = discount / (1.0 - discount)
    periods = days_in_year / (net_days - discount_days)
    if interest == "simple":
        return period_interest * periods
    effective: Number = np.expm1(periods * np.log1p(period_interest))
    return effective


def letter_of_credit_charge(
    amount: Number,
    *,
    issue_share: Number = ISSUE_SHARE,
    confirmed: bool = False,
    confirmation_share: Number = CONFIRMATION_SHARE,
    minimum: Number = 0.0,
    flat_charges: Number = 0.0,
) -> Number:
    """Bank charges of a letter of credit.

    max(amount x (issue share + confirmation share if confirmed), minimum) + flat charges (advising,
    amendments). Published ranges disagree widely (issue 0.1 to 2 %, confirmation 0.25 to 2 %): the defaults
    are assumptions to be replaced by the bank's own list.

    Parameters
    ----------
    amount
        Amount of the letter [money], >= 0.
    issue_share
        Charge for the issue [fraction], 0 to 1.
    confirmed
        Whether a second bank confirms it [-].
    confirmation_share
        Charge for the confirmation [fraction], 0 to 1.
    minimum
        Least charge on the amount [money], >= 0.
    flat_charges
        Advising, negotiation and amendments [money], >= 0.

    Returns
    -------
    Number
        Charges of the letter [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no single source; ranges from secondary web pages that disagree.
    """
    fraction(issue_share=issue_share, confirmation_share=confirmation_share)
    not_negative(amount=amount, minimum=minimum, flat_charges=flat_charges)
    share = issue_share + confirmation_share if confirmed else issue_share + 0.0 * confirmation_share
    return np.maximum(amount * share, minimum) + flat_charges
