"""Faults on their way to a person: every problem in words on standard error, exit status 2, never a traceback."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable
from functools import wraps
from typing import ParamSpec

import typer

from costmodel.errors import InputError, LimitError, Problem

Arguments = ParamSpec("Arguments")

BAD_INPUT = 2
OWN_FAULT = 1
TRACEBACK = "COSTMODEL_TRACEBACK"


def in_plain_words(command: Callable[Arguments, None]) -> Callable[Arguments, None]:
    """A command whose faults end in words and an exit status."""

    @wraps(command)
    def inside(*args: Arguments.args, **kwargs: Arguments.kwargs) -> None:
        try:
            command(*args, **kwargs)
        except (typer.Exit, typer.Abort, KeyboardInterrupt, BrokenPipeError):
            raise
        except InputError as error:
            tell(error.problems)
            raise typer.Exit(BAD_INPUT) from error
        except (LimitError, OSError) as error:
            tell([problem_of(error)])
            raise typer.Exit(BAD_INPUT) from error
        except Exception as error:
            if os.environ.get(TRACEBACK):
                raise
            _own_fault(error)
            raise typer.Exit(OWN_FAULT) from error

    return inside


def problem_of(error: LimitError | OSError) -> Problem:
    """A limit of a formula or a fault of the file system as a problem."""
    if isinstance(error, LimitError):
        remedy = "Some input leads there: look at those changed last, and at their units."
        return Problem("the model", error.name, f"{error.value}", f"{error.expected}", remedy)
    name = str(error.filename or "file")
    reason = (error.strerror or type(error).__name__).lower()
    return Problem(
        name, "file", reason, "a file that can be read or written", "Look at its path and permissions."
    )


def tell(problems: Iterable[Problem]) -> None:
    """Every problem on standard error: where, what stands there, what should, how to mend it."""
    listed = list(problems)
    width = min(100, shutil.get_terminal_size((100, 24)).columns)
    count = "1 problem" if len(listed) == 1 else f"{len(listed)} problems"
    lines = [f"{count} in what was given:"]
    for number, problem in enumerate(listed, start=1):
        lines.append("")
        lines += _wrapped(f"{number:>3}  ", f"{problem.file}: {problem.place}", width)
        for word, text in (
            ("found", problem.value),
            ("expected", problem.expected),
            ("remedy", problem.remedy),
        ):
            if text:
                lines += _wrapped(f"     {word:<9} ", text, width)
    print_error("\n".join(lines))


def _wrapped(lead: str, text: str, width: int) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=lead, subsequent_indent=" " * len(lead), break_on_hyphens=False
    ) or [lead.rstrip()]


def print_error(text: str) -> None:
    """A text on standard error, in signs that it can show."""
    encoding = getattr(sys.stderr, "encoding", None) or "utf-8"
    typer.echo(text.encode(encoding, "replace").decode(encoding), err=True)


def _own_fault(error: Exception) -> None:
    print_error(
        f"costmodel met a fault of its own: {type(error).__name__}: {error}\n"
        f"Nothing more was computed. Please report it with the files; {TRACEBACK}=1 shows where it arose."
    )
