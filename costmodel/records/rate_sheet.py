"""A year's rates as people keep them: cells of text with units in headers, and changes of single cells."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from costmodel.records.address import tokens
from costmodel.records.fields import Name, Quantity, Record, Status
from costmodel.units import Number

CellKey = tuple[str, str, str]
"""Table, row and column of a cell."""

AS_WRITTEN = 1e-5
"""How near two numbers are that a proposal, which names six digits, means as one."""

YEAR_FILE = "year.toml"
CHANGE_LOG = "change_log.csv"
TO_CONFIRM = "to_confirm.csv"
SEAL = "sealed.csv"
ABOUT, REASONS, BASE = "about", "reasons", "base"
"""Sheets of a workbook of rates that are no table."""
YEAR_WORDS = "Rates of"
"""What stands before the year on the sheet about the workbook."""


@dataclass(frozen=True)
class RateSheet:
    """One table as its file has it; a header may carry a unit: ``price [USD/kg]``."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns without their units."""
        return tuple(text.split("[")[0].strip().replace(" ", "_") for text in self.header)

    def unit(self, column: str) -> str:
        """The unit in the header of a column, or nothing."""
        text = self.header[self.columns.index(column)]
        return text.split("[", 1)[1].rstrip("] ") if "[" in text else ""

    def records(self) -> Iterator[dict[str, str]]:
        """Each row by column name."""
        for row in self.rows:
            yield dict(zip(self.columns, row, strict=True))

    def cells(self) -> Iterator[tuple[CellKey, str]]:
        """Every cell with its key."""
        for record in self.records():
            for column, text in record.items():
                yield (self.name, record["name"], column), text

    def with_cells(self, new: Mapping[CellKey, str]) -> RateSheet:
        """The table with the cells that stand in `new` written anew."""
        rows = tuple(
            tuple(new.get((self.name, record["name"], column), text) for column, text in record.items())
            for record in self.records()
        )
        return replace(self, rows=rows)


@dataclass(frozen=True)
class RateSheets:
    """All tables of a year's folder as text, and the text of its year.toml."""

    year_text: str
    tables: Mapping[str, RateSheet]

    def cells(self) -> dict[CellKey, str]:
        """Every cell of every table."""
        return {key: text for table in self.tables.values() for key, text in table.cells()}

    def with_cells(self, new: Mapping[CellKey, str]) -> RateSheets:
        """The year with some cells written anew."""
        return replace(self, tables={name: table.with_cells(new) for name, table in self.tables.items()})


class Observation(Record):
    """A published value of an index series for one month; ``base`` says what stands at 100."""

    series: Name
    month: Annotated[str, StringConstraints(pattern=r"^\d{4}-(0[1-9]|1[0-2])$")]
    value: Annotated[Number, Quantity("", above=0)]
    base: str
    source: str
    state: Literal["final", "preliminary"] = "final"


class Change(Record):
    """A proposed new value at the address of an input, for a person to accept.

    ``value`` and ``was`` are text with units. ``n``, ``spread`` and ``how`` say how a measured value was found,
    ``low`` and ``high`` are the 10 and 90 % points of what is known of it now. Nothing with ``accept`` other than
    yes is ever written.
    """

    address: str
    was: str = ""
    value: str
    low: str = ""
    high: str = ""
    accept: Literal["yes", "no", ""] = ""
    n: Annotated[int, Field(ge=1)] | None = None
    spread: str = ""
    how: str = ""
    source: str
    as_of: datetime.date
    owner: str
    status: Status
    why: str = ""

    @property
    def cell(self) -> CellKey | None:
        """The cell of a year's rates that it changes; None for an input that stands in another file."""
        parts = tokens(self.address)
        return (parts[1], parts[2], parts[3]) if parts[0] == "rates" and len(parts) == 4 else None


def plain_text(value: float, digits: int = 6) -> str:
    """A number for a cell: so many significant digits, no exponent, no zeros at its end."""
    text = f"{Decimal(f'{value:.{digits}g}'):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def split_number(text: str) -> tuple[float, str] | None:
    """The number of a cell and the unit that stands behind it; None where it starts with no number."""
    head, _, unit = text.strip().partition(" ")
    try:
        return float(head), unit.strip()
    except ValueError:
        return None


def same_cell(one: str, other: str) -> bool:
    """Whether two cells say the same: equal text, or equal numbers in equal units."""
    if one.strip() == other.strip():
        return True
    first, second = split_number(one), split_number(other)
    return first is not None and first == second


def cell_changes(
    before: Mapping[CellKey, str], after: Mapping[CellKey, str]
) -> Iterable[tuple[CellKey, str, str]]:
    """Cells that stand in both and differ: key, text before, text after."""
    for key, text in after.items():
        if key in before and not same_cell(before[key], text):
            yield key, before[key], text
