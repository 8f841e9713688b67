"""Sentences of a decision: the answer, its condition, what an address means. Each figure in them is rounded here."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.curves import Cheapest, cash_over_months, is_todays, recommended_change
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


class Figure(NamedTuple):
    """One headline figure: what it is, the figure, and what it counts."""

    label: str
    value: str
    small: str


ANSWERS = {"make": "Make it", "buy": "Buy it", "too close to call": "Too close to call"}


def short_name(name: str) -> str:
    """An alternative's name in its file, as a head of a column, where its title would take many lines."""
    return name.replace("-", " ").replace("_", " ")


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


def condition(decision: Decision, cheapest: tuple[Cheapest, ...]) -> str:
    """On what the answer hangs: the nearest switching values, and the volumes at which it is the cheapest."""
    study = decision.study
    found = decision.conditions()[:2]
    if not study.uncertainty:
        return f"No ranges are stated, so nothing says how sure this is. {volume_words(decision, cheapest)}"
    if decision.verdict.answer == "too close to call":
        if not found:
            return "No input alone settles it within its stated range."
        turns = " or ".join(_turns(study, swing) for swing in found)
        return f"On base values {base_side(decision)} costs less; that turns where {turns}: make sure of these first."
    if found:
        return f"This holds while {' and '.join(_holds(study, swing) for swing in found)}."
    return f"No input alone changes the answer within its stated range. {volume_words(decision, cheapest)}"


def base_side(decision: Decision) -> str:
    """Which side costs less cash on the base values."""
    worth = decision.comparison.worth
    return "making" if worth[decision.make.name] < worth[decision.buy.name] else "buying"


def _holds(study: Study, swing: Swing) -> str:
    """A condition: ``demand stays above 590 part/yr (now 4 000)``."""
    assert swing.switching is not None
    side = "below" if swing.switching > swing.base else "above"
    return f"{described(study, swing.address)} stays {side} {_value_and_base(swing)}"


def _turns(study: Study, swing: Swing) -> str:
    """A turning point: ``demand falls to 590 part/yr (now 4 000)``."""
    assert swing.switching is not None
    move = "rises" if swing.switching > swing.base else "falls"
    return f"{described(study, swing.address)} {move} to {_value_and_base(swing)}"


def _value_and_base(swing: Swing) -> str:
    assert swing.switching is not None
    return f"{amount(swing.switching, swing.unit)} (now {amount(swing.base, swing.unit)})"


def volume_words(decision: Decision, cheapest: tuple[Cheapest, ...]) -> str:
    """Between which volumes the recommended alternative is the cheapest of all, and where making meets buying."""
    study, name = decision.study, decision.verdict.alternative
    demand = single(study.demand.per_year)
    low, high = decision.crossing_range
    ends = [*(found.volume for found in cheapest[1:]), high + 1]
    at = next((n for n, end in enumerate(ends) if demand < end), len(ends) - 1)
    if cheapest[at].name != name:
        other = title_of(study, cheapest[at].name)
        return f'At {plain(demand, 0)} parts a year "{other}" costs least cash, on base values.'
    begin, end = cheapest[at].volume, ends[at] - 1
    if (begin, end) == (low, high):
        where = f"at every volume from {plain(low, 0)} to {plain(high, 0)} parts a year"
    elif end == high:
        where = f"from {plain(begin, 0)} parts a year"
    elif begin == low:
        where = f"up to {plain(end, 0)} parts a year"
    else:
        where = f"from {plain(begin, 0)} to {plain(end, 0)} parts a year"
    return f"It is the cheapest of all {where}; demand is {plain(demand, 0)}."


def reasons(decision: Decision) -> str:
    """Why, in half a sentence: how often it is the cheaper in the draws, and what the verdict adds."""
    making = decision.outcome.advantage[1] > 0.0
    side, share = ("making", decision.outcome.chance) if making else ("buying", 1.0 - decision.outcome.chance)
    drawn = f"{side} costs less cash over the horizon in {chance(share)} of draws"
    return "; ".join((drawn, *decision.verdict.reasons))


def change_words(decision: Decision, change: Payback) -> str:
    """What the headline figures compare."""
    study = decision.study
    start, target = title_of(study, change.start), title_of(study, change.target)
    if is_todays(decision):
        done = "made" if study.alternatives[change.target].make else "bought"
        return f'If it were {done} instead ("{target}"), against today ("{start}"):'
    if change.start != decision.buy.name:
        return f'Against today ("{start}"); the last figure against the best way to buy:'
    return f'Against today ("{start}"):'


def headline(decision: Decision) -> tuple[Figure, ...]:
    """Money a year, money out, money back, and how sure: cash only, against today's way."""
    change, study = recommended_change(decision), decision.study
    currency = currency_of(study)
    saving, once = single(change.cash_saving), single(change.once)
    back = months(single(change.cash_months))
    outcome = decision.outcome
    low, middle, high = outcome.advantage
    side, ahead = "Making saves over buying", outcome.chance
    if middle < 0.0:
        low, middle, high = -high, -middle, -low
        side, ahead = "Buying saves over making", 1.0 - outcome.chance
    years = plain(decision.study.finance.horizon / 12, 1).removesuffix(".0")
    return (
        Figure(
            "Cash saved a year" if saving >= 0.0 else "More cash spent a year",
            f"{_rough(abs(saving))} {currency}",
            "today's volume and prices",
        ),
        Figure("Cash out, once", f"{_rough(once)} {currency}", "stock money apart"),
        Figure(
            "Money back",
            back if back == NEVER else f"{back} months",
            _as_prices_move(decision, change) if back != NEVER else "on cash: it saves nothing",
        ),
        Figure(
            f"{side} in {years} years",
            f"{with_range(middle, low, high)} {currency}",
            f'"{title_of(study, decision.make.name)}" against "{title_of(study, decision.buy.name)}", worth today, '
            f"10 to 90 % of draws; ahead in {chance(ahead)}",
        ),
    )


def _as_prices_move(decision: Decision, change: Payback) -> str:
    """When the money is back once volume and prices move as stated: the months above take today's."""
    month = cash_over_months(decision.study, change).back_month
    moving = f"not in {decision.study.finance.horizon} months" if month is None else f"month {month}"
    return f"on cash, as of today; as prices and volume move, {moving}"


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
    guesses = [swing for swing in decision.swings if swing.status == "guess"]
    moving = [swing for swing in guesses if swing.width > 0.0]
    return tuple(
        f"{described(study, swing.address)} ({swing.owner or 'no owner'})" for swing in moving[:most]
    )
