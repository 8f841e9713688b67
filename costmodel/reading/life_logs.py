"""A log of tool lives from CSV: one row an edge, units in the header."""

from __future__ import annotations

from pathlib import Path

from costmodel.reading.found import Found
from costmodel.reading.tables import read_table
from costmodel.records.life_log import EdgeLife, LifeLog

INVENTED = "invented"


def read_life_log(path: Path | str) -> LifeLog:
    """The edges of a CSV log; a note that says so marks it as invented. Raises InputError."""
    found = Found()
    path = Path(path)
    edges = read_table(path, EdgeLife, "", found)
    if not found.problems and not edges:
        found.add(path, "row 2", "", "at least one edge", "Write a row for each edge taken out.")
    found.stop()
    return LifeLog(edges=edges, invented=any(INVENTED in edge.note for edge in edges.values()))
