"""What each chart says in words: its finding, which is its title, and a text for those who do not see it."""

from __future__ import annotations

from functools import singledispatch

from costmodel.cautions import INVENTED
from costmodel.curves import (
    AdvantageCurve,
    CashCurve,
    CostStack,
    CostSteps,
    Subject,
    SwingBars,
    VolumeCurves,
)
from costmodel.tables.rounding import (
    amount,
    chance,
    money,
    percent,
    plain,
    range_text,
    significant,
    with_range,
)
from costmodel.tables.words import described


def demo_mark(subject: Subject) -> str:
    """The words that mark invented data at the end of a text; none where data are real."""
    return f" {INVENTED}." if subject.invented else ""


@singledispatch
def finding(data: object) -> str:
    """What a chart shows, in one sentence."""
    raise TypeError(f"no finding is known for {type(data).__name__}")


@singledispatch
def alt_text(data: object) -> str:
    """What a chart shows, for a reader who does not see it."""
    raise TypeError(f"no words are known for {type(data).__name__}")


@finding.register
def _(data: VolumeCurves) -> str:
    titles = [data.subject.titles[found.name] for found in data.cheapest]
    demand, doubt = plain(data.demand, 0), "Too close to call; on" if data.close else "On"
    if len(titles) == 1:
        low, high = plain(data.volumes[0], 0), plain(data.volumes[-1], 0)
        return f'{doubt} base values "{titles[0]}" is the cheapest at every volume from {low} to {high} parts a year'
    if len(titles) == 2:
        turn = plain(data.cheapest[1].volume, 0)
        return (
            f'{doubt} base values "{titles[1]}" is the cheapest from {turn} parts a year; demand is {demand}'
        )
    at = max(n for n, found in enumerate(data.cheapest) if found.volume <= max(data.demand, data.volumes[0]))
    return (
        f"{doubt} base values the cheapest way changes {len(titles) - 1} times over the volume; at the demand of "
        f'{demand} it is "{titles[at]}"'
    )


def levelled_words(data: VolumeCurves) -> str:
    """What a cost over the volume counts, so that it is not taken for the running cost of today."""
    return f"equal yearly amounts over {data.horizon} months, prices grown, once-costs in it"


@alt_text.register
def _(data: VolumeCurves) -> str:
    subject = data.subject
    at = int(abs(data.volumes - data.demand).argmin())
    costs = "; ".join(
        f"{subject.titles[name]}: {money(values[at], subject.currency)}"
        for name, values in sorted(data.per_part.items(), key=lambda item: float(item[1][at]))
    )
    met = ", ".join(
        f"{plain(found.volume, 0)}{' by a jump' if found.jump else ''}" for found in data.crossings
    )
    first, second = subject.titles[data.first], subject.titles[data.second]
    meeting = f'"{first}" and "{second}" change places at {met or "no volume"}'
    band = f" Demand at 10 to 90 % is {range_text(*data.band)} parts a year." if data.band else ""
    return (
        f"Line chart of the cash cost of a part over the yearly volume, {levelled_words(data)}. {finding(data)}. "
        f"{meeting}. At the stated demand, lowest first: {costs}.{band}{demo_mark(subject)}"
    )


@finding.register
def _(data: CostStack) -> str:
    name = min(data.running, key=lambda name: sum(data.running[name]) + data.once[name])
    largest = max(range(len(data.groups)), key=lambda at: data.running[name][at])
    whole = sum(data.running[name]) + data.once[name]
    share = percent(data.running[name][largest] / (whole or 1.0))
    return f"{data.subject.titles[name]}: {money(whole)} a part, {share} of it {data.groups[largest]}"


@alt_text.register
def _(data: CostStack) -> str:
    parts = []
    for name, amounts in data.running.items():
        made_of = ", ".join(
            f"{group} {money(value)}" for group, value in zip(data.groups, amounts, strict=True) if value
        )
        parts.append(
            f"{data.subject.titles[name]}: {money(sum(amounts))} running ({made_of}) and "
            f"{money(data.once[name])} once, spread"
        )
    return (
        f"Stacked bars of the cost of a part in {data.subject.currency}. {finding(data)}. "
        f"{'. '.join(parts)}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: CostSteps) -> str:
    titles, change = data.subject.titles, data.after - data.before
    cause = max(data.steps, key=lambda name: data.steps[name] * (1.0 if change > 0.0 else -1.0))
    return (
        f'"{titles[data.target]}" costs {money(abs(change), data.subject.currency)} a part '
        f'{"more" if change > 0.0 else "less"} than "{titles[data.start]}", most of it by {cause}'
    )


@alt_text.register
def _(data: CostSteps) -> str:
    steps = ", ".join(f"{name} {step:+.2f}" for name, step in data.steps.items() if round(step, 2))
    return (
        f"Bridge chart of the cost of a part. {finding(data)}. {data.before:.2f}, then {steps or 'nothing'}, "
        f"gives {data.after:.2f}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: CashCurve) -> str:
    horizon = len(data.months) - 1
    if data.back_month == 0:
        return "Nothing is out at any time: the change saves cash from the start"
    out = f"{significant(-data.deepest)} {data.subject.currency}"
    if data.back_month is None:
        return f"The money does not come back within {horizon} months"
    return f"{out} are out at the most, savings by then taken off, and back in month {data.back_month}"


@alt_text.register
def _(data: CashCurve) -> str:
    currency = data.subject.currency
    return (
        f'Line chart of cash saved so far by going from "{data.subject.titles[data.start]}" to '
        f'"{data.subject.titles[data.target]}". {finding(data)}. At the end, month {len(data.months) - 1}: '
        f"{significant(data.saved[-1])} {currency}; with the money in stock {significant(data.with_stock[-1])} "
        f"{currency}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: SwingBars) -> str:
    if not data.swings:
        return "No range is stated that moves the answer"
    turning = [swing for swing in data.swings if swing.flips]
    widest = described(data.study, data.swings[0].address)
    if not turning:
        return f"No input alone turns the answer within its range; {widest} moves it most"
    count = f"{len(turning)} of {len(data.swings)} inputs turn" if len(turning) > 1 else "One input turns"
    return f"{count} the answer alone; {widest} moves it most"


@alt_text.register
def _(data: SwingBars) -> str:
    currency = data.subject.currency
    bars = "; ".join(
        f"{described(data.study, swing.address)} from {amount(swing.low, swing.unit)} to "
        f"{amount(swing.high, swing.unit)}: {significant(swing.advantage_low)} to "
        f"{significant(swing.advantage_high)} {currency}{', turns the answer' if swing.flips else ''}"
        for swing in data.swings[:8]
    )
    return (
        f"Ranked bars of what making saves over buying, one input at a time, base {significant(data.base)} "
        f"{currency}. {finding(data)}. {bars}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: AdvantageCurve) -> str:
    making = data.points[1] >= 0.0
    side, share = ("Making", data.chance) if making else ("Buying", 1.0 - data.chance)
    return f"{side} costs less cash in {chance(share)} of draws"


@alt_text.register
def _(data: AdvantageCurve) -> str:
    low, middle, high = data.points
    return (
        f"Curve of the share of draws in which making saves less than a given amount over buying. {finding(data)}. "
        f"Worth today at 50 %, with 10 to 90 %: {with_range(middle, low, high)} {data.subject.currency}."
        f"{demo_mark(data.subject)}"
    )
