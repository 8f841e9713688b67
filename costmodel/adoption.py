"""An open study taken to another year's rates: which of its own ranges move with the values they are around."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.measured import number_text
from costmodel.rate_compare import at_rates
from costmodel.records.address import tokens, unit_at
from costmodel.records.rates import Rates
from costmodel.records.study import Study
from costmodel.records.uncertain import SPREAD_FIELDS, Uncertain

LISTED = ("discrete", "measured")
"""Shapes whose numbers are a list: a person writes them anew."""


class Adoption(NamedTuple):
    """A study at another year's rates, and what its file must say for it to read so."""

    after: Study
    ranges: dict[str, dict[str, str]]
    """The moved ranges by address, as the file states them."""
    by_hand: tuple[str, ...]
    """Ranges whose list of values a person has to write anew."""


def adopted(study: Study, rates: Rates) -> Adoption:
    """The study at these rates; a range that it states of a rate moves in proportion to the rate."""
    after = at_rates(study, rates)
    moved = [
        spread
        for name, spread in after.uncertainty.items()
        if spread.origin == "study" and tokens(name)[0] == "rates" and spread != study.uncertainty[name]
    ]
    ranges = {spread.name: range_fields(after, spread) for spread in moved if spread.shape not in LISTED}
    return Adoption(after, ranges, tuple(spread.name for spread in moved if spread.shape in LISTED))


def range_fields(study: Study, spread: Uncertain) -> dict[str, str]:
    """A range as the file of a study states it: numbers with their unit, shape, and where it comes from."""
    unit = unit_at(study, spread.name, study.rates.year.home_currency)
    numbers = {it: getattr(spread, it) for it in SPREAD_FIELDS[spread.shape]}
    texts = {it: number_text(value, unit) for it, value in numbers.items() if value is not None}
    words = {it: str(getattr(spread, it)) for it in ("shape", "source", "owner", "status")}
    return {**texts, **words}
