"""A Table as text for a terminal, HTML, CSV, a data frame, JSON. Text and HTML are rounded; the others are exact."""

from __future__ import annotations

import csv
import io
import textwrap
from dataclasses import replace
from html import escape
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, Literal

from costmodel.cautions import INVENTED
from costmodel.tables.table import Cell, Table, texts

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Group

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
GUTTER = 2
LONGEST_WORD_COLUMN = 24
ENDS = (".", "!", "?", ":")
"""How a sentence ends, so that another may follow it."""


def notes_of(table: Table) -> tuple[str, ...]:
    """The notes of a table, that of demo data in front."""
    return (f"{INVENTED}.", *table.notes) if table.invented else table.notes


def to_rich(table: Table, width: int = 110) -> Group:
    """A table for a terminal of a width: numbers to the right, units in the header, sums below a line, notes."""
    from rich import box
    from rich.console import Group
    from rich.table import Table as RichTable
    from rich.text import Text

    shown = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    for column, wide in zip(table.columns, _widths(table, width), strict=True):
        name = f"{column.name}\n[{column.unit}]" if column.unit else column.name
        justify: Literal["left", "right"] = "left" if column.kind == "text" else "right"
        shown.add_column(Text(name), justify=justify, vertical="top", overflow="fold", width=wide)
    for number, row in enumerate(texts(table)):
        if table.totals and number and number == len(table.rows) - table.totals:
            shown.add_section()
        style = "bold" if number >= len(table.rows) - table.totals else ""
        shown.add_row(*(Text(cell) for cell in row), style=style)
    notes = [Text(note, style="italic") for note in notes_of(table)]
    title = Text(table.title, style="bold")
    return Group(title, shown, *notes) if table.rows else Group(title, *notes)


def to_text(table: Table, width: int = 110) -> str:
    """The same as plain text, for a command that has no time to load a library for terminals."""
    if not table.rows:
        return "\n".join([table.title, *notes_of(table)])
    wide = _widths(table, width)
    lines = [table.title]
    for cells in ([column.header for column in table.columns], *texts(table)):
        wrapped = [textwrap.wrap(cell, room) or [""] for cell, room in zip(cells, wide, strict=True)]
        for parts in zip_longest(*wrapped, fillvalue=""):
            spread = (
                part.ljust(room) if column.kind == "text" else part.rjust(room)
                for part, room, column in zip(parts, wide, table.columns, strict=True)
            )
            lines.append((" " * GUTTER).join(spread).rstrip())
        if len(lines) == 2:
            lines.append("-" * (sum(wide) + GUTTER * (len(wide) - 1)))
    return "\n".join([*lines, *notes_of(table)])


def _widths(table: Table, width: int) -> list[int]:
    """A width for each column: what it needs, and what is left over to the words that would wrap."""
    shown = texts(table)
    widths = [_needed(table, at, [row[at] for row in shown]) for at in range(len(table.columns))]
    left = width - sum(widths) - len(widths) * GUTTER
    for at, column in enumerate(table.columns):
        if column.kind == "text":
            natural = max((len(row[at]) for row in shown), default=0)
            more = max(0, min(left, natural - widths[at]))
            widths[at] += more
            left -= more
    return widths


def to_html(table: Table, *, marked: int | None = None) -> str:
    """A table element with caption, scopes and notes; the first column names its row, one row may be marked."""
    head = "".join(
        f'<th scope="col"{_number_class(column.kind)}>{escape(column.name)}'
        + (f' <span class="unit">[{escape(column.unit)}]</span>' if column.unit else "")
        + "</th>"
        for column in table.columns
    )
    body = "\n".join(_html_row(table, cells, number, marked) for number, cells in enumerate(texts(table)))
    said = " ".join(note if note.endswith(ENDS) else f"{note}." for note in notes_of(table))
    notes = f"<br><small>{escape(said)}</small>" if said else ""
    return (
        f"<table>\n<caption>{escape(table.title)}{notes}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>"
    )


def _html_row(table: Table, cells: list[str], number: int, marked: int | None) -> str:
    shown = []
    for at, (cell, column) in enumerate(zip(cells, table.columns, strict=True)):
        is_word = isinstance(table.rows[number][at], str)
        mark = _number_class("text" if is_word and column.kind == "text" else column.kind)
        if at == 0:
            shown.append(f'<th scope="row"{mark}>{escape(cell)}</th>')
        else:
            shown.append(f"<td{mark}>{escape(cell)}</td>")
    total = ' class="total"' if number >= len(table.rows) - table.totals else ""
    chosen = ' class="chosen"' if number == marked else total
    return f"<tr{chosen}>{''.join(shown)}</tr>"


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
    """A cell that a spreadsheet takes for text on one line, not for a formula."""
    if not isinstance(cell, str):
        return cell
    line = cell.replace("\r", " ").replace("\n", " ")
    return f"'{line}" if cell.startswith(FORMULA_SIGNS) else line


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
    """The table in pieces that fit a width, each with what names its rows in front; one piece where all fits."""
    if not table.rows:
        return [table]
    shown = texts(table)
    needs = [_needed(table, at, [row[at] for row in shown]) + GUTTER for at in range(len(table.columns))]
    front = _naming(table)
    if 2 * sum(needs[:front]) > width:
        front = 1
    groups: list[list[int]] = [[]]
    room = width - sum(needs[:front])
    for at in range(front, len(table.columns)):
        if groups[-1] and needs[at] > room:
            groups.append([])
            room = width - sum(needs[:front])
        groups[-1].append(at)
        room -= needs[at]
    if len(groups) == 1:
        return [table]
    fixed = list(range(front))
    return [
        _piece(table, [*fixed, *group], number, len(groups)) for number, group in enumerate(groups, start=1)
    ]


def _naming(table: Table) -> int:
    """How many columns name a row: one, or two where the first says the same of several rows."""
    first = [row[0] for row in table.rows]
    several = len(set(first)) < len(first) and len(table.columns) > 2
    return 2 if several and table.columns[1].kind == "text" else 1


def _needed(table: Table, at: int, cells: list[str]) -> int:
    """Characters that a column needs: numbers whole, words wrapped."""
    column = table.columns[at]
    longest = max((len(cell) for cell in cells), default=0)
    header = max(len(word) for word in (*column.name.split(), f"[{column.unit}]"))
    return max(header, longest if column.kind != "text" else min(longest, LONGEST_WORD_COLUMN))


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
