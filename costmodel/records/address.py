"""Addresses of inputs: ``rates.machines.mill-5x.purchase_price``. Resolved once into a plan, applied often."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, NoReturn, get_args

import numpy as np
from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError

from costmodel.errors import InputError, Problem
from costmodel.records.faults import joined, problems
from costmodel.records.fields import OWN_CURRENCY, Named, Quantity, Record
from costmodel.units import Number

_TOKEN = re.compile(r'"([^"]+)"|([^."]+)')
_WHOLE = re.compile(r'(?:"[^"]+"|[^."]+)(?:\.(?:"[^"]+"|[^."]+))*')


def tokens(address: str) -> tuple[str, ...]:
    """The parts of a dotted key; a part with a dot is quoted, as in TOML."""
    if not _WHOLE.fullmatch(address):
        _refuse(
            address or '""',
            "",
            "a dotted key such as rates.machines.mill-5x.life",
            "Quote a name that has a dot.",
        )
    return tuple(quoted or plain for quoted, plain in _TOKEN.findall(address))


def _refuse(place: str, value: str, expected: str, remedy: str) -> NoReturn:
    raise InputError([Problem("study", place, value, expected, remedy)])


def _unknown(address: str, token: str, known: Iterable[str]) -> NoReturn:
    names = list(known)
    near = difflib.get_close_matches(token, names, n=1)
    shown = ", ".join(names[:12]) + (" ..." if len(names) > 12 else "")
    remedy = f'Did you mean "{near[0]}"?' if near else "Choose one of these."
    _refuse(address, token, f"one of {shown}", remedy)


def child(node: object, token: str, address: str) -> Any:
    """What stands at one part of an address below `node`; raises InputError naming what exists there."""
    if isinstance(node, Named):
        return node[token] if token in node else _unknown(address, token, node)
    if isinstance(node, Record):
        if token in type(node).model_fields:
            return getattr(node, token)
        _unknown(address, token, type(node).model_fields)
    _refuse(address, token, "nothing below a single value", "Shorten the address.")


@cache
def field_quantity(record: type[Record], field: str) -> Quantity | None:
    """The unit and range of a number field, None for a field that is no Quantity."""
    metadata = record.model_fields[field].metadata
    return next((item for item in metadata if isinstance(item, Quantity)), None)


@cache
def _adapter(record: type[Record], field: str) -> TypeAdapter[Any]:
    info = record.model_fields[field]
    annotation: Any = info.annotation
    for item in info.metadata:
        annotation = Annotated[annotation, item]
    return TypeAdapter(annotation)


@dataclass(frozen=True)
class Leaf:
    """Where one value goes: its slot in the list of values and the check of its field."""

    address: str
    slot: int
    record: type[Record]
    field: str
    currency: str = ""
    """The currency of the record's own money, for a value given as text."""

    def checked(self, value: object, home: str) -> Any:
        """The value as the field takes it, arrays included; raises InputError at this address."""
        spec = field_quantity(self.record, self.field)
        try:
            if spec is not None:
                return spec.check(value, self.currency if spec.unit == OWN_CURRENCY else home)
            return _adapter(self.record, self.field).validate_python(value)
        except PydanticCustomError as error:
            fault = (error.context or {})["faults"][0]
            raise InputError(
                [Problem("study", self.address, fault.value, fault.expected, fault.remedy)]
            ) from error
        except ValidationError as error:
            raise InputError(problems(error, "study", prefix=self.address)) from error


@dataclass(frozen=True)
class Whole:
    """A whole record put into a named table, at a new name or over an old one."""

    address: str
    slot: int
    kinds: tuple[type, ...]

    def checked(self, value: object, home: str) -> Any:
        """The record itself, if it is of the table's kind."""
        if not isinstance(value, self.kinds):
            kinds = " or ".join(kind.__name__ for kind in self.kinds)
            _refuse(
                self.address, type(value).__name__, f"a {kinds} record", "Numbers go to existing places only."
            )
        own, key = getattr(value, "name", ""), tokens(self.address)[-1]
        if own != key:
            _refuse(self.address, own, f'a record named "{key}"', "Give record and address one name.")
        return value


Tree = dict[str, Any]


def _item_kinds(record: Record, field: str) -> tuple[type, ...]:
    def classes(annotation: Any) -> tuple[type, ...]:
        found = tuple(kind for item in get_args(annotation) for kind in classes(item))
        return (annotation,) if isinstance(annotation, type) and issubclass(annotation, Record) else found

    return classes(type(record).model_fields[field].annotation)


def _target(root: Record, address: str, slot: int) -> tuple[tuple[str, ...], Leaf | Whole]:
    path = tokens(address)
    node: Any = root
    owner: tuple[Record, str] | None = None
    for token in path[:-1]:
        below = child(node, token, address)
        owner = (node, token) if isinstance(node, Record) else owner
        node = below
    if isinstance(node, Named) and owner is not None:
        return path, Whole(address, slot, _item_kinds(*owner))
    child(node, path[-1], address)
    return path, Leaf(address, slot, type(node), path[-1], getattr(node, "currency", ""))


@dataclass(frozen=True)
class Plan:
    """Addresses resolved against one record; ``apply`` copies only the records on the way to them."""

    root: Record
    tree: Tree
    addresses: tuple[str, ...]
    home: str
    names_change: bool
    kept: tuple[tuple[str, tuple[int, ...]], ...]
    """Address and shape of the arrays that the record has elsewhere: draws of an earlier what-if."""

    def apply(self, values: Sequence[object]) -> Any:
        """The record with one value an address, each checked by its own field; raises InputError."""
        _one_length(self.addresses, values, self.kept)
        return _rebuilt(self, self.root, self.tree, values, "")


def make_plan(root: Record, addresses: Iterable[str], home: str = "") -> Plan:
    """Resolve addresses into a plan; raises InputError naming the place that does not exist.

    `home` is the home currency, for values given as text.
    """
    tree: Tree = {}
    listed = tuple(addresses)
    names_change = False
    for slot, address in enumerate(listed):
        path, leaf = _target(root, address, slot)
        branch = tree
        for token in path[:-1]:
            branch = branch.setdefault(token, {})
            if not isinstance(branch, dict):
                _refuse(address, "", "one address for one place", "Leave one of the two out.")
        if path[-1] in branch:
            _refuse(address, "", "one address for one place", "Leave one of the two out.")
        branch[path[-1]] = leaf
        names_change |= isinstance(leaf, Whole) or field_quantity(leaf.record, leaf.field) is None
    replaced = {tokens(address) for address in listed}
    kept = ((joined(*path), shape) for path, shape in _arrays(root) if path not in replaced)
    return Plan(root, tree, listed, home, names_change, tuple(kept))


def _arrays(root: Record) -> Iterator[tuple[tuple[str, ...], tuple[int, ...]]]:
    """Path and shape of every array in a record; single values are passed over at once."""
    waiting: list[tuple[tuple[str, ...], Record | Named[Any]]] = [((), root)]
    while waiting:
        path, node = waiting.pop()
        for name, value in (node if isinstance(node, Named) else node.__dict__).items():
            if type(value) in _SINGLE:
                continue
            if isinstance(value, np.ndarray):
                yield (*path, name), value.shape
            elif isinstance(value, (Named, Record)):
                waiting.append(((*path, name), value))


_SINGLE = {float, int, str, bool, type(None)}


def _rebuilt(plan: Plan, node: Any, tree: Tree, values: Sequence[object], place: str) -> Any:
    changed = {
        token: _rebuilt(plan, _existing(node, token), below, values, f"{place}.{token}")
        if isinstance(below, dict)
        else below.checked(values[below.slot], plan.home)
        for token, below in tree.items()
    }
    if isinstance(node, Named):
        return type(node)({**node, **changed})
    copy = node.model_copy(update=changed)
    faults = [*copy.rules(), *(copy.links() if plan.names_change else ())]
    if faults:
        where = place.lstrip(".")
        raise InputError(
            Problem("study", f"{where}.{fault.place}".strip("."), fault.value, fault.expected, fault.remedy)
            for fault in faults
        )
    return copy


def _existing(node: Any, token: str) -> Any:
    return node[token] if isinstance(node, Mapping) else getattr(node, token)


def _one_length(
    addresses: Sequence[str], values: Sequence[object], kept: Iterable[tuple[str, tuple[int, ...]]]
) -> None:
    if len(addresses) != len(values):
        _refuse("inputs", str(len(values)), f"{len(addresses)} values", "Give one value an address.")
    lengths: dict[tuple[int, ...], str] = {}
    for address, value in zip(addresses, values, strict=True):
        if isinstance(value, np.ndarray):
            if value.ndim not in (1, 2) or (value.ndim == 2 and value.shape[1] != 1):
                _refuse(
                    address,
                    f"shape {value.shape}",
                    "draws (n,) or a column (m, 1)",
                    "Use sweep() for a range.",
                )
            lengths.setdefault(value.shape, address)
    for address, shape in kept:
        lengths.setdefault(shape, address)
    for dimension, word in ((1, "draws"), (2, "a range")):
        shapes = [shape for shape in lengths if len(shape) == dimension]
        if len(shapes) > 1:
            found = ", ".join(f"{lengths[shape]}: {shape[0]}" for shape in shapes)
            _refuse(lengths[shapes[0]], found, f"one length for all {word}", "Give arrays of one length.")


def sweep(values: Iterable[float]) -> Number:
    """A range for a chart, as the column (m, 1) that broadcasts against draws (n,)."""
    column: Number = np.asarray(list(values), dtype=np.float64).reshape(-1, 1)
    return column


def leaf_field(root: Record, address: str) -> tuple[type[Record], str]:
    """The record and field that an address names; raises InputError where it names none."""
    _, leaf = _target(root, address, 0)
    if isinstance(leaf, Whole):
        _refuse(address, "", "the address of one value", "Name the field too.")
    return leaf.record, leaf.field


def value_at(root: Record, address: str) -> Any:
    """What stands at an address; raises InputError where there is nothing."""
    node: Any = root
    for token in tokens(address):
        node = child(node, token, address)
    return node


def unit_at(root: Record, address: str, home: str) -> str:
    """The canonical unit of the number at an address: "fraction", "" for a bare number, money by its currency."""
    spec = field_quantity(*leaf_field(root, address))
    if spec is None or spec.unit in ("", "fraction"):
        return "" if spec is None else spec.unit
    return spec.shown(currency_at(root, address, home))


def currency_at(root: Record, address: str, home: str) -> str:
    """The currency of money at an address: the record's own where its field says so, else home."""
    spec = field_quantity(*leaf_field(root, address))
    if spec is None or spec.unit != OWN_CURRENCY:
        return home
    return str(child(_owner(root, address), "currency", address))


def _owner(root: Record, address: str) -> Any:
    node: Any = root
    for token in tokens(address)[:-1]:
        node = child(node, token, address)
    return node
