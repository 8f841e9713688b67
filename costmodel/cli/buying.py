"""Commands of a buyer: sheets for offers, logs, whether a price is reasonable, stock, a change of source."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from costmodel.cli.faults import in_plain_words
from costmodel.cli.options import Blind, Changes, Json, ScenarioName, StudyFile


def add_buying(app: typer.Typer) -> None:
    """The commands of a buyer."""
    app.command("entry-sheet", short_help="A blank sheet for quotes, with units and drop-downs.")(entry_sheet)
    app.command(short_help="A delivery log: lead time, lateness, rejects, and what they change.")(deliveries)
    app.command(short_help="Is a price reasonable? A range beside each.")(price)
    app.command(short_help="Stock, stops and second sources, made or bought.")(supply)
    app.command(short_help="Leaving a source: bridge stock, last buy, fall back.")(switch)
    app.command("drawing-change", short_help="A new drawing: parts on the shelf and on the way.")(
        drawing_change
    )


@in_plain_words
def entry_sheet(
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="The XLSX file to write.")
    ] = Path("offers.xlsx"),
    study: Annotated[
        Path | None,
        typer.Option(help="Ask for this study's part and quantities, with its rates to choose from."),
    ] = None,
    currency: Annotated[str, typer.Option(help="Home currency of a sheet without a study.")] = "USD",
    with_offers: Annotated[
        bool, typer.Option("--with-offers", help="Write the offers of the study into it, to be renewed.")
    ] = False,
    json: Json = False,
) -> None:
    """Write a sheet in which offers are entered; it loads back as it is, with `check` and as a study's quotes."""
    from costmodel.cli.sourcing import write_sheet

    write_sheet(output, study, currency, with_offers=with_offers, as_json=json)


@in_plain_words
def deliveries(
    log: Annotated[Path, typer.Argument(metavar="LOG", help="The log, CSV or XLSX.")],
    supplier: Annotated[str, typer.Option(help="One supplier of a log that holds several.")] = "",
    study: Annotated[
        Path | None, typer.Option(help="The study whose offer the log is compared with.")
    ] = None,
    quote: Annotated[str, typer.Option(metavar="NAME", help="That offer.")] = "",
    json: Json = False,
) -> None:
    """Say what a delivery log shows; with a study, what its figures change and whether the stock holds."""
    from costmodel.cli.sourcing import show_log

    show_log(log, supplier, study, quote, as_json=json)


@in_plain_words
def price(
    study: StudyFile,
    guesses: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="[ASSUMED]...",
            help="TOML files of what is assumed of a supplier; without one, ../should_cost/<study>-*.toml.",
        ),
    ] = None,
    draws: Annotated[int, typer.Option(min=64, help="Draws of what is assumed.")] = 4096,
    seed: Annotated[int, typer.Option(min=0, help="The same seed gives the same numbers.")] = 1,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Put the range of a maker's likely cost and margin beside the price of each offer, with every assumption.

    The range is our own cost model on assumed wages, hours, material and margin of the maker; never a point.
    """
    from costmodel.cli.sourcing import show_prices

    show_prices(study, guesses or [], draws, seed, changes or [], scenario, as_json=json)


@in_plain_words
def supply(
    study: StudyFile,
    simulate: Annotated[
        bool, typer.Option("--simulate", help="Try each reorder point day by day too; takes up to a minute.")
    ] = False,
    changes: Changes = None,
    scenario: ScenarioName = None,
    blind: Blind = False,
    json: Json = False,
) -> None:
    """Show stock, shortage and stops of every source, made or bought, and what a second source is worth."""
    from costmodel.cli.stock import show_supply

    show_supply(study, changes or [], scenario, simulate=simulate, blind=blind, as_json=json)


@in_plain_words
def switch(
    study: StudyFile,
    to: Annotated[str, typer.Argument(metavar="ALTERNATIVE", help="The way it will be got.")],
    start: Annotated[
        str | None, typer.Option("--from", metavar="ALTERNATIVE", help="The way left; without it, today's.")
    ] = None,
    ramp: Annotated[
        float, typer.Option(min=0.0, metavar="WEEKS", help="Weeks of use until the new way brings all.")
    ] = 5.0,
    margin: Annotated[
        float, typer.Option(min=0.0, metavar="WEEKS", help="Weeks of use kept beyond that.")
    ] = 3.0,
    begins: Annotated[
        float | None,
        typer.Option(
            min=0.0,
            metavar="WEEKS",
            help="Weeks of use from today until the ramp begins; without it, the lead time of the way left.",
        ),
    ] = None,
    made: Annotated[
        float, typer.Option(min=0.0, metavar="PARTS", help="Good parts that the new way brings in the ramp.")
    ] = 0.0,
    in_stock: Annotated[
        float, typer.Option(min=0.0, metavar="PARTS", help="Parts on the shelf today.")
    ] = 0.0,
    on_order: Annotated[float, typer.Option(min=0.0, metavar="PARTS", help="Parts on order today.")] = 0.0,
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Plan the change to another source: bridge stock, last buy and its day, when to fall back."""
    from costmodel.cli.stock import show_switch

    stock = {"made_in_ramp": made, "in_stock": in_stock, "on_order": on_order}
    show_switch(study, start, to, ramp, margin, begins, stock, changes or [], scenario, as_json=json)


@in_plain_words
def drawing_change(
    study: StudyFile,
    alternatives: Annotated[
        list[str] | None,
        typer.Argument(metavar="[ALTERNATIVE]...", help="Ways it is got; without one, all of them."),
    ] = None,
    unusable: Annotated[
        str, typer.Option(metavar="SHARE", help="Share of the parts that no longer serve, such as '60 %'.")
    ] = "100 %",
    recovered: Annotated[
        str, typer.Option(metavar="MONEY", help="What such a part brings back, such as '2 USD/part'.")
    ] = "",
    changes: Changes = None,
    scenario: ScenarioName = None,
    json: Json = False,
) -> None:
    """Say what a change of the drawing costs in parts on the shelf and on the way, for each alternative."""
    from costmodel.cli.stock import show_drawing_change

    show_drawing_change(study, alternatives or [], unusable, recovered, changes or [], scenario, as_json=json)
