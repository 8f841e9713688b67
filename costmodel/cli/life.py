"""`life`: what a log of tool lives says."""

from __future__ import annotations

from pathlib import Path

from costmodel.cautions import INVENTED_WORDS
from costmodel.cli.shared import console, print_json, show
from costmodel.life_log import read_life
from costmodel.reading.life_logs import read_life_log
from costmodel.tables.make_tables import life_table
from costmodel.tables.renderings import to_dict


def run(path: Path, *, lognormal: bool, as_json: bool) -> None:
    """Fit and show."""
    log = read_life_log(path)
    table = life_table(read_life(log, "lognormal" if lognormal else "weibull"), log.invented)
    if as_json:
        print_json({"log": path.name, "invented": log.invented, "tables": {"life": to_dict(table)}})
        return
    screen = console()
    if log.invented:
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    show(screen, [table])
