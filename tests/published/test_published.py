"""Every published row is computed and compared with what its source prints.

A file states how many rows it holds, so a row that silently stops running turns the suite red.

    rows = 2                                # how many [[row]] this file holds
    [[row]]
    id = "T1-02"
    source = "author, title, edition, page, table or clause; how it was read"
    status = "read"                         # see STATUSES
    note = "..."                            # optional
    [[row.check]]
    formula = "tool_life.taylor_fit"        # a dotted name below costmodel.formulas
    as = "fit"                              # optional: later checks of the row write "@fit" or "@fit.exponent"
    inputs = { speeds = [25.0, 35.0], lives = [90.0, 20.0] }
    answer = { exponent = 0.224, constant = "68.4 m/min -> m/min" }   # a bare number for a single result
    tolerance = { exponent = "0.3 %", constant = "0.2 %" }            # "x %" relative, a number absolute

Numbers are canonical (mm, min, kg, kW, m/min, mm/min, N/mm2, fraction). A text "VALUE UNIT -> UNIT" is
converted first, so that a row keeps the unit its source prints. A list becomes an array. A check without
an answer only feeds later ones; a row needs at least one answer.
"""

from __future__ import annotations

import importlib
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costmodel.units import convert

FOLDER = Path(__file__).parent
STATUSES = {
    "read",  # inputs and answer seen in the source named
    "inputs-read",  # inputs seen, printed answer recalled from memory
    "from-memory",  # neither seen, recalled and recomputed
    "exact",  # a closed form or identity
    "common-practice",  # a fact of the trade without a source
}


def load() -> list[tuple[str, dict[str, Any]]]:
    return [
        (f"{path.stem}:{row['id']}", row)
        for path in sorted(FOLDER.glob("*.toml"))
        for row in tomllib.loads(path.read_text())["row"]
    ]


ROWS = load()


def number(value: Any, results: dict[str, Any]) -> Any:
    if isinstance(value, str) and value.startswith("@"):
        name, _, field = value[1:].partition(".")
        return getattr(results[name], field) if field else results[name]
    if isinstance(value, str) and "->" in value:
        text, _, unit = value.rpartition("->")
        return convert(text.strip(), unit.strip())
    if isinstance(value, list):
        return np.array([number(item, results) for item in value], dtype=float)
    if isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    return value


def call(check: dict[str, Any], results: dict[str, Any]) -> Any:
    module, _, name = check["formula"].rpartition(".")
    function = getattr(importlib.import_module(f"costmodel.formulas.{module}"), name)
    whole = check.get("counts", {})
    return function(**{key: number(value, results) for key, value in check["inputs"].items()}, **whole)


def allowed(tolerance: Any, published: Any) -> Any:
    if isinstance(tolerance, str):
        return np.abs(published) * float(tolerance.removesuffix("%")) / 100
    return tolerance


def assert_close(result: Any, published: Any, tolerance: Any, place: str) -> None:
    difference = np.abs(np.asarray(result, dtype=float) - np.asarray(published, dtype=float))
    limit = np.asarray(allowed(tolerance, published), dtype=float) + 1e-15
    assert np.shape(result) == np.shape(published), f"{place}: shape {np.shape(result)}"
    assert np.all(difference <= limit), f"{place}: got {result}, source prints {published} within {tolerance}"


@pytest.mark.parametrize("row", [row for _, row in ROWS], ids=[name for name, _ in ROWS])
def test_row_agrees_with_its_source(row: dict[str, Any]) -> None:
    assert row["status"] in STATUSES
    assert len(row["source"]) > 10
    results: dict[str, Any] = {}
    asserted = 0
    for check in row["check"]:
        result = call(check, results)
        results[check.get("as", "last")] = result
        if "answer" not in check:
            continue
        answers = check["answer"] if isinstance(check["answer"], dict) else {"": check["answer"]}
        tolerances = check["tolerance"] if isinstance(check["answer"], dict) else {"": check["tolerance"]}
        for field, published in answers.items():
            got = getattr(result, field) if field else result
            place = f"{row['id']} {check['formula']} {field}".strip()
            assert_close(got, number(published, results), tolerances[field], place)
            asserted += 1
    assert asserted > 0, f"{row['id']} asserts nothing"


def test_every_file_holds_the_rows_it_states() -> None:
    for path in FOLDER.glob("*.toml"):
        table = tomllib.loads(path.read_text())
        assert table["rows"] == len(table["row"]), f"{path.name} states {table['rows']} rows"


def test_no_row_stands_twice() -> None:
    identifiers = [row["id"] for _, row in ROWS]
    assert len(identifiers) == len(set(identifiers))
