"""Commands for what comes back every year: new rates, what they move, the spreadsheet, logs, the review."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from costmodel.cli.faults import in_plain_words

rates_app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="A year's rates: make a new year, compare two, take one to a spreadsheet and back.",
)

Folder = Annotated[
    Path, typer.Option("--folder", metavar="FOLDER", help="The folder that holds a folder a year.")
]
Who = Annotated[str, typer.Option("--who", metavar="NAME", help="Who does it, for the change log.")]
Why = Annotated[str, typer.Option("--why", metavar="TEXT", help="Why, for the change log.")]
Json = Annotated[bool, typer.Option("--json", help="JSON on standard output, and nothing else there.")]
RATES = Path("data/rates")


@rates_app.command(short_help="A new year from an old one, escalated by index.")
@in_plain_words
def new(
    year: Annotated[int, typer.Argument(min=1900, max=2999, help="The new year.")],
    start: Annotated[int, typer.Option("--from", help="The year it is made from.")],
    who: Who,
    why: Why = "new year",
    folder: Folder = RATES,
    indices: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Index values; without it index_observations.csv in the folder."),
    ] = None,
    until: Annotated[
        str,
        typer.Option(metavar="MONTH", help="Escalate to this month, such as 2026-10, not the last known."),
    ] = "",
    replace: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A change file whose values replace escalated ones.")
    ] = None,
    json: Json = False,
) -> None:
    """Copy a year, escalate each row by its series, mark every row, list what to confirm. Writes over nothing."""
    from costmodel.cli.rate_year import make

    make(year, start, folder, indices, until, replace, who, why, as_json=json)


@rates_app.command(short_help="Two years: differences, effects, verdicts.")
@in_plain_words
def compare(
    before: Annotated[int, typer.Argument(help="The earlier year.")],
    after: Annotated[int, typer.Argument(help="The later year.")],
    folder: Folder = RATES,
    studies: Annotated[
        Path, typer.Option(metavar="FOLDER", help="The studies to run at both years' rates.")
    ] = Path("data/studies"),
    method: Annotated[
        str, typer.Option(help='How a difference is split: "one at a time", "sequential" or "shapley".')
    ] = "one at a time",
    charts: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Write a bridge chart of each alternative here too.")
    ] = None,
    draws: Annotated[int, typer.Option(help="Draws of the uncertain inputs, a power of two.")] = 2048,
    json: Json = False,
) -> None:
    """Show the rates that differ, what that does to every part and study, and which verdicts change."""
    from costmodel.cli.rate_year import show_effects

    show_effects(before, after, folder, studies, method, charts, draws, as_json=json)


@rates_app.command(short_help="Close a year that decisions rest on.")
@in_plain_words
def seal(
    year: Annotated[int, typer.Argument(help="The year.")], folder: Folder = RATES, json: Json = False
) -> None:
    """Keep a mark of every file, so that a later change of an old year is found and named at every reading."""
    from costmodel.cli.rate_year import seal_year

    seal_year(year, folder, as_json=json)
