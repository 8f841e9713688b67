"""Bridges, whose steps sum to the end, and a decision's cash as promised and as it came."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from costmodel.charts.style import BUY, INK, MAKE, MUTED, grouped, new_figure, styled, wrapped
from costmodel.charts.words import alt_text, demo_mark, finding
from costmodel.review_curves import BridgeSteps, ReviewCash
from costmodel.tables.rounding import money, parts_that_add, plain

if TYPE_CHECKING:
    from matplotlib.figure import Figure

BRIDGE_WIDTH = 3.9
"""Inches: a phone shows the whole of it."""


def _digits(data: BridgeSteps) -> int:
    """Cents of a part; whole units of money of a year."""
    return 2 if "part" in data.bridge.unit else 0


def _rounded(data: BridgeSteps) -> tuple[float, list[tuple[str, float]]]:
    """The figure before, and the causes that move it, rounded so that they sum to the figure after."""
    digits, bridge = _digits(data), data.bridge
    scale = 10.0 ** (2 - digits)
    before, after = (round(value, digits) for value in (bridge.before, bridge.after))
    whole = round((after - before) / scale, 2)
    parts = parts_that_add([part / scale for part in bridge.parts.values()], whole)
    return before, [
        (name, scale * part) for name, part in zip(bridge.parts, parts, strict=True) if round(part, 2)
    ]


@finding.register
def _(data: BridgeSteps) -> str:
    bridge, digits = data.bridge, _digits(data)
    if not round(bridge.change, digits):
        return f"{data.title} does not move"
    cause = max(bridge.parts, key=lambda name: abs(bridge.parts[name]))
    way = "up" if bridge.change > 0.0 else "down"
    size = plain(abs(bridge.change), digits)
    return f"{data.title} goes {way} by {size} {bridge.unit}, most of it by {cause}"


@alt_text.register
def _(data: BridgeSteps) -> str:
    before, steps = _rounded(data)
    digits = _digits(data)
    words = ", ".join(f"{name} {part:+.{digits}f}" for name, part in steps) or "nothing"
    after = round(data.bridge.after, digits)
    ends = f"{before:.{digits}f}, {words}, {after:.{digits}f}"
    return f"Bridge chart. {finding(data)}: {ends}.{demo_mark(data.subject)}"


@styled
def bridge_chart(data: BridgeSteps, size: tuple[float, float] | None = None) -> Figure:
    """Bars below one another from the figure before to the figure after; a step for the worse is hatched.

    They stand below one another so that a narrow screen shows the first and the last.
    """
    level, steps = _rounded(data)
    end, digits = len(steps) + 1, _digits(data)
    figure, axes = new_figure(size or (BRIDGE_WIDTH, 0.85 + 0.24 * (end + 1)), finding(data), data.subject)
    axes.grid(visible=False)
    axes.barh(0, level, height=0.62, color=MUTED)
    reach = [0.0, level]
    words = [plain(level, digits)]
    for at, (_, part) in enumerate(steps, start=1):
        worse = (part > 0.0) == data.more_is_worse
        ink, hatch = (BUY, "////") if worse else (MAKE, "")
        axes.barh(at, part, left=level, height=0.62, facecolor="white" if hatch else ink, hatch=hatch,
                  edgecolor=ink, linewidth=0.8)  # fmt: skip
        axes.plot([level, level], [at - 1.31, at + 0.31], color=INK, linewidth=0.5)
        level += part
        reach.append(level)
        words.append(f"{'+' if part > 0.0 else ''}{plain(part, digits)}")
    axes.barh(end, level, height=0.62, color=MUTED)
    words.append(plain(level, digits))
    for at, word in enumerate(words):
        right = max(0.0, *(reach[1:2] if at == 0 else reach[at : at + 2]))
        axes.annotate(word, (right, at), (3, 0), textcoords="offset points", va="center", fontsize=6.5,
                      fontweight="bold" if at in (0, end) else "normal")  # fmt: skip
    names = ["before", *(name for name, _ in steps), "after"]
    axes.set_yticks(range(end + 1), [wrapped(name, 18) for name in names])
    axes.invert_yaxis()
    axes.set_xlim(min(0.0, *reach) * 1.1, max(0.0, *reach) * 1.18 or 1.0)
    axes.set_xlabel(f"[{data.bridge.unit}]; hatched steps are for the worse")
    axes.locator_params(axis="x", nbins=5)
    if not digits:
        axes.xaxis.set_major_formatter(grouped)
    return figure


@finding.register
def _(data: ReviewCash) -> str:
    if data.start == data.target:
        return "It was decided to stay: no cash was paid, and none has to come back"
    title, real, plan = data.subject.titles[data.target], data.realised_back, data.promised_back
    promised = "never promised" if plan is None else f"month {plan} promised"
    if real is None:
        return f'"{title}": on what happened the money is not back by month {data.months[-1]:.0f}; {promised}'
    return f'"{title}": the money is back in month {real}, {promised}'


@alt_text.register
def _(data: ReviewCash) -> str:
    currency = data.subject.currency
    ends = f"At the end {money(data.promised[-1], currency)} was promised, {money(data.realised[-1], currency)} comes"
    return (
        f"Two lines of the cash saved so far over {data.months[-1]:.0f} months. {finding(data)}. {ends}. "
        f"Reviewed after {plain(data.reviewed, 1)} months.{demo_mark(data.subject)}"
    )


@styled
def review_chart(data: ReviewCash, size: tuple[float, float] = (5.4, 2.6)) -> Figure:
    """Cash saved so far, promised dashed and realised whole, with the month it is back and the end of the review."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.axhline(0.0, color=INK, linewidth=0.9)
    axes.axvline(data.reviewed, color=MUTED, linewidth=0.7, linestyle=(0, (1, 1.5)))
    for saved, ink, dashes in ((data.promised, MUTED, (0, (4, 2))), (data.realised, MAKE, "solid")):
        axes.plot(data.months, saved, color=ink, linewidth=1.7, linestyle=dashes)
    for back, height, side in ((data.promised_back, 5, "right"), (data.realised_back, -11, "left")):
        if back:
            axes.plot([back], [0.0], marker="o", markersize=4.5, markerfacecolor="white", markeredgecolor=INK)
            axes.annotate(f"month {back}", (back, 0.0), (-5 if side == "right" else 5, height),
                          textcoords="offset points", ha=side, fontsize=6.5)  # fmt: skip
    higher = data.promised[-1] >= data.realised[-1]
    for saved, word, above in (
        (data.promised, "promised", higher),
        (data.realised, "on what happened", not higher),
    ):
        axes.annotate(word, (data.months[-1], saved[-1]), (-4, 5 if above else -17),
                      textcoords="offset points", ha="right", fontsize=6.5)  # fmt: skip
    axes.annotate("reviewed", (data.reviewed, axes.get_ylim()[0]), (3, 3), textcoords="offset points",
                  fontsize=6.0, color=MUTED)  # fmt: skip
    axes.set_xlim(0.0, data.months[-1])
    axes.margins(y=0.12)
    axes.set_xticks(np.arange(0.0, data.months[-1] + 1.0, 12.0))
    axes.set_xlabel("month from the decision")
    axes.set_ylabel(f"cash saved so far [{data.subject.currency}]")
    axes.yaxis.set_major_formatter(grouped)
    return figure
