"""What a log of tool lives says: life and its scatter, Taylor's constants, and plainly where it says nothing."""

from __future__ import annotations

from typing import Literal, NamedTuple

from costmodel.formulas import life_fit
from costmodel.formulas.tool_scatter import Family
from costmodel.records.life_log import EdgeLife, LifeLog

Unit = Literal["parts", "minutes"]
FEWEST_FOR_SPREAD = 2
FEWEST_SPEEDS = 2
UNIT_FEED = 1.0
"""The feed that Taylor's constant refers to where the law has a feed exponent [mm]."""


class ToolLog(NamedTuple):
    """What the log says of one tool."""

    tool: str
    unit: Unit
    """In what its life is counted."""
    edges: int
    worn: int
    scatter: life_fit.ScatterFit
    """Life and its scatter over all settings in the log."""
    taylor: life_fit.TaylorLogFit | None
    """None where the log has minutes at one speed only, or no minutes."""
    constant_feed: float | None
    """Feed that Taylor's constant refers to [mm]: 1 with a feed exponent, else the one feed of the log; None untold."""
    safe: life_fit.SafeChange | None
    """Mean less three standard deviations; None below two worn edges or where edges were taken out still good."""


def read_life(log: LifeLog, family: Family = "weibull", confidence: float = 0.95) -> tuple[ToolLog, ...]:
    """Fit every tool of a log by maximum likelihood; edges taken out still good count as such."""
    by_tool: dict[str, list[EdgeLife]] = {}
    for edge in log.edges.values():
        by_tool.setdefault(edge.tool, []).append(edge)
    return tuple(_tool(name, edges, family, confidence) for name, edges in by_tool.items())


def by_field(fit: object) -> object:
    """A fit as mappings and numbers, for JSON: every estimate with its value and bounds, None where untold."""
    if hasattr(fit, "_asdict"):
        return {name: by_field(value) for name, value in fit._asdict().items()}
    return fit


def _tool(name: str, edges: list[EdgeLife], family: Family, confidence: float) -> ToolLog:
    unit: Unit = "parts" if all(edge.parts is not None for edge in edges) else "minutes"
    known = [edge for edge in edges if getattr(edge, unit) is not None]
    lives = [float(getattr(edge, unit)) for edge in known]
    worn = [edge.worn == "yes" for edge in known]
    return ToolLog(
        tool=name,
        unit=unit,
        edges=len(known),
        worn=sum(worn),
        scatter=life_fit.fit_scatter(lives, worn, family, confidence),
        taylor=_taylor(edges, family, confidence),
        constant_feed=_constant_feed(_timed(edges)),
        safe=life_fit.safe_change(lives) if all(worn) and len(lives) >= FEWEST_FOR_SPREAD else None,
    )


def _timed(edges: list[EdgeLife]) -> list[EdgeLife]:
    return [edge for edge in edges if edge.minutes is not None and edge.cutting_speed is not None]


def _feeds(timed: list[EdgeLife]) -> list[float]:
    """The feed of each edge where all of them state it."""
    feeds = [float(edge.feed) for edge in timed if edge.feed is not None]
    return feeds if len(feeds) == len(timed) else []


def _constant_feed(timed: list[EdgeLife]) -> float | None:
    different = set(_feeds(timed))
    if not different:
        return None
    return UNIT_FEED if len(different) > 1 else different.pop()


def _taylor(edges: list[EdgeLife], family: Family, confidence: float) -> life_fit.TaylorLogFit | None:
    timed = _timed(edges)
    speeds = [float(edge.cutting_speed) for edge in timed if edge.cutting_speed is not None]
    if len(set(speeds)) < FEWEST_SPEEDS:
        return None
    feeds = _feeds(timed)
    return life_fit.fit_taylor(
        speeds,
        [float(edge.minutes) for edge in timed if edge.minutes is not None],
        [edge.worn == "yes" for edge in timed],
        feeds if len(set(feeds)) > 1 else None,
        family,
        confidence,
    )
