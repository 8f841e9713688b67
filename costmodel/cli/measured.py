"""`measured`: logs of the shop against what the study believes."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import cast, get_args

from costmodel.cautions import INVENTED_WORDS
from costmodel.cli.rate_year import today
from costmodel.cli.shared import console, print_json, show
from costmodel.errors import InputError, Problem
from costmodel.formulas.measured_values import Estimator
from costmodel.measured import as_change, propose
from costmodel.reading import read_study
from costmodel.reading.shop_logs import read_logs
from costmodel.tables.measured_tables import change_file, proposals_table
from costmodel.tables.renderings import to_dict
from costmodel.tables.table import is_invented
from costmodel.writing import write_new


def run(
    path: Path, files: list[Path], output: Path | None, who: str, estimator: str, *, as_json: bool
) -> None:
    """Propose and write the change file; apply nothing."""
    if estimator not in get_args(Estimator):
        expected = ", ".join(get_args(Estimator))
        raise InputError(
            [Problem("command line", "--estimator", estimator, expected, "Choose one of these.")]
        )
    study = read_study(path)
    named = [(file, log) for file in files for log in read_logs(file, study)]
    proposals = [propose(study, log, cast("Estimator", estimator)) for _, log in named]
    day = datetime.date.fromisoformat(today())
    changes = [
        as_change(proposal, log.last or day, who, f"measured: {file.name}")
        for (file, log), proposal in zip(named, proposals, strict=True)
    ]
    target = output or Path(f"{study.name}.measured.csv")
    write_new(target, change_file(changes))
    table = proposals_table(proposals, invented=is_invented(study))
    if as_json:
        notice = INVENTED_WORDS if is_invented(study) else ""
        print_json({"notice": notice, "written": str(target), "proposals": to_dict(table)})
        return
    screen = console()
    if is_invented(study):
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    show(screen, [table])
    screen.print(
        f"Change file written to {target}. Nothing is applied until a row says accept = yes.", style="bold"
    )
