"""Numbers as people write them: decimal comma or point, thousands, currency signs, a note beside the number.

What can be read in one way only is read; what can be read in two is asked about, never guessed.
"""

from __future__ import annotations

import datetime
import re
from typing import NamedTuple

_SPACES = " \u00a0\u2007\u2009\u202f"
_NUMBER = re.compile(
    rf"[+\-\u2212]?(?:\d{{1,3}}(?:[{_SPACES}'\u2019]\d{{3}})+(?!\d)|\d+)(?:[.,]\d+)*(?:[eE][+-]?\d+)?|[+-]?[.,]\d+"
)
_GROUPS = re.compile(r"[+-]?\d{1,3}(?:[.,]\d{3})+")
_NOTE = re.compile(r"[(\[{].*[)\]}]|[*\u2020\u2021]+")
_SHORT = re.compile(r"[^\d.,]{0,16}[.,]?")
THOUSAND = 3
"""Digits between two marks of thousands."""
SIGNS = {"\u20ac": "EUR", "\u00a3": "GBP", "\u20b9": "INR", "\u20a9": "KRW", "US$": "USD", "C$": "CAD"}
LOOSE_SIGNS = {
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN"),
    "\u00a5": ("JPY", "CNY"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "Fr.": ("CHF",),
}
"""Signs that several currencies use: the currency column says which."""

NO_PRICE = (
    "poa",
    "on request",
    "on application",
    "tbd",
    "tba",
    "tbc",
    "to follow",
    "ask",
    "call",
    "?",
    "open",
)
NO_OFFER = ("no bid", "no quote", "not quoted", "not offered", "nq", "n/q")
"""Words in a price's cell that say that this quantity is not offered."""
NOT_SAID = ("n/a", "na", "n.a.", "n.a", "not available", "not applicable", "#n/a")
INCLUDED = ("incl", "incl.", "included", "inclusive", "in price", "inc", "inc.")
NOTHING = ("none", "nil", "-", "\u2013", "\u2014", "free", "no charge", "foc", "nothing")
_CHANGES_MEANING = re.compile(
    r"\d|%|\b(?:per|from|approx|ca|about|est|ex|excl\w*|plus|min|max|each way|up to)\b|[~<>+/?]",
    re.IGNORECASE,
)
_EACH = re.compile(
    r"\s*(incl\.?\s+\w+|net|each|ea\.?|/ ?ea|/ ?pc|/ ?pcs|pcs\.?|pc\.?|/ ?part)\s*", re.IGNORECASE
)
_MORE = re.compile(r"(?<![A-Za-z])(?!1\s*/\s*[A-Za-z])\d|[-\u2013~<>+?]|\bto\b")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


class QuestionError(Exception):
    """A cell that can be read in two ways or in none: what was expected, and how to answer."""

    def __init__(self, expected: str, remedy: str) -> None:
        self.expected = expected
        self.remedy = remedy
        super().__init__(f"expected {expected}. {remedy}")


class Understood(NamedTuple):
    """A number cell as it was understood."""

    number: str
    """With a decimal point and without signs between thousands."""
    rest: str
    """What stood beside it: a unit, as a rule."""
    currency: str
    """The code or sign of a currency; empty where there is none."""
    note: str
    """A remark in brackets, which changes nothing."""


def decimal_number(text: str, mark: str = "", commas: bool = False) -> str:
    """A number with a decimal point, from one with either mark.

    `mark` is the decimal mark that the file declares, empty for none; `commas` says that other numbers of the
    file have a decimal comma. Raises QuestionError where two readings remain.
    """
    plain = re.sub(rf"[{_SPACES}'\u2019]", "", text).replace("\u2212", "-")
    body, exponent = re.fullmatch(r"([^eE]*)((?:[eE].*)?)", plain).groups()  # type: ignore[union-attr]
    points, given_commas = body.count("."), body.count(",")
    if not points and not given_commas:
        return body + exponent
    if points and given_commas:
        decimal = "," if body.rfind(",") > body.rfind(".") else "."
    elif points + given_commas > 1:
        decimal = "." if given_commas else ","
    else:
        decimal = mark or _single_mark(text, body, commas)
    if mark and decimal != mark:
        raise QuestionError(f'a number with the decimal mark "{mark}" that the file declares', "Correct it.")
    whole, _, fraction = body.partition(decimal)
    other = "." if decimal == "," else ","
    if decimal in fraction or other in fraction or (other in whole and not _GROUPS.fullmatch(whole)):
        raise QuestionError("a number", f'"{text}" is none: write it with one decimal mark.')
    return whole.replace(other, "") + (f".{fraction}" if fraction else "") + exponent


def _single_mark(text: str, body: str, commas: bool) -> str:
    """The decimal mark of a number that has one point or one comma, nothing declared."""
    grouped = _GROUPS.fullmatch(body) is not None and not body.lstrip("+-").startswith("0")
    if "," in body:
        if not grouped:
            return ","
    elif not grouped or not commas:
        return "."
    whole, fraction = re.split("[.,]", body)
    raise QuestionError(
        "a number that can be read in one way only",
        f'"{text.strip()}" is {whole}{fraction} or {whole}.{fraction}: write one of these, or state the mark in '
        'a line "decimal mark" above the header.',
    )


def proves_mark(text: str, mark: str) -> bool:
    """Whether a cell holds one number and its unit, and that number can only have this decimal mark."""
    found = _NUMBER.search(text)
    if found is None or not (
        _SHORT.fullmatch(text[: found.start()]) and _SHORT.fullmatch(text[found.end() :])
    ):
        return False
    number, other = found.group(), "." if mark == "," else ","
    if number.count(mark) != 1 or number.rfind(other) > number.rfind(mark):
        return False
    whole, decimals = number.split(mark)
    return other in whole or len(decimals) != THOUSAND or not whole.lstrip("+-\u22120")


def shows_mark(text: str, mark: str) -> bool:
    """Whether the first number of a cell can only have this decimal mark, whatever else stands there."""
    found = _NUMBER.search(text)
    return found is not None and proves_mark(found.group(), mark)


def understood(text: str, mark: str = "", commas: bool = False) -> Understood:
    """A cell with a number, a unit, a currency, a note. Raises QuestionError where it cannot be read in one way."""
    stripped = text.strip()
    words = stripped.lower().rstrip("!")
    if words in NO_PRICE:
        raise QuestionError("a number", "Ask the supplier for it, or take the row out until it is known.")
    if words in NOT_SAID:
        raise QuestionError("a number", "Write 0 if it does not apply; else ask for it.")
    note, bare = _without_note(stripped)
    found = _NUMBER.search(bare)
    if found is None:
        raise QuestionError("a number", "Write the number, and what else there is to say in a column remark.")
    rest = bare[: found.start()] + " " + bare[found.end() :]
    currency, rest = _currency(rest)
    incl = _EACH.fullmatch(rest)
    if incl:
        note, rest = f"{note} {incl.group(1)}".strip(), ""
    if _MORE.search(rest):
        raise QuestionError(
            "one number",
            f'"{stripped}" states more than one thing: write one number, of a range the one that you count on.',
        )
    return Understood(decimal_number(found.group(), mark, commas), rest.strip(" :;"), currency, note)


def _without_note(text: str) -> tuple[str, str]:
    notes = [found.group().strip("()[]{} ") for found in _NOTE.finditer(text)]
    for note in notes:
        if _CHANGES_MEANING.search(note):
            raise QuestionError(
                "a number whose note changes nothing",
                f'"{note}" may change it: write the number that holds, and the note in a column remark.',
            )
    return "; ".join(note for note in notes if note.strip("*\u2020\u2021")), _NOTE.sub(" ", text)


def _currency(rest: str) -> tuple[str, str]:
    """The currency beside a number and what is left. A code keeps its place in a unit such as USD/kg."""
    for sign, code in SIGNS.items():
        if sign in rest:
            return code, rest.replace(sign, "")
    alone = re.fullmatch(r"\s*([A-Z]{3})\s*", rest)
    if alone:
        return alone.group(1), ""
    for sign in LOOSE_SIGNS:
        if re.search(rf"(?<![A-Za-z]){re.escape(sign)}(?![A-Za-z])", rest):
            return sign, rest.replace(sign, "")
    return "", rest


def sign_beside(text: str) -> str:
    """The code or sign of a currency beside a number; empty where there is none or no number."""
    note_free = _NOTE.sub(" ", text)
    found = _NUMBER.search(note_free)
    return _currency(note_free[: found.start()] + " " + note_free[found.end() :])[0] if found else ""


def same_currency(found: str, stated: str) -> bool:
    """Whether a sign or code beside a number agrees with the currency stated for it."""
    return found in ("", stated) or stated in LOOSE_SIGNS.get(found, ())


def whole_parts(text: str, mark: str = "", *, proven: bool = False) -> str:
    """A count of parts whose one mark can only stand between thousands, without it; any other text as it is.

    Parts are whole: "1,234" and "2.500" are 1234 and 2500. Raises QuestionError for "1.000", which some programs
    write for one part, unless a mark is declared. A mark that is only `proven` parts no thousands; whether it stands
    in "1,000" for one part is still asked.
    """
    found = re.fullmatch(r"(\d{1,3})([.,])(\d{3})", text.strip())
    if found is None:
        return text
    whole, sign, thousand = found.groups()
    if mark == sign and not proven:
        return whole if thousand == "000" else text
    if thousand == "000" and mark in ("", sign):
        raise QuestionError(
            "a number of parts that can be read in one way only",
            f'"{text.strip()}" is {whole}000 or {whole}: write one of these, or state the mark in a line "decimal '
            'mark" above the header.',
        )
    return whole + thousand


def decimal_mark(text: str) -> str:
    """The decimal mark that a cell declares: the sign or its name; empty for none."""
    return {",": ",", ".": ".", "comma": ",", "point": ".", "dot": "."}.get(
        text.strip().strip("\"'").lower(), ""
    )


def day(value: object) -> datetime.date:
    """A date from a cell: a date, ISO 8601, a month by name, or digits that allow one order only.

    Raises QuestionError where day and month may be exchanged.
    """
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    text = str(value).strip()
    iso = re.fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\d{1,2}:\d\d(?::\d\d)?)?", text)
    try:
        if iso:
            return datetime.date(int(iso.group(1)), int(iso.group(2)), int(iso.group(3)))
        named = re.fullmatch(r"(\d{1,2})[. -]*([A-Za-z]{3})[a-z]*[., -]*(\d{4})", text)
        if named and named.group(2).lower() in _MONTHS:
            return datetime.date(
                int(named.group(3)), _MONTHS.index(named.group(2).lower()) + 1, int(named.group(1))
            )
        named = re.fullmatch(r"([A-Za-z]{3})[a-z]*[. ]*(\d{1,2})(?:st|nd|rd|th)?[., ]+(\d{4})", text)
        if named and named.group(1).lower() in _MONTHS:
            month = _MONTHS.index(named.group(1).lower()) + 1
            return datetime.date(int(named.group(3)), month, int(named.group(2)))
        digits = re.fullmatch(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})", text)
        if digits:
            return _day_of_digits(text, *(int(part) for part in digits.groups()))
    except ValueError as error:
        raise QuestionError("a day of the calendar", "Correct it; ISO 8601 is 2026-03-31.") from error
    if re.fullmatch(r"(?:[A-Za-z]{3,9}|\d{1,2})[. /-]*\d{4}|\d{4}[-/]\d{1,2}", text):
        raise QuestionError("a date with its day", "Ask for the day, and write it so: 2026-12-31.")
    raise QuestionError("a date", "Write it as ISO 8601, such as 2026-03-31.")


def _day_of_digits(text: str, first: int, second: int, year: int) -> datetime.date:
    if "." in text or first > 12 or first == second:
        return datetime.date(year, second, first)
    if second > 12:
        return datetime.date(year, first, second)
    one, other = datetime.date(year, second, first), datetime.date(year, first, second)
    raise QuestionError("a date that can be read in one way only", f"Write {one} or {other}.")
