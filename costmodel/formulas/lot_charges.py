"""Costs that occur once per lot: lot minimums of outside processors, set-ups, and the lot that balances them.

The economic lot weighs what occurs per lot against the holding of stock. A finite production rate lowers the
stock (parts are used while the lot is made); an infinite one is a lot that arrives at once.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import whole_up
from costmodel.formulas.economic_order import economic_order_quantity, order_and_holding_cost
from costmodel.units import Number

Lots = Literal["average", "whole"]
Pieces = Literal["fractional", "whole"]


def minimum_top_up(lot: Number, unit_price: Number, lot_minimum: Number) -> Number:
    """What a lot minimum adds to the charge of a small lot.

    max(0, minimum - price x lot)

    Parameters
    ----------
    lot
        Parts in the lot [part/lot], > 0.
    unit_price
        Price of a part [money/part], >= 0.
    lot_minimum
        Least charge for a lot [money/lot], >= 0.

    Returns
    -------
    Number
        Top-up [money/lot], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No part in the lot, or a price below zero.

    References
    ----------
    Definition.
    """
    positive(lot=lot)
    not_negative(unit_price=unit_price, lot_minimum=lot_minimum)
    return np.maximum(lot_minimum - unit_price * lot, 0.0)


def charge_per_part(lot: Number, unit_price: Number, lot_minimum: Number) -> Number:
    """Charge of an outside process for each part of a lot.

    max(minimum, price x lot) / lot

    Parameters
    ----------
    lot
        Parts in the lot [part/lot], > 0.
    unit_price
        Price of a part [money/part], >= 0.
    lot_minimum
        Least charge for a lot [money/lot], >= 0.

    Returns
    -------
    Number
        Charge [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No part in the lot, or a price below zero.

    References
    ----------
    Definition.
    """
    return unit_price + minimum_top_up(lot, unit_price, lot_minimum) / lot


def binding_lot(unit_price: Number, lot_minimum: Number, pieces: Pieces = "whole") -> Number:
    """Smallest lot at which a lot minimum no longer binds.

    minimum / price, rounded up to a whole part

    Parameters
    ----------
    unit_price
        Price of a part [money/part], > 0.
    lot_minimum
        Least charge for a lot [money/lot], >= 0.
    pieces
        "whole" (default) or "fractional" [-].

    Returns
    -------
    Number
        Lot [part/lot], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No price, a minimum below zero, or an unknown convention.

    References
    ----------
    Definition.
    """
    positive(unit_price=unit_price)
    not_negative(lot_minimum=lot_minimum)
    one_of("pieces", pieces, get_args(Pieces))
    lot = lot_minimum / unit_price
    return whole_up(lot) if pieces == "whole" else lot


def lots_per_year(demand: Number, lot: Number, lots: Lots = "average") -> Number:
    """Lots in a year.

    average: demand / lot, the mean over years. whole: rounded up, each year by itself.

    Parameters
    ----------
    demand
        Parts a year [part/year], >= 0.
    lot
        Parts in a lot [part/lot], > 0.
    lots
        "average" (default) or "whole" [-].

    Returns
    -------
    Number
        Lots [lot/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Demand below zero, no part in the lot, or an unknown convention.

    References
    ----------
    Definition.
    """
    not_negative(demand=demand)
    positive(lot=lot)
    one_of("lots", lots, get_args(Lots))
    average = demand / lot
    return whole_up(average) if lots == "whole" else average


def _share_in_stock(demand: Number, production_rate: Number) -> Number:
    positive(production_rate=production_rate)
    if not np.all(np.less(demand, production_rate)):
        raise LimitError("production_rate", production_rate, "above demand")
    return 1.0 - demand / production_rate


def economic_lot(
    demand: Number, set_up_cost: Number, holding_cost: Number, production_rate: Number = np.inf
) -> Number:
    """Lot with the least yearly cost of set-ups and stock.

    sqrt(2 D K / (h (1 - D / P))), where set-up and holding cost a year are equal

    Parameters
    ----------
    demand
        Parts a year [part/year], > 0.
    set_up_cost
        Everything that occurs once per lot [money/lot], >= 0.
    holding_cost
        Cost of holding a part for a year [money/part/year], > 0: unit cost x holding rate.
    production_rate
        Parts a year while the lot is made [part/year], above demand; infinite (default) if it arrives at
        once.

    Returns
    -------
    Number
        Lot [part/lot], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or a production rate not above demand.

    References
    ----------
    F. W. Harris, How many parts to make at once, 1913; E. W. Taft, 1918, for the finite rate (both from
    memory).
    """
    positive(demand=demand, holding_cost=holding_cost)
    not_negative(set_up_cost=set_up_cost)
    held = holding_cost * _share_in_stock(demand, production_rate)
    return economic_order_quantity(demand, set_up_cost, held)


def lot_cost_per_year(
    lot: Number,
    demand: Number,
    set_up_cost: Number,
    holding_cost: Number,
    production_rate: Number = np.inf,
) -> Number:
    """Yearly cost of set-ups and stock at a given lot.

    K D / Q + h Q (1 - D / P) / 2; the price of the parts is not in it

    Parameters
    ----------
    lot
        Parts in a lot [part/lot], > 0.
    demand
        Parts a year [part/year], > 0.
    set_up_cost
        Everything that occurs once per lot [money/lot], >= 0.
    holding_cost
        Cost of holding a part for a year [money/part/year], >= 0.
    production_rate
        Parts a year while the lot is made [part/year], above demand; infinite (default) if it arrives at
        once.

    Returns
    -------
    Number
        Cost [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or a production rate not above demand.

    References
    ----------
    R. Panneerselvam, Engineering Economics, ex. 13.2, p. 171.
    """
    positive(lot=lot, demand=demand)
    not_negative(set_up_cost=set_up_cost, holding_cost=holding_cost)
    held = holding_cost * _share_in_stock(demand, production_rate)
    return order_and_holding_cost(lot, demand, set_up_cost, held)


def economic_lot_with_minimum(
    demand: Number,
    set_up_cost: Number,
    holding_cost: Number,
    unit_price: Number,
    lot_minimum: Number,
    production_rate: Number = np.inf,
) -> Number:
    """Lot with the least yearly cost when an outside process has a lot minimum.

    The yearly cost K D/Q + h Q/2 + D max(M/Q, p) is convex with a bend at the binding lot M/p. Its least is
    the bend, held between the economic lot without the minimum and the one that counts the whole minimum as
    set-up.

    Parameters
    ----------
    demand
        Parts a year [part/year], > 0.
    set_up_cost
        Everything else that occurs once per lot [money/lot], >= 0.
    holding_cost
        Cost of holding a part for a year [money/part/year], > 0.
    unit_price
        Price of a part at the outside process [money/part], > 0.
    lot_minimum
        Least charge of the outside process for a lot [money/lot], >= 0.
    production_rate
        Parts a year while the lot is made [part/year], above demand; infinite (default) if it arrives at
        once.

    Returns
    -------
    Number
        Lot [part/lot], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument out of range, or a production rate not above demand.

    References
    ----------
    Derivation above; checked against a search over all whole lots.
    """
    bend = binding_lot(unit_price, lot_minimum, "fractional")
    least = economic_lot(demand, set_up_cost, holding_cost, production_rate)
    most = economic_lot(demand, set_up_cost + lot_minimum, holding_cost, production_rate)
    return np.minimum(np.maximum(bend, least), most)
