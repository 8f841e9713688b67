"""What a quote sheet was found to hold: its cells as understood, offers in the making, and what must be asked."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from costmodel.errors import Problem
from costmodel.reading.grid import Grid
from costmodel.reading.quote_columns import LEAST_NAMES, Header
from costmodel.records.fields import Named
from costmodel.records.quote import Quote

_BARE = re.compile(r"[+-]?\d+(?:\.\d+)?")


class Reading(NamedTuple):
    """One cell as it was understood."""

    place: str
    supplier: str
    field: str
    found: str
    understood: str
    remark: str = ""

    @property
    def plain(self) -> bool:
        """Whether the cell says the same as what was understood, but perhaps for the unit that its header states."""
        united = _BARE.fullmatch(self.found) is not None and self.understood.startswith(f"{self.found} ")
        return not self.remark and (self.found == self.understood or united)


class QuoteReading(NamedTuple):
    """What a quote file holds: the offers that are certain, every cell as understood, and what must be asked."""

    quotes: Named[Quote]
    understood: tuple[Reading, ...]
    problems: tuple[Problem, ...]
    passed_over: tuple[str, ...]
    """Sheets and lines that hold no offer."""
    left_out: tuple[str, ...] = ()
    """Quantities asked for of which an offer states no price, though it states others."""


@dataclass
class Offer:
    """The raw fields of one supplier, with the cell of each."""

    name: str
    row: str
    fields: dict[str, Any] = field(default_factory=dict)
    cells: dict[str, str] = field(default_factory=dict)
    tiers: dict[str, dict[str, str]] = field(default_factory=dict)
    unpriced: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Quantities without a price: the cell where it would stand, and the word there."""
    asked: set[str] = field(default_factory=set)
    spoilt: bool = False
    """Whether a row of it could not be read at all, so that nothing more is asked about what is missing."""

    @property
    def left_out(self) -> tuple[str, ...]:
        """Words for each quantity that is not quoted beside others that are."""
        title = self.fields.get("title", self.name)
        return tuple(
            f"{title} from {quantity} parts: {words} in {place}"
            for quantity, (place, text) in self.unpriced.items()
            for words in [f'"{text}"' if text else "no price"]
            if self.tiers and quantity not in self.tiers
        )


def is_a_sentence(grid: Grid, at: int) -> bool:
    """Whether a row is a footnote: one text of several words and nothing else."""
    texts = {cell.text for cell in grid.rows[at] if cell.text}
    return len(texts) == 1 and len(next(iter(texts)).split()) > 2


def is_header_again(grid: Grid, at: int, header: Header) -> bool:
    """Whether a row repeats the words of the header, as sheets of several pages do."""
    pairs = zip(grid.rows[at], grid.rows[header.row], strict=False)
    return sum(cell.text == above.text for cell, above in pairs if cell.text[:1].isalpha()) >= LEAST_NAMES


def short_name(title: str) -> str:
    """The name of an offer that states only a title."""
    return re.sub(r"[^A-Za-z0-9]+", "-", title).strip("-").lower()
