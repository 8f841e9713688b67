"""What can go wrong with a source, and changing it: a second source, the bridge, the last buy, a new drawing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import Line, total
from costmodel.formulas import disruption, landed, stock_cost
from costmodel.formulas.disruption import SecondSource
from costmodel.landed_cost import bought_per_good, least_order
from costmodel.make_or_buy import AlternativeCost, alternative_cost
from costmodel.records.study import Study
from costmodel.supply import STOCK, on_the_shelf, weeks_of_use
from costmodel.units import Number


def stops_cost(cost: AlternativeCost) -> Number:
    """Expected loss of a year from stops of its sources [money/yr]."""
    return cost.per_year(_is_stop)


def _is_stop(line: Line) -> bool:
    return (line.step, line.element) == (STOCK, "stops")


def second_source(study: Study, alone: str, second: str, both: str) -> SecondSource:
    """What keeping a second source beside the first costs a year, and the loss of stops that it avoids.

    `alone` and `second` are alternatives from one source, `both` is their split. The premium is the difference
    of a good part's cost without stops, each source at its own volume in the split, over the share of the second;
    what the first loses by a smaller volume is in it.
    """
    single, split = alternative_cost(study, alone), alternative_cost(study, both)
    share = study.alternatives[both].shares[second].share
    premium = split.per_year(_is_no_stop) - single.per_year(_is_no_stop)
    return disruption.second_source_value(
        study.demand.per_year,
        share,
        premium / (study.demand.per_year * share),
        stops_cost(single),
        loss_with_both=stops_cost(split),
    )


def _is_no_stop(line: Line) -> bool:
    return not _is_stop(line)


class Bridge(NamedTuple):
    """Stock that carries the change from one source to another."""

    bridge: Number
    """Parts that last over the ramp and a margin [part]."""
    left: Number
    """Parts of today's stock and orders that are still there when the ramp begins [part]."""
    wanted: Number
    """Good parts that the last buy must bring [part]."""
    last_buy: Number
    """Parts to order from the old source: rejects, its least order and whole packages in it [part]."""
    good: Number
    """Good parts that such an order brings [part]."""
    money: Number
    """What the last buy costs at the old source's cash cost of a part in an order of that size [money]."""
    use_up_weeks: Number
    """Weeks of use that the shelf of today lasts [wk]."""
    missing: Number
    """Parts used until the ramp begins that neither shelf nor orders hold: to be ordered as usual [part]."""
    order_weeks_before: Number
    """Weeks of use before the ramp at which the last buy must be ordered: the old source's lead time [wk]."""
    begins_in: Number
    """Weeks of use from today until the ramp begins [wk]."""


def bridge(
    study: Study,
    old: str,
    *,
    ramp_weeks: Number,
    margin_weeks: Number,
    weeks_until: Number | None = None,
    made_in_ramp: Number = 0.0,
    in_stock: Number = 0.0,
    on_order: Number = 0.0,
) -> Bridge:
    """The stock needed to leave a source: the ramp of the new one and a margin, less what the ramp makes.

    `ramp_weeks` and `margin_weeks` are weeks in which parts are used [wk]; `weeks_until` those from today until the
    ramp begins, for which stock is used up first: without it the old source's lead time, the earliest day at which a
    last buy of today is there. `made_in_ramp`, `in_stock`, `on_order` [part]. The trigger to fall back is the day on
    which the margin begins to be used.
    """
    cost = alternative_cost(study, old)
    weekly = study.demand.per_year / study.demand.weeks
    lead = weeks_of_use(cost.portions[0].stock.lead_time.mean, study.demand)
    until = lead if weeks_until is None else weeks_until
    parts = stock_cost.bridge_stock(weekly, ramp_weeks, margin_weeks, made_in_ramp=made_in_ramp)
    there = in_stock + on_order - weekly * until
    left: Number = np.maximum(there, 0.0)
    wanted = stock_cost.last_buy(weekly, parts / weekly, in_stock=left)
    buy, good, money = _last_buy(study, old, wanted)
    return Bridge(
        bridge=parts,
        left=left,
        wanted=wanted,
        last_buy=buy,
        good=good,
        money=money,
        use_up_weeks=stock_cost.use_up_time(in_stock, weekly),
        missing=np.maximum(-there, 0.0),
        order_weeks_before=lead,
        begins_in=until,
    )


def _last_buy(study: Study, old: str, wanted: Number) -> tuple[Number, Number, Number]:
    """The order that brings the good parts wanted, those it brings [part], its cost [money]; 0 for none."""
    way = study.alternatives[old]
    some = np.greater(wanted, 0.0)
    if way.buy:
        quote = study.quotes[way.buy]
        needed = np.where(some, wanted * bought_per_good(quote), 1.0)[()]
        pack = 1.0 if quote.pack is None else quote.pack
        order = landed.ordered_quantity(needed, minimum_order=least_order(quote), multiple=pack)
        good = order / bought_per_good(quote)
    else:
        order = good = landed.ordered_quantity(np.where(some, wanted, 1.0)[()], multiple=1.0)
    value = alternative_cost(study.with_lot(old, order), old).per_part(on_the_shelf)
    return tuple(np.where(some, it, 0.0)[()] for it in (order, good, good * value))  # type: ignore[return-value]


class DrawingChange(NamedTuple):
    """Stock that a change of the drawing makes useless."""

    safety: Number
    """Parts kept on the shelf at all times [part]."""
    cycle: Number
    """Parts on the shelf beside them, on average [part]."""
    afloat: Number
    """Parts on the way that cannot be stopped [part]."""
    least: Number
    """Cost where the change falls just before a delivery: safety stock and what is afloat [money]."""
    average: Number
    """Cost at any day: half a lot more on the shelf [money]."""


def drawing_change(
    study: Study, name: str, *, unusable: Number, recovered: Number = 0.0, unit_value: Number | None = None
) -> DrawingChange:
    """Cost of a change of the drawing in stock that no longer serves.

    `unusable` share of the parts [fraction]; `recovered` what a useless part brings back [money/part];
    `unit_value` of a part [money/part], the source's cash cost where it is not given.
    """
    cost = alternative_cost(study, name)
    stocks = [portion.stock for portion in cost.portions]
    safety = total(np.maximum(stock.safety, 0.0) for stock in stocks)
    cycle, afloat = total(stock.cycle for stock in stocks), total(stock.pipeline for stock in stocks)
    value = cost.per_part(on_the_shelf) if unit_value is None else unit_value

    def lost(shelf: Number) -> Number:
        return stock_cost.engineering_change_cost(shelf, afloat, value, unusable, recovered=recovered)

    return DrawingChange(safety, cycle, afloat, lost(safety), lost(safety + cycle))
