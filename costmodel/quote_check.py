"""Is a price reasonable? The same cost model on assumed data of the supplier: a range beside the price, no point."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from costmodel.draws import sobol
from costmodel.draws.spreads import quantile
from costmodel.errors import InputError, Problem
from costmodel.formulas import incoterms
from costmodel.landed_cost import exchange_rate, landed_cost
from costmodel.part_cost import part_cost
from costmodel.records.address import unit_at
from costmodel.records.quote import Quote
from costmodel.records.should_cost import ShouldCost
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain

DRAWS = 4096
POINTS = (0.1, 0.9)
OWN = "everything else: as our own rates and times stand in the study"


class Assumed(NamedTuple):
    """One assumption: where, how far, and on what it rests."""

    address: str
    unit: str
    low: float
    high: float
    source: str
    status: str


class PriceCheck(NamedTuple):
    """A price beside the range in which the model puts it."""

    quote: str
    title: str
    quantity: float
    """Parts made at once [part]."""
    price: float
    """Price of the offer for that order in home money, less the carriage that it is said to hold [money/part]."""
    held: str
    """What the price still holds beside the maker's own cost and margin, by its delivery term, in words."""
    low: float
    """One tenth of the draws lie below [money/part]."""
    high: float
    """One tenth lie above [money/part]."""
    margin: tuple[float, float]
    """Share of the price assumed as margin, low and high [fraction]."""
    assumed: tuple[Assumed, ...]
    source: str
    """Where the margin and the route of the maker come from."""
    status: str
    draws: int

    @property
    def position(self) -> Literal["below the range", "within the range", "above the range"]:
        """Where the price lies; outside the range it is worth a question, no more."""
        if self.price < self.low:
            return "below the range"
        return "above the range" if self.price > self.high else "within the range"

    @property
    def words(self) -> tuple[str, ...]:
        """What the range rests on, one line an assumption."""
        rows = [
            f"{row.address}: {row.low:.6g} to {row.high:.6g} {row.unit} ({row.status}; {row.source or 'no source'})"
            for row in self.assumed
        ]
        margin = f"margin: {self.margin[0]:.0%} to {self.margin[1]:.0%} of the price"
        return (*rows, margin, OWN)


def price_check(study: Study, guess: ShouldCost, *, draws: int = DRAWS, seed: int = 1) -> PriceCheck:
    """Run the model on a supplier's assumed inputs and put the range of the price beside the offer.

    The full running cost of the route, at practical capacity, is divided by what the margin leaves of the price.
    Raises InputError for a route, an offer or an address that does not exist.
    """
    _exists(guess.quote, study.quotes, guess, "quote")
    _exists(guess.route, study.part.routes, guess, "route")
    quote = study.quotes[guess.quote]
    offered = landed_cost(
        quote,
        study.rates,
        lot=guess.quantity,
        per_year=study.demand.per_year,
        as_of=study.as_of,
        interest=study.finance.discount_rate,
    )
    inputs = tuple(guess.assumed.values())
    plan = study.plan(spread.name for spread in inputs)
    keys = [f"{seed}/{key}" for key in (*(spread.name for spread in inputs), "margin")]
    points = np.empty((len(keys), draws))
    sobol.fill(sobol.scrambled(range(len(keys)), keys), 0, points)
    his: Study = plan.apply(
        [quantile(study, spread, row) for spread, row in zip(inputs, points, strict=False)]
    )
    margin = guess.margin_low + (guess.margin_high - guess.margin_low) * points[-1]
    route = his.part.routes[guess.route]
    cost = part_cost(
        his.part, route, his.rates, lot=guess.quantity, per_year=study.demand.per_year, basis="practical"
    )
    low, high = np.quantile(cost.per_part() / (1.0 - margin), POINTS)
    return PriceCheck(
        quote=guess.quote,
        title=quote.title,
        quantity=float(offered.ordered),
        price=float(offered.unit_price - quote.carriage_in_price * exchange_rate(quote, study.rates)),
        held=_held(quote),
        low=float(low),
        high=float(high),
        margin=(float(guess.margin_low), float(guess.margin_high)),
        assumed=tuple(_assumed(study, spread) for spread in inputs),
        source=guess.source,
        status=guess.status,
        draws=draws,
    )


def _held(quote: Quote) -> str:
    """The range ends at the maker's gate; a delivered price whose carriage is not stated goes on to ours."""
    carriage = not incoterms.buyer_pays(quote.delivery_term, "main_carriage")
    duty = not incoterms.buyer_pays(quote.delivery_term, "import_clearance_and_duty")
    unstated = carriage and not np.any(quote.carriage_in_price > 0.0)
    return ", ".join(word for word, holds in (("carriage", unstated), ("duty", duty)) if holds)


def _exists(name: str, table: object, guess: ShouldCost, field: str) -> None:
    assert isinstance(table, dict)
    if name not in table:
        known = ", ".join(table)
        problem = Problem(guess.name, field, name, f"one of {known}", "Correct the name.")
        raise InputError([problem])


def _assumed(study: Study, spread: Uncertain) -> Assumed:
    low, high = (float(np.asarray(quantile(study, spread, share))) for share in POINTS)
    unit = unit_at(study, spread.name, study.rates.year.home_currency)
    return Assumed(spread.name, unit, low, high, spread.source, spread.status)
