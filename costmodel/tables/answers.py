"""The answer on top of each notebook, in sentences made from its data: first the answer, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from costmodel.cost_lines import is_cash
from costmodel.curves import CashCurve, Cheapest, CostStack, VolumeCurves
from costmodel.decision import Decision
from costmodel.delivery_log import SURE, LogSummary, as_offered
from costmodel.make_or_buy import AlternativeCost, alternative_cost, compare, is_paid_once
from costmodel.payback import Payback
from costmodel.rate_compare import StudyEffect
from costmodel.records.study import Study
from costmodel.scarce_hours import ScarceHours
from costmodel.stock_check import StockCheck
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rate_tables import verdict_words
from costmodel.tables.reserves import reserves
from costmodel.tables.rounding import NEVER, chance, money, months, percent, plain
from costmodel.tables.table import single
from costmodel.tables.words import condition, reasons, recommendation, short_name, title_of


def decided(decision: Decision, cheapest: tuple[Cheapest, ...]) -> tuple[str, ...]:
    """Make it or buy it: what is recommended, why, on what it hangs, and what it leaves open."""
    return (
        recommendation(decision),
        f"Why: {reasons(decision)}.",
        condition(decision, cheapest),
        *reserves(decision),
    )


def flipping(decision: Decision, curves: VolumeCurves) -> tuple[str, ...]:
    """At what volume the answer flips: every volume, how far the demand is from it, and how sure the side is."""
    study = decision.study
    first, second = (f'"{title_of(study, name)}"' for name in (curves.first, curves.second))
    found, demand = curves.crossings, curves.demand
    if not found:
        low, high = (plain(end, 0) for end in decision.crossing_range)
        flips = f"At none from {low} to {high} parts a year: {first} and {second} do not change places."
    else:
        at = " and ".join(plain(it.volume, 0) for it in found)
        nearest = min(found, key=lambda it: abs(float(np.log(demand / it.volume))))
        times = plain(demand / nearest.volume, 1)
        flips = (
            f"At {at} parts a year {first} and {second} change places; the demand of {plain(demand, 0)} is "
            f"{times} times {'that' if len(found) == 1 else plain(nearest.volume, 0)}."
        )
    turns = [f'"{title_of(study, it.name)}" from {plain(it.volume, 0)}' for it in curves.cheapest]
    of_all = f"Of all alternatives the cheapest is {', '.join(turns)} parts a year on."
    return flips, of_all, f"All this is on base values. {reasons(decision).capitalize()}."


def made(study: Study, cost: AlternativeCost, stack: CostStack) -> tuple[str, ...]:
    """What it costs to make: a part in cash and in all, its largest share, what is paid once."""
    currency = currency_of(study)
    whole, cash = single(cost.per_part()), single(cost.per_part(is_cash))
    groups = dict(zip(stack.groups, stack.running[cost.name], strict=True))
    largest = max(groups, key=lambda name: groups[name])
    once = stack.once[cost.name]
    return (
        f'A good part made by "{cost.title}" costs {money(whole, currency)}, {money(cash, currency)} of it cash.',
        f"The largest share is {largest}: {money(groups[largest], currency)}. {money(single(cost.once()), currency)} "
        f"are paid once; spread over {study.finance.horizon} months they add {money(once, currency)} a part.",
    )


def paid_back(study: Study, change: Payback, curve: CashCurve) -> tuple[str, ...]:
    """When the fixture pays back: on cash first, as booked and refilled beside it."""
    currency = currency_of(study)
    start, target = (f'"{title_of(study, name)}"' for name in (change.start, change.target))
    if change.start == change.target:
        return (f"Nothing changes: {start} is today's way and the best way of making.",)
    back = single(change.cash_months)
    first = f"Never, on cash: it saves nothing a year. From {start} to {target}."
    if months(back) != NEVER:
        first = f"After {months(back)} months, on cash. From {start} to {target}."
    saving = single(change.cash_saving)
    word = "saved" if saving >= 0.0 else "more spent"
    beside = (
        f"{money(single(change.once), currency)} are paid once and {money(abs(saving), currency)} a year {word}, at "
        f"today's volume and prices; {_as_they_move(curve)}."
    )
    booked, refilled = (_after(months(single(it))) for it in (change.booked_months, change.refilled_months))
    return first, beside, f"As booked: {booked}. With the hours at what else they earn: {refilled}."


def _after(told: str) -> str:
    return NEVER if told == NEVER else f"{told} months"


def _as_they_move(curve: CashCurve) -> str:
    horizon = plain(curve.months[-1], 0)
    if curve.back_month is None:
        return f"as both move, the money is not back within {horizon} months"
    return f"as both move, the money is back in month {curve.back_month}"


def supplied(
    study: Study, offer: str, found: LogSummary, check: StockCheck, measured: Study
) -> tuple[str, ...]:
    """How late, how bad, how much stock: the log against the offer, and whether it moves the cheapest way."""
    days, _, rejected = as_offered(study, offer)
    seen = found.statistics
    worse = found.halves is not None and found.halves.chance < SURE
    late = (
        f"{study.quotes[offer].title} was on time in {percent(seen.on_time_share)} of {seen.deliveries} deliveries; "
        f"lead time {plain(seen.mean_lead_time, 0)} days on average, {plain(days, 0)} offered."
    )
    bad = f"Rejected at receipt: {percent(found.rejected_share)}, {percent(rejected)} offered" + (
        "; the later half has more than chance explains." if worse else "."
    )
    wanted, held = percent(check.wanted), percent(check.simulated)
    if check.confirmed:
        stock = f"Ordering at {plain(check.closed_form, 0)} parts gives the service wanted, {wanted}."
    else:
        stock = (
            f"Ordering at {plain(check.closed_form, 0)} parts gives {held} service where {wanted} is wanted: order at "
            f"{plain(check.corrected, 0)}."
        )
    return late, f"{bad} {stock}", _best_ways(study, measured)


def _best_ways(study: Study, measured: Study) -> str:
    before, after = (min(it.worth, key=lambda name: it.worth[name]) for it in map(compare, (study, measured)))
    if before == after:
        return f'With the log taken for the offer "{title_of(study, after)}" still costs least cash, on base values.'
    old, new = title_of(study, before), title_of(study, after)
    return f'With the log taken for the offer "{new}" costs least cash, not "{old}", on base values.'


def awarded(study: Study, found: ScarceHours) -> tuple[str, ...]:
    """Which parts to make with the hours there are, which go without, and which should not be made at all."""
    currency = currency_of(study)
    getting = [it for it in found.awards if it.share > 0.0]
    without = [it for it in found.awards if it.share <= 0.0]
    free = f"{plain(found.together.free, 0)} h a year free on {found.machine}"
    if not getting:
        first = f"None: with {free} no part is given any."
    else:
        named = " and ".join(
            f"{short_name(it.claim.part)} ({plain(it.share * it.claim.hours, 0)} h, saves "
            f"{money(it.saving)} {currency}/yr)"
            for it in getting
        )
        first = f"With {free}: {named}, on base values."
    rest = [
        f"{short_name(it.claim.part).capitalize()} would save {money(it.claim.saving)} {currency}/yr, but the "
        f"{plain(it.claim.hours, 0)} h that it asks for are not left."
        for it in without
    ]
    rest += (
        [f"Go on buying: {_listed(found.saves_nothing)}; making saves nothing."]
        if found.saves_nothing
        else []
    )
    rest += [f"Needs none of these hours: {_listed(found.needs_none)}."] if found.needs_none else []
    return first, *rest


def _listed(parts: Iterable[str]) -> str:
    return " and ".join(map(short_name, parts))


def repriced(
    effect: StudyEffect, still_open: Iterable[StudyEffect], years: tuple[int, int], name: str = ""
) -> tuple[str, ...]:
    """What new rates did: to a part of this study by its answer, and to the verdicts that are open."""
    study = effect.after.study
    chosen = name or effect.after.verdict.alternative
    bridge, currency = effect.by_cause[chosen], currency_of(study)
    cause = max(bridge.parts, key=lambda it: abs(bridge.parts[it]))
    title = f'A part by "{title_of(study, chosen)}"'
    if not round(bridge.change, 2):
        first = f"{title} costs the same at the rates of {years[0]} and {years[1]}: {money(bridge.after, currency)}."
    else:
        way = "more" if bridge.change > 0.0 else "less"
        first = (
            f"{title} costs {plain(abs(bridge.change), 2)} {currency} {way} at the rates of {years[1]} than at those "
            f"of {years[0]}: {money(bridge.after, currency)}, {percent(abs(bridge.change / bridge.before))} {way}; "
            f"most of it by {cause}."
        )
    sure = chance(effect.after.outcome.chance)
    return first, *verdict_words(still_open), f"At the new rates making costs less cash in {sure} of draws."


def once_moved(study: Study, other: Study, change: Payback) -> tuple[str, ...]:
    """What of the money paid once is another amount in another state of the study, item by item."""
    currency = currency_of(study)
    before, after = (_once_items(it, change) for it in (study, other))
    moved = [
        f"{name} {money(after.get(name, 0.0))} instead of {money(before.get(name, 0.0))}"
        for name in dict.fromkeys((*before, *after))
        if round(after.get(name, 0.0) - before.get(name, 0.0), 2)
    ]
    where = f"At {plain(single(other.demand.per_year), 0)} parts a year"
    if not moved:
        return (f"{where} the same {money(sum(before.values()), currency)} are paid once.",)
    return (
        f"{where} {money(sum(after.values()), currency)} are paid once instead of {money(sum(before.values()))}: "
        f"{'; '.join(moved)}. All else that is paid once is the same.",
    )


def _once_items(study: Study, change: Payback) -> dict[str, float]:
    """What is paid once for the new way less what for the old, by what it is for; neither stock nor end values."""
    items: dict[str, float] = {}
    for name, sign in ((change.target, 1.0), (change.start, -1.0)):
        for portion in alternative_cost(study, name).portions:
            for line in portion.sheet.lines:
                if is_paid_once(line):
                    word = short_name(line.note or line.element)
                    items[word] = items.get(word, 0.0) + sign * single(line.amount)
    return items
