"""The neutral table: a title, columns with units, rows of numbers and words, notes. Numbers stay unrounded in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from costmodel.records.study import Study
from costmodel.tables.rounding import (
    APART,
    NEVER,
    chance,
    decimals_by_size,
    months,
    percent_decimals,
    plain,
    significant,
)
from costmodel.units import Number

Cell: TypeAlias = float | int | str
Kind = Literal[
    "text",
    "money",
    "minutes",
    "percent",
    "parts",
    "hours",
    "months",
    "whole",
    "number",
    "chance",
    "range",
    "error",
]


@dataclass(frozen=True)
class Column:
    """A column: its name, the unit of its numbers, and what they are, which says how they are rounded.

    ``step`` rounds to a multiple of a power of ten instead, where a range says what is supported.
    """

    name: str
    unit: str = ""
    kind: Kind = "text"
    step: float | None = None

    @property
    def header(self) -> str:
        """Name and unit as a file carries them."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True)
class Table:
    """Numbers and words in rows, ready for any output; the last ``totals`` rows are sums of the others.

    A cell that has no number says why in words. ``invented`` marks demo data in every output.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()
    invented: bool = False
    totals: int = 0

    def __post_init__(self) -> None:
        wrong = [row for row in self.rows if len(row) != len(self.columns)]
        if wrong:
            raise ValueError(f'table "{self.title}": {len(wrong[0])} cells for {len(self.columns)} columns')

    def column(self, name: str) -> tuple[Cell, ...]:
        """The cells of a column by its name."""
        at = [column.name for column in self.columns].index(name)
        return tuple(row[at] for row in self.rows)

    def without(self, *names: str) -> Table:
        """The table without some columns, for a place with little room."""
        kept = [at for at, column in enumerate(self.columns) if column.name not in names]
        return replace(
            self,
            columns=tuple(self.columns[at] for at in kept),
            rows=tuple(tuple(row[at] for at in kept) for row in self.rows),
        )


def make_table(
    title: str,
    columns: Iterable[Column],
    rows: Iterable[Sequence[object]],
    *,
    study: Study | None = None,
    invented: bool = False,
    notes: Iterable[str] = (),
    totals: int = 0,
) -> Table:
    """A table of plain numbers and words; numpy numbers become floats, an endless one the word "never"."""
    return Table(
        title=title,
        columns=tuple(columns),
        rows=tuple(tuple(_cell(value) for value in row) for row in rows),
        notes=tuple(note for note in notes if note),
        invented=invented or (study is not None and is_invented(study)),
        totals=totals,
    )


def is_invented(study: Study) -> bool:
    """Whether anything that a study rests on is demo data."""
    return study.invented or study.rates.year.invented or study.part.invented


def _cell(value: object) -> Cell:
    if isinstance(value, str):
        return value
    if isinstance(value, int | np.integer) and not isinstance(value, bool):
        return int(value)
    number = float(value)  # type: ignore[arg-type]
    return number if np.isfinite(number) else NEVER


def single(value: Number) -> float:
    """One number of a result; raises ValueError for an array of draws, which no table can show."""
    if np.size(value) != 1:
        raise ValueError("a table shows one number a cell: give it a study without arrays")
    return float(np.ravel(value)[0])


def texts(table: Table) -> list[list[str]]:
    """Every cell as a reader sees it, rounded by the kind of its column."""
    decimals = [_decimals(table, at) for at in range(len(table.columns))]
    return [
        [
            _text(cell, column, places)
            for cell, column, places in zip(row, table.columns, decimals, strict=True)
        ]
        for row in table.rows
    ]


def _decimals(table: Table, at: int) -> int:
    column = table.columns[at]
    numbers = [abs(row[at]) for row in table.rows if not isinstance(row[at], str)]  # type: ignore[arg-type]
    if column.step is not None:
        return -int(np.floor(np.log10(column.step)))
    largest = max(numbers, default=0.0)
    if column.kind == "money":
        return decimals_by_size(largest)
    if column.kind == "percent":
        return max((percent_decimals(number) for number in numbers), default=0)
    if column.kind == "minutes":
        return 2 if largest < 100.0 else 1
    if column.kind in ("parts", "hours"):
        return 0 if largest >= 10.0 or all(number == round(number) for number in numbers) else 1
    return 0


def _text(cell: Cell, column: Column, decimals: int) -> str:
    if isinstance(cell, str):
        return cell
    if column.kind == "months":
        return months(cell)
    if column.kind == "chance":
        return chance(cell / 100.0).removesuffix(f"{APART}%")
    if cell == 0:
        return "0"
    if column.kind in ("number", "text"):
        return significant(cell)
    if column.kind == "error":
        return significant(cell, 2)
    if column.kind == "whole":
        return plain(cell, 0)
    return plain(cell, decimals)


def heading(column: Column) -> str:
    """Name and unit with a break between them where there is room for one only."""
    return f"{column.name} [{column.unit.replace(' ', APART)}]" if column.unit else column.name
