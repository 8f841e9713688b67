"""Inputs that move together: normal scores mixed by a shared driver or by a matrix of rank correlations.

Each input keeps its own distribution. Only the chances at which it is read are tied to those of the others (a
Gaussian copula).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.errors import InputError, Problem
from costmodel.formulas import risk
from costmodel.records.study import Study

Floats = npt.NDArray[np.float64]
LEAST_SHARE = 2.0**-33


class Mix(NamedTuple):
    """Which rows of draws are tied together, and by how much each score counts in each."""

    rows: tuple[int, ...]
    """Places of the tied inputs among the rows of draws."""
    sources: tuple[int, ...]
    """Places of the rows from which they are mixed: their own, and that of a driver."""
    weights: Floats
    """A row for each tied input, a column for each source; squares of a row sum to one."""


def driver_key(name: str) -> str:
    """The name of a driver's own row among the rows of draws."""
    return f"drivers.{name}"


def mixes(study: Study, rows: Sequence[str]) -> tuple[Mix, ...]:
    """Everything that ties rows of draws together; raises InputError for a matrix that cannot hold."""
    place = {name: at for at, name in enumerate(rows)}
    found = [_driven(driver.inputs, place, driver_key(name)) for name, driver in study.drivers.items()]
    for name, group in study.correlations.items():
        matrix = np.asarray(risk.pearson_from_rank(np.array(group.ranks)), dtype=np.float64)
        np.fill_diagonal(matrix, 1.0)
        tied = tuple(place[address] for address in group.inputs)
        try:
            found.append(Mix(tied, tied, np.asarray(np.linalg.cholesky(matrix), dtype=np.float64)))
        except np.linalg.LinAlgError as error:
            remedy = "Bring the largest ones nearer to 0, or name a driver instead."
            place_of = f"correlations.{name}.ranks"
            raise InputError(
                [Problem("study", place_of, "", "correlations that can hold together", remedy)]
            ) from error
    return tuple(found)


def _driven(inputs: Mapping[str, float], place: Mapping[str, int], key: str) -> Mix:
    tied = tuple(place[address] for address in inputs)
    shares = np.array(list(inputs.values()))
    weights = np.column_stack([shares, np.diag(np.sqrt(1.0 - shares * shares))])
    return Mix(tied, (place[key], *tied), weights)


def tie(shares: Floats, found: Sequence[Mix]) -> None:
    """Mix the rows of a block of chances in place; a row that is in no mix stays as it is."""
    if not found:
        return
    from scipy.special import ndtr, ndtri

    for mix in found:
        scores = ndtri(shares[list(mix.sources)])
        for row, weights in zip(mix.rows, mix.weights, strict=True):
            # One product after the other: a matrix product would round by the length of the block.
            mixed = np.zeros(scores.shape[1])
            for weight, score in zip(weights, scores, strict=True):
                if weight != 0.0:
                    mixed += weight * score
            shares[row] = np.clip(ndtr(mixed), LEAST_SHARE, 1.0 - LEAST_SHARE)
