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
from costmodel.reading.reviews import plan_place, read_actuals, read_snapshot
from costmodel.records.snapshot import Role, Signature, Snapshot
from costmodel.records.study import Study, fingerprint
from costmodel.review import (
    Kept,
    Review,
    freeze,
    kept,
    lesson_changes,
    review,
    sign_off,
    signed,
)
from costmodel.tables.measured_tables import change_file
from costmodel.tables.renderings import to_dict
from costmodel.tables.review_tables import history_table, review_tables, sign_off_table, words
from costmodel.tables.table import is_invented
from costmodel.version import library_version
from costmodel.writing import refuse_taken, write_new, write_whole


def freeze_plan(
    path: Path, output: Path | None, who: str, on: str, draws: int, seed: int, *, as_json: bool
) -> None:
    """Decide and keep the plan with every input."""
    study = read_study(path)
    decision = decide(study, draws=draws, seed=seed)
    day = _decision_day(study, on, path)
    first = Signature(role="prepared", who=who, day=day, fingerprint=fingerprint(study))
    snapshot = freeze(
        decision, day, library=f"costmodel {library_version()}", marks=marks_of(path), signatures=[first]
    )
    target = output or plan_place(path)
    if output is None:
        target.parent.mkdir(exist_ok=True)
    refuse_taken(target)
    _write(snapshot, target)
    if as_json:
        print_json({"written": str(target), "fingerprint": snapshot.fingerprint, "chosen": snapshot.chosen})
        return
    screen = console()
    screen.print(f"Frozen: {snapshot.chosen}, inputs {snapshot.fingerprint}. Written to {target}")
    if study.decided_on is None:
        screen.print(
            f"Now write decided_on = {day} into {path.name}: then other rates leave this decision alone."
        )


def _decision_day(study: Study, on: str, path: Path) -> datetime.date:
    """The day of the decision: the one named, that of the study, or today."""
    if not on:
        return study.decided_on or day_of(today(), "--on")
    day = day_of(on, "--on")
    if study.decided_on not in (None, day):
        expected = f"{study.decided_on}, as {path.name} has it"
        raise InputError([Problem("command line", "--on", on, expected, "Make the two agree.")])
    return day


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
    marked = Snapshot(**{**snapshot.__dict__, "mark": fingerprint(snapshot.study)})
    write_whole(target, as_text(marked.model_dump(mode="json")) + "\n")


def sign_plan(path: Path, role: str, who: str, on: str, study_file: Path | None, *, as_json: bool) -> None:
    """Sign a frozen plan on its inputs, or on those of a study file as they are now."""
    if role not in get_args(Role):
        expected = ", ".join(get_args(Role))
        raise InputError([Problem("command line", "--role", role, expected, "Choose one of these.")])
    snapshot = read_snapshot(path)
    if snapshot.edited:
        expected, remedy = (
            "inputs as they were frozen",
            "Restore it from where it was kept; nobody signs others.",
        )
        raise InputError([Problem(path.name, "study", "edited inputs", expected, remedy)])
    study = read_study(study_file) if study_file else snapshot.study
    day = day_of(on or today(), "--on")
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
    path: Path,
    actuals: Path,
    study_file: Path | None,
    method: str,
    charts: Path | None,
    lessons: Path | None,
    *,
    as_json: bool,
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
    written: dict[str, object] = {}
    if charts is not None:
        written["charts"] = f"{write_review_charts(found, charts)} written to {charts.resolve()}"
    if lessons is not None:
        written["lessons"] = str(write_new(lessons, change_file(lesson_changes(found))))
    invented = found.actuals.invented or is_invented(found.study)
    if as_json:
        shown = {name: to_dict(table) for name, table in tables.items()}
        notice = INVENTED_WORDS if invented else ""
        said = {"notice": notice, "words": list(words(found)), "changed files": moved}
        print_json({**said, **written, "inputs": prints(found), "tables": shown})
        return
    screen = console()
    if invented:
        screen.print(f"{INVENTED_WORDS}\n", style="bold")
    for line in words(found):
        screen.print(line)
    show(screen, tables.values())
    for name in moved:
        screen.print(
            f"Changed since the decision: {name}. The review rests on the frozen inputs.", style="bold"
        )
    for word, value in written.items():
        screen.print(f"{word.capitalize()}: {value}")
    plan, actual = prints(found).values()
    screen.print(f"Plan kept by {snapshot.library}, inputs {plan}; on what happened, inputs {actual}.")


def prints(found: Review) -> dict[str, str]:
    """Fingerprints of the inputs as planned and as they came."""
    return {"plan": found.snapshot.fingerprint, "actual": fingerprint(found.study)}


def write_review_charts(found: Review, folder: Path) -> int:
    """Write the bridges of cost and saving and the cash curve as SVG, each with its figures as CSV; how many."""
    from costmodel.charts.bridges import bridge_chart, review_chart
    from costmodel.charts.style import svg
    from costmodel.review_curves import gap_steps, review_cash, saving_steps
    from costmodel.tables.renderings import to_csv
    from costmodel.tables.review_tables import review_cash_table

    folder.mkdir(parents=True, exist_ok=True)
    tables, cash = review_tables(found), review_cash(found)
    pictures = {
        "gap": (bridge_chart(gap_steps(found)), tables["gap"]),
        "saving": (bridge_chart(saving_steps(found)), tables["saving"]),
        "cash": (review_chart(cash), review_cash_table(cash)),
    }
    for name, (figure, table) in pictures.items():
        stem = folder / f"{found.study.name}-{name}"
        write_whole(stem.with_suffix(".svg"), svg(figure))
        write_whole(stem.with_suffix(".csv"), to_csv(table))
    return len(pictures)


def show_history(folder: Path, *, as_json: bool) -> None:
    """Every frozen plan of a folder computed anew; status 2 where a figure or a year's file is another by now."""
    files = sorted(folder.glob("*.json"))
    if not files:
        expected = "a folder with plans that freeze wrote"
        raise InputError([Problem("command line", "FOLDER", str(folder), expected, "Name another folder.")])
    plans = [(kept(read_snapshot(file)), _others_by_now(file)) for file in files]
    table = history_table(plans)
    if as_json:
        print_json(to_dict(table))
    else:
        show(console(), [table])
    problems = [_differs(file, plan) for file, (plan, _) in zip(files, plans, strict=True) if not plan.holds]
    for file, (plan, changed) in zip(files, plans, strict=True):
        year = plan.snapshot.study.rates.year.year
        for name in (it for it in changed if "/rates/" in f"/{it}"):
            expected = f"the file as it was when {plan.snapshot.study.name} was decided ({file.name})"
            remedy = "Restore it; new figures belong in a new year."
            problems.append(Problem(name, f"rates {year}", "a changed file", expected, remedy))
    if problems:
        raise InputError(problems)


def _others_by_now(plan: Path) -> list[str]:
    """Files that a plan was read from, by path beside its study, that are others by now or gone."""
    studies = plan.parent.parent / "studies"
    marks = read_snapshot(plan).marks
    return [
        name
        for name, mark in marks.items()
        if not (studies / name).is_file() or file_mark(studies / name) != mark
    ]


def _differs(file: Path, plan: Kept) -> Problem:
    was, now = plan.snapshot.planned.per_part, plan.today.per_part
    found = (
        "edited inputs"
        if plan.snapshot.edited
        else f"{now:.2f} a part, {plan.today.saving_per_year:.2f} a year"
    )
    expected = f"{was:.2f} a part, {plan.snapshot.planned.saving_per_year:.2f} a year, as decided"
    remedy = (
        f"Kept by {plan.snapshot.library or 'an unknown version'}: compare with that version of the library."
    )
    return Problem(file.name, "figures", found, expected, remedy)


def changed_files(snapshot: Snapshot, study_file: Path | None) -> list[str]:
    """Files that the plan was read from and that are no longer as they were."""
    if study_file is None:
        return []
    now = marks_of(study_file)
    return [name for name, mark in snapshot.marks.items() if now.get(name) != mark]
