"""A sheet in which offers are entered: units in the headers, drop-downs, limits. `read_quotes` loads it back."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin

import numpy as np

from costmodel.errors import InputError, Problem
from costmodel.reading.quote_columns import TIER_FIELDS, spec_of
from costmodel.records.deliveries import DeliveryLog
from costmodel.records.fields import OWN_CURRENCY, Named, Quantity
from costmodel.records.quote import Quote
from costmodel.units import factor

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

SHEET, LISTS, HELP = "offers", "lists", "how to fill it in"
HEADER_ROW = 3
LAST_ROW = 400
_UNITS = {"fraction": "%", "kg": "kg", "mm3": "l", "d": "d", "part": "part"}
_WIDTHS = {"title": 20, "place": 20, "source": 28, "minimums": 24, "duties": 34, "entry_fees": 28}
_HELP = (
    "One row for each supplier and quantity break. The first row of a supplier holds everything; the rows of its "
    "further quantities need only name, quantity and price.",
    "Units stand in the headers. Money without a unit is in the currency of the offer; money per year and the cost "
    "of inspection are in home currency.",
    "Columns in bold must be filled in. Leave the others empty where nothing is said; write 0 where nothing is "
    "charged.",
    "deposit_days and balance_days are days before receipt: net 30 is -30.",
    "duties, entry_fees: names of rows of the rates, parted by a semicolon. A broker or the importer states them: "
    "nothing here classifies goods.",
    "minimums: further levels, such as product 500 part; colour 250 part.",
    "log: the file of a delivery log, as seen from the folder of this sheet. It stands for lead_time, lead_time_sd and "
    "rejected_at_receipt: leave these empty then.",
    "A quantity whose price is left empty counts as not quoted; the others of its supplier are read.",
    "Numbers as your office writes them; dates as dates.",
)


def columns() -> tuple[str, ...]:
    """The fields of an offer in the order of the sheet: quantity and price stand for its tiers."""
    names: list[str] = []
    for field in Quote.model_fields:
        names += TIER_FIELDS if field == "tiers" else (field,)
    return tuple(names)


def write_entry_sheet(
    path: Path | str,
    home_currency: str,
    *,
    quotes: Mapping[str, Quote] | None = None,
    part: str = "",
    revision: str = "",
    quantities: Sequence[int] = (),
    names: Mapping[str, Iterable[str]] | None = None,
) -> Path:
    """Write an entry sheet, blank, or for an enquiry, or holding offers, and return its path.

    `part`, `revision` and `quantities` fill an enquiry: what is asked for, a row for each quantity. `names` are
    the rows of rates to choose from, by field ("freight", "currency"). Raises InputError where it cannot be
    written.
    """
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = SHEET
    lists = book.create_sheet(LISTS)
    _head(sheet, home_currency)
    _rules(sheet, lists, dict(names or {}), home_currency)
    at = HEADER_ROW + 1
    for quote in (quotes or {}).values():
        at = _offer(sheet, at, quote, home_currency)
    for number, quantity in enumerate(quantities if not quotes else ()):
        _row(sheet, at + number, {"part": part, "revision": revision, "quantity": float(quantity)})
    lists.sheet_state = "hidden"
    words = book.create_sheet(HELP)
    words.column_dimensions["A"].width = 110
    for number, text in enumerate(_HELP, start=1):
        words.cell(number, 1, text)
    return _saved(book, Path(path))


def shown_unit(spec: Quantity | None, home: str) -> str:
    """The unit in which the sheet takes a number field; empty for words."""
    if spec is None or spec.unit == "":
        return ""
    if spec.unit == OWN_CURRENCY:
        return "currency of the offer"
    return _UNITS.get(spec.unit, spec.shown(home))


def _head(sheet: Worksheet, home: str) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    sheet.cell(1, 1, "Offers: one row for each supplier and quantity").font = Font(bold=True, size=13)
    for at, field in enumerate(columns(), start=1):
        unit = shown_unit(spec_of(field), home)
        cell = sheet.cell(HEADER_ROW, at, f"{field} [{unit}]" if unit else field)
        cell.font = Font(bold=_needed(field))
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.column_dimensions[get_column_letter(at)].width = _WIDTHS.get(field, 13)
    sheet.freeze_panes = sheet.cell(HEADER_ROW + 1, 2)


def _needed(field: str) -> bool:
    return field in TIER_FIELDS or Quote.model_fields[field].is_required()


def _rules(sheet: Worksheet, lists: Worksheet, names: dict[str, Iterable[str]], home: str) -> None:
    """Drop-downs, dates and limits for every column."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    for at, field in enumerate(columns(), start=1):
        letter = get_column_letter(at)
        cells = f"{letter}{HEADER_ROW + 1}:{letter}{LAST_ROW}"
        choices = _choices(field, names, home)
        spec = spec_of(field)
        rule = None
        if choices:
            for number, choice in enumerate(choices, start=1):
                lists.cell(number, at, choice)
            source = f"{LISTS}!${letter}$1:${letter}${len(choices)}"
            rule = DataValidation(type="list", formula1=source, allow_blank=True)
            rule.error = "One of the list."
        elif field in ("valid_from", "valid_to"):
            rule = DataValidation(type="date", operator="greaterThan", formula1="36526", allow_blank=True)
            rule.error = "A date."
            for row in range(HEADER_ROW + 1, LAST_ROW + 1):
                sheet[f"{letter}{row}"].number_format = "yyyy-mm-dd"
        elif spec is not None:
            rule = _limits(spec)
            rule.error = f"A number: {spec.expected(home)}."
        if rule is not None:
            rule.showErrorMessage = True
            sheet.add_data_validation(rule)
            rule.add(cells)


def _limits(spec: Quantity) -> Any:
    from openpyxl.worksheet.datavalidation import DataValidation

    times = 1.0 / factor(_UNITS[spec.unit], "delta") if spec.unit == "fraction" else 1.0
    low = spec.at_least if spec.at_least is not None else spec.above
    high = spec.at_most if spec.at_most is not None else spec.below
    bounds = {"allow_blank": True, "type": "decimal"}
    if low is None:
        return DataValidation(operator="between", formula1="-100000000", formula2="100000000", **bounds)
    if high is None:
        word = "greaterThanOrEqual" if spec.at_least is not None else "greaterThan"
        return DataValidation(operator=word, formula1=f"{low:g}", **bounds)
    return DataValidation(
        operator="between", formula1=f"{low * times:g}", formula2=f"{high * times:g}", **bounds
    )


def _choices(field: str, names: dict[str, Iterable[str]], home: str) -> tuple[str, ...]:
    if field in names:
        listed = tuple(names[field])
        return tuple(dict.fromkeys((home, *listed))) if field == "currency" else listed
    if field in TIER_FIELDS:
        return ()
    annotation = Quote.model_fields[field].annotation
    return (
        tuple(str(word) for word in get_args(annotation) if word) if get_origin(annotation) is Literal else ()
    )


def _offer(sheet: Worksheet, at: int, quote: Quote, home: str) -> int:
    for number, tier in enumerate(quote.tiers.values()):
        values: dict[str, object] = {"quantity": tier.quantity, "price": tier.price}
        if number == 0:
            values |= {field: getattr(quote, field) for field in columns() if field not in TIER_FIELDS}
        _row(sheet, at + number, {"name": quote.name, **values}, home)
    return at + len(quote.tiers)


def _row(sheet: Worksheet, at: int, values: Mapping[str, object], home: str = "") -> None:
    for column, field in enumerate(columns(), start=1):
        value = _written(field, values.get(field), home)
        if value is not None:
            cell = sheet.cell(at, column, value)
            if isinstance(value, str):
                cell.data_type = "s"


def _written(field: str, value: object, home: str) -> str | float | datetime.date | None:
    """A value of a record as the sheet takes it: in the unit of its header; nothing for what is not stated."""
    if value is None or value in ("", ()) or isinstance(value, DeliveryLog):
        return None
    if field == "minimums" and isinstance(value, Named):
        return "; ".join(_minimum(level) for level in value.values()) or None
    if isinstance(value, tuple):
        return "; ".join(value)
    if isinstance(value, (str, datetime.date)):
        return value
    spec = spec_of(field)
    number = float(np.asarray(value))
    if spec is None or spec.unit in ("", OWN_CURRENCY):
        return number
    canonical = "delta" if spec.unit == "fraction" else spec.unit
    unit = _UNITS.get(spec.unit, spec.unit)
    return float(f"{number / factor(unit, canonical):.14g}")


def _minimum(level: Any) -> str:
    others = f", others {float(level.others):g} part" if float(level.others) else ""
    return f"{level.name} {float(level.quantity):g} part{others}"


def _saved(book: Any, target: Path) -> Path:
    """The workbook in one piece: a file beside the target, then a rename."""
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        book.save(beside)
        beside.replace(target)
    except OSError as error:
        remedy = "Make the folder or name another."
        raise InputError([Problem(target.name, "file", str(target), "a place to write", remedy)]) from error
    finally:
        beside.unlink(missing_ok=True)
    return target
