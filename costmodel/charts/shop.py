"""Charts of the shop and the buyer: feeds, tool lives, rejects, machine hours, regions of the verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from costmodel.charts.shop_words import feed_unit
from costmodel.charts.style import BUY, INK, MAKE, MUTED, PALE, grouped, new_figure, styled, wrapped
from costmodel.charts.words import finding
from costmodel.shop_curves import (
    FeedPicture,
    HoursPicture,
    LivesPicture,
    RampPicture,
    RegionPicture,
    RejectsPicture,
)
from costmodel.tables.rounding import percent, plain, scaled, significant
from costmodel.tables.words import described

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FOUND_FILLS = ((MAKE, ""), ("#8fb4cf", ""), ("#f1e3d3", "////"))
REGION_INKS = ("#0f4c75", "#f1e3d3", "#a8480f", "#8fb4cf", "#4f6b3a", "#dfe6ea", "#e0b08a", "#5b6570")


@styled
def feed_chart(data: FeedPicture, size: tuple[float, float] = (6.6, 2.7)) -> Figure:
    """Cost of a part over the feed of a cut: solid within the limits, dashed beyond, now and cheapest marked."""
    figure, axes = new_figure(size, finding(data), data.subject)
    curve = data.curve
    values, costs, far = (np.array(each) for each in (curve.values, curve.costs, curve.beyond))
    axes.plot(values, costs, color=MUTED, linestyle=(0, (2, 1.5)), linewidth=1.0)
    axes.plot(values, np.where(far, np.nan, costs), color=MAKE, linewidth=2.0)
    marks = (("now", curve.now, curve.cost_now, "o"), ("cheapest", curve.best, curve.cost_best, "D"))
    for words, value, cost, marker in marks:
        axes.plot([value], [cost], marker=marker, markerfacecolor="white", markeredgecolor=INK, zorder=5)
        shift = (0, 6) if words == "now" else (0, -12)
        axes.annotate(
            words,
            (value, cost),
            shift,
            textcoords="offset points",
            ha="center",
            fontweight="bold",
            fontsize=6.5,
        )
    if far.any():
        axes.annotate(
            "dashed: a machine or tool cannot do it as stated",
            (0.99, 0.98),
            xycoords="axes fraction",
            ha="right",
            va="top",
            fontsize=6.0,
        )
    axes.margins(y=0.25)
    axes.set_xlabel(f"feed of {data.cut} [{feed_unit(curve.address)}]")
    axes.set_ylabel(f"cost of a part [{data.subject.currency}/part]")
    return figure


@styled
def lives_chart(data: LivesPicture, size: tuple[float, float] = (6.6, 2.4)) -> Figure:
    """Histogram of how long worn edges lasted, with the count at which to change."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.hist(data.lives, bins="auto", facecolor="#8fb4cf", edgecolor=INK, linewidth=0.6)
    mean = float(np.mean(data.lives)) if data.lives.size else 0.0
    marks = [("mean", mean, MUTED)]
    if data.change_at is not None:
        marks.append(("mean less 3 standard deviations", data.change_at, BUY))
    for words, value, ink in marks:
        axes.axvline(value, color=ink, linewidth=1.4, linestyle="solid" if ink == BUY else (0, (4, 2)))
        axes.annotate(
            f"{words}: {significant(value)}",
            (value, 1.0),
            (3, -2),
            xycoords=("data", "axes fraction"),
            textcoords="offset points",
            va="top",
            fontsize=6.5,
            color=INK,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        )
    axes.margins(y=0.25)
    axes.locator_params(axis="y", integer=True)
    axes.set_xlabel(f"life of an edge [{data.unit}]")
    axes.set_ylabel("worn edges")
    return figure


@styled
def rejects_chart(data: RejectsPicture, size: tuple[float, float] = (6.6, 2.2)) -> Figure:
    """A bar for each offer, stacked by where the fault is found."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.grid(visible=False)
    longest = max((sum(found.values()) for found in data.shares.values()), default=0.0) or 0.01
    for row, found in enumerate(data.shares.values()):
        left = 0.0
        for (place, share), (ink, hatch) in zip(found.items(), FOUND_FILLS, strict=True):
            width, start = 100.0 * share, left
            axes.barh(
                row,
                width,
                left=start,
                height=0.6,
                facecolor=ink,
                hatch=hatch,
                edgecolor=INK,
                linewidth=0.5,
                label=f"found at {place}" if row == 0 else None,
            )
            left += width
        axes.annotate(
            percent(sum(found.values())),
            (left, row),
            (3, 0),
            textcoords="offset points",
            va="center",
            fontsize=6.5,
            fontweight="bold",
        )
    axes.set_yticks(range(len(data.shares)), [wrapped(offer, 26) for offer in data.shares])
    axes.invert_yaxis()
    axes.set_xlim(0.0, 115.0 * longest)
    axes.set_xlabel("parts rejected [%]")
    figure.legend(loc="outside lower left", ncols=3, frameon=False, fontsize=6.5)
    return figure


@styled
def hours_chart(data: HoursPicture, size: tuple[float, float] = (6.6, 2.0)) -> Figure:
    """Hours needed of each machine with the spread of demand, against the hours free."""
    figure, axes = new_figure(size, finding(data), data.subject)
    axes.grid(visible=False)
    low, high = data.spread
    for row, (machine, needed) in enumerate(data.needed.items()):
        free = data.free[machine]
        axes.barh(row, free, height=0.72, facecolor=PALE, edgecolor=MUTED, linewidth=0.6)
        axes.barh(
            row,
            needed,
            height=0.36,
            facecolor=MAKE,
            hatch="" if needed <= free else "////",
            edgecolor=INK,
            linewidth=0.5,
        )
        axes.plot(
            [low * needed, high * needed], [row, row], color=INK, linewidth=1.4, marker="|", markersize=7
        )
        words = f"needs {plain(needed, 0)} of {plain(free, 0)} free"
        axes.annotate(
            words,
            (max(free, high * needed), row),
            (4, 0),
            textcoords="offset points",
            va="center",
            fontsize=6.5,
            fontweight="bold",
        )
    ends = [max(data.free[machine], high * needed) for machine, needed in data.needed.items()]
    axes.set_xlim(0.0, 1.35 * max(ends, default=1.0))
    axes.set_yticks(range(len(data.needed)), list(data.needed))
    axes.invert_yaxis()
    axes.set_xlabel("machine hours a year [h/yr]; the line spans 10 to 90 % of the demand")
    axes.xaxis.set_major_formatter(grouped)
    return figure


@styled
def ramp_chart(data: RampPicture, size: tuple[float, float] = (6.6, 2.3)) -> Figure:
    """Left the planned yield by week in its band, with what was measured; right hands-on time as it is learned."""
    figure, left = new_figure(size, finding(data), data.subject)
    grid = figure.add_gridspec(1, 2)
    left.set_subplotspec(grid[0])
    right = figure.add_subplot(grid[1])
    left.fill_between(
        data.weeks, 100.0 * data.low, 100.0 * data.high, facecolor=PALE, edgecolor=MUTED, linewidth=0.4
    )
    left.plot(data.weeks, 100.0 * data.planned, color=MAKE, linewidth=1.9)
    seen = data.weeks[: data.seen.size]
    left.plot(seen, 100.0 * data.seen, color=BUY, marker="D", markersize=4, linestyle=(0, (4, 2)))
    right.plot(data.weeks, data.hands, color=MAKE, linewidth=1.9)
    right.axhline(1.0, color=MUTED, linewidth=0.8, linestyle=(0, (2, 1.5)))
    if data.weeks.size:
        at = data.weeks.size // 2
        notes = [("plan, band of chance", data.weeks[at], 100.0 * data.low[at], MAKE)]
        if data.seen.size:
            notes.append(("measured", seen[-1], 100.0 * data.seen[-1], BUY))
        for words, week, share, ink in notes:
            left.annotate(
                words, (week, share), (4, -3), textcoords="offset points", va="top", fontsize=6.5, color=ink
            )
        right.annotate(
            "learned", (data.weeks[-1], 1.0), (0, 3), textcoords="offset points", ha="right", fontsize=6.5
        )
        right.set_ylim(0.0, 1.15 * float(np.max(data.hands)))
        for axes in (left, right):
            axes.set_xticks(data.weeks)
    left.set_ylabel("yield of the route [%]")
    right.set_ylabel("hands-on time [times learned]")
    for axes in (left, right):
        axes.set_xlabel("week of the ramp-up")
    return figure


@styled
def regions_chart(data: RegionPicture, size: tuple[float, float] = (6.6, 3.2)) -> Figure:
    """Regions of the cheapest alternative over volume and one other input, named inside, the study's point marked."""
    from matplotlib.colors import ListedColormap

    figure, axes = new_figure(size, finding(data), data.subject)
    axes.grid(visible=False)
    found = data.map
    share, unit = scaled(1.0, found.unit)
    across = share * found.values
    names = [int(each) for each in np.unique(found.cheapest)]
    places = np.searchsorted(names, found.cheapest)
    colours = ListedColormap([REGION_INKS[at % len(REGION_INKS)] for at in range(len(names))])
    axes.pcolormesh(
        across,
        found.volumes,
        places,
        cmap=colours,
        vmin=-0.5,
        vmax=len(names) - 0.5,
        shading="nearest",
        alpha=0.85,
        rasterized=True,
    )
    for at, name in enumerate(names):
        rows, columns = np.nonzero(places == at)
        pick = int(np.argmin((rows - np.median(rows)) ** 2 + (columns - np.quantile(columns, 0.25)) ** 2))
        axes.annotate(
            wrapped(data.subject.titles[found.names[name]], 24),
            (across[columns[pick]], found.volumes[rows[pick]]),
            ha="center",
            va="center",
            fontsize=6.5,
            bbox={"facecolor": "white", "edgecolor": INK, "linewidth": 0.4, "pad": 1.5},
        )
    axes.plot(
        [share * data.value],
        [data.demand],
        marker="o",
        markersize=7,
        markerfacecolor="white",
        markeredgecolor=INK,
    )
    axes.annotate(
        "this study",
        (share * data.value, data.demand),
        (6, 5),
        textcoords="offset points",
        fontsize=6.5,
        fontweight="bold",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
    )
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(grouped)
    axes.yaxis.set_minor_formatter(grouped)
    axes.tick_params(axis="y", which="minor", labelsize=5.5)
    axes.set_ylabel("good parts a year [part/yr]")
    axes.set_xlabel(f"{described(data.study, found.address)} [{unit or '-'}]")
    return figure
