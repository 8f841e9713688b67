"""One cell of a quote sheet to the text that the record reads, and the remark that stood in it."""

from __future__ import annotations

import datetime
import re

from costmodel.reading.grid import Cell, Grid
from costmodel.reading.numbers import (
    INCLUDED,
    LOOSE_SIGNS,
    NO_OFFER,
    NO_PRICE,
    NOT_SAID,
    NOTHING,
    QuestionError,
    day,
    same_currency,
    understood,
    whole_parts,
)
from costmodel.reading.quote_columns import Column, currency_sign, quantity_text, spec_of
from costmodel.records.fields import OWN_CURRENCY
from costmodel.records.quote import Quote

NO_SIGN = ("none", "nil", "-", "\u2013", "\u2014")
DATES = ("valid_from", "valid_to")


def parts_of(value: str) -> tuple[str, ...]:
    """The items of a list in one cell, parted by semicolons or line breaks."""
    return tuple(part.strip() for part in re.split(r"[;\n]", value) if part.strip())


def minimums_of(value: str) -> dict[str, dict[str, str]]:
    """Levels such as ``product 500 part; colour 250 part``, each with what other parts put towards it."""
    levels = {}
    for text in parts_of(value):
        name, _, rest = text.partition(" ")
        quantity, _, others = rest.partition(", others ")
        fields = {"quantity": _with_unit(quantity.strip(), "part")}
        levels[name] = {
            "name": name,
            **fields,
            **({"others": _with_unit(others.strip(), "part")} if others else {}),
        }
    return levels


def is_unpriced(cell: Cell) -> bool:
    """Whether a cell of prices says that there is none: it is empty, or says so in words."""
    words = cell.text.lower().strip("().! ")
    return any(word in ("", *NO_PRICE, *NO_OFFER, *NOT_SAID, *NO_SIGN) for word in (words, cell.text.lower()))


def _with_unit(number: str, unit: str) -> str:
    return f"{number} {unit}" if re.fullmatch(r"[\d.]+", number) else number


def text_of(cell: Cell, column: Column, grid: Grid, currency: str, home: str) -> tuple[str, str]:
    """The text that the record reads, and a remark that stood in the cell. Raises QuestionError."""
    name, words = column.field, cell.text.lower()
    spec = spec_of(name)
    if name in DATES:
        return day(cell.value).isoformat(), ""
    if spec is None:
        return _words_of(cell, name), ""
    if name == "quantity":
        return f"{quantity_text(cell, grid.mark, grid.commas, proven=grid.proven)} part", ""
    if words in NOTHING or words in INCLUDED:
        if not _may_be_nothing(name):
            raise QuestionError(spec.expected(currency), "Write the number; this cell leaves it open.")
        return ("0" if spec.unit == OWN_CURRENCY else _united("0", column, spec.unit)), f'"{cell.text}"'
    if isinstance(cell.value, float):
        _check_currency(cell.currency, currency, column)
        return _united(cell.text, column, spec.unit), ""
    if isinstance(cell.value, datetime.date):
        raise QuestionError(
            spec.expected(currency), "A spreadsheet made a date of it: write the number again."
        )
    whole = whole_parts(cell.text, grid.mark, proven=grid.proven) if spec.unit == "part" else cell.text
    known = understood(whole, grid.mark, grid.commas)
    if spec.unit == OWN_CURRENCY:
        _check_currency(known.currency, currency, column)
        if known.rest:
            raise QuestionError(
                f"a price in {currency}", f'Take "{known.rest}" out, or put it into a column remark.'
            )
        return known.number, known.note
    rest, code = known.rest, currency_sign(known.currency)
    if known.currency and not (same_currency(code, home) and not rest):
        rest = f"{home if same_currency(code, home) else code}{rest}"
    return (f"{known.number} {rest}" if rest else _united(known.number, column, spec.unit)), known.note


def _may_be_nothing(name: str) -> bool:
    info = Quote.model_fields.get(name)
    return info is not None and not info.is_required() and info.default == 0.0


def _united(number: str, column: Column, unit: str) -> str:
    if column.unit:
        return f"{number} {column.unit}"
    return f"{number} part" if unit == "part" else number


def _check_currency(found: str, stated: str, column: Column) -> None:
    code = currency_sign(found)
    wanted = stated or column.currency
    if not same_currency(code, wanted):
        if not wanted:
            several = ", ".join(LOOSE_SIGNS.get(found, ()))
            why = f'"{found}" may be {several}' if several else f'"{found}" stands beside another currency'
            raise QuestionError("money in one stated currency", f"{why}: add a column currency that says it.")
        raise QuestionError(f"money in {wanted}", f'"{found}" is another: correct one of the two.')


def _words_of(cell: Cell, name: str) -> str:
    words = cell.text.lower()
    info = Quote.model_fields[name]
    if words in NO_PRICE or words in NOT_SAID or words in NOTHING:
        if info.is_required():
            raise QuestionError(f"the {name.replace('_', ' ')}", "Fill it in.")
        return ""
    if name in ("tier_rule", "status", "equipment_owner", "onward", "hand_over"):
        return words.replace(" ", "_") if name == "tier_rule" else words
    return currency_sign(cell.text) if name == "currency" else cell.text
