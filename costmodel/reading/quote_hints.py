"""What a sheet of offers says beside its cells: currencies by their signs, what was meant as a header."""

from __future__ import annotations

import re

from costmodel.reading.entry_sheet import shown_unit
from costmodel.reading.grid import EMPTY, Cell, Grid
from costmodel.reading.numbers import same_currency, sign_beside
from costmodel.reading.quote_columns import ROWS_LOOKED_AT, Header, currency_sign, is_loose, spec_of
from costmodel.records.fields import OWN_CURRENCY

_HOME = re.compile(r"\[([A-Z]{3})/(?:yr|year)\]")


def widest_row(grids: tuple[Grid, ...]) -> str:
    """The cells of the fullest of the first rows: what was perhaps meant as a header."""
    rows = [[cell.text for cell in row if cell.text] for grid in grids for row in grid.rows[:ROWS_LOOKED_AT]]
    return "; ".join(max(rows, key=len, default=[])[:8])


def currency_in_headers(grids: tuple[Grid, ...]) -> str:
    """The home currency of a sheet read alone: the only one in units such as [USD/yr]; else none."""
    texts = (cell.text for grid in grids for row in grid.rows[:ROWS_LOOKED_AT] for cell in row)
    codes = {code for text in texts for code in _HOME.findall(text)}
    return codes.pop() if len(codes) == 1 else ""


def is_own_money(field: str) -> bool:
    """Whether a field is money in the currency of the offer."""
    spec = spec_of(field)
    return spec is not None and spec.unit == OWN_CURRENCY


def _signs(header: Header, grid: Grid, at: int) -> set[str]:
    """The signs and codes beside the money of a row."""
    cells = (_at(grid, at, column.at) for column in header.columns if is_own_money(column.field))
    return {currency_sign(cell.currency or sign_beside(cell.text)) for cell in cells} - {""}


def currency_by_signs(header: Header, grid: Grid, at: int) -> tuple[str, str]:
    """The currency that all signs of a row's money agree on; else a sign that leaves it open."""
    found = _signs(header, grid, at)
    certain = [sign for sign in found if not is_loose(sign)]
    if len(certain) == 1 and all(same_currency(sign, certain[0]) for sign in found):
        return certain[0], ""
    return "", min(found, default="")


def _at(grid: Grid, row: int, column: int) -> Cell:
    return grid.rows[row][column] if column < len(grid.rows[row]) else EMPTY


def column_words(name: str, home: str) -> str:
    """A column as its header is written: packed_volume [l]."""
    spec = spec_of(name)
    if spec is None or spec.unit in ("", "fraction", OWN_CURRENCY):
        return name
    return f"{name} [{shown_unit(spec, home)}]"
