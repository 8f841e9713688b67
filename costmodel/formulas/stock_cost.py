"""Stock that lies, moves and waits, what it costs to hold, and stock at a change of source or drawing."""

from __future__ import annotations

import numpy as np

from costmodel.formulas._choices import not_above
from costmodel.formulas._limits import fraction, not_negative, positive
from costmodel.units import Number

HALF = 0.5


def reorder_point(mean_demand: Number, stock: Number) -> Number:
    """Stock (on the shelf and on order, less what is owed) at which the next order is placed.

    Mean demand during the lead time + safety stock.

    Parameters
    ----------
    mean_demand
        Mean demand during the lead time [parts], >= 0.
    stock
        Safety stock [parts], may be negative.

    Returns
    -------
    Number
        Reorder point [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    S. Chopra and P. Meindl, Supply Chain Management, chapter on safety stock.
    """
    not_negative(mean_demand=mean_demand)
    return mean_demand + stock


def cycle_stock(order_quantity: Number) -> Number:
    """Average stock caused by ordering in lots.

    Q / 2, for a steady demand.

    Parameters
    ----------
    order_quantity
        Order quantity, Q [parts], >= 0.

    Returns
    -------
    Number
        Cycle stock [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, ch. 3.
    """
    not_negative(order_quantity=order_quantity)
    return HALF * order_quantity


def pipeline_stock(demand: Number, transit_time: Number) -> Number:
    """Average stock that is paid for or owned on its way.

    demand x time owned before receipt (Little's law).

    Parameters
    ----------
    demand
        Mean demand of a period [parts/period], >= 0.
    transit_time
        Time from payment or passing of title to receipt [period], >= 0.

    Returns
    -------
    Number
        Pipeline stock [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    J. D. C. Little, Operations Research 9 (1961) 383-387 (L = lambda W).
    """
    not_negative(demand=demand, transit_time=transit_time)
    return demand * transit_time


def holding_cost(stock: Number, unit_value: Number, holding_rate: Number) -> Number:
    """Yearly cost of holding an average stock.

    stock x value x rate. The rate holds interest, space, insurance and obsolescence: the firm's own figure.

    Parameters
    ----------
    stock
        Average stock [parts], >= 0.
    unit_value
        Value of one part in stock [money/part], >= 0.
    holding_rate
        Cost of holding stock for a year per its value [fraction/year], >= 0.

    Returns
    -------
    Number
        Holding cost [money/year].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    W. J. Stevenson, Operations Management, 14th ed., ch. 13 (holding cost as a share of the price).
    """
    not_negative(stock=stock, unit_value=unit_value, holding_rate=holding_rate)
    return stock * unit_value * holding_rate


def bridge_stock(
    demand: Number, ramp_time: Number, margin_time: Number, *, made_in_ramp: Number = 0.0
) -> Number:
    """Stock to build before the old source stops, so that sales go on while the new one starts.

    demand x (ramp + margin) - good parts that the ramp yields in that time, not below zero.

    Parameters
    ----------
    demand
        Mean demand of a period [parts/period], >= 0.
    ramp_time
        Time until the new source delivers in full [period], >= 0.
    margin_time
        Time added for what goes wrong [period], >= 0.
    made_in_ramp
        Good parts counted on from the ramp [parts], >= 0.

    Returns
    -------
    Number
        Bridge stock [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source.
    """
    not_negative(demand=demand, ramp_time=ramp_time, margin_time=margin_time, made_in_ramp=made_in_ramp)
    stock: Number = np.maximum(demand * (ramp_time + margin_time) - made_in_ramp, 0.0)
    return stock


def last_buy(
    demand: Number,
    time_to_cover: Number,
    *,
    in_stock: Number = 0.0,
    on_order: Number = 0.0,
    safety: Number = 0.0,
) -> Number:
    """Parts to order once more from a source that is given up.

    demand x time + safety - stock - on order, not below zero.

    Parameters
    ----------
    demand
        Mean demand of a period [parts/period], >= 0.
    time_to_cover
        Time for which parts are wanted from this source [period], >= 0.
    in_stock
        Parts on the shelf [parts], >= 0.
    on_order
        Parts ordered and not yet received [parts], >= 0.
    safety
        Parts added for uncertainty and spares [parts], >= 0.

    Returns
    -------
    Number
        Parts to order [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source.
    """
    not_negative(
        demand=demand, time_to_cover=time_to_cover, in_stock=in_stock, on_order=on_order, safety=safety
    )
    wanted = demand * time_to_cover + safety - in_stock - on_order
    parts: Number = np.maximum(wanted, 0.0)
    return parts


def use_up_time(stock: Number, demand: Number) -> Number:
    """Time in which a stock is used up.

    stock / demand.

    Parameters
    ----------
    stock
        Parts on the shelf and afloat [parts], >= 0.
    demand
        Mean demand of a period [parts/period], > 0.

    Returns
    -------
    Number
        Time [period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    J. D. C. Little, Operations Research 9 (1961) 383-387.
    """
    not_negative(stock=stock)
    positive(demand=demand)
    return stock / demand


def engineering_change_cost(
    stock_on_shelf: Number,
    stock_afloat: Number,
    unit_value: Number,
    unusable_share: Number,
    *,
    recovered: Number = 0.0,
) -> Number:
    """Value of the stock that a drawing change makes useless.

    (shelf + afloat) x share that cannot be used x (value - what reworking or scrap brings back).

    Parameters
    ----------
    stock_on_shelf
        Parts on the shelf, such as the safety stock [parts], >= 0.
    stock_afloat
        Parts ordered that cannot be stopped, such as the pipeline [parts], >= 0.
    unit_value
        Value of one part [money/part], >= 0.
    unusable_share
        Share of the parts that the change makes useless [fraction], 0 to 1.
    recovered
        What one useless part brings back after its handling [money/part], at most the value.

    Returns
    -------
    Number
        Cost of the change in stock [money].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Common practice, no source.
    """
    not_negative(stock_on_shelf=stock_on_shelf, stock_afloat=stock_afloat, unit_value=unit_value)
    fraction(unusable_share=unusable_share)
    not_above("recovered", recovered, "the value of the part", unit_value)
    return (stock_on_shelf + stock_afloat) * unusable_share * (unit_value - recovered)
