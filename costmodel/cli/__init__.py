"""The command line. Each command imports what it needs when it runs, so that asking for help takes no time."""

from __future__ import annotations

import warnings
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from costmodel.cli.faults import in_plain_words
from costmodel.cli.years import add_to


class Basis(StrEnum):
    """The bases of a machine-hour rate."""

    PRACTICAL = "practical"
    BUDGETED = "budgeted"
    CASH = "cash"
    DISPLACED = "displaced"


class SchemaKind(StrEnum):
    """The TOML files that have a schema."""

    PART = "part"
    STUDY = "study"
    YEAR = "year"


app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What a machined part costs to make and to buy, and which of the two to do. The tool prices; a person signs.",
)

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
BasisName = Annotated[
    Basis | None,
    typer.Option(
        "--basis",
        help="Machine hours: full over practical or budgeted hours, cash only, or cash and displaced work.",
    ),
]


def _version(wanted: bool) -> None:
    if wanted:
        from costmodel.version import library_version

        typer.echo(f"costmodel {library_version()}")
        raise typer.Exit


@app.callback()
def _everywhere(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    pass


@app.command(short_help="What was understood of files, or every problem.")
@in_plain_words
def check(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE...", help="Studies, parts (TOML), quotes (CSV), folders of a year's rates."
        ),
    ],
    currency: Annotated[
        str | None,
        typer.Option(help="Home currency of a part checked alone, such as USD, where it names several."),
    ] = None,
    json: Json = False,
) -> None:
    """Say what was understood of each file, or every problem in it; exit status 2 with problems."""
    from costmodel.cli.check import run

    run(files, currency, as_json=json)


@app.command(short_help="The part by one route, line by line.")
@in_plain_words
def cost(
    study: StudyFile,
    route: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The route; without it the one that is cheapest on cash."),
    ] = None,
    lot: Annotated[
        float | None, typer.Option(min=1.0, help="Good parts made at once, instead of the study's.")
    ] = None,
    basis: BasisName = None,
    spread_over: Annotated[
        float | None,
        typer.Option(min=1.0, metavar="PARTS", help="Show what is paid once spread over so many parts too."),
    ] = None,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Cost the part by one route: by step and element, minutes on both clocks, tools, rate terms, flags."""
    from costmodel.cli.cost import run

    run(study, route, lot, basis and basis.value, spread_over, changes or [], scenario, as_json=json)


@app.command(short_help="All alternatives side by side.")
@in_plain_words
def compare(
    study: StudyFile,
    basis: BasisName = None,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Put all alternatives side by side, and the landed cost of each supplier layer by layer."""
    from costmodel.cli.compare import run

    run(study, basis and basis.value, changes or [], scenario, as_json=json)


@app.command(short_help="The decision, and its page to sign.")
@in_plain_words
def brief(
    study: StudyFile,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", metavar="FILE", help="The page; without it <study>.html in this folder."
        ),
    ] = None,
    draws: Annotated[int, typer.Option(help="Draws of the uncertain inputs, a power of two.")] = 8192,
    seed: Annotated[int, typer.Option(min=0, help="The same seed gives the same numbers.")] = 1,
    csv: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FOLDER", help="Write every table as a CSV file into this folder too."),
    ] = None,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Decide: print the decision as tables and write its one-page HTML file."""
    from costmodel.cli.brief import run

    run(study, output, draws, seed, csv, changes or [], scenario, as_json=json)


@app.command(short_help="JSON Schema of a TOML file, for editors.")
@in_plain_words
def schema(
    kind: Annotated[SchemaKind, typer.Argument(help="Which file.")],
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="A file instead of the screen.")
    ] = None,
    json: Json = False,
) -> None:
    """Print the JSON Schema of a TOML file, so that an editor completes it and marks mistakes."""
    from costmodel.cli.shared import as_text
    from costmodel.reading import json_schema

    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # an empty table is no JSON value for a default: the schema leaves it out
        text = as_text(json_schema(kind.value))
    if output is None:
        typer.echo(text)
        return
    from costmodel.writing import write_whole

    write_whole(output, text + "\n")
    typer.echo(as_text({"written": str(output)}) if json else f"Written: {output}")


add_to(app)


def main() -> None:
    """The entry point of the console command."""
    app(prog_name="costmodel")
