"""The numbers behind the charts of the shop and the buyer, and the tables of knowing, scenarios and scarce hours."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from costmodel.capacity import Award
from costmodel.information import Information
from costmodel.records.study import Study
from costmodel.scenarios import Cases
from costmodel.shop_curves import HoursPicture, LivesPicture, RegionPicture, RejectsPicture
from costmodel.tables.part_tables import currency_of
from costmodel.tables.table import Column, Table, make_table
from costmodel.tables.words import described
from costmodel.variance_shares import Share

MOST_ROWS = 12


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
                rows.append([found.volumes[at], found.values[start], found.values[column - 1], title])
                start = column
    return make_table(
        f"Cheapest over volume and {described(data.study, found.address)}",
        (
            Column("parts a year", "part/yr", "parts"),
            Column("from", found.unit, "number"),
            Column("to", found.unit, "number"),
            Column("cheapest"),
        ),
        rows,
        invented=data.subject.invented,
    )


def scenarios_table(study: Study, found: Cases) -> Table:
    """Running cost of a part by every alternative in every scenario, and the cheapest on cash over the horizon."""
    unit = f"{currency_of(study)}/part"
    names = list(study.alternatives)
    return make_table(
        "What each scenario does to a good part",
        (
            Column("scenario"),
            *(Column(study.alternatives[name].title, unit, "money") for name in names),
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


def knowing_table(study: Study, found: Information) -> Table:
    """What it would be worth to know each input beforehand, the most first: go and measure in this order."""
    currency = currency_of(study)
    return make_table(
        "Go and measure, in this order",
        (
            Column("input"),
            Column("status"),
            Column("owner"),
            Column("knowing it is worth", currency, "number"),
            Column("changes the choice", "%", "percent"),
        ),
        [
            [described(study, row.address), row.status, row.owner, row.value.value, 100.0 * row.changes]
            for row in found.inputs[:MOST_ROWS]
        ],
        study=study,
        notes=(
            f"Knowing everything would be worth {found.everything.value:.0f} {currency}: no study is worth more.",
        ),
    )


def shares_table(study: Study, found: Iterable[Share]) -> Table:
    """Share of every input in the spread of the answer, alone and with what it does together with others."""
    return make_table(
        "What the spread of the answer comes from",
        (Column("input"), Column("alone", "%", "percent"), Column("in all", "%", "percent")),
        [
            [described(study, row.address), 100.0 * row.first_order.value, 100.0 * row.total.value]
            for row in list(found)[:MOST_ROWS]
        ],
        study=study,
    )


def awards_table(study: Study, machine: str, free: float, awards: Iterable[Award]) -> Table:
    """Which parts get the free hours of a machine, and what that saves a year."""
    year = f"{currency_of(study)}/yr"
    return make_table(
        f"Who gets the {free:.0f} free hours a year of {machine}",
        (
            Column("part"),
            Column("saved by making", year, "number"),
            Column("hours", "h/yr", "hours"),
            Column("saved an hour", f"{currency_of(study)}/h", "number"),
            Column("made", "%", "percent"),
            Column("saved", year, "number"),
        ),
        [
            [
                award.claim.part,
                award.claim.saving,
                award.claim.hours,
                award.claim.saving / award.claim.hours if award.claim.hours else "needs none",
                100.0 * award.share,
                award.saving,
            ]
            for award in awards
        ],
        study=study,
        notes=("Cash over the horizon as equal yearly amounts. A part that saves nothing is not listed.",),
    )
