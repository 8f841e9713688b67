"""The command line. Each command imports what it needs when it runs, so that asking for help takes no time."""

from __future__ import annotations

import warnings
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from costmodel.cli.buying import add_buying
from costmodel.cli.faults import in_plain_words
from costmodel.cli.options import Blind, Changes, Json, ScenarioName, StudyFile
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
            metavar="FILE...", help="Studies, parts (TOML), quotes (CSV, XLSX), folders of a year's rates."
        ),
    ],
    currency: Annotated[
        str | None,
        typer.Option(help="Home currency of a part or of quotes checked alone, such as USD."),
    ] = None,
    decimal: Annotated[
        str, typer.Option(help="Decimal mark of quotes, comma or point, where their file shows none.")
    ] = "",
    json: Json = False,
) -> None:
    """Say what was understood of each file, or every problem in it; exit status 2 with problems."""
    from costmodel.cli.check import run

    run(files, currency, decimal, as_json=json)


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
    offers: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Quotes just received (CSV, XLSX), put beside those of the study."),
    ] = None,
    override: Annotated[
        str,
        typer.Option(metavar="REASON", help="Compare offers though expired or for another drawing; shown."),
    ] = "",
    decimal: Annotated[
        str, typer.Option(help="Decimal mark of these quotes, comma or point, where their file shows none.")
    ] = "",
    blind: Blind = False,
    json: Json = False,
) -> None:
    """Put all alternatives side by side, and the landed cost of each supplier layer by layer."""
    from costmodel.cli.compare import run
    from costmodel.cli.shared import Received

    received = None if offers is None else Received(offers, decimal)
    base = basis and basis.value
    run(study, base, changes or [], scenario, received, override=override, blind=blind, as_json=json)


add_buying(app)


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
    plan: Annotated[
        Path | None,
        typer.Option(
            "--plan", metavar="FILE", help="The frozen plan: the page then says who signed it, and on what."
        ),
    ] = None,
    changes: Changes = None,
    scenario: ScenarioName = None,
    blind: Blind = False,
    json: Json = False,
) -> None:
    """Decide: print the decision as tables and write its one-page HTML file."""
    from costmodel.cli.brief import run

    run(study, output, draws, seed, csv, changes or [], scenario, plan, blind=blind, as_json=json)


@app.command(short_help="When to change tools, what raised feeds save and risk.")
@in_plain_words
def tools(
    study: StudyFile,
    alternative: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="A way it is made; without it the one that is cheapest on cash."),
    ] = None,
    cut: Annotated[
        list[str] | None,
        typer.Option(
            "--cut", metavar="STEP.CUT", help="A cut whose feed to raise; without it the longest. Repeatable."
        ),
    ] = None,
    times: Annotated[float, typer.Option(min=1.0, help="How many times its feed.")] = 2.0,
    nights: Annotated[float, typer.Option(min=0.0, help="Runs without a person in a year.")] = 230.0,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Price the rule of changing each tool, failures, raised feeds, the cheapest speeds and feeds, unattended runs."""
    from costmodel.cli.tools import run

    run(study, alternative, cut or [], times, nights, changes or [], scenario, as_json=json)


@app.command(short_help="How many parts to make at once.")
@in_plain_words
def lot(
    study: StudyFile,
    alternative: Annotated[str, typer.Argument(metavar="ALTERNATIVE", help="A way it is made or bought.")],
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Find the cheapest lot over set-up, stock and lot minimums together, among all whole lots."""
    from costmodel.cli.lot import run

    run(study, alternative, changes or [], scenario, as_json=json)


@app.command(short_help="What the answer rests on, and what to measure first.")
@in_plain_words
def doubt(
    study: StudyFile,
    draws: Annotated[int, typer.Option("--draws", min=16, help="Draws of all uncertain inputs.")] = 8192,
    seed: Annotated[int, typer.Option("--seed", help="The same seed gives the same figures.")] = 1,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Show chances, scenarios, what knowing each input is worth, shares of variance, and a map of verdicts."""
    from costmodel.cli.doubt import run_doubt

    run_doubt(study, draws, seed, changes or [], scenario, as_json=json)


@app.command(short_help="Which parts deserve a machine's free hours.")
@in_plain_words
def hours(
    studies: Annotated[
        list[Path], typer.Argument(metavar="STUDY...", help="Studies of parts that want the hours.")
    ],
    machine: Annotated[str, typer.Option("--machine", help="The machine whose hours are scarce.")],
    shares: Annotated[bool, typer.Option("--shares", help="A part may get some of its hours.")] = False,
    json: Json = False,
) -> None:
    """Give the scarce hours to the parts that save most by them, exactly; and show the steps beyond."""
    from costmodel.cli.doubt import run_hours

    run_hours(studies, machine, whole=not shares, as_json=json)


@app.command(short_help="What a log of tool lives says.")
@in_plain_words
def life(
    log: Annotated[Path, typer.Argument(metavar="LOG", help="The CSV log, a row for each edge taken out.")],
    lognormal: Annotated[bool, typer.Option("--lognormal", help="Gradual wear, instead of Weibull.")] = False,
    json: Json = False,
) -> None:
    """Fit life, its scatter and Taylor's constants to the shop's own log, and say where it is too thin."""
    from costmodel.cli.life import run

    run(log, lognormal=lognormal, as_json=json)


@app.command(short_help="Notebooks as pages that travel.")
@in_plain_words
def render(
    notebook: Annotated[
        str, typer.Argument(metavar="NOTEBOOK", help="A notebook's file or name, or all of a folder.")
    ],
    study: Annotated[
        Path | None, typer.Option(help="The study's TOML file, instead of the one that the notebook names.")
    ] = None,
    parameters: Annotated[
        list[str] | None,
        typer.Option(
            "-p", metavar="NAME=VALUE", help="Another parameter of the notebook's first cell. Repeatable."
        ),
    ] = None,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FOLDER", help="Where the pages go.")
    ] = Path("pages"),
    notebooks: Annotated[
        Path, typer.Option(metavar="FOLDER", help="Where names of notebooks are looked for.")
    ] = Path("notebooks"),
    code: Annotated[bool, typer.Option("--code", help="Show the code cells too.")] = False,
    pdf: Annotated[
        bool, typer.Option("--pdf", help="Print each page as PDF, where Chromium is there.")
    ] = False,
    changes: Changes = None,
    json: Json = False,
) -> None:
    """Run notebooks with a study and write each as one HTML file that opens anywhere, without network and code."""
    from costmodel.cli.render import run

    run(
        notebook,
        study,
        parameters or [],
        changes or [],
        output,
        notebooks,
        code=code,
        pdf=pdf,
        as_json=json,
    )


@app.command(short_help="Cost sheets, comparison, register for a spreadsheet.")
@in_plain_words
def export(
    study: StudyFile,
    output: Annotated[
        Path,
        typer.Option(
            "-o", "--output", metavar="FILE", help="An XLSX file, or a folder for CSV files. Sums are live."
        ),
    ] = Path("study.xlsx"),
    changes: Changes = None,
    scenario: ScenarioName = None,
    blind: Blind = False,
    json: Json = False,
) -> None:
    """Write the cost sheet of each alternative, the comparison and the register as XLSX, or as CSV files."""
    from costmodel.cli.export import run

    run(study, output, changes or [], scenario, blind=blind, as_json=json)


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
    from costmodel.writing import write_over

    write_over(output, text + "\n", "{")
    typer.echo(as_text({"written": str(output)}) if json else f"Written: {output}")


add_to(app)


def main() -> None:
    """The entry point of the console command."""
    app(prog_name="costmodel")
