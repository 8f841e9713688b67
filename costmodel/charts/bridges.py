"""A bridge: bars from one figure to another, a step for each cause, so that they sum to the end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from costmodel.charts.style import BUY, INK, MAKE, MUTED, new_figure, styled, wrapped
from costmodel.curves import Subject
from costmodel.rate_compare import Bridge
from costmodel.tables.rounding import parts_that_add, plain

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def bridge_finding(data: Bridge, title: str) -> str:
    """The title of a bridge: what moved most, and by how much in all."""
    cause = max(data.parts, key=lambda name: abs(data.parts[name]))
    way = "up" if data.change >= 0.0 else "down"
    size = plain(abs(data.change), 2)
    return f'"{title}" goes {way} by {size} {data.unit}, most of it by {cause}'


def bridge_words(data: Bridge, title: str) -> str:
    """A bridge for a reader who does not see it."""
    names = list(data.parts)
    parts = parts_that_add(data.parts.values(), round(data.after, 2) - round(data.before, 2))
    steps = ", ".join(f"{name} {part:+.2f}" for name, part in zip(names, parts, strict=True) if part)
    return f"Bridge chart. {bridge_finding(data, title)}: {data.before:.2f}, {steps or 'nothing'}, {data.after:.2f}."


@styled
def bridge_chart(
    data: Bridge, subject: Subject, title: str, size: tuple[float, float] = (5.4, 2.4)
) -> Figure:
    """Bars from the figure before to the figure after; what makes it dearer is hatched, so that grey tells too."""
    figure, axes = new_figure(size, bridge_finding(data, title), subject)
    parts = parts_that_add(data.parts.values(), round(data.after, 2) - round(data.before, 2))
    steps = [(name, part) for name, part in zip(data.parts, parts, strict=True) if part]
    level = round(data.before, 2)
    axes.bar(0, level, width=0.62, color=MUTED)
    axes.annotate(plain(level, 2), (0, level), ha="center", va="bottom", fontsize=6.5, fontweight="bold")
    for at, (_, part) in enumerate(steps, start=1):
        ink, hatch = (BUY, "////") if part > 0.0 else (MAKE, "")
        axes.bar(at, part, bottom=level, width=0.62, facecolor="white" if hatch else ink, hatch=hatch,
                 edgecolor=ink, linewidth=0.8)  # fmt: skip
        axes.plot([at - 1.31, at + 0.31], [level, level], color=INK, linewidth=0.5)
        top = max(level, level + part)
        axes.annotate(f"{part:+.2f}", (at, top), ha="center", va="bottom", fontsize=6.5)
        level += part
    end = len(steps) + 1
    axes.bar(end, level, width=0.62, color=MUTED)
    axes.annotate(plain(level, 2), (end, level), ha="center", va="bottom", fontsize=6.5, fontweight="bold")
    names = ["before", *(name for name, _ in steps), "after"]
    axes.set_xticks(range(end + 1), [wrapped(name, 14) for name in names])
    axes.set_ylabel(f"[{data.unit}]")
    axes.margins(y=0.12)
    return figure
