"""What the charts of the shop and the buyer say in words."""

from __future__ import annotations

from costmodel.charts.words import alt_text, demo_mark, finding
from costmodel.records.address import tokens
from costmodel.shop_curves import (
    FeedPicture,
    HoursPicture,
    LivesPicture,
    RampPicture,
    RegionPicture,
    RejectsPicture,
)
from costmodel.tables.rounding import amount, money, percent, plain, significant
from costmodel.tables.words import described

FEED_UNITS = {"feed": "mm/min", "feed_per_rev": "mm", "feed_per_tooth": "mm"}


def feed_unit(address: str) -> str:
    """The unit of a feed's address."""
    return FEED_UNITS.get(tokens(address)[-1], "mm")


@finding.register
def _(data: FeedPicture) -> str:
    curve, unit = data.curve, feed_unit(data.curve.address)
    saved = curve.cost_now - curve.cost_best
    if curve.best == curve.now:
        return f"The feed of {data.cut} is already the cheapest of those within the limits"
    what = f"{significant(curve.best)} {unit} instead of {significant(curve.now)}"
    return f"At {what}, {data.cut} would save {money(saved, data.subject.currency)} a part"


@alt_text.register
def _(data: FeedPicture) -> str:
    curve, unit = data.curve, feed_unit(data.curve.address)
    ends = f"{significant(curve.values[0])} to {significant(curve.values[-1])} {unit}"
    return (
        f"Line chart of the cost of a part over the feed of {data.cut}, tool {data.tool}, from {ends}. "
        f"{finding(data)}. Now {money(curve.cost_now, data.subject.currency)}, cheapest "
        f"{money(curve.cost_best, data.subject.currency)}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: LivesPicture) -> str:
    if data.change_at is None:
        return f"{data.lives.size} worn edges of {data.tool} are too few, or too mixed, for a change count"
    if data.change_at <= 0.0:
        return f"{data.tool} scatters so much that no count is safe: look for the cause"
    return (
        f"{data.tool}: changed at {significant(data.change_at)} {data.unit}, few edges would wear out first"
    )


@alt_text.register
def _(data: LivesPicture) -> str:
    shortest, longest = (significant(float(each)) for each in (data.lives.min(), data.lives.max()))
    return (
        f"Histogram of the lives of {data.lives.size} worn edges of {data.tool}, {shortest} to {longest} {data.unit}. "
        f"{finding(data)}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: RejectsPicture) -> str:
    totals = {offer: sum(found.values()) for offer, found in data.shares.items()}
    best, worst = min(totals, key=lambda name: totals[name]), max(totals, key=lambda name: totals[name])
    return f"{worst} has most rejects, {percent(totals[worst])}; {best} fewest, {percent(totals[best])}"


@alt_text.register
def _(data: RejectsPicture) -> str:
    bars = "; ".join(
        f"{offer}: " + ", ".join(f"{percent(share)} at {place}" for place, share in found.items())
        for offer, found in data.shares.items()
    )
    return f"Stacked bars of rejected parts by where they are found. {finding(data)}. {bars}.{demo_mark(data.subject)}"


@finding.register
def _(data: HoursPicture) -> str:
    if not data.needed:
        return "The study states no free machine hours"
    short = [machine for machine, needed in data.needed.items() if needed > data.free[machine]]
    late = [
        m for m, needed in data.needed.items() if m not in short and needed * data.spread[1] > data.free[m]
    ]
    if short:
        return f"Making does not fit into the free hours of {' and '.join(short)}"
    if late:
        return f"Making fits at the demand; at a high demand {' and '.join(late)} would be short of hours"
    return "Making fits into the free hours, at a high demand too"


@alt_text.register
def _(data: HoursPicture) -> str:
    bars = "; ".join(
        f"{machine}: {plain(needed, 0)} needed, {plain(data.free[machine], 0)} free"
        for machine, needed in data.needed.items()
    )
    return f"Bars of machine hours needed against free hours a year. {finding(data)}. {bars}.{demo_mark(data.subject)}"


@finding.register
def _(data: RampPicture) -> str:
    if not data.weeks.size:
        return f'"{data.title}" plans no ramp-up'
    first, last = percent(data.planned[0]), percent(data.planned[-1])
    if not data.seen.size:
        return f"Yield is planned to rise from {first} to {last} in {data.weeks.size} weeks; nothing is measured yet"
    poor = [at for at, share in enumerate(data.seen) if share < data.low[at]]
    if poor:
        return f"Week {poor[-1] + 1} is below what chance makes of the plan: {percent(data.seen[poor[-1]])}"
    return f"On plan after week {data.seen.size} of {data.weeks.size}: {percent(data.seen[-1])}"


@alt_text.register
def _(data: RampPicture) -> str:
    weeks = "; ".join(
        f"week {week:.0f}: yield {percent(plan)} ({percent(low)} to {percent(high)}), hands-on {significant(hands)} "
        "times the learned time"
        for week, plan, low, high, hands in zip(
            data.weeks, data.planned, data.low, data.high, data.hands, strict=True
        )
    )
    measured = ", ".join(percent(share) for share in data.seen) or "nothing"
    return (
        f"Line charts of yield and of hands-on time over the weeks of the ramp-up. {finding(data)}. {weeks}. "
        f"Measured: {measured}.{demo_mark(data.subject)}"
    )


@finding.register
def _(data: RegionPicture) -> str:
    found = data.map
    row = int(abs(found.volumes - data.demand).argmin())
    titles = [data.subject.titles[found.at(row, column)] for column in range(found.values.size)]
    kinds = list(dict.fromkeys(titles))
    words = described(data.study, found.address)
    if len(kinds) == 1:
        return f'"{kinds[0]}" is the cheapest at this demand, whatever {words} is, all else on base values'
    return f"All else on base values, at this demand the cheapest way depends on {words}: {len(kinds)} ways take turns"


@alt_text.register
def _(data: RegionPicture) -> str:
    found = data.map
    names = [found.names[int(each)] for each in sorted(set(found.cheapest.ravel().tolist()))]
    listed = "; ".join(
        f"{data.subject.titles[name]}: {percent(float((found.cheapest == found.names.index(name)).mean()))} of the map"
        for name in names
    )
    return (
        f"Map of the cheapest alternative over the yearly volume and {described(data.study, found.address)}, "
        f"{amount(found.values[0], found.unit)} to {amount(found.values[-1], found.unit)}. {finding(data)}. "
        f"{listed}.{demo_mark(data.subject)}"
    )
