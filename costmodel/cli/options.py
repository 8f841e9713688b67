"""Options that many commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

StudyFile = Annotated[Path, typer.Argument(metavar="STUDY", help="The study's TOML file.")]
Json = Annotated[bool, typer.Option("--json", help="JSON on standard output, and nothing else there.")]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="ADDRESS=VALUE",
        help="Change an input for this run, its unit in the value: --set 'demand.per_year=2500 part/yr'. Repeatable.",
    ),
]
ScenarioName = Annotated[
    str | None, typer.Option("--scenario", metavar="NAME", help="Apply a scenario of the study first.")
]
Blind = Annotated[
    bool,
    typer.Option(
        "--blind",
        help="Suppliers as letters, without their words and without pay: for people who must not know them.",
    ),
]
