"""At the border: customs value, layers of duty, entry and harbour fees.

Rates, bases and classifications are the user's: nothing here decides which duty applies to which part.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from costmodel.formulas._choices import not_above, one_of, same_length
from costmodel.formulas._limits import not_negative, positive
from costmodel.units import Number

CustomsBasis = Literal["FOB", "CIF"]
DutyBase = Literal["full", "content", "remainder"]
DUTY_BASES: tuple[str, ...] = ("full", "content", "remainder")
NO_MAXIMUM = np.inf


class FeeBreakpoints(NamedTuple):
    """Values at which an entry fee changes from one rule to the next."""

    minimum_below: Number
    """Customs value below which the minimum is charged [money]."""
    maximum_above: Number
    """Customs value above which the maximum is charged [money]."""


def customs_value(
    price: Number,
    *,
    basis: CustomsBasis = "FOB",
    carriage_in_price: Number = 0.0,
    freight: Number = 0.0,
    insurance: Number = 0.0,
    assists: Number = 0.0,
    origin: Number = 0.0,
) -> Number:
    """Value on which duty is reckoned, on the basis the importing country uses.

    FOB basis: price - carriage in the price + assists.
    CIF basis: price - carriage in the price + assists + origin, freight and insurance to the place of entry.
    Both agree whether the price was quoted with or without carriage. Which basis a country uses is looked up
    by the user: the United States, Canada and Australia are of the FOB type, the European Union of the CIF
    type (the EU was read, the others are from memory).

    Parameters
    ----------
    price
        Price paid or payable for the goods [money], >= 0.
    basis
        Basis of the importing country [-], "FOB" or "CIF".
    carriage_in_price
        International carriage and insurance contained in the price [money], >= 0, at most the price.
    freight
        International carriage to the place of entry [money], >= 0.
    insurance
        Insurance of that carriage [money], >= 0.
    assists
        Tooling, material or engineering given to the maker free or below cost, the share that is declared
        with these goods [money], >= 0.
    origin
        Loading, carriage and handling before the main carriage, as far as the price does not hold them [money],
        >= 0.

    Returns
    -------
    Number
        Customs value [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    19 USC 1401a(b) and 19 CFR 152.103 (FOB type, from memory); Regulation (EU) 952/2013 art. 71(1)(e) (CIF
    type; that loading and handling count as well is from memory).
    """
    one_of("basis", basis, ("FOB", "CIF"))
    not_negative(
        price=price,
        carriage_in_price=carriage_in_price,
        freight=freight,
        insurance=insurance,
        assists=assists,
        origin=origin,
    )
    not_above("carriage_in_price", carriage_in_price, "the price", price)
    goods = price - carriage_in_price + assists
    return goods + origin + freight + insurance if basis == "CIF" else goods


def duty_layer(
    value: Number,
    rate: Number,
    *,
    base: DutyBase = "full",
    content_value: Number = 0.0,
    other_duty: Number = 0.0,
    stacked: bool = False,
) -> Number:
    """Amount of one layer of duty.

    rate x base, the base being the whole customs value, the value of the named content (such as the metal in
    the part), or the remainder of the value. A stacked layer adds the duty of other layers to its base.
    Where the content is not known an authority may take the full value: then the base is "full".

    Parameters
    ----------
    value
        Customs value [money], >= 0.
    rate
        Rate of this layer [fraction], >= 0 (may exceed 1).
    base
        What the rate is taken of [-], "full", "content" or "remainder".
    content_value
        Value of the content [money], >= 0, at most the customs value.
    other_duty
        Duty of the layers that a stacked layer is reckoned on top of [money], >= 0.
    stacked
        Whether the base contains that other duty [-].

    Returns
    -------
    Number
        Duty of the layer [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source; bases as in the United States notices on aluminium derivatives, Federal
    Register document 2025-02832 (full value and content).
    """
    one_of("base", base, DUTY_BASES)
    not_negative(value=value, rate=rate, content_value=content_value, other_duty=other_duty)
    not_above("content_value", content_value, "the customs value", value)
    bases = {"full": value, "content": content_value, "remainder": value - content_value}
    reckoned = bases[base] + 0.0 * (value + content_value)
    return rate * (reckoned + other_duty if stacked else reckoned)


def duty_layers(
    value: Number,
    rates: Sequence[Number],
    bases: Sequence[DutyBase],
    *,
    content_value: Number = 0.0,
    stacked: Sequence[bool] | None = None,
) -> tuple[Number, ...]:
    """Amounts of several layers of duty on one value, in the order given.

    Each layer by `duty_layer`; a stacked layer's base contains the duty of all layers before it.

    Parameters
    ----------
    value
        Customs value [money], >= 0.
    rates
        Rate of each layer [fraction], >= 0.
    bases
        Base of each layer [-], "full", "content" or "remainder", as many as rates.
    content_value
        Value of the content [money], >= 0, at most the customs value.
    stacked
        Whether each layer is reckoned on top of those before it [-], as many as rates; None for no layer.

    Returns
    -------
    tuple of Number
        Duty of each layer [money]; their sum is the duty.

    Raises
    ------
    LimitError
        An argument outside its range, or unlike lengths.

    References
    ----------
    Common practice, no source.
    """
    on_top = [False] * len(rates) if stacked is None else stacked
    same_length(rates=rates, bases=bases, stacked=on_top)
    amounts: list[Number] = []
    before: Number = 0.0
    for rate, base, is_stacked in zip(rates, bases, on_top, strict=True):
        amount = duty_layer(
            value, rate, base=base, content_value=content_value, other_duty=before, stacked=is_stacked
        )
        amounts.append(amount)
        before = before + amount
    return tuple(amounts)


def entry_fee(value: Number, rate: Number, *, minimum: Number = 0.0, maximum: Number = NO_MAXIMUM) -> Number:
    """Fee of one customs entry: a share of the value, no less than a minimum, no more than a maximum.

    min(max(rate x value, minimum), maximum). The figures of the United States fee change each 1 October, so
    they are dated inputs.

    Parameters
    ----------
    value
        Customs value of the entry [money], >= 0.
    rate
        Share charged [fraction], >= 0.
    minimum
        Least charge for an entry [money], >= 0.
    maximum
        Greatest charge for an entry [money], >= the minimum; infinite where there is none.

    Returns
    -------
    Number
        Fee of the entry [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    19 CFR 24.23(b)(1) (merchandise processing fee); yearly amounts in the Federal Register, 90 FR 34665.
    """
    not_negative(value=value, rate=rate, minimum=minimum)
    not_above("minimum", minimum, "the maximum", maximum)
    fee: Number = np.minimum(np.maximum(rate * value, minimum), maximum)
    return fee


def entry_fee_breakpoints(rate: Number, *, minimum: Number, maximum: Number) -> FeeBreakpoints:
    """Customs values at which the minimum of an entry fee stops and its maximum starts.

    minimum / rate and maximum / rate.

    Parameters
    ----------
    rate
        Share charged [fraction], > 0.
    minimum
        Least charge for an entry [money], >= 0.
    maximum
        Greatest charge for an entry [money], >= the minimum.

    Returns
    -------
    FeeBreakpoints
        The two values [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Derived from the fee itself, 19 CFR 24.23(b)(1).
    """
    positive(rate=rate)
    not_negative(minimum=minimum)
    not_above("minimum", minimum, "the maximum", maximum)
    return FeeBreakpoints(minimum / rate, maximum / rate)


def harbour_fee(
    value: Number, rate: Number, *, mode: Literal["sea", "air", "road", "rail"] = "sea"
) -> Number:
    """Harbour fee on cargo that comes by ship.

    rate x value for cargo by sea, without minimum or maximum; nothing by any other mode. The United States
    rate is 0.125 %.

    Parameters
    ----------
    value
        Value of the cargo [money], >= 0.
    rate
        Share charged [fraction], >= 0.
    mode
        How the cargo comes [-], "sea", "air", "road" or "rail".

    Returns
    -------
    Number
        Harbour fee [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    19 CFR 24.24(a) (harbor maintenance fee).
    """
    one_of("mode", mode, ("sea", "air", "road", "rail"))
    not_negative(value=value, rate=rate)
    return rate * value if mode == "sea" else 0.0 * (rate * value)
