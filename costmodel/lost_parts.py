"""What parts lost on the way have cost so far: one line a step, mark and index series, where they are lost."""

from __future__ import annotations

from collections.abc import Mapping

from costmodel.blank_cost import BLANK
from costmodel.cost_lines import Line, Mark, total
from costmodel.formulas import yields
from costmodel.records.route import OutsideStep, Route
from costmodel.units import Number


def scrap_lines(
    costs: Mapping[str, tuple[Line, ...]],
    route: Route,
    stage_yields: list[Number],
    loads: Mapping[str, Number],
    material_series: str,
) -> list[Line]:
    """What lost parts have cost so far, one line a step, mark and index series, where they are lost."""
    keys = dict.fromkeys(
        (line.mark, line.series) for lines in costs.values() for line in lines if _per_part(line)
    )
    scrap: list[Line] = []
    for mark, series in keys:
        adds = [_unit_cost(lines, mark, series, loads) for lines in costs.values()]
        salvaged = (mark, series) == ("cash", material_series)
        refunds = [
            _not_charged(name, route, lines, series, mark) + (_salvage(name, route) if salvaged else 0.0)
            for name, lines in costs.items()
        ]
        losses = yields.loss_by_stage(adds, stage_yields, refunds)
        scrap += [
            Line(name, "scrap", "part", mark, loss, series)
            for name, loss in zip(costs, losses, strict=True)
            if name != BLANK
        ]
    return scrap


def _salvage(name: str, route: Route) -> Number:
    """What a part lost in a step fetches [money/part]; its price follows that of the material."""
    return route.steps[name].salvage if name in route.steps else 0.0


def _per_part(line: Line) -> bool:
    return line.level in ("part", "load")


def per_part_amount(line: Line, loads: Mapping[str, Number]) -> Number:
    """What a line costs a part that goes through its step; nothing where it does not depend on the part."""
    if line.level == "load":
        return line.amount * loads[line.step]
    return line.amount if line.level == "part" else 0.0


def _unit_cost(lines: tuple[Line, ...], mark: Mark, series: str, loads: Mapping[str, Number]) -> Number:
    return total(
        per_part_amount(line, loads)
        for line in lines
        if _per_part(line) and line.mark == mark and line.series == series
    )


def _not_charged(name: str, route: Route, lines: tuple[Line, ...], series: str, mark: Mark) -> Number:
    """What a processor that charges good parts only takes back for a lost one [money/part]."""
    step = route.steps.get(name)
    if not isinstance(step, OutsideStep) or step.charged_rejects:
        return 0.0
    return total(
        line.amount
        for line in lines
        if line.level == "part" and line.mark == mark and line.series == series and line.element == "outside"
    )
