"""Having parts when they are needed: stock, lateness, stops and what they cost, the same for a maker and a supplier."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import ALWAYS, IN_USE, CostSheet, Line
from costmodel.formulas import disruption, inventory, stock_cost
from costmodel.records.quote import Quote
from costmodel.records.route import Route
from costmodel.records.study import Demand, Finance, Study
from costmodel.units import Number

DAYS_PER_YEAR = 365.0
STOCK = "stock"
TIED_UP = "stock tied up"


class LeadTime(NamedTuple):
    """Calendar days from order to part on the shelf [d], and their standard deviation [d]."""

    mean: Number
    sd: Number


class Stops(NamedTuple):
    """Times a year that nothing comes at all [1/yr], and how long such a stop lasts [d]."""

    per_year: Number
    days: Number


class Stock(NamedTuple):
    """What an alternative keeps on the shelf and how often it fails to."""

    safety: Number
    """Parts kept against uneven demand and lead time [part]."""
    cycle: Number
    """Average of what each lot brings, half a lot [part]."""
    pipeline: Number
    """Parts of ours that are on the way [part]."""
    lead_time_demand: Number
    """Parts used over the lead time [part]."""
    spread: Number
    """Standard deviation of them [part]."""
    reorder_point: Number
    """Parts on hand and on order at which a lot is ordered [part]."""
    short_per_year: Number
    """Parts a year expected to be missing when asked for [part/yr]."""
    lost_in_stops: Number
    """Parts a year expected to be missing since the source stops altogether [part/yr]."""
    shelf_value: Number
    """Money tied up in parts on the shelf [money]."""
    prepaid: Number
    """Money tied up in payment before receipt, less what is paid after [money]."""
    lead_time: LeadTime


def source_of(record: Quote | Route) -> tuple[LeadTime, Stops]:
    """Lead time and stops of a supplier's offer or of a route of our own."""
    return LeadTime(record.lead_time, record.lead_time_sd), Stops(record.stops, record.stop_time)


def source_named(study: Study, name: str) -> tuple[LeadTime, Stops]:
    """Lead time and stops of an alternative from one source."""
    way = study.alternatives[name]
    return source_of(study.part.routes[way.make] if way.make else study.quotes[way.buy])


def weeks_of_use(days: Number, demand: Demand) -> Number:
    """Weeks in which parts are used [wk] within calendar days [d]: shut weeks spread evenly over the year."""
    return days * demand.weeks / DAYS_PER_YEAR


def on_the_shelf(line: Line) -> bool:
    """Whether a line is cash that a part has cost by the time it lies on the shelf; what a year costs is not in it."""
    return line.mark == "cash" and line.level != "year" and line.step != IN_USE


def stock_of(
    sheet: CostSheet,
    lead_time: LeadTime,
    demand: Demand,
    finance: Finance,
    *,
    per_year: Number,
    order: Number,
    prepaid_per_part: Number = 0.0,
    transit_days: Number = 0.0,
    stops: Stops = Stops(0.0, 0.0),  # noqa: B008 -- frozen
    covered: Number = 0.0,
) -> Stock:
    """Stock that keeps the stated service over the lead time, valued at the cash cost of a part.

    `per_year` is what this source supplies [part/yr]; its share of the weekly spread goes with the square
    root of its share of the demand. `order` is what one lot brings [part]; `prepaid_per_part` is price times
    years paid before receipt [money yr/part]; `transit_days` the days on which parts of ours are on the way.
    A stop is bridged by the safety stock and, on average, half a lot; it lasts as long as a stop does on
    average, by chance. Other sources bring a share `covered` of what is then missing [fraction]. Lead times and stops
    are calendar days, demand is per week in which parts are used: both meet in such weeks, of which a year has
    ``demand.weeks``.
    """
    share = per_year / demand.per_year
    weekly = per_year / demand.weeks
    lead = inventory.lead_time_demand(
        weekly,
        demand.weekly_sd * share**0.5,
        weeks_of_use(lead_time.mean, demand),
        weeks_of_use(lead_time.sd, demand),
    )
    safety = _safety(lead.spread, order, finance)
    short = inventory.expected_shortage(safety, lead.spread) * per_year / order
    part_value = sheet.per_part(on_the_shelf)
    cycle = stock_cost.cycle_stock(order)
    return Stock(
        safety=safety,
        cycle=cycle,
        pipeline=stock_cost.pipeline_stock(weekly, weeks_of_use(transit_days, demand)),
        lead_time_demand=lead.mean,
        spread=lead.spread,
        reorder_point=stock_cost.reorder_point(lead.mean, safety),
        short_per_year=short,
        lost_in_stops=(1.0 - covered)
        * _lost_in_stops(stops, demand, weekly, np.maximum(safety, 0.0) + cycle),
        shelf_value=np.maximum(safety + cycle, 0.0) * part_value,
        prepaid=prepaid_per_part * per_year,
        lead_time=lead_time,
    )


def _safety(spread: Number, order: Number, finance: Finance) -> Number:
    if finance.service_measure == "fill":
        return inventory.safety_stock_for_fill_rate(spread, order, finance.service)
    return inventory.safety_stock(spread, inventory.safety_factor(finance.service))


def _lost_in_stops(stops: Stops, demand: Demand, weekly: Number, on_hand: Number) -> Number:
    """Parts a year that a stop leaves missing after the stock on hand is used up [part/yr]."""
    if not np.any(stops.per_year > 0.0):
        return 0.0 * on_hand
    return disruption.disruption_loss(
        stops.per_year,
        weeks_of_use(stops.days, demand),
        weekly,
        1.0,
        bridged=stock_cost.use_up_time(on_hand, weekly),
        law="exponential",
    )


def stock_lines(stock: Stock, demand: Demand, finance: Finance) -> tuple[Line, ...]:
    """The yearly cost of stock and shortage, and the money that goes into stock and comes back.

    The part of holding that is interest on money is allocated: the cash flow counts the money itself, at its
    dates. The rest of holding (room, insurance, what spoils) is cash. Interest on what is paid before receipt
    stands with the price.
    """
    storage = finance.holding - finance.discount_rate
    tied_up = stock.shelf_value + stock.prepaid
    stops = (
        (Line(STOCK, "stops", "year", "cash", stock.lost_in_stops * demand.shortage_cost),)
        if np.any(stock.lost_in_stops > 0.0)
        else ()
    )
    return (
        Line(STOCK, "stock interest", "year", "allocated", stock.shelf_value * finance.discount_rate),
        Line(STOCK, "stock storage", "year", "cash", stock.shelf_value * storage),
        Line(STOCK, "shortage", "year", "cash", stock.short_per_year * demand.shortage_cost),
        *stops,
        Line(STOCK, TIED_UP, "once", "cash", tied_up, first_month=0),
        Line(STOCK, "stock released", "once", "cash", -tied_up, first_month=ALWAYS),
    )
