"""The numbers behind the charts of the shop and the buyer, and what scenarios do to a good part."""

from __future__ import annotations

import numpy as np

from costmodel.records.study import Study
from costmodel.scenarios import Cases
from costmodel.shop_curves import HoursPicture, LivesPicture, RampPicture, RegionPicture, RejectsPicture
from costmodel.tables.part_tables import currency_of
from costmodel.tables.rounding import scaled
from costmodel.tables.table import Column, Table, make_table
from costmodel.tables.words import described, short_name


def lives_table(data: LivesPicture) -> Table:
    """Worn edges of a tool, shortest life first."""
    return make_table(
        f"How long worn edges of {data.tool} lasted",
        (Column("edge", "", "whole"), Column("life", data.unit, "number")),
        [[number, life] for number, life in enumerate(np.sort(data.lives), start=1)],
        invented=data.subject.invented,
    )


def rejects_table(data: RejectsPicture) -> Table:
    """Rejected share of each offer, by where it is found."""
    places = list(next(iter(data.shares.values()), {}))
    return make_table(
        "Rejects of each offer, by where they are found",
        (
            Column("offer"),
            *(Column(place, "%", "percent") for place in places),
            Column("all", "%", "percent"),
        ),
        [
            [offer, *(100.0 * found[place] for place in places), 100.0 * sum(found.values())]
            for offer, found in data.shares.items()
        ],
        invented=data.subject.invented,
    )


def machine_hours_table(data: HoursPicture) -> Table:
    """Hours needed at the demand and at the ends of its range, against hours free."""
    low, high = data.spread
    return make_table(
        "Machine hours of a year",
        (
            Column("machine"),
            Column("at 10 % of demand", "h/yr", "hours"),
            Column("at the demand", "h/yr", "hours"),
            Column("at 90 %", "h/yr", "hours"),
            Column("free", "h/yr", "hours"),
        ),
        [
            [machine, low * needed, needed, high * needed, data.free[machine]]
            for machine, needed in data.needed.items()
        ],
        invented=data.subject.invented,
    )


def ramp_table(data: RampPicture) -> Table:
    """The weeks of a ramp-up: planned yield and its band, hands-on time, and what was seen."""
    seen: list[object] = [100.0 * share for share in data.seen]
    seen += ["not yet"] * (data.weeks.size - len(seen))
    return make_table(
        f'Ramp-up of "{data.title}", week by week',
        (
            Column("week", "", "whole"),
            Column("planned yield", "%", "percent"),
            Column("band from", "%", "percent"),
            Column("to", "%", "percent"),
            Column("hands-on", "times learned", "number"),
            Column("seen", "%", "percent"),
        ),
        [
            [
                int(week),
                100.0 * data.planned[at],
                100.0 * data.low[at],
                100.0 * data.high[at],
                data.hands[at],
                seen[at],
            ]
            for at, week in enumerate(data.weeks)
        ],
        invented=data.subject.invented,
        notes=("The band holds 8 of 10 weeks by chance alone.",)
        if data.weeks.size
        else ("The route plans no ramp-up.",),
    )


def regions_table(data: RegionPicture) -> Table:
    """Where the cheapest alternative changes over the other input, at about the demand and around it."""
    found = data.map
    picks = np.unique(np.linspace(0, found.volumes.size - 1, 7).astype(int))
    rows: list[list[object]] = []
    for at in picks:
        start = 0
        for column in range(1, found.values.size + 1):
            if column == found.values.size or found.at(at, column) != found.at(at, start):
                title = data.subject.titles[found.at(at, start)]
                ends = (scaled(found.values[place], found.unit)[0] for place in (start, column - 1))
                rows.append([found.volumes[at], *ends, title])
                start = column
    unit = scaled(data.value, found.unit)[1]
    return make_table(
        f"Cheapest over volume and {described(data.study, found.address)}",
        (
            Column("parts a year", "part/yr", "parts"),
            Column("from", unit, "number"),
            Column("to", unit, "number"),
            Column("cheapest"),
        ),
        rows,
        invented=data.subject.invented,
    )


def scenario_parts_table(study: Study, found: Cases) -> Table:
    """Running cost of a part by every alternative in every scenario, and the cheapest on cash over the horizon."""
    unit = f"{currency_of(study)}/part"
    names = list(study.alternatives)
    return make_table(
        "What each scenario does to a good part",
        (
            Column("scenario"),
            *(Column(short_name(name), unit, "money") for name in names),
            Column("cheapest on cash"),
        ),
        [
            [
                case.title,
                *(case.per_part[name] for name in names),
                study.alternatives[min(case.worth, key=lambda name: case.worth[name])].title,
            ]
            for case in found.cases
        ],
        study=study,
        notes=("Running cost; the cheapest is on cash over the horizon, with what is paid once.",),
    )
