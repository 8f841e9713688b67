"""`brief`: the decision in tables, and its page."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from costmodel.cautions import DEFERRAL, SHORT
from costmodel.cli.shared import changed_study, console, print_json, show, show_notice
from costmodel.errors import InputError, Problem
from costmodel.tables.renderings import to_csv, to_dict
from costmodel.writing import write_whole

if TYPE_CHECKING:
    from rich.console import Console

    from costmodel.decision import Decision
    from costmodel.page import Pictures
    from costmodel.records.study import Study
    from costmodel.review import SignOff
    from costmodel.tables.table import Table

LEAST_DRAWS = 64
STAGES = 9
MOST_SWINGS = 8

Step = Callable[[str], None]


def run(
    path: Path,
    output: Path | None,
    draws: int,
    seed: int,
    csv: Path | None,
    changes: list[str],
    scenario: str | None,
    plan: Path | None = None,
    *,
    blind: bool = False,
    as_json: bool,
) -> None:
    """Decide, write the page, show the decision."""
    _check_draws(draws)
    with progress() as step:
        step("reading")
        study, changed = changed_study(path, changes, scenario, blind=blind)
        _check_kinds(study)
        step("costing and drawing")
        from costmodel.decision import decide, without_pay

        decision = decide(study, draws=draws, seed=seed)
        decision = without_pay(decision) if blind else decision
        from costmodel.page import draw, write_page
        from costmodel.page.behind import tables_behind

        pictures = draw(decision, lambda: step("pictures"))
        written = write_page(
            decision, output or Path(f"{study.name}.html"), pictures, changed, _signed(plan, study)
        )
        tables = {**decision_tables(decision), **tables_behind(decision, pictures)}
        step("files")
        if csv is not None:
            write_tables(tables, csv)
    if as_json:
        print_json(_as_data(decision, pictures, tables, changed, written))
        return
    screen = console()
    show_notice(screen, study, changed)
    _show(screen, decision, pictures, changed)
    if csv is not None:
        screen.print(f"Tables written to {csv.resolve()}")
    screen.print(f"Page written to {written.resolve()}", style="bold")


def _signed(plan: Path | None, study: Study) -> SignOff | None:
    """Who signed the frozen plan, and whether the study of today is another one."""
    if plan is None:
        return None
    from costmodel.cli.rate_base import day_of
    from costmodel.cli.rate_year import today
    from costmodel.reading.reviews import read_snapshot
    from costmodel.review import sign_off

    return sign_off(read_snapshot(plan), study, day_of(today(), "today"))


def _check_draws(draws: int) -> None:
    if draws < LEAST_DRAWS or draws & (draws - 1):
        expected = f"a power of two, {LEAST_DRAWS} or more"
        near = max(LEAST_DRAWS, 1 << max(1, draws).bit_length())
        raise InputError([Problem("command line", "--draws", f"{draws}", expected, f"Take {near}, say.")])


def _check_kinds(study: Study) -> None:
    """A decision needs a way to make and a way to buy."""
    ways = study.alternatives.values()
    missing = [
        word
        for word, there in (("make", any(w.make for w in ways)), ("buy", any(w.buy for w in ways)))
        if not there
    ]
    if missing:
        raise InputError(
            [
                Problem(
                    study.name,
                    "alternatives",
                    f"none that would {word}",
                    "at least one alternative that makes and one that buys",
                    f'Add one with {word} = "...", or use the command compare.',
                )
                for word in missing
            ]
        )


@contextmanager
def progress() -> Iterator[Step]:
    """A bar on standard error while the work goes on; on a terminal only."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=STAGES)

        def step(words: str) -> None:
            bar.update(task, advance=1, description=words)

        yield step


def decision_tables(decision: Decision) -> dict[str, Table]:
    """The tables that a decision is printed as, in the order in which it is read."""
    from costmodel.tables import decision_tables as made
    from costmodel.tables import doubt_tables

    return {
        "alternatives": made.alternatives_table(decision.comparison, decision.outcome_of_all),
        "break-even": made.break_even_table(
            decision.crossings, decision.crossing_range, study=decision.study
        ),
        "turning-values": made.switching_table(decision),
        "how-sure": made.outcome_table(decision),
        "payback": made.payback_table(decision.study, decision.payback),
        "returns": doubt_tables.returns_table(decision.study, decision.returns, decision.after_tax),
        "capacity": made.capacity_table(decision),
        "beyond": doubt_tables.steps_beyond_table(decision.study, decision.capacity),
        "bases": made.bases_table(decision),
        "status": made.status_table(decision),
        "flags": made.flags_table(decision.study, decision.flags),
    }


def write_tables(tables: dict[str, Table], folder: Path) -> None:
    """Every table as a CSV file of a folder, which is made where it is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        write_whole(folder / f"{name}.csv", to_csv(table), encoding="utf-8-sig")


def _show(screen: Console, decision: Decision, pictures: Pictures, changed: list[str]) -> None:
    from costmodel.curves import recommended_change
    from costmodel.tables import words
    from costmodel.tables.buy_tables import cleared_words
    from costmodel.tables.curve_tables import cheapest_table
    from costmodel.tables.decision_tables import switching_table
    from costmodel.tables.reserves import reserves
    from costmodel.tables.stamp import stamp, stamp_words

    screen.print(decision.study.question)
    screen.print()
    screen.print(words.recommendation(decision), style="bold")
    screen.print(words.condition(decision, pictures.volume.cheapest))
    screen.print(f"Why: {words.reasons(decision)}.")
    for sentence in reserves(decision):
        screen.print(sentence)
    screen.print()
    screen.print(words.change_words(decision, recommended_change(decision)))
    for figure in words.headline(decision):
        screen.print(f"  {figure.label}: {figure.value} ({figure.small})")
    screen.print()
    tables = decision_tables(decision)
    tables["turning-values"] = switching_table(decision, MOST_SWINGS).without("address")
    for name, table in tables.items():
        show(screen, [table])
        if name == "break-even":
            show(screen, [cheapest_table(pictures.volume)])
    guesses = words.guessed_and_wide(decision)
    if guesses:
        screen.print(f"Guesses that move the advantage most: {'; '.join(guesses)}.")
    screen.print(f"{cleared_words(decision.comparison)} {SHORT} {DEFERRAL}".strip())
    screen.print()
    screen.print(stamp_words(stamp(decision.study, decision.outcome, changed)))


def _as_data(
    decision: Decision, pictures: Pictures, tables: dict[str, Table], changed: list[str], written: Path
) -> dict[str, Any]:
    from costmodel.tables import words
    from costmodel.tables.buy_tables import cleared_words
    from costmodel.tables.reserves import reserves
    from costmodel.tables.stamp import stamp

    return {
        "stamp": stamp(decision.study, decision.outcome, changed),
        "question": decision.study.question,
        "answer": decision.verdict.answer,
        "alternative": decision.verdict.alternative,
        "recommendation": words.recommendation(decision),
        "condition": words.condition(decision, pictures.volume.cheapest),
        "reasons": words.reasons(decision),
        "reserves": reserves(decision),
        "headline": [figure._asdict() for figure in words.headline(decision)],
        "cautions": [text for text in (cleared_words(decision.comparison), SHORT, DEFERRAL) if text],
        "tables": {name: to_dict(table) for name, table in tables.items()},
        "page": str(written.resolve()),
    }
