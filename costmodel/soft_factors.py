"""Soft factors: gates first, then weights, and the weight of each factor at which the order flips."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.formulas import scoring
from costmodel.records.criterion import Criterion
from costmodel.records.study import Study


class Marked(NamedTuple):
    """One alternative: its weighted mark, and the gates that it fails."""

    name: str
    score: float
    """Weighted mean of its marks [-]."""
    failed: tuple[str, ...]
    """Titles of the factors whose gate it does not pass."""


class Flip(NamedTuple):
    """The weight of one factor at which the first two change places, the others kept in proportion."""

    criterion: str
    weight: float
    """Its weight today, as a share of all [fraction]."""
    flips_at: float | None
    """[fraction]; None where no weight changes the order."""


class SoftFactors(NamedTuple):
    """The alternatives by their marks."""

    marked: tuple[Marked, ...]
    """In the order of the study."""
    order: tuple[str, ...]
    """Those that pass every gate, best first."""
    flips: tuple[Flip, ...]
    """Between the first two of `order`; empty where fewer than two pass."""


def soft_factors(study: Study) -> SoftFactors | None:
    """Gates, then weighted marks, then the weights that flip the order; None where nothing is judged."""
    criteria = tuple(study.criteria.values())
    if not criteria:
        return None
    weights = [float(np.asarray(criterion.weight)) for criterion in criteria]
    marked = tuple(_marked(name, criteria, weights) for name in study.alternatives)
    places = scoring.ranking([row.score for row in marked], [not row.failed for row in marked])
    order = tuple(marked[place].name for place in places)
    return SoftFactors(marked, order, _flips(order, criteria, weights))


def _marked(name: str, criteria: tuple[Criterion, ...], weights: list[float]) -> Marked:
    failed = tuple(
        criterion.title
        for criterion in criteria
        if criterion.at_least is not None
        and not np.all(scoring.passes_gate(criterion.marks[name], at_least=criterion.at_least))
    )
    score = scoring.weighted_score([criterion.marks[name] for criterion in criteria], weights)
    return Marked(name, float(np.asarray(score)), failed)


def _flips(order: tuple[str, ...], criteria: tuple[Criterion, ...], weights: list[float]) -> tuple[Flip, ...]:
    if len(order) < 2 or len(criteria) < 2:
        return ()
    first, second = ([criterion.marks[name] for criterion in criteria] for name in order[:2])
    flips = []
    for place, criterion in enumerate(criteria):
        if sum(weights) > weights[place]:
            at = float(np.asarray(scoring.flip_weight(first, second, weights, place)))
            share = weights[place] / sum(weights)
            flips.append(Flip(criterion.title, share, None if np.isnan(at) else at))
    return tuple(flips)
