"""What cutting tools cost a part: edges used up by the life model of each tool, and edges that fail before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import total
from costmodel.cut_time import CutTime, Stretch
from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import life_factors, tool_cost, tool_life, tool_lives, tool_replacement, tool_scatter
from costmodel.records.tool import Tool
from costmodel.units import Number

NEVER_FAILS = 0.0
TO_FAILURE = float("inf")


class ToolUse(NamedTuple):
    """One tool in one step: minutes in cut and edges used for a part, what that costs, how often edges fail."""

    step: str
    tool: str
    life: str
    in_cut: Number
    """[min/part]"""
    life_parts: Number
    """Parts until an edge is worn, the mean where life scatters [part]."""
    parts_per_edge: Number
    """Parts after which an edge is changed as planned; endless where it is run to failure [part]."""
    mean_use: Number
    """Parts an edge makes on average, failures before the change counted [part]."""
    failures: Number
    """Edges that fail before their change [1/part]."""
    cost_per_part: Number
    """[money/part]"""
    change_minutes_per_part: Number
    """Hands-on minutes of changing worn edges [min/part]."""
    machine_waits: bool
    """Whether the machine stands meanwhile, since no sister tool takes over."""

    @property
    def life_used(self) -> Number:
        """Share of an edge's life that is used before it is changed, failures counted [fraction]."""
        return self.mean_use / self.life_parts

    @property
    def waiting_per_part(self) -> Number:
        """Machine minutes of changing worn edges [min/part]."""
        return self.change_minutes_per_part if self.machine_waits else 0.0


def tool_uses(step: str, cuts: Iterable[CutTime], tools: Mapping[str, Tool]) -> tuple[ToolUse, ...]:
    """Every tool of a step with the edges that its cuts use up, wear summed over the cuts that share it.

    Raises InputError for a tool that does not last one whole part where whole parts are asked.
    """
    by_tool: dict[str, list[CutTime]] = {}
    for cut in cuts:
        by_tool.setdefault(cut.tool, []).append(cut)
    return tuple(_use(step, tools[name], shared) for name, shared in by_tool.items())


def price_of_a_life(tool: Tool, reached: Number) -> tool_lives.LifePrice:
    """What an edge costs that is changed as planned or fails, with its share of the tool and of its regrinds."""
    if tool.lost_in_failure == "tool":
        return tool_lives.price_of_a_life(
            tool.price, reached, tool.edges, tool.regrinds, tool.regrind_price, tool.last_life
        )
    edge = tool_cost.edge_cost_per_part(
        tool.price, 1.0, tool.edges, tool.regrinds, tool.regrind_price, last_life=tool.last_life
    )
    return tool_lives.LifePrice(edge, edge, edge)


def _use(step: str, tool: Tool, cuts: list[CutTime]) -> ToolUse:
    in_cut = total(cut.in_cut for cut in cuts)
    try:
        life = _life_in_parts(tool, cuts, in_cut)
        planned = tool_cost.parts_per_edge(life * (1.0 - tool.reserve), 1.0, tool.parts_rule)
        if tool.policy == "to failure":
            planned = TO_FAILURE
        reached, mean_use = _scatter(tool, planned, life)
        price = price_of_a_life(tool, reached)
        cost = tool_replacement.replacement_cost(price.mean, price.mean, reached, mean_use)
        changing = tool_cost.change_minutes_per_part(tool.change_minutes, mean_use)
    except LimitError as error:
        place, found = f"tools.{tool.name}", f"{error.name} {error.value}"
        remedy = "Its edge does not last one part as stated: correct its life or the cuts that wear it."
        raise InputError([Problem("rates", place, found, error.expected, remedy)]) from error
    return ToolUse(
        step=step,
        tool=tool.name,
        life=tool.life,
        in_cut=in_cut,
        life_parts=life,
        parts_per_edge=planned,
        mean_use=mean_use,
        failures=(1.0 - reached) / mean_use,
        cost_per_part=cost,
        change_minutes_per_part=changing,
        machine_waits=tool.sisters == 1,
    )


def _scatter(tool: Tool, planned: Number, life: Number) -> tuple[Number, Number]:
    """Chance that an edge reaches its planned change, and the parts it makes on average."""
    if tool.variation is None:
        return 1.0 - NEVER_FAILS, planned
    if tool.policy == "to failure":
        return 0.0, life
    return (
        tool_scatter.reliability(planned, life, tool.variation, tool.family),
        tool_scatter.expected_use(planned, life, tool.variation, tool.family),
    )


def _life_in_parts(tool: Tool, cuts: list[CutTime], in_cut: Number) -> Number:
    """Parts of one edge before any reserve, by the model that the tool's row chooses."""
    factor = life_factors.life_factor(tool.run_out_factor, tool.coolant_factor, tool.coating_factor)
    if tool.life == "count":
        assert tool.parts_per_edge is not None
        return factor * tool.parts_per_edge
    if tool.life == "minutes":
        assert tool.edge_minutes is not None
        return tool_cost.parts_per_edge(factor * tool.edge_minutes, in_cut)
    if tool.life == "holes":
        assert tool.holes_per_edge is not None
        return tool_cost.parts_per_edge(factor * tool.holes_per_edge, total(float(cut.times) for cut in cuts))
    if tool.life == "length":
        assert tool.edge_length is not None
        return tool_cost.parts_per_edge(factor * tool.edge_length, total(cut.fed_length for cut in cuts))
    worn = [(stretch, cut.motion.cutting_speed) for cut in cuts for stretch in cut.wear]
    lives = [factor * taylor_life(tool, stretch, speed) for stretch, speed in worn]
    wear = tool_cost.wear_per_part([stretch.minutes for stretch, _ in worn], lives)
    return tool_cost.parts_per_edge(1.0, wear)


def taylor_life(tool: Tool, stretch: Stretch, cutting_speed: Number) -> Number:
    """Minutes in cut until an edge is worn, by Taylor's law, with feed and depth where row and cut state them.

    A finish pass without stock takes its feed alone.
    """
    assert tool.taylor_constant is not None
    assert tool.taylor_exponent is not None
    if np.all(tool.feed_exponent == 0.0) and np.all(tool.depth_exponent == 0.0):
        return tool_life.taylor_life(cutting_speed, tool.taylor_constant, tool.taylor_exponent)
    shallow = stretch.depth is None or bool(np.any(stretch.depth <= 0.0))
    return tool_life.extended_life(
        cutting_speed,
        stretch.feed,
        1.0 if stretch.depth is None or shallow else stretch.depth,
        tool.taylor_constant,
        tool.taylor_exponent,
        tool.feed_exponent,
        0.0 if shallow else tool.depth_exponent,
    )
