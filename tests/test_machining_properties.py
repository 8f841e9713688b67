"""What holds for every machining formula: it broadcasts, keeps floats, and stops at each limit it states.

The formulas are found by looking into their modules, so that a new one is tested as soon as it is written; an argument
with a new name needs a range below.
"""

from __future__ import annotations

import importlib
import inspect
import itertools
import re
from collections.abc import Callable, Iterator
from typing import Any, Literal, get_args, get_origin, get_type_hints

import numpy as np
import pytest

from costmodel.errors import LimitError
from costmodel.formulas._series import Series
from costmodel.units import Number

MODULES = (
    "bar_and_saw",
    "chip_thickness",
    "cutting",
    "cutting_force",
    "drilling_force",
    "holes",
    "labour",
    "life_factors",
    "machine_tending",
    "milling",
    "milling_paths",
    "thread_dimensions",
    "thread_force",
    "threads",
    "tool_cost",
    "tool_life",
    "tool_replacement",
    "tool_scatter",
    "turning",
    "unattended",
)
TABLES = {"cutting_force.kienzle_fit"}  # takes a table to plain numbers
WITHOUT_MEANING = {("mean_chip_thickness", "centred", "approximate")}
EDGE_COMPANIONS = {
    "rough_and_finish_passes": {"finish_allowance": 0.0}
}  # no stock goes with no allowance only
WHOLE = {"teeth": 4, "edges": 2, "regrinds": 3, "loads": 5, "machines": 6}
RANGES: dict[str, tuple[float, float]] = {
    "acceleration": (1e6, 1e7),
    "advance_minutes": (0.05, 0.2),
    "angle": (5.0, 40.0),
    "approach": (0.5, 3.0),
    "attendance": (0.1, 0.9),
    "available_minutes": (300.0, 900.0),
    "bar_change_minutes": (1.0, 4.0),
    "bar_diameter": (40.0, 60.0),
    "bar_length": (2000.0, 3000.0),
    "bore_diameter": (5.0, 20.0),
    "brisk_minutes": (30.0, 45.0),
    "careful_minutes": (50.0, 60.0),
    "change_minutes": (0.5, 4.0),
    "change_rate": (0.2, 1.0),
    "chip_thickness": (0.05, 0.4),
    "chisel_factor": (0.02, 0.05),
    "clearance": (0.5, 5.0),
    "coating": (1.0, 2.0),
    "coefficient": (500.0, 2000.0),
    "constant": (200.0, 500.0),
    "coolant": (0.9, 1.5),
    "corner_radius": (13.0, 20.0),
    "cost_per_life": (1.0, 9.0),
    "cost_per_lost_part": (5.0, 30.0),
    "cost_per_part": (5.0, 30.0),
    "count": (200.0, 700.0),
    "cross_section": (500.0, 5000.0),
    "cut_minutes": (0.5, 2.0),
    "cuts": (1.0, 4.0),
    "cutter_diameter": (8.0, 14.0),
    "cutting_rate": (500.0, 2000.0),
    "cutting_speed": (50.0, 200.0),
    "depth": (5.0, 9.0),
    "depth_exponent": (0.2, 1.0),
    "depth_of_cut": (1.0, 4.0),
    "depth_per_pass": (0.7, 2.0),
    "detection": (0.1, 0.9),
    "deviations": (1.0, 3.0),
    "diameter": (18.0, 24.0),
    "distance": (10.0, 900.0),
    "edge_angle": (30.0, 90.0),
    "edge_feed_speed": (200.0, 800.0),
    "efficiency": (0.5, 0.95),
    "entries": (1.0, 9.0),
    "entry_turns": (0.2, 1.0),
    "expected_scrap": (0.1, 2.0),
    "exponent": (0.15, 0.4),
    "failure_chance": (0.001, 0.2),
    "failure_cost": (100.0, 500.0),
    "feed": (0.1, 0.4),
    "feed_exponent": (0.3, 0.9),
    "feed_per_tooth": (0.05, 0.2),
    "feed_speed": (300.0, 900.0),
    "finish_allowance": (0.1, 0.5),
    "first_constant": (100.0, 200.0),
    "first_exponent": (0.1, 0.2),
    "first_infeed": (0.1, 0.3),
    "flat": (0.1, 1.0),
    "flutes": (2.0, 6.0),
    "force": (200.0, 3000.0),
    "good": (5.0, 10.0),
    "hand_tight_length": (3.0, 6.0),
    "handling_minutes": (1.0, 4.0),
    "hands_on_minutes": (3.0, 9.0),
    "height": (20.0, 90.0),
    "hole_diameter": (14.0, 17.5),
    "included_angle": (20.0, 90.0),
    "inner_diameter": (10.0, 60.0),
    "lead_threads": (2.0, 5.0),
    "length": (120.0, 200.0),
    "levels": (1.0, 3.0),
    "life": (5.0, 90.0),
    "lift": (0.6, 2.0),
    "lives": (2.0, 8.0),
    "loading_minutes": (5.0, 70.0),
    "loads_ready": (3.0, 9.0),
    "loss_rate": (10.0, 40.0),
    "lost_parts": (1.0, 20.0),
    "lot": (10.0, 200.0),
    "machine_minutes": (20.0, 60.0),
    "machine_rate": (0.5, 2.0),
    "material_factor": (5000.0, 24000.0),
    "maximum_chip_thickness": (0.02, 0.1),
    "maximum_spindle_speed": (300.0, 600.0),
    "mean": (400.0, 800.0),
    "mean_use": (100.0, 400.0),
    "minutes": (1.0, 90.0),
    "minutes_per_entry": (0.01, 0.1),
    "minutes_per_load": (20.0, 60.0),
    "nights": (100.0, 250.0),
    "opening_diameter": (25.0, 35.0),
    "outer_diameter": (80.0, 120.0),
    "outside_diameter": (10.0, 30.0),
    "overrun": (1.0, 5.0),
    "overtravel": (1.0, 5.0),
    "part_length": (20.0, 90.0),
    "parting_width": (2.0, 4.0),
    "parts": (20.0, 30.0),
    "parts_per_bar": (20.0, 60.0),
    "parts_per_edge": (50.0, 300.0),
    "parts_per_load": (2.0, 8.0),
    "parts_per_year": (1000.0, 5000.0),
    "path_length": (100.0, 900.0),
    "pecks": (2.0, 6.0),
    "pitch": (0.5, 2.5),
    "planned_cost": (20.0, 60.0),
    "point_angle": (90.0, 140.0),
    "power": (1.0, 9.0),
    "price": (10.0, 60.0),
    "programme_minutes": (20.0, 60.0),
    "radial_depth": (2.0, 8.0),
    "radial_stock": (2.0, 8.0),
    "rapid_rate": (5000.0, 20000.0),
    "rate": (0.5, 2.0),
    "reached": (0.1, 0.9),
    "reference_run_out": (0.001, 0.002),
    "regrind_minutes": (3.0, 9.0),
    "regrind_price": (3.0, 9.0),
    "regrind_rate": (0.2, 1.0),
    "remnant": (100.0, 300.0),
    "removal_rate": (1e4, 1e5),
    "reserve": (0.1, 0.4),
    "restart_gap": (0.1, 0.5),
    "return_speed_ratio": (1.0, 3.0),
    "reversing": (0.001, 0.01),
    "run_minutes": (20.0, 60.0),
    "run_out": (0.002, 0.006),
    "runs": (1.0, 4.0),
    "second_constant": (250.0, 400.0),
    "second_exponent": (0.25, 0.4),
    "service_minutes": (3.0, 9.0),
    "set_up_minutes": (20.0, 90.0),
    "specific_force": (600.0, 3000.0),
    "spindle_speed": (500.0, 3000.0),
    "spoilt": (1.0, 3.0),
    "standard_deviation": (20.0, 60.0),
    "stepover": (4.0, 9.0),
    "stock": (3.0, 9.0),
    "stopped_minutes": (5.0, 90.0),
    "swap_minutes": (0.5, 3.0),
    "thickness_exponent": (0.1, 0.3),
    "thread_depth": (0.5, 2.0),
    "threads_per_inch": (10.0, 30.0),
    "thrust_chisel_factor": (1.0, 1.5),
    "tool_cost": (5.0, 30.0),
    "tool_width": (2.0, 4.0),
    "torque": (5.0, 90.0),
    "torque_chisel_factor": (1.0, 1.5),
    "travel": (20.0, 40.0),
    "turns": (5.0, 9.0),
    "unit_minutes": (1.0, 9.0),
    "unit_specific_force": (600.0, 2500.0),
    "use": (200.0, 700.0),
    "variation": (0.1, 0.6),
    "volume": (1e4, 1e5),
    "walk_minutes": (0.5, 2.0),
    "wall_allowance": (0.1, 0.4),
    "wall_feed_speed": (200.0, 500.0),
    "wall_levels": (1.0, 3.0),
    "wear_factor": (1.0, 1.5),
    "width": (60.0, 100.0),
    "width_of_cut": (3.0, 8.0),
}
SERIES_RANGES: dict[str, tuple[tuple[float, float], ...]] = {
    "speeds": ((100.0, 150.0), (200.0, 300.0)),
    "lives": ((40.0, 90.0), (3.0, 9.0)),
    "cut_minutes": ((0.5, 2.0), (0.2, 1.0)),
    "machine_minutes": ((20.0, 60.0), (10.0, 50.0)),
    "hands_on_minutes": ((3.0, 9.0), (5.0, 60.0)),
}
Formula = Callable[..., Any]


def public_formulas() -> list[tuple[str, Formula]]:
    found: list[tuple[str, Formula]] = []
    for module_name in MODULES:
        module = importlib.import_module(f"costmodel.formulas.{module_name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            path = f"{module_name}.{name}"
            if function.__module__ == module.__name__ and not name.startswith("_") and path not in TABLES:
                found.append((path, function))
    return found


FORMULAS = public_formulas()
every_formula = pytest.mark.parametrize(
    "formula", [formula for _, formula in FORMULAS], ids=[name for name, _ in FORMULAS]
)


def hints(formula: Formula) -> dict[str, Any]:
    return {name: hint for name, hint in get_type_hints(formula).items() if name != "return"}


def numeric(formula: Formula) -> list[str]:
    return [name for name, hint in hints(formula).items() if hint == Number]


def series(formula: Formula) -> list[str]:
    return [name for name, hint in hints(formula).items() if hint == Series]


def conventions(formula: Formula) -> Iterator[dict[str, str]]:
    """Every combination of the conventions that means something."""
    choices = {name: get_args(hint) for name, hint in hints(formula).items() if get_origin(hint) is Literal}
    for combination in itertools.product(*choices.values()):
        if (formula.__name__, *combination) not in WITHOUT_MEANING:
            yield dict(zip(choices, combination, strict=True))


def whole(formula: Formula) -> dict[str, int]:
    return {name: WHOLE[name] for name, hint in hints(formula).items() if hint is int}


def middle(formula: Formula) -> dict[str, Any]:
    """Arguments in the middle of their ranges; the conventions keep their defaults."""
    values: dict[str, Any] = {name: sum(RANGES[name]) / 2 for name in numeric(formula)}
    values |= {name: [sum(ends) / 2 for ends in SERIES_RANGES[name]] for name in series(formula)}
    return values | whole(formula)


def drawn(formula: Formula, shape: tuple[int, ...], generator: np.random.Generator) -> dict[str, Any]:
    values: dict[str, Any] = {name: generator.uniform(*RANGES[name], shape) for name in numeric(formula)}
    for name in series(formula):
        values[name] = [generator.uniform(*ends, shape) for ends in SERIES_RANGES[name]]
    return values


def at(values: dict[str, Any], place: tuple[int, ...]) -> dict[str, Any]:
    """The floats at one place of drawn arguments."""

    def one(value: Any) -> Any:
        if isinstance(value, list):
            return [one(item) for item in value]
        return float(np.broadcast_to(value, (3, 4))[place])

    return {name: one(value) for name, value in values.items()}


def fields(result: Any) -> tuple[Any, ...]:
    return tuple(result) if isinstance(result, tuple) else (result,)


@every_formula
def test_arrays_give_what_floats_give(formula: Formula) -> None:
    generator = np.random.default_rng(7)
    values = drawn(formula, (3, 4), generator)
    names = numeric(formula)
    if names:  # one argument as a column, the others as a row: a range against draws
        values = {name: value[0] if name in names else value for name, value in values.items()}
        values[names[0]] = generator.uniform(*RANGES[names[0]], (3, 1))
    for convention in conventions(formula):
        fixed = whole(formula) | convention
        together = fields(formula(**values, **fixed))
        for place in itertools.product(range(3), range(4)):
            for got, alone in zip(together, fields(formula(**at(values, place), **fixed)), strict=True):
                assert isinstance(alone, float), "float in, float out"
                wide = np.broadcast_to(np.asarray(got), (3, 4))
                np.testing.assert_allclose(wide[place], alone, rtol=1e-9)


@every_formula
def test_arguments_are_left_alone(formula: Formula) -> None:
    values = drawn(formula, (4,), np.random.default_rng(8))
    for array in (
        item for value in values.values() for item in (value if isinstance(value, list) else [value])
    ):
        array.setflags(write=False)
    formula(**values, **whole(formula))


def stated_limits(formula: Formula) -> dict[str, list[tuple[str, float]]]:
    """Limits such as "> 0" by argument, from the docstring."""
    text = inspect.getdoc(formula) or ""
    section = text.partition("Parameters\n----------\n")[2].partition("\n\nReturns")[0]
    entries = re.findall(r"^(\w+)\n((?:    .*\n?)+)", section, re.MULTILINE)
    return {
        name: [(sign, float(value)) for sign, value in re.findall(r"([<>]=?) (-?[\d.]*\d)", description)]
        for name, description in entries
    }


def beyond(limit: tuple[str, float]) -> float:
    sign, value = limit
    return value if "=" not in sign else value + (1.0 if sign == "<=" else -1.0)


@every_formula
def test_each_stated_limit_stops(formula: Formula) -> None:
    limits = stated_limits(formula)
    for name in numeric(formula):
        assert limits[name], f"{name} states no limit"
        for wrong in (*(beyond(limit) for limit in limits[name]), np.nan):
            good = middle(formula)
            with pytest.raises(LimitError):
                formula(**good | {name: wrong})
            with pytest.raises(LimitError):
                formula(**good | {name: np.array([good[name], wrong])})
    for name in series(formula):
        assert limits[name], f"{name} states no limit"
        for wrong in (*(beyond(limit) for limit in limits[name]), np.nan):
            good = middle(formula)
            with pytest.raises(LimitError):
                formula(**good | {name: [good[name][0], wrong]})
            with pytest.raises(LimitError):
                formula(**good | {name: good[name] * 2})


@every_formula
def test_a_limit_that_belongs_to_the_range_is_allowed(formula: Formula) -> None:
    limits = stated_limits(formula)
    for name in (*numeric(formula), *whole(formula)):
        for sign, value in limits[name]:
            if "=" in sign:
                edge = int(value) if name in whole(formula) else value
                formula(**middle(formula) | EDGE_COMPANIONS.get(formula.__name__, {}) | {name: edge})


@every_formula
def test_counts_and_conventions_are_checked(formula: Formula) -> None:
    limits = stated_limits(formula)
    for name in whole(formula):
        for wrong in (int(limits[name][0][1]) - 1, 2.5, np.array([2, 3])):
            with pytest.raises(LimitError):
                formula(**middle(formula) | {name: wrong})
    for name in next(conventions(formula)):
        with pytest.raises(LimitError):
            formula(**middle(formula), **{name: "anything else"})


def test_the_modules_hold_formulas() -> None:
    assert len(FORMULAS) > 80
