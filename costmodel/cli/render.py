"""`render`: notebooks as pages that travel."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import typer

from costmodel.cli.faults import BAD_INPUT, print_error, tell
from costmodel.cli.shared import inputs_of, print_json
from costmodel.errors import InputError, Problem
from costmodel.sharing import Rendered, find_browser, jobs_for, notebooks_of, render_all

KILO = 1024


def run(
    notebook: str,
    study: Path | None,
    parameters: list[str],
    changes: list[str],
    output: Path,
    notebooks: Path,
    *,
    code: bool,
    pdf: bool,
    as_json: bool,
) -> None:
    """Run them side by side, tell what came of each, end with status 2 where one failed."""
    if study is not None and not study.is_file():
        raise InputError(
            [Problem("command line", "--study", str(study), "a study's file", "Look at its path.")]
        )
    found = notebooks_of(notebook, notebooks)
    jobs = jobs_for(found, study, _texts(parameters), inputs_of(changes))
    browser = _browser() if pdf else None
    count = iter(range(1, len(jobs) + 1))
    results = render_all(
        jobs,
        output,
        code=code,
        browser=browser,
        told=lambda result: print_error(f"{next(count)} of {len(jobs)}: {_words(result)}"),
    )
    if as_json:
        print_json([_data(result) for result in results])
    else:
        for result in results:
            if result.page is not None:
                typer.echo(f"Page written to {result.page.resolve()}")
    problems = [result.problem for result in results if result.problem is not None]
    if problems:
        tell(problems)
        raise typer.Exit(BAD_INPUT)


def _texts(parameters: Iterable[str]) -> dict[str, str]:
    texts: dict[str, str] = {}
    for parameter in parameters:
        name, sign, text = parameter.partition("=")
        if not sign or not name.strip().isidentifier():
            expected = "name=value, such as draws=1024"
            raise InputError([Problem("command line", "-p", parameter, expected, "Put it in quotes.")])
        texts[name.strip()] = text
    return texts


def _browser() -> str:
    found = find_browser()
    if found is None:
        remedy = "Leave --pdf out and print the HTML file from any browser, or install Chromium."
        raise InputError([Problem("command line", "--pdf", "no browser", "Chromium on the path", remedy)])
    return found


def _words(result: Rendered) -> str:
    if result.page is None:
        return f"{result.notebook.stem} FAILED after {result.seconds:.1f} s"
    return f"{result.notebook.stem}, {result.seconds:.1f} s, {result.page.stat().st_size // KILO} kB"


def _data(result: Rendered) -> dict[str, object]:
    return {
        "notebook": str(result.notebook),
        "seconds": round(result.seconds, 1),
        "page": None if result.page is None else str(result.page),
        "pdf": None if result.paper is None else str(result.paper),
        "problem": None if result.problem is None else str(result.problem),
    }
