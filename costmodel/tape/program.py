"""A tape made ready to run: what its results need, in little memory, with the limits that are still open."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from costmodel.tape.folding import Folding
from costmodel.tape.intervals import NO, YES, Interval, interval_of
from costmodel.tape.notes import Argument, Guard, Tape

Floats = npt.NDArray[np.float64]
Values = npt.NDArray[Any]


class _OtherwiseError(Exception):
    """A question has another answer than when the tape was written."""


def _choose(condition: Any, yes: Any, no: Any, out: Values) -> None:
    np.copyto(out, no)
    np.copyto(out, yes, where=condition)


def _smaller(one: Any, other: Any, out: Values) -> None:
    np.minimum(one, other, out=out)


def _greater(one: Any, other: Any, out: Values) -> None:
    np.maximum(one, other, out=out)


_IN_PLACE: dict[Any, Callable[..., Any]] = {
    np.where: _choose,
    np.minimum: _smaller,
    np.maximum: _greater,
}
"""Operations that take the place of their result by name only, or not at all."""


def _ask(values: Values, every: bool, answer: bool) -> None:
    reduce = np.logical_and.reduce if every else np.logical_or.reduce
    if bool(reduce(values)) is not answer:
        raise _OtherwiseError


class Program:
    """A tape made ready: only what results and open questions need, in as little memory as that takes."""

    def __init__(self, tape: Tape, results: Sequence[Argument], ranges: Sequence[Interval]) -> None:
        known = list(ranges)
        with np.errstate(all="ignore"):
            for node in tape.nodes:
                known.append(interval_of(node.operation, [known[v] if n else v for n, v in node.arguments]))
        open_guards = [guard for guard in tape.guards if not _proved(guard, known[guard.node])]
        asked = [guard.node for guard in open_guards]
        order = tape.wanted((*asked, *(value for noted, value in results if noted)))
        folded = Folding(tape, list(results), asked, order)
        self._tape, self._results = folded.new, tuple(folded.results)
        self._guards: dict[int, list[Guard]] = {}
        for guard in open_guards:
            self._guards.setdefault(folded.asked[guard.node][1], []).append(guard)
        goals = (*self._guards, *(value for noted, value in self._results if noted))
        self._needed = self._tape.wanted(goals)
        self._places, self._sizes = self._planned()

    @property
    def operations(self) -> int:
        """Operations on all draws of a chunk."""
        return len(self._needed)

    @property
    def questions(self) -> int:
        """Limits that are checked in every chunk, since they could not be proved once."""
        return sum(len(guards) for guards in self._guards.values())

    def _planned(self) -> tuple[dict[int, tuple[bool, int]], dict[bool, int]]:
        """A place in memory for every node, free again after its last use."""
        inputs, nodes = self._tape.inputs, self._tape.nodes
        last = {v: at for at in self._needed for noted, v in nodes[at - inputs].arguments if noted}
        last |= {value: inputs + len(nodes) for noted, value in self._results if noted}
        places: dict[int, tuple[bool, int]] = {}
        free: dict[bool, list[int]] = {False: [], True: []}
        sizes = {False: 0, True: 0}
        for number in self._needed:
            node = nodes[number - inputs]
            ended = {v for noted, v in node.arguments if noted and v >= inputs and last[v] == number}
            if node.operation is not np.where:
                for value in ended:
                    free[places[value][0]].append(places[value][1])
            logical = self._tape.logical[number - inputs]
            if not free[logical]:
                free[logical].append(sizes[logical])
                sizes[logical] += 1
            places[number] = (logical, free[logical].pop())
            if node.operation is np.where:
                for value in ended:
                    free[places[value][0]].append(places[value][1])
            if number not in last:
                free[logical].append(places[number][1])
        return places, sizes

    def bound(self, rows: Sequence[Floats] | Floats, results: Sequence[Floats]) -> Callable[[], bool]:
        """What fills the results from rows of draws of one length, False where the model must run itself."""
        size = results[0].size
        memory = {
            False: np.empty((self._sizes[False], size)),
            True: np.empty((self._sizes[True], size), dtype=bool),
        }

        def at(noted: bool, value: Any) -> Any:
            if not noted:
                return value
            if value < self._tape.inputs:
                return rows[value]
            logical, place = self._places[value]
            return memory[logical][place]

        steps: list[tuple[Callable[..., Any], tuple[Any, ...]]] = []
        for number in (*(n for n in self._guards if n < self._tape.inputs), *self._needed):
            if number >= self._tape.inputs:
                node = self._tape.nodes[number - self._tape.inputs]
                operation = _IN_PLACE.get(node.operation, node.operation)
                steps.append((operation, (*(at(*argument) for argument in node.arguments), at(True, number))))
            for guard in self._guards.get(number, ()):
                steps.append((_ask, (at(True, number), guard.every, guard.answer)))
        steps += [(np.copyto, (row, at(*found))) for row, found in zip(results, self._results, strict=True)]

        def run() -> bool:
            try:
                for operation, arguments in steps:
                    operation(*arguments)
            except _OtherwiseError:
                return False
            return True

        return run


def _proved(guard: Guard, known: Interval) -> bool:
    return known == (YES if guard.answer else NO)
