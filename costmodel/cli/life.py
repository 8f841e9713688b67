"""`life`: what a log of tool lives says."""

from __future__ import annotations

from pathlib import Path

from costmodel.cautions import INVENTED_WORDS
from costmodel.cli.shared import console, print_json, show
from costmodel.life_log import by_field, read_life
from costmodel.reading.life_logs import read_life_log
from costmodel.tables.make_tables import life_table
from costmodel.tables.renderings import to_dict


def run(path: Path, *, lognormal: bool, as_json: bool) -> None:
    """Fit and show."""
    log = read_life_log(path)
    fits = read_life(log, "lognormal" if lognormal else "weibull")
    table = life_table(fits, log.invented)
    if as_json:
        shown = {"life": to_dict(table)}
        numbers = [by_field(fit) for fit in fits]
        print_json({"log": path.name, "invented": log.invented, "fits": numbers, "tables": shown})
        return
    screen = console()
    if log.invented:
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    show(screen, [table])
