"""What cutting tools cost a part: edges used up by the life model of each tool."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import total
from costmodel.cut_time import CutTime
from costmodel.formulas import tool_cost, tool_life
from costmodel.records.rates import Rates, Tool
from costmodel.records.route import MachineStep
from costmodel.units import Number


class ToolUse(NamedTuple):
    """One tool in one step: minutes in cut and edges used for a part, and what that costs."""

    step: str
    tool: str
    life: str
    in_cut: Number
    """[min/part]"""
    parts_per_edge: Number
    """[part]"""
    cost_per_part: Number
    """[money/part]"""
    change_minutes_per_part: Number
    """[min/part]"""


def tool_uses(step: MachineStep, cuts: Iterable[CutTime], rates: Rates) -> tuple[ToolUse, ...]:
    """Every tool of a step with the edges that its cuts use up, wear summed over the cuts that share it."""
    by_tool: dict[str, list[CutTime]] = {}
    for cut in cuts:
        by_tool.setdefault(cut.tool, []).append(cut)
    return tuple(_use(step.name, rates.tools[name], shared) for name, shared in by_tool.items())


def _use(step: str, tool: Tool, cuts: list[CutTime]) -> ToolUse:
    in_cut = total(cut.in_cut for cut in cuts)
    parts = _parts_per_edge(tool, cuts, in_cut)
    return ToolUse(
        step=step,
        tool=tool.name,
        life=tool.life,
        in_cut=in_cut,
        parts_per_edge=parts * (1.0 - tool.reserve),
        cost_per_part=tool_cost.edge_cost_per_part(
            tool.price, parts, tool.edges, tool.regrinds, tool.regrind_price, tool.reserve
        ),
        change_minutes_per_part=tool_cost.change_minutes_per_part(
            tool.change_minutes, parts * (1.0 - tool.reserve)
        ),
    )


def _parts_per_edge(tool: Tool, cuts: list[CutTime], in_cut: Number) -> Number:
    """Parts of one edge before any reserve, by the model that the tool's row chooses."""
    if tool.life == "count":
        assert tool.parts_per_edge is not None
        return tool.parts_per_edge
    if tool.life == "minutes":
        assert tool.edge_minutes is not None
        return tool_cost.parts_per_edge(tool.edge_minutes, in_cut)
    wear = tool_cost.wear_per_part([cut.in_cut for cut in cuts], [_life(tool, cut) for cut in cuts])
    return tool_cost.parts_per_edge(1.0, wear)


def _life(tool: Tool, cut: CutTime) -> Number:
    """Minutes in cut until an edge is worn, by Taylor's law, with feed and depth where row and cut state them."""
    assert tool.taylor_constant is not None
    assert tool.taylor_exponent is not None
    if np.all(tool.feed_exponent == 0.0) and np.all(tool.depth_exponent == 0.0):
        return tool_life.taylor_life(cut.motion.cutting_speed, tool.taylor_constant, tool.taylor_exponent)
    return tool_life.extended_life(
        cut.motion.cutting_speed,
        cut.motion.feed,
        1.0 if cut.depth_of_cut is None else cut.depth_of_cut,
        tool.taylor_constant,
        tool.taylor_exponent,
        tool.feed_exponent,
        0.0 if cut.depth_of_cut is None else tool.depth_exponent,
    )
