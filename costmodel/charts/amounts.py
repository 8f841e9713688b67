"""Bar charts: what the cost of a part is made of, and which inputs move the answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from costmodel.charts.style import BUY, INK, MAKE, MUTED, PALE, grouped, new_figure, styled, wrapped
from costmodel.charts.words import finding
from costmodel.curves import CostStack, CostSteps, SwingBars
from costmodel.sensitivity import Swing
from costmodel.tables.rounding import amount, decimals_by_size, parts_that_add, plain
from costmodel.tables.words import described

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Light and dark take turns, and every second fill carries a hatch: neighbours differ in grey too.
FILLS = (
    ("#0f4c75", "", "white"),
    ("#8fb4cf", "", INK),
    ("#dfe6ea", "----", INK),
    ("#f1e3d3", "", INK),
    ("#a8480f", "", "white"),
    ("#e0b08a", "////", INK),
    ("#f4f5f6", "xxxx", INK),
)
ONCE_FILL = ("white", "\\\\\\\\", INK)
LEAST_LABELLED = 0.065


@styled
def stack_chart(data: CostStack, size: tuple[float, float] = (7.2, 2.9)) -> Figure:
    """A bar for each alternative, by group in the same order, with once-costs apart at its end."""
    from matplotlib.patches import Patch

    figure, axes = new_figure(size, finding(data), data.subject)
    axes.grid(visible=False)
    names = list(data.running)
    longest = max(sum(data.running[name]) + data.once[name] for name in names) or 1.0
    for row, name in enumerate(names):
        _bar(axes, data, name, row, longest)
    axes.set_yticks(range(len(names)), [wrapped(data.subject.titles[name], 30) for name in names])
    axes.invert_yaxis()
    axes.set_xlim(0.0, longest * 1.17)
    axes.set_xlabel(f"cost of a part [{data.subject.currency}/part]")
    axes.xaxis.set_major_formatter(grouped)
    handles = [
        Patch(facecolor=ink, hatch=hatch, edgecolor=INK, linewidth=0.4, label=group)
        for (ink, hatch, _), group in zip(
            (*FILLS, ONCE_FILL), (*data.groups, "once, spread over the horizon"), strict=True
        )
    ]
    figure.legend(
        handles=handles, loc="outside lower left", ncols=4, frameon=False, fontsize=6.5, handlelength=1.8
    )
    return figure


def _bar(axes: Axes, data: CostStack, name: str, row: int, longest: float) -> None:
    right = left = 0.0
    amounts = (*data.running[name], data.once[name])
    for value, (ink, hatch, text) in zip(amounts, (*FILLS, ONCE_FILL), strict=True):
        start = right if value >= 0.0 else left
        axes.barh(
            row, value, left=start, height=0.66, facecolor=ink, hatch=hatch, edgecolor=INK, linewidth=0.4
        )
        if abs(value) > LEAST_LABELLED * longest:
            box = {"facecolor": ink, "edgecolor": "none", "pad": 0.8} if hatch else None
            axes.text(
                start + value / 2.0,
                row,
                plain(value, decimals_by_size(longest)),
                ha="center",
                va="center",
                fontsize=6.0,
                color=text,
                bbox=box,
            )
        right, left = (right + value, left) if value >= 0.0 else (right, left + value)
    running = sum(data.running[name])
    decimals = decimals_by_size(longest)
    once = f" + {plain(data.once[name], decimals)} once" if data.once[name] else ""
    axes.text(
        right + 0.008 * longest,
        row,
        f"{plain(running, decimals)}{once}",
        va="center",
        fontsize=6.5,
        fontweight="bold",
    )


@styled
def steps_chart(data: CostSteps, size: tuple[float, float] = (6.6, 2.5)) -> Figure:
    """Bars from the cost of one way to that of another; what makes it dearer is hatched, so that grey tells too."""
    figure, axes = new_figure(size, finding(data), data.subject)
    shown = parts_that_add(data.steps.values(), round(data.after, 2) - round(data.before, 2))
    steps = [(name, step) for name, step in zip(data.steps, shown, strict=True) if step]
    ends = [(0, data.before), (len(steps) + 1, data.after)]
    for at, value in ends:
        axes.bar(at, value, width=0.62, color=MUTED)
        axes.annotate(plain(value, 2), (at, value), ha="center", va="bottom", fontsize=6.5, fontweight="bold")
    level = round(data.before, 2)
    for at, (_, step) in enumerate(steps, start=1):
        ink, hatch = (BUY, "////") if step > 0.0 else (MAKE, "")
        ground = "white" if hatch else ink
        axes.bar(
            at, step, bottom=level, width=0.62, facecolor=ground, hatch=hatch, edgecolor=ink, linewidth=0.8
        )
        axes.plot([at - 1.31, at + 0.31], [level, level], color=INK, linewidth=0.5)
        axes.annotate(f"{step:+.2f}", (at, max(level, level + step)), ha="center", va="bottom", fontsize=6.5)
        level += step
    titles = data.subject.titles
    names = [titles[data.start], *(name for name, _ in steps), titles[data.target]]
    axes.set_xticks(range(len(names)), [wrapped(name, 15) for name in names], fontsize=6.0)
    axes.set_ylabel(f"cost of a part [{data.subject.currency}/part]")
    low, high = axes.get_ylim()
    axes.set_ylim(low, high + 0.12 * (high - low))
    return figure


@styled
def swings_chart(data: SwingBars, size: tuple[float, float] = (3.6, 2.2), most: int = 7) -> Figure:
    """A bar for each input from its low to its high, widest first; bars that turn the answer say so."""
    shown = data.swings[:most]
    rest = len(data.swings) - len(shown)
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.grid(visible=False)
    for row, swing in enumerate(shown):
        _swing(axes, swing, row)
    names = [wrapped(described(data.study, swing.address), 30) for swing in shown]
    names += [f"and {plain(rest, 0)} smaller ones"] if rest > 0 else []
    axes.set_yticks(range(len(names)), names, fontsize=6.0, linespacing=0.95)
    axes.invert_yaxis()
    ends = [0.0, data.base, *(end for swing in shown for end in (swing.advantage_low, swing.advantage_high))]
    room = 0.36 * (max(ends) - min(ends) or 1.0)
    turning = any(swing.flips for swing in shown)
    axes.set_xlim(min(ends) - 1.3 * room, max(ends) + (1.6 if turning else 1.0) * room)
    axes.axvline(data.base, color=MUTED, linewidth=0.8, linestyle=(0, (2, 1.5)))
    axes.axvline(0.0, color=INK, linewidth=1.1)
    axes.annotate(
        "answer turns",
        xy=(0.0, 1.0),
        xycoords=("data", "axes fraction"),
        ha="center",
        va="bottom",
        fontsize=6.0,
        annotation_clip=False,
    )
    axes.set_xlabel(f"saved by making, worth today [{data.subject.currency}]")
    axes.xaxis.set_major_formatter(grouped)
    axes.locator_params(axis="x", nbins=5)
    return figure


def _swing(axes: Axes, swing: Swing, row: int) -> None:
    left, right = sorted((swing.advantage_low, swing.advantage_high))
    axes.barh(
        row,
        right - left,
        left=left,
        height=0.6,
        facecolor=PALE if swing.flips else MAKE,
        edgecolor=INK if swing.flips else MAKE,
        hatch="////" if swing.flips else "",
        linewidth=0.6,
    )
    if swing.flips:
        axes.annotate(
            "turns",
            xy=(1.0, row),
            xycoords=("axes fraction", "data"),
            ha="right",
            va="center",
            fontsize=6.0,
            fontweight="bold",
        )
    inputs = [swing.low, swing.high]
    if swing.advantage_low > swing.advantage_high:
        inputs.reverse()
    for value, end, align, shift in zip(inputs, (left, right), ("right", "left"), (-3, 3), strict=True):
        axes.annotate(
            amount(value, swing.unit),
            xy=(end, row),
            xytext=(shift, 0),
            textcoords="offset points",
            ha=align,
            va="center",
            fontsize=5.5,
        )
