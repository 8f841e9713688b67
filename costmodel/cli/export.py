"""`export`: cost sheets, comparison and register for a spreadsheet."""

from __future__ import annotations

from pathlib import Path

import typer

from costmodel.cli.shared import changed_study, print_json
from costmodel.errors import InputError, Problem
from costmodel.exchange import stamp_table, study_tables, write_csv_files, write_workbook


def run(
    path: Path, output: Path, changes: list[str], scenario: str | None, *, blind: bool = False, as_json: bool
) -> None:
    """Write one XLSX file, or a folder of CSV files where the output has no ending."""
    if output.suffix.lower() not in ("", ".xlsx"):
        expected = "a file ending in .xlsx, or a folder for CSV files"
        raise InputError([Problem("command line", "-o", str(output), expected, f"Say {output.stem}.xlsx.")])
    study, changed = changed_study(path, changes, scenario, blind=blind)
    tables = {**study_tables(study, with_pay=not blind), "stamp": stamp_table(study, changed)}
    written = write_csv_files(tables, output) if output.suffix == "" else [write_workbook(tables, output)]
    if as_json:
        print_json({"written": [str(file) for file in written]})
        return
    for file in written:
        typer.echo(f"Written: {file}")
