"""What a change brings for the money it takes: worth, rates of return, payback with interest, and after tax."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.cost_lines import is_cash, total
from costmodel.formulas import annuity, depreciation, investment
from costmodel.formulas.escalation import nominal_amount
from costmodel.make_or_buy import (
    MONTHS_PER_YEAR,
    AlternativeCost,
    alternative_cost,
    cash_by_month,
    inflation,
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
    """Every internal rate of return a year [fraction] above -50 % a month: none where money only goes out or only
    comes back, several where the cash turns more than once; then the worth is the answer, not a rate."""
    goes_out: float
    """Sum of the months in which the change costs more [money], without interest and stock money."""
    comes_back: float
    """Sum of the months in which it saves [money], likewise."""
    simple_months: float
    """Months until the cash is back, without interest; infinite where it never is."""
    discounted_months: float
    """Months until it is back with interest."""


class AfterTax(NamedTuple):
    """The same change after tax; a view for an accountant to check, not a tax result.

    The tax of each year from the decision on is paid at its end, that of a last year cut short at the horizon. A
    year with a loss pays less than nothing: it saves tax on other income.
    """

    flow: tuple[Number, ...]
    """Cash of month 0 to the horizon [money], in the terms of the study's money; stock money is in it."""
    worth: Number
    """Worth today [money]."""
    payback_months: Number
    """Months until the cash is back, without interest and without stock money, as before tax; the tax of a year
    is set aside in equal parts over its months, since money that is owed is not back."""


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
        goes_out=sum(-amount for amount in flows if amount < 0.0),
        comes_back=sum(amount for amount in flows if amount > 0.0),
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

    Tax is reckoned in money of the day, in which an outlay is written off, and then brought to the terms of the
    study's money: inflation eats what is still to be written off. What the horizon leaves in the books is written
    off in its last year. Stock money is no income and is not taxed.
    """
    before, after = _yearly_tax(study, start, tax), _yearly_tax(study, target, tax)
    yearly = [now - then for now, then in zip(after, before, strict=True)]
    flow = [*saved_by_month(study, start, target)]
    set_aside = [*saved_by_month(study, start, target, with_stock=False)]
    for months, owed in zip(_years(study), yearly, strict=True):
        flow[months[-1]] = flow[months[-1]] - owed / _price_level(study, months[-1])
        for month in months:
            share = owed / len(months) / _price_level(study, month)
            set_aside[month] = set_aside[month] - share
    return AfterTax(
        flow=tuple(flow),
        worth=investment.net_present_value(monthly_interest(study), flow),
        payback_months=investment.payback_period(set_aside),
    )


def _yearly_tax(study: Study, name: str, tax: Tax) -> tuple[Number, ...]:
    """Tax of each year on an alternative's cash, which is a cost and so saves tax [money of the day]."""
    cost = alternative_cost(study, name)
    cash = cash_by_month(cost, study, with_stock=False)
    income = [
        total(-cash[month] * _price_level(study, month) for month in _with_the_first_day(months))
        for months in _years(study)
    ]
    written: list[Number] = [0.0] * len(income)
    outlay: Number = 0.0
    for month, amount in _equipment(cost, study).items():
        bought = max(month - 1, 0) // MONTHS_PER_YEAR
        income[bought] = income[bought] + amount
        outlay = outlay + amount
        for year, share in enumerate(_schedule(amount, tax)[: len(income) - bought], start=bought):
            written[year] = written[year] + share
    return depreciation.tax_payments(outlay, income, written, tax.rate, 0.0)


def _equipment(cost: AlternativeCost, study: Study) -> dict[int, Number]:
    """What is paid for equipment, by month [money of the day]."""
    paid: dict[int, Number] = {}
    for portion in cost.portions:
        for line in portion.sheet.lines:
            if line.level == "once" and line.element in EQUIPMENT and is_cash(line):
                month = min(line.first_month, study.finance.horizon)
                paid[month] = paid.get(month, 0.0) + line.amount
    return paid


def _years(study: Study) -> list[range]:
    """The months of each year of the study; the last year may be cut short."""
    end = study.finance.horizon + 1
    return [range(first, min(first + MONTHS_PER_YEAR, end)) for first in range(1, end, MONTHS_PER_YEAR)]


def _with_the_first_day(months: range) -> range:
    """The months of a year, and with the first year the day of the decision."""
    return range(0 if months.start == 1 else months.start, months.stop)


def _price_level(study: Study, month: int) -> Number:
    """What turns an amount of a month in the study's money into money of the day [-]; 1 where money is nominal."""
    return nominal_amount(1.0, inflation(study), month / MONTHS_PER_YEAR)


def _schedule(equipment: Number, tax: Tax) -> tuple[Number, ...]:
    if tax.method == "macrs":
        return depreciation.macrs_schedule(equipment, tax.years)
    if tax.method == "declining balance":
        return depreciation.declining_balance_schedule(equipment, 0.0, tax.factor / tax.years, tax.years)
    return depreciation.straight_line_schedule(equipment, 0.0, tax.years)
