"""Notebooks hold no logic; the check of `.ci/check_notebooks.py` finds what it should."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("**/*.ipynb"))


def load_check() -> Any:
    spec = importlib.util.spec_from_file_location("check_notebooks", ROOT / ".ci" / "check_notebooks.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


check = load_check()


def notebook(*sources: str) -> Any:
    """A notebook of code cells run in order, the first tagged as parameters."""
    cells = [new_code_cell(source, execution_count=number) for number, source in enumerate(sources, start=1)]
    cells[0].metadata["tags"] = ["parameters"]
    return new_notebook(cells=[new_markdown_cell("# Title"), *cells])


@pytest.mark.parametrize("path", NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])
def test_a_notebook_holds_no_logic_and_was_run_in_order(path: Path) -> None:
    found = check.faults(check.read(path))
    assert not found, "\n".join(found)


def test_a_notebook_that_calls_the_package_passes() -> None:
    assert check.faults(notebook('part = "clamp"\nvolume = 2_000', "show(cost(part, volume))")) == []


@pytest.mark.parametrize(
    ("source", "fault"),
    [
        ("def cost(): pass", "FunctionDef"),
        ("class Cost: pass", "ClassDef"),
        ("f = lambda: 1", "Lambda"),
        ("for part in parts: show(part)", "For"),
        ("if saving > 0: show(saving)", "If"),
        ("rate = wage * 1.3", "calculates"),
    ],
)
def test_logic_in_a_notebook_is_caught(source: str, fault: str) -> None:
    assert any(fault in found for found in check.faults(notebook("volume = 2_000", source)))


def test_calculated_parameters_are_caught() -> None:
    assert check.faults(notebook("volume = 40 * 50"))


def test_a_notebook_without_parameters_run_out_of_order_or_failed_is_caught() -> None:
    sample = notebook("volume = 2_000", "show(volume)", "show(volume)")
    sample.cells[1].metadata["tags"] = []
    sample.cells[2].execution_count = 7
    sample.cells[3].outputs = [nbformat.v4.new_output("error", ename="E", evalue="", traceback=[])]
    assert [fault.partition(":")[0] for fault in check.faults(sample)] == [
        "0 cells are tagged parameters, expected 1",
        "code cell 2",
        "code cell 3",
    ]


def test_stored_text_is_compared_with_todays(tmp_path: Path) -> None:
    path = tmp_path / "sample.ipynb"
    nbformat.write(notebook("volume = 2_000", "print(volume, object())"), path)
    assert check.check(path, write=True) == []
    assert check.check(path, write=False) == []
    stored = path.read_text(encoding="utf-8")
    assert "2000 <object object at" in stored
    path.write_text(stored.replace("2000 <object", "1999 <object"), encoding="utf-8")
    assert [line for line in check.check(path, write=False) if line[0] in "+-" and line[1] not in "+-"] == [
        "-cell 2 text/plain: 1999 <object object at *>",
        "+cell 2 text/plain: 2000 <object object at *>",
    ]
