"""Speeds and feeds tried through the whole model: what other settings save, and what tool life they may cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import Flag, total
from costmodel.errors import InputError, Problem
from costmodel.formulas import rate_bases
from costmodel.make_or_buy import alternative_cost
from costmodel.part_cost import PartCost
from costmodel.records.address import child, sweep, value_at
from costmodel.records.faults import joined
from costmodel.records.route import AnyStep, MachineStep
from costmodel.records.study import RateBasis, Study
from costmodel.records.tool import LIFE_NEEDS, Tool
from costmodel.tool_policy import part_sheet, route_of
from costmodel.units import Number

BASES: tuple[RateBasis, ...] = ("practical", "cash")
LEAST_LIFE_SHARE, HALVINGS = 0.01, 24
NEVER = float("inf")
SPEEDS = ("cutting_speed", "spindle_speed")
TRIED = np.geomspace(0.5, 2.0, 13)
"""Multiples of a setting that are tried: half of it, itself, twice it, each a twelfth of two octaves on."""


class SettingChange(NamedTuple):
    """What other settings save or cost against those of the study, lost parts counted."""

    minutes_per_part: Number
    """Machine minutes saved [min/part]."""
    hours_per_year: Number
    """Machine hours saved [h/yr]."""
    saved: dict[RateBasis, Number]
    """Running cost saved by rate basis [money/part]: on cash it is what free hours cost, in full what they bear."""
    failures_per_year: tuple[Number, Number]
    """Edges that fail before their change now, and with the other settings [1/yr]."""
    flags: tuple[Flag, ...]
    """Limits that the other settings pass and the present ones do not."""


def compare_settings(
    study: Study, name: str, inputs: Mapping[str, object], bases: Iterable[RateBasis] = BASES
) -> SettingChange:
    """Cost an alternative that is made with other inputs, by address, against the study as it stands."""
    route_of(study, name)
    other = study.with_inputs(inputs)
    chosen = tuple(bases)
    now = {basis: alternative_cost(study, name, basis) for basis in chosen}
    new = {basis: alternative_cost(other, name, basis) for basis in chosen}
    before, after = part_sheet(now[chosen[0]]), part_sheet(new[chosen[0]])
    minutes = before.minutes_per_part("machine") - after.minutes_per_part("machine")
    return SettingChange(
        minutes_per_part=minutes,
        hours_per_year=minutes * before.rhythm.per_year / rate_bases.MINUTES_PER_HOUR,
        saved={basis: now[basis].per_part() - new[basis].per_part() for basis in chosen},
        failures_per_year=(_failures(before), _failures(after)),
        flags=tuple(flag for flag in after.flags if flag not in before.flags),
    )


def _failures(sheet: PartCost) -> Number:
    assert sheet.parts_in is not None
    through = {use.step: sheet.parts_in[use.step] * sheet.rhythm.per_year for use in sheet.tools}
    return total(use.failures * through[use.step] for use in sheet.tools)


class BriskFeed(NamedTuple):
    """A cut at a multiple of its feed: what that saves, and how much tool life it may cost before it pays nothing."""

    address: str
    now: float
    brisk: float
    """In the unit of the address."""
    tool: str
    change: SettingChange
    life_follows: bool
    """Whether the life model of the tool answers to the feed: if not, the saving above holds life unchanged."""
    break_even_life: dict[RateBasis, float]
    """Share of its present life that the tool must keep, by rate basis, or the saving is gone; 0 if it need not."""


def brisk_feed(study: Study, name: str, step: str, cut: str, times: float = 2.0) -> BriskFeed:
    """What a multiple of a cut's feed would save and risk.

    The library knows no cutting data: whether the tool and the finish bear the feed is the engineer's word.
    """
    address, tool_name = feed_address(study, name, step, cut)
    now = float(value_at(study, address))
    inputs = {address: times * now}
    tool = study.rates.tools[tool_name]
    follows = tool.life == "taylor" and bool(np.any(tool.feed_exponent > 0.0))
    return BriskFeed(
        address=address,
        now=now,
        brisk=times * now,
        tool=tool_name,
        change=compare_settings(study, name, inputs),
        life_follows=follows,
        break_even_life={basis: _break_even_life(study, name, inputs, tool, basis) for basis in BASES},
    )


def feed_address(study: Study, name: str, step: str, cut: str) -> tuple[str, str]:
    """The address of a cut's feed, wherever its route takes it from, and the name of its tool."""
    place = _cut_address(study, name, step, cut)
    record = value_at(study, place)
    stated = [field for field in record.feeds if getattr(record, field) is not None]
    if not stated:
        expected = "a cut that states a feed"
        raise InputError([Problem("study", place, record.kind, expected, "Its pitch is its feed.")])
    return f"{place}.{stated[0]}", record.tool


def _cut_address(study: Study, name: str, step: str, cut: str) -> str:
    """The address of a cut, wherever its route takes it from."""
    route = route_of(study, name)
    owner = child(route.steps, step, f"steps.{step}")
    at = (route.name, step)
    if isinstance(owner, MachineStep) and owner.cuts_from:
        key = next(key for key in study.part.routes if owner.cuts_from.startswith(f"{key}."))
        at = (key, owner.cuts_from.removeprefix(f"{key}."))
    return joined("part", "routes", at[0], "steps", at[1], "cuts", cut)


def _break_even_life(
    study: Study, name: str, inputs: Mapping[str, object], tool: Tool, basis: RateBasis
) -> float:
    """The share of its life at which the tool eats up the saving of other inputs, by halving the interval."""
    field = LIFE_NEEDS[tool.life][0]
    power = float(tool.taylor_exponent) if tool.life == "taylor" and tool.taylor_exponent is not None else 1.0
    address = joined("rates", "tools", tool.name, field)
    now = float(np.ravel(alternative_cost(study, name, basis).per_part())[0])

    def gain(share: float) -> float:
        shorter = {**inputs, address: float(getattr(tool, field)) * share**power}
        try:
            cost = alternative_cost(study.with_inputs(shorter), name, basis).per_part()
        except InputError:  # an edge that lasts no part, or failures that lose them all
            return -NEVER
        return now - float(np.ravel(cost)[0])

    if gain(1.0) <= 0.0:
        return NEVER
    if gain(LEAST_LIFE_SHARE) > 0.0:
        return 0.0
    low, high = LEAST_LIFE_SHARE, 1.0
    for _ in range(HALVINGS):
        middle = (low * high) ** 0.5
        low, high = (low, middle) if gain(middle) > 0.0 else (middle, high)
    return high


class SettingCurve(NamedTuple):
    """Cost of an alternative over the values of one speed or feed, and the cheapest of them."""

    address: str
    values: tuple[float, ...]
    costs: tuple[float, ...]
    """[money/part]"""
    beyond: tuple[bool, ...]
    """Whether a machine or a tool cannot do it as stated, beyond what they cannot do now."""
    now: float
    cost_now: float
    best: float
    """The cheapest value within all limits; the value now in use where none is."""
    cost_best: float


def setting_curve(
    study: Study, name: str, address: str, values: Iterable[float], basis: RateBasis | None = None
) -> SettingCurve:
    """Search one speed or feed of a cut through the whole model: the values are a column of one what-if.

    Where the life of the tool does not follow the setting, the fastest value is cheapest and says nothing of
    the tool.
    """
    route_of(study, name)
    tried = tuple(float(value) for value in values)
    now = float(value_at(study, address))
    column = alternative_cost(study.with_inputs({address: sweep(tried)}), name, basis).per_part()
    costs = np.ravel(np.broadcast_to(column, (len(tried), 1)))
    present = alternative_cost(study, name, basis)
    beyond = tuple(
        any(flag not in present.flags for flag in _flags(study, name, address, value, basis))
        for value in tried
    )
    possible = [at for at in range(len(tried)) if not beyond[at]]
    cost_now = float(np.ravel(present.per_part())[0])
    best = min(possible, key=lambda at: costs[at], default=None)
    better = best is not None and costs[best] < cost_now
    return SettingCurve(
        address=address,
        values=tried,
        costs=tuple(float(cost) for cost in costs),
        beyond=beyond,
        now=now,
        cost_now=cost_now,
        best=tried[best] if better and best is not None else now,
        cost_best=float(costs[best]) if better and best is not None else cost_now,
    )


class Setting(NamedTuple):
    """One speed or feed of a cut, tried from half to twice what it is."""

    step: str
    cut: str
    tool: str
    setting: str
    """The field of the cut that is tried."""
    curve: SettingCurve
    life_follows: bool
    """Whether the life model of the tool answers to it; if not, the cheapest value says nothing of the tool."""


def setting_curves(study: Study, name: str, places: Iterable[tuple[str, str]]) -> list[Setting]:
    """The speed and the feed of cuts, by step and cut, searched for the cheapest within all limits."""
    return [found for step, cut in places for found in _settings(study, name, step, cut)]


def _settings(study: Study, name: str, step: str, cut: str) -> Iterator[Setting]:
    place = _cut_address(study, name, step, cut)
    record = value_at(study, place)
    tool = study.rates.tools[record.tool]
    for field in (*SPEEDS, *record.feeds):
        if getattr(record, field) is not None:
            address = f"{place}.{field}"
            values = float(value_at(study, address)) * TRIED
            follows = tool.life == "taylor" and (field in SPEEDS or bool(np.any(tool.feed_exponent > 0.0)))
            curve = setting_curve(study, name, address, values)
            yield Setting(step, cut, record.tool, field, curve, follows)


def _flags(study: Study, name: str, address: str, value: float, basis: RateBasis | None) -> tuple[Flag, ...]:
    return alternative_cost(study.with_inputs({address: value}), name, basis).flags


def longest_cuts(study: Study, name: str, most: int = 5) -> list[tuple[str, str]]:
    """Step and name of the cuts that take longest and state a feed."""
    steps = route_of(study, name).steps
    longest = sorted(
        part_sheet(alternative_cost(study, name)).cuts, key=lambda cut: -float(np.ravel(cut.in_cut)[0])
    )
    return [(cut.step, cut.name) for cut in longest if _feeds(study, steps[cut.step], cut.name)][:most]


def _feeds(study: Study, step: AnyStep, name: str) -> bool:
    assert isinstance(step, MachineStep)
    cut = study.part.cuts_of(step)[name]
    return any(getattr(cut, field) is not None for field in cut.feeds)
