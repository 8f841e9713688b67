"""How much of the spread of the answer is due to each input: first-order and total shares of its variance.

Three runs are compared: on draws A, on independent draws B, and on A with one input taken from B. For inputs
that move together the share is that of what an input does by itself, beside the driver or the inputs before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.draws import REPLICATES, Drawing, Method, drawing
from costmodel.draws.spreads import Sampler
from costmodel.formulas.sensitivity_indices import first_order_index, standard_error, total_index
from costmodel.records.study import Study
from costmodel.sensitivity import advantage
from costmodel.tape.chunks import run_all
from costmodel.uncertainty import CHUNK, Estimate

Floats = npt.NDArray[np.float64]

AT_ONCE = 16
"""Inputs whose runs are in memory together."""


class Share(NamedTuple):
    """The part of one input in the variance of the advantage [fraction]."""

    address: str
    first_order: Estimate
    """What it explains by itself."""
    total: Estimate
    """What would be left of the variance if all other inputs were known."""


class Exchanged(NamedTuple):
    """Draws A, then B, then A once for each row with that row from B: some of these runs as one long run of draws."""

    first: Drawing
    second: Drawing
    runs: range
    """Which of them: A is number 0, B number 1, and A with row k from B number k + 2."""

    @property
    def draws(self) -> int:
        """Draws of all runs together."""
        return self.first.draws * len(self.runs)

    @property
    def keys(self) -> Sequence[str]:
        """One for each row of draws."""
        return self.first.keys

    @property
    def samplers(self) -> Sequence[Sampler]:
        """What turns chances into an input, one for each."""
        return self.first.samplers

    def blocks(self, size: int) -> Iterator[slice]:
        """All draws in runs of at most a size."""
        for start in range(0, self.draws, size):
            yield slice(start, min(start + size, self.draws))

    def values(self, block: slice, rows: Floats | None = None) -> Floats:
        """The inputs in a run of draws, as in `Drawing.values`."""
        size, every = self.first.draws, slice(None)
        if rows is None:
            rows = np.empty((len(self.first.keys), block.stop - block.start))
        for at in range(block.start // size, (block.stop - 1) // size + 1):
            start, stop = max(block.start, at * size), min(block.stop, (at + 1) * size)
            place = rows[:, start - block.start : stop - block.start]
            own, run = slice(start - at * size, stop - at * size), self.runs[at]
            (self.second if run == 1 else self.first).fill(own, every, place)
            if run >= 2:
                one = slice(run - 2, run - 1)
                self.second.fill(own, one, place[one])
        return self.first.turned(rows)


def variance_shares(
    study: Study, first: str, second: str, *, draws: int = 2048, seed: int = 1, method: Method = "sobol"
) -> tuple[Share, ...]:
    """Shares of every uncertain input in the variance of the advantage, the greatest total first.

    The model runs on `draws` times the number of inputs and two, a few of these runs in memory at a time.
    Raises LimitError where nothing varies.
    """
    one = drawing(study, draws, seed, method)
    two = drawing(study, draws, seed, method, second=True)
    plan = study.plan(one.addresses)

    def results(runs: range) -> Floats:
        """The advantage in some of the runs, set by set."""
        how = Exchanged(one, two, runs)
        found = np.empty(how.draws)
        run_all(lambda rows: [advantage(plan.apply(rows), first, second)], how, [found], chunk=CHUNK)
        return found.reshape(len(runs), REPLICATES, -1)

    base, other = results(range(2))
    shares = []
    for start in range(0, len(one.addresses), AT_ONCE):
        addresses = one.addresses[start : start + AT_ONCE]
        mixed = results(range(2 + start, 2 + start + len(addresses)))
        shares += [_share(name, base, other, run) for name, run in zip(addresses, mixed, strict=True)]
    return tuple(sorted(shares, key=lambda share: -share.total.value))


def _share(address: str, base: Floats, other: Floats, mixed: Floats) -> Share:
    sets = (base, other, mixed)
    whole = (base.ravel(), other.ravel(), mixed.ravel())
    return Share(
        address,
        Estimate(float(first_order_index(*whole)), float(standard_error(first_order_index(*sets)))),
        Estimate(float(total_index(*whole)), float(standard_error(total_index(*sets)))),
    )
