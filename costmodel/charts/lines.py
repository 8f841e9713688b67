"""Line charts: cost over volume, cash over months, the advantage over draws."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from costmodel.charts.style import (
    BUY,
    INK,
    INKS,
    LINES,
    MAKE,
    MUTED,
    PALE,
    Label,
    grouped,
    label_ends,
    new_figure,
    styled,
    wrapped,
)
from costmodel.charts.words import finding, levelled_words
from costmodel.curves import AdvantageCurve, CashCurve, VolumeCurves
from costmodel.tables.rounding import decimals_of_range, plain, range_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TICKS = (1.0, 2.0, 5.0)
FAR_RIGHT = 0.4
DEMANDS_SHOWN = 1.5
MOST_LABELS = 8


@styled
def crossover_chart(data: VolumeCurves, size: tuple[float, float] = (7.2, 3.0)) -> Figure:
    """Cost of a part over the yearly volume for every alternative, demand band and crossings marked."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.set_xscale("log")
    axes.set_xlim(data.volumes[0], data.volumes[-1])
    bottom, top = _heights(data)
    axes.set_ylim(bottom, top)
    _demand(axes, data)
    labels, named = [], _named(data)
    for name, values in data.per_part.items():
        kind = data.subject.kinds[name]
        chosen = name in (data.first, data.second)
        axes.plot(
            data.volumes,
            values,
            color=INKS[kind],
            linestyle=LINES[kind],
            linewidth=2.0 if chosen else 0.9,
            alpha=1.0 if chosen else 0.8,
            clip_on=True,
        )
        if name in named:
            height = float((values[-1] - bottom) / (top - bottom))
            title = wrapped(data.subject.titles[name], 27)
            labels.append(Label(min(1.0, max(0.0, height)), title, INKS[kind], chosen))
    if len(named) < len(data.per_part):
        rest = plain(len(data.per_part) - len(named), 0)
        labels.append(Label(0.0, f"and {rest} others, without names", MUTED))
    label_ends(axes, labels, least=0.19 / size[1])
    _crossings(axes, data)
    axes.set_xlabel("good parts a year [part/yr]")
    words = wrapped(levelled_words(data), 34)
    axes.set_ylabel(f"cash cost of a part [{data.subject.currency}/part],\n{words}", fontsize=6.5)
    _volume_ticks(axes, data)
    axes.yaxis.set_major_formatter(grouped)
    return figure


@styled
def total_chart(data: VolumeCurves, size: tuple[float, float] = (7.2, 3.0)) -> Figure:
    """Cash a year of every alternative over the yearly volume: steps stand out where a part's cost hides them."""
    figure, axes = new_figure(size, finding(data), data.subject)
    top = max(data.demand * DEMANDS_SHOWN, *(found.volume * DEMANDS_SHOWN for found in data.cheapest))
    shown = data.volumes <= min(top, data.volumes[-1])
    volumes, labels, named = data.volumes[shown], [], _named(data)
    totals = {name: values[shown] * volumes for name, values in data.per_part.items()}
    highest = max(float(values.max()) for values in totals.values())
    _demand(axes, data, below=True)
    for name, values in totals.items():
        kind, chosen = data.subject.kinds[name], name in (data.first, data.second)
        axes.plot(volumes, values, color=INKS[kind], linestyle=LINES[kind], linewidth=2.0 if chosen else 0.9)
        if name in named:
            title = wrapped(data.subject.titles[name], 27)
            labels.append(Label(float(values[-1]) / highest, title, INKS[kind], chosen))
    label_ends(axes, labels, least=0.19 / size[1])
    axes.set_xlim(0.0, volumes[-1])
    axes.set_ylim(0.0, highest)
    axes.set_xlabel("good parts a year [part/yr]")
    words = wrapped(levelled_words(data), 34)
    axes.set_ylabel(f"cash a year [{data.subject.currency}/yr],\n{words}", fontsize=6.5)
    axes.xaxis.set_major_formatter(grouped)
    axes.yaxis.set_major_formatter(grouped)
    return figure


def _named(data: VolumeCurves) -> set[str]:
    """The alternatives whose lines are labelled: all, or where they are many those that matter."""
    if len(data.per_part) <= MOST_LABELS:
        return set(data.per_part)
    return {data.first, data.second, *(found.name for found in data.cheapest)}


def _heights(data: VolumeCurves) -> tuple[float, float]:
    """From below the lowest line to well above the highest at the demand: the far left may run out on top."""
    at = int(np.argmin(np.abs(data.volumes - data.demand)))
    lowest = min(float(values.min()) for values in data.per_part.values())
    highest = max(float(values[at]) for values in data.per_part.values())
    marks = [float(_height(data, crossing.volume)) for crossing in data.crossings]
    return max(0.0, lowest * 0.8), max(highest * 1.45, *(mark * 1.15 for mark in marks), highest)


def _height(data: VolumeCurves, volume: float) -> float:
    return float(np.interp(volume, data.volumes, data.per_part[data.first]))


def _volume_ticks(axes: Axes, data: VolumeCurves) -> None:
    from matplotlib.ticker import FixedLocator, NullLocator

    powers = range(int(np.log10(data.volumes[0])), int(np.log10(data.volumes[-1])) + 1)
    ticks = [step * 10.0**power for power in powers for step in TICKS]
    inside = [tick for tick in ticks if data.volumes[0] <= tick <= data.volumes[-1]]
    axes.xaxis.set_major_locator(FixedLocator(inside))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(grouped)


def _demand(axes: Axes, data: VolumeCurves, *, below: bool = False) -> None:
    if data.band is not None:
        axes.axvspan(*data.band, facecolor=PALE, edgecolor="none", zorder=0)
        words = f"demand {plain(data.demand, 0)}\n10 to 90 %: {range_text(*data.band)}"
    else:
        words = f"demand {plain(data.demand, 0)}"
    axes.axvline(data.demand, color=MUTED, linewidth=0.8)
    axes.annotate(
        words,
        xy=(data.demand, 0.02 if below else 0.985),
        xycoords=("data", "axes fraction"),
        xytext=(3, 0),
        textcoords="offset points",
        ha="left",
        va="bottom" if below else "top",
        fontsize=6.0,
        color=INK,
    )


def _crossings(axes: Axes, data: VolumeCurves) -> None:
    """Where making and buying change places, and where another alternative becomes the cheapest of all."""
    marks = {found.volume: (data.first, "D" if found.jump else "o") for found in data.crossings}
    for found in data.cheapest[1:]:
        marks.setdefault(found.volume, (found.name, "s"))
    jumps = {found.volume for found in data.crossings if found.jump}
    for volume, (name, marker) in marks.items():
        height = float(np.interp(volume, data.volumes, data.per_part[name]))
        axes.plot(
            [volume],
            [height],
            marker=marker,
            markersize=5.0,
            markerfacecolor="white",
            markeredgecolor=INK,
            markeredgewidth=1.2,
            linestyle="none",
            zorder=5,
        )
        axes.annotate(
            f"{plain(volume, 0)}{' (jump)' if volume in jumps else ''}{_meaning(data, volume)}",
            xy=(volume, height),
            xytext=(-5, 5) if _is_far_right(data, volume) else (5, 5),
            textcoords="offset points",
            ha="right" if _is_far_right(data, volume) else "left",
            fontsize=7.5,
            fontweight="bold",
            zorder=6,
        )


def _meaning(data: VolumeCurves, volume: float) -> str:
    """What a mark says where a third way is the cheapest of all: two lines meet, and the answer does not turn."""
    at = data.volumes == volume
    pair = min(float(data.per_part[name][at].min()) for name in (data.first, data.second))
    best = min(float(values[at].min()) for values in data.per_part.values())
    meets = any(found.volume == volume for found in data.crossings)
    return "\nbest make meets best buy" if meets and best < pair else ""


def _is_far_right(data: VolumeCurves, volume: float) -> bool:
    return bool(volume > data.volumes[-1] * FAR_RIGHT)


@styled
def cash_chart(data: CashCurve, size: tuple[float, float] = (3.6, 2.2)) -> Figure:
    """Cash saved so far by a change, month by month, with the month from which it is back."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.axhline(0.0, color=INK, linewidth=0.9)
    axes.plot(data.months, data.saved, color=MAKE, linewidth=1.9)
    axes.plot(data.months, data.with_stock, color=MUTED, linewidth=0.9, linestyle=(0, (2, 1.5)))
    if data.back_month:
        below = np.minimum(data.saved, 0.0)
        axes.fill_between(
            data.months, below, 0.0, facecolor="none", edgecolor=BUY, hatch="////", linewidth=0.0
        )
    axes.set_xlim(0.0, data.months[-1])
    middle = data.months.size // 2
    above = bool(data.with_stock[middle] >= data.saved[middle])
    rises = bool(data.saved[-1] >= data.saved[0])
    _beside(
        axes,
        (data.months[middle], data.saved[middle]),
        "stock money apart",
        MAKE,
        above=not above,
        rises=rises,
    )
    _beside(
        axes,
        (data.months[middle], data.with_stock[middle]),
        "with stock money",
        MUTED,
        above=above,
        rises=rises,
    )
    if data.back_month:
        axes.plot(
            [data.back_month], [0.0], marker="o", markersize=5, markerfacecolor="white", markeredgecolor=INK
        )
        axes.annotate(
            f"back in month {data.back_month}",
            xy=(data.back_month, 0.0),
            xytext=(6, -9),
            textcoords="offset points",
            fontsize=6.5,
            fontweight="bold",
        )
    axes.set_xticks(np.arange(0.0, data.months[-1] + 1.0, 12.0))
    axes.set_xlabel("month from the decision")
    axes.set_ylabel(f"cash saved so far [{data.subject.currency}]")
    axes.yaxis.set_major_formatter(grouped)
    return figure


def _beside(
    axes: Axes, point: tuple[float, float], words: str, ink: str, *, above: bool, rises: bool = True
) -> None:
    """Words beside a line at a point, to its left above or to its right below; the other way where it falls."""
    to_left = above == rises
    axes.annotate(
        words,
        xy=point,
        xytext=(-4 if to_left else 4, 3 if above else -3),
        textcoords="offset points",
        ha="right" if to_left else "left",
        va="bottom" if above else "top",
        fontsize=6.5,
        color=ink,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
    )


@styled
def advantage_chart(data: AdvantageCurve, size: tuple[float, float] = (3.6, 2.2)) -> Figure:
    """The share of draws in which making saves less than each amount, with 10, 50 and 90 % marked."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.axvline(0.0, color=INK, linewidth=0.9)
    axes.plot(data.values, 100.0 * data.shares, color=MAKE, linewidth=1.9)
    decimals = decimals_of_range(data.points[0], data.points[2]) if data.points[0] != data.points[2] else 0
    for share, value in zip((10.0, 50.0, 90.0), data.points, strict=True):
        axes.plot(
            [value], [share], marker="o", markersize=4, markerfacecolor="white", markeredgecolor=INK, zorder=5
        )
        _beside(
            axes, (value, share), f"{plain(share, 0)} %: {plain(value, decimals)}", INK, above=share < 50.0
        )
    ends = (float(data.values[0]), float(data.values[-1]), 0.0)
    room = 0.06 * (max(ends) - min(ends) or 1.0)
    axes.set_xlim(min(ends) - 4.0 * room, max(ends) + 4.0 * room)
    axes.set_ylim(0.0, 100.0)
    crosses = data.values[0] < 0.0 < data.values[-1]
    if data.values[-1] > 0.0:
        _side(axes, "making cheaper \N{RIGHTWARDS ARROW}", 4, 0.03 if crosses else 0.92, "left")
    if data.values[0] < 0.0:
        _side(axes, "\N{LEFTWARDS ARROW} buying cheaper", -4, 0.92 if crosses else 0.03, "right")
    axes.set_xlabel(f"worth today of what making saves over buying [{data.subject.currency}]")
    axes.set_ylabel("share of draws below [%]")
    axes.xaxis.set_major_formatter(grouped)
    axes.locator_params(axis="x", nbins=5)
    return figure


def _side(axes: Axes, words: str, shift: float, height: float, align: Literal["left", "right"]) -> None:
    axes.annotate(
        words,
        xy=(0.0, height),
        xycoords=("data", "axes fraction"),
        xytext=(shift, 0),
        textcoords="offset points",
        ha=align,
        fontsize=6.0,
        color=MUTED,
    )
