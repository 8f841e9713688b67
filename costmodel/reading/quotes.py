"""Quotes as buyers keep them, to records: what is certain is read, the rest is asked about with sheet and cell."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from costmodel.reading.found import Found
from costmodel.reading.grid import EMPTY, Cell, Grid, read_grids
from costmodel.reading.linked_logs import linked_log
from costmodel.reading.numbers import LOOSE_SIGNS, QuestionError
from costmodel.reading.quote_cells import is_unpriced, minimums_of, parts_of, text_of
from costmodel.reading.quote_columns import (
    PAYMENT,
    REMARK,
    TIER_FIELDS,
    Column,
    Header,
    find_header,
    is_loose,
    missing_columns,
)
from costmodel.reading.quote_found import (
    Offer,
    QuoteReading,
    Reading,
    is_a_sentence,
    is_header_again,
    short_name,
)
from costmodel.reading.quote_hints import (
    HOW_TO_KNOW,
    answer_to,
    column_words,
    currency_by_signs,
    currency_in_headers,
    is_own_money,
    widest_row,
)
from costmodel.records.faults import NEEDED, problems
from costmodel.records.fields import Named
from costmodel.records.quote import DeliveryTerm, Quote

ENTRY_SHEET = "costmodel entry-sheet"
FEW_COLUMNS = 2
_LISTS = ("duties", "entry_fees")
_TERM = re.compile(rf"\b({'|'.join(get_args(DeliveryTerm))})\b[\s,:]*(.*)", re.IGNORECASE | re.DOTALL)
_NET = re.compile(r"(?:net\s*(\d+)(?:\s*d(?:ays?)?)?|(\d+)\s*days?\s*net)\.?", re.IGNORECASE)


def quotes_of(path: Path, home: str, found: Found, decimal: str = "") -> QuoteReading:
    """The offers of a CSV or XLSX file, one row a supplier and quantity break, or prices side by side.

    Problems are noted in `found` too. `decimal` is the decimal mark of the file where its reader declares it.
    """
    before = len(found.problems)
    grids = read_grids(path, found, decimal)
    home = home or currency_in_headers(grids)
    reader = _Reader(path, home, found)
    headers = [(grid, find_header(grid, home)) for grid in grids]
    for grid, header in headers:
        if header is not None:
            reader.sheet(grid, header)
        elif grid.sheet:
            reader.passed_over.append(f"sheet {grid.sheet}: no columns of an offer")
    if len(found.problems) == before and not any(header for _, header in headers):
        seen = widest_row(grids)
        expected = f"a header with column names such as {', '.join(_required())}"
        remedy = f"Name the columns so, or copy the offers into the sheet that {ENTRY_SHEET} writes."
        found.add(path, "row 1", seen, expected, remedy)
    quotes = reader.records()
    if not quotes and len(found.problems) == before:
        found.add(path, "rows", "", "at least one offer", "Fill in a row below the header.")
    left_out = tuple(words for offer in reader.offers.values() for words in offer.left_out)
    return QuoteReading(
        quotes, tuple(reader.understood), tuple(found.problems[before:]), tuple(reader.passed_over), left_out
    )


def _required() -> dict[str, Any]:
    fields = {
        name: info for name, info in Quote.model_fields.items() if info.is_required() and name != "tiers"
    }
    return {**fields, **dict.fromkeys(TIER_FIELDS)}


class _Reader:
    """Walks over the sheets of one file and gathers offers, readings and questions."""

    def __init__(self, path: Path, home: str, found: Found) -> None:
        self.path, self.home, self.found = path, home, found
        self.offers: dict[str, Offer] = {}
        self.understood: list[Reading] = []
        self.passed_over: list[str] = []
        self.missing: set[str] = set()
        self.orphans: set[str] = set()

    def sheet(self, grid: Grid, header: Header) -> None:
        """All rows below the header of one sheet."""
        for fault in header.faults:
            self.found.add(self.path, *fault)
        missing = missing_columns(header, _required())
        if "currency" in missing and any(
            currency_by_signs(header, grid, at) != ("", "") for at in range(header.body, len(grid.rows))
        ):
            missing.remove("currency")
        words = [column_words(name, self.home) for name in missing]
        place = grid.row_place(header.row)
        if len(missing) > FEW_COLUMNS:
            remedy = f"Add them, or copy the offers into the sheet that {ENTRY_SHEET} writes: nothing stands for them."
            self.found.add(self.path, place, "", f"columns {', '.join(words)} too", remedy)
        else:
            for word in words:
                remedy = "Add the column; nothing stands for it."
                self.found.add(self.path, place, "", f"a column {word}", remedy)
        self.missing |= set(missing)
        above: Offer | None = None
        for at in range(header.body, len(grid.rows)):
            cells = [(column, _at(grid, at, column.at)) for column in header.columns]
            filled = [column for column, cell in cells if cell.text and column.field != REMARK]
            if not filled:
                self._pass_over(grid, at)
                continue
            sentence = len(filled) == 1 and len(header.columns) > 1 and is_a_sentence(grid, at)
            if sentence or is_header_again(grid, at, header):
                self._pass_over(grid, at)
                continue
            if self._headless(grid, at, header):
                offer = self._offer(grid, at, cells, above)
                if offer is not None:
                    offer.spoilt = True
                    above = offer
                continue
            above = self._row(grid, at, header, cells, above)

    def _headless(self, grid: Grid, at: int, header: Header) -> bool:
        """Ask about a row with cells below no header: a comma too many shifts a whole row, so none of it is certain."""
        headed = {column.at for column in header.columns}
        beyond = [
            (column, cell)
            for column, cell in enumerate(grid.rows[at])
            if cell.text and column not in headed and not _at(grid, header.row, column).text
        ]
        for column, cell in beyond:
            remedy = "Name its column, take it out, or put quotes round a text with a comma in it."
            self.found.add(self.path, grid.place(at, column), cell.text, "a cell below a header", remedy)
        return bool(beyond)

    def _pass_over(self, grid: Grid, at: int) -> None:
        text = " ".join(cell.text for cell in grid.rows[at] if cell.text)
        if text:
            self.passed_over.append(f"{grid.row_place(at)}: {text}")

    def _row(
        self, grid: Grid, at: int, header: Header, cells: list[tuple[Column, Cell]], above: Offer | None
    ) -> Offer | None:
        offer = self._offer(grid, at, cells, above)
        if offer is None:
            return above
        in_header = next((column.currency for column, _ in cells if column.currency), "")
        if in_header and not is_loose(in_header) and not header.has("currency"):
            offer.fields.setdefault("currency", in_header)
        if not header.has("currency") and "currency" not in offer.fields:
            self._currency(grid.row_place(at), offer, *currency_by_signs(header, grid, at))
        for first in (True, False):
            for column, cell in cells:
                if cell.text and column.field != "name" and (column.field in ("currency", "title")) == first:
                    self._cell(grid, at, column, cell, offer)
        self._tiers(grid, at, cells, offer)
        return offer

    def _currency(self, place: str, offer: Offer, certain: str, loose: str) -> None:
        """The currency of an offer from the signs beside its money; one sign of several currencies is asked about."""
        if certain:
            offer.fields["currency"] = certain
            offer.cells["currency"] = place
            remark = "by the sign beside its money"
            self.understood.append(Reading(place, offer.name, "currency", "", certain, remark))
        elif loose and "currency" not in offer.asked:
            several = ", ".join(LOOSE_SIGNS.get(loose, ()))
            expected = f"a currency: {loose} may be {several}" if several else "one currency in a row"
            self._ask(place, offer, "currency", loose, expected, "Add a column currency that says which.")

    def _offer(
        self, grid: Grid, at: int, cells: list[tuple[Column, Cell]], above: Offer | None
    ) -> Offer | None:
        texts = {column.field: cell.text for column, cell in cells if column.field in ("name", "title")}
        name = texts.get("name") or short_name(texts.get("title", ""))
        if not name:
            if above is None and grid.sheet not in self.orphans:
                expected = "the supplier of this row"
                self.found.add(
                    self.path, grid.row_place(at), "", expected, "Write its short name in the column name."
                )
                self.orphans.add(grid.sheet)
            return above
        offer = self.offers.setdefault(name, Offer(name, grid.row_place(at), {"name": name}))
        offer.fields.setdefault("title", texts.get("title") or name)
        if texts.get("title"):
            offer.fields["title"] = texts["title"]
        return offer

    def _tiers(self, grid: Grid, at: int, cells: list[tuple[Column, Cell]], offer: Offer) -> None:
        """The price of this row, or its prices side by side; a quantity without a price is not quoted."""
        ladder = [(column, cell) for column, cell in cells if column.tier]
        for column, cell in ladder:
            place = grid.place(at, column.at)
            if is_unpriced(cell):
                offer.unpriced.setdefault(column.tier, (place, cell.text))
            elif text := self._converted(grid, at, column, cell, offer):
                self._add_tier(place, offer, ("", column.tier), ("", text))
        if ladder:
            return
        there = {column.field: (column, cell) for column, cell in cells if column.field in TIER_FIELDS}
        tier = dict.fromkeys(TIER_FIELDS, ("", ""))
        for name in (it for it in TIER_FIELDS if it in there):
            column, cell = there[name]
            place = grid.place(at, column.at)
            if name == "price" and is_unpriced(cell) and tier["quantity"][0]:
                quantity = tier["quantity"][1].partition(" ")[0]
                offer.unpriced.setdefault(quantity, (place, cell.text))
                return
            if cell.text:
                tier[name] = (place, self._converted(grid, at, column, cell, offer) or "")
        self._add_tier(grid.row_place(at), offer, tier["quantity"], tier["price"])

    def _add_tier(self, place: str, offer: Offer, quantity: tuple[str, str], price: tuple[str, str]) -> None:
        number = quantity[1].split()[0] if quantity[1] else ""
        for name, (_, text) in (("quantity", quantity), ("price", price)):
            if not text:
                if name not in offer.asked | self.missing:
                    self._ask(place, offer, name, "", f"a {name}", f"Fill in {name}.")
                return
        if number in offer.tiers:
            expected = "each supplier and quantity once"
            self._ask(
                quantity[0] or place, offer, "quantity", number, expected, "Take one of the two rows out."
            )
            return
        offer.tiers[number] = {
            "currency": str(offer.fields.get("currency", "")),
            "quantity": f"{number} part",
            "price": price[1],
        }
        offer.cells[f"tiers.{number}"] = price[0] or place

    def _cell(self, grid: Grid, at: int, column: Column, cell: Cell, offer: Offer) -> None:
        """One cell into its field."""
        name, place = column.field, grid.place(at, column.at)
        if name in TIER_FIELDS:
            return
        if name == REMARK:
            self.understood.append(Reading(place, offer.name, name, cell.text, cell.text))
            return
        if name == PAYMENT:
            self._payment(place, cell.text, offer)
            return
        value = self._converted(grid, at, column, cell, offer)
        if value is None:
            return
        if name == "delivery_term":
            self._term(place, value, offer)
            return
        self._set(place, offer, name, parts_of(value) if name in _LISTS else value)

    def _set(self, place: str, offer: Offer, name: str, value: object) -> None:
        if name == "minimums":
            value = minimums_of(str(value))
        before = offer.fields.get(name, value)
        if name not in offer.cells and name not in ("currency", "title"):
            before = value
        if before != value:
            expected = f'"{before}" as in {offer.cells.get(name, offer.row)}'
            self._ask(
                place, offer, name, str(value), expected, "Make the two agree or leave the later one empty."
            )
            return
        offer.fields[name] = value
        offer.cells.setdefault(name, place)

    def _term(self, place: str, text: str, offer: Offer) -> None:
        found = _TERM.search(text)
        self._set(place, offer, "delivery_term", found.group(1).upper() if found else text)
        after = found.group(2) if found else ""
        named = re.sub(r"\(?incoterms?\W*(?:2020)?\)?", "", after, flags=re.IGNORECASE).strip()
        if named and "place" not in offer.fields:
            offer.fields["place"] = named

    def _payment(self, place: str, text: str, offer: Offer) -> None:
        found = _NET.fullmatch(text.strip())
        if found is None:
            expected = "terms that can be read in one way, such as net 30"
            remedy = "State deposit_share, deposit_days and balance_days, in days before receipt."
            self._ask(place, offer, PAYMENT, text, expected, remedy)
            return
        days = found.group(1) or found.group(2)
        self._set(place, offer, "balance_days", f"-{days} d")
        self.understood.append(Reading(place, offer.name, "balance_days", text, f"-{days} d"))

    def _converted(self, grid: Grid, at: int, column: Column, cell: Cell, offer: Offer) -> str | None:
        """The cell as text that the record reads; None where it was asked about or says nothing."""
        place = grid.place(at, column.at)
        if "currency" in offer.asked and is_own_money(column.field):
            offer.asked.add(column.field)
            return None
        try:
            value, remark = text_of(cell, column, grid, str(offer.fields.get("currency", "")), self.home)
        except QuestionError as question:
            currency = str(offer.fields.get("currency", ""))
            self._ask(
                place, offer, column.field, cell.text, *answer_to(question, column.field, currency, self.home)
            )
            return None
        remark = "; ".join(part for part in (remark, cell.note) if part)
        self.understood.append(Reading(place, offer.name, column.field, cell.text, value, remark))
        return value or None

    def _ask(self, place: str, offer: Offer, name: str, value: str, expected: str, remedy: str) -> None:
        offer.asked.add(name)
        self.found.add(self.path, f"{place} ({offer.name}, {name})", value, expected, remedy)

    def records(self) -> Named[Quote]:
        """The offers about which nothing has to be asked."""
        quotes: dict[str, Quote] = {}
        for offer in self.offers.values():
            raw = {**offer.fields, "tiers": offer.tiers}
            if offer.unpriced and not offer.tiers and not offer.asked & {*TIER_FIELDS, "currency"}:
                place, text = next(iter(offer.unpriced.values()))
                remedy = "Ask the supplier for it." if text else "Fill in price."
                self._ask(place, offer, "price", text, "at least one price", remedy)
            if raw.get("log") and not offer.spoilt:
                known = linked_log(self.path, raw, offer.cells, self.found)
                if known is None:
                    continue
                raw |= known
            try:
                quote = Quote.model_validate(raw, context={"from_file": True, "home_currency": self.home})
            except ValidationError as error:
                self._faults(offer, error)
                continue
            if not (offer.asked or offer.spoilt or self.missing):
                quotes[offer.name] = quote
        return Named(quotes)

    def _faults(self, offer: Offer, error: ValidationError) -> None:
        """What the record refuses, at the cells of its fields; nothing that a question has covered already."""
        if offer.spoilt or (self.orphans and "currency" not in offer.fields):
            return
        for fault in problems(error, self.path.name, Quote.model_fields):
            head, _, rest = fault.place.partition(".")
            tier = rest.partition(".")[0].strip('"')
            known = offer.asked | self.missing
            if head in known or (head == "tiers" and known & {"quantity", "price", "currency"}):
                continue
            cell = offer.cells.get(f"tiers.{tier}" if head == "tiers" else head, offer.row)
            missing = fault.expected == NEEDED
            expected = f"the {head.replace('_', ' ')} of this offer" if missing else fault.expected
            remedy = HOW_TO_KNOW.get(head, fault.remedy) if missing else fault.remedy
            self.found.add(self.path, f"{cell} ({offer.name}, {fault.place})", fault.value, expected, remedy)


def _at(grid: Grid, row: int, column: int) -> Cell:
    return grid.rows[row][column] if column < len(grid.rows[row]) else EMPTY
