"""Draws of every uncertain input: the same numbers whatever the block asked for, and whatever else is drawn.

Scrambled Sobol points by default, in several independently scrambled sets whose spread gives the standard
errors; plain random numbers as the cross-check. Each input has a column and a stream of its own, made from the
seed and its address.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple, get_args

import numpy as np
import numpy.typing as npt

from costmodel import sobol
from costmodel.correlation import Mix, driver_key, mixes, tie
from costmodel.errors import InputError, Problem
from costmodel.records.study import Study
from costmodel.records.uncertain import columns
from costmodel.spreads import Sampler, sampler

Floats = npt.NDArray[np.float64]
Method = Literal["sobol", "plain"]

REPLICATES = 8
"""Independent sets of draws; the spread between them gives the standard errors."""
_WORDS_AT_ONCE = 4
_ROWS_AT_ONCE = 32
"""Rows filled and read before the next ones are begun."""


class Block(NamedTuple):
    """A run of draws within one set."""

    replicate: int
    start: int
    stop: int


class Drawing(NamedTuple):
    """How the uncertain inputs of a study are drawn."""

    addresses: tuple[str, ...]
    keys: tuple[str, ...]
    """One for each row of draws: the addresses, then the drivers."""
    samplers: tuple[Sampler, ...]
    mixes: tuple[Mix, ...]
    sets: tuple[sobol.Columns, ...]
    """Scrambled columns of each set; empty for plain draws."""
    seed: int
    draws_a_set: int

    @property
    def draws(self) -> int:
        """Draws of all sets together."""
        return self.draws_a_set * REPLICATES

    def blocks(self, size: int) -> Iterator[Block]:
        """All draws in runs of at most a size, one set after the other."""
        for replicate in range(REPLICATES):
            for start in range(0, self.draws_a_set, size):
                yield Block(replicate, start, min(start + size, self.draws_a_set))

    def values(self, block: Block, rows: Floats | None = None) -> Floats:
        """The inputs themselves, a row for each address, and rows of drivers behind; into `rows` where given."""
        if rows is None:
            rows = np.empty((len(self.keys), block.stop - block.start))
        tied = {row for mix in self.mixes for row in (*mix.rows, *mix.sources)}
        for first in range(0, len(self.keys), _ROWS_AT_ONCE):
            some = slice(first, first + _ROWS_AT_ONCE)
            self._fill(block, some, rows[some])
            for at, row in enumerate(rows[some], start=first):
                if at not in tied and at < len(self.samplers):
                    self.samplers[at](row)
        tie(rows, self.mixes)
        for at in tied:
            if at < len(self.samplers):
                self.samplers[at](rows[at])
        return rows[: len(self.addresses)]

    def _fill(self, block: Block, some: slice, rows: Floats) -> None:
        """Chances strictly between 0 and 1 for some of the rows."""
        if self.sets:
            sobol.fill(self.sets[block.replicate].some(some), block.start, rows)
        else:
            for row, key in zip(rows, self.keys[some], strict=True):
                row[:] = _plain(self.seed, key, block)


def drawing(study: Study, draws: int, seed: int, method: Method = "sobol") -> Drawing:
    """Prepare the draws of a study's uncertain inputs; `draws` is rounded up to a whole number a set.

    Raises InputError for a method that does not exist, fewer draws than sets, or more inputs than columns.
    """
    if method not in get_args(Method):
        _refuse("method", method, "sobol or plain", "Choose one of the two.")
    if draws < REPLICATES:
        _refuse("draws", str(draws), f"at least {REPLICATES}", "Ask for more draws.")
    addresses = tuple(study.uncertainty)
    keys = (*addresses, *(driver_key(name) for name in study.drivers))
    sets: tuple[sobol.Columns, ...] = ()
    if method == "sobol" and keys:
        used = _columns(study)
        sets = tuple(
            sobol.scrambled(used, [f"{seed}/{replicate}/{key}" for key in keys])
            for replicate in range(REPLICATES)
        )
    return Drawing(
        addresses=addresses,
        keys=keys,
        samplers=tuple(sampler(study, spread) for spread in study.uncertainty.values()),
        mixes=mixes(study, keys),
        sets=sets,
        seed=seed,
        draws_a_set=-(-draws // REPLICATES),
    )


def _columns(study: Study) -> Sequence[int]:
    """The inputs' columns from the first one on, those of drivers from the last one back."""
    last = sobol.dimensions() - 1
    own = list(columns(study.uncertainty).values())
    drivers = [last - at for at in range(len(study.drivers))]
    if len({*own, *drivers}) < len(own) + len(drivers) or max(own, default=0) > last:
        expected = f"inputs in {sobol.dimensions()} different columns"
        _refuse("uncertainty", f"{len(own)} inputs", expected, 'Use method "plain", or give each its column.')
    return [*own, *drivers]


def _plain(seed: int, key: str, block: Block) -> Floats:
    """Uniform numbers of one input's own stream, as coarse as Sobol points, from any place of it."""
    digest = hashlib.shake_128(f"{seed}/{block.replicate}/{key}".encode()).digest(16)
    first = block.start // _WORDS_AT_ONCE
    stream = np.random.Philox(key=int.from_bytes(digest, "little")).advance(first)
    words = stream.random_raw(block.stop - first * _WORDS_AT_ONCE)[block.start - first * _WORDS_AT_ONCE :]
    shares: Floats = ((words >> np.uint64(64 - sobol.BITS)).astype(np.float64) + 0.5) * 2.0**-sobol.BITS
    return shares


def _refuse(place: str, value: str, expected: str, remedy: str) -> None:
    raise InputError([Problem("draws", place, value, expected, remedy)])
