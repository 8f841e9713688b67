"""How much to order or make at once: every quantity tried in the model itself, so that tiers, minimums, steps count."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.cost_lines import CostSheet, in_force
from costmodel.errors import InputError, Problem
from costmodel.formulas import economic_order
from costmodel.landed_cost import least_order
from costmodel.make_or_buy import alternative_cost, lot_of
from costmodel.records.address import sweep
from costmodel.records.study import RateBasis, Study
from costmodel.supply import on_the_shelf

Floats = npt.NDArray[np.float64]
BLOCK = 2048
SMALL = 1e-9
"""Share of a part's value below which the cost of an order is a rest of rounding."""
MOST_YEARS = 2.0
"""Longest time for which one order covers the demand; beyond it a part is likelier to change than to be used [yr]."""


class OrderSize(NamedTuple):
    """The cheapest quantity of an alternative and everything it was compared with."""

    name: str
    lot: float
    """Cheapest quantity [part]; the smallest of equals."""
    per_year: float
    """Running cost at it, stock included [money/yr]."""
    today: float
    """The quantity that the study states [part]."""
    today_per_year: float
    """[money/yr]"""
    plain: float
    """Economic order quantity without tiers, minimums and steps: set-up or order cost against holding [part]."""
    tried: Floats
    """Every quantity tried [part]."""
    costs: Floats
    """Running cost of each [money/yr]."""

    @property
    def saving(self) -> float:
        """What the cheapest quantity saves over today's [money/yr]."""
        return self.today_per_year - self.per_year


def order_size(study: Study, name: str, most: float | None = None) -> OrderSize:
    """Search every quantity from the least to `most` [part] for the lowest yearly running cost, exactly.

    The least is what the offer allows; whole packages only where it states a pack. Nothing is approximated: each
    quantity is costed by the same model. Chosen on base values, so the study holds no arrays. Raises InputError
    for a split.
    """
    alternative = study.alternatives[name]
    if alternative.shares:
        remedy = "Search each of its sources by its own name."
        raise InputError([Problem("study", f"alternatives.{name}", "a split", "one source", remedy)])
    least, pack = _least_and_pack(study, name)
    limit = float(study.demand.per_year) * MOST_YEARS if most is None else most
    tried = np.arange(least, max(limit, least) + pack, pack)
    tried = tried[tried <= max(limit, least)]
    costs = yearly_costs(study, name, tried)
    best = int(np.argmin(costs))
    today = _today(study, name)
    return OrderSize(
        name=name,
        lot=float(tried[best]),
        per_year=float(costs[best]),
        today=today,
        today_per_year=float(yearly_costs(study, name, np.array([today]))[0]),
        plain=_plain(study, name),
        tried=tried,
        costs=costs,
    )


def _least_and_pack(study: Study, name: str) -> tuple[float, float]:
    alternative = study.alternatives[name]
    if alternative.make:
        return 1.0, 1.0
    quote = study.quotes[alternative.buy]
    pack = 1.0 if quote.pack is None else float(quote.pack)
    return float(np.ceil(float(least_order(quote)) / pack) * pack), pack


def _today(study: Study, name: str) -> float:
    return float(lot_of(study, study.alternatives[name], study.demand.per_year))


def yearly_costs(study: Study, name: str, quantities: Floats, basis: RateBasis | None = None) -> Floats:
    """Running cost a year with stock [money/yr] at each quantity made or ordered at once, through the model."""
    blocks = (quantities[at : at + BLOCK] for at in range(0, quantities.size, BLOCK))
    return np.concatenate([_column(study, name, block, basis) for block in blocks])


def _column(study: Study, name: str, quantities: Floats, basis: RateBasis | None) -> Floats:
    cost = alternative_cost(study.with_lot(name, sweep(quantities)), name, basis).per_year()
    return np.broadcast_to(cost, (quantities.size, 1)).ravel()


def _plain(study: Study, name: str) -> float:
    """What one order costs whatever its size, against holding at today's value of a part.

    Of each charge for an order only what does not grow with its size is taken, as it stands from the order of today
    to the next larger one; what grows, such as insurance or a fee in per cent, is a cost of the part.
    """
    lot, pack = max(_today(study, name), _least_and_pack(study, name)[0]), _least_and_pack(study, name)[1]
    lot = float(np.ceil(lot / pack) * pack)
    sheet, larger = (
        alternative_cost(study.with_lot(name, size), name).portions[0].sheet for size in (lot, lot + pack)
    )
    now, then = _charges(sheet), _charges(larger)
    grows = {charge: lot / pack * (then.get(charge, 0.0) - amount) for charge, amount in now.items()}
    once_an_order = sum(max(amount - grows[charge], 0.0) for charge, amount in now.items())
    value = float(sheet.per_part(lambda line: on_the_shelf(line) and line.level == "part"))
    holding = value * float(study.finance.holding)
    if once_an_order <= SMALL * value or holding <= 0.0:
        return 0.0
    return float(economic_order.economic_order_quantity(float(study.demand.per_year), once_an_order, holding))


def _charges(sheet: CostSheet) -> dict[tuple[str, str], float]:
    """Each charge for one lot or order [money]."""
    found: dict[tuple[str, str], float] = {}
    for line in sheet.lines:
        if line.level in ("lot", "shipment") and in_force(line):
            charge = (line.step, line.element)
            found[charge] = found.get(charge, 0.0) + float(np.asarray(line.amount))
    return found
