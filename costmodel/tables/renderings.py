"""A Table as text for a terminal, HTML, CSV, a data frame, JSON. Text and HTML are rounded; the others are exact."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING, Any

from costmodel.cautions import INVENTED
from costmodel.tables.table import Cell, Table, texts

if TYPE_CHECKING:
    import pandas as pd
    from rich.table import Table as RichTable

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
GUTTER = 2
LONGEST_WORD_COLUMN = 24


def notes_of(table: Table) -> tuple[str, ...]:
    """The notes of a table, that of demo data in front."""
    return (f"{INVENTED}.", *table.notes) if table.invented else table.notes


def to_rich(table: Table) -> RichTable:
    """A table for a terminal: numbers to the right, units in the header, sums below a line."""
    from rich import box
    from rich.table import Table as RichTable
    from rich.text import Text

    shown = RichTable(
        title=Text(table.title, style="bold"),
        caption=Text("\n".join(notes_of(table))) if notes_of(table) else None,
        box=box.SIMPLE_HEAD,
        title_justify="left",
        caption_justify="left",
        pad_edge=False,
        padding=(0, 1),
    )
    shown_texts = texts(table)
    for at, column in enumerate(table.columns):
        is_text = column.kind == "text"
        name = f"{column.name}\n[{column.unit}]" if column.unit else column.name
        shown.add_column(
            Text(name),
            justify="left" if is_text else "right",
            vertical="top",
            overflow="fold",
            no_wrap=False,
            min_width=_needed(table, at, [row[at] for row in shown_texts]) - GUTTER,
        )
    for number, row in enumerate(shown_texts):
        first_total = number == len(table.rows) - table.totals
        if first_total and table.totals and number:
            shown.add_section()
        style = "bold" if number >= len(table.rows) - table.totals else ""
        shown.add_row(*(Text(cell) for cell in row), style=style)
    return shown


def to_html(table: Table, *, row_headers: bool = True, css_class: str = "") -> str:
    """A table element with caption, scopes and notes; the first column names its row."""
    attribute = f' class="{escape(css_class)}"' if css_class else ""
    head = "".join(
        f'<th scope="col"{_number_class(column.kind)}>{escape(column.name)}'
        + (f' <span class="unit">[{escape(column.unit)}]</span>' if column.unit else "")
        + "</th>"
        for column in table.columns
    )
    body = "\n".join(
        _html_row(table, cells, number, row_headers) for number, cells in enumerate(texts(table))
    )
    notes = "".join(f"<br><small>{escape(note)}</small>" for note in notes_of(table))
    return (
        f"<table{attribute}>\n<caption>{escape(table.title)}{notes}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>"
    )


def _html_row(table: Table, cells: list[str], number: int, row_headers: bool) -> str:
    shown = []
    for at, (cell, column) in enumerate(zip(cells, table.columns, strict=True)):
        is_word = isinstance(table.rows[number][at], str)
        mark = _number_class("text" if is_word and column.kind == "text" else column.kind)
        if at == 0 and row_headers:
            shown.append(f'<th scope="row"{mark}>{escape(cell)}</th>')
        else:
            shown.append(f"<td{mark}>{escape(cell)}</td>")
    total = ' class="total"' if number >= len(table.rows) - table.totals else ""
    return f"<tr{total}>{''.join(shown)}</tr>"


def _number_class(kind: str) -> str:
    return "" if kind == "text" else ' class="n"'


def to_csv(table: Table) -> str:
    """Comma separated values, numbers exact with a decimal point; no text can act as a spreadsheet formula.

    Demo data say so in a column of their own, since a row may be copied out of its file.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    mark: list[Cell] = [INVENTED] if table.invented else []
    writer.writerow([as_text(column.header) for column in table.columns] + (["data"] if mark else []))
    for row in table.rows:
        writer.writerow([as_text(cell) for cell in row] + mark)
    return text.getvalue()


def as_text(cell: Cell) -> Cell:
    """A cell that a spreadsheet takes for text, not for a formula."""
    if isinstance(cell, str) and cell.startswith(FORMULA_SIGNS):
        return f"'{cell}"
    return cell


def to_frame(table: Table) -> pd.DataFrame:
    """A data frame with exact numbers; the notes stand in its ``attrs``."""
    import pandas as pd

    frame = pd.DataFrame(list(table.rows), columns=[column.header for column in table.columns])
    frame.attrs = {"title": table.title, "notes": list(notes_of(table))}
    return frame


def to_dict(table: Table) -> dict[str, Any]:
    """A table for JSON: numbers exact, a missing one in words."""
    return {
        "title": table.title,
        "notes": list(notes_of(table)),
        "columns": [{"name": column.name, "unit": column.unit} for column in table.columns],
        "rows": [list(row) for row in table.rows],
        "totals": table.totals,
    }


def fitted(table: Table, width: int) -> list[Table]:
    """The table in pieces that fit a width, each with the first column in front; one piece where all fits."""
    shown = texts(table)
    needs = [_needed(table, at, [row[at] for row in shown]) for at in range(len(table.columns))]
    groups: list[list[int]] = [[]]
    room = width - needs[0]
    for at in range(1, len(table.columns)):
        if groups[-1] and needs[at] > room:
            groups.append([])
            room = width - needs[0]
        groups[-1].append(at)
        room -= needs[at]
    if len(groups) == 1:
        return [table]
    return [_piece(table, [0, *group], number, len(groups)) for number, group in enumerate(groups, start=1)]


def _needed(table: Table, at: int, cells: list[str]) -> int:
    """Characters that a column needs: numbers whole, words wrapped."""
    column = table.columns[at]
    longest = max((len(cell) for cell in cells), default=0)
    header = max(len(word) for word in (*column.name.split(), f"[{column.unit}]"))
    return max(header, longest if column.kind != "text" else min(longest, LONGEST_WORD_COLUMN)) + GUTTER


def _piece(table: Table, columns: list[int], number: int, of: int) -> Table:
    last = number == of
    return replace(
        table,
        title=f"{table.title} ({number} of {of})",
        columns=tuple(table.columns[at] for at in columns),
        rows=tuple(tuple(row[at] for at in columns) for row in table.rows),
        notes=table.notes if last else (),
        invented=table.invented and last,
    )
