"""Sobol points, each column scrambled by itself: any block at once, any column without the others.

A column is scrambled by a random lower-triangular matrix over its bits and a random shift (Matousek's linear
scramble), which keeps the evenness of the points and makes each of them uniform between 0 and 1. The scramble
depends on a key alone: a column that joins or leaves moves no other.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

BITS = 32
Words = npt.NDArray[np.uint32]
Floats = npt.NDArray[np.float64]

_ONE = np.uint32(1)
_STEP = 2.0**-BITS


@cache
def _polynomials() -> tuple[tuple[int, ...], ...]:
    text = files("costmodel.draws").joinpath("sobol_numbers.txt").read_text(encoding="utf-8")
    rows = (line.split() for line in text.splitlines() if not line.startswith("#"))
    return tuple(tuple(int(number) for number in row) for row in rows)


def dimensions() -> int:
    """How many dimensions the table of direction numbers has."""
    return len(_polynomials())


@cache
def direction_numbers(dimension: int) -> tuple[int, ...]:
    """The 32 direction numbers of a dimension, counted from 0, as words whose highest bit is one half."""
    polynomial, *first = _polynomials()[dimension]
    degree = len(first)
    if degree == 0:
        return tuple(1 << (BITS - 1 - place) for place in range(BITS))
    numbers = list(first)
    for place in range(degree, BITS):
        number = numbers[place - degree] ^ (numbers[place - degree] << degree)
        for step in range(1, degree):
            if (polynomial >> (degree - step)) & 1:
                number ^= numbers[place - step] << step
        numbers.append(number)
    return tuple(number << (BITS - 1 - place) for place, number in enumerate(numbers))


class Columns(NamedTuple):
    """Scrambled direction numbers of several columns, and the shift of each."""

    numbers: Words
    """A row of 32 words for each column."""
    shifts: Words
    """A column vector."""

    def some(self, which: slice) -> Columns:
        """Some of the columns."""
        return Columns(self.numbers[which], self.shifts[which])


def scrambled(dimensions_used: Sequence[int], keys: Sequence[str]) -> Columns:
    """The columns of these dimensions, each with the scramble that belongs to its key."""
    plain = np.array([direction_numbers(at) for at in dimensions_used], dtype=np.uint32)
    digests = b"".join(hashlib.shake_128(key.encode()).digest(4 * (BITS + 1)) for key in keys)
    words = np.frombuffer(digests, dtype="<u4").astype(np.uint32).reshape(len(keys), BITS + 1)
    places = np.arange(BITS, dtype=np.uint32)
    own_bit = _ONE << (BITS - 1 - places)
    columns = own_bit | (words[:, 1:] & (own_bit - _ONE))
    numbers = np.zeros_like(plain)
    for place in range(BITS):
        taken = (plain >> np.uint32(BITS - 1 - place)) & _ONE
        numbers ^= taken * columns[:, place, np.newaxis]
    return Columns(numbers, words[:, :1])


def fill(columns: Columns, start: int, shares: Floats) -> None:
    """Points of every column from number `start` on, strictly between 0 and 1: columns as rows, points behind."""
    numbers, shifts = columns.numbers, columns.shifts[:, 0]
    points = np.empty(shares.shape, dtype=np.uint32)
    at, stop = start, start + shares.shape[1]
    while at < stop:
        size = at & -at if at else 1 << (stop - 1).bit_length()
        while size > stop - at:
            size >>= 1
        _aligned(numbers, shifts, at, points[:, at - start : at - start + size])
        at += size
    np.add(points, 0.5, out=shares)
    shares *= _STEP


def _aligned(numbers: Words, shifts: Words, start: int, points: Words) -> None:
    """Fill a block whose size is a power of two that divides its start, by doubling."""
    first = shifts.copy()
    for bit in range(start.bit_length()):
        if (start >> bit) & 1:
            first ^= numbers[:, bit]
    points[:, 0] = first
    filled, bit = 1, 0
    while filled < points.shape[1]:
        np.bitwise_xor(points[:, :filled], numbers[:, bit, np.newaxis], out=points[:, filled : 2 * filled])
        filled, bit = 2 * filled, bit + 1
