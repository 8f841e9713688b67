"""What a change brings for the money it takes: worth, rates of return, payback with interest, and after tax."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.formulas import annuity, depreciation, investment
from costmodel.make_or_buy import (
    MONTHS_PER_YEAR,
    alternative_cost,
    cash_by_month,
    levelled,
    monthly_interest,
)
from costmodel.records.study import Study, Tax
from costmodel.units import Number

EQUIPMENT = ("fixture", "pallets", "gauges", "equipment")


class Returns(NamedTuple):
    """Going from one alternative to another, on cash before tax.

    The worth counts the money that stock ties up or sets free. The rates and paybacks leave it out: what
    comes back from the old supplier's stock would flatter them.
    """

    start: str
    target: str
    worth: Number
    """Worth today of the change [money]."""
    per_year: Number
    """The equal yearly amount of the same worth [money/yr]."""
    rates: tuple[float, ...]
    """Every internal rate of return a year [fraction] above -50 % a month: none where no money goes out,
    several where the cash turns more than once; then the worth is the answer, not a rate."""
    simple_months: float
    """Months until the cash is back, without interest; infinite where it never is."""
    discounted_months: float
    """Months until it is back with interest."""


class AfterTax(NamedTuple):
    """The same change after tax, by year; a view for an accountant to check, not a tax result."""

    flow: tuple[float, ...]
    """Cash of year 0, 1, ... [money]."""
    worth: float
    """Worth today [money]."""
    payback_years: float


def returns(study: Study, start: str, target: str) -> Returns:
    """Worth, rates of return and payback of changing from `start` to `target`, by month over the horizon."""
    interest = monthly_interest(study)
    worth = investment.net_present_value(interest, saved_by_month(study, start, target))
    flows = [float(amount) for amount in saved_by_month(study, start, target, with_stock=False)]
    monthly = [rate for rate in investment.internal_rates(flows) if rate > -0.5]
    return Returns(
        start=start,
        target=target,
        worth=worth,
        per_year=levelled(worth, study),
        rates=tuple(float(annuity.effective_rate(rate, MONTHS_PER_YEAR)) for rate in monthly),
        simple_months=float(investment.payback_period(flows)),
        discounted_months=float(investment.payback_period(flows, interest)),
    )


def saved_by_month(study: Study, start: str, target: str, with_stock: bool = True) -> tuple[Number, ...]:
    """Cash saved in each month from 0 to the horizon by changing from `start` to `target` [money]."""
    before = cash_by_month(alternative_cost(study, start), study, with_stock)
    after = cash_by_month(alternative_cost(study, target), study, with_stock)
    return tuple(before - after)


def after_tax(study: Study, start: str, target: str, tax: Tax) -> AfterTax:
    """The change after tax: equipment written off by the stated method, everything else taxed as it comes.

    Stock money is no income and is left out of tax. Years run from the decision. Raises LimitError where the
    target pays for no equipment.
    """
    cost = alternative_cost(study, target)
    equipment = float(
        sum(
            line.amount
            for portion in cost.portions
            for line in portion.sheet.lines
            if line.level == "once" and line.element in EQUIPMENT
        )
    )
    saved = [float(amount) for amount in saved_by_month(study, start, target, with_stock=False)]
    stock = [float(amount) for amount in saved_by_month(study, start, target)]
    yearly = _by_year([saved[0] + equipment + saved[1], *saved[2:]])
    written = _schedule(equipment, tax)
    flow = list(depreciation.after_tax_flow(equipment, yearly, written, tax.rate, 0.0))
    moved = [total - income for total, income in zip(stock, saved, strict=True)]
    flow[0] += moved[0]
    flow = [flow[0], *(cash + stocked for cash, stocked in zip(flow[1:], _by_year(moved[1:]), strict=True))]
    return AfterTax(
        flow=tuple(float(cash) for cash in flow),
        worth=float(investment.net_present_value(study.finance.discount_rate, flow)),
        payback_years=float(investment.payback_period(flow)),
    )


def _by_year(months: list[float]) -> list[float]:
    return [
        float(np.sum(months[first : first + MONTHS_PER_YEAR], axis=0))
        for first in range(0, len(months), MONTHS_PER_YEAR)
    ]


def _schedule(equipment: float, tax: Tax) -> tuple[Number, ...]:
    if tax.method == "macrs":
        return depreciation.macrs_schedule(equipment, tax.years)
    if tax.method == "declining balance":
        return depreciation.declining_balance_schedule(
            equipment, 0.0, float(tax.factor) / tax.years, tax.years
        )
    return depreciation.straight_line_schedule(equipment, 0.0, tax.years)
