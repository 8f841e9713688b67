"""Currency rates and their spread from the reference rates of the European Central Bank, without a network.

The rates come with the package CurrencyConverter (extra "currency"), as far as its release reaches. A reference
rate is no rate that anybody was offered: it is a base to plan from, and says its day.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from costmodel.errors import InputError, Problem
from costmodel.records.rate_sheet import Change, plain_text

BASE = "EUR"
TENTH = 1.2815515655446004
"""The 90 % point of a normal distribution, in standard deviations."""


class ReferenceRate(NamedTuple):
    """What one unit of a currency cost in home currency, and how it moved in the days before."""

    currency: str
    home: str
    day: datetime.date
    rate: float
    mean: float
    low: float
    """10 % point of the days looked at."""
    high: float
    """90 % point."""
    yearly_change: float
    """Standard deviation of the change of a year, from daily changes by the root of time [fraction]."""
    days: int
    source: str


def reference_rate(currency: str, home: str, until: datetime.date, *, look_back: int = 365) -> ReferenceRate:
    """The last reference rate up to a day, with its spread over `look_back` days before.

    Raises InputError where the package is not installed, does not know a currency, or has no rate in that time.
    """
    converter, source = _converter()
    for code in (currency, home):
        if code not in converter.currencies:
            expected = "an ISO 4217 code with reference rates"
            raise InputError(
                [Problem("reference rates", "currency", code, expected, "State a rate yourself.")]
            )
    first = until - datetime.timedelta(days=look_back)
    found = {
        day: _per_base(converter, home, day) / _per_base(converter, currency, day)
        for day in (first + datetime.timedelta(days=at) for at in range(look_back + 1))
        if _has(converter, home, day) and _has(converter, currency, day)
    }
    if not found:
        expected = f"a day with reference rates from {first} to {until}"
        raise InputError(
            [Problem("reference rates", currency, f"{until}", expected, "Name an earlier day, or renew it.")]
        )
    series = np.array(list(found.values()))
    steps = np.diff(np.log(series))
    per_year = len(series) / look_back * 365.0
    change = float(np.std(steps, ddof=1) * np.sqrt(per_year)) if len(steps) > 1 else 0.0
    low, high = (float(point) for point in np.quantile(series, (0.1, 0.9)))
    day = max(found)
    return ReferenceRate(
        *(currency, home, day, found[day], float(series.mean()), low, high, change, len(series), source),
    )


def _converter() -> tuple[Any, str]:
    try:
        from importlib.metadata import version

        from currency_converter import CurrencyConverter
    except ImportError as error:
        remedy = 'Install it with the extra "currency", or state a rate yourself.'
        raise InputError(
            [Problem("reference rates", "package", "", "the package CurrencyConverter", remedy)]
        ) from error
    words = f"European Central Bank reference rates, CurrencyConverter {version('CurrencyConverter')}"
    return CurrencyConverter(), words


def _has(converter: Any, currency: str, day: datetime.date) -> bool:
    if currency == BASE:
        return True
    first, last = converter.bounds[currency]
    if not first <= day <= last:
        return False
    return _rate(converter, currency, day) is not None


def _per_base(converter: Any, currency: str, day: datetime.date) -> float:
    rate = 1.0 if currency == BASE else _rate(converter, currency, day)
    assert rate is not None
    return rate


def _rate(converter: Any, currency: str, day: datetime.date) -> float | None:
    from currency_converter import RateNotFoundError

    try:
        return float(converter.convert(1.0, BASE, currency, date=day))
    except RateNotFoundError:
        return None


def as_changes(found: ReferenceRate, was: Mapping[str, str], owner: str) -> tuple[Change, ...]:
    """A reference rate and its range as rows for a person to accept, each beside what it was."""
    address = f"rates.currency.{found.currency}"
    swing = float(np.exp(TENTH * found.yearly_change))
    values = {"rate": found.rate, "low": found.rate / swing, "high": found.rate * swing}
    how = (
        f"rate of {found.day}; 10 and 90 % points a year ahead, from daily changes of {found.days} days: "
        f"{found.yearly_change:.1%} a year"
    )
    return tuple(
        Change(
            address=f"{address}.{field}",
            was=was.get(field, ""),
            value=f"{plain_text(value)} {found.home}",
            n=found.days,
            how=how,
            source=found.source,
            as_of=found.day,
            owner=owner,
            status="quoted",
        )
        for field, value in values.items()
    )
