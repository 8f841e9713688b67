"""What the charts of the shop and the buyer draw, as numbers: settings, tool lives, rejects, hours, regions."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.crossings import VOLUME
from costmodel.curves import Subject, subject_of
from costmodel.decision import Decision
from costmodel.draws.spreads import quantile
from costmodel.errors import InputError, Problem
from costmodel.formulas.learning import first_unit_time, total_time
from costmodel.formulas.yields import ramp_yields, rolled_yield
from costmodel.life_log import ToolLog
from costmodel.make_or_buy import alternative_cost
from costmodel.records.address import value_at
from costmodel.records.life_log import LifeLog
from costmodel.records.quote import FOUND_AT
from costmodel.records.study import Study
from costmodel.tool_policy import part_sheet, route_of
from costmodel.tool_settings import SettingCurve, feed_address, longest_cuts, setting_curve
from costmodel.verdict_map import VerdictMap, verdict_map

Floats = npt.NDArray[np.float64]


class FeedPicture(NamedTuple):
    """Cost of a part over the feed of one cut."""

    subject: Subject
    cut: str
    tool: str
    curve: SettingCurve


def feed_picture(
    study: Study, name: str, cut: str = "", lowest: float = 0.5, highest: float = 2.5, points: int = 21
) -> FeedPicture:
    """Try the feed of a cut, ``step.cut``, or of the longest one, from `lowest` to `highest` times what it is."""
    step, _, cut_name = (cut or ".".join(longest_cuts(study, name, 1)[0])).partition(".")
    address, tool = feed_address(study, name, step, cut_name)
    now = float(value_at(study, address))
    curve = setting_curve(study, name, address, now * np.linspace(lowest, highest, points))
    return FeedPicture(subject_of(study), f"{step}.{cut_name}", tool, curve)


class LivesPicture(NamedTuple):
    """How long the edges of one tool lasted, and at which count to change it."""

    subject: Subject
    tool: str
    unit: str
    lives: Floats
    """Worn edges [unit]."""
    change_at: float | None
    """Mean less three standard deviations [unit]; None where the log is too thin."""


def lives_picture(study: Study, log: LifeLog, tools: Iterable[ToolLog], tool: str) -> LivesPicture:
    """The worn edges of a tool of a log."""
    read = {row.tool: row for row in tools}
    if tool not in read:
        expected = f"one of {', '.join(read)}"
        raise InputError([Problem("tool-life log", "tool", tool, expected, "Name a tool of the log.")])
    row = read[tool]
    edges = [edge for edge in log.edges.values() if edge.tool == tool and edge.worn == "yes"]
    lives = [edge.parts if row.unit == "parts" else edge.minutes for edge in edges]
    return LivesPicture(
        subject=subject_of(study)._replace(invented=log.invented),
        tool=tool,
        unit=row.unit,
        lives=np.array([life for life in lives if life is not None], dtype=np.float64),
        change_at=None if row.safe is None else row.safe.change_at,
    )


class RejectsPicture(NamedTuple):
    """Rejected share of each offer, by where the fault is found."""

    subject: Subject
    shares: dict[str, dict[str, float]]
    """Share of parts [fraction], by place found, by offer."""


def rejects_picture(study: Study) -> RejectsPicture:
    """Rejects of every offer as its figures stand."""
    shares = {
        quote.title: {place: float(getattr(quote, field)) for place, field in FOUND_AT.items()}
        for quote in study.quotes.values()
    }
    return RejectsPicture(subject_of(study), shares)


class HoursPicture(NamedTuple):
    """Machine hours needed by making, at 10, 50 and 90 % of the demand, against those free."""

    subject: Subject
    needed: dict[str, float]
    """[h/yr]"""
    free: dict[str, float]
    """[h/yr]"""
    spread: tuple[float, float]
    """Demand at 10 and 90 % as multiples of the demand [-]; hours go with it."""


def hours_picture(decision: Decision) -> HoursPicture:
    """The machines whose free hours the study states."""
    study = decision.study
    stated = study.uncertainty.get(VOLUME)
    base = float(study.demand.per_year)
    ends = (1.0, 1.0)
    if stated is not None:
        low, high = (float(quantile(study, stated, share)) for share in (0.1, 0.9))
        ends = (low / base, high / base)
    return HoursPicture(
        subject=subject_of(study),
        needed={hours.machine: hours.needed for hours in decision.capacity},
        free={hours.machine: hours.free for hours in decision.capacity},
        spread=ends,
    )


class RampPicture(NamedTuple):
    """Yield and hands-on time over the weeks of a ramp-up: the plan, what chance makes of it, and what was seen."""

    subject: Subject
    title: str
    weeks: Floats
    """Whole numbers from 1 [week]; empty where the route plans no ramp-up."""
    planned: Floats
    """Yield of the route [fraction]."""
    low: Floats
    high: Floats
    """Between these the yield of a week's blanks lies in 8 of 10 weeks by chance alone [fraction]."""
    hands: Floats
    """Hands-on time of a good part, as a multiple of the learned time [-]."""
    seen: Floats
    """Yield measured, week by week; shorter where the ramp-up still runs [fraction]."""


def ramp_picture(study: Study, name: str, seen: Iterable[float] = ()) -> RampPicture:
    """The ramp-up of a way to make; `seen` are the yields of its first weeks as measured [fraction]."""
    from scipy.stats import binom

    sheet, route = part_sheet(alternative_cost(study, name)), route_of(study, name)
    ramp = route.ramp_up
    title, measured = study.alternatives[name].title, np.array(list(seen), dtype=np.float64)
    none = np.zeros(0)
    if ramp is None:
        return RampPicture(subject_of(study), title, none, none, none, none, none, none)
    assert sheet.stage_yields is not None
    rolled, each = float(rolled_yield(list(sheet.stage_yields.values()))), float(ramp.good_per_week)
    planned = np.array(ramp_yields(float(ramp.first_yield), rolled, ramp.weeks), dtype=np.float64)
    blanks = np.maximum(1.0, np.rint(each / planned))
    weeks = np.arange(1.0, ramp.weeks + 1.0)
    first = first_unit_time(1.0, ramp.learning_rate, ramp.learned_at, ramp.learning)
    ends = np.concatenate([[0.0], np.minimum(ramp.learned_at, each * weeks)])
    spent = np.array(
        [total_time(first, ramp.learning_rate, end, ramp.learning) if end else 0.0 for end in ends]
    )
    made = np.diff(ends)
    return RampPicture(
        subject=subject_of(study),
        title=title,
        weeks=weeks,
        planned=planned,
        low=binom.ppf(0.1, blanks, planned) / blanks,
        high=binom.ppf(0.9, blanks, planned) / blanks,
        hands=(np.diff(spent) + each - made) / each,
        seen=measured[: ramp.weeks],
    )


class RegionPicture(NamedTuple):
    """The cheapest alternative over volume and one other input, and where the study stands."""

    subject: Subject
    study: Study
    map: VerdictMap
    demand: float
    value: float


def span_of(study: Study, address: str) -> tuple[float, float]:
    """Values of an input worth looking at: its 1 to its 99 % where a range is stated, else half to twice its base."""
    stated, base = study.uncertainty.get(address), float(value_at(study, address))
    if stated is None:
        return 0.5 * base, 2.0 * base
    return float(quantile(study, stated, 0.01)), float(quantile(study, stated, 0.99))


def region_picture(study: Study, address: str, points: int = 40) -> RegionPicture:
    """The map over an input and the volume."""
    base, demand = float(value_at(study, address)), float(study.demand.per_year)
    found = verdict_map(
        study,
        address,
        np.linspace(*span_of(study, address), points).tolist(),
        np.unique(np.rint(np.geomspace(demand / 10.0, demand * 3.0, points))).tolist(),
    )
    return RegionPicture(subject_of(study), study, found, demand, base)
