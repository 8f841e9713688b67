"""The columns of a quote sheet: what a header means, its unit, and prices that stand beside each other by quantity."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from costmodel.reading.grid import EMPTY, Cell, Grid
from costmodel.reading.numbers import LOOSE_SIGNS, SIGNS, QuestionError, understood, whole_parts
from costmodel.records.address import field_quantity
from costmodel.records.fields import OWN_CURRENCY, Quantity
from costmodel.records.quote import FROM_LOG, Quote, Tier
from costmodel.units import UnitError, factor

ROWS_LOOKED_AT = 20
LEAST_NAMES = 3
TIER_FIELDS = ("quantity", "price")
PAYMENT, REMARK = "payment", "remark"
EXTRA = (*TIER_FIELDS, PAYMENT, REMARK)
PER_COLUMN_ONLY = ("tiers",)

_OTHER_WORDS = {
    "name": ("short name", "supplier code"),
    "title": ("supplier", "vendor", "seller", "company", "supplier name", "offer of"),
    "part": ("part no", "part number", "item", "item no", "drawing", "drawing no"),
    "revision": ("rev", "drawing rev", "drawing revision"),
    "currency": ("curr", "cur", "ccy"),
    "delivery_term": ("delivery terms", "incoterm", "incoterms", "incoterms 2020", "terms of delivery"),
    "place": ("named place", "delivery point", "delivery place", "place of delivery"),
    "valid_from": ("quote date", "offer date", "date of offer", "quoted on", "date"),
    "valid_to": ("valid until", "valid till", "validity", "expires", "expiry"),
    "quantity": (
        "qty",
        "from quantity",
        "order quantity",
        "quantity break",
        "break",
        "order qty",
        "from qty",
    ),
    "price": (
        "unit price",
        "price each",
        "price per part",
        "piece price",
        "each",
        "net price",
        "price at quantity",
        "unit price at quantity",
        "unit price at",
        "price at",
    ),
    "minimum_order": ("min order", "moq", "minimum order quantity", "min order qty"),
    "equipment": ("tooling", "tooling charge", "fixture", "equipment charge", "tooling one off"),
    "equipment_owner": ("tooling owner", "equipment ownership", "tooling ownership"),
    "first_article": ("fai", "first article inspection", "sample charge", "first article charge"),
    "packaging": ("packing", "packing per part"),
    "surcharge": ("material surcharge", "energy surcharge", "surcharge on price"),
    "order_charge": ("handling", "handling per order", "order handling"),
    "freight": ("lane", "freight lane"),
    "lead_time": ("leadtime", "delivery time", "lt"),
    "lead_time_sd": ("lead time spread", "lead time standard deviation"),
    "deposit_share": ("deposit", "down payment"),
    "packed_mass": ("weight", "mass", "packed weight", "gross weight", "weight each"),
    "packed_volume": ("volume", "volume each"),
    "pack": ("pack size", "parts per package", "parts per box", "box quantity"),
    "log": ("delivery log", "deliveries", "log of deliveries"),
    "rejected_at_receipt": (
        "reject rate",
        "rejects",
        "rejected",
        "rejects at receipt",
        "reject rate at receipt",
    ),
    "rejected_at_assembly": ("rejects at assembly", "reject rate at assembly"),
    "rejected_in_field": ("rejects in field", "reject rate in field"),
    PAYMENT: ("payment terms", "terms of payment", "terms"),
    REMARK: ("remarks", "note", "notes", "comment", "comments"),
}


def _key(words: str) -> str:
    return re.sub(r"[\W_]+", " ", words.lower()).strip()


_FIELDS = {_key(field): field for field in (*Quote.model_fields, *EXTRA) if field not in PER_COLUMN_ONLY}
_FIELDS |= {_key(word): field for field, words in _OTHER_WORDS.items() for word in words}
_LITTLE_WORDS = frozenset(("in", "at", "the", "of", "on"))
_MONEY_UNIT = re.compile(r"(?:[A-Z]{3}|[^\w\s/%]+)\s*(?:(?:/|per).*)?")


def _words(text: str) -> frozenset[str]:
    """The words of a header whatever their order, without those that say nothing; none of a single word."""
    words = frozenset(_key(text).split()) - _LITTLE_WORDS
    return words if len(words) > 1 else frozenset()


def _by_words() -> dict[frozenset[str], str]:
    """The field of each set of words that means one field only."""
    meant: dict[frozenset[str], set[str]] = {}
    for text, field in _FIELDS.items():
        meant.setdefault(_words(text), set()).add(field)
    return {words: next(iter(fields)) for words, fields in meant.items() if words and len(fields) == 1}


_BY_WORDS = _by_words()


@dataclass(frozen=True)
class Column:
    """What one column holds: a field, the unit of bare numbers in it, and the quantity where it is one tier's price."""

    at: int
    field: str
    unit: str = ""
    currency: str = ""
    tier: str = ""


@dataclass(frozen=True)
class Header:
    """The columns of a sheet, the first row below them, and what is wrong with them."""

    row: int
    columns: tuple[Column, ...]
    body: int
    faults: tuple[tuple[str, str, str, str], ...] = ()
    """Place, value, expectation, remedy of each fault."""

    def has(self, field: str) -> bool:
        """Whether a field has a column."""
        return any(column.field == field for column in self.columns)


def spec_of(field: str) -> Quantity | None:
    """Unit and range of a number field of a quote or its tiers."""
    if field in TIER_FIELDS:
        return field_quantity(Tier, field)
    return field_quantity(Quote, field) if field in Quote.model_fields else None


def named_field(text: str) -> tuple[str, str]:
    """The field that a header means, empty where none is known, and the unit in its brackets."""
    unit = re.search(r"\[([^\]]*)\]|\(([^)]*)\)", text)
    words = text if unit is None else text.replace(unit.group(), " ")
    field = _FIELDS.get(_key(words), "") or _FIELDS.get(_key(text), "") or _BY_WORDS.get(_words(words), "")
    if field:
        return field, "" if unit is None else (unit.group(1) or unit.group(2) or "").strip()
    for extra in (" in ", " / "):
        head, _, tail = words.partition(extra)
        field = _FIELDS.get(_key(head), "")
        if field and _is_unit_of(field, tail.strip()):
            return field, tail.strip()
    return "", ""


def _is_unit_of(field: str, text: str) -> bool:
    """Whether words after "in" are a unit of the field, and no place or view."""
    spec = spec_of(field)
    if spec is None or not text:
        return False
    if spec.unit == OWN_CURRENCY:
        return _MONEY_UNIT.fullmatch(text) is not None
    return not _unit_remedy(re.sub(r"\b[A-Z]{3}\b", "money", text), spec, "")


def find_header(grid: Grid, home: str) -> Header | None:
    """The header of a sheet: the row in which most cells name a field; None where no row names enough."""
    counts = [
        len(
            {named_field(cell.text)[0] for cell in row if cell.text and not isinstance(cell.value, float)}
            - {""}
        )
        for row in grid.rows[:ROWS_LOOKED_AT]
    ]
    if not counts or max(counts) < LEAST_NAMES:
        return None
    row = counts.index(max(counts))
    heads, unders, second = _two_lines(grid, row)
    columns: list[Column] = []
    faults: list[tuple[str, str, str, str]] = []
    for at, cell in enumerate(heads):
        if cell.text:
            column, fault = _column(grid, row, at, cell, unders[at], home)
            columns += [column] if column else []
            faults += [fault] if fault and not (column is None and at and heads[at - 1] == cell) else []
    faults += _twice(grid, row, columns)
    return Header(row, tuple(columns), row + (2 if second else 1), tuple(faults))


def _two_lines(grid: Grid, row: int) -> tuple[list[Cell], list[Cell], bool]:
    """Each column's words, the quantity or unit below them, and whether the line below still belongs to the header.

    Quantities stand below the word for a price, or in the header's own line with that word above it; the word may be
    merged over them or stand over the first.
    """
    line = list(grid.rows[row])
    heads, unders = _below_a_price(line, grid.rows[row - 1] if row else ())
    if any(cell.text for cell in unders):
        return heads, unders, False
    below = grid.rows[row + 1] if row + 1 < len(grid.rows) else ()
    heads = [*line, *[EMPTY] * (len(below) - len(line))]
    for at, cell in enumerate(below):
        if at and not heads[at].text and _is_price(heads[at - 1]) and _tier_quantity(cell):
            heads[at] = heads[at - 1]
    if not _second_line(heads, below):
        return line, [EMPTY] * len(line), False
    return heads, [*below, *[EMPTY] * (len(heads) - len(below))], True


def _below_a_price(line: list[Cell], above: tuple[Cell, ...]) -> tuple[list[Cell], list[Cell]]:
    """A header's line in which quantities give way to the word for a price above them, and those quantities."""
    heads, unders, over = [*line], [EMPTY] * len(line), EMPTY
    for at, cell in enumerate(line):
        if at < len(above) and above[at].text:
            over = above[at]
        if not (cell.text and _is_price(over) and not named_field(cell.text)[0] and _tier_quantity(cell)):
            over = EMPTY
            continue
        heads[at], unders[at] = over, cell
    return heads, unders


def _is_price(cell: Cell) -> bool:
    return named_field(cell.text)[0] == "price"


def _second_line(heads: list[Cell], below: tuple[Cell, ...]) -> bool:
    """Whether the line below a header still belongs to it: quantities under a price, units, or merged cells."""
    if (
        sum(bool(cell.text) and cell == above for cell, above in zip(below, heads, strict=False))
        >= LEAST_NAMES
    ):
        return True
    found = False
    for cell, above in zip(below, heads, strict=False):
        if not cell.text or cell == above:
            continue
        field, _ = named_field(above.text)
        if not (field == "price" and _tier_quantity(cell)) and not _is_unit(cell, field):
            return False
        found = True
    prices = sum(map(_is_price, heads))
    quantity = any(named_field(cell.text)[0] == "quantity" for cell in heads)
    return found and (
        prices > 1 or not quantity or all(_is_unit_text(cell.text) for cell in below if cell.text)
    )


def _is_unit_text(text: str) -> bool:
    return bool(re.fullmatch(r"[\[(].+[\])]", text))


def _is_unit(cell: Cell, field: str) -> bool:
    return bool(field) and isinstance(cell.value, str) and _is_unit_text(cell.text)


def _tier_quantity(cell: Cell) -> str:
    """Parts in the second line of a header; "1,000" there heads a ladder of prices and is no single part."""
    try:
        return quantity_text(cell)
    except QuestionError:
        thousands = re.match(r"(\d{1,3})[.,](000)\b", cell.text)
        return "".join(thousands.groups()) if thousands else ""


def quantity_text(cell: Cell, mark: str = "", commas: bool = False, *, proven: bool = False) -> str:
    """Parts of a quantity break: "500", "500+", "from 500", "500 pcs", "500-999"."""
    if isinstance(cell.value, float):
        return cell.text
    text = re.sub(r"^(?:>=|\u2265|from|ab|qty\.?|@)\s*", "", cell.text, flags=re.IGNORECASE)
    text = re.sub(
        r"\s*(?:\+|pcs\.?|pc\.?|parts?|ea\.?|off|and up|up|units?)\s*$", "", text, flags=re.IGNORECASE
    )
    ladder = re.fullmatch(r"(\d+)\s*(?:-|\u2013|to)\s*(\d+)", text)
    if ladder and int(ladder.group(2)) > int(ladder.group(1)):
        return ladder.group(1)
    if re.fullmatch(r"\d+(?:\.00?)?", text):
        return text.partition(".")[0]
    text = whole_parts(text, mark, proven=proven)
    known = understood(text, mark, commas)
    if known.rest or known.currency:
        raise QuestionError("a number of parts", "Write the least quantity of this price, such as 500.")
    return known.number


def _column(
    grid: Grid, row: int, at: int, cell: Cell, under: Cell, home: str
) -> tuple[Column | None, tuple[str, str, str, str] | None]:
    place = grid.place(row, at)
    field, unit = named_field(cell.text)
    if not field:
        if cell.text.startswith("#"):
            return None, None
        near = difflib.get_close_matches(_key(cell.text), list(_FIELDS), n=1)
        remedy = (
            f'Did you mean "{_FIELDS[near[0]]}"?'
            if near
            else 'Take it out, name it "remark", or put # before it.'
        )
        return None, (place, cell.text, "a column that is known", remedy)
    tier = ""
    if under.text and under != cell:
        if field == "price":
            tier = _tier_quantity(under)
        elif _is_unit_text(under.text):
            unit = under.text.strip("[]() ")
    currency = ""
    spec = spec_of(field)
    if unit and spec is not None and spec.unit == OWN_CURRENCY:
        currency, fault = _money_unit(place, cell.text, unit)
        return Column(at, field, "", currency, tier), fault
    if unit and (spec is None or not _fits(unit, spec, home)):
        if spec is None or "(" in cell.text:
            return Column(at, field, "", "", tier), None
        remedy = "Write the unit of the column in square brackets."
        return Column(at, field), (
            place,
            cell.text,
            f"[{spec.shown(home)}]",
            _unit_remedy(unit, spec, home) or remedy,
        )
    return Column(at, field, unit, currency, tier), None


def _money_unit(place: str, text: str, unit: str) -> tuple[str, tuple[str, str, str, str] | None]:
    """The currency in the header of a money column; a price for more than one part is asked about."""
    code = re.match(r"([A-Z]{3}|[^\w\s/]+)\s*(?:/|per)?\s*(.*)$", unit)
    if code and code.group(2) not in ("", "part", "parts", "pc", "pcs", "each", "ea", "unit", "piece"):
        return "", (
            place,
            text,
            "the price of one part",
            "Divide the prices, or take the unit out of the header.",
        )
    if code is None:
        return "", None
    return SIGNS.get(code.group(1), code.group(1)), None


def _fits(unit: str, spec: Quantity, home: str) -> bool:
    return not _unit_remedy(unit, spec, home)


def _unit_remedy(unit: str, spec: Quantity, home: str) -> str:
    canonical = "delta" if spec.unit == "fraction" else spec.unit
    if canonical == "":
        return ""
    try:
        factor(re.sub(rf"\b{home}\b", "money", unit) if home else unit, canonical)
    except UnitError as error:
        return error.remedy
    return ""


def _twice(grid: Grid, row: int, columns: list[Column]) -> list[tuple[str, str, str, str]]:
    seen: dict[tuple[str, str], Column] = {}
    faults = []
    for column in columns:
        key = (column.field, column.tier)
        if key in seen and column.field != REMARK:
            first = grid.place(row, seen[key].at)
            expected = f"each column once; {first} has it too"
            faults.append((grid.place(row, column.at), column.field, expected, "Take one of the two out."))
        seen.setdefault(key, column)
    return faults


def currency_sign(found: str) -> str:
    """The code of a sign that one currency uses alone; the sign itself otherwise."""
    return SIGNS.get(found, found)


def is_loose(sign: str) -> bool:
    """Whether several currencies use a sign."""
    return sign in LOOSE_SIGNS


def missing_columns(header: Header, required: Mapping[str, Any]) -> list[str]:
    """Fields that must be stated and have no column: a title stands for a name, a term may name
    its place, payment stands for its three fields, a delivery log for what it states."""
    there = {column.field for column in header.columns}
    if "title" in there or "name" in there:
        there |= {"name", "title"}
    if "delivery_term" in there:
        there.add("place")
    if any(column.tier for column in header.columns):
        there.add("quantity")
    if any(column.currency and not is_loose(column.currency) for column in header.columns):
        there.add("currency")
    if "log" in there:
        there |= set(FROM_LOG)
    if PAYMENT in there:
        there |= {"deposit_share", "deposit_days", "balance_days"}
    return [field for field in required if field not in there]
