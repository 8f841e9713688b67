"""A buyer's questions on the command line: prices, stock, a change of source, and an export without names."""

from __future__ import annotations

import base64
import csv
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import quote_files
from openpyxl import load_workbook
from typer.testing import CliRunner

from costmodel import cli
from costmodel.reading import read_study
from costmodel.records.study import Study

DATA = Path(__file__).parent.parent / "data"
STUDIES = sorted((DATA / "studies").glob("*.toml"))
SHAFT = str(DATA / "studies" / "worm-shaft.toml")
CLAMP = str(DATA / "studies" / "saddle-clamp.toml")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test in an empty folder of its own."""
    monkeypatch.chdir(tmp_path)


def ran(*arguments: str, status: int = 0) -> Any:
    result = CliRunner().invoke(cli.app, list(arguments), env={"COLUMNS": "110"})
    assert "Traceback" not in result.output
    assert result.exit_code == status, result.output
    return result


def tables(*arguments: str) -> dict[str, Any]:
    return json.loads(ran(*arguments, "--json").stdout)["tables"]


# --- offers just received ---------------------------------------------------------------------------


def received(folder: Path, lane: str = "road-c", part: str = "worm-shaft", until: str = "2026-12-31") -> str:
    """An awkward sheet of two offers for the worm shaft, one with a lane since its term leaves carriage to us."""
    book = quote_files.awkward()
    sheet = book.active
    assert sheet is not None
    sheet.cell(3, 23, "Freight lane")
    for row in (5, 6):
        sheet.cell(row, 2, part)
        sheet.cell(row, 5, until)
    sheet.cell(6, 23, lane)
    book.save(folder / "rfq.xlsx")
    return str(folder / "rfq.xlsx")


def test_from_a_file_of_offers_to_a_comparison(tmp_path: Path) -> None:
    found = tables("compare", SHAFT, "--offers", received(tmp_path))
    titles = [row[0] for row in found["alternatives"]["rows"]]
    assert {"Buy from Nord Dreher", "Buy from Third Shop"} < set(titles)
    assert len(titles) == len(read_study(SHAFT).alternatives) + 2
    heads = " ".join(column["name"] for column in found["landed"]["columns"])
    assert "Nord Dreher, DAP" in heads
    assert "Third Shop, EXW" in heads
    assert "offers of Nord Dreher, Third Shop" in ran("compare", SHAFT, "--offers", received(tmp_path)).stdout


def test_offers_that_cannot_be_compared_say_why(tmp_path: Path) -> None:
    told = ran("compare", SHAFT, "--offers", received(tmp_path, lane=""), status=2).stderr
    assert "Name a lane in the column freight (there are: sea-a" in " ".join(told.split())
    expired = received(tmp_path, until="2026-06-10")
    told = ran("compare", SHAFT, "--offers", expired, status=2).stderr
    assert "an offer valid on 2026-06-15" in " ".join(told.split())
    shown = ran("compare", SHAFT, "--offers", expired, "--override", "asked for a new one").stdout
    assert "compared all the same: asked for a new one" in " ".join(shown.split())


def test_an_override_holds_for_the_study_s_own_offers_and_for_no_offer_that_needs_none(
    small_copy: Path,
) -> None:
    quotes, study = small_copy / "quotes.csv", str(small_copy / "study.toml")
    quotes.write_text(quotes.read_text().replace("2026-05-15,2026-11-14", "2026-01-15,2026-03-31"))
    assert "an offer valid on 2026-06-15" in " ".join(ran("compare", study, status=2).stderr.split())
    flags = tables("compare", study, "--override", "asked for a new one")["flags"]["rows"]
    told = [
        row for row in flags if any("compared all the same: asked for a new one" in str(it) for it in row)
    ]
    assert len(told) == 1
    assert "near" in str(told[0]).lower()


def test_an_override_that_no_offer_needs_is_told(tmp_path: Path) -> None:
    said = "override 'just in case': no offer needed it"
    assert said in " ".join(ran("compare", SHAFT, "--override", "just in case").stdout.split())
    both = ran("compare", SHAFT, "--offers", received(tmp_path), "--override", "just in case").stdout
    assert said in " ".join(both.split())
    assert "compared all the same: just in case" not in both


def test_offers_are_compared_with_a_declared_decimal_mark(tmp_path: Path) -> None:
    path = received(tmp_path)
    book = load_workbook(path)
    book.active["H5"] = "\u20ac 7,105"
    book.save(path)
    told = ran("compare", SHAFT, "--offers", path, status=2).stderr
    assert "7105 or 7.105" in " ".join(told.split())
    ran("compare", SHAFT, "--offers", path, "--decimal", "comma", status=2)  # another cell has a point
    book.active["H6"] = book.active["I6"] = book.active["J6"] = None
    book.active["I6"] = "6,95 USD"
    book.active["O5"] = "0,24"
    for cell in ("P5", "P6", "R5", "R6", "S5", "S6"):
        book.active[cell] = str(book.active[cell].value).replace(".", ",")
    book.save(path)
    ran("compare", SHAFT, "--offers", path, "--decimal", "comma")


# --- is a price reasonable? ---------------------------------------------------------------------------


def test_a_range_stands_beside_each_price_and_never_a_point() -> None:
    found = tables("price", CLAMP)
    rows = found["prices"]["rows"]
    assert [row[0] for row in rows] == ["Overseas A", "Overseas B", "Regional C"]
    for row in rows:
        low, high = map(float, row[3].split(" to "))
        assert low < high
        if min(abs(row[2] - low), abs(row[2] - high)) > 0.06:  # the range is shown to a tenth
            wanted = "below" if row[2] < low else "above" if row[2] > high else "within"
            assert row[4] == f"{wanted} the range"
    text = ran("price", CLAMP).stdout
    for assumed in ("operator: wage", "margin", "Everything else: as our own rates", "trade association"):
        assert assumed in text
    assert not re.search(r"\b(mean|median|expected|should cost|most likely)\b", text, re.IGNORECASE)


def test_a_price_without_assumptions_gets_no_range(tmp_path: Path) -> None:
    one = str(DATA / "should_cost" / "saddle-clamp-regional-c.toml")
    rows = tables("price", CLAMP, one, "--draws", "256")["prices"]["rows"]
    assert [row[3] for row in rows[:2]] == ["nothing assumed"] * 2
    assert rows[2][4].endswith("the range")
    told = " ".join(ran("price", str(DATA / "studies" / "worm-shaft.toml"), status=2).stderr.split())
    assert "should_cost/worm-shaft-*.toml" in told


# --- stock, a change of source, a change of the drawing -------------------------------------------------


def test_every_source_made_or_bought_shows_lead_time_stock_and_stops() -> None:
    found = tables("supply", CLAMP)
    sources = [row[0] for row in found["stock"]["rows"]]
    assert "Make four at a time on the rotary fixture" in sources
    assert "Buy from Regional C, for 30\N{NO-BREAK SPACE}% of the volume" in sources
    assert [row[0] for row in found["stops"]["rows"]] == sources
    assert len(found["second-sources"]["rows"]) == 2
    for row in found["second-sources"]["rows"]:
        loss_alone, with_both, premium, avoided, net = row[3:]
        assert avoided == pytest.approx(loss_alone - with_both)
        assert net == pytest.approx(avoided - premium)


@pytest.mark.slow
def test_stock_is_tried_day_by_day_on_request() -> None:
    found = tables("supply", str(DATA / "studies" / "worm-shaft.toml"), "--simulate")
    assert [name for name in found if name.startswith("day-by-day-")]


def test_leaving_a_source_takes_eight_weeks_of_parts() -> None:
    """Five weeks of ramp and three of margin at 80 a week: 640 parts."""
    set_to = ("--set", "demand.per_year=4000 part/yr", "--set", "demand.weeks=50 wk/yr")
    found = tables(
        "switch",
        CLAMP,
        "make-rotary",
        "--ramp",
        "5",
        "--margin",
        "3",
        "--in-stock",
        "200",
        "--begins",
        "0",
        *set_to,
    )
    rows = {row[0]: row[1] for row in found["switch"]["rows"]}
    assert rows["bridge stock"] == pytest.approx(640.0)
    assert rows["good parts still needed for it"] == pytest.approx(440.0)
    assert rows["last buy from the old source"] == pytest.approx(
        np.ceil(440.0 / (1 - 0.026 - 0.005 - 0.0004))
    )
    assert rows["what is in stock lasts"] == pytest.approx(2.5)
    assert rows["parts left then"] == pytest.approx(240.0, abs=1.0)  # whole parts are bought


def test_a_new_drawing_is_priced_for_every_alternative() -> None:
    study = read_study(CLAMP)
    rows = tables("drawing-change", CLAMP, "--unusable", "60 %")["drawing-change"]["rows"]
    assert [row[0] for row in rows] == [way.title for way in study.alternatives.values()]
    one = tables("drawing-change", CLAMP, "status-quo", "--unusable", "30 %")["drawing-change"]["rows"]
    assert [row[0] for row in one] == [rows[0][0]]
    assert one[0][4] == pytest.approx(rows[0][4] / 2)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("switch", CLAMP, "make-rotari"), "one of status-quo"),
        (("switch", CLAMP, "make-rotary", "--from", "rotary-and-c"), "not a split"),
        (("switch", CLAMP, "status-quo"), "another way than the one left"),
        (("switch", CLAMP, "make-rotary", "--ramp", "0", "--margin", "0"), "some weeks to bridge"),
        (("drawing-change", CLAMP, "--unusable", "60"), "--unusable"),
        (("drawing-change", CLAMP, "--unusable", "120 %"), "0 to 100 %"),
        (("drawing-change", CLAMP, "--recovered", "2 h"), "USD/part"),
    ],
)
def test_what_cannot_be_asked_says_why(arguments: tuple[str, ...], words: str) -> None:
    assert words in " ".join(ran(*arguments, status=2).stderr.split())


# --- without names and without pay ------------------------------------------------------------------------


def hidden_words(study: Study) -> set[str]:
    """Every text of the study by which a supplier or a processor could be known."""
    words = {text for it in study.quotes.values() for text in (it.name, it.title, it.place, it.source)}
    words |= {row.source for table in (study.rates.freight, study.rates.processors) for row in table.values()}
    words |= {*study.rates.freight, *study.rates.processors}
    words |= {row.cleared_by for row in study.rates.duties.values()}
    words |= {way.title for way in study.alternatives.values() if way.buy}
    return {word.lower() for word in words if word}


def odd_pay(study: Study, factor: float = 1.00137) -> tuple[list[str], list[float]]:
    """Options that give every grade a wage found nowhere else, and the numbers by which that pay could be known."""
    options, figures = [], []
    for name, row in study.rates.labour.items():
        wage = round(float(row.wage) * factor, 6)
        options += ["--set", f"rates.labour.{name}.wage={wage} USD/h"]
        figures += [wage, wage * (1.0 + float(row.on_costs))]
    return options, [*figures, *(round(figure, 2) for figure in figures)]


def numbers(text: str) -> set[float]:
    return {
        float(found.replace("\N{NO-BREAK SPACE}", "")) for found in re.findall(r"\d[\d\xa0]*\.?\d*", text)
    }


def cells_of(path: Path) -> Iterator[object]:
    """Every cell of a workbook or CSV file, names of sheets and properties of the file included."""
    if path.suffix == ".csv":
        yield from (
            cell for row in csv.reader(path.read_text(encoding="utf-8-sig").splitlines()) for cell in row
        )
        return
    from openpyxl import load_workbook

    book = load_workbook(path)
    yield from (str(value) for value in vars(book.properties).values())
    for sheet in book:
        yield sheet.title
        for row in sheet.iter_rows():
            for cell in row:
                yield cell.value if cell.value is not None else ""
                yield cell.comment.text if cell.comment else ""


def assert_blind(study: Study, wages: list[float], cells: list[object], names: str = "") -> None:
    shown = "\n".join([names, *(str(cell) for cell in cells)]).lower()
    assert [word for word in hidden_words(study) if word in shown] == []
    found = {float(cell) for cell in cells if isinstance(cell, int | float)} | numbers(shown)
    assert [(one, wage) for one in found for wage in wages if abs(one - wage) < 1e-9] == []
    assert "rates.labour" not in shown


@pytest.mark.parametrize("study_file", STUDIES, ids=lambda path: path.stem)
def test_a_blinded_export_holds_no_name_and_no_wage(study_file: Path, tmp_path: Path) -> None:
    study = read_study(study_file)
    changes, wages = odd_pay(study)
    ran("export", str(study_file), "--blind", "-o", "blind.xlsx", *changes)
    assert_blind(study, wages, list(cells_of(tmp_path / "blind.xlsx")))
    ran("export", str(study_file), "--blind", "-o", "blind", *changes)
    files = sorted((tmp_path / "blind").iterdir())
    names = " ".join(file.name for file in files)
    assert_blind(study, wages, [cell for file in files for cell in cells_of(file)], names)
    ran("export", str(study_file), "-o", "open.xlsx", *changes)  # the search finds what is there
    told = list(cells_of(tmp_path / "open.xlsx"))
    with pytest.raises(AssertionError):
        assert_blind(study, [], told)
    assert wages[0] in numbers("\n".join(map(str, told)))


@pytest.mark.parametrize("command", ["compare", "supply"])
def test_a_blinded_table_holds_no_name_and_no_wage(command: str) -> None:
    study = read_study(CLAMP)
    change = ("--set", "quotes.overseas-a.lead_time=15 wk", "--set", "rates.labour.operator.wage=28.8 USD/h")
    for output in (
        ran(command, CLAMP, "--blind", *change),
        ran(command, CLAMP, "--blind", "--json", *change),
    ):
        shown = output.stdout.lower()
        assert [word for word in hidden_words(study) if word in shown] == []
        assert "quotes.supplier-a.lead_time" in shown
        assert 28.8 not in numbers(shown)


def test_a_blinded_page_holds_no_name_and_no_wage(tmp_path: Path) -> None:
    """Twice, with other pay: a figure of a chart may be a wage by chance once, a wage shown is there both times."""
    study = read_study(CLAMP)
    found = []
    for factor in (1.00137, 1.00731):
        changes, wages = odd_pay(study, factor)
        folder = tmp_path / str(factor)
        options = ("--blind", "--draws", "256", "-o", f"{folder}.html", "--csv", str(folder))
        ran("brief", CLAMP, *options, *changes)
        page = Path(f"{folder}.html").read_text(encoding="utf-8")
        data = [part.split('"')[0] for part in page.split("base64,")[1:]]
        inside = [base64.b64decode(part).decode("utf-8", "ignore") for part in data]
        shown = "\n".join([re.sub(r"base64,[^\"]*", "", page), *inside]).lower()
        assert [word for word in hidden_words(study) if word in shown] == []
        assert "operator: wage" not in shown
        there = numbers(re.sub(r"<[^>]*>", " ", shown))
        found.append([wage in there for wage in wages])
        files = sorted(folder.iterdir())
        assert_blind(
            study, [], [cell for file in files for cell in cells_of(file)], " ".join(map(str, files))
        )
    assert not any(once and again for once, again in zip(*found, strict=True))
