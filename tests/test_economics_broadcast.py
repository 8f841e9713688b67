"""What every economic formula keeps: arrays are stacks of floats, stated limits hold, inputs stay untouched.

The formulas are found by introspection and fed by the names, types and stated limits of their parameters, so that a
new one is tested as soon as it is written.
"""

from __future__ import annotations

import importlib
import inspect
import itertools
import re
import types
import typing
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from costmodel.errors import LimitError
from costmodel.formulas._series import Series
from costmodel.units import Number

MODULES = [
    "annuity",
    "month_weights",
    "machine_hour",
    "rate_bases",
    "material",
    "blanks",
    "yields",
    "spoilage",
    "lot_charges",
    "learning",
    "learning_fit",
    "investment",
    "depreciation",
    "replacement",
    "escalation",
    "bridge",
    "break_even",
    "distributions",
    "quantiles",
    "risk",
    "sensitivity_indices",
]
OTHER_SHAPES = {
    "investment.internal_rates",  # one flow at a time: the number of rates varies
    "bridge.split_by_cause",  # takes a table of results
    "sensitivity_indices.first_order_index",  # reduces the draws
    "sensitivity_indices.total_index",
}
ROUGHER = {"quantiles.pert_quantile": 1e-7}
"""Formulas with a convention that is exact for arrays of parameters and a table for floats."""
MAY_END_APART = {"depreciation.after_tax_flow", "depreciation.tax_payments"}
"""Depreciation may end before or after the savings."""
JUST = 0.01
TIED = {
    ("material.material_cost", "mass"),
    ("material.removed_volume", "blank_volume"),
    ("material.chip_share", "blank_volume"),
    ("blanks.tube_volume", "outer_diameter"),
    ("spoilage.job_cost_with_spoilage", "units"),
    ("break_even.step_break_even", "range_ends"),
}
"""Parameters that another one keeps further from their limit."""
DRAWS = 5
FRACTIONS, NUMBERS = (0.55, 0.9), (2.0, 5.0)
RANGES = {
    "u": (0.02, 0.98),
    "growth": (-0.02, 0.05),
    "saving_per_part": (-2.0, 5.0),
    "saving": (-2.0, 5.0),
    "salvage": (-2.0, 1.0),
    "production_rate": (50.0, 60.0),
    "inner_diameter": (0.5, 1.5),
    "chip_mass": (0.5, 1.5),
    "part_volume": (0.5, 1.5),
    "from_unit": (1.0, 9.0),
    "to_unit": (20.0, 50.0),
    "number": (20.0, 50.0),
    "units": (50.0, 60.0),
    "bar_length": (3000.0, 4000.0),
    "low": (1.0, 2.0),
    "likely": (3.0, 4.0),
    "high": (5.0, 6.0),
    "p10": (1.0, 2.0),
    "p50": (3.0, 4.0),
    "p90": (5.0, 6.0),
    "correlation": (0.1, 0.9),
    "pearson": (-0.9, 0.9),
    "rank": (-0.9, 0.9),
}
ITEM_RANGES = {
    "flows": ((-10.0, -5.0), (2.0, 6.0), (2.0, 6.0)),
    "range_ends": ((300.0, 400.0), (500.0, 600.0), (700.0, 900.0)),
    "pattern": (NUMBERS,) * 5,
}
COUNTS = {
    "periods": 4,
    "weeks": 5,
    "years": 4,
    "repeats": 3,
    "recovery_years": 5,
    "first_month": 2,
    "last_month": 6,
    "growth_from": 1,
}


def formulas() -> dict[str, Callable[..., Any]]:
    found = {}
    for name in MODULES:
        module = importlib.import_module(f"costmodel.formulas.{name}")
        for attribute, value in vars(module).items():
            if inspect.isfunction(value) and value.__module__ == module.__name__ and attribute[0] != "_":
                found[f"{name}.{attribute}"] = value
    return found


ALL = formulas()
BROADCASTING = {name: formula for name, formula in ALL.items() if name not in OTHER_SHAPES}


def stated(formula: Callable[..., Any]) -> dict[str, str]:
    """What the docstring says of each parameter."""
    text = inspect.getdoc(formula) or ""
    section = text.partition("Parameters\n----------\n")[2].partition("\n\n")[0]
    parts = re.split(r"^(\w+)\n", section, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def kinds(formula: Callable[..., Any]) -> dict[str, str]:
    """Each parameter as "number", "series", "payoffs", "count" or "choice"."""
    hints = typing.get_type_hints(formula)
    found = {}
    for name in inspect.signature(formula).parameters:
        hint = hints[name]
        options = typing.get_args(hint) if isinstance(hint, types.UnionType) else (hint,)
        if name == "payoffs":
            found[name] = "payoffs"
        elif hint == Number:
            found[name] = "number"
        elif hint == Series or Series in options or set(typing.get_args(Series)) <= set(options):
            found[name] = "series"
        elif hint is int:
            found[name] = "count"
        else:
            assert typing.get_origin(hint) is typing.Literal, f"{formula.__name__}: {name} is {hint}"
            found[name] = "choice"
    return found


def choices(formula: Callable[..., Any]) -> Iterator[dict[str, str]]:
    """Every combination of the conventions of a formula."""
    hints = typing.get_type_hints(formula)
    names = [name for name, kind in kinds(formula).items() if kind == "choice"]
    for picked in itertools.product(*(typing.get_args(hints[name]) for name in names)):
        yield dict(zip(names, picked, strict=True))


def drawn(generator: np.random.Generator, limits: tuple[float, float]) -> Any:
    values = generator.uniform(*limits, DRAWS)
    values.setflags(write=False)
    return values


def shares(generator: np.random.Generator) -> list[Any]:
    parts = [drawn(generator, NUMBERS) for _ in range(3)]
    return [part / (parts[0] + parts[1] + parts[2]) for part in parts]


def arguments(formula: Callable[..., Any], seed: int = 1) -> dict[str, Any]:
    """Valid arguments of a formula, every number an array of draws."""
    generator = np.random.default_rng(seed)
    texts = stated(formula)
    given: dict[str, Any] = {}
    for name, kind in kinds(formula).items():
        default = RANGES.get(name, FRACTIONS if "[fraction" in texts[name] else NUMBERS)
        if kind == "number":
            given[name] = drawn(generator, default)
        elif kind == "count":
            given[name] = COUNTS[name]
        elif name == "chances":
            given[name] = shares(generator)
        elif kind == "series":
            given[name] = [drawn(generator, limits) for limits in ITEM_RANGES.get(name, (default,) * 3)]
        elif kind == "payoffs":
            given[name] = [[drawn(generator, NUMBERS) for _ in range(3)] for _ in range(3)]
    return given


def at(value: Any, draw: int) -> Any:
    """The arguments or results of one draw."""
    if isinstance(value, dict):
        return {name: at(item, draw) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [at(item, draw) for item in value]
    return float(value[draw]) if isinstance(value, np.ndarray) else value


def leaves(result: Any) -> list[Any]:
    """The numbers of a result, whether it is one, a tuple or a table of several."""
    if isinstance(result, tuple):
        return [leaf for item in result for leaf in leaves(item)]
    return [result]


def test_only_the_formulas_named_here_take_other_shapes() -> None:
    assert set(ALL) >= OTHER_SHAPES
    assert len(BROADCASTING) > 100


@pytest.mark.parametrize("name", BROADCASTING)
def test_an_array_equals_a_stack_of_floats(name: str) -> None:
    formula, tolerance = BROADCASTING[name], ROUGHER.get(name, 1e-12)
    given = arguments(formula)
    for convention in choices(formula):
        together = leaves(formula(**given, **convention))
        for draw in range(DRAWS):
            single = leaves(formula(**at(given, draw), **convention))
            assert all(isinstance(leaf, float) for leaf in single), f"{name} {convention}: {single}"
            row = [np.broadcast_to(leaf, (DRAWS,))[draw] for leaf in together]
            assert row == pytest.approx(single, rel=tolerance, abs=tolerance), f"{name} {convention}"


@pytest.mark.parametrize("name", BROADCASTING)
def test_a_column_meets_a_row(name: str) -> None:
    formula = BROADCASTING[name]
    rows, columns = arguments(formula, seed=2), arguments(formula, seed=3)
    first = next(parameter for parameter, kind in kinds(formula).items() if kind in ("number", "series"))
    given = dict(rows)
    if kinds(formula)[first] == "number":
        given[first] = columns[first][:, np.newaxis]
    else:
        given[first] = [item[:, np.newaxis] for item in columns[first]]
    result = leaves(formula(**given))
    for row, column in ((0, 1), (4, 2)):
        single = leaves(formula(**{**at(rows, column), first: at(columns[first], row)}))
        found = [np.broadcast_to(leaf, (DRAWS, DRAWS))[row, column] for leaf in result]
        assert found == pytest.approx(single, rel=1e-12, abs=1e-12)


def with_value(given: dict[str, Any], name: str, value: float) -> dict[str, Any]:
    """The arguments with one number replaced, the middle one of a series."""
    if not isinstance(given[name], list):
        return {**given, name: value}
    items = list(given[name])
    items[1] = value
    return {**given, name: items}


def numeric_parameters() -> list[tuple[str, str]]:
    return [
        (name, parameter)
        for name, formula in BROADCASTING.items()
        for parameter, kind in kinds(formula).items()
        if kind in ("number", "series")
    ]


@pytest.mark.parametrize(("name", "parameter"), numeric_parameters())
def test_what_is_no_number_is_refused(name: str, parameter: str) -> None:
    formula = BROADCASTING[name]
    given = at(arguments(formula), 0)
    for convention in choices(formula):
        with pytest.raises(LimitError):
            formula(**with_value(given, parameter, np.nan), **convention)


def outside_and_edges(text: str) -> tuple[list[float], list[float]]:
    """Values outside the stated limits, and the outermost that are allowed."""
    outside, edges = [], []
    signed = re.sub(r"\s+", " ", text)
    if match := re.search(r"(?:(?<!-)> |above )(-?\d[\d.]*\d|-?\d)(?![\d/])", signed):
        limit = float(match[1])
        outside += [limit, limit - 0.25]
        edges.append(limit + JUST)
    if match := re.search(r">= (-?\d+)", signed):
        outside.append(float(match[1]) - 0.25)
        edges.append(float(match[1]))
    if match := re.search(r"(-1|0)(?: \(default\))? to 1\b", signed):
        outside += [float(match[1]) - 0.25, 1.25]
        edges += [float(match[1]), 1.0]
    if match := re.search(r"at most (\d+)", signed):
        outside.append(float(match[1]) + 0.25)
        edges.append(float(match[1]))
    if match := re.search(r"below (\d+)\b(?! %)", signed):
        outside += [float(match[1]), float(match[1]) + 0.25]
        edges.append(float(match[1]) - JUST)
    if re.search(r"\[fraction\](?!, (>|above|any|no))", signed) and not outside:
        outside, edges = [-0.25, 1.25], [0.0, 1.0]
    if re.search(r"\[fraction\], below 1", signed):
        outside.append(-0.25)
        edges.append(0.0)
    return outside, edges


def limited_parameters() -> list[tuple[str, str]]:
    return [
        (name, parameter)
        for name, parameter in numeric_parameters()
        if parameter != "chances" and outside_and_edges(stated(BROADCASTING[name])[parameter])[0]
    ]


def test_most_parameters_state_a_limit() -> None:
    assert len(limited_parameters()) > 200


@pytest.mark.parametrize(("name", "parameter"), limited_parameters())
def test_a_stated_limit_holds(name: str, parameter: str) -> None:
    formula = BROADCASTING[name]
    outside, edges = outside_and_edges(stated(formula)[parameter])
    given = at(arguments(formula), 0)
    for value in outside:
        with pytest.raises(LimitError):
            formula(**with_value(given, parameter, value))
        inside = given[parameter][1] if isinstance(given[parameter], list) else given[parameter]
        with pytest.raises(LimitError):
            formula(**with_value(given, parameter, np.array([inside, value, inside])))
    for value in edges if (name, parameter) not in TIED else ():
        formula(**with_value(given, parameter, value))


def count_parameters() -> list[tuple[str, str]]:
    return [
        (name, parameter)
        for name, formula in BROADCASTING.items()
        for parameter, kind in kinds(formula).items()
        if kind == "count"
    ]


@pytest.mark.parametrize(("name", "parameter"), count_parameters())
def test_a_count_is_a_whole_number(name: str, parameter: str) -> None:
    formula = BROADCASTING[name]
    given = at(arguments(formula), 0)
    for value in (-1, 2.5, True, np.array([2.0, 3.0])):
        with pytest.raises((LimitError, TypeError)):
            formula(**{**given, parameter: value})


@pytest.mark.parametrize(
    "name", [name for name in BROADCASTING if "choice" in kinds(BROADCASTING[name]).values()]
)
def test_an_unknown_convention_is_refused(name: str) -> None:
    formula = BROADCASTING[name]
    given = at(arguments(formula), 0)
    for parameter, kind in kinds(formula).items():
        if kind == "choice":
            with pytest.raises(LimitError, match=parameter):
                formula(**{**given, parameter: "as last year"})


@pytest.mark.parametrize(
    "name", [name for name in BROADCASTING if "series" in kinds(BROADCASTING[name]).values()]
)
def test_a_series_of_another_length_or_none_is_refused(name: str) -> None:
    formula = BROADCASTING[name]
    given = at(arguments(formula), 0)
    series = [parameter for parameter, kind in kinds(formula).items() if kind == "series"]
    for parameter in series:
        with pytest.raises(LimitError):
            formula(**{**given, parameter: []})
        if len(series) > 1 and name not in MAY_END_APART:
            with pytest.raises(LimitError):
                formula(**{**given, parameter: [*given[parameter], given[parameter][-1]]})
