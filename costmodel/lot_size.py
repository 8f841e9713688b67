"""How many parts to make at once: set-up, holding and lot minimums together, by the model itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from costmodel.errors import InputError, Problem
from costmodel.make_or_buy import alternative_cost
from costmodel.order_size import MOST_YEARS, yearly_costs
from costmodel.records.address import child
from costmodel.records.study import RateBasis, Study
from costmodel.supply import STOCK


class LotChoice(NamedTuple):
    """The cheapest lot of an alternative among those tried, and what changes with the lot."""

    lots: tuple[float, ...]
    """[part]"""
    per_year: tuple[float, ...]
    """Running cost with stock [money/yr]."""
    cheapest: float
    """[part]"""
    cost: float
    """[money/yr]"""
    now: float
    """[part]"""
    cost_now: float
    """[money/yr]"""
    by_lot: float
    """What is paid each lot at the cheapest, set-up, transport, minimums [money/yr]."""
    stock: float
    """Holding and shortage at the cheapest [money/yr]."""


def cheapest_lot(
    study: Study, name: str, lots: Iterable[float] = (), basis: RateBasis | None = None
) -> LotChoice:
    """Try every whole lot up to two years' demand, or the lots named, each through the whole model.

    A lot is chosen on the base values. Raises InputError for an alternative that states no lot.
    """
    alternative = child(study.alternatives, name, f"alternatives.{name}")
    if alternative.lot is None:
        expected, remedy = "an alternative with a lot", 'Write lot = "200 part", say.'
        raise InputError([Problem("study", f"alternatives.{name}.lot", "", expected, remedy)])
    address = f"alternatives.{name}.lot"
    largest = int(np.ceil(MOST_YEARS * float(study.demand.per_year)))
    tried = np.asarray(list(lots) or range(1, largest + 1), dtype=np.float64)
    costs = yearly_costs(study, name, tried, basis)
    best = int(np.argmin(costs))
    chosen = alternative_cost(study.with_inputs({address: float(tried[best])}), name, basis)
    return LotChoice(
        lots=tuple(float(lot) for lot in tried),
        per_year=tuple(float(cost) for cost in costs),
        cheapest=float(tried[best]),
        cost=float(costs[best]),
        now=float(alternative.lot),
        cost_now=float(alternative_cost(study, name, basis).per_year()),
        by_lot=float(chosen.per_year(lambda line: line.level in ("lot", "shipment"))),
        stock=float(chosen.per_year(lambda line: line.step == STOCK)),
    )
