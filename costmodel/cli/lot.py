"""`lot`: how many parts to make at once."""

from __future__ import annotations

from pathlib import Path

from costmodel.cli.shared import changed_study, console, print_json, show, show_notice
from costmodel.lot_size import cheapest_lot
from costmodel.tables.make_tables import lots_table
from costmodel.tables.renderings import to_dict
from costmodel.tables.stamp import stamp, stamp_words


def run(path: Path, name: str, changes: list[str], scenario: str | None, *, as_json: bool) -> None:
    """Search and show."""
    study, changed = changed_study(path, changes, scenario)
    table = lots_table(study, cheapest_lot(study, name))
    foot = stamp(study, changed=changed)
    if as_json:
        print_json({"stamp": foot, "alternative": name, "tables": {"lots": to_dict(table)}})
        return
    screen = console()
    show_notice(screen, study, changed)
    show(screen, [table])
    screen.print(stamp_words(foot))
