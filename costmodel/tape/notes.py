"""Draws that note on a tape what the model does to them, and the questions it asks about them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Values = npt.NDArray[Any]
Argument = tuple[bool, Any]
"""(True, number of a node) or (False, a constant)."""


class NotTraceableError(Exception):
    """The model did something to the draws that cannot be written down; it runs as it is instead."""


class Node(NamedTuple):
    """One operation: what is done to which earlier nodes and constants."""

    operation: Callable[..., Any]
    arguments: tuple[Argument, ...]


class Guard(NamedTuple):
    """A question the model asked about all draws, and the answer on which its course depends."""

    node: int
    every: bool
    """Whether it asked for all draws (or else for any)."""
    answer: bool


class Tape:
    """Everything that was done to the draws, in order."""

    def __init__(self, inputs: int) -> None:
        self.inputs = inputs
        self.nodes: list[Node] = []
        self.logical: list[bool] = []
        """Whether each node holds answers rather than numbers."""
        self.guards: dict[Guard, None] = {}
        self._known: dict[Node, int] = {}

    def note(self, operation: Callable[..., Any], arguments: tuple[Argument, ...], result: Values) -> int:
        """The number of the node for an operation; one done before keeps its number."""
        kind = result.dtype.char
        if result.ndim != 1 or kind not in "d?":
            raise NotTraceableError(f"{operation.__name__} giving {result.dtype} of shape {result.shape}")
        return self.put(Node(operation, arguments), logical=kind == "?")

    def put(self, node: Node, *, logical: bool = False) -> int:
        """The number of a node, new or already there."""
        number = self._known.get(node)
        if number is None:
            number = self._known[node] = self.inputs + len(self.nodes)
            self.nodes.append(node)
            self.logical.append(logical)
        return number

    def wanted(self, goals: Iterable[int]) -> list[int]:
        """The nodes that some nodes need, each as late as may be: then little has to be kept at once."""
        order: list[int] = []
        done: set[int] = set()
        for goal in goals:
            stack = [(goal, False)]
            while stack:
                number, ready = stack.pop()
                if ready:
                    order.append(number)
                elif number >= self.inputs and number not in done:
                    done.add(number)
                    stack.append((number, True))
                    below = self.nodes[number - self.inputs].arguments
                    stack += [(value, False) for noted, value in reversed(below) if noted]
        return order


class Noted(np.ndarray[Any, Any]):
    """Draws that note on a tape what is done to them."""

    tape: Tape
    node: int
    plain: Values

    def __array_ufunc__(self, ufunc: np.ufunc, method: Any, *inputs: Any, **kwargs: Any) -> Any:
        """Do the operation and note it."""
        out = kwargs.pop("out", None)
        if method == "reduce":
            return _asked(self, ufunc, kwargs)
        if method != "__call__" or kwargs or ufunc.nout != 1:
            raise NotTraceableError(f"{ufunc.__name__}.{method}")
        if out is not None and not isinstance(out[0], Noted):
            raise NotTraceableError("a result written into an array")
        result = _noted(self.tape, ufunc, inputs)
        if out is not None:
            np.copyto(_plain(out[0]), _plain(result))
            out[0].node = result.node
            return out[0]
        return result

    def __array_function__(self, function: Any, types: Any, args: Any, kwargs: Any) -> Any:
        """Note a choice between two values; answer questions about all draws and about shapes."""
        if function is np.where and len(args) == 3:
            return _noted(self.tape, np.where, args)
        if function is np.clip and len(args) == 3 and not kwargs:
            return np.minimum(np.maximum(args[0], args[1]), args[2])
        if function in (np.any, np.all) and len(args) == 1 and not kwargs:
            return _asked(args[0], np.logical_or if function is np.any else np.logical_and, {})
        if function in (np.shape, np.ndim, np.size):
            return function(_plain(args[0]))
        raise NotTraceableError(function.__name__)

    def __getitem__(self, key: Any) -> Any:
        """The draws themselves; a part of them cannot be noted."""
        if key != ():
            raise NotTraceableError("a part of the draws")
        return self

    def copy(self, order: Any = "C") -> Any:
        """The same draws: nobody writes into them."""
        return self

    def _refused(self, *_: object, **__: object) -> Any:
        raise NotTraceableError("one number, or another array, of all draws")

    __float__ = __int__ = __bool__ = __index__ = __iter__ = _refused
    astype = reshape = ravel = view = min = max = sum = mean = item = _refused


def _plain(value: Any) -> Any:
    return value.plain if type(value) is Noted else value


def _argument(value: Any) -> Argument:
    kind = type(value)
    if kind is Noted:
        return True, value.node
    if kind is float:
        return False, value
    if isinstance(value, np.ndarray):
        if value.size == 0 or np.any(value != value.flat[0]):
            raise NotTraceableError("an array that is not drawn")
        value = value.flat[0]
    return False, value.item() if isinstance(value, np.generic) else value


def _noted(tape: Tape, operation: Callable[..., Any], inputs: Sequence[Any]) -> Any:
    plain: list[Any] = []
    arguments: list[Argument] = []
    for value in inputs:
        if type(value) is Noted:
            plain.append(value.plain)
            arguments.append((True, value.node))
        else:
            plain.append(value)
            arguments.append((False, value) if type(value) is float else _argument(value))
    result = np.asarray(operation(*plain))
    return _mark(result, tape, tape.note(operation, tuple(arguments), result))


def _mark(values: Values, tape: Tape, node: int) -> Noted:
    noted = values.view(Noted)
    noted.tape, noted.node, noted.plain = tape, node, values
    return noted


def _asked(values: Noted, operation: np.ufunc, options: dict[str, Any]) -> bool:
    every = operation is np.logical_and
    if not (every or operation is np.logical_or) or options.get("axis") not in (None, 0):
        raise NotTraceableError(f"{operation.__name__} over all draws")
    answer = bool(operation.reduce(_plain(values)))
    values.tape.guards[Guard(values.node, every, answer)] = None
    return answer


def record(model: Callable[[list[Any]], Sequence[Any]], draws: Sequence[Floats]) -> tuple[Tape, list[Any]]:
    """Run a model on a few draws of each input: the tape, and its results as nodes or constants.

    Raises NotTraceableError where the model does what cannot be written down.
    """
    tape = Tape(len(draws))
    results = model([_mark(row.copy(), tape, at) for at, row in enumerate(draws)])
    return tape, [_argument(result) for result in results]
