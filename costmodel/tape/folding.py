"""A tape with fewer operations: constants that follow one another become one constant.

Sums are kept as terms with factors, (factor x draws + ... + constant), as long as nothing else needs what
stands between: ((x * 2 + 1) / 60 + 3) + y is then one product, two sums. Only the rounding of the last digit
differs.
"""

from __future__ import annotations

from collections import Counter
from typing import Any, NamedTuple

import numpy as np

from costmodel.tape.notes import Argument, Node, Tape


class Sum(NamedTuple):
    """Factors and the nodes of the new tape they belong to, and a constant."""

    terms: tuple[tuple[float, int], ...]
    constant: float


class Folding:
    """Copies a tape to a new one, operation by operation."""

    def __init__(self, old: Tape, results: list[Argument], asked: list[int], order: list[int]) -> None:
        self.old, self.new = old, Tape(old.inputs)
        self._sums: dict[int, Sum] = {at: Sum(((1.0, at),), 0.0) for at in range(old.inputs)}
        self._whole: dict[int, Argument] = {}
        self._uses = Counter(v for at in order for noted, v in old.nodes[at - old.inputs].arguments if noted)
        self._uses.update(v for noted, v in results if noted)
        self._uses.update(asked)
        for number in order:
            self._sums[number] = self._sum_of(number)
        self.results = [self.whole(value) if noted else (noted, value) for noted, value in results]
        self.asked = {value: self.whole(value) for value in asked}

    def whole(self, number: int) -> Argument:
        """A node of the old tape as one of the new, or as a constant."""
        if number not in self._whole:
            self._whole[number] = self._written(self._sums[number])
        return self._whole[number]

    def _sum_of(self, number: int) -> Sum:
        node = self.old.nodes[number - self.old.inputs]
        if self.old.logical[number - self.old.inputs]:
            return self._noted(node.operation, [self._argument(it) for it in node.arguments], logical=True)
        if node.operation in (np.add, np.subtract):
            one, other = (self._addend(it) for it in node.arguments)
            return _added(one, other, -1.0 if node.operation is np.subtract else 1.0)
        if node.operation is np.negative:
            return _scaled(self._addend(node.arguments[0]), -1.0)
        if node.operation in (np.multiply, np.divide):
            return self._product(node)
        return self._noted(node.operation, [self._argument(it) for it in node.arguments])

    def _product(self, node: Node) -> Sum:
        one, other = (self._factor(it) for it in node.arguments)
        divides = node.operation is np.divide
        if not other.terms and (not divides or other.constant != 0.0):
            return _scaled(one, 1.0 / other.constant if divides else other.constant)
        if not one.terms and not divides:
            return _scaled(other, one.constant)
        (factor, one_node), (other_factor, other_node) = (self._lone(it) for it in (one, other))
        product = self._noted(node.operation, [one_node, other_node])
        return _scaled(product, factor / other_factor if divides else factor * other_factor)

    def _addend(self, argument: Argument) -> Sum:
        """An argument of a sum: opened where nothing else uses it."""
        noted, value = argument
        if not noted:
            return Sum((), float(value))
        if self._uses[value] == 1:
            return self._sums[value]
        return _alone(self.whole(value))

    def _factor(self, argument: Argument) -> Sum:
        """An argument of a product: a sum of several terms is written out first."""
        noted, value = argument
        if not noted:
            return Sum((), float(value))
        found = self._sums[value]
        if len(found.terms) > 1 or (found.terms and found.constant != 0.0 and self._uses[value] > 1):
            return _alone(self.whole(value))
        return found

    def _lone(self, found: Sum) -> tuple[float, Argument]:
        """A factor and what it belongs to; constants stand alone."""
        if not found.terms:
            return 1.0, (False, found.constant)
        if found.constant != 0.0:
            return 1.0, self._written(found)
        factor, node = found.terms[0]
        return factor, (True, node)

    def _argument(self, argument: Argument) -> Argument:
        noted, value = argument
        return self.whole(value) if noted else argument

    def _noted(self, operation: Any, arguments: list[Argument], *, logical: bool = False) -> Sum:
        return Sum(((1.0, self.new.put(Node(operation, tuple(arguments)), logical=logical)),), 0.0)

    def _written(self, found: Sum) -> Argument:
        """The operations that a sum takes."""
        if not found.terms:
            return False, found.constant
        terms = sorted(found.terms, key=lambda term: term[0] != 1.0)
        result = self._scaled_node(*terms[0])
        for factor, node in terms[1:]:
            if abs(factor) == 1.0:
                operation: Any = np.add if factor > 0.0 else np.subtract
                result = self.new.put(Node(operation, ((True, result), (True, node))))
            else:
                term = self._scaled_node(factor, node)
                result = self.new.put(Node(np.add, ((True, result), (True, term))))
        if found.constant != 0.0:
            result = self.new.put(Node(np.add, ((True, result), (False, found.constant))))
        return True, result

    def _scaled_node(self, factor: float, node: int) -> int:
        if factor == 1.0:
            return node
        return self.new.put(Node(np.multiply, ((True, node), (False, factor))))


def _alone(argument: Argument) -> Sum:
    noted, value = argument
    return Sum(((1.0, value),), 0.0) if noted else Sum((), value)


def _scaled(one: Sum, factor: float) -> Sum:
    if factor == 0.0:
        return Sum((), 0.0)
    return Sum(tuple((factor * share, node) for share, node in one.terms), factor * one.constant)


def _added(one: Sum, other: Sum, sign: float) -> Sum:
    terms = {node: factor for factor, node in one.terms}
    for factor, node in other.terms:
        terms[node] = terms.get(node, 0.0) + sign * factor
    kept = tuple((factor, node) for node, factor in terms.items() if factor != 0.0)
    return Sum(kept, one.constant + sign * other.constant)
