"""The entry sheet: what it holds, and that what is filled in loads back as it is."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
import quote_files
from openpyxl import load_workbook

from costmodel.errors import InputError
from costmodel.reading import check_quotes, read_quotes
from costmodel.reading.entry_sheet import HEADER_ROW, SHEET, columns, write_entry_sheet
from costmodel.records.fields import Named
from costmodel.records.quote import Quote

ROOT = Path(__file__).parent.parent
QUOTE_FILES = sorted((ROOT / "data" / "quotes").glob("*.csv"))
FIFTEEN_DIGITS = 1e-14
"""What a spreadsheet keeps of a number."""


def same_offers(one: Named[Quote], other: Named[Quote]) -> bool:
    def fields(quote: Quote) -> dict[str, object]:
        raw = quote.model_dump(exclude={"tiers", "minimums", "log"})  # the sheet states what a log says
        for table in (quote.tiers, quote.minimums):
            for key, row in table.items():
                raw |= {f"{key}.{name}": value for name, value in row}
        return raw

    assert list(one) == list(other)
    for name in one:
        first, second = fields(one[name]), fields(other[name])
        assert first.keys() == second.keys()
        for field, value in first.items():
            wanted = pytest.approx(value, rel=FIFTEEN_DIGITS) if isinstance(value, float) else value
            assert second[field] == wanted, (name, field)
    return True


@pytest.mark.parametrize("path", QUOTE_FILES, ids=lambda path: path.stem)
def test_offers_written_into_the_sheet_load_back(tmp_path: Path, path: Path) -> None:
    quotes = read_quotes(path, "USD")
    sheet = write_entry_sheet(tmp_path / "offers.xlsx", "USD", quotes=quotes)
    assert same_offers(quotes, read_quotes(sheet, "USD"))


def test_every_field_of_an_offer_makes_the_round_trip(tmp_path: Path) -> None:
    quotes = read_quotes(quote_files.KEPT / "messy.xlsx", "USD")
    raw = {
        **quotes["far-a"].__dict__,
        "tier_rule": "incremental",
        "minimums": {"colour": {"quantity": 250.0, "others": 50.0}, "product": {"quantity": 300.0}},
        "pack": 40.0,
        "surcharge": 0.035,
        "order_charge": 60.0,
        "onward": "buyer",
        "hand_over": "seller",
        "carriage_in_price": 0.25,
        "equipment_owner": "buyer",
        "equipment_over": 12000.0,
        "owner": "buyer",
        "duties": ("base", "metal"),
        "entry_fees": ("entry",),
        "content_share": 0.3,
        "credited": 0.6,
        "recovered": 0.2,
        "sample": 32.0,
        "accept": 1.0,
        "inspection_cost": 0.4,
        "sorting_cost": 0.3,
        "stops": 0.1,
        "stop_time": 56.0,
        "contact_cost": 3800.0,
        "series": "services",
    }
    full = Named({"far-a": Quote.model_validate(raw)})
    unset = [name for name in Quote.model_fields if getattr(full["far-a"], name) in (None, "", (), 0.0)]
    assert set(unset) <= {
        "qualification",
        "packaging",
        "deposit_share",
        "deposit_days",
        "rejected_in_field",
        "log",
    }
    assert same_offers(
        full, read_quotes(write_entry_sheet(tmp_path / "full.xlsx", "USD", quotes=full), "USD")
    )


@pytest.mark.slow
@pytest.mark.skipif(quote_files.soffice() is None, reason="LibreOffice is not installed")
def test_a_sheet_saved_by_libreoffice_loads_without_edits(tmp_path: Path) -> None:
    quotes = read_quotes(QUOTE_FILES[0], "USD")
    sheet = write_entry_sheet(tmp_path / "offers.xlsx", "USD", quotes=quotes)
    (tmp_path / "back").mkdir()
    ods = quote_files.converted(sheet, "ods", tmp_path)
    returned = quote_files.converted(ods, "xlsx", tmp_path / "back")
    assert same_offers(quotes, read_quotes(returned, "USD"))
    kinds = {rule.type for rule in load_workbook(returned)[SHEET].data_validations.dataValidation}
    assert {"list", "date", "decimal"} <= kinds


def returned_enquiry(path: Path, quantities: tuple[int, ...], prices: tuple[float | None, ...]) -> Path:
    """An enquiry as one supplier sends it back: his first row filled in, a price for each quantity or none."""
    write_entry_sheet(path, "USD", part="bracket", revision="C", quantities=quantities)
    book = load_workbook(path)
    sheet = book[SHEET]
    filled = {
        "name": "far-a", "title": "Far A", "currency": "EUR", "delivery_term": "FCA", "place": "their yard",
        "valid_from": datetime.date(2026, 4, 1), "valid_to": datetime.date(2026, 9, 30), "minimum_order": 200,
        "freight": "sea", "packed_mass": 0.2, "packed_volume": 0.24, "lead_time": 98, "lead_time_sd": 21,
        "rejected_at_receipt": 2.6, "rejected_at_assembly": 0.5, "rejected_in_field": 0.04, "source": "offer",
        "status": "quoted", "deposit_share": 30,
    }  # fmt: skip
    for field, value in filled.items():
        sheet.cell(HEADER_ROW + 1, columns().index(field) + 1, value)
    for row, price in enumerate(prices, start=HEADER_ROW + 1):
        sheet.cell(row, columns().index("price") + 1, price)
    book.save(path)
    return path


def test_a_returned_enquiry_loads(tmp_path: Path) -> None:
    path = returned_enquiry(tmp_path / "enquiry.xlsx", (200, 500), (17.6, 15.9))
    offer = read_quotes(path, "USD")["far-a"]
    assert [(tier.quantity, tier.price) for tier in offer.tiers.values()] == [(200.0, 17.6), (500.0, 15.9)]
    assert (offer.part, offer.revision, offer.currency) == ("bracket", "C", "EUR")
    assert (offer.rejected_at_receipt, offer.deposit_share) == pytest.approx((0.026, 0.3))
    assert offer.packed_volume == pytest.approx(240_000)


@pytest.mark.parametrize("prices", [(None, 16.4, None, 15.9), (16.8, 16.4, None, None)])
def test_a_quantity_that_a_supplier_skips_counts_as_not_quoted(
    tmp_path: Path, prices: tuple[float | None, ...]
) -> None:
    quantities = (100, 200, 250, 500)
    path = returned_enquiry(tmp_path / "enquiry.xlsx", quantities, prices)
    priced = [(float(at), price) for at, price in zip(quantities, prices, strict=True) if price is not None]
    offer = read_quotes(path, "USD")["far-a"]
    assert [(tier.quantity, tier.price) for tier in offer.tiers.values()] == priced
    skipped = [at for at, price in zip(quantities, prices, strict=True) if price is None]
    told = check_quotes(path, "USD").left_out
    assert [words.partition(":")[0] for words in told] == [f"Far A from {at} parts" for at in skipped]


def test_headers_carry_units_and_every_choice_drops_down(tmp_path: Path) -> None:
    lanes = ("sea-a", "air-a")
    path = write_entry_sheet(tmp_path / "blank.xlsx", "USD", names={"freight": lanes, "currency": ("EUR",)})
    sheet = load_workbook(path)[SHEET]
    header = {cell.value.partition(" ")[0]: cell for cell in sheet[HEADER_ROW]}
    assert header["lead_time"].value == "lead_time [d]"
    assert header["packed_mass"].value == "packed_mass [kg]"
    assert header["rejected_at_receipt"].value == "rejected_at_receipt [%]"
    assert header["contact_cost"].value == "contact_cost [USD/yr]"
    assert header["price"].value == "price [currency of the offer]"
    assert header["price"].font.bold
    assert not header["packaging"].font.bold
    rules = {
        next(iter(rule.sqref.ranges)).coord.partition(":")[0].rstrip("0123456789"): rule
        for rule in sheet.data_validations.dataValidation
    }
    for field in ("delivery_term", "status", "tier_rule", "freight", "currency", "equipment_owner"):
        assert rules[header[field].column_letter].type == "list", field
    lists = load_workbook(path)["lists"]
    at = header["currency"].column
    assert [lists.cell(row, at).value for row in (1, 2, 3)] == ["USD", "EUR", None]
    assert rules[header["rejected_at_receipt"].column_letter].formula2 == "100"


def test_a_blank_sheet_asks_for_a_row(tmp_path: Path) -> None:
    path = write_entry_sheet(tmp_path / "blank.xlsx", "USD")
    assert [problem.expected for problem in check_quotes(path, "USD").problems] == ["at least one offer"]


def test_an_enquiry_not_filled_in_asks_once_for_its_supplier(tmp_path: Path) -> None:
    path = write_entry_sheet(
        tmp_path / "enquiry.xlsx", "USD", part="bracket", revision="C", quantities=(1, 2, 5)
    )
    problems = check_quotes(path, "USD").problems
    assert [(problem.place, problem.expected) for problem in problems] == [
        ("offers!4:4", "the supplier of this row")
    ]


def test_nothing_is_left_behind_where_it_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a place to write"):
        write_entry_sheet(tmp_path / "none" / "blank.xlsx", "USD")
    write_entry_sheet(tmp_path / "blank.xlsx", "USD")
    assert [path.name for path in tmp_path.iterdir()] == ["blank.xlsx"]
