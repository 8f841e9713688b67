"""Planned hours of a year from a shift calendar and the public holidays of a place.

Holidays come from the package `holidays` (extra "calendars"), whose rules work without a network. A works that
closes at other times states those days; that a rule is right for a works is for a person to confirm.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import NamedTuple

from costmodel.errors import InputError, Problem
from costmodel.formulas.rate_bases import running_hours

MONDAY_TO_FRIDAY = (0, 1, 2, 3, 4)


class PlannedHours(NamedTuple):
    """Hours of a year and what they are made of."""

    year: int
    weekdays: int
    """Days of the week on which the works would run."""
    holidays: tuple[tuple[datetime.date, str], ...]
    """Public holidays among them, by name."""
    closed: tuple[datetime.date, ...]
    """Other days on which the works is closed."""
    days: int
    hours: float
    """Days x shifts x hours a shift x utilisation [h/yr]."""
    source: str


def planned_hours(
    year: int,
    country: str,
    *,
    region: str = "",
    shifts: float = 1.0,
    hours_per_shift: float = 8.0,
    utilisation: float = 1.0,
    week: Iterable[int] = MONDAY_TO_FRIDAY,
    closed: Iterable[datetime.date] = (),
) -> PlannedHours:
    """Planned hours of a year [h/yr]; `country` and `region` are ISO 3166 codes, `week` days from 0, Monday.

    With `utilisation` below 1 they are practical hours: what is left after upkeep, waiting and faults. Raises
    InputError where the package is not installed or does not know the place.
    """
    public, source = _public_holidays(year, country, region)
    working = set(week)
    first = datetime.date(year, 1, 1)
    every = [first + datetime.timedelta(days=day) for day in range(366)]
    running = [day for day in every if day.year == year and day.weekday() in working]
    off = tuple((day, public[day]) for day in running if day in public)
    shut = tuple(sorted(set(closed) & set(running) - set(public)))
    days = len(running) - len(off) - len(shut)
    hours = float(running_hours(float(days), shifts, hours_per_shift, utilisation))
    return PlannedHours(year, len(running), off, shut, days, hours, source)


def _public_holidays(year: int, country: str, region: str) -> tuple[dict[datetime.date, str], str]:
    try:
        from importlib.metadata import version

        import holidays
    except ImportError as error:
        remedy = 'Install it with the extra "calendars", or state the days as closed.'
        raise InputError([Problem("calendar", country, "", "the package holidays", remedy)]) from error
    try:
        found = holidays.country_holidays(country, subdiv=region or None, years=year)
    except NotImplementedError as error:
        expected = "a country and region by their ISO 3166 codes"
        raise InputError(
            [Problem("calendar", "place", f"{country} {region}".strip(), expected, "Correct it.")]
        ) from error
    where = f"{country}-{region}" if region else country
    return dict(found.items()), f"holidays {version('holidays')}, {where}, {year}"
