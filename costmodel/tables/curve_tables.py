"""The table behind each chart: the same numbers, exact."""

from __future__ import annotations

from costmodel.curves import AdvantageCurve, CashCurve, CostStack, CostSteps, SwingBars, VolumeCurves
from costmodel.records.study import BASIS_WORDS
from costmodel.tables.rounding import scaled
from costmodel.tables.table import Column, Table, make_table
from costmodel.tables.words import described


def volume_table(curves: VolumeCurves) -> Table:
    """Cash cost of a part by every alternative over the yearly volume."""
    subject = curves.subject
    marks = {crossing.volume: "crossing" for crossing in curves.crossings}
    return make_table(
        "Cash cost of a part over the yearly volume",
        (
            Column("volume", "part/yr", "whole"),
            *(Column(subject.titles[name], f"{subject.currency}/part", "money") for name in curves.per_part),
            Column("mark"),
        ),
        [
            [
                int(volume),
                *(values[at] for values in curves.per_part.values()),
                marks.get(int(volume), "demand stated" if volume == curves.demand else ""),
            ]
            for at, volume in enumerate(curves.volumes)
        ],
        invented=subject.invented,
        notes=(
            f"Equal yearly amounts over {curves.horizon} months: prices grown as stated, what is paid once in them. A "
            "running cost at today's prices, as other tables give it, lies lower.",
        ),
    )


def cheapest_table(curves: VolumeCurves) -> Table:
    """Which of all alternatives costs least cash, from which volume on."""
    titles = curves.subject.titles
    ends = [*(found.volume - 1 for found in curves.cheapest[1:]), int(curves.volumes[-1])]
    return make_table(
        "The cheapest of all alternatives by volume, on cash",
        (Column("from", "part/yr", "whole"), Column("to", "part/yr", "whole"), Column("cheapest")),
        [[found.volume, end, titles[found.name]] for found, end in zip(curves.cheapest, ends, strict=True)],
        invented=curves.subject.invented,
        notes=("On base values.",),
    )


def stack_table(stack: CostStack) -> Table:
    """What the cost of a part is made of, by alternative."""
    subject = stack.subject
    unit = f"{subject.currency}/part"
    basis = next(words for basis, words in BASIS_WORDS.items() if basis == stack.basis)
    return make_table(
        "What the cost of a part is made of",
        (
            Column("alternative"),
            *(Column(group, unit, "money") for group in stack.groups),
            Column("running", unit, "money"),
            Column("once, spread", unit, "money"),
        ),
        [
            [subject.titles[name], *amounts, sum(amounts), stack.once[name]]
            for name, amounts in stack.running.items()
        ],
        invented=subject.invented,
        notes=(f"Machine hours {basis}.",),
    )


def cost_steps_table(data: CostSteps) -> Table:
    """Step by step from the cost of a part by one way to that by another."""
    titles = data.subject.titles
    return make_table(
        f'From "{titles[data.start]}" to "{titles[data.target]}"',
        (Column("step"), Column("cost", f"{data.subject.currency}/part", "money")),
        [[titles[data.start], data.before], *data.steps.items(), [titles[data.target], data.after]],
        invented=data.subject.invented,
        notes=("What is paid once is spread over the horizon.",),
        totals=1,
    )


def cash_table(curve: CashCurve) -> Table:
    """Cash of a change by month and summed up, with and without the money in stock."""
    subject = curve.subject
    saved = [curve.saved[0], *(curve.saved[1:] - curve.saved[:-1])]
    return make_table(
        f'Cash by month of going from "{subject.titles[curve.start]}" to "{subject.titles[curve.target]}"',
        (
            Column("month", "", "whole"),
            Column("saved in the month", subject.currency, "money"),
            Column("saved so far", subject.currency, "money"),
            Column("so far, stock money in it", subject.currency, "money"),
        ),
        [
            [int(month), saved[at], curve.saved[at], curve.with_stock[at]]
            for at, month in enumerate(curve.months)
        ],
        invented=subject.invented,
    )


def swings_table(bars: SwingBars) -> Table:
    """How far each input alone moves the advantage."""
    currency = bars.subject.currency
    rows = [
        [
            described(bars.study, swing.address),
            scaled(swing.low, swing.unit)[0],
            scaled(swing.high, swing.unit)[0],
            scaled(swing.low, swing.unit)[1] or "none",
            swing.advantage_low,
            swing.advantage_high,
            "turns the answer" if swing.flips else "",
        ]
        for swing in (*bars.swings, *bars.idle)
    ]
    return make_table(
        "What making saves over buying, one input at a time",
        (
            Column("input"),
            Column("low", "", "number"),
            Column("high", "", "number"),
            Column("unit"),
            Column("saved at low", currency, "money"),
            Column("saved at high", currency, "money"),
            Column("mark"),
        ),
        rows,
        invented=bars.subject.invented,
    )


def advantage_table(curve: AdvantageCurve) -> Table:
    """What making saves over buying, by share of draws."""
    return make_table(
        "What making saves over buying, by share of draws that stay below",
        (Column("share of draws", "%", "percent"), Column("saved", curve.subject.currency, "money")),
        [[100.0 * share, value] for share, value in zip(curve.shares, curve.values, strict=True)],
        invented=curve.subject.invented,
    )
