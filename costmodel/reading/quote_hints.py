"""What a sheet of offers says beside its cells: currencies by their signs, what was meant as a header."""

from __future__ import annotations

import re

from costmodel.reading.entry_sheet import shown_unit
from costmodel.reading.grid import EMPTY, Cell, Grid
from costmodel.reading.numbers import QuestionError, same_currency, sign_beside
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


HOW_TO_KNOW = {
    "lead_time_sd": "Take it from past deliveries, or name their file in a column log; 0 d says that it is not known.",
    "rejected_at_receipt": "Take it from past deliveries, or name their file in a column log; else it is a guess.",
    "rejected_at_assembly": "Ask the bench; a new supplier's is a guess: state it with status guess.",
    "rejected_in_field": "Ask who answers complaints; a new supplier's is a guess: state it with status guess.",
    "packed_volume": "Ask for the size of a package and the parts in it.",
    "packed_mass": "Ask for the weight of a package and the parts in it.",
    "place": 'Name it beside the term, such as "FCA seller\'s yard".',
    "valid_to": "Ask until when the offer holds.",
    "source": "Say where the offer comes from: a letter, a call, a visit.",
    "status": "Say guess, quoted or measured.",
}
"""How a buyer comes by what an offer lacks."""


def answer_to(question: QuestionError, field: str, currency: str, home: str) -> tuple[str, str]:
    """What was expected of a cell, and how to answer the question about it, in the words of its field."""
    spec, expected, remedy = spec_of(field), question.expected, question.remedy
    if spec is None:
        return expected, remedy
    if is_own_money(field) and expected in ("a number", spec.expected(currency)):
        expected = f"an amount in {currency}" if currency else "an amount in the offer's currency"
    elif expected == "a number":
        expected = spec.expected(home)
    if field == "price" and expected == "one number":
        expected = "the price of one part"
    return expected, remedy


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
