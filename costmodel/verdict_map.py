"""Which alternative is cheapest over the volume and any other input: a map of regions, and where they meet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.crossings import VOLUME
from costmodel.evaluation import evaluate
from costmodel.records.address import unit_at
from costmodel.records.study import Study

Floats = npt.NDArray[np.float64]
BLOCK = 8192


class VerdictMap(NamedTuple):
    """The cheapest alternative, by cash over the horizon, at every volume and every value of one input."""

    address: str
    unit: str
    names: tuple[str, ...]
    volumes: Floats
    """[part/yr]"""
    values: Floats
    """[unit]"""
    cheapest: npt.NDArray[np.intp]
    """Place of the cheapest among `names`, volumes down and values across."""
    lead: Floats
    """What the next best costs more [money], volumes down and values across."""

    def at(self, volume: int, value: int) -> str:
        """The name of the cheapest alternative at a place of the map."""
        return self.names[int(self.cheapest[volume, value])]


def verdict_map(
    study: Study,
    address: str,
    values: Sequence[float],
    volumes: Sequence[float],
    names: Iterable[str] = (),
) -> VerdictMap:
    """Cost all alternatives, or those named, at every volume with every value of an input, as one block."""
    chosen = tuple(names) or tuple(study.alternatives)
    across, down = np.asarray(values, dtype=np.float64), np.asarray(volumes, dtype=np.float64)
    grid = np.stack([each.ravel() for each in np.meshgrid(down, across, indexing="ij")])
    plan = study.plan([VOLUME, address])
    worth = np.empty((len(chosen), grid.shape[1]))
    for start in range(0, grid.shape[1], BLOCK):
        some = slice(start, start + BLOCK)
        for row, cost in zip(
            worth, evaluate(plan.apply([each.copy() for each in grid[:, some]]), chosen), strict=True
        ):
            row[some] = cost.worth
    shape = down.size, across.size
    ordered = np.sort(worth, axis=0)
    lead = ordered[1] - ordered[0] if len(chosen) > 1 else np.zeros(grid.shape[1])
    return VerdictMap(
        address=address,
        unit=unit_at(study, address, study.rates.year.home_currency),
        names=chosen,
        volumes=down,
        values=across,
        cheapest=worth.argmin(axis=0).reshape(shape),
        lead=lead.reshape(shape),
    )
