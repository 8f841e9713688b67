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


def _somebody(who: str) -> str:
    """A name for a log; blanks name nobody."""
    if not who.strip():
        raise typer.BadParameter("expected a name or a role. Say who does it.", param_hint="--who")
    return who.strip()


Who = Annotated[
    str,
    typer.Option("--who", metavar="NAME", help="Who does it, for the change log.", callback=_somebody),
]
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
    decided: Annotated[
        bool, typer.Option("--decided", help="Run studies that are decided at both years' rates too.")
    ] = False,
    json: Json = False,
) -> None:
    """Show the rates that differ, what that does to every part and open study, and which verdicts change.

    A study with decided_on is held by the rates of its own year.
    """
    from costmodel.cli.rate_year import show_effects

    show_effects(before, after, folder, studies, method, charts, draws, decided=decided, as_json=json)


@rates_app.command(short_help="Close a year that decisions rest on.")
@in_plain_words
def seal(
    year: Annotated[int, typer.Argument(help="The year.")], folder: Folder = RATES, json: Json = False
) -> None:
    """Keep a mark of every file, so that a later change of an old year is found and named at every reading."""
    from costmodel.cli.rate_year import seal_year

    seal_year(year, folder, as_json=json)


@rates_app.command(short_help="Machines: hours, energy, recovery against the ledger.")
@in_plain_words
def machines(
    year: Annotated[int, typer.Argument(help="The year.")],
    log: Annotated[Path, typer.Argument(metavar="LOG", help="The run log, CSV, a row a machine.")],
    folder: Folder = RATES,
    json: Json = False,
) -> None:
    """Show each machine's hours and what they went into, energy, people, and what its rate recovered."""
    from costmodel.cli.rate_base import machine_sheets

    machine_sheets(year, log, folder, as_json=json)


@rates_app.command(short_help="Planned hours of a year from a calendar.")
@in_plain_words
def hours(
    year: Annotated[int, typer.Argument(help="The year.")],
    country: Annotated[str, typer.Option(help="ISO 3166 code, such as US or DE.")],
    region: Annotated[str, typer.Option(help="Its region, such as BY.")] = "",
    shifts: Annotated[float, typer.Option(min=0.0, help="Shifts a day.")] = 1.0,
    shift_hours: Annotated[float, typer.Option(min=0.0, help="Hours a shift.")] = 8.0,
    utilisation: Annotated[
        float, typer.Option(min=0.0, max=1.0, help="Share left after upkeep and waits.")
    ] = 1.0,
    closed: Annotated[
        list[str] | None, typer.Option(metavar="DAY", help="Another day closed, 2027-12-24. Repeatable.")
    ] = None,
    json: Json = False,
) -> None:
    """Count working days without public holidays, and the hours of their shifts."""
    from costmodel.cli.rate_base import show_hours

    show_hours(year, country, region, shifts, shift_hours, utilisation, closed or [], as_json=json)


@rates_app.command(short_help="Currency rates from central-bank reference rates.")
@in_plain_words
def currency(
    year: Annotated[int, typer.Argument(help="The year whose currencies are wanted.")],
    until: Annotated[str, typer.Option(metavar="DAY", help="The last day looked at, such as 2026-10-30.")],
    who: Who,
    folder: Folder = RATES,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write a change file to accept from."),
    ] = None,
    json: Json = False,
) -> None:
    """Show reference rates with their spread, day and source; with -o as rows for a person to accept."""
    from costmodel.cli.rate_base import show_currency

    show_currency(year, until, who, folder, output, as_json=json)


@rates_app.command(short_help="A year as one XLSX workbook.")
@in_plain_words
def workbook(
    year: Annotated[int, typer.Argument(help="The year.")],
    folder: Folder = RATES,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="The file; without it rates-YEAR.xlsx."),
    ] = None,
    json: Json = False,
) -> None:
    """Write a year to a workbook: a sheet a table, units, drop-downs, notes. `rates apply` brings it back."""
    from costmodel.cli.rate_edit import to_file

    to_file(year, folder, output, as_json=json)


@rates_app.command(short_help="Edits of a workbook or a change file into a year.")
@in_plain_words
def apply(
    year: Annotated[int, typer.Argument(help="The year.")],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A workbook (.xlsx) or a change file (.csv).")],
    who: Who,
    why: Why,
    folder: Folder = RATES,
    json: Json = False,
) -> None:
    """Apply what was edited and nothing else, each with who, when and why in the change log; conflicts stop it all.

    Of a change file only rows with accept = yes are applied.
    """
    from costmodel.cli.rate_edit import apply_file

    apply_file(year, file, folder, who, why, as_json=json)


@rates_app.command(short_help="Open studies to a year's rates.")
@in_plain_words
def adopt(
    year: Annotated[int, typer.Argument(help="The year.")],
    studies: Annotated[list[Path], typer.Argument(metavar="STUDY...", help="Studies that are still open.")],
    who: Who,
    why: Why = "new year",
    json: Json = False,
) -> None:
    """Let open studies read a year's rates, their own ranges of rates moved in proportion, each into its change log.

    A range is stated around a value: with the folder's name alone it would stay around that of the old year.
    """
    from costmodel.cli.adopt import adopt as run

    run(year, studies, who, why, as_json=json)


def add_to(app: typer.Typer) -> None:
    """Put the commands of the yearly round onto the command line."""
    app.add_typer(
        rates_app, name="rates", short_help="A year's rates: new, compared, to a spreadsheet and back."
    )
    app.command(short_help="Keep a plan as it is decided, with every input.")(freeze)
    app.command(short_help="Sign a frozen plan.")(sign)
    app.command(short_help="A year after: did it pay?")(review)
    app.command(short_help="Every kept decision, to the cent.")(history)
    app.command(short_help="Logs of the shop against what is believed.")(measured)
    app.command("apply", short_help="Accepted changes into a study, its part, its quotes.")(apply_to_study)


Frozen = Annotated[Path, typer.Argument(metavar="PLAN", help="The plan that `freeze` wrote.")]
StudyNow = Annotated[
    Path | None,
    typer.Option(
        "--study", metavar="STUDY", help="The study's file of today, to find what has changed since."
    ),
]


@in_plain_words
def freeze(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="The study's TOML file.")],
    who: Who,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="The file; without it decisions/STUDY.json beside the studies.",
        ),
    ] = None,
    on: Annotated[
        str, typer.Option(metavar="DAY", help="Day of the decision, as 2026-06-15; without it today.")
    ] = "",
    draws: Annotated[int, typer.Option(help="Draws of the uncertain inputs, a power of two.")] = 8192,
    seed: Annotated[int, typer.Option(min=0, help="The same seed gives the same numbers.")] = 1,
    json: Json = False,
) -> None:
    """Decide, and keep inputs, verdict, figures and the marks of all files as a plan to be reviewed later."""
    from costmodel.cli.review import freeze_plan

    freeze_plan(study, output, who, on, draws, seed, as_json=json)


@in_plain_words
def sign(
    plan: Frozen,
    role: Annotated[str, typer.Option(help="prepared, checked or approved.")],
    who: Who,
    on: Annotated[
        str, typer.Option(metavar="DAY", help="Day of the signature, as 2026-06-15; without it today.")
    ] = "",
    study: StudyNow = None,
    json: Json = False,
) -> None:
    """Add who prepared, checked or approved a plan, on which inputs; say where the inputs are others by now."""
    from costmodel.cli.review import sign_plan

    sign_plan(plan, role, who, on, study, as_json=json)


@in_plain_words
def review(
    plan: Frozen,
    actuals: Annotated[Path, typer.Argument(metavar="ACTUALS", help="What happened: a TOML file.")],
    study: StudyNow = None,
    method: Annotated[
        str, typer.Option(help='How the gap is split: "sequential", "one at a time" or "shapley".')
    ] = "sequential",
    charts: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Write the charts, each with its CSV, here too.")
    ] = None,
    lessons: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Write the lessons as a change file for `apply` and `rates apply`."
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Run the plan's own model on what happened: gap by cause, saving, payback, lessons, would buying be better."""
    from costmodel.cli.review import review_plan

    review_plan(plan, actuals, study, method, charts, lessons, as_json=json)


@in_plain_words
def history(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of frozen plans.")] = Path(
        "data/decisions"
    ),
    json: Json = False,
) -> None:
    """Compute every frozen plan anew at the rates of its own year; name figures and rates files that are others.

    Ends with status 2 where there is one.
    """
    from costmodel.cli.review import show_history

    show_history(folder, as_json=json)


@in_plain_words
def measured(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="The study's TOML file.")],
    logs: Annotated[list[Path], typer.Argument(metavar="LOG...", help="Logs of the shop, CSV or XLSX.")],
    who: Who,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", metavar="FILE", help="The change file; without it <study>.measured.csv."
        ),
    ] = None,
    estimator: Annotated[
        str, typer.Option(help='"robust where outliers", "mean" or "median".')
    ] = "robust where outliers",
    json: Json = False,
) -> None:
    """Propose measured values with n and spread, weighed against what was believed; apply nothing."""
    from costmodel.cli.measured import run

    run(study, logs, output, who, estimator, as_json=json)


@in_plain_words
def apply_to_study(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="The study's TOML file.")],
    changes: Annotated[Path, typer.Argument(metavar="FILE", help="The change file that `measured` wrote.")],
    who: Who,
    why: Why,
    json: Json = False,
) -> None:
    """Write the rows with accept = yes into the study, its part and its quotes: all or none, each into a change log.

    Rows of rates are left for `rates apply`; the study's range of a rate follows once the rate stands in its year.
    """
    from costmodel.cli.apply import apply_changes

    apply_changes(study, changes, who, why, as_json=json)
