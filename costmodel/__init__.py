"""Make it or buy it: the cost of a machined component, made by a route or bought from a supplier.

The public names load when they are first used, so that a command starts at once. Functions that bear the name
of their module are imported from it: ``from costmodel.part_cost import part_cost``.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from costmodel.crossings import break_even_volumes
    from costmodel.decision import decide
    from costmodel.errors import InputError
    from costmodel.information import value_of_information
    from costmodel.make_or_buy import alternative_cost, compare
    from costmodel.payback import cumulative_saving
    from costmodel.reading import read_part, read_quotes, read_rates, read_study
    from costmodel.records.address import sweep
    from costmodel.scenarios import scenario_cases
    from costmodel.sensitivity import swings
    from costmodel.uncertainty import sample, simulate

_HOMES = {
    "InputError": "errors",
    "alternative_cost": "make_or_buy",
    "break_even_volumes": "crossings",
    "compare": "make_or_buy",
    "cumulative_saving": "payback",
    "decide": "decision",
    "read_part": "reading",
    "read_quotes": "reading",
    "read_rates": "reading",
    "read_study": "reading",
    "sample": "uncertainty",
    "scenario_cases": "scenarios",
    "simulate": "uncertainty",
    "sweep": "records.address",
    "swings": "sensitivity",
    "value_of_information": "information",
}

__all__ = [
    "InputError",
    "alternative_cost",
    "break_even_volumes",
    "compare",
    "cumulative_saving",
    "decide",
    "read_part",
    "read_quotes",
    "read_rates",
    "read_study",
    "sample",
    "scenario_cases",
    "simulate",
    "sweep",
    "swings",
    "value_of_information",
]


def __getattr__(name: str) -> Any:
    """A public name from its module, at first use."""
    if name in _HOMES:
        return getattr(import_module(f"costmodel.{_HOMES[name]}"), name)
    if name in ("show", "tables"):
        return import_module(f"costmodel.{name}")
    raise AttributeError(f"module costmodel has no attribute {name}")
