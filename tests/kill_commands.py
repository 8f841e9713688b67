"""Kills every writing command at random moments of its writing: python tests/kill_commands.py FOLDER KILLS.

One process loads the library once and forks a child for each command. The child says when it first brings something
to the disk; the parent kills it a random time after that, so that the kill falls into the writing, and then looks at
what is there: the old state or the complete new one. It prints how often each was found, as JSON, and fails on
anything else.
"""

from __future__ import annotations

import io
import json
import os
import random
import shutil
import signal
import sys
import time
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

from costmodel import writing
from costmodel.cli import app
from costmodel.errors import InputError
from costmodel.reading import read_rates, read_study
from costmodel.reading.rate_folder import read_changes
from costmodel.reading.reviews import read_snapshot
from costmodel.reading.study_edit import journal_of
from costmodel.records.rate_sheet import Change
from costmodel.tables.measured_tables import change_file

DATA = Path(__file__).parent.parent / "data"
STUDY = "data/studies/saddle-clamp.toml"
WHO = ["--who", "engineer", "--why", "test"]
LOGS = [
    *(f"data/shop_logs/saddle-clamp-{name}.csv" for name in ("loading", "scrap", "set-ups")),
    *("data/shop_logs/tool-changes.csv", "data/logs/saddle-clamp-overseas-a.csv"),
]
COMMANDS = {
    "rates new": ["rates", "new", "2027", "--from", "2026", "--who", "engineer"],
    "rates apply": ["rates", "apply", "2026", "changes.csv", *WHO],
    "rates seal": ["rates", "seal", "2026"],
    "rates workbook": ["rates", "workbook", "2026", "-o", "data/rates.xlsx"],
    "measured": ["measured", STUDY, *LOGS, "--who", "engineer", "-o", "data/proposed.csv"],
    "apply": ["apply", STUDY, "changes.csv", *WHO],
    "rates adopt": ["rates", "adopt", "2025", "data/studies/worm-shaft.toml", *WHO],
    "freeze": ["freeze", "data/studies/worm-shaft.toml", "--who", "engineer", "--draws", "64"],
    "sign": ["sign", "data/decisions/saddle-clamp.json", "--role", "checked", "--who", "engineer"],
}
PAUSE = 0.01
"""Seconds that a child waits before each file reaches the disk, as a slow disk would: else few kills fall into it."""
RUNS_AFTER = 2
"""After so many kills of each command it is run again, to see that it clears what was left and comes to its end."""
State = dict[str, Any]


def in_a_child(words: list[str], told: int | None = None) -> int:
    """The process of a child that runs one command; it says into `told` when its writing begins."""
    pid = os.fork()
    if pid:
        return pid
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    to_disk = os.fsync

    def announced(file: int) -> None:
        if told is not None:
            os.write(told, b"x")
        time.sleep(PAUSE)
        to_disk(file)

    os.fsync = announced
    try:
        status = app(words, standalone_mode=False)
    except BaseException:
        os._exit(3)
    os._exit(status or 0)


def state() -> State:
    """Every file that a person sees; a workbook holds the time of its writing, so of it only that it opens."""
    found: State = {}
    for path in sorted(Path("data").rglob("*")):
        if path.is_file() and not any(part.startswith(".") for part in path.parts):
            found[path.as_posix()] = path.read_bytes()
            if path.suffix == ".xlsx":
                from openpyxl import load_workbook

                found[path.as_posix()] = load_workbook(path).sheetnames
    return found


def fresh() -> None:
    shutil.rmtree("data", ignore_errors=True)
    shutil.copytree("start", "data")


def ended_well(words: list[str]) -> bool:
    return os.waitpid(in_a_child(words), 0)[1] == 0


def warm() -> None:
    """Run every command here once, so that no child has to load anything."""
    for words in COMMANDS.values():
        with redirect_stdout(io.StringIO()):
            assert not app(words, standalone_mode=False), words
        fresh()


def writing_time(words: list[str]) -> float:
    """Seconds that a command takes from the beginning of its writing to its end."""
    ours, theirs = os.pipe()
    pid = in_a_child(words, theirs)
    os.read(ours, 1)
    began = time.perf_counter()
    assert os.waitpid(pid, 0)[1] == 0, words
    took = time.perf_counter() - began
    os.close(ours)
    os.close(theirs)
    return took


def killed(name: str, after: float) -> None:
    """Run a command and kill it so many seconds after its writing began."""
    ours, theirs = os.pipe()
    pid = in_a_child(COMMANDS[name], theirs)
    os.close(theirs)
    os.read(ours, 1)
    time.sleep(after)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    os.close(ours)


def settle() -> None:
    """What any next command does first: finish or clear what was cut off. Until then nobody reads half of it."""
    for study in (STUDY, "data/studies/worm-shaft.toml"):
        if journal_of(study).is_file():
            try:
                read_study(study)
            except InputError:
                writing.finish(journal_of(study))
            else:
                raise AssertionError("half of a writing was read")
    for year in ("2026", "2027"):
        writing.recover_folder(Path("data/rates") / year)


def main(folder: str, kills: int) -> None:
    os.chdir(folder)
    shutil.copytree(DATA, "start")
    chance = random.Random(20261125)
    fresh()
    assert ended_well(["measured", STUDY, *LOGS, "--who", "engineer", "-o", "changes.csv"])
    accepted = [Change(**{**it.__dict__, "accept": "yes"}) for it in read_changes("changes.csv")]
    Path("changes.csv").write_text(change_file(accepted), encoding="utf-8")
    warm()
    old, new, took = state(), {}, {}
    for name, words in COMMANDS.items():
        fresh()
        took[name] = writing_time(words)
        new[name] = state()
        assert new[name] != old, name
        read_rates("data/rates/2026")
        read_study(STUDY)
        read_snapshot("data/decisions/saddle-clamp.json")
    fresh()
    outcome = {name: {"old": 0, "new": 0, "cut off": 0} for name in COMMANDS}
    for turn in range(kills):
        name = list(COMMANDS)[turn % len(COMMANDS)]
        killed(name, chance.uniform(0.0, took[name]))
        cut_off = any(Path("data").rglob(".*"))
        outcome[name]["cut off"] += cut_off
        settle()
        found = state()
        assert found in (old, new[name]), (name, [key for key in found if found[key] != old.get(key)])
        outcome[name]["new" if found == new[name] else "old"] += 1
        if found == old and outcome[name]["old"] <= RUNS_AFTER:
            assert ended_well(COMMANDS[name]), f"{name} after a kill"
            found = state()
            assert found == new[name], f"{name} after a kill"
            assert not list(Path("data").rglob(".*.part")), f"{name} leaves what a kill left"
        if found != old or cut_off:
            fresh()
    sys.stdout.write(json.dumps(outcome))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
