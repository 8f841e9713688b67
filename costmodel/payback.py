"""When money paid once comes back: on cash, on what the books would show, and if the freed hours are used."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.cost_lines import is_cash
from costmodel.formulas import investment
from costmodel.make_or_buy import (
    MONTHS_PER_YEAR,
    AlternativeCost,
    alternative_cost,
    cash_by_month,
    present_worth,
)
from costmodel.records.study import Study
from costmodel.units import Number


class Payback(NamedTuple):
    """Going from one alternative to another: what it takes, what it saves on three bases, when it is back.

    Months are infinite where the saving never brings the money back. ``cash`` is the headline.
    """

    start: str
    target: str
    once: Number
    """More paid once than for the start, not counting what comes back at the end of the horizon [money]."""
    cash_saving: Number
    """Cash saved a year [money/yr]."""
    booked_saving: Number
    """Saved a year at the full machine-hour rate [money/yr]; hours that stay paid are in it."""
    refilled_saving: Number
    """Cash saved a year plus what the freed hours would earn in other work [money/yr]."""
    cash_months: Number
    booked_months: Number
    refilled_months: Number
    present_worth: Number
    """Worth today of changing, on cash over the horizon [money]."""


def payback(study: Study, start: str, target: str) -> Payback:
    """What changing from `start` to `target` takes and brings, simple payback in months on three bases."""
    before, after = alternative_cost(study, start, "practical"), alternative_cost(study, target, "practical")
    once = after.once() - before.once()
    booked = before.per_year() - after.per_year()
    cash = before.per_year(is_cash) - after.per_year(is_cash)
    refilled = cash + _contribution(study, before) - _contribution(study, after)
    return Payback(
        start=start,
        target=target,
        once=once,
        cash_saving=cash,
        booked_saving=booked,
        refilled_saving=refilled,
        cash_months=_months(once, cash),
        booked_months=_months(once, booked),
        refilled_months=_months(once, refilled),
        present_worth=present_worth(before, study) - present_worth(after, study),
    )


def _contribution(study: Study, cost: AlternativeCost) -> Number:
    """What the machine hours of an alternative would earn in other work [money/yr]."""
    result: Number = 0.0
    for machine, hours in study.capacity.items():
        result = result + cost.machine_hours(machine) * hours.contribution
    return result


def _months(once: Number, yearly_saving: Number) -> Number:
    """Months until a yearly saving has brought back what was paid once; at once where nothing was."""
    return investment.simple_payback(np.maximum(once, 0.0), yearly_saving / MONTHS_PER_YEAR)


def cumulative_saving(study: Study, start: str, target: str) -> npt.NDArray[np.float64]:
    """Cash saved up to each month from 0 to the horizon by changing from `start` to `target` [money].

    Money that stock ties up or sets free is left out, as in the simple payback: it comes when stock is used.
    """
    before = cash_by_month(alternative_cost(study, start, "cash"), study, with_stock=False)
    after = cash_by_month(alternative_cost(study, target, "cash"), study, with_stock=False)
    return np.cumsum(before - after, axis=0)
