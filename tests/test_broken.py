"""Every likely mistake in a file is told in plain words: where, what stands there, what should, how to mend it.

The cases stand in tests/broken/expected.toml, each as a small change of the files in tests/small.
"""

from __future__ import annotations

import csv
import io
import random
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from costmodel.errors import InputError
from costmodel.make_or_buy import compare
from costmodel.reading import read_part, read_quotes, read_rates, read_study

TABLE = Path(__file__).parent / "broken" / "expected.toml"
CASES: list[dict[str, Any]] = tomllib.loads(TABLE.read_text(encoding="utf-8"))["case"]
READERS = {
    "study": lambda folder: read_study(folder / "study.toml"),
    "part": lambda folder: read_part(folder / "part.toml", "USD"),
    "rates": lambda folder: read_rates(folder / "rates"),
    "quotes": lambda folder: read_quotes(folder / "quotes.csv", "USD"),
}
REQUIRED = {"name", "edits", "file", "place", "words"}


def break_files(folder: Path, edits: list[dict[str, Any]]) -> None:
    """Make the changes of a case in a copy of the small study; each must find its text exactly once."""
    for edit in edits:
        path = folder / edit["file"]
        if "put" not in edit:
            path.unlink()
            continue
        text = edit["put"]
        if "find" in edit:
            before = path.read_text(encoding="utf-8")
            assert before.count(edit["find"]) == 1 or "at" in edit, f"{edit['find']} is not there once"
            text = before.replace(edit["find"], edit["put"], 1)
            assert edit["find"] in before
        path.write_text(text, encoding=edit.get("encoding", "utf-8"))


def assert_told(error: InputError) -> None:
    """A refusal says what it refuses."""
    assert error.problems


def test_the_small_study_is_sound_before_it_is_broken(small_copy: Path) -> None:
    for reader in READERS.values():
        reader(small_copy)


def test_the_cases_are_well_formed() -> None:
    assert len(CASES) >= 100
    assert len({case["name"] for case in CASES}) == len(CASES)
    for case in CASES:
        assert set(case) >= REQUIRED, case["name"]
        assert set(case) <= REQUIRED | {"read", "problems"}, case["name"]
        assert case["words"], case["name"]


@pytest.mark.parametrize("case", CASES, ids=[case["name"].replace(" ", "-") for case in CASES])
def test_a_mistake_is_told_in_plain_words(case: dict[str, Any], small_copy: Path) -> None:
    break_files(small_copy, case["edits"])
    with pytest.raises(InputError) as refused:
        READERS[case.get("read", "study")](small_copy)
    problems = refused.value.problems
    for problem in problems:
        for part in (problem.file, problem.place, problem.expected, problem.remedy):
            assert part.strip(), str(problem)
        assert problem.remedy.rstrip('"')[-1] in ".?", str(problem)
        assert str(problem) in str(refused.value)
    at_place = [
        problem for problem in problems if (problem.file, problem.place) == (case["file"], case["place"])
    ]
    assert at_place, str(refused.value)
    for word in case["words"]:
        assert any(word in str(problem) for problem in at_place), f"{word}: {refused.value}"
    assert len(problems) == case.get("problems", 1), str(refused.value)


# --- anything else --------------------------------------------------------------------------------------

JUNK = (
    "",
    "0",
    "-1",
    "98",
    "abc",
    "1e9",
    "0 %",
    "100 %",
    "nan",
    "1e999",
    "2000-01-01",
    "0 mm",
    "1e-9 mm",
    "1 1/2 in",
)
SCALAR = re.compile(r'(?<== )("[^"\n]*"|[\d.-]+|true|false)(?=[\s,}\]]|$)')


def cells(path: Path) -> list[tuple[int, int]]:
    with path.open(encoding="utf-8", newline="") as file:
        return [(row, column) for row, line in enumerate(csv.reader(file)) for column in range(len(line))]


def with_cell(path: Path, place: tuple[int, int], junk: str) -> str:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    rows[place[0]][place[1]] = junk
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue()


@pytest.mark.parametrize("seed", range(8))
def test_whatever_stands_in_a_place_there_is_a_message_and_no_traceback(seed: int, small_copy: Path) -> None:
    """Any one cell or value replaced by any junk: the study is costed or refused as an InputError."""
    chance = random.Random(seed)
    tables = sorted(small_copy.glob("**/*.csv"))
    texts = sorted(small_copy.glob("**/*.toml"))
    refused = 0
    for _ in range(30):
        path = chance.choice([chance.choice(tables), chance.choice(texts)])
        before, junk = path.read_text(encoding="utf-8"), chance.choice(JUNK)
        if path.suffix == ".csv":
            after = with_cell(path, chance.choice(cells(path)), junk)
        else:
            scalar = chance.choice(list(SCALAR.finditer(before)))
            shown = chance.choice([junk or '""', f'"{junk}"'])
            after = before[: scalar.start()] + shown + before[scalar.end() :]
        path.write_text(after, encoding="utf-8")
        try:
            compare(read_study(small_copy / "study.toml"))
        except InputError as error:
            refused += 1
            assert_told(error)
        path.write_text(before, encoding="utf-8")
    assert refused
