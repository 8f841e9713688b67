"""`freeze`, `sign`, `review`."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import cast, get_args

from costmodel.cautions import INVENTED_WORDS
from costmodel.cli.rate_base import day_of
from costmodel.cli.rate_year import today
from costmodel.cli.shared import as_text, console, print_json, show
from costmodel.decision import decide
from costmodel.errors import InputError, Problem
from costmodel.formulas.bridge import SplitMethod
from costmodel.reading import read_study
from costmodel.reading.linked_logs import log_files
from costmodel.reading.rate_folder import file_mark, file_marks
from costmodel.reading.reviews import read_actuals, read_snapshot
from costmodel.records.snapshot import Role, Signature, Snapshot
from costmodel.records.study import fingerprint
from costmodel.review import freeze, review, sign_off, signed
from costmodel.tables.renderings import to_dict
from costmodel.tables.review_tables import review_tables, sign_off_table, words
from costmodel.tables.table import is_invented
from costmodel.version import library_version
from costmodel.writing import write_whole


def freeze_plan(
    path: Path, output: Path | None, who: str, on: str, draws: int, seed: int, *, as_json: bool
) -> None:
    """Decide and keep the plan with every input."""
    study = read_study(path)
    decision = decide(study, draws=draws, seed=seed)
    day = day_of(on or today(), "--on")
    first = Signature(role="prepared", who=who, day=day, fingerprint=fingerprint(study))
    snapshot = freeze(
        decision, day, library=f"costmodel {library_version()}", marks=marks_of(path), signatures=[first]
    )
    target = output or Path(f"{study.name}.decided.json")
    if target.exists():
        expected, remedy = "a name that is free", "A frozen plan is never written over: name another with -o."
        raise InputError([Problem(target.name, "file", str(target), expected, remedy)])
    _write(snapshot, target)
    if as_json:
        print_json({"written": str(target), "fingerprint": snapshot.fingerprint, "chosen": snapshot.chosen})
    else:
        console().print(f"Frozen: {snapshot.chosen}, inputs {snapshot.fingerprint}. Written to {target}")


def marks_of(path: Path) -> dict[str, str]:
    """The SHA-256 of the study's file and of every file it names, by path beside it."""
    import tomllib

    raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    files = {
        path.name: path,
        raw["part"]: path.parent / raw["part"],
        raw["quotes"]: path.parent / raw["quotes"],
    }
    sheet = path.parent / raw["quotes"]
    files |= log_files(sheet, read_study(path).quotes)
    marks = {name: file_mark(file) for name, file in files.items() if file.is_file()}
    return {
        **marks,
        **{f"{raw['rates']}/{name}": mark for name, mark in file_marks(path.parent / raw["rates"]).items()},
    }


def _write(snapshot: Snapshot, target: Path) -> None:
    write_whole(target, as_text(snapshot.model_dump(mode="json")) + "\n")


def sign_plan(path: Path, role: str, who: str, study_file: Path | None, *, as_json: bool) -> None:
    """Sign a frozen plan on its inputs, or on those of a study file as they are now."""
    if role not in get_args(Role):
        expected = ", ".join(get_args(Role))
        raise InputError([Problem("command line", "--role", role, expected, "Choose one of these.")])
    snapshot = read_snapshot(path)
    study = read_study(study_file) if study_file else snapshot.study
    day = datetime.date.fromisoformat(today())
    snapshot = signed(
        snapshot, Signature(role=cast("Role", role), who=who, day=day, fingerprint=fingerprint(study))
    )
    _write(snapshot, path)
    state = sign_off(snapshot, study, day)
    if as_json:
        print_json({"signatures": list(state.lines), "changed": list(state.changed)})
        return
    show(console(), [sign_off_table(state)])


def review_plan(
    path: Path, actuals: Path, study_file: Path | None, method: str, chart: Path | None, *, as_json: bool
) -> None:
    """Run the frozen plan on what happened and show what the gap is made of."""
    if method not in get_args(SplitMethod):
        expected = ", ".join(get_args(SplitMethod))
        raise InputError([Problem("command line", "--method", method, expected, "Choose one of these.")])
    snapshot = read_snapshot(path)
    found = review(snapshot, read_actuals(actuals), method=cast("SplitMethod", method))
    tables = review_tables(found)
    now = datetime.date.fromisoformat(today())
    state = sign_off(snapshot, read_study(study_file) if study_file else snapshot.study, now)
    tables["signatures"] = sign_off_table(state)
    moved = changed_files(snapshot, study_file)
    if chart is not None:
        from costmodel.charts.bridges import bridge_chart
        from costmodel.charts.style import svg
        from costmodel.curves import subject_of

        title = found.study.alternatives[snapshot.chosen].title
        write_whole(chart, svg(bridge_chart(found.gap, subject_of(found.study), title)))
    invented = found.actuals.invented or is_invented(found.study)
    if as_json:
        shown = {name: to_dict(table) for name, table in tables.items()}
        notice = INVENTED_WORDS if invented else ""
        print_json({"notice": notice, "words": list(words(found)), "changed files": moved, "tables": shown})
        return
    screen = console()
    if invented:
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    show(screen, tables.values())
    for name in moved:
        screen.print(
            f"Changed since the decision: {name}. The review rests on the frozen inputs.", style="bold"
        )


def changed_files(snapshot: Snapshot, study_file: Path | None) -> list[str]:
    """Files that the plan was read from and that are no longer as they were."""
    if study_file is None:
        return []
    now = marks_of(study_file)
    return [name for name, mark in snapshot.marks.items() if now.get(name) != mark]
