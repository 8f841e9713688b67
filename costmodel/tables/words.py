"""Sentences of a decision: the answer, its condition, what an address means. Each figure in them is rounded here."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.curves import is_todays, recommended_change
from costmodel.decision import Decision
from costmodel.payback import Payback
from costmodel.records.address import tokens
from costmodel.records.study import Study
from costmodel.sensitivity import Swing
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import NEVER, amount, chance, money, months, plain, with_range
from costmodel.tables.table import single

_DEMAND = {
    "per_year": "demand",
    "growth": "growth of demand",
    "weekly_sd": "weekly spread of demand",
    "weeks": "weeks worked",
    "shortage_cost": "cost of a missing part",
}
_FIELDS = {
    "lead_time_sd": "spread of lead time",
    "rejected_at_receipt": "rejected at receipt",
    "rejected_at_assembly": "rejected at assembly",
    "rejected_in_field": "rejected in the field",
    "hands_on": "hands-on time",
    "step_yield": "yield",
    "process_yield": "yield",
    "parts_per_edge": "parts an edge",
    "edge_minutes": "minutes an edge",
    "practical_hours": "practical hours",
    "per_year": "a year",
}
_TABLES = {
    "currency": "exchange rate",
    "duties": "duty rate",
    "entry_fees": "fee rate",
    "indices": "change a year",
}


def described(study: Study, address: str) -> str:
    """An input's address in a reader's words: ``Regional C: price from 500 parts``."""
    path = tokens(address)
    head, field = path[0], path[-1]
    words = _FIELDS.get(field, field.replace("_", " "))
    if head == "demand":
        return _DEMAND.get(field, words)
    if head == "quotes" and path[1] in study.quotes:
        tier = f" from {path[3]} parts" if "tiers" in path else ""
        return f"{study.quotes[path[1]].title}: {words}{tier}"
    if head == "rates" and len(path) > 3:
        return f"{path[2]}: {_TABLES.get(path[1], words) if field in ('rate', 'yearly_change') else words}"
    if head == "part" and "routes" in path:
        named = [
            name for name in path[2:-1] if name not in ("routes", "steps", "cuts", "once", "yearly", "items")
        ]
        return (
            f"{named[-1]} ({', '.join(named[:-1])}): {words}" if len(named) > 1 else f"{named[-1]}: {words}"
        )
    return f"{' '.join(path[:-1])}: {words}".lstrip(": ")


def holds(study: Study, swing: Swing) -> str:
    """The condition that one switching value puts on the answer: ``demand stays above 590 part/yr``."""
    assert swing.switching is not None
    side = "below" if swing.switching > swing.base else "above"
    return (
        f"{described(study, swing.address)} stays {side} {amount(swing.switching, swing.unit)} "
        f"(now {amount(swing.base, swing.unit)})"
    )


class Figure(NamedTuple):
    """One headline figure: what it is, the figure, and what it counts."""

    label: str
    value: str
    small: str


ANSWERS = {"make": "Make it", "buy": "Buy it", "too close to call": "Too close to call"}


def title_of(study: Study, name: str) -> str:
    """The title of an alternative."""
    return study.alternatives[name].title


def recommendation(decision: Decision) -> str:
    """What is recommended, in one sentence, or which way it leans."""
    verdict = decision.verdict
    title = title_of(decision.study, verdict.alternative)
    if verdict.answer == "too close to call":
        return f'Too close to call; it leans to "{title}".'
    return f'{ANSWERS[verdict.answer]}: "{title}".'


def condition(decision: Decision) -> str:
    """On what the answer hangs: the nearest switching values, the volume at which it turns, hours."""
    study = decision.study
    found = decision.conditions()
    if decision.verdict.answer == "too close to call":
        if not found:
            return "No input alone settles it within its stated range."
        nearest = "; ".join(holds(study, swing) for swing in found[:2])
        return f"The lean holds only while {nearest}. Measure these first."
    if found:
        return f"This holds while {'; and '.join(holds(study, swing) for swing in found[:2])}."
    if not study.uncertainty:
        return "No ranges are stated, so nothing says how sure this is."
    text = "No input alone changes the answer within its stated range"
    turn = turning_volume(decision)
    return f"{text}; {turn}." if turn else f"{text}, nor does any volume from {_searched(decision)} a year."


def _searched(decision: Decision) -> str:
    low, high = decision.crossing_range
    return f"{plain(low, 0)} to {plain(high, 0)} parts"


def turning_volume(decision: Decision) -> str:
    """The volume nearest to the demand at which the cheaper side changes; empty where there is none."""
    demand = single(decision.study.demand.per_year)
    if not decision.crossings:
        return ""
    nearest = min(decision.crossings, key=lambda crossing: abs(crossing.volume - demand))
    side = "below" if nearest.volume <= demand else "from"
    cheaper = nearest.lower_below if nearest.volume <= demand else nearest.lower_from_here
    kind = "making" if cheaper == decision.make.name else "buying"
    return f"{kind} is cheaper {side} {plain(nearest.volume, 0)} parts a year (now {plain(demand, 0)})"


def change_words(decision: Decision, change: Payback) -> str:
    """What the headline figures compare."""
    study = decision.study
    start, target = title_of(study, change.start), title_of(study, change.target)
    if is_todays(decision):
        return f'If it were made instead ("{target}"), against today ("{start}"):'
    return f'Against today ("{start}"):'


def headline(decision: Decision) -> tuple[Figure, ...]:
    """Money a year, money out, money back, and how sure: cash only, against today's way."""
    change = recommended_change(decision)
    currency = currency_of(decision.study)
    saving, once = single(change.cash_saving), single(change.once)
    word = "saved" if saving >= 0.0 else "more spent"
    back = months(single(change.cash_months))
    outcome = decision.outcome
    low, middle, high = outcome.advantage
    years = plain(decision.study.finance.horizon / 12, 1).removesuffix(".0")
    return (
        Figure(f"Cash {word} a year", f"{_rough(abs(saving))} {currency}", "today's volume and prices"),
        Figure("Cash out, once", f"{_rough(once)} {currency}", "stock money apart"),
        Figure(
            "Money back",
            back if back == NEVER else f"{back} months",
            "on cash, the headline" if back != NEVER else "on cash: it saves nothing",
        ),
        Figure(
            f"Making saves over buying in {years} years",
            f"{with_range(middle, low, high)} {currency}",
            f"worth today, 10 to 90 % of draws; ahead in {chance(outcome.chance)}",
        ),
    )


def _rough(value: float) -> str:
    """Money to three digits: no more is known of it."""
    if abs(value) < 1000.0:
        return money(value)
    digits = len(str(int(abs(value)))) - 3
    return plain(value, -digits)


def known_words(decision: Decision) -> str:
    """How many of the figures are guesses."""
    counts = decision.status_counts()
    rows = len(decision.register)
    return (
        f"{counts['guess']} of {rows} are guesses, {counts['quoted']} quoted, {counts['measured']} measured"
    )


def guessed_and_wide(decision: Decision, most: int = 3) -> tuple[str, ...]:
    """The guesses that move the advantage most: what to go and measure first."""
    study = decision.study
    guesses = [swing for swing in decision.swings if study.uncertainty[swing.address].status == "guess"]
    moving = [swing for swing in guesses if swing.width > 0.0]
    return tuple(
        f"{described(study, swing.address)} ({study.uncertainty[swing.address].owner or 'no owner'})"
        for swing in moving[:most]
    )
