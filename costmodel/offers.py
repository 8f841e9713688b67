"""Offers just received, put beside those of a study: each becomes a way to buy, ordered as the way of today is."""

from __future__ import annotations

from collections.abc import Mapping

from costmodel.records.faults import joined
from costmodel.records.fields import Named
from costmodel.records.quote import Quote
from costmodel.records.quote_faults import unlike_offer
from costmodel.records.study import Alternative, Study


def with_offers(study: Study, quotes: Mapping[str, Quote], override: str = "") -> Study:
    """A study with offers in it, each a way to buy; one whose name the study knows takes the place of that offer.

    Soft factors are left out, since nobody has marked the new ways. `override` is the reason for comparing offers that
    have expired or are for another drawing; the others bear none. Raises InputError for an offer that names what the
    rates do not have.
    """
    ways: dict[str, Alternative] = {}
    for name, quote in quotes.items():
        reason = override if any(unlike_offer("", quote, study.part, study.as_of)) else ""
        known = [way for way in study.alternatives.values() if way.buy == name]
        for way in known:
            ways[way.name] = Alternative.model_validate({**way.__dict__, "override": reason or way.override})
        if not known:
            new = name if name not in study.alternatives else f"offer-{name}"
            ways[new] = Alternative.model_validate(
                {
                    "name": new,
                    "title": f"Buy from {quote.title}",
                    "buy": name,
                    "override": reason,
                    **_ordered_as_today(study, quote),
                }
            )
    changes: dict[str, object] = {joined("quotes", name): quote for name, quote in quotes.items()}
    changes |= {joined("alternatives", name): way for name, way in ways.items()}
    return study.with_inputs(changes | ({"criteria": Named()} if study.criteria else {}))


def _ordered_as_today(study: Study, quote: Quote) -> dict[str, object]:
    """How much is ordered at once: as in the way of today, or else in any way to buy, or else the least."""
    bought = [way for way in study.alternatives.values() if way.buy]
    for way in sorted(bought, key=lambda way: not way.current):
        return {"lot": way.lot, "orders_per_year": way.orders_per_year}
    return {"lot": quote.minimum_order}
