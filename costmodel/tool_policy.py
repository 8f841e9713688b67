"""When to change a tool whose life scatters, and what a run without a person risks: priced by the model itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import total
from costmodel.errors import InputError, Problem
from costmodel.formulas import rate_bases, tool_replacement, unattended
from costmodel.machine_rate import labour_per_hour, terms_on
from costmodel.machine_work import MachineWork, minutes_per_load, route_work
from costmodel.make_or_buy import AlternativeCost, alternative_cost
from costmodel.part_cost import PartCost
from costmodel.records.address import child
from costmodel.records.route import Route
from costmodel.records.study import RateBasis, Study
from costmodel.records.tool import Tool
from costmodel.tool_use import ToolUse, price_of_a_life
from costmodel.units import Number

NEVER = float("inf")
LEAST_SHARE = 1e-9
"""A change that costs nothing would be made all the time: it counts as this share of a failure."""
ROUNDS = 6
"""Rounds of the cheapest count: its price of a failure moves by less than the search's own steps from the fourth on."""


class FailureCost(NamedTuple):
    """What one failed edge costs [money], by the model: the used tool, the parts spoilt, what stands still."""

    tool: Number
    parts: Number
    stopped: Number

    @property
    def whole(self) -> Number:
        """All of it [money]."""
        return self.tool + self.parts + self.stopped


class Policy(NamedTuple):
    """One rule of changing a tool: after how many parts, what tools and failures cost, how often edges fail."""

    change_at: Number
    """[part]; endless where the edge is run to failure."""
    cost_per_part: Number
    """Edges, changes and failures [money/part through the step]."""
    cost_per_year: Number
    """[money/yr]"""
    failures_per_year: Number
    """[1/yr]"""


class ToolRisk(NamedTuple):
    """One tool in one step whose life scatters: its rule now, the cheapest, and running it to failure."""

    step: str
    tool: str
    life_parts: Number
    """Mean life [part]."""
    variation: Number
    """Coefficient of variation of the life [-]."""
    planned_cost: Number
    """Of one planned change more: the edge and the minutes [money]."""
    failure: FailureCost
    lost_parts: Number
    """Parts one failure spoils, attended and unattended loads weighed [part]."""
    now: Policy
    cheapest: Policy
    to_failure: Policy

    @property
    def above_cheapest(self) -> Number:
        """What the rule now in use costs a year beyond the cheapest one [money/yr]."""
        return self.now.cost_per_year - self.cheapest.cost_per_year

    @property
    def failures_spared(self) -> Number:
        """Failures a year that the rule now in use spares against the cheapest one [1/yr]."""
        return self.cheapest.failures_per_year - self.now.failures_per_year


class ToolRisks(NamedTuple):
    """Every tool of an alternative: those whose scatter is stated, priced, and those of which nothing can be said."""

    priced: tuple[ToolRisk, ...]
    unstated: tuple[str, ...]
    """Tools that state no ``variation``."""


def tool_risks(study: Study, name: str, basis: RateBasis | None = None) -> ToolRisks:
    """Price the rule of change of every tool of an alternative that is made.

    Raises InputError for an alternative that is not made by one route.
    """
    route = route_of(study, name)
    cost = alternative_cost(study, name, basis)
    sheet = part_sheet(cost)
    works = route_work(study.part, route, study.rates)
    priced: list[ToolRisk] = []
    unstated: dict[str, None] = {}
    for work in works.values():
        for use in work.tools:
            tool = study.rates.tools[use.tool]
            if tool.variation is None:
                unstated[use.tool] = None
            else:
                priced.append(_risk(study, work, use, tool, sheet, basis or study.finance.basis))
    return ToolRisks(tuple(priced), tuple(unstated))


def route_of(study: Study, name: str) -> Route:
    """The route by which an alternative is made; raises InputError where it is not made by one."""
    alternative = child(study.alternatives, name, f"alternatives.{name}")
    if not alternative.make:
        known = ", ".join(key for key, row in study.alternatives.items() if row.make) or "none"
        expected, remedy = f"an alternative that is made ({known})", "Name one of these."
        raise InputError([Problem("study", f"alternatives.{name}", "", expected, remedy)])
    return study.part.routes[alternative.make]


def part_sheet(cost: AlternativeCost) -> PartCost:
    """The cost of the part by its route, of an alternative that is made."""
    sheet = cost.portions[0].sheet
    assert isinstance(sheet, PartCost)
    return sheet


def _risk(
    study: Study, work: MachineWork, use: ToolUse, tool: Tool, sheet: PartCost, basis: RateBasis
) -> ToolRisk:
    assert tool.variation is not None
    assert sheet.parts_in is not None
    step, losses = work.step, work.losses
    hours = study.capacity.get(step.machine)
    machine = study.rates.machines[step.machine]
    terms = terms_on(basis, machine, study.rates, hours.contribution if hours else 0.0)
    an_hour = total(term.per_hour for term in terms)
    hands = labour_per_hour(study.rates.labour[step.operator or machine.operator])
    both = an_hour + hands if use.machine_waits else hands
    change = rate_bases.machine_charge(tool.change_minutes, both)
    alone = step.unattended_share
    lost = (1.0 - alone) * losses.attended + alone * losses.unattended
    parts = lost * sheet.cost_of_lost_part(step.name, step.salvage)
    stopped = rate_bases.machine_charge(losses.stopped, an_hour) + rate_bases.machine_charge(
        step.failure_stop, hands
    )

    def priced(reached: Number) -> tuple[Number, FailureCost]:
        life = price_of_a_life(tool, reached)
        failed = FailureCost(life.failed + change, parts, stopped)
        return np.maximum(life.worn + change, LEAST_SHARE * failed.whole), failed

    life = use.life_parts
    reached = 1.0 - use.failures * use.mean_use
    planned, failure = priced(reached)
    now = tool_replacement.replacement_cost(planned, failure.whole, reached, use.mean_use)
    best = _cheapest(tool, life, priced, reached)
    through = sheet.parts_in[step.name] * sheet.rhythm.per_year
    waiting = tool_replacement.run_to_failure_cost(life, priced(0.0 * reached)[1].whole)
    return ToolRisk(
        step=step.name,
        tool=tool.name,
        life_parts=life,
        variation=tool.variation,
        planned_cost=planned,
        failure=failure,
        lost_parts=lost,
        now=Policy(use.parts_per_edge, now, now * through, use.failures * through),
        cheapest=Policy(best.change_at, best.cost, best.cost * through, best.failures * through),
        to_failure=Policy(NEVER, waiting, waiting * through, through / life),
    )


class _Cheapest(NamedTuple):
    """Count [part], its cost [money/part] and its failures [1/part]."""

    change_at: Number
    cost: Number
    failures: Number


def _cheapest(
    tool: Tool, life: Number, priced: Callable[[Number], tuple[Number, FailureCost]], reached: Number
) -> _Cheapest:
    """The cheapest count: what a tool lost is worth follows from how often it is, so that both are found in turn."""
    assert tool.variation is not None
    for _ in range(ROUNDS):
        planned, failure = priced(reached)
        best = tool_replacement.cheapest_count(
            life, tool.variation, planned, failure.whole, tool.family, tool.parts_rule
        )
        reached = best.reached
    failed = 1.0 - best.reached
    mean_use = (planned * best.reached + failure.whole * failed) / best.cost
    planned, failure = priced(reached)
    cost = (planned * reached + failure.whole * failed) / mean_use
    return _Cheapest(best.change_at, cost, failed / mean_use)


class Night(NamedTuple):
    """A stretch without a person: what it makes, and what failed tools spoil with and without detection."""

    loads: int
    minutes: Number
    """[min]"""
    parts: Number
    """Parts loaded [part]."""
    failure_chance: Number
    """Of any failure in the stretch [fraction]."""
    scrap_unseen: Number
    """Parts spoilt on average if nothing notices a failure [part]."""
    scrap_seen: Number
    """Parts spoilt on average if each is noticed at the end of its load [part]."""
    cost_unseen: Number
    """Of the parts spoilt, a year [money/yr]."""
    cost_seen: Number
    """[money/yr]"""


def night(study: Study, name: str, step: str, loads: int, nights: Number) -> Night:
    """What a stretch of loads without a person gives, with the failures of the step's tools.

    The price says nothing of fire, chips or people: running alone is for the insurer and the fire authority.
    """
    route = route_of(study, name)
    work = route_work(study.part, route, study.rates)[step]
    parts = work.step.parts_per_load
    chance: Number = -np.expm1(-work.losses.failures * parts)
    minutes = minutes_per_load(work.spent, parts)
    unseen = unattended.unattended_run(loads, parts, minutes, chance, 0.0)
    seen = unattended.unattended_run(loads, parts, minutes, chance, 1.0)
    each = part_sheet(alternative_cost(study, name)).cost_of_lost_part(step, work.step.salvage)
    return Night(
        loads=loads,
        minutes=unseen.minutes,
        parts=unseen.parts,
        failure_chance=unseen.failure_chance,
        scrap_unseen=unseen.expected_scrap,
        scrap_seen=seen.expected_scrap,
        cost_unseen=unattended.scrap_cost_per_year(unseen.expected_scrap, nights, each),
        cost_seen=unattended.scrap_cost_per_year(seen.expected_scrap, nights, each),
    )
