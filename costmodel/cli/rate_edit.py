"""`rates workbook`, `rates apply`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from costmodel.cli.rate_year import today
from costmodel.cli.shared import console, print_json, show
from costmodel.rate_changes import Given, changed_cells
from costmodel.rate_merge import Edited, left_behind, merged
from costmodel.rate_update import cell_log_rows, log_text, sheet_texts
from costmodel.reading import read_rates
from costmodel.reading.rate_folder import read_changes, read_log, read_rate_sheets, refuse_sealed
from costmodel.reading.rates_workbook import read_workbook
from costmodel.records.rate_sheet import CHANGE_LOG, YEAR_FILE, CellKey, RateSheets, cell_changes
from costmodel.tables.rates_workbook import to_workbook
from costmodel.tables.renderings import to_dict
from costmodel.tables.table import Column, Table, make_table
from costmodel.writing import files_mark, recover_folder, write_folder, write_new


def to_file(year: int, folder: Path, output: Path | None, *, as_json: bool) -> None:
    """Write a year's workbook."""
    source = folder / str(year)
    rates = read_rates(source)
    book = to_workbook(
        read_rate_sheets(source), str(year), rates.year.home_currency, invented=rates.year.invented
    )
    written = write_new(output or Path(f"rates-{year}.xlsx"), book)
    if as_json:
        print_json({"written": str(written)})
    else:
        console().print(f"Written: {written}")


def apply_file(year: int, file: Path, folder: Path, who: str, why: str, *, as_json: bool) -> None:
    """Bring edits into a year, all of them or none."""
    target = folder / str(year)
    recover_folder(target)
    refuse_sealed(target)
    seen = files_mark(target)
    before = read_rate_sheets(target)
    left: list[str] = []
    silent = ""
    given: dict[CellKey, Given] = {}
    reasons: dict[CellKey, str] = {}
    if file.suffix.lower() == ".csv":
        accepted = [change for change in read_changes(file) if change.accept == "yes"]
        silent = "" if accepted else f"No row of {file.name} says accept = yes: nothing was applied."
        mine = [change for change in accepted if change.cell is not None]
        left = [change.address for change in accepted if change.cell is None]
        given = changed_cells(before, mine)
        after = before.with_cells({key: cell.text for key, cell in given.items()})
    else:
        edited = Edited(*read_workbook(file, before))
        after = merged(before, edited, file.name)
        reasons = {key: edited.reason(key) for key in edited.changed()}
    rows = cell_log_rows(
        *(before, after, today(), who, {key: text for key, text in reasons.items() if text}, why), given
    )
    _write(target, before, after, rows, seen)
    _tell(target, before, after, left, silent, as_json=as_json)


def _write(
    target: Path, before: RateSheets, after: RateSheets, rows: Iterable[tuple[str, ...]], seen: str
) -> None:
    if before == after:
        return
    kept = {path.name: path.read_text(encoding="utf-8") for path in target.iterdir() if path.is_file()}
    files = {
        **kept,
        YEAR_FILE: after.year_text,
        **sheet_texts(after),
        CHANGE_LOG: log_text(read_log(target), rows),
    }
    write_folder(target, files, check=read_rates, replace=True, seen=seen)


def _tell(
    target: Path, before: RateSheets, after: RateSheets, left: list[str], silent: str, *, as_json: bool
) -> None:
    found = [(*key, was, now) for key, was, now in cell_changes(before.cells(), after.cells())]
    new = [(*key, "", now) for key, now in after.cells().items() if key not in before.cells()]
    table = changes_table([*found, *new])
    behind = [silent] if silent else list(left_behind(before, after))
    if as_json:
        print_json(
            {"written": str(target), "changes": to_dict(table), "not rates": left, "to look at": behind}
        )
        return
    screen = console()
    show(screen, [table])
    for line in behind:
        screen.print(f"To look at: {line}")
    for address in left:
        screen.print(f"Not a rate, so left for costmodel apply: {address}")


def changes_table(rows: list[tuple[str, ...]]) -> Table:
    """The cells that were changed."""
    columns = [Column(word) for word in ("table", "row", "column", "was", "new")]
    return make_table(f"Changed cells: {len(rows)}", columns, rows)
