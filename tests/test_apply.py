"""Accepted changes into a study, its part and its quotes: each in its place, all or none, and into a log."""

from __future__ import annotations

import csv
import json
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError
from costmodel.measured import with_measured
from costmodel.reading import read_study
from costmodel.reading.rate_folder import read_changes
from costmodel.reading.study_edit import edited_files, journal_of, study_files
from costmodel.records.address import value_at
from costmodel.records.rate_sheet import Change
from costmodel.tables.measured_tables import change_file
from costmodel.toml_text import inline_table, text_value, with_value
from costmodel.writing import finish, write_together

DATA = Path(__file__).parent.parent / "data"
STEP = "part.routes.rotary.steps.five-sides"
WHO = ["--who", "engineer", "--why", "logs of autumn"]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A copy of the demonstration data."""
    return Path(shutil.copytree(DATA, tmp_path / "data"))


def study_of(shop: Path) -> Path:
    return shop / "studies" / "saddle-clamp.toml"


def run(*words: str) -> Any:
    return CliRunner().invoke(app, list(words))


def proposed(shop: Path, *, accept: str = "yes") -> Path:
    """The change file of every demonstration log, its rows marked."""
    file = shop / "changes.csv"
    logs = [*(shop / "shop_logs").glob("saddle-clamp-*.csv"), shop / "shop_logs" / "tool-changes.csv",
            shop / "shop_logs" / "energy.csv", shop / "logs" / "saddle-clamp-overseas-a.csv"]  # fmt: skip
    result = run("measured", str(study_of(shop)), *map(str, logs), "--who", "engineer", "-o", str(file))
    assert result.exit_code == 0, result.output
    marked = [Change(**{**change.__dict__, "accept": accept}) for change in read_changes(file)]
    file.write_text(change_file(marked), encoding="utf-8")
    return file


def texts(shop: Path) -> dict[str, str]:
    return {
        str(path.relative_to(shop)): path.read_text(encoding="utf-8")
        for path in sorted(shop.rglob("*"))
        if path.is_file() and path.name != "changes.csv"
    }


def test_measured_values_go_into_part_quotes_and_study(shop: Path) -> None:
    # acceptance: measured logs in place of estimates, with n and spread; status turns measured
    before, file = texts(shop), proposed(shop)
    study = read_study(study_of(shop))
    result = run("apply", str(study_of(shop)), str(file), *WHO)
    assert result.exit_code == 0, result.output
    after = texts(shop)
    log = "studies/saddle-clamp.changes.csv"
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed == {
        *("parts/saddle-clamp.toml", "quotes/saddle-clamp.csv", "studies/saddle-clamp.toml"),
        log,
    }
    lines = {
        name: len(set(after[name].splitlines()) - set(before[name].splitlines())) for name in changed - {log}
    }
    assert lines == {
        "parts/saddle-clamp.toml": 3,
        "quotes/saddle-clamp.csv": 1,
        "studies/saddle-clamp.toml": 4,
    }
    now = read_study(study_of(shop))
    mine = [change for change in read_changes(file) if not change.address.startswith("rates.")]
    model = with_measured(study, mine)
    assert now.part == model.part
    assert now.quotes == model.quotes
    for address, spread in model.uncertainty.items():
        found = now.uncertainty[address]
        assert (found.shape, found.status) == (spread.shape, spread.status)
        for field in ("p10", "p50", "p90"):
            value = getattr(spread, field)
            assert getattr(found, field) == (None if value is None else pytest.approx(value, rel=1e-5))
    said = " ".join(result.output.split())
    assert "left for rates apply: rates.machines.mill-5x.load_factor" in said
    assert "Decided on 2026-06-15" in said
    rows = list(csv.DictReader(after[log].splitlines()))
    hands = next(row for row in rows if row["address"] == f"{STEP}.hands_on")
    assert (hands["who"], hands["why"], hands["n"]) == ("engineer", "logs of autumn", "40")
    assert (hands["file"], hands["was"]) == ("parts/saddle-clamp.toml", "5.6 min/load")
    assert hands["new"] in after["parts/saddle-clamp.toml"]


def test_nothing_is_written_without_a_yes(shop: Path) -> None:
    before = texts(shop)
    for accept in ("", "no"):
        (shop / "changes.csv").unlink(missing_ok=True)
        file = proposed(shop, accept=accept)
        assert run("apply", str(study_of(shop)), str(file), *WHO).exit_code == 0
        assert texts(shop) == before


def test_the_same_file_twice_changes_nothing_more(shop: Path) -> None:
    file = proposed(shop)
    run("apply", str(study_of(shop)), str(file), *WHO)
    before = texts(shop)
    again = run("apply", str(study_of(shop)), str(file), *WHO, "--json")
    assert again.exit_code == 0, again.output
    assert len(json.loads(again.output)["already there"]) == 6
    assert texts(shop) == before


def test_a_rate_goes_into_its_year_and_then_its_range_into_the_study(shop: Path) -> None:
    file = proposed(shop)
    address = next(it.address for it in read_changes(file) if it.address.endswith("parts_per_edge"))
    folder = ["--folder", str(shop / "rates")]
    assert run("rates", "apply", "2026", str(file), *WHO, *folder).exit_code == 0
    result = run("apply", str(study_of(shop)), str(file), *WHO)
    assert result.exit_code == 0, result.output
    study = read_study(study_of(shop))
    spread = study.uncertainty[address]
    assert spread.p50 == pytest.approx(float(value_at(study, address)))
    assert spread.status == "measured"


def test_what_has_changed_since_stops_it_all(shop: Path) -> None:
    file = proposed(shop)
    part = shop / "parts" / "saddle-clamp.toml"
    part.write_text(
        part.read_text(encoding="utf-8").replace("5.6 min/load", "5.9 min/load"), encoding="utf-8"
    )
    before = texts(shop)
    result = run("apply", str(study_of(shop)), str(file), *WHO)
    assert result.exit_code == 2
    said = " ".join(result.output.split())
    assert f"{STEP}.hands_on" in said
    assert "it has changed since this was proposed" in said
    assert texts(shop) == before


@pytest.mark.parametrize(
    "value, words",
    [("120 %", "at most 1"), ("-3 %", "at least 0"), ("7 kg", "%"), ("lots", "%")],
)
def test_a_value_that_no_field_takes_stops_it_all(shop: Path, value: str, words: str) -> None:
    file = shop / "changes.csv"
    change = Change.model_validate(
        {
            "address": f"{STEP}.step_yield",
            "value": value,
            "accept": "yes",
            "source": "x",
            "as_of": "2026-11-20",
            "owner": "engineer",
            "status": "measured",
        }
    )
    file.write_text(change_file([change]), encoding="utf-8")
    before = texts(shop)
    result = run("apply", str(study_of(shop)), str(file), *WHO)
    assert result.exit_code == 2
    assert f"{STEP}.step_yield" in " ".join(result.output.split())
    assert texts(shop) == before


def test_a_workbook_of_quotes_is_left_to_a_hand_and_the_cell_named(shop: Path) -> None:
    quotes = shop / "quotes" / "saddle-clamp.csv"
    book = Workbook()
    for row in csv.reader(quotes.read_text(encoding="utf-8").splitlines()):
        book.active.append(row)
    book.active.title = "Offers"
    book.save(quotes.with_suffix(".xlsx"))
    study = study_of(shop)
    study.write_text(
        study.read_text(encoding="utf-8").replace("quotes/saddle-clamp.csv", "quotes/saddle-clamp.xlsx"),
        encoding="utf-8",
    )
    files = study_files(study)
    with pytest.raises(InputError) as refused:
        edited_files(files, {"quotes.overseas-a.lead_time": "96 d"}, {}, "USD")
    assert "Offers!X2" in str(refused.value)
    assert '"96 d" there by hand' in str(refused.value)


def test_quotes_with_a_decimal_comma_stay_so(shop: Path) -> None:
    quotes = shop / "quotes" / "saddle-clamp.csv"
    rows = list(csv.reader(quotes.read_text(encoding="utf-8").splitlines()))
    decimal = [[cell.replace(".", ",") if cell[:1].isdigit() else cell for cell in row] for row in rows]
    out = [";".join(f'"{cell}"' if ";" in cell else cell for cell in row) for row in decimal]
    quotes.write_bytes(b"\xef\xbb\xbf" + ("\r\n".join(out) + "\r\n").encode())
    file = study_of(shop)
    study = read_study(file)
    edited = edited_files(study_files(file), {"quotes.overseas-a.rejected_at_receipt": "2.5 %"}, {}, "USD")
    (text,) = edited.values()
    assert text.startswith("\ufeff")
    assert text.count("\r\n") == len(rows)
    study_files(file).quotes.write_bytes(text.encode())
    now = read_study(file).quotes["overseas-a"]
    assert now.rejected_at_receipt == pytest.approx(0.025)
    assert now.lead_time == study.quotes["overseas-a"].lead_time


# --- one value of a TOML text --------------------------------------------------------------------------

TEXT = """\
# a comment = "kept"
name = "x"   # and this one

[blank]
length = "64 mm"

[[routes]]
name = "a"
[[routes.steps]]
name = "mill"
hands_on = "5 min/load"   # timed
cuts = [
  { name = "one", depth = "2 mm", feed = "1" },
  { name = "two", depth = "2 mm" },
]
[[routes.steps]]
name = "fit"
hands_on = "5 min/load"

[uncertainty]
"a.b" = { low = "1", high = "2" }
"""


@pytest.mark.parametrize(
    "path, was, now",
    [
        (("blank", "length"), 'length = "64 mm"', 'length = "9"'),
        (
            ("routes", "a", "steps", "fit", "hands_on"),
            '"fit"\nhands_on = "5 min/load"',
            '"fit"\nhands_on = "9"',
        ),
        (("routes", "a", "steps", "mill", "hands_on"), '"5 min/load"   # timed', '"9"   # timed'),
        (
            ("routes", "a", "steps", "mill", "cuts", "two", "depth"),
            '"two", depth = "2 mm"',
            '"two", depth = "9"',
        ),
        (
            ("routes", "a", "steps", "mill", "cuts", "two", "feed"),
            'depth = "2 mm" },\n]',
            'depth = "2 mm", feed = "9" },\n]',
        ),
        (("blank", "width"), 'length = "64 mm"\n', 'length = "64 mm"\nwidth = "9"\n'),
        (("uncertainty", "a.b"), '{ low = "1", high = "2" }', '"9"'),
        (("uncertainty", "a.c"), '"2" }\n', '"2" }\n\'a.c\' = "9"\n'),
    ],
)
def test_one_value_is_written_and_nothing_else(path: tuple[str, ...], was: str, now: str) -> None:
    assert with_value(TEXT, path, '"9"') == TEXT.replace(was, now, 1)


def test_a_place_that_is_not_there_has_no_answer() -> None:
    assert with_value(TEXT, ("routes", "b", "title"), '"9"') is None
    assert with_value(TEXT, ("name", "deeper"), '"9"') is None
    assert with_value('a = """\nb = 1\n"""\n', ("a",), '"9"') is None
    assert with_value(TEXT, ("name",), '"x"') == TEXT


@given(st.text(st.characters(blacklist_categories=["Cs", "Cc"])))
def test_any_text_is_a_value(value: str) -> None:
    edited = with_value(TEXT, ("blank", "length"), text_value(value))
    assert edited is not None
    assert tomllib.loads(edited)["blank"]["length"] == value
    table = tomllib.loads(f"t = {inline_table({'p10': value, 'p90': 'x'})}")["t"]
    assert table == {"p10": value, "p90": "x"}


# --- all files or none ---------------------------------------------------------------------------------


def test_a_writing_that_was_cut_off_is_named_and_finished(shop: Path) -> None:
    study = study_of(shop)
    part = shop / "parts" / "saddle-clamp.toml"
    whole = part.read_text(encoding="utf-8")
    # as a kill after the first of two files leaves it
    journal = journal_of(study)
    journal.write_text(
        json.dumps({"../parts/saddle-clamp.toml": f"{whole}# new\n", "new.txt": "x"}), encoding="utf-8"
    )
    with pytest.raises(InputError, match="Run costmodel apply again"):
        read_study(study)
    assert finish(journal)
    assert part.read_text(encoding="utf-8").endswith("# new\n")
    assert (study.parent / "new.txt").read_text(encoding="utf-8") == "x"
    assert not finish(journal)
    read_study(study)


def test_several_files_come_together(tmp_path: Path) -> None:
    files = {tmp_path / name: f"{name} \u00e4\r\n" for name in ("a", "b", "c")}
    write_together(files, tmp_path / ".journal")
    assert {path.name: path.read_bytes().decode() for path in tmp_path.iterdir()} == {
        path.name: text for path, text in files.items()
    }


def test_a_change_file_somebody_worked_in_is_never_written_over(shop: Path) -> None:
    file = proposed(shop)
    before = file.read_text(encoding="utf-8")
    log = str(shop / "shop_logs" / "energy.csv")
    again = run("measured", str(study_of(shop)), log, "--who", "engineer", "-o", str(file))
    assert again.exit_code == 2
    assert "Nothing is written over" in " ".join(again.output.split())
    assert file.read_text(encoding="utf-8") == before
