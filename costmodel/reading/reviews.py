"""What was frozen at a decision, and what a period after it brought."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any, TypeVar

from costmodel.reading.found import Found, near_file
from costmodel.records.fields import Record
from costmodel.records.snapshot import Actuals, Snapshot

Kind = TypeVar("Kind", bound=Record)


def read_snapshot(path: Path | str) -> Snapshot:
    """A plan frozen at its decision, from the JSON file that `costmodel freeze` wrote. Raises InputError."""
    path, found = Path(path), Found()
    raw = _parsed(path, found)
    result = None if raw is None else found.record(Snapshot, raw, path, from_file=False)
    found.stop()
    assert result is not None
    return result


def read_actuals(path: Path | str) -> Actuals:
    """What a period brought, from a TOML file: values as text with units, by address. Raises InputError."""
    path, found = Path(path), Found()
    raw = _parsed(path, found)
    result = None if raw is None else found.record(Actuals, raw, path)
    found.stop()
    assert result is not None
    return result


def _parsed(path: Path, found: Found) -> Any:
    read = json.loads if path.suffix == ".json" else tomllib.loads
    try:
        return read(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        found.add(path, "file", str(path), "a file that exists", near_file(path))
    except OSError as error:
        found.unreadable(path, error)
    except ValueError as error:  # what both parsers and the decoding raise
        kind = "JSON as it was written" if path.suffix == ".json" else "TOML"
        found.add(path, "file", "", f"valid {kind} ({error})", "Mend the line that it names.")
    return None
