"""Parameters of a notebook: its one tagged cell says which there are, and of what kind each is. They stay data."""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from costmodel.errors import InputError, Problem, check_draws

TAG = "parameters"


def read_notebook(path: Path) -> Any:
    """The notebook of a file; raises InputError where it is none."""
    import nbformat

    library: Any = nbformat  # has no type information of its own
    try:
        return library.read(path, as_version=4)
    except Exception as error:
        expected = "a notebook that can be read"
        raise InputError(
            [Problem(path.name, "file", str(error), expected, "Save it anew in Jupyter.")]
        ) from error


def parameters_of(path: Path) -> dict[str, Any]:
    """Names and values in the tagged cell of a notebook; empty where it has none."""
    notebook = read_notebook(path)
    cells = [cell for cell in notebook.cells if TAG in cell.metadata.get("tags", [])]
    found: dict[str, Any] = {}
    for statement in ast.parse(cells[0].source).body if cells else []:
        if isinstance(statement, ast.Assign) and isinstance(statement.targets[0], ast.Name):
            found[statement.targets[0].id] = ast.literal_eval(statement.value)
    return found


def values_for(
    notebooks: Sequence[Path], texts: Mapping[str, str], fixed: Mapping[str, Any]
) -> dict[Path, dict[str, Any]]:
    """The values that each notebook gets, of those it has a parameter for; all faults are raised together."""
    known = {path: parameters_of(path) for path in notebooks}
    problems = [
        Problem("command line", "-p", name, f"one of {', '.join(_all(known))}", "Look into the first cell.")
        for name in texts
        if name not in _all(known)
    ]
    values: dict[Path, dict[str, Any]] = {}
    for path, defaults in known.items():
        values[path] = {name: value for name, value in fixed.items() if name in defaults}
        for name in (name for name in texts if name in defaults):
            try:
                values[path][name] = as_kind(texts[name], defaults[name])
            except (ValueError, SyntaxError):
                kind = f"a value like {defaults[name]!r}"
                problems.append(
                    Problem(
                        path.name, f"parameter {name}", texts[name], kind, "A plain value, no calculation."
                    )
                )
    if problems:
        raise InputError(problems)
    for given in values.values():
        if "draws" in given:
            check_draws(given["draws"], "-p draws")
    return values


def _all(known: Mapping[Path, Mapping[str, Any]]) -> list[str]:
    return list(dict.fromkeys(name for defaults in known.values() for name in defaults))


def as_kind(text: str, default: Any) -> Any:
    """A text as a value of the kind of a default: words stay words, all else is a literal; nothing is evaluated."""
    if isinstance(default, str):
        return text
    value = ast.literal_eval(text.strip())
    if isinstance(default, bool) or isinstance(value, bool):
        fits = isinstance(default, bool) and isinstance(value, bool)
    elif isinstance(default, float):
        fits = isinstance(value, int | float)
    else:
        fits = isinstance(value, type(default))
    if not fits:
        raise ValueError(text)
    return value
