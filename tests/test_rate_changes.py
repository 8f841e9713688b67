"""Accepted changes into a year: value, range, n and spread come with them; a row's date moves with its own figure."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError
from costmodel.rate_update import sheet_texts
from costmodel.reading.rate_folder import read_rate_sheets
from costmodel.records.rate_sheet import Change
from costmodel.tables.measured_tables import change_file
from costmodel.writing import files_mark, write_folder

DATA = Path(__file__).parent.parent / "data"
WHO = ["--who", "engineer", "--why", "logs of the year"]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    shutil.copytree(DATA / "rates" / "2026", tmp_path / "rates" / "2026")
    shutil.copy(DATA / "rates" / "index_observations.csv", tmp_path / "rates")
    return tmp_path


def change(address: str, value: str, **more: Any) -> Change:
    words = {
        "accept": "yes",
        "source": "hours log",
        "as_of": "2026-11-01",
        "owner": "shop",
        "status": "measured",
    }
    return Change.model_validate({"address": address, "value": value, **words, **more})


def written(root: Path, *changes: Change) -> Path:
    file = root / "changes.csv"
    file.write_text(change_file(changes), encoding="utf-8")
    return file


def run(root: Path, *words: str, status: int = 0) -> str:
    result = CliRunner().invoke(app, ["rates", *words, "--folder", str(root / "rates")])
    assert result.exit_code == status, result.output
    return result.output


def row(root: Path, year: int, table: str, name: str) -> dict[str, str]:
    sheet = read_rate_sheets(root / "rates" / str(year)).tables[table]
    return next(record for record in sheet.records() if record["name"] == name)


def log(root: Path, year: int) -> list[dict[str, str]]:
    with (root / "rates" / str(year) / "change_log.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


MEASURED = {
    "low": "2.55 USD/part",
    "high": "2.62 USD/part",
    "n": 12,
    "spread": "0.09 USD/part",
    "how": "mean",
}


def test_a_range_comes_with_its_value_and_the_log_keeps_n_and_spread(root: Path) -> None:
    file = written(root, change("rates.processors.anodiser.price", "2.58575 USD/part", **MEASURED))
    run(root, "apply", "2026", str(file), *WHO)
    found = row(root, 2026, "processors", "anodiser")
    assert (found["low"], found["price"], found["high"]) == ("2.55", "2.58575", "2.62")
    line = next(it for it in log(root, 2026) if it["column"] == "price")
    assert (line["n"], line["spread"], line["low"], line["high"]) == (
        *("12", "0.09 USD/part", "2.55 USD/part", "2.62 USD/part"),
    )
    assert (line["how"], line["source"], line["why"]) == ("mean", "hours log", "logs of the year")


def test_a_new_year_takes_the_range_and_the_reason_of_a_replacement(root: Path) -> None:
    wage = change(
        "rates.labour.operator.wage", "29.5 USD/h", low="28 USD/h", high="31 USD/h", why="agreement"
    )
    setter = change("rates.labour.setter.wage", "35 USD/h")
    file = written(root, wage, setter)
    told = run(root, "new", "2027", "--from", "2026", "--replace", str(file), "--json", *WHO[:2])
    found = row(root, 2027, "labour", "operator")
    assert (found["low"], found["wage"], found["high"]) == ("28", "29.5", "31")
    line = next(it for it in log(root, 2027) if (it["name"], it["column"]) == ("operator", "wage"))
    assert (line["why"], line["mark"]) == ("agreement", "replaced")
    assert "wage 35 is not from low 30.5 to high 33" in json.dumps(json.loads(told)["tables"]["to-confirm"])


def test_an_older_log_is_widened(root: Path) -> None:
    narrow = "when,who,why,table,name,column,was,new,mark,series,base_month,base_index,month,index\n"
    path = root / "rates" / "2026" / "change_log.csv"
    path.write_text(f"{narrow}2026-01-01,one,x,labour,operator,wage,1,2,replaced,,,,,\n", encoding="utf-8")
    file = written(root, change("rates.labour.operator.wage", "28 USD/h", n=3))
    run(root, "apply", "2026", str(file), *WHO)
    first, *rest = log(root, 2026)
    assert (first["who"], first["n"], first["source"]) == ("one", "", "")
    assert any(line["n"] == "3" for line in rest)


def test_a_measured_cell_leaves_date_and_status_of_its_row(root: Path) -> None:
    before = row(root, 2026, "machines", "mill-5x")
    hours = change("rates.machines.mill-5x.practical_hours", "3050 h/yr", as_of="2027-06-30")
    yields = change("rates.processors.anodiser.process_yield", "96.1 %", as_of="2027-06-30")
    run(root, "apply", "2026", str(written(root, hours, yields)), *WHO)
    found = row(root, 2026, "machines", "mill-5x")
    assert found["practical_hours"] == "3050"
    for word in ("source", "as_of", "owner", "status", "purchase_price"):
        assert found[word] == before[word], word
    assert found["note"] == f"{before['note']}; practical_hours: hours log, 2027-06-30, measured"
    assert next(it for it in log(root, 2026) if it["column"] == "practical_hours")["source"] == "hours log"
    again = change("rates.machines.mill-5x.practical_hours", "3060 h/yr", as_of="2027-07-31")
    price = change("rates.processors.anodiser.price", "2.4 USD/part", as_of="2027-07-31", status="quoted")
    run(root, "apply", "2026", str(written(root, again, price)), *WHO)
    assert row(root, 2026, "machines", "mill-5x")["note"].count("practical_hours") == 1
    anodiser = row(root, 2026, "processors", "anodiser")
    assert (anodiser["as_of"], anodiser["status"]) == ("2027-07-31", "quoted")
    assert "process_yield: hours log, 2027-06-30, measured" in anodiser["note"]


def test_a_row_with_a_measured_cell_is_escalated_from_its_own_month(root: Path) -> None:
    hours = change("rates.machines.mill-5x.practical_hours", "3050 h/yr")
    run(root, "new", "2027", "--from", "2026", "--replace", str(written(root, hours)), *WHO[:2])
    run(root, "new", "2028", "--from", "2026", *WHO[:2])
    found, without = (row(root, year, "machines", "mill-5x") for year in (2027, 2028))
    assert found["practical_hours"] == "3050"
    for word in ("purchase_price", "salvage", "maintenance", "as_of", "status"):
        assert found[word] == without[word]
    assert found["as_of"] != "2026-01-20"
    marks = {line["column"]: line["mark"] for line in log(root, 2027) if line["name"] == "mill-5x"}
    assert (marks["practical_hours"], marks["purchase_price"]) == ("replaced", "escalated")


def test_ends_of_a_range_come_with_the_value_they_are_around(root: Path) -> None:
    before = row(root, 2026, "currency", "EUR")["note"]
    rows = [change(f"rates.currency.EUR.{word}", f"{value} USD") for word, value in
            (("rate", 1.15), ("low", 1.05), ("high", 1.3))]  # fmt: skip
    run(root, "apply", "2026", str(written(root, *rows)), *WHO)
    found = row(root, 2026, "currency", "EUR")
    assert (found["low"], found["rate"], found["high"], found["note"]) == ("1.05", "1.15", "1.3", before)


def test_of_two_edits_at_one_moment_none_is_lost(root: Path) -> None:
    one = change("rates.labour.operator.wage", "28 USD/h")
    folder = root / "rates" / "2026"
    before = read_rate_sheets(folder)

    def meanwhile(beside: Path) -> None:
        file = folder / "energy.csv"
        file.write_text(file.read_text(encoding="utf-8").replace("0.148", "0.150"), encoding="utf-8")

    files = {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}
    assert one.cell is not None
    files |= sheet_texts(before.with_cells({one.cell: "28"}))
    with pytest.raises(InputError, match="Somebody wrote here meanwhile"):
        write_folder(folder, files, check=meanwhile, replace=True, seen=files_mark(folder))
    found = read_rate_sheets(folder).cells()
    assert (found[one.cell], found["energy", "electricity", "price"]) == ("27.40", "0.150")


@pytest.mark.slow
def test_many_at_once_apply_or_are_told(root: Path) -> None:
    names = ["operator", "setter", "programmer", "inspector"]
    files = {}
    for name in names:
        files[name] = root / f"{name}.csv"
        files[name].write_text(
            change_file([change(f"rates.labour.{name}.wage", "30 USD/h")]), encoding="utf-8"
        )
    code = "from costmodel.cli import main; main()"
    words = ["--folder", str(root / "rates"), *WHO]
    running = {
        name: subprocess.Popen(
            [sys.executable, "-c", code, "rates", "apply", "2026", str(file), *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        for name, file in files.items()
    }
    said = {name: process.communicate(timeout=120)[0] for name, process in running.items()}
    applied = {name for name, process in running.items() if process.returncode == 0}
    assert applied
    assert all("meanwhile" in said[name] for name in set(names) - applied), said
    sheet = read_rate_sheets(root / "rates" / "2026").tables["labour"]
    assert {record["name"] for record in sheet.records() if record["wage"] == "30"} == applied
    assert {line["name"] for line in log(root, 2026)} == applied


def test_a_value_outside_its_own_range_is_told_at_check(root: Path) -> None:
    file = root / "rates" / "2026" / "currency.csv"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("EUR,1.12,", "EUR,1.25,"), encoding="utf-8")
    shutil.copytree(DATA, root / "data")
    shutil.copy(file, root / "data" / "rates" / "2026" / "currency.csv")
    for path in (file.parent, root / "data" / "studies" / "saddle-clamp.toml"):
        result = CliRunner().invoke(app, ["check", str(path), "--json"])
        assert result.exit_code == 0, result.output
        said = [row for row in json.loads(result.output)["understood"]["rows"] if "currency.EUR" in str(row)]
        assert said, result.output
        assert "rate 1.25 is not from low 1.02 to high 1.21" in str(said)


def test_a_new_year_follows_its_old_one(root: Path) -> None:
    for year in ("2024", "2026"):
        said = run(root, "new", year, "--from", "2026", *WHO[:2], status=2)
        assert "a year after 2026" in " ".join(said.split())


def test_somebody_has_to_be_named(root: Path) -> None:
    file = written(root, change("rates.labour.operator.wage", "28 USD/h"))
    said = run(root, "apply", "2026", str(file), "--who", " ", "--why", "x", status=2)
    assert "--who" in said
    assert row(root, 2026, "labour", "operator")["wage"] == "27.40"


def test_a_file_without_a_yes_says_so(root: Path) -> None:
    file = written(root, change("rates.labour.operator.wage", "28 USD/h", accept=""))
    said = " ".join(run(root, "apply", "2026", str(file), *WHO).split())
    assert "No row of changes.csv says accept = yes" in said
    study = DATA / "studies" / "saddle-clamp.toml"
    told = CliRunner().invoke(app, ["apply", str(study), str(file), *WHO]).output
    assert "No row of changes.csv says accept = yes" in " ".join(told.split())


def test_a_duty_that_ended_before_the_year_is_told_so(root: Path) -> None:
    file = root / "rates" / "2026" / "duties.csv"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("2028-01-31", "2026-12-31"), encoding="utf-8")
    told = run(root, "new", "2027", "--from", "2026", "--json", *WHO[:2])
    assert "ended on 2026-12-31, before the year" in told
