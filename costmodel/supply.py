"""Having parts when they are needed: stock, lateness and their cost, the same for a maker and a supplier."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.cost_lines import ALWAYS, CostSheet, Line
from costmodel.formulas import inventory
from costmodel.records.study import Demand, Finance
from costmodel.units import Number

DAYS_PER_WEEK = 7.0
DAYS_PER_YEAR = 365.0
STOCK = "stock"
TIED_UP = "stock tied up"


class LeadTime(NamedTuple):
    """Calendar days from order to part on the shelf [d], and their standard deviation [d]."""

    mean: Number
    sd: Number


class Stock(NamedTuple):
    """What an alternative keeps on the shelf and how often it fails to."""

    safety: Number
    """Parts kept against uneven demand and lead time [part]."""
    cycle: Number
    """Average of what each lot brings, half a lot [part]."""
    reorder_point: Number
    """Parts on hand and on order at which a lot is ordered [part]."""
    short_per_year: Number
    """Parts a year expected to be missing when asked for [part/yr]."""
    shelf_value: Number
    """Money tied up in parts on the shelf [money]."""
    prepaid: Number
    """Money tied up in payment before receipt, less what is paid after [money]."""
    lead_time: LeadTime


def stock_of(
    sheet: CostSheet,
    lead_time: LeadTime,
    demand: Demand,
    finance: Finance,
    *,
    per_year: Number,
    order: Number,
    prepaid_per_part: Number = 0.0,
) -> Stock:
    """Stock that keeps the stated service over the lead time, valued at the cash cost of a part.

    `per_year` is what this source supplies [part/yr]; its share of the weekly spread goes with the square
    root of its share of the demand. `order` is what one lot brings [part]; `prepaid_per_part` is price times
    years paid before receipt [money yr/part].
    """
    share = per_year / demand.per_year
    lead = inventory.lead_time_demand(
        per_year / demand.weeks,
        demand.weekly_sd * share**0.5,
        lead_time.mean / DAYS_PER_WEEK,
        lead_time.sd / DAYS_PER_WEEK,
    )
    factor = inventory.safety_factor(finance.service)
    safety = inventory.safety_stock(lead.spread, factor)
    short = inventory.expected_shortage(safety, lead.spread) * per_year / order
    part_value = sheet.per_part(lambda line: line.mark == "cash" and line.level != "year")
    shelf_value = (safety + order / 2.0) * part_value
    prepaid = prepaid_per_part * per_year
    return Stock(safety, order / 2.0, lead.mean + safety, short, shelf_value, prepaid, lead_time)


def stock_lines(stock: Stock, demand: Demand, finance: Finance) -> tuple[Line, ...]:
    """The yearly cost of stock and shortage, and the money that goes into stock and comes back.

    The part of holding that is interest on money is allocated: the cash flow counts the money itself, at its
    dates. The rest of holding (room, insurance, what spoils) is cash. Interest on what is paid before receipt
    stands with the price.
    """
    storage = finance.holding - finance.discount_rate
    tied_up = stock.shelf_value + stock.prepaid
    return (
        Line(STOCK, "stock interest", "year", "allocated", stock.shelf_value * finance.discount_rate),
        Line(STOCK, "stock storage", "year", "cash", stock.shelf_value * storage),
        Line(STOCK, "shortage", "year", "cash", stock.short_per_year * demand.shortage_cost),
        Line(STOCK, TIED_UP, "once", "cash", tied_up, first_month=0),
        Line(STOCK, "stock released", "once", "cash", -tied_up, first_month=ALWAYS),
    )
