"""A plain offer and a plain study for the tests of buying: nothing is charged but what a test states."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

from costmodel.landed_cost import LandedCost, landed_cost
from costmodel.reading import read_study
from costmodel.records.quote import Quote
from costmodel.records.rates import Rates
from costmodel.records.study import Study

SMALL = Path(__file__).parent / "small" / "study.toml"
DAY = datetime.date(2026, 6, 15)


def study() -> Study:
    return read_study(SMALL)


def offer(**changes: Any) -> Quote:
    """An offer delivered to our dock at 20.00, without faults, charges or a wait, but for the changes."""
    plain: dict[str, Any] = {
        "name": "plain",
        "title": "Plain",
        "part": "bracket",
        "revision": "A",
        "currency": "USD",
        "delivery_term": "DAP",
        "place": "our dock",
        "valid_from": datetime.date(2026, 1, 1),
        "valid_to": datetime.date(2026, 12, 31),
        "tiers": {"1": {"quantity": 1.0, "price": 20.0, "currency": "USD"}},
        "minimum_order": 1.0,
        "packed_mass": 0.2,
        "packed_volume": 2.0e5,
        "lead_time": 0.0,
        "lead_time_sd": 0.0,
        "rejected_at_receipt": 0.0,
        "rejected_at_assembly": 0.0,
        "rejected_in_field": 0.0,
        "source": "invented",
        "status": "guess",
    }
    return Quote.model_validate({**plain, **changes})


def tiers(currency: str = "USD", **prices: float) -> dict[str, dict[str, Any]]:
    """Price tiers from keywords such as from_500=14.80."""
    return {
        name.removeprefix("from_"): {
            "quantity": float(name.removeprefix("from_")),
            "price": price,
            "currency": currency,
        }
        for name, price in prices.items()
    }


def rates(**changes: object) -> Rates:
    """The small rates with changes at addresses written with two underscores for a dot."""
    return (
        study()
        .with_inputs({f"rates.{key.replace('__', '.')}": value for key, value in changes.items()})
        .rates
    )


def landed(quote: Quote, given: Rates | None = None, **changes: Any) -> LandedCost:
    """The landed cost of an offer in orders of 200, 4,000 a year, at 10 % interest."""
    settings: dict[str, Any] = {"lot": 200.0, "per_year": 4000.0, "as_of": DAY, "interest": 0.10}
    return landed_cost(quote, given or rates(), **{**settings, **changes})


def amount(sheet: LandedCost, element: str) -> float:
    """Cost of a good part by element [money/part]."""
    return float(sheet.per_part(lambda line: line.element == element))


def with_offers(*quotes: Quote, base: Study | None = None, lot: float = 200.0, shares: Any = None) -> Study:
    """A study whose alternatives buy from these offers, the first as today, and a split where shares are given."""
    given = base or study()
    ways: list[dict[str, Any]] = [
        {"name": quote.name, "title": quote.title, "buy": quote.name, "lot": lot, "current": number == 0}
        for number, quote in enumerate(quotes)
    ]
    if shares:
        portions = [{"name": name, "share": share} for name, share in shares.items()]
        ways.append({"name": "split", "title": "Split", "shares": portions})
    raw = {**given.__dict__, "quotes": list(quotes), "alternatives": ways, "uncertainty": {}, "scenarios": {}}
    return Study.model_validate(raw)


__all__ = ["DAY", "amount", "landed", "offer", "rates", "study", "tiers", "with_offers"]
