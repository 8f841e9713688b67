"""Quotes as buyers keep them: what is certain is read, the rest is asked about with sheet and cell."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest
import quote_files
from openpyxl import Workbook

from costmodel.errors import InputError
from costmodel.reading import check_quotes, read_quotes
from costmodel.reading.grid import Cell
from costmodel.reading.numbers import QuestionError, day, decimal_number, proves_mark, understood
from costmodel.reading.quote_columns import named_field, quantity_text
from costmodel.records.quote import Quote

KEPT = quote_files.KEPT
ROOT = Path(__file__).parent.parent


# --- numbers -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "mark", "number"),
    [
        ("1.234,56", ",", "1234.56"),
        ("1.234,56", "", "1234.56"),
        ("1,234.56", "", "1234.56"),
        ("1.234", ",", "1234"),
        ("1,234", ".", "1234"),
        ("1,234", ",", "1.234"),
        ("1,234,567", "", "1234567"),
        ("1.234.567,5", "", "1234567.5"),
        ("17,60", "", "17.60"),
        ("0,125", "", "0.125"),
        ("17.60", "", "17.60"),
        ("1 234,50", "", "1234.50"),
        ("1\u202f234,50", "", "1234.50"),
        ("1'234.50", "", "1234.50"),
        ("-3,5", "", "-3.5"),
        ("\u22123,5", "", "-3.5"),
        ("1.5e3", "", "1.5e3"),
        ("200", ",", "200"),
    ],
)
def test_a_number_with_one_reading_is_read(text: str, mark: str, number: str) -> None:
    assert decimal_number(text, mark) == number


@pytest.mark.parametrize(
    ("text", "mark", "commas"),
    [("1,234", "", False), ("12,345", "", False), ("1.234", "", True), ("1.5", ",", False), ("1,5", ".", False),
     ("1.234,56", ".", False),
     ("1,23,456", "", False), ("1.2.3,4", "", False)],
)  # fmt: skip
def test_a_number_with_two_readings_or_none_is_asked_about(text: str, mark: str, commas: bool) -> None:
    with pytest.raises(QuestionError):
        decimal_number(text, mark, commas)


def test_the_question_names_both_readings() -> None:
    with pytest.raises(QuestionError, match=r'"1,234" is 1234 or 1\.234'):
        decimal_number("1,234")


@pytest.mark.parametrize(
    ("text", "number", "rest", "currency", "note"),
    [
        ("\u20ac 17,60", "17.60", "", "EUR", ""),
        ("$1,234.50", "1234.50", "", "$", ""),
        ("17.60 EUR", "17.60", "", "EUR", ""),
        ("USD 25.40", "25.40", "", "USD", ""),
        ("17.60 (incl. packing)", "17.60", "", "", "incl. packing"),
        ("17.60 incl. packing", "17.60", "", "", "incl. packing"),
        ("17.60 *", "17.60", "", "", ""),
        ("0,47 lb", "0.47", "lb", "", ""),
        ("12 %", "12", "%", "", ""),
        ("6.83 USD/kg", "6.83", "USD/kg", "", ""),
        ("60 cm3", "60", "cm3", "", ""),
        ("0.1 1/yr", "0.1", "1/yr", "", ""),
        ("200 pcs", "200", "", "", "pcs"),
    ],
)
def test_signs_units_and_notes_beside_a_number(
    text: str, number: str, rest: str, currency: str, note: str
) -> None:
    assert understood(text) == (number, rest, currency, note)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("POA", "Ask the supplier"),
        ("on request", "Ask the supplier"),
        ("n/a", "Write 0 if it does not apply"),
        ("12-14", "more than one thing"),
        ("4 to 6 weeks", "more than one thing"),
        ("about", "Write the number"),
        ("17.60 (per 100)", "may change it"),
        ("17.60 (+ 5 %)", "may change it"),
        ("~17", "more than one thing"),
        ("17.60 + tooling", "more than one thing"),
    ],
)
def test_what_is_no_single_number_is_asked_about(text: str, words: str) -> None:
    with pytest.raises(QuestionError, match=words.replace("+", r"\+")):
        understood(text)


@pytest.mark.parametrize(
    ("value", "wanted"),
    [
        ("2026-03-31", "2026-03-31"),
        ("31.12.2026", "2026-12-31"),
        ("03.04.2026", "2026-04-03"),
        ("31/12/2026", "2026-12-31"),
        ("12/31/2026", "2026-12-31"),
        ("05/05/2026", "2026-05-05"),
        ("1 May 2026", "2026-05-01"),
        ("31-Mar-2026", "2026-03-31"),
        (datetime.datetime(2026, 3, 31, 12), "2026-03-31"),  # noqa: DTZ001
    ],
)
def test_a_date_with_one_reading_is_read(value: object, wanted: str) -> None:
    assert day(value).isoformat() == wanted


@pytest.mark.parametrize("value", ["03/04/2026", "30 days", "2026", "31.02.2026", "", "next week"])
def test_another_date_is_asked_about(value: str) -> None:
    with pytest.raises(QuestionError):
        day(value)


# --- sheets ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["messy.xlsx", "messy-office.xlsx"])
def test_a_messy_sheet_is_read_in_full(name: str) -> None:
    reading = check_quotes(KEPT / name, "USD")
    assert reading.problems == ()
    far, near = reading.quotes["far-a"], reading.quotes["near-b"]
    assert {key: tier.price for key, tier in far.tiers.items()} == {"200": 17.60, "500": 15.9, "1000": 14.80}
    assert {key: tier.price for key, tier in near.tiers.items()} == {"200": 25.40, "500": 23.30}
    assert (far.title, far.delivery_term, far.place, far.currency) == ("Far A", "FCA", "seller's yard", "EUR")
    assert (far.equipment, far.packaging, far.lead_time, far.lead_time_sd) == (2400.0, 0.0, 98.0, 23.0)
    assert (far.balance_days, far.rejected_at_receipt, far.rejected_in_field) == pytest.approx(
        (-30.0, 0.026, 0.0004)
    )
    assert (far.valid_to, near.valid_from) == (datetime.date(2026, 12, 31), datetime.date(2026, 5, 1))
    assert far.packed_mass == 0.213
    assert far.packed_volume == pytest.approx(240_000)


def test_the_two_programs_files_hold_the_same_offers() -> None:
    assert read_quotes(KEPT / "messy.xlsx", "USD") == read_quotes(KEPT / "messy-office.xlsx", "USD")
    ladders = [
        read_quotes(KEPT / name, "USD") for name in ("ladder.xlsx", "ladder-office.xlsx", "ladder.csv")
    ]
    assert ladders[0] == ladders[1] == ladders[2]
    assert [tier.price for tier in ladders[0]["far-a"].tiers.values()] == [1017.6, 1015.9, 1014.8]


@pytest.mark.slow
@pytest.mark.skipif(
    quote_files.soffice() is None, reason="LibreOffice is not installed: the kept files are read"
)
def test_files_that_libreoffice_makes_now(tmp_path: Path) -> None:
    made = quote_files.office_files(tmp_path)
    for name in ("messy", "ladder", "awkward"):
        assert read_quotes(made[name], "USD") == read_quotes(KEPT / f"{name}.xlsx", "USD")
    assert read_quotes(made["ladder-csv"], "USD") == read_quotes(KEPT / "ladder.csv", "USD")


def test_what_was_understood_is_shown_with_its_cell() -> None:
    reading = check_quotes(KEPT / "messy.xlsx", "USD")
    by_place = {row.place: row for row in reading.understood}
    assert by_place["Offers!L5"][1:5] == ("far-a", "equipment", "2.400,00 \u20ac", "2400.00")
    assert by_place["Offers!N5"].remark == '"incl."'
    assert by_place["Offers!I6"].remark == "valid all year"
    assert by_place["Offers!H6"].remark == "spoke to him on the phone"
    assert by_place["Offers!Z5"].found == "12 weeks after approval of the drawing"
    assert reading.passed_over == (
        "Offers!8:8: all prices without value added tax",
        "sheet Contacts: no columns of an offer",
    )


def changed(tmp_path: Path, *changes: tuple[str, Any]) -> Path:
    book = quote_files.messy()
    for cell, value in changes:
        book["Offers"][cell] = value
    path = tmp_path / "quotes.xlsx"
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("cell", "value", "place", "words"),
    [
        ("J5", "incl.", "Offers!J5 (far-a, price)", "this cell leaves it open"),
        ("H5", "1,234", "Offers!H5 (far-a, price)", '"1,234" is 1234 or 1.234'),
        ("H5", "$17.60", "Offers!H5 (far-a, price)", '"$" is another'),
        ("H5", "17.60 USD", "Offers!H5 (far-a, price)", '"USD" is another'),
        ("H5", "17.60/100", "Offers!H5 (far-a, price)", "more than one thing"),
        ("M5", "n/a", "Offers!M5 (far-a, first_article)", "Write 0 if it does not apply"),
        ("R5", "12-14", "Offers!R5 (far-a, lead_time)", "more than one thing"),
        ("R5", "14 wekks", "Offers!R5 (far-a, lead_time)", "Did you mean"),
        ("R5", datetime.date(2026, 4, 6), "Offers!R5 (far-a, lead_time)", "A spreadsheet made a date of it"),
        ("S5", None, "Offers!5:5 (far-a, lead_time_sd)", "Take it from past deliveries"),
        ("U5", 260, "Offers!U5 (far-a, rejected_at_receipt)", "at most 1"),
        ("F5", "03/04/2026", "Offers!F5 (far-a, valid_from)", "Write 2026-04-03 or 2026-03-04"),
        ("G5", "60 days", "Offers!G5 (far-a, valid_to)", "ISO 8601"),
        ("E5", "FOX our dock", "Offers!E5 (far-a, delivery_term)", "'FOB'"),
        ("T5", "30 % with order", "Offers!T5 (far-a, payment)", "State deposit_share"),
        ("Y5", "quotd", "Offers!Y5 (far-a, status)", 'Did you mean "quoted"?'),
        ("A5", None, "Offers!5:5", "in the column name"),
        ("K3", "Lot fee", "Offers!K3", "put # before it"),
        ("K3", "Qauntity min", "Offers!K3", "a column that is known"),
        ("R3", "Lead time [kg]", "Offers!R3", '"kg" is another kind of quantity'),
        ("P3", "Part", "Offers!P3", "each column once"),
        ("I5", "=1/0+A99", "Offers!I5", "a formula with its result"),
    ],
)
def test_a_cell_that_is_not_certain_is_asked_about(
    tmp_path: Path, cell: str, value: Any, place: str, words: str
) -> None:
    problems = check_quotes(changed(tmp_path, (cell, value)), "USD").problems
    found = [problem for problem in problems if problem.place == place]
    assert found, [str(problem) for problem in problems]
    assert any(words in str(problem) for problem in found), [str(problem) for problem in found]
    with pytest.raises(InputError):
        read_quotes(tmp_path / "quotes.xlsx", "USD")


def test_what_is_certain_beside_it_is_still_read(tmp_path: Path) -> None:
    reading = check_quotes(changed(tmp_path, ("R5", "12-14")), "USD")
    assert list(reading.quotes) == ["near-b"]
    assert len(reading.problems) == 1


@pytest.mark.parametrize("word", ["POA", "n/a", "tbd", "no bid", "-", None])
def test_a_quantity_without_a_price_is_left_out_and_told(tmp_path: Path, word: str | None) -> None:
    reading = check_quotes(changed(tmp_path, ("I5", word)), "USD")
    assert reading.problems == ()
    assert [float(tier.quantity) for tier in reading.quotes["far-a"].tiers.values()] == [200.0, 1000.0]
    said = word or "no price"
    assert reading.left_out == (
        f'Far A from 500 parts: "{said}" in Offers!I5'
        if word
        else "Far A from 500 parts: no price in Offers!I5",
        "Near B from 1000 parts: no price in Offers!J6",
    )


def test_an_offer_without_any_price_is_asked_about(tmp_path: Path) -> None:
    reading = check_quotes(changed(tmp_path, ("H6", "POA"), ("I6", None)), "USD")
    assert list(reading.quotes) == ["far-a"]
    asked = [(problem.place, problem.value, problem.expected) for problem in reading.problems]
    assert asked == [("Offers!H6 (near-b, price)", "POA", "at least one price")]


def test_all_questions_come_at_once(tmp_path: Path) -> None:
    reading = check_quotes(changed(tmp_path, ("J5", "14-16"), ("R6", "4-6"), ("F5", "03/04/2026")), "USD")
    assert {problem.place.partition(" ")[0] for problem in reading.problems} == {
        "Offers!J5",
        "Offers!R6",
        "Offers!F5",
    }


def test_a_missing_column_is_named_once(tmp_path: Path) -> None:
    book = quote_files.messy()
    book["Offers"]["S3"] = "# their own number"
    path = tmp_path / "quotes.xlsx"
    book.save(path)
    problems = check_quotes(path, "USD").problems
    assert [problem.expected for problem in problems] == ["a column lead_time_sd [d]"]


# --- CSV of many offices ---------------------------------------------------------------------------------


def demo(delimiter: str = ",", comma: bool = False) -> str:
    text = (ROOT / "tests" / "small" / "quotes.csv").read_text(encoding="utf-8")
    import csv
    import io

    rows = list(csv.reader(io.StringIO(text)))
    if comma:
        rows = [[cell.replace(".", ",") if cell[:1].isdigit() else cell for cell in row] for row in rows]
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize(
    ("delimiter", "comma", "encoding", "head"),
    [
        (",", False, "utf-8", ""),
        (",", False, "utf-8-sig", ""),
        (";", False, "utf-8", ""),
        (";", True, "utf-8-sig", ""),
        ("\t", True, "utf-16", ""),
        (";", True, "utf-8", "sep=;\r\n"),
        (";", True, "utf-8", "decimal mark;,\r\n"),
    ],
)
def test_every_office_s_csv_gives_the_same_offers(
    tmp_path: Path, delimiter: str, comma: bool, encoding: str, head: str
) -> None:
    path = tmp_path / "quotes.csv"
    path.write_bytes((head + demo(delimiter, comma)).encode(encoding))
    assert read_quotes(path, "USD") == read_quotes(ROOT / "tests" / "small" / "quotes.csv", "USD")


def test_a_declared_mark_answers_the_question(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(demo(";").replace("2400", '"2,400"'), encoding="utf-8")
    assert "2400 or 2.400" in str(check_quotes(path, "USD").problems[0])
    assert read_quotes(path, "USD", decimal=".")["far-a"].equipment == 2400.0
    path.write_text("Decimal mark;point\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    assert read_quotes(path, "USD")["far-a"].equipment == 2400.0


def in_commas(**changes: str) -> str:
    """The plain offers as an office writes them that parts cells by semicolons and numbers by a comma."""
    text = demo(";", comma=True).replace("2000 part", "2.000 part")
    for before, after in changes.items():
        assert before.replace("_", ",") in text
        text = text.replace(before.replace("_", ","), after, 1)
    return text


def test_numbers_that_can_only_have_a_comma_prove_it_for_their_file(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(in_commas(), encoding="utf-8")
    far = read_quotes(path, "USD")["far-a"]
    assert [float(tier.quantity) for tier in far.tiers.values()] == [200.0, 500.0, 2000.0]
    path.write_text(in_commas(**{"2400": "2.400"}), encoding="utf-8")
    assert read_quotes(path, "USD")["far-a"].equipment == 2400.0


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        ("22_10", "22.10", "2000 or 2:"),  # one number with a point: the file proves nothing
        ("500 part", "1,000 part", "1000 or 1:"),  # some programs write one part so
    ],
)
def test_what_the_file_does_not_prove_is_asked_about(
    tmp_path: Path, before: str, after: str, words: str
) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(in_commas(**{before: after}), encoding="utf-8")
    assert any(words in str(problem) for problem in check_quotes(path, "USD").problems)


@pytest.mark.parametrize(
    ("text", "comma", "point"),
    [
        ("18,75", True, False),
        ("1.250,00 \u20ac", True, False),
        ("0,240 l", True, False),
        ("17.60", False, True),
        ("$1,234.50", False, True),
        ("0.240", False, True),
        ("1.000", False, False),
        ("1,000", False, False),
        ("31.12.2026", False, False),
        ("offer 12,5 of 3 May", False, False),
        ("500", False, False),
    ],
)
def test_which_cells_prove_a_decimal_mark(text: str, comma: bool, point: bool) -> None:
    assert (proves_mark(text, ","), proves_mark(text, ".")) == (comma, point)


def test_a_row_that_contradicts_the_first_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(
        demo().replace("far-a,,,,,,,,,500 part", "far-a,,,,EUR,FOB,,,,500 part"), encoding="utf-8"
    )
    problem = check_quotes(path, "USD").problems[0]
    assert problem.place == "row 3, cell F3 (far-a, delivery_term)"
    assert problem.expected == '"FCA" as in row 2, cell F2'


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("quotes.csv", b"caf\xe9,\xff\n", "text in UTF-8"),
        ("quotes.csv", b"", "a header"),
        ("quotes.xlsx", b"no workbook", "a workbook that opens"),
        ("quotes.xls", b"old", "save it as .xlsx"),
        ("quotes.csv", b"a,b,c\n1,2,3\n", "costmodel entry-sheet"),
    ],
)
def test_a_file_that_is_no_quote_sheet_says_so(tmp_path: Path, name: str, content: bytes, words: str) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(InputError, match=words):
        read_quotes(tmp_path / name, "USD")


def test_a_missing_file_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "quotes.csv").write_text("a")
    with pytest.raises(InputError, match=r'Did you mean "quotes.csv"'):
        read_quotes(tmp_path / "qoutes.csv", "USD")


def test_a_cell_below_no_header_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(demo().replace("seller's yard", "seller's yard, dock 4"), encoding="utf-8")
    places = [problem.place for problem in check_quotes(path, "USD").problems]
    assert "row 2, cell AJ2" in places


def test_a_sheet_with_a_header_and_no_row_asks_for_one(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(demo().splitlines()[0], encoding="utf-8")
    with pytest.raises(InputError, match="at least one offer"):
        read_quotes(path, "USD")


def test_minimums_of_further_levels(tmp_path: Path) -> None:
    header, first, *rest = demo().splitlines()
    path = tmp_path / "quotes.csv"
    lines = [f"{header},minimums", f'{first},"product 500 part; colour 250, others 50"', *rest]
    path.write_text("\n".join(lines), encoding="utf-8")
    levels = read_quotes(path, "USD")["far-a"].minimums
    assert {name: (level.quantity, level.others) for name, level in levels.items()} == {
        "product": (500.0, 0.0),
        "colour": (250.0, 50.0),
    }


def test_text_in_a_sheet_is_never_a_formula(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    from costmodel.reading.entry_sheet import write_entry_sheet

    quotes = read_quotes(ROOT / "tests" / "small" / "quotes.csv", "USD")
    raw = {**quotes["near-b"].__dict__, "title": "=1+1"}
    path = write_entry_sheet(tmp_path / "out.xlsx", "USD", quotes={"near-b": Quote.model_validate(raw)})
    kinds = {cell.value: cell.data_type for row in load_workbook(path)["offers"].iter_rows() for cell in row}
    assert kinds["=1+1"] == "s"
    assert read_quotes(path, "USD")["near-b"].title == "=1+1"


def test_no_money_without_its_currency(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(["name", "quantity", "price", "status"])  # type: ignore[union-attr]
    book.active.append(["a", 100, "\u20ac 5", "guess"])  # type: ignore[union-attr]
    path = tmp_path / "quotes.xlsx"
    book.save(path)
    reading = check_quotes(path, "USD")
    signs = {row.understood: row.remark for row in reading.understood if row.field == "currency"}
    assert signs == {"EUR": "by the sign beside its money"}
    book.active["C2"] = "$ 5"  # type: ignore[index]
    book.save(path)
    asked = [problem for problem in check_quotes(path, "USD").problems if "currency" in problem.place]
    assert [problem.value for problem in asked] == ["$"]
    assert "USD, CAD, AUD" in asked[0].expected
    book.active["C2"] = 5  # type: ignore[index]
    book.save(path)
    assert any("currency" in problem.expected for problem in check_quotes(path, "USD").problems)


@pytest.mark.parametrize(
    ("text", "mark", "commas", "parts"),
    [
        ("1,234", "", False, "1234"),  # parts are whole, so a mark before three digits parts thousands
        ("2.500", "", False, "2500"),
        ("2.500", "", True, "2500"),
        ("1.000", ",", False, "1000"),
        ("1,000", ".", False, "1000"),
        ("500.000", ".", False, "500"),  # as some programs write 500
        ("500.0", "", False, "500"),
        ("12,500", "", False, "12500"),
    ],
)
def test_a_count_of_parts_is_whole(text: str, mark: str, commas: bool, parts: str) -> None:
    assert quantity_text(Cell(text), mark, commas) == parts


@pytest.mark.parametrize(
    ("text", "commas"),
    [("1.000", False), ("1.000", True), ("1,000", False), ("1,000", True), ("500.000", False)],
)
def test_a_count_that_may_be_thousands_is_asked_about(text: str, commas: bool) -> None:
    with pytest.raises(QuestionError, match=r"is \d+000 or"):
        quantity_text(Cell(text), "", commas)


def test_a_minimum_with_thousands_is_not_read_as_one_part(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text(demo().replace(",200 part,2400", ',"1.500",2400', 1), encoding="utf-8")
    assert read_quotes(path, "USD")["far-a"].minimum_order == 1500.0


@pytest.mark.parametrize("text", ["June 3, 2026", "Jun 3 2026", "June 3rd, 2026", "3 June 2026"])
def test_a_month_by_name_says_the_date(text: str) -> None:
    assert day(text) == datetime.date(2026, 6, 3)


@pytest.mark.parametrize("name", ["awkward.xlsx", "awkward-office.xlsx"])
def test_a_ladder_under_one_merged_price_with_thousands_and_no_bid(name: str) -> None:
    """A buyer's own sheet: quantities under a merged price, signs for currencies, tiers that are not offered."""
    reading = check_quotes(KEPT / name, "USD")
    assert reading.problems == ()
    nord, third = reading.quotes["nord-dreher"], reading.quotes["third-shop"]
    assert (nord.currency, third.currency) == ("EUR", "USD")
    assert [(float(it.quantity), float(it.price)) for it in nord.tiers.values()] == [
        (500, 7.10),
        (1000, 6.85),
    ]
    assert [(float(it.quantity), float(it.price)) for it in third.tiers.values()] == [
        (1000, 6.95),
        (2500, 6.60),
    ]
    assert nord.equipment == 1800.0
    assert third.lead_time == 42.0


# --- headers of two lines --------------------------------------------------------------------------------


def two_lines(price: str, *, above: bool = False, merged: bool = True, **words: str) -> Workbook:
    """Offers with prices side by side: quantities below the word for a price, or that word above a single line."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Offers"
    names = [words.get(name, name) if name else None for name in quote_files.HEADER]
    first, second = [None] * len(names), [*names]
    if not above:
        first, second = second, first
    for at, quantity in enumerate(quote_files.QUANTITIES):
        first[7 + at], second[7 + at] = (price if at == 0 else None), quantity
    for line in (["Offers for the bracket"], first, second, quote_files.CLEAR_A, quote_files.CLEAR_B):
        sheet.append(list(line))
    sheet.merge_cells("A1:P1")
    if merged:
        sheet.merge_cells("H2:J2")
        for column in range(1, len(names) + 1) if not above else ():
            if not 8 <= column <= 10:
                sheet.merge_cells(start_row=2, end_row=3, start_column=column, end_column=column)
    return book


def as_csv(book: Workbook, path: Path) -> Path:
    import csv

    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(book.active.iter_rows(values_only=True))  # type: ignore[union-attr]
    return path


@pytest.mark.parametrize("above", [False, True])
@pytest.mark.parametrize("merged", [False, True])
@pytest.mark.parametrize("price", ["Unit price", "Unit price at quantity", "Price each"])
def test_quantities_below_a_price_are_read_however_it_is_laid_out(
    tmp_path: Path, price: str, merged: bool, above: bool
) -> None:
    wanted = check_quotes(KEPT / "messy.xlsx", "USD").quotes
    wanted = {name: list(quote.tiers.values()) for name, quote in wanted.items()}
    book = two_lines(price, above=above, merged=merged)
    book.save(tmp_path / "quotes.xlsx")
    for path in (tmp_path / "quotes.xlsx", as_csv(book, tmp_path / "quotes.csv")):
        if path.suffix == ".csv" and merged:
            continue
        reading = check_quotes(path, "USD")
        assert reading.problems == ()
        assert {name: list(quote.tiers.values()) for name, quote in reading.quotes.items()} == wanted


def test_unknown_words_over_two_merged_lines_are_asked_about_once_each(tmp_path: Path) -> None:
    book = two_lines("Our cost at", MOQ="Smallest bite")
    book.save(tmp_path / "quotes.xlsx")
    problems = check_quotes(tmp_path / "quotes.xlsx", "USD").problems
    assert {(problem.place, problem.value) for problem in problems[:2]} == {
        ("Offers!H2", "Our cost at"),
        ("Offers!K2", "Smallest bite"),
    }
    missing = "columns minimum_order [part], quantity [part], price too"
    assert [(problem.place, problem.expected) for problem in problems[2:]] == [("Offers!2:2", missing)]


def test_a_header_repeated_further_down_is_no_offer(tmp_path: Path) -> None:
    header, *rows = demo().splitlines()
    path = tmp_path / "quotes.csv"
    path.write_text("\n".join([header, *rows[:3], header, *rows[3:]]), encoding="utf-8")
    assert read_quotes(path, "USD") == read_quotes(ROOT / "tests" / "small" / "quotes.csv", "USD")


@pytest.mark.parametrize(
    ("words", "field", "unit"),
    [
        ("Rejects in field", "rejected_in_field", ""),
        ("Rejects in the field [%]", "rejected_in_field", "%"),
        ("Field rejects", "rejected_in_field", ""),
        ("Rejects at receipt", "rejected_at_receipt", ""),
        ("Reject rate at assembly", "rejected_at_assembly", ""),
        ("Rejects in %", "rejected_at_receipt", "%"),
        ("Mass packed", "packed_mass", ""),
        ("Volume packed (l)", "packed_volume", "l"),
        ("Lead time in weeks", "lead_time", "weeks"),
        ("Unit price in EUR", "price", "EUR"),
        ("Price / EUR", "price", "EUR"),
        ("Unit price at quantity", "price", ""),
        ("Rejects in the yard", "", ""),
        ("Price in our view", "", ""),
        ("Lead time in the worst case", "", ""),
    ],
)
def test_what_a_header_means(words: str, field: str, unit: str) -> None:
    assert named_field(words) == (field, unit)
