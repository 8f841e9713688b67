"""What a field of a record may hold: a quantity with its unit and range, a name, a named table.

One declaration serves the reader, the what-if and the manual: the unit a file must write, the range a draw
must keep, the words a message uses.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, NoReturn, TypeVar, get_args

import numpy as np
import numpy.typing as npt
from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    StringConstraints,
    model_validator,
)
from pydantic_core import core_schema

from costmodel.records.faults import CURRENCY_CODE, Fault, faults_error
from costmodel.units import MONEY, Number, UnitError, quantity, shown_unit

OWN_CURRENCY = "own currency"


@dataclass(frozen=True)
class Quantity:
    """Unit and range of a number field, and the check that text, a number and an array all pass.

    `unit` is canonical ("" for a bare number, "fraction", or OWN_CURRENCY for money in the record's own
    currency). In a file a quantity is text with a unit; in Python a number is already canonical.
    """

    unit: str
    above: float | None = None
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None
    optional: bool = False

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._validate)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        words = f"{self.expected()}; written with its unit"
        if self.unit == "":
            return {"type": ["number", "string"], "description": self.expected()}
        if self.unit == "fraction":
            return {"type": ["number", "string"], "description": f'{self.expected()}, as "12 %" or 0.12'}
        return {"type": "string", "description": words, "pattern": r"^\s*[+-]?[0-9.]+(e[+-]?[0-9]+)?\s*\S"}

    def _validate(self, value: object, info: core_schema.ValidationInfo) -> Number | None:
        context: Mapping[str, Any] = info.context or {}
        own = str((info.data or {}).get("currency", ""))
        home = own if self.unit == OWN_CURRENCY else str(context.get("home_currency", ""))
        return self.check(value, home=home, from_file=bool(context.get("from_file", False)))

    def check(self, value: object, home: str = "", from_file: bool = False) -> Number | None:
        """The canonical number, or a fault; the same for text, a number and an array of draws."""
        if value is None or (self.optional and isinstance(value, str) and not value):
            self._nothing(value)
            return None
        if isinstance(value, str):
            return self._in_range(self._from_text(value, home), value)
        if isinstance(value, np.ndarray):
            return self._array(value)
        if isinstance(value, bool) or not isinstance(value, (int, float, np.floating, np.integer)):
            self._refuse(repr(value), "Write a number.")
        if from_file and self.unit not in ("", "fraction"):
            shown = self.shown(home)
            self._refuse(f"{value}", f'Add the unit, as in "{value} {shown}".', f"a quantity in {shown}")
        return self._in_range(float(value), str(value))

    def shown(self, currency: str = "") -> str:
        """The unit in words, for a header or a message."""
        if self.unit == OWN_CURRENCY:
            return currency or "money of the offer's currency,"
        return shown_unit(self.unit, currency or MONEY)

    def expected(self, currency: str = "") -> str:
        """What the field takes, in words."""
        limits = (
            ("above", self.above),
            ("at least", self.at_least),
            ("below", self.below),
            ("at most", self.at_most),
        )
        words = " and ".join(f"{word} {limit:g}" for word, limit in limits if limit is not None)
        return f"{self.shown(currency)} {words}".strip() if words else self.shown(currency)

    def _nothing(self, value: object) -> None:
        if not self.optional:
            self._refuse(repr(value), "Fill it in.")

    def _from_text(self, text: str, home: str) -> float:
        canonical, currency = self.unit, home
        if canonical == OWN_CURRENCY:
            canonical = MONEY
            bare = text.strip().replace(".", "", 1).removeprefix("-").isdigit()
            text = f"{text} {home or MONEY}" if bare else text
            currency = home or MONEY
        try:
            return quantity(text, canonical, currency)
        except UnitError as error:
            self._refuse(text, error.remedy, error.expected)

    def _array(self, value: Any) -> Number:
        if value.dtype != np.float64:
            self._refuse(f"an array of {value.dtype}", "Give an array of float64.")
        if value.size and not self._all_inside(value):
            self._refuse(f"{value.min():g} to {value.max():g}", "Narrow the range of this input.")
        own: npt.NDArray[np.float64] = value.copy()
        own.setflags(write=False)
        return own

    def _all_inside(self, value: Any) -> bool:
        checks = (
            (np.greater, -math.inf if self.above is None else self.above),
            (np.greater_equal, self.at_least),
            (np.less, math.inf if self.below is None else self.below),
            (np.less_equal, self.at_most),
        )
        return all(
            np.logical_and.reduce(compare(value, limit), axis=None)
            for compare, limit in checks
            if limit is not None
        )

    def _inside(self, low: float, high: float) -> bool:
        return (
            math.isfinite(low)
            and math.isfinite(high)
            and (self.above is None or low > self.above)
            and (self.at_least is None or low >= self.at_least)
            and (self.below is None or high < self.below)
            and (self.at_most is None or high <= self.at_most)
        )

    def _in_range(self, number: float, shown: str) -> float:
        if self._inside(number, number):
            return number
        if self.unit == "fraction" and 1 < number <= 100 and "%" not in shown:
            self._refuse(shown, f'Did you mean "{number:g} %"?')
        self._refuse(shown, "Correct the value or its unit.")

    def _refuse(self, value: str, remedy: str, expected: str = "") -> NoReturn:
        raise faults_error(Fault("", value, expected or self.expected(), remedy))


def _no_truth_value(value: object) -> object:
    if isinstance(value, bool):
        raise faults_error(Fault("", repr(value), "a whole number", "Write a number."))
    return value


Name = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")]
Count = Annotated[int, BeforeValidator(_no_truth_value), Field(ge=1)]
CurrencyCode = Annotated[str, StringConstraints(pattern=CURRENCY_CODE)]
Status = Literal["guess", "quoted", "measured"]


class Record(BaseModel):
    """A frozen, self-validating record, equal by value."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    def __hash__(self) -> int:
        # pydantic gives each frozen class a hash of its fields in place of None, but leaves a method alone
        raise TypeError(f"unhashable type: {type(self).__name__} may hold arrays")

    def rules(self) -> Iterator[Fault]:
        """Faults between numbers; called when a record is built and when a what-if rebuilds it."""
        return iter(())

    def links(self) -> Iterator[Fault]:
        """Names that nothing answers to; called when a record is built and when a what-if changes a name."""
        return iter(())

    @model_validator(mode="after")
    def _keep_rules(self) -> Record:
        faults = (*self.rules(), *self.links())
        if faults:
            raise faults_error(*faults)
        return self

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Record) or type(self) is not type(other):
            return NotImplemented
        return all(_same(a, b) for a, b in zip(self.__dict__.values(), other.__dict__.values(), strict=True))


def _same(one: object, other: object) -> bool:
    if isinstance(one, np.ndarray) or isinstance(other, np.ndarray):
        return np.array_equal(np.asarray(one), np.asarray(other), equal_nan=True)
    if isinstance(one, Named) and isinstance(other, Named):
        return list(one) == list(other) and all(_same(one[key], other[key]) for key in one)
    return bool(one == other)


RecordType = TypeVar("RecordType")


class Named(dict[str, RecordType]):
    """A table of records by name, frozen, in the order of the file.

    A file gives it as a table of tables or as a list of tables that each hold a ``name``.
    """

    __hash__ = None

    def _frozen(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("a named table is frozen: make a new study with with_inputs()")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = __ior__ = _frozen

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (dict(self),))

    @classmethod
    def __get_pydantic_core_schema__(
        cls, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        item = handler.generate_schema(get_args(source)[0])
        table = core_schema.dict_schema(core_schema.str_schema(), item)
        named = core_schema.no_info_after_validator_function(cls, table)
        return core_schema.no_info_before_validator_function(_by_name, named)

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: Any) -> dict[str, Any]:
        table = handler(schema)
        return {"anyOf": [table, {"type": "array", "items": table["additionalProperties"]}]}


def _by_name(raw: object) -> object:
    if isinstance(raw, Mapping):
        return {key: _with_name(str(key), value) for key, value in raw.items()}
    if not isinstance(raw, Iterable) or isinstance(raw, str):
        raise faults_error(Fault("", repr(raw), "a table of named records", "Give each record a name."))
    table: dict[str, object] = {}
    for number, item in enumerate(raw, start=1):
        name = item.get("name") if isinstance(item, Mapping) else getattr(item, "name", None)
        if not isinstance(name, str):
            raise faults_error(Fault(f"entry {number}", "", "a name", 'Add name = "..." to this entry.'))
        if name in table:
            raise faults_error(
                Fault(f"entry {number}", name, "a name used once", "Give this entry another name.")
            )
        table[name] = item
    return table


def _with_name(key: str, value: object) -> object:
    own = value.get("name", key) if isinstance(value, Mapping) else getattr(value, "name", key)
    if own != key:
        raise faults_error(Fault(f"{key}.name", f"{own}", f'"{key}", the key of its table', "Take name out."))
    return {"name": key, **value} if isinstance(value, Mapping) and "name" not in value else value


class Vouched(Record):
    """Something stated by somebody: where its numbers come from and how well they are known."""

    source: str = ""
    owner: str = ""
    status: Status = "guess"


class Sourced(Record):
    """A row of a rates table: it says where its main number comes from and how far it may be off.

    ``headline`` names the field to which ``low`` and ``high`` belong. ``series`` names the index series by which
    a new year's value is escalated.
    """

    headline: ClassVar[str] = ""

    name: Name
    source: str
    as_of: datetime.date
    owner: str
    status: Status
    series: str = ""
    note: str = ""
