"""One notebook executed from top to bottom with given parameters; where it fails, which cell and why in words."""

from __future__ import annotations

import logging
import re
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from costmodel.errors import InputError, Problem
from costmodel.sharing.parameters import read_notebook

SECONDS_PER_CELL = 600
TRIES = 2
COLOURS = re.compile(r"\x1b\[[0-9;]*m")


def run_notebook(path: Path, values: Mapping[str, Any]) -> Any:
    """The executed notebook; it runs in its own folder, so that files it names beside it are found.

    Raises InputError naming notebook, cell and cause where a cell fails. A kernel that does not start is tried
    twice: several that start at once can ask for the same port.
    """
    notebook = read_notebook(path)
    for attempt in range(1, TRIES + 1):
        try:
            return _executed(notebook, path, values)
        except RuntimeError as error:
            if attempt == TRIES:
                raise InputError(
                    [Problem(path.name, "kernel", str(error), "a kernel that runs it", "Try it in Jupyter.")]
                ) from error
    raise AssertionError("unreachable")


def _executed(notebook: Any, path: Path, values: Mapping[str, Any]) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # libraries that run notebooks warn of their own future
        import papermill
        from papermill.exceptions import PapermillExecutionError

        logging.getLogger("papermill").setLevel(logging.ERROR)
        try:
            return papermill.execute_notebook(
                notebook,
                None,
                parameters=dict(values),
                kernel_name="python3",
                language="python",
                progress_bar=False,
                cwd=str(path.resolve().parent),
                execution_timeout=SECONDS_PER_CELL,
                extra_arguments=["--log-level=CRITICAL"],
            )
        except PapermillExecutionError as error:
            raise InputError([_failed(path, error)]) from error


def _failed(path: Path, error: Any) -> Problem:
    source = str(error.source).strip().splitlines()
    last = source[-1] if source else ""
    cause = COLOURS.sub("", f"{error.ename}: {error.evalue}").strip()
    remedy = "Look at the parameters and the overrides first."
    return Problem(path.name, f"code cell {error.exec_count} ({last})", cause, "a cell that runs", remedy)
