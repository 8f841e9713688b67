"""Alternatives side by side: what each costs a part, a year and once, its cash by month, and where they cross."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.border_cost import ending_flags
from costmodel.cost_lines import ALWAYS, VOLUME_LEVELS, CostSheet, Flag, Line, is_cash, total
from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import annuity, month_weights, rate_bases
from costmodel.landed_cost import bought_per_good, landed_cost
from costmodel.part_cost import part_cost
from costmodel.records.study import Alternative, RateBasis, Study
from costmodel.supply import (
    DAYS_PER_YEAR,
    STOCK,
    TIED_UP,
    LeadTime,
    Stock,
    Stops,
    source_of,
    stock_lines,
    stock_of,
)
from costmodel.units import Number

MONTHS_PER_YEAR = 12
Kind = Literal["make", "buy", "split"]


class Portion(NamedTuple):
    """The part of the volume that one route or supplier carries: its share, its lines, its stock."""

    share: Number
    sheet: CostSheet
    stock: Stock


@dataclass(frozen=True)
class AlternativeCost:
    """One alternative at the study's volume: every line of every portion, and the totals they sum to."""

    name: str
    title: str
    kind: Kind
    current: bool
    ramp: tuple[float, ...]
    per_year_parts: Number
    portions: tuple[Portion, ...]
    flags: tuple[Flag, ...]

    def per_year(self, keep: Callable[[Line], bool] = lambda line: True) -> Number:
        """Running cost a year [money/yr] of the lines kept."""
        return total(portion.sheet.per_year(keep) for portion in self.portions)

    def per_part(self, keep: Callable[[Line], bool] = lambda line: True) -> Number:
        """Running cost of a good part at the point of use [money/part]."""
        return self.per_year(keep) / self.per_year_parts

    def once(self) -> Number:
        """What is paid once [money], without what it fetches at the end; money in stock is apart, in `tied_up`."""
        return total(portion.sheet.once(_is_paid) for portion in self.portions)

    def tied_up(self) -> Number:
        """Money in stock and in payment before receipt [money]."""
        return total(portion.stock.shelf_value + portion.stock.prepaid for portion in self.portions)

    def short_per_year(self) -> Number:
        """Parts a year expected to be missing when asked for [part/yr]."""
        return total(portion.stock.short_per_year for portion in self.portions)

    def hands_on_hours(self) -> Number:
        """Hours a year that people work on it [h/yr]."""
        return self._hours("hands-on")

    def machine_hours(self, machine: str) -> Number:
        """Hours a year that it needs of a machine [h/yr]."""
        return self._hours("machine", machine)

    def _hours(self, kind: str, resource: str = "") -> Number:
        return total(
            portion.sheet.minutes_per_part(kind, resource)
            * portion.sheet.rhythm.per_year
            / rate_bases.MINUTES_PER_HOUR
            for portion in self.portions
        )


def _is_paid(line: Line) -> bool:
    return line.step != STOCK and line.first_month != ALWAYS and is_cash(line)


def alternative_cost(study: Study, name: str, basis: RateBasis | None = None) -> AlternativeCost:
    """Cost one alternative of a study, on its rate basis or another; a split costs each share at its volume.

    Raises InputError where the inputs together leave the range in which a formula holds.
    """
    try:
        return _alternative_cost(study, name, basis)
    except LimitError as error:
        found, expected = f"{error.name} {error.value}", f"{error.name} {error.expected}"
        remedy = "Correct the input that it comes from."
        raise InputError([Problem("study", f"alternatives.{name}", found, expected, remedy)]) from error


def _alternative_cost(study: Study, name: str, basis: RateBasis | None) -> AlternativeCost:
    alternative = study.alternatives[name]
    chosen = basis or study.finance.basis
    if alternative.shares:
        portions = tuple(
            _portion(study, study.alternatives[other], chosen, portion.share, alternative.stepped_in(other))
            for other, portion in alternative.shares.items()
        )
    else:
        portions = (_portion(study, alternative, chosen, 1.0),)
    return AlternativeCost(
        name=name,
        title=alternative.title,
        kind="split" if alternative.shares else "make" if alternative.make else "buy",
        current=alternative.current,
        ramp=alternative.ramp,
        per_year_parts=study.demand.per_year,
        portions=portions,
        flags=(
            *_override_flags(alternative),
            *(flag for portion in portions for flag in portion.sheet.flags),
        ),
    )


def _override_flags(alternative: Alternative) -> tuple[Flag, ...]:
    return (
        (Flag(alternative.name, f"compared all the same: {alternative.override}"),)
        if alternative.override
        else ()
    )


def _portion(
    study: Study, alternative: Alternative, basis: RateBasis, share: Number, covered: Number = 0.0
) -> Portion:
    per_year = study.demand.per_year * share
    lot = lot_of(study, alternative, per_year)
    if alternative.make:
        route = study.part.routes[alternative.make]
        contributions = {name: hours.contribution for name, hours in study.capacity.items()}
        made = part_cost(
            study.part,
            route,
            study.rates,
            lot=lot,
            per_year=per_year,
            basis=basis,
            contributions=contributions,
        )
        return _with_stock(study, alternative, share, made, source_of(route), per_year, lot, covered)
    quote = study.quotes[alternative.buy]
    bought = landed_cost(
        quote,
        study.rates,
        lot=lot,
        per_year=per_year,
        as_of=study.as_of,
        interest=study.finance.discount_rate,
    )
    ending = tuple(ending_flags(quote, study.rates, bought, study.as_of, study.finance.horizon))
    bought = replace(bought, flags=(*bought.flags, *ending))
    prepaid = bought.unit_price * bought.bought * bought.prepaid_days / DAYS_PER_YEAR
    return _with_stock(
        study,
        alternative,
        share,
        bought,
        source_of(quote),
        per_year,
        bought.rhythm.shipment,
        covered,
        prepaid=prepaid,
        transit_days=bought.transit_days,
    )


def lot_of(study: Study, alternative: Alternative, per_year: Number) -> Number:
    """Parts made or ordered at once [part]; so many orders a year bring its good parts and their rejects."""
    if alternative.lot is not None:
        return alternative.lot
    assert alternative.orders_per_year is not None
    bought = bought_per_good(study.quotes[alternative.buy]) if alternative.buy else 1.0
    return per_year * bought / alternative.orders_per_year


def _with_stock(
    study: Study,
    alternative: Alternative,
    share: Number,
    sheet: CostSheet,
    source: tuple[LeadTime, Stops],
    per_year: Number,
    order: Number,
    covered: Number,
    *,
    prepaid: Number = 0.0,
    transit_days: Number = 0.0,
) -> Portion:
    lead_time, stops = source
    stock = stock_of(
        sheet,
        lead_time,
        study.demand,
        study.finance,
        per_year=per_year,
        order=order,
        prepaid_per_part=prepaid,
        transit_days=transit_days,
        stops=stops,
        covered=covered,
    )
    lines = (*sheet.lines, *stock_lines(stock, study.demand, study.finance))
    if alternative.current:
        lines = tuple(kept for line in lines for kept in _already_there(line, alternative.use_up))
    return Portion(share, replace(sheet, lines=lines), stock)


def _already_there(line: Line, use_up: int) -> Iterator[Line]:
    """What was paid for the way of today is past; the money in its stock goes on being put back, month by month.

    Another way saves that, in the months in which the old stock is used up. What today's equipment fetches at the
    end is still to come.
    """
    if line.level == "once" and line.step != STOCK and line.first_month != ALWAYS:
        yield line._replace(amount=0.0, note=f"{line.note} paid already: counts nothing".strip())
    elif line.element == TIED_UP:
        for month in range(1, use_up + 1):
            yield line._replace(amount=line.amount / use_up, element="stock kept up", first_month=month)
    else:
        yield line


class CashGroup(NamedTuple):
    """Cash that moves alike: yearly money at today's volume and prices, its growth, its months."""

    per_year: Number
    grows_with_volume: bool
    series: str
    first_month: int
    last_month: int


def cash_groups(cost: AlternativeCost, study: Study) -> tuple[CashGroup, ...]:
    """The running cash lines of an alternative, summed by what makes them change over time."""
    sums: dict[tuple[bool, str, int, int], Number] = {}
    for portion in cost.portions:
        rhythm = portion.sheet.rhythm
        kept = portion.sheet.sums(lambda line: line.level != "once" and is_cash(line))
        for line, amount in kept.items():
            yearly = amount * rhythm.per_part(line.level, line.step) * rhythm.per_year
            last = int(np.minimum(line.last_month, study.finance.horizon))
            group = (line.level in VOLUME_LEVELS, line.series, line.first_month, last)
            sums[group] = sums[group] + yearly if group in sums else yearly
    return tuple(CashGroup(amount, *group) for group, amount in sums.items() if group[2] <= group[3])


def once_cash(cost: AlternativeCost, study: Study, with_stock: bool = True) -> dict[int, Number]:
    """What is paid once, by month [money]; what ends with the horizon stands in its last month."""
    months: dict[int, Number] = {}
    for portion in cost.portions:
        for line in portion.sheet.lines:
            if line.level == "once" and is_cash(line) and (with_stock or line.step != STOCK):
                month = int(np.minimum(line.first_month, study.finance.horizon))
                months[month] = months[month] + line.amount if month in months else line.amount
    return months


def _growth(group: CashGroup, study: Study) -> Number:
    """Change a month of a group's cash [fraction]: its prices and its volume, in the terms of the study's money."""
    prices = study.rates.indices[group.series].yearly_change if group.series else 0.0
    volume = study.demand.growth if group.grows_with_volume else 0.0
    yearly = (1.0 + prices) * (1.0 + volume) / (1.0 + inflation(study)) - 1.0
    return annuity.periodic_rate(yearly, MONTHS_PER_YEAR)


def inflation(study: Study) -> Number:
    """What takes nominal money to the terms of the study's discount rate [fraction a year]: zero if nominal."""
    return study.finance.inflation if study.finance.money == "real" else 0.0


def monthly_interest(study: Study) -> Number:
    """The discount rate of a month [fraction] that compounds to the study's rate a year."""
    return annuity.periodic_rate(study.finance.discount_rate, MONTHS_PER_YEAR)


def once_worth(cost: AlternativeCost, study: Study, with_stock: bool = True) -> Number:
    """Worth today of what is paid once, less what comes back at the end [money]; stock money in it or not."""
    interest = (1.0 + monthly_interest(study)) * (1.0 + _monthly_inflation(study)) - 1.0
    return total(
        amount * month_weights.level_weight(interest, month, month)
        for month, amount in once_cash(cost, study, with_stock).items()
    )


def _monthly_inflation(study: Study) -> Number:
    return annuity.periodic_rate(inflation(study), MONTHS_PER_YEAR)


def present_worth(cost: AlternativeCost, study: Study) -> Number:
    """Worth today of the cash an alternative costs over the horizon [money]; allocated lines have no part in it."""
    groups = cash_groups(cost, study)
    running = total(_group_worth(group, study) for group in groups)
    if cost.ramp:
        before = cash_groups(alternative_cost(study, current_name(study)), study)
        missing = [1.0 - share for share in cost.ramp]
        running = running + total(_group_worth(group, study, missing) for group in before)
        running = running - total(_group_worth(group, study, missing) for group in groups)
    return once_worth(cost, study) + running


def _group_worth(group: CashGroup, study: Study, shares: Sequence[float] | None = None) -> Number:
    """Worth today of a group of running cash [money], of all its months or of a share of the first ones."""
    interest, growth = monthly_interest(study), _growth(group, study)
    monthly = group.per_year / MONTHS_PER_YEAR
    if shares is None:
        weight = month_weights.growing_weight(interest, growth, group.first_month, group.last_month)
        return monthly * weight
    last = int(np.minimum(len(shares), group.last_month))
    if group.first_month > last:
        return 0.0
    pattern = shares[group.first_month - 1 : last]
    return monthly * month_weights.horner_weight(interest, group.first_month, last, growth, pattern=pattern)


def current_name(study: Study) -> str:
    """The name of the way it is done today."""
    return next(name for name, alternative in study.alternatives.items() if alternative.current)


def levelled(worth: Number, study: Study) -> Number:
    """The equal yearly amount over the horizon that is worth the same today [money/yr]."""
    weight = month_weights.level_weight(monthly_interest(study), 1, study.finance.horizon)
    return worth * MONTHS_PER_YEAR / weight


def cash_by_month(cost: AlternativeCost, study: Study, with_stock: bool = True) -> npt.NDArray[np.float64]:
    """Cash an alternative costs in month 0 to the horizon [money], months first, the draws behind.

    In the terms of the study's money; in the months of a ramp the way of today carries what is missing.
    """
    months = range(study.finance.horizon + 1)
    deflation = 1.0 + _monthly_inflation(study)
    once = once_cash(cost, study, with_stock)
    shares = dict(enumerate(cost.ramp, start=1))
    running = _running_by_month(cost, study)
    today = _running_by_month(alternative_cost(study, current_name(study)), study) if cost.ramp else running
    flows = [
        shares.get(month, 1.0) * running[month]
        + (1.0 - shares.get(month, 1.0)) * today[month]
        + once.get(month, 0.0) / deflation**month
        for month in months
    ]
    return np.stack(np.broadcast_arrays(*flows))


def _running_by_month(cost: AlternativeCost, study: Study) -> list[Number]:
    groups = [(group, _growth(group, study)) for group in cash_groups(cost, study)]
    return [
        total(
            group.per_year / MONTHS_PER_YEAR * (1.0 + rate) ** month
            for group, rate in groups
            if group.first_month <= month <= group.last_month
        )
        for month in range(study.finance.horizon + 1)
    ]


class Comparison(NamedTuple):
    """Every alternative of a study at the same volume and point of use."""

    study: Study
    basis: RateBasis
    alternatives: dict[str, AlternativeCost]
    worth: dict[str, Number]

    @property
    def current(self) -> AlternativeCost:
        """How it is done today."""
        return next(cost for cost in self.alternatives.values() if cost.current)


def compare(study: Study, basis: RateBasis | None = None, names: Iterable[str] = ()) -> Comparison:
    """Cost every alternative of a study, or those named, on one rate basis."""
    chosen = basis or study.finance.basis
    costs = {name: alternative_cost(study, name, chosen) for name in names or study.alternatives}
    return Comparison(
        study, chosen, costs, {name: present_worth(cost, study) for name, cost in costs.items()}
    )
