"""Quantity text to canonical numbers: exact definitions of the units, and what is refused in which words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.units import UnitError, convert, factor, quantity, shown_unit

# Exact by definition: inch, pound (International Yard and Pound Agreement 1959; NIST SP 811, app. B), minute, hour,
# day, litre. From these alone the expected numbers below are written out.
INCH = 25.4
POUND = 0.45359237


@pytest.mark.parametrize(
    "text, unit, expected",
    [
        ("1 in", "mm", INCH),
        ("1.250 in", "mm", 31.75),
        ("0.0002 in", "mm", 0.00508),
        ("1 thou", "mm", 0.0254),
        ("2 ft", "mm", 24 * INCH),
        ("5.08 um", "mm", 0.00508),
        ("1 m", "mm", 1000.0),
        ("1 ft2", "m2", (12 * INCH / 1000.0) ** 2),
        ("1 in2", "mm2", INCH**2),
        ("1 in3", "mm3", INCH**3),
        ("34 cm3", "mm3", 34000.0),
        ("0.24 l", "mm3", 240000.0),
        ("1 lb", "kg", POUND),
        ("8 oz", "kg", POUND / 2.0),
        ("215 g", "kg", 0.215),
        ("1.5 t", "kg", 1500.0),
        ("0.1 lb/in3", "kg/mm3", 0.1 * POUND / INCH**3),
        ("2.70 g/cm3", "kg/mm3", 2.70e-6),
        ("1 h", "min", 60.0),
        ("45 s", "min", 0.75),
        ("2 wk", "d", 14.0),
        ("1 yr", "d", 365.0),
        ("12 mo", "yr", 1.0),
        ("400 sfm", "m/min", 400 * 12 * INCH / 1000.0),
        ("120 in/min", "mm/min", 120 * INCH),
        ("30 m/min", "mm/min", 30000.0),
        ("12000 rpm", "1/min", 12000.0),
        ("5000 1/min", "1/min", 5000.0),
        ("200 1/s", "1/min", 12000.0),
        ("0.003 in/tooth", "mm", 0.0762),
        ("0.2 mm/rev", "mm", 0.2),
        ("800 MPa", "N/mm2", 800.0),
        ("1 hp", "kW", 550 * 12 * INCH * POUND * 9.80665 / 1000.0 / 1000.0),  # 550 ft lbf/s, g exact
        ("1500 W", "kW", 1.5),
        ("12 %", "fraction", 0.12),
        ("0.12", "fraction", 0.12),
        ("3 min/load", "min/load", 3.0),
        ("30 s/part", "min/part", 0.5),
        ("2 h/lot", "min/lot", 120.0),
        ("80 part/wk", "part/wk", 80.0),
        ("8 1/yr", "1/yr", 8.0),
        ("118 deg", "deg", 118.0),
        ("  2.5   in  ", "mm", 63.5),
        ("+.5in", "mm", 12.7),
        ("1e-3 m", "mm", 1.0),
    ],
)
def test_a_unit_is_converted_by_its_definition(text: str, unit: str, expected: float) -> None:
    assert convert(text, unit) == pytest.approx(expected, rel=1e-14)


def test_money_per_pound_is_money_per_kilogram() -> None:
    got = quantity("3.10 USD/lb", "money/kg", "USD")
    assert got == pytest.approx(3.10 / POUND, rel=1e-14)
    assert f"{got:.3f}" == "6.834"


@pytest.mark.parametrize(
    "text, canonical, expected",
    [
        ("60 USD/h", "money/h", 60.0),
        ("1 USD/min", "money/h", 60.0),
        ("9 USD/ft2/yr", "money/m2/yr", 9.0 / (12 * INCH / 1000.0) ** 2),
        ("8 USD/m2/mo", "money/m2/yr", 96.0),
        ("0.15 USD/kWh", "money/kWh", 0.15),
        ("1.95 USD/part", "money/part", 1.95),
    ],
)
def test_the_home_currency_stands_for_money(text: str, canonical: str, expected: float) -> None:
    assert quantity(text, canonical, "USD") == pytest.approx(expected, rel=1e-14)


@given(st.floats(1e-6, 1e6), st.sampled_from(["in", "ft", "m", "thou", "um"]))
def test_there_and_back_is_the_same(number: float, unit: str) -> None:
    assert convert(f"{number!r} {unit}", "mm") * factor("mm", unit) == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize(
    "text, canonical, words",
    [
        ("5 min", "min/load", ("min/load", "another kind", 'write "min/load"')),
        ("5 s", "min/load", ("min/load", 'write "s/load"')),
        ("5 min/part", "min/load", ("min/load", "another kind")),
        ("5 min/load", "min/part", ("min/part", "another kind")),
        ("5 kg", "mm", ("mm", "another kind")),
        ("5 mm2", "mm", ("mm", "another kind")),
        ("5", "mm", ("a quantity in mm", '"5 mm"')),
        ("5 m m", "mm", ("mm", "another kind")),
        ("12 mm", "fraction", ("a fraction such as 12 %",)),
        ("5 mm", "", ("a number without a unit", '"mm"')),
        ("5 inhc", "mm", ("a known unit", '"inhc"', 'Did you mean "inch"?')),
        ("5 furlong", "mm", ("a known unit", '"furlong"')),
        ("5 EUR", "money", ("USD", "EUR is not the home currency")),
        ("5 EUR/kg", "money/kg", ("USD/kg", "EUR is not the home currency")),
        ("5 USD", "money/kg", ("USD/kg", "another kind")),
        ("", "mm", ("mm", "a number and its unit")),
        ("five mm", "mm", ("mm", "a number and its unit")),
        ("POA", "money", ("USD", "a number and its unit")),
        ("$5", "money", ("USD", "a number and its unit")),
        ("5 $", "money", ("a unit", '"$"')),
        ("1,234 mm", "mm", ("two ways", '"1234 mm"', '"1.234 mm"')),
        ("1,234", "mm", ("two ways", '"1234"', '"1.234"')),
        ("1,234.5 USD", "money", ("Leave out the commas", '"1234.5 USD"')),
        ("1,234,567 USD", "money", ("Leave out the commas", '"1234567 USD"')),
        # A number in the unit text would multiply: half an inch, two metres, sixty millimetres.
        ("1 1/2 in", "mm", ("one decimal number", '"1 1/2 in"')),
        ("2 500 mm", "mm", ("one decimal number",)),
        ("12,5 mm", "mm", ("one decimal number",)),
        ("5 -32 in", "mm", ("one decimal number",)),
        ("1/2 in", "mm", ("one decimal number",)),
        ("5 mm + 3 mm", "mm", ('"mm + 3 mm"',)),
        ("1.5 mm/2", "mm", ('"mm/2"',)),
        ("3 USD/100 part", "money/part", ("a unit",)),
    ],
)
def test_what_cannot_be_read_is_refused_in_plain_words(
    text: str, canonical: str, words: tuple[str, ...]
) -> None:
    with pytest.raises(UnitError) as refused:
        quantity(text, canonical, "USD")
    assert refused.value.expected
    assert refused.value.remedy
    for word in words:
        assert word in str(refused.value)
    assert "money" not in str(refused.value)
    assert "delta" not in str(refused.value)


def test_a_refusal_is_the_same_the_second_time() -> None:
    """Conversions are remembered; refusals must not turn into something else on the way."""
    messages = set()
    for _ in range(3):
        with pytest.raises(UnitError) as refused:
            factor("kg", "mm")
        messages.add(str(refused.value))
    assert len(messages) == 1


def test_a_unit_is_shown_with_the_currency_in_place_of_money() -> None:
    assert shown_unit("money/kg", "USD") == "USD/kg"
    assert shown_unit("money/m2/yr", "EUR") == "EUR/m2/yr"
    assert shown_unit("mm/min") == "mm/min"
    assert shown_unit("fraction") == "a fraction such as 12 %"
