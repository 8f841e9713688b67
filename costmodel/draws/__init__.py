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

from costmodel.draws import sobol
from costmodel.draws.correlation import Mix, driver_key, mixes, tie
from costmodel.draws.spreads import Sampler, sampler
from costmodel.errors import InputError, Problem
from costmodel.maturity import uncertain_inputs
from costmodel.records.study import Study
from costmodel.records.uncertain import columns

Floats = npt.NDArray[np.float64]
Method = Literal["sobol", "plain"]

REPLICATES = 8
"""Independent sets of draws; the spread between them gives the standard errors."""
_WORDS_AT_ONCE = 4
_ROWS_AT_ONCE = 32
_BLOCK = 8192


class Drawing(NamedTuple):
    """How the uncertain inputs of a study are drawn."""

    addresses: tuple[str, ...]
    keys: tuple[str, ...]
    """One for each row of draws: the addresses, then the drivers."""
    samplers: tuple[Sampler, ...]
    mixes: tuple[Mix, ...]
    sets: tuple[sobol.Columns, ...]
    """Scrambled columns of each set; empty for plain draws."""
    stream: str
    seed: int
    draws_a_set: int

    @property
    def draws(self) -> int:
        """Draws of all sets together."""
        return self.draws_a_set * REPLICATES

    def blocks(self, size: int) -> Iterator[slice]:
        """All draws, one set after the other, in runs of at most a size."""
        for start in range(0, self.draws, size):
            yield slice(start, min(start + size, self.draws))

    def values(self, block: slice, rows: Floats | None = None) -> Floats:
        """The inputs in a run of draws, a row for each address, and rows of drivers behind; in `rows` where given."""
        if rows is None:
            rows = np.empty((len(self.keys), block.stop - block.start))
        for first in range(0, len(self.keys), _ROWS_AT_ONCE):
            some = slice(first, first + _ROWS_AT_ONCE)
            self.fill(block, some, rows[some])
        return self.turned(rows)

    def one(self, address: str) -> Floats:
        """One input in all draws."""
        at = self.addresses.index(address)
        if any(at in mix.rows for mix in self.mixes):
            return np.concatenate([self.values(block)[at] for block in self.blocks(_BLOCK)])
        row = np.empty((1, self.draws))
        self.fill(slice(0, self.draws), slice(at, at + 1), row)
        values: Floats = row[0]
        self.samplers[at](values)
        return values

    def turned(self, rows: Floats) -> Floats:
        """Rows of chances turned into draws in place: tied where inputs move together, then read."""
        tie(rows, self.mixes)
        for sample, row in zip(self.samplers, rows, strict=False):
            sample(row)
        return rows[: len(self.addresses)]

    def fill(self, block: slice, some: slice, rows: Floats) -> None:
        """Chances strictly between 0 and 1 for some of the rows, set by set."""
        for replicate in range(block.start // self.draws_a_set, REPLICATES):
            first = replicate * self.draws_a_set
            start, stop = max(block.start, first), min(block.stop, first + self.draws_a_set)
            if start >= stop:
                return
            place = rows[:, start - block.start : stop - block.start]
            if self.sets:
                sobol.fill(self.sets[replicate].some(some), start - first, place)
            else:
                for row, key in zip(place, self.keys[some], strict=True):
                    row[:] = _plain(f"{self.stream}/{replicate}/{key}", start - first, stop - first)


def drawing(
    study: Study, draws: int, seed: int, method: Method = "sobol", *, second: bool = False
) -> Drawing:
    """Prepare the draws of a study's uncertain inputs; `draws` is rounded up to a whole number a set.

    With `second` they are independent of those without it, from other columns and streams.

    Raises InputError for a method that does not exist, fewer draws than sets, or too many inputs.
    """
    if method not in get_args(Method):
        _refuse("method", method, "sobol or plain", "Choose one of the two.")
    if draws < REPLICATES:
        _refuse("draws", str(draws), f"at least {REPLICATES}", "Ask for more draws.")
    uncertain = uncertain_inputs(study)
    addresses = tuple(uncertain)
    keys = (*addresses, *(driver_key(name) for name in study.drivers))
    sets: tuple[sobol.Columns, ...] = ()
    if method == "sobol" and keys:
        used = _columns(study, second)
        sets = tuple(
            sobol.scrambled(used, [f"{seed}{'b' if second else ''}/{replicate}/{key}" for key in keys])
            for replicate in range(REPLICATES)
        )
    return Drawing(
        addresses=addresses,
        keys=keys,
        samplers=tuple(sampler(study, spread) for spread in uncertain.values()),
        mixes=mixes(study, keys),
        sets=sets,
        stream=f"{seed}{'b' if second else ''}",
        seed=seed,
        draws_a_set=-(-draws // REPLICATES),
    )


def _columns(study: Study, second: bool) -> Sequence[int]:
    """The inputs' columns from the first one on, those of drivers from the last one back; others for `second`."""
    total = sobol.dimensions()
    own = list(columns(uncertain_inputs(study)).values())
    drivers = [total - 1 - at for at in range(len(study.drivers))]
    used = [*own, *drivers]
    if len({*used}) < len(used) or max((*own, *drivers), default=0) >= total:
        expected = f"inputs in {total} different columns"
        _refuse("uncertainty", f"{len(own)} inputs", expected, 'Use method "plain", or give each its column.')
    if not second:
        return used
    free = [column for column in range(total) if column not in set(used)]
    if len(free) < len(used):
        _refuse("uncertainty", f"{len(own)} inputs", f"at most {total // 2} inputs", 'Use method "plain".')
    return free[: len(used)]


def _plain(key: str, start: int, stop: int) -> Floats:
    """Uniform numbers number start to stop of one stream, as coarse as Sobol points."""
    digest = hashlib.shake_128(key.encode()).digest(16)
    first = start // _WORDS_AT_ONCE
    stream = np.random.Philox(key=int.from_bytes(digest, "little")).advance(first)
    words = stream.random_raw(stop - first * _WORDS_AT_ONCE)[start - first * _WORDS_AT_ONCE :]
    shares: Floats = ((words >> np.uint64(64 - sobol.BITS)).astype(np.float64) + 0.5) * 2.0**-sobol.BITS
    return shares


def _refuse(place: str, value: str, expected: str, remedy: str) -> None:
    raise InputError([Problem("draws", place, value, expected, remedy)])
