"""What a recommendation leaves open, in words: ways it is not told apart from, and hours that are not there."""

from __future__ import annotations

from costmodel.decision import Decision
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import money, plain, with_range
from costmodel.tables.words import title_of

MOST_RIVALS = 2


def reserves(decision: Decision) -> tuple[str, ...]:
    """The sentences that a manager must read beside the recommendation; none where nothing is left open."""
    hours = () if decision.verdict.answer == "buy" else _hours(decision)
    return (*_rivals(decision), *hours)


def _rivals(decision: Decision) -> tuple[str, ...]:
    study, currency = decision.study, currency_of(decision.study)
    told = []
    for rival in decision.rivals[:MOST_RIVALS]:
        low, middle, high = rival.saved
        told.append(
            f'"{title_of(study, decision.verdict.alternative)}" or "{title_of(study, rival.name)}" is too close to '
            f"call: the first saves {with_range(middle, low, high)} {currency} over the second (worth today, 10 to "
            "90 % of draws)."
        )
    return tuple(told)


def _hours(decision: Decision) -> tuple[str, ...]:
    """The price of the hours that making lacks, and which ways need none of them."""
    study, currency = decision.study, currency_of(decision.study)
    told = []
    for hours in decision.capacity:
        if hours.short <= 0.0:
            continue
        steps = "; ".join(
            f'"{step.title}", {plain(step.hours, 0)} h/yr for {money(step.per_year)} {currency}/yr'
            + (f" and {money(step.once)} {currency} once" if step.once else "")
            for step in hours.steps
        )
        missing = f"no stated step brings {plain(hours.uncovered, 0)} h/yr of them" if hours.uncovered else ""
        how = "; ".join(
            words for words in (steps and f"the cheapest way to more is {steps}", missing) if words
        )
        told.append(
            f'For "{decision.make.title}" {hours.machine} is short of {plain(hours.short, 0)} h/yr from month '
            f"{hours.short_from} on; {how}."
        )
    if decision.steps_worth:
        low, middle, high = (point - decision.steps_worth for point in decision.outcome.advantage)
        told.append(
            f"These steps are in no figure here; with them making saves {with_range(middle, low, high)} {currency} "
            "over buying (worth today, 10 to 90 % of draws)."
        )
    if told and decision.fitting:
        ways = " and ".join(f'"{title_of(study, name)}"' for name in decision.fitting[:MOST_RIVALS])
        told.append(f"The free hours do for {ways}, which costs less cash than the best way to buy.")
    return tuple(told)
