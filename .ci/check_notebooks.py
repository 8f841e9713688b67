"""Notebooks hold no logic and show what they compute today.

    python .ci/check_notebooks.py notebooks            check, execute, compare with what is stored
    python .ci/check_notebooks.py notebooks --write    execute and store

Text and tables are compared; of a picture only that it is there, since its bytes differ between machines.
"""

from __future__ import annotations

import ast
import difflib
import re
import sys
import time
from pathlib import Path
from typing import Any

LOGIC = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda, ast.If, ast.For, ast.While, ast.Try)
CHANGING = re.compile(r"0x[0-9a-f]{6,}|T_[0-9a-f]{5,}|[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
SECONDS_ALLOWED = 300
LARGEST = 400_000
# What only a running kernel can move; a stored notebook shows the picture beside it.
LIVE = "application/vnd.jupyter.widget-view+json"
# The kernel's own plumbing announces what libraries plan for later releases.
WARNINGS_END_IT = (
    "import warnings; warnings.simplefilter('error'); "
    "warnings.filterwarnings('ignore', category=PendingDeprecationWarning)"
)


def read(path: Path) -> Any:
    """The notebook of a file."""
    import nbformat

    return nbformat.read(path, as_version=4)


def code_cells(notebook: Any) -> list[Any]:
    """The code cells that hold something."""
    return [cell for cell in notebook.cells if cell.cell_type == "code" and cell.source.strip()]


def faults(notebook: Any) -> list[str]:
    """What a reader of the notebook would stumble over, without executing it."""
    cells = code_cells(notebook)
    tagged = [cell for cell in cells if "parameters" in cell.metadata.get("tags", [])]
    found = [] if len(tagged) == 1 else [f"{len(tagged)} cells are tagged parameters, expected 1"]
    for number, cell in enumerate(cells, start=1):
        found += [f"code cell {number}: {fault}" for fault in cell_faults(cell, is_parameters=cell in tagged)]
        if cell.execution_count != number:
            found.append(
                f"code cell {number}: stored as run number {cell.execution_count}: run all, in order"
            )
        if any(output.output_type == "error" for output in cell.outputs):
            found.append(f"code cell {number}: an error is stored")
        if any(output.get("name") == "stderr" for output in cell.outputs):
            found.append(f"code cell {number}: something on standard error is stored")
        if any(LIVE in output.get("data", {}) for output in cell.outputs):
            found.append(f"code cell {number}: what only a kernel can move is stored: store with --write")
    return found


def cell_faults(cell: Any, *, is_parameters: bool) -> list[str]:
    """Logic in one cell: parameters are plain assignments of values, other cells call the package."""
    source = re.sub(r"^\s*%.*$", "pass", cell.source, flags=re.MULTILINE)
    tree = ast.parse(source)
    if is_parameters:
        plain = all(isinstance(item, ast.Assign) and is_literal(item.value) for item in tree.body)
        return [] if plain else ["parameters are plain assignments of values"]
    found = [
        f"{type(node).__name__} belongs in the package" for node in ast.walk(tree) if isinstance(node, LOGIC)
    ]
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp) and any(is_number(side) for side in (node.left, node.right)):
            found.append(f'"{ast.unparse(node)}" calculates: that belongs in the package')
    return found


def is_literal(node: ast.expr) -> bool:
    """Whether an expression is a value as it stands."""
    try:
        ast.literal_eval(node)
    except ValueError:
        return False
    return True


def is_number(node: ast.expr) -> bool:
    """Whether an expression is a written number."""
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def execute(notebook: Any, folder: Path) -> None:
    """Run all cells in place, in their own folder."""
    from nbclient import NotebookClient

    options: dict[str, Any] = {"timeout": SECONDS_ALLOWED, "kernel_name": "python3", "record_timing": False}
    options["extra_arguments"] = ["--log-level=CRITICAL"]
    options["store_widget_state"] = False
    client = NotebookClient(notebook, resources={"metadata": {"path": str(folder)}}, **options)
    # A warning of the package ends the notebook, as in the tests; asked for silently, it takes no run number.
    client.on_notebook_start = lambda **_: client.kc.execute(WARNINGS_END_IT, silent=True)
    client.execute()
    for output in (output for cell in code_cells(notebook) for output in cell.outputs):
        output.get("data", {}).pop(LIVE, None)


def shown(notebook: Any) -> list[str]:
    """What a reader sees below the cells, line by line, without what changes from run to run."""
    lines = []
    for number, cell in enumerate(code_cells(notebook), start=1):
        for output in cell.outputs:
            if output.output_type == "stream" and output.name == "stderr":
                continue
            data = output.get("data", {"text/plain": output.get("text", "")})
            for kind in sorted(data):
                text = data[kind] if kind in ("text/plain", "text/html") else "present"
                lines += [f"cell {number} {kind}: {line}" for line in CHANGING.sub("*", text).splitlines()]
    return lines


def check(path: Path, *, write: bool) -> list[str]:
    """The faults of one notebook; with `write` its outputs are stored anew instead of compared."""
    import nbformat

    notebook = read(path)
    before = shown(notebook)
    found = [] if write else faults(notebook)
    if path.stat().st_size > LARGEST:
        found.append(f"{path.stat().st_size} bytes, at most {LARGEST}")
    execute(notebook, path.parent)
    if write:
        nbformat.write(notebook, path)
        return faults(notebook)
    difference = difflib.unified_diff(before, shown(notebook), "stored", "today", lineterm="", n=0)
    return found + list(difference)


def main(arguments: list[str]) -> int:
    """Check every notebook of a folder; 1 if any has a fault."""
    write = "--write" in arguments
    folder = next(Path(argument) for argument in arguments if not argument.startswith("--"))
    bad = 0
    for path in sorted(folder.glob("**/*.ipynb")):
        began = time.perf_counter()
        found = check(path, write=write)
        print(f"{path}: {'ok' if not found else 'FAILED'}, {time.perf_counter() - began:.1f} s")
        print("".join(f"    {line}\n" for line in found), end="")
        bad += bool(found)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
