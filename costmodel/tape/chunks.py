"""A model run on all draws, chunk by chunk, in bounded memory; neither chunk nor number of workers moves a number."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from costmodel.draws.spreads import Sampler
from costmodel.tape.intervals import Interval
from costmodel.tape.notes import NotTraceableError, record
from costmodel.tape.program import Program

Floats = npt.NDArray[np.float64]
Model = Callable[[Sequence[Any]], Sequence[Any]]
"""Takes one array of draws an address, gives its results: arrays of draws or single numbers."""


class Draws(Protocol):
    """What gives the inputs in any run of draws."""

    @property
    def draws(self) -> int:
        """How many draws there are."""

    @property
    def keys(self) -> Sequence[str]:
        """A name for each row of memory that `values` fills."""

    @property
    def samplers(self) -> Sequence[Sampler]:
        """What turns chances into an input, one for each."""

    def blocks(self, size: int) -> Iterator[slice]:
        """All draws in runs of at most a size."""

    def values(self, block: slice, rows: Floats | None = None) -> Floats:
        """The inputs in a run of draws, a row for each."""


TRIAL = 64
"""Draws on which a tape is written, and as many others on which it is compared with the model."""
WORTH_WRITING = 8192
"""Up to so many draws the model is as fast as writing it down first."""
_CLOSE = 1e-12
_HEAP = 2**25


def run_all(
    model: Model, how: Draws, results: Sequence[Floats], *, chunk: int, workers: int = 1, tape: bool = True
) -> None:
    """Fill each result with its value in every draw.

    With `tape` the model's arithmetic is written down once and done again for every chunk, where that can be
    done; without, the model itself runs on every chunk. The numbers are the same.
    """
    keep_heap()
    program = written(model, how) if tape and how.samplers and how.draws > WORTH_WRITING else None
    blocks = list(how.blocks(chunk))
    runs = [_Worker(model, how, program, results).run for _ in range(workers)]
    if workers == 1:
        for block in blocks:
            runs[0](block)
        return
    with ThreadPoolExecutor(workers) as pool:
        shared = [pool.submit(_in_turn, run, blocks[at::workers]) for at, run in enumerate(runs)]
        for task in shared:
            task.result()


def _in_turn(run: Callable[[slice], None], blocks: Sequence[slice]) -> None:
    for block in blocks:
        run(block)


def keep_heap() -> None:
    """Give back one large block, untouched: the C library then keeps smaller ones for the next chunk."""
    np.empty(_HEAP - 4096, dtype=np.uint8)


def written(model: Model, how: Draws) -> Program | None:
    """The model as a program, compared with the model on other draws; None where it cannot be written down."""
    size = TRIAL
    first = how.values(slice(0, size))
    try:
        tape, found = record(model, list(first))
    except NotTraceableError:
        return None
    program = Program(tape, found, _ranges(how))
    others = how.values(slice(how.draws - size, how.draws))
    again = [np.empty(size) for _ in found]
    if not program.bound(others, again)():
        return None
    results = model([_read_only(row) for row in others])
    same = all(
        np.allclose(one, other, rtol=_CLOSE, atol=0.0) for one, other in zip(again, results, strict=True)
    )
    return program if same else None


def _ranges(how: Draws) -> list[Interval]:
    """The least and the greatest value that each input can take."""
    ends = np.array([2.0**-33, 1.0 - 2.0**-33])
    ranges: list[Interval] = []
    for sample in how.samplers:
        values = ends.copy()
        sample(values)
        ranges.append(Interval(float(values[0]), float(values[1])))
    return ranges


def _read_only(row: Floats) -> Floats:
    view = row.view()
    view.setflags(write=False)
    return view


class _Worker:
    """Memory for the chunks of one worker, used again for every chunk."""

    def __init__(self, model: Model, how: Draws, program: Program | None, results: Sequence[Floats]) -> None:
        self._model, self._how, self._program, self._results = model, how, program, results
        self._ready: dict[int, tuple[Floats, Callable[[], bool], list[Floats]]] = {}

    def run(self, block: slice) -> None:
        size = block.stop - block.start
        places = [row[block] for row in self._results]
        rows, program, found = self._memory(size)
        inputs = self._how.values(block, rows)
        if self._program is not None and program():
            for place, row in zip(places, found, strict=True):
                place[:] = row
            return
        for place, value in zip(places, self._model([_read_only(row) for row in inputs]), strict=True):
            place[:] = value

    def _memory(self, size: int) -> tuple[Floats, Callable[[], bool], list[Floats]]:
        if size not in self._ready:
            rows = np.empty((len(self._how.keys), size))
            found = [np.empty(size) for _ in self._results]
            program = self._program.bound(rows, found) if self._program is not None else bool
            self._ready[size] = (rows, program, found)
        return self._ready[size]
