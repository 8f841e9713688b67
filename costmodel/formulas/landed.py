"""From the price on a quote to the money of an order: quantity tiers, minimum orders, currency."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from costmodel.formulas._choices import choose, one_of, rising, same_length, whole_steps
from costmodel.formulas._limits import not_negative, positive
from costmodel.units import Number

TierRule = Literal["all_units", "incremental"]
TIER_RULES: tuple[str, ...] = ("all_units", "incremental")


def tier_price(
    quantity: Number, breaks: Sequence[Number], prices: Sequence[Number], *, rule: TierRule = "all_units"
) -> Number:
    """Price of one part when a quantity is ordered from a price list with quantity breaks.

    all units: the price of the last break reached holds for every part.
    incremental: each price holds for the parts of its own tier only; the result is the average
    (p0 b1 + p1 (b2 - b1) + ... + pk (Q - bk)) / Q. The part that just reaches a break still has the price
    of the tier before it (the textbook form); a list whose 500th part is already cheaper has its break at
    499. A quantity below the first break has the first price: top it up with `ordered_quantity` first.

    Parameters
    ----------
    quantity
        Parts ordered at once [parts], > 0.
    breaks
        Smallest quantity of each tier [parts], rising.
    prices
        Price of one part in each tier [money/part], >= 0, as many as breaks.
    rule
        Whether a price holds for all parts or for those of its tier [-], "all_units" or "incremental".

    Returns
    -------
    Number
        Price of one part, averaged over the order [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, breaks not rising, or unlike lengths.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 3 (quantity
    discounts, both rules; from memory).
    """
    one_of("rule", rule, TIER_RULES)
    same_length(breaks=breaks, prices=prices)
    rising("breaks", breaks)
    positive(quantity=quantity)
    for price in prices:
        not_negative(prices=price)
    if rule == "all_units":
        price_each: Number = prices[0] + 0.0 * quantity
        for reached, price in zip(breaks[1:], prices[1:], strict=True):
            price_each = choose(np.greater_equal(quantity, reached), price, price_each)
        return price_each
    amount = prices[0] * quantity
    for index in range(1, len(breaks)):
        beyond = np.maximum(quantity - breaks[index], 0.0)
        amount = amount + beyond * (prices[index] - prices[index - 1])
    return amount / quantity


def ordered_quantity(
    needed: Number, *, minimum_order: Number = 0.0, multiple: Number | None = None
) -> Number:
    """Parts that must be ordered to get the parts needed: topped up to the minimum, then to whole packs.

    max(needed, minimum) rounded up to the multiple. Minimums set at several levels (order, material, colour,
    size) are the caller's: the largest that applies is given.

    Parameters
    ----------
    needed
        Parts wanted [parts], > 0.
    minimum_order
        Smallest order accepted [parts], >= 0.
    multiple
        Pack size in which orders are made [parts], > 0; None leaves the quantity unrounded.

    Returns
    -------
    Number
        Quantity ordered [parts]; less `needed` it is the top-up.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source.
    """
    positive(needed=needed)
    not_negative(minimum_order=minimum_order)
    quantity: Number = np.maximum(needed, minimum_order)
    if multiple is None:
        return quantity
    positive(multiple=multiple)
    return whole_steps(quantity, multiple) * multiple


def home_money(
    amount: Number,
    exchange_rate: Number,
    *,
    quoted: Literal["home_per_foreign", "foreign_per_home"] = "home_per_foreign",
) -> Number:
    """Amount of a foreign currency in home money.

    amount x rate, or amount / rate where the rate states foreign money for one unit of home money.

    Parameters
    ----------
    amount
        Amount in the foreign currency [foreign money], any sign.
    exchange_rate
        Rate of exchange [home money/foreign money] or its inverse as `quoted` says, > 0.
    quoted
        Which money the rate is stated in [-], "home_per_foreign" or "foreign_per_home".

    Returns
    -------
    Number
        Amount in home money [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition of an exchange rate; currency codes by ISO 4217.
    """
    one_of("quoted", quoted, ("home_per_foreign", "foreign_per_home"))
    positive(exchange_rate=exchange_rate)
    return amount * exchange_rate if quoted == "home_per_foreign" else amount / exchange_rate
