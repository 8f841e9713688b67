"""Quantity text to canonical numbers and back. Nothing else in the package converts a unit.

Canonical inside: mm, min, kg, kW, m/min, mm/min, N/mm2, money (home currency), fraction. ``part``, ``load``,
``lot``, ``shipment`` are dimensions of their own, so that minutes per load never pass for minutes per part.
Quantities are parsed by pint with a short list of shop units: its full list would take longer to load
than most commands run, and would accept units that nobody means here.
"""

from __future__ import annotations

import difflib
import re
from functools import cache
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from pint import UnitRegistry

Number: TypeAlias = float | npt.NDArray[np.float64]

MONEY = "money"

_DEFINITIONS = """
metre = [length] = m
kilogram = [mass] = kg
second = [time] = s
money = [money]
part = [part] = parts
load = [load] = loads
lot = [lot] = lots
shipment = [shipment] = shipments
person = [person] = people
delta = []
degree = [angle] = deg
millimetre = 0.001 m = mm
centimetre = 0.01 m = cm
micrometre = 1e-6 m = um
inch = 0.0254 m = in
foot = 12 inch = ft
thousandth = 0.001 inch = thou
litre = 0.001 m ** 3 = l
gram = 0.001 kg = g
tonne = 1000 kg = t
pound = 0.45359237 kg = lb
ounce = pound / 16 = oz
minute = 60 s = min
hour = 3600 s = h
day = 24 h = d = days
week = 7 d = wk = weeks
year = 365 d = yr = years
month = year / 12 = mo = months
tooth = 1
revolution = 1 = rev
edge = 1 = edges
percent = 0.01
revolution_per_minute = 1 / minute = rpm
surface_foot_per_minute = foot / minute = sfm
newton = kg * m / s ** 2 = N
pound_force = 4.4482216152605 N = lbf
pascal = N / m ** 2 = Pa
megapascal = 1e6 Pa = MPa
joule = N * m = J
watt = J / s = W
kilowatt = 1000 W = kW
horsepower = 745.6998715822702 W = hp
kilowatt_hour = 1000 W * h = kWh
""".strip().splitlines()

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
_CURRENCY = re.compile(r"(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])")
_POWER = re.compile(r"(?<=[A-Za-z])([23])\b")
_WORD = re.compile(r"[A-Za-z_%]+")
_ONE_UNIT = r"(?:[A-Za-z_]+|[%°])(?:\s*(?:\^|\*\*)?\s*\d|[²³])?"
_MORE_NUMBER = re.compile(r"(?!1\s*/\s*[A-Za-z])[\d,.+/-]")
_UNIT = re.compile(rf"(?:1\s*/\s*)?{_ONE_UNIT}(?:\s*[/*·\s]\s*{_ONE_UNIT})*")
_GROUPED = re.compile(r"^\s*[+-]?\d{1,3}(,\d{3})+(?!\d)")


class UnitError(ValueError):
    """A quantity text that cannot be read; carries what was expected and the nearest remedy."""

    def __init__(self, expected: str, remedy: str) -> None:
        self.expected = expected
        self.remedy = remedy
        super().__init__(f"expected {expected}. {remedy}")


@cache
def _registry() -> UnitRegistry[Any]:
    from pint import UnitRegistry

    registry: UnitRegistry[Any] = UnitRegistry(None)
    registry.load_definitions(_DEFINITIONS)
    return registry


def _spelled(unit: str) -> str:
    return _POWER.sub(r"**\1", unit.replace("%", " percent ").replace("^", "**").replace("·", "*")).strip()


def _known_words() -> list[str]:
    lines = (line.split("=") for line in _DEFINITIONS)
    return [name.strip() for parts in lines for name in (parts[0], *parts[2:])] + ["%"]


def _unknown_unit(unit: str) -> UnitError:
    known = _known_words()
    for word in _WORD.findall(unit):
        if word not in known:
            near = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
            remedy = (
                f'Did you mean "{near[0]}"?' if near else "Use a unit such as mm, in, min, h, kg, lb, kW."
            )
            return UnitError(f'a known unit instead of "{word}"', remedy)
    return UnitError(f'a unit instead of "{unit}"', "Write it as in m/min, N/mm2 or USD/kg.")


@cache
def factor(unit: str, canonical: str) -> float:
    """What a number in `unit` is multiplied by to be in `canonical`; both are unit texts.

    Raises UnitError for an unknown unit or another dimension.
    """
    from pint import DimensionalityError

    if unit and not _UNIT.fullmatch(unit):
        # pint would multiply by a number in the unit text: "1 1/2 in" would be half an inch
        raise _unknown_unit(unit)
    registry = _registry()
    target = registry.parse_units(_spelled(canonical))
    try:
        given = registry.parse_expression(_spelled(unit) or "delta")
        quantity = given if hasattr(given, "to") else registry.Quantity(given, "delta")
        return float(quantity.to(target).magnitude)
    except DimensionalityError as error:
        remedy = f'"{unit}" is another kind of quantity.'
        once, slash, often = canonical.partition("/")
        if slash and given.is_compatible_with(registry.parse_units(_spelled(once))):
            remedy = f'"{unit}" is another kind of quantity: write "{unit}/{often}".'
        raise UnitError(shown_unit(canonical), remedy) from error
    except Exception as error:  # pint raises many kinds for malformed unit text
        raise _unknown_unit(unit) from error


def shown_unit(canonical: str, currency: str = MONEY) -> str:
    """The words for a canonical unit in a message or a header: the currency in place of "money"."""
    if canonical in ("", "fraction"):
        return "a number" if canonical == "" else "a fraction such as 12 %"
    return re.sub(rf"\b{MONEY}\b", currency, canonical)


def convert(text: str, unit: str) -> float:
    """The number of `unit` in a quantity text without money: ``convert("1.25 in", "mm")`` is 31.75.

    Raises UnitError where the text is no quantity of that dimension.
    """
    return quantity(text, unit, home_currency="")


def quantity(text: str, canonical: str, home_currency: str) -> float:
    """The canonical number in a quantity text such as ``"0.25 in"`` or ``"6.83 USD/kg"``.

    `canonical` is a unit text ("fraction" and "" take no unit), `home_currency` an ISO 4217 code that stands
    for money; another currency in the text is refused. Raises UnitError with what was expected and a remedy.
    """
    if _GROUPED.match(text):
        raise UnitError(shown_unit(canonical, home_currency or MONEY), _without_commas(text.strip()))
    match = _QUANTITY.match(text)
    if match is None:
        raise UnitError(
            shown_unit(canonical, home_currency or MONEY),
            "Write a number and its unit, with a decimal point.",
        )
    number, unit = float(match.group(1)), match.group(2)
    if _MORE_NUMBER.match(unit):
        shown = shown_unit(canonical, home_currency or MONEY)
        raise UnitError(shown, f'Write "{text.strip()}" as one decimal number, such as 1.5, and its unit.')
    if canonical == "fraction":
        return number * _share(unit) if unit else number
    if canonical == "":
        if unit:
            raise UnitError("a number without a unit", f'Leave out "{unit}".')
        return number
    if not unit:
        shown = shown_unit(canonical, home_currency or MONEY)
        raise UnitError(f"a quantity in {shown}", f'Add the unit, as in "{match.group(1)} {shown}".')
    try:
        return number * factor(_home_money(unit, canonical, home_currency), canonical)
    except UnitError as error:
        words = (shown_unit(text, home_currency or MONEY) for text in (error.expected, error.remedy))
        raise UnitError(*words) from error


def _share(unit: str) -> float:
    try:
        return factor(unit, "delta")
    except UnitError as error:
        raise UnitError(shown_unit("fraction"), error.remedy) from error


def _without_commas(text: str) -> str:
    plain = text.replace(",", "")
    if text.count(",") > 1 or "." in text:
        return f'Leave out the commas: write "{plain}".'
    return f'"{text}" can be read two ways: write "{plain}" or "{text.replace(",", ".")}".'


def _home_money(unit: str, canonical: str, home_currency: str) -> str:
    for code in _CURRENCY.findall(unit):
        if code != home_currency:
            raise UnitError(
                shown_unit(canonical, home_currency or MONEY),
                f"{code} is not the home currency: state it in {home_currency or MONEY}.",
            )
    return _CURRENCY.sub(MONEY, unit)
