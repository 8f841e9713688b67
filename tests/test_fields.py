"""Number fields of records: text, a number and an array of draws pass the same check; tables are frozen."""

from __future__ import annotations

import copy
import pickle
from typing import Annotated, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from costmodel.records.fields import OWN_CURRENCY, Count, Named, Quantity, Record

LENGTH = Quantity("mm", above=0.0, at_most=100.0)
SHARE = Quantity("fraction", at_least=0.0, at_most=1.0)


class Tool(Record):
    name: str
    length: Annotated[Any, LENGTH]
    teeth: Count = 1


class Crib(Record):
    tools: Named[Tool]


def refused(spec: Quantity, value: object, **options: Any) -> str:
    """The words of the refusal; fails where the value is taken."""
    with pytest.raises(PydanticCustomError) as found:
        spec.check(value, **options)
    fault = found.value.context["faults"][0]
    assert fault.expected
    assert fault.remedy
    return f"{fault.value}; {fault.expected}; {fault.remedy}"


def accepts(spec: Quantity, value: object) -> bool:
    try:
        spec.check(value)
    except PydanticCustomError:
        return False
    return True


# --- one check for text, a number and an array ---------------------------------------------------------


@pytest.mark.parametrize("value", ["5 mm", "0.5 cm", 5, 5.0, np.float64(5.0), np.int64(5)])
def test_text_and_numbers_become_one_canonical_float(value: object) -> None:
    got = LENGTH.check(value)
    assert type(got) is float
    assert got == 5.0


@pytest.mark.parametrize("number", [0.0, -1.0, 100.0000001, np.nan, np.inf, -np.inf, 1e300])
def test_a_number_outside_the_range_is_refused_in_every_form(number: float) -> None:
    for value in (number, np.float64(number), np.array([number]), np.array([5.0, number, 6.0])):
        assert "mm above 0 and at most 100" in refused(LENGTH, value)
    if np.isfinite(number):
        assert "mm above 0 and at most 100" in refused(LENGTH, f"{number!r} mm")


def test_a_number_of_text_that_overflows_is_refused() -> None:
    assert "1e999 mm" in refused(Quantity("mm"), "1e999 mm")


@pytest.mark.parametrize("value", [np.inf, -np.inf, np.nan, np.array([1.0, np.inf]), np.array([np.nan])])
def test_a_field_without_limits_takes_finite_numbers_only(value: object) -> None:
    refused(Quantity("d"), value)


limits = st.one_of(st.none(), st.floats(-100.0, 100.0))


@given(limits, limits, limits, limits, st.floats(-200.0, 200.0))
def test_text_number_and_array_meet_the_same_limits(
    above: float | None, at_least: float | None, below: float | None, at_most: float | None, number: float
) -> None:
    spec = Quantity("mm", above=above, at_least=at_least, below=below, at_most=at_most)
    taken = (
        (above is None or number > above)
        and (at_least is None or number >= at_least)
        and (below is None or number < below)
        and (at_most is None or number <= at_most)
    )
    assert accepts(spec, number) == taken
    assert accepts(spec, f"{number!r} mm") == taken
    assert accepts(spec, np.array([number])) == taken
    assert accepts(spec, np.array([[number], [number]])) == taken


@pytest.mark.parametrize(
    "value",
    [
        True,
        np.bool_(True),
        None,
        [5.0],
        {"mm": 5},
        5j,
        np.array([5.0], dtype=np.float32),
        np.array([5, 6]),
        np.array([True]),
        np.array(["5 mm"]),
        np.array([5.0], dtype=object),
    ],
)
def test_what_is_no_number_is_refused(value: object) -> None:
    refused(LENGTH, value)


def test_a_float32_array_is_refused_by_name() -> None:
    assert "an array of float32" in refused(LENGTH, np.ones(3, dtype=np.float32))


def test_a_file_needs_the_unit_and_python_does_not() -> None:
    assert LENGTH.check(5) == 5.0
    assert '"5 mm"' in refused(LENGTH, 5, from_file=True)
    assert "a quantity in mm" in refused(LENGTH, "5")
    assert SHARE.check(0.5, from_file=True) == 0.5


def test_a_per_cent_written_as_a_number_is_asked_about() -> None:
    assert 'Did you mean "98 %"?' in refused(SHARE, 98, from_file=True)
    assert 'Did you mean "98 %"?' in refused(SHARE, "98")
    assert SHARE.check("98 %") == pytest.approx(0.98, rel=1e-15)
    assert "Did you mean" not in refused(SHARE, 980)
    assert "Did you mean" not in refused(SHARE, -5)


def test_an_optional_field_takes_nothing_and_another_does_not() -> None:
    maybe = Quantity("mm", above=0.0, optional=True)
    assert maybe.check(None) is None
    assert maybe.check("") is None
    assert "Fill it in" in refused(LENGTH, None)
    refused(LENGTH, "")
    refused(maybe, "  mm")


def test_money_of_a_record_is_in_its_own_currency() -> None:
    price = Quantity(OWN_CURRENCY, at_least=0.0)
    assert price.check("12.50", home="EUR") == 12.5
    assert price.check("12.50 EUR", home="EUR") == 12.5
    assert "USD" in refused(price, "12.50 USD", home="EUR")
    assert price.check("12.50 USD", home="USD") == 12.5
    refused(price, "-1", home="EUR")


# --- arrays belong to the record -----------------------------------------------------------------------


def test_an_array_is_frozen_and_independent_of_the_callers() -> None:
    mine = np.array([5.0, 6.0])
    kept = Tool(name="drill", length=mine).length
    assert not kept.flags.writeable
    with pytest.raises(ValueError, match="read-only"):
        kept[0] = 7.0
    mine[0] = 99.0
    assert kept.tolist() == [5.0, 6.0]
    assert mine.flags.writeable


def test_an_array_in_a_record_broadcasts_no_further_than_given() -> None:
    column = np.array([[5.0], [6.0]])
    assert Tool(name="drill", length=column).length.shape == (2, 1)


# --- counts --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("value", [np.array([2]), np.array([2.0, 3.0]), 2.5, 0, -1, True, "two", None, [2]])
def test_a_count_is_one_whole_number(value: object) -> None:
    with pytest.raises(ValidationError):
        Tool(name="drill", length=5.0, teeth=value)


@pytest.mark.parametrize("value", [4, "4", 4.0])
def test_a_whole_number_in_any_spelling_is_a_count(value: object) -> None:
    teeth = Tool(name="drill", length=5.0, teeth=value).teeth
    assert teeth == 4
    assert type(teeth) is int


# --- records and tables --------------------------------------------------------------------------------


def crib() -> Crib:
    return Crib(tools=[{"name": "drill", "length": 5.0}, {"name": "tap", "length": np.array([6.0, 7.0])}])


def test_records_are_equal_by_value_also_with_arrays() -> None:
    assert crib() == crib()
    assert crib() is not crib()
    other = Crib(tools=[{"name": "drill", "length": 5.0}, {"name": "tap", "length": np.array([6.0, 8.0])}])
    assert crib() != other
    assert Tool(name="tap", length=np.array([6.0, 6.0])) != Tool(name="tap", length=6.0)
    assert crib() != 5


def test_records_of_other_order_or_kind_are_not_equal() -> None:
    turned = Crib(tools=[crib().tools["tap"], crib().tools["drill"]])
    assert crib() != turned


def test_records_have_no_hash() -> None:
    with pytest.raises(TypeError, match="unhashable"):
        hash(Tool(name="drill", length=5.0))
    with pytest.raises(TypeError, match="unhashable"):
        hash(crib().tools)


def test_a_record_is_frozen_and_takes_no_unknown_field() -> None:
    tool = Tool(name="drill", length=5.0)
    with pytest.raises(ValidationError):
        tool.length = 6.0
    with pytest.raises(ValidationError):
        Tool(name="drill", length=5.0, colour="red")


def test_a_named_table_refuses_every_change() -> None:
    table = crib().tools
    drill = table["drill"]
    changes: list[Any] = [
        lambda: table.__setitem__("drill", drill),
        lambda: table.__delitem__("drill"),
        lambda: table.update({"new": drill}),
        lambda: table.setdefault("new", drill),
        lambda: table.pop("drill"),
        lambda: table.popitem(),
        lambda: table.clear(),
        lambda: table.__ior__({"new": drill}),
    ]
    for change in changes:
        with pytest.raises(TypeError, match="with_inputs"):
            change()
    assert list(table) == ["drill", "tap"]


def test_a_named_table_survives_pickle_and_copy() -> None:
    for again in (pickle.loads(pickle.dumps(crib())), copy.deepcopy(crib()), copy.copy(crib())):
        assert again == crib()
        assert isinstance(again.tools, Named)
        with pytest.raises(TypeError, match="with_inputs"):
            again.tools["new"] = again.tools["drill"]


def test_a_table_is_read_from_a_list_or_from_a_table() -> None:
    by_key = Crib(tools={"drill": {"length": 5.0}, "tap": {"length": np.array([6.0, 7.0])}})
    assert by_key == crib()


@pytest.mark.parametrize(
    "tools",
    [
        [{"name": "drill", "length": 5.0}, {"name": "drill", "length": 6.0}],
        [{"length": 5.0}],
        "drill",
        5,
    ],
)
def test_a_table_needs_names_used_once(tools: object) -> None:
    with pytest.raises(ValidationError, match="name"):
        Crib(tools=tools)
