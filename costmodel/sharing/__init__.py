"""Notebooks run with other inputs and written as pages that travel: one HTML file each, without code and network."""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing.context import BaseContext
from pathlib import Path
from typing import Any, NamedTuple

from costmodel.errors import InputError, Problem
from costmodel.sharing.notebook_page import page_of
from costmodel.sharing.paper import find_browser, print_page
from costmodel.sharing.parameters import values_for
from costmodel.sharing.running import run_notebook
from costmodel.writing import write_whole

AT_ONCE = 2

__all__ = ["Job", "Rendered", "find_browser", "jobs_for", "notebooks_of", "render", "render_all"]


class Job(NamedTuple):
    """A notebook and the values of its parameters."""

    notebook: Path
    values: dict[str, Any]


class Rendered(NamedTuple):
    """What came of one notebook: its pages, or the fault that kept them from being written."""

    notebook: Path
    seconds: float
    page: Path | None = None
    paper: Path | None = None
    problem: Problem | None = None


def notebooks_of(name: str, folder: Path) -> list[Path]:
    """The notebooks meant by a path, by a name without its ending, by a folder, or by ``all`` in `folder`."""
    if Path(name).is_dir() and (inside := sorted(Path(name).glob("*.ipynb"))):
        return inside
    known = sorted(folder.glob("*.ipynb"))
    if name == "all" and known:
        return known
    for path in (Path(name), folder / f"{name}.ipynb"):
        if path.is_file():
            return [path]
    expected = f"a notebook{', all, or one of ' + ', '.join(it.stem for it in known) if known else ''}"
    remedy = f"Notebooks were looked for in {folder}: name another folder with --notebooks."
    raise InputError([Problem("command line", "NOTEBOOK", name, expected, remedy)])


def jobs_for(
    notebooks: Sequence[Path], study: Path | None, texts: Mapping[str, str], overrides: Mapping[str, str]
) -> list[Job]:
    """What to run: every text is read as a value of the kind that its parameter has, before any notebook runs.

    A parameter that some notebooks lack is left out there; one that none has is refused.
    """
    fixed: dict[str, Any] = {"overrides": dict(overrides)} if overrides else {}
    if study is not None:
        fixed["study_path"] = str(study.resolve())
    return [Job(path, values) for path, values in values_for(notebooks, texts, fixed).items()]


def render(job: Job, folder: Path, *, code: bool = False, browser: str | None = None) -> Rendered:
    """Run one notebook and write its page, and a PDF where a browser is given; a fault is told, not raised."""
    began = time.perf_counter()
    try:
        notebook = run_notebook(job.notebook, job.values)
        page = write_whole(folder / f"{job.notebook.stem}.html", page_of(notebook, code=code))
        paper = print_page(page, page.with_suffix(".pdf"), browser) if browser else None
    except InputError as error:
        return Rendered(job.notebook, time.perf_counter() - began, problem=error.problems[0])
    return Rendered(job.notebook, time.perf_counter() - began, page, paper)


def render_all(
    jobs: Iterable[Job],
    folder: Path,
    *,
    code: bool = False,
    browser: str | None = None,
    at_once: int | None = None,
    told: Callable[[Rendered], None] = lambda _: None,
) -> list[Rendered]:
    """Run notebooks side by side in processes; what came of each is told as it ends, and none stops the others."""
    listed = list(jobs)
    folder.mkdir(parents=True, exist_ok=True)
    workers = min(len(listed), at_once or max(AT_ONCE, os.cpu_count() or 1))
    if workers <= 1:
        return [_tell(render(job, folder, code=code, browser=browser), told) for job in listed]
    done: dict[Path, Rendered] = {}
    with ProcessPoolExecutor(workers, mp_context=_processes(), initializer=_one_thread_each) as pool:
        waiting = {pool.submit(render, job, folder, code=code, browser=browser): job for job in listed}
        for future in as_completed(waiting):
            job = waiting[future]
            fault = future.exception()
            result = (
                future.result() if fault is None else Rendered(job.notebook, 0.0, problem=_died(job, fault))
            )
            done[job.notebook] = _tell(result, told)
    return [done[job.notebook] for job in listed]


def _one_thread_each() -> None:
    """Notebooks that run side by side share the cores: none takes several for its arithmetic."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def _processes() -> BaseContext:
    """Processes that share the libraries of one that has loaded them, where the system can; else fresh ones."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["costmodel.sharing", "nbconvert", "papermill"])
    return context


def _tell(result: Rendered, told: Callable[[Rendered], None]) -> Rendered:
    told(result)
    return result


def _died(job: Job, fault: BaseException) -> Problem:
    cause = f"{type(fault).__name__}: {fault}"
    return Problem(job.notebook.name, "process", cause, "a page", "Run it alone, or in Jupyter, to see more.")
