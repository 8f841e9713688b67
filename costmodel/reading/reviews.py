"""What was frozen at a decision, and what a period after it brought."""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar

from costmodel.reading.found import Found, near_file
from costmodel.records.fields import Named, Record
from costmodel.records.snapshot import FORMAT, Actuals, Snapshot
from costmodel.records.study import Study, fingerprint_of

Kind = TypeVar("Kind", bound=Record)
Raw = dict[str, Any]

SINCE_FORMAT: dict[int, dict[tuple[str, ...], object]] = {}
"""Fields that a plan of an older form lacks: for each form that brought them, place and the value that changes nothing.

A place is a path below the plan; ``*`` stands for every row of a table: ("study", "rates", "machines", "*", "field").
"""
DECISIONS, REVIEWS = "decisions", "reviews"
"""Folders beside the studies: frozen plans, and what happened since."""


def read_snapshot(path: Path | str) -> Snapshot:
    """A plan frozen at its decision, from the JSON file that `costmodel freeze` wrote. Raises InputError.

    A plan of an older form gets the fields it lacks at the values that `SINCE_FORMAT` states; one of a newer form is
    refused.
    """
    path, found = Path(path), Found()
    raw = _parsed(path, found)
    result = _snapshot(path, raw, found) if isinstance(raw, dict) else None
    if raw is not None and not isinstance(raw, dict):
        found.add(path, "file", "", "a plan that freeze wrote", "Name the file of a plan.")
    found.stop()
    assert result is not None
    return result


def _snapshot(path: Path, raw: Raw, found: Found) -> Snapshot | None:
    form, library = raw.get("format", 0), raw.get("library") or "an unknown version"
    if not isinstance(form, int) or form > FORMAT:
        expected = f"a plan of form {FORMAT} or older"
        remedy = f"It was kept by {library}: read it with that version or a newer one."
        found.add(path, "format", f"{form}", expected, remedy)
        return None
    inputs = raw.get("study")
    edited = isinstance(inputs, dict) and fingerprint_of(inputs) != (
        raw.get("mark") or raw.get("fingerprint")
    )
    for newer in range(form + 1, FORMAT + 1):
        for place, value in SINCE_FORMAT.get(newer, {}).items():
            for owner in _owners(raw, place[:-1]):
                owner.setdefault(place[-1], value)
    before = len(found.problems)
    result = found.record(Snapshot, {**raw, "format": FORMAT, "edited": edited}, path, from_file=False)
    if result is None and len(found.problems) > before:
        expected = f"every input that form {FORMAT} has"
        remedy = f"It was kept by {library} and misses what is named above: read it with that version."
        found.add(path, "format", f"{form}", expected, remedy)
    return result


def _owners(node: Any, path: tuple[str, ...]) -> Iterator[Raw]:
    """The tables at a path, every row where it says so; none where there is nothing."""
    if not isinstance(node, dict):
        return
    if not path:
        yield node
        return
    names = list(node) if path[0] == "*" else [path[0]]
    for name in names:
        yield from _owners(node.get(name), path[1:])


def read_actuals(path: Path | str) -> Actuals:
    """What a period brought, from a TOML file: values as text with units, by address. Raises InputError."""
    path, found = Path(path), Found()
    raw = _parsed(path, found)
    result = None if raw is None else found.record(Actuals, raw, path)
    found.stop()
    assert result is not None
    return result


def kept_plan(study_path: Path | str) -> Snapshot | None:
    """The frozen plan of a study, ``decisions/NAME.json`` beside its folder; None where none was kept."""
    plan = plan_place(study_path)
    return read_snapshot(plan) if plan.is_file() else None


def plan_place(study_path: Path | str) -> Path:
    """Where the frozen plan of a study is looked for."""
    study = Path(study_path)
    return study.parent.parent / DECISIONS / f"{study.stem}.json"


def actuals_of(study_path: Path | str, study: Study, more: Mapping[str, object] | None = None) -> Actuals:
    """What happened since a study's decision: the last ``reviews/NAME-*.toml`` beside its folder, and `more`.

    Without a file nothing has happened but what `more` says.
    """
    folder = Path(study_path).parent.parent / REVIEWS
    files = sorted(folder.glob(f"{Path(study_path).stem}-*.toml"))
    if files:
        known = read_actuals(files[-1])
    else:
        known = Actuals(
            title="Nothing was written down yet",
            since=study.as_of,
            until=max(study.review_date, study.as_of + datetime.timedelta(days=1)),
            prepared_by=study.prepared_by,
            invented=study.invented,
            actual=Named(),
        )
    added = {
        address: {"name": address, "value": str(value), "source": "stated for this run"}
        for address, value in (more or {}).items()
    }
    return Actuals.model_validate({**known.__dict__, "actual": {**known.actual, **added}})


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
