"""Rounding: how many digits a reader can use. No other module rounds a figure for a person.

A figure with a range keeps what the range supports: 23.1047 within 21.3 to 24.9 is 23.1. A figure without one
is given by its size. Thousands stand apart by a no-break space, since a comma or a point means the decimal
mark to half the readers.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

APART = "\N{NO-BREAK SPACE}"
NEVER = "never"


def plain(value: float, decimals: int) -> str:
    """A number with so many decimals; negative decimals round to tens, hundreds, thousands."""
    rounded = round(float(value), decimals) + 0.0
    return f"{rounded:,.{max(0, decimals)}f}".replace(",", APART)


def decimals_by_size(largest: float) -> int:
    """Decimals of money in a column whose largest figure this is: none from a thousand on, more below one."""
    size = abs(largest)
    if size >= 999.995:
        return 0
    if size >= 1.0 or size == 0.0:
        return 2
    return 3 if size >= 0.1 else 4


def money(value: float, currency: str = "") -> str:
    """Money by its size: 23.1047 is 23.10, 33433.8 is 33 434, 0.0412 keeps four decimals."""
    text = plain(value, decimals_by_size(value))
    return f"{text}{APART}{currency}" if currency else text


def significant(value: float, digits: int = 3) -> str:
    """A number to so many significant digits; one that ends before them is not filled up with zeros."""
    if value == 0.0 or not np.isfinite(value):
        return "0" if value == 0.0 else NEVER
    decimals = digits - 1 - int(np.floor(np.log10(abs(value))))
    text = plain(value, decimals)
    ends_there = abs(round(value, decimals) - value) <= 1e-9 * abs(value)
    return text.rstrip("0").rstrip(".") if "." in text and ends_there else text


def decimals_of_range(low: float, high: float) -> int:
    """Decimals that a range supports: a tenth of the power of ten below its width."""
    return 1 - int(np.floor(np.log10(abs(high - low))))


def with_range(value: float, low: float, high: float) -> str:
    """A figure and its range, both to what the range supports: ``23.1 (21.3 to 24.9)``."""
    if low == high:
        return money(value)
    decimals = decimals_of_range(low, high)
    return f"{plain(value, decimals)} ({range_text(low, high)})"


def range_text(low: float, high: float) -> str:
    """A range to what its width supports: ``21.3 to 24.9``."""
    if low == high:
        return money(low)
    decimals = decimals_of_range(low, high)
    return f"{plain(low, decimals)} to {plain(high, decimals)}"


def percent(fraction: float) -> str:
    """A fraction as percent: whole from ten on, one decimal below, two below one tenth of a percent."""
    return f"{plain(100.0 * fraction, percent_decimals(100.0 * fraction))}{APART}%"


def percent_decimals(value: float) -> int:
    """Decimals of a percentage by its size."""
    size = abs(value)
    if size >= 10.0 or size == 0.0:
        return 0
    return 1 if size >= 0.1 else 2


def chance(fraction: float) -> str:
    """A share of draws in whole percents, never a false certainty: ``more than 99 %``."""
    if fraction > 0.99:
        return f"more than 99{APART}%"
    if fraction < 0.01:
        return f"less than 1{APART}%"
    return f"{plain(100.0 * fraction, 0)}{APART}%"


def months(value: float) -> str:
    """Months to one decimal; ``never`` where the money does not come back."""
    return plain(value, 1) if np.isfinite(value) else NEVER


def scaled(value: float, unit: str) -> tuple[float, str]:
    """An input's value and unit as people write them: a fraction as percent."""
    return (100.0 * value, "%") if unit == "fraction" else (value, unit)


def amount(value: float, unit: str) -> str:
    """An input's value for a sentence: three digits and its unit."""
    number, shown = scaled(value, unit)
    return f"{significant(number)}{APART}{shown}".strip()


def parts_that_add(parts: Iterable[float], whole: float, decimals: int = 2) -> list[float]:
    """Parts rounded so that they add to the rounded whole: those nearest to the next step take what is left.

    Where the parts themselves add to the whole, none moves by a full step of its last decimal.
    """
    step = 10.0**-decimals
    exact = np.asarray(list(parts), dtype=np.float64) / step
    kept = np.floor(exact + 1e-9)
    order = np.argsort(-(exact - kept), kind="stable")
    left = round(whole / step) - int(kept.sum())
    while left and order.size:
        turn, sign = (order, 1) if left > 0 else (order[::-1], -1)
        for at in turn[: abs(left)]:
            kept[at] += sign
        left = round(whole / step) - int(kept.sum())
    return [round(float(part) * step, decimals) for part in kept]
