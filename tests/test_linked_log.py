"""A delivery log named beside the quotes stands for lead time, its spread and rejects, with its number shown."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest
from buying import offer, with_offers

from costmodel.cli.review import marks_of
from costmodel.delivery_log import summary, with_log
from costmodel.errors import InputError
from costmodel.landed_cost import landed_cost
from costmodel.make_or_buy import alternative_cost, compare
from costmodel.reading import read_deliveries, read_quotes, read_study
from costmodel.reading.entry_sheet import write_entry_sheet
from costmodel.register import register, row_of
from costmodel.stock_check import check_stock
from costmodel.tables.buy_tables import offers_table
from costmodel.tables.renderings import to_text

ROOT = Path(__file__).parent.parent
LOG = ROOT / "data" / "logs" / "saddle-clamp-overseas-a.csv"
SMALL = Path(__file__).parent / "small"
EMPTY = {"lead_time": "", "lead_time_sd": "", "rejected_at_receipt": ""}


def sheet_with_log(folder: Path, log: str = "log.csv", **cells: str) -> Path:
    """The small quotes with a column log, far-a naming one and leaving empty what it states."""
    with (SMALL / "quotes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    rows[0] |= {**EMPTY, **cells}
    path = folder / "quotes.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, [*rows[0], "log"])
        writer.writeheader()
        writer.writerows([{**row, "log": log if number == 0 else ""} for number, row in enumerate(rows)])
    return path


def test_the_log_states_what_the_offer_leaves_out(tmp_path: Path) -> None:
    shutil.copy(LOG, tmp_path / "log.csv")
    quotes = read_quotes(sheet_with_log(tmp_path), "USD")
    found = summary(read_deliveries(LOG))
    far, near = quotes["far-a"], quotes["near-b"]
    assert far.log is not None
    assert len(far.log.received) == found.statistics.deliveries
    assert far.lead_time == pytest.approx(found.statistics.mean_lead_time, rel=1e-12)
    assert far.lead_time_sd == pytest.approx(found.statistics.lead_time_spread, rel=1e-12)
    assert far.rejected_at_receipt == pytest.approx(found.rejected_share, rel=1e-12)
    assert near.log is None
    assert near.lead_time == 35.0


def test_how_many_deliveries_stand_behind_it_is_shown(small_copy: Path) -> None:
    shutil.copy(LOG, small_copy / "log.csv")
    sheet_with_log(small_copy)
    study = read_study(small_copy / "study.toml")
    log = study.quotes["far-a"].log
    assert log is not None
    count = len(log.received)
    table = offers_table(compare(study))
    assert table.column("known from") == (f"log, n = {count}", "the offer")
    assert f"from {count} deliveries" in " ".join(to_text(table).split())
    row = row_of(register(study), "quotes.far-a.lead_time_sd")
    assert row is not None
    assert row.source == f"delivery log log, {count} deliveries"
    assert row.value == study.quotes["far-a"].lead_time_sd
    changed = study.with_inputs({"quotes.far-a.lead_time": "20 wk"})  # still an input as any other
    assert alternative_cost(changed, "status-quo").portions[0].stock.lead_time.mean == 140.0


@pytest.mark.parametrize("field", list(EMPTY))
def test_what_both_state_is_refused_at_its_cell(tmp_path: Path, field: str) -> None:
    shutil.copy(LOG, tmp_path / "log.csv")
    stated = {"lead_time": "14 wk", "lead_time_sd": "21 d", "rejected_at_receipt": "2.6 %"}[field]
    with pytest.raises(InputError) as refused:
        read_quotes(sheet_with_log(tmp_path, **{field: stated}), "USD")
    (problem,) = refused.value.problems
    assert f"(far-a, {field})" in problem.place
    assert "stated once; the log in" in problem.expected
    assert f"Empty {field}" in problem.remedy


def test_a_log_that_is_not_there_or_has_not_that_supplier_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a delivery log at") as refused:
        read_quotes(sheet_with_log(tmp_path), "USD")
    assert len(refused.value.problems) == 1
    rows = LOG.read_text(encoding="utf-8").replace("remark", "supplier", 1).splitlines()
    others = [f"{row.rpartition(',')[0]},Somebody Else" for row in rows[1:]]
    (tmp_path / "log.csv").write_text("\n".join([rows[0], *others]), encoding="utf-8")
    with pytest.raises(InputError, match="Somebody Else"):
        read_quotes(sheet_with_log(tmp_path), "USD")


def test_a_log_of_several_suppliers_is_read_for_its_own(tmp_path: Path) -> None:
    rows = LOG.read_text(encoding="utf-8").replace("remark", "supplier", 1).splitlines()
    own = [
        f"{row.rpartition(',')[0]},{'FAR A' if number < 12 else 'Other'}"
        for number, row in enumerate(rows[1:])
    ]
    (tmp_path / "log.csv").write_text("\n".join([rows[0], *own]), encoding="utf-8")
    far = read_quotes(sheet_with_log(tmp_path), "USD")["far-a"]
    assert far.log is not None
    assert len(far.log.received) == 12
    given = with_offers(offer()).rates
    flags = landed_cost(
        offer(log=far.log), given, lot=200.0, per_year=4000.0, as_of=far.valid_from, interest=0.1
    ).flags
    assert any("rest on 12 deliveries only" in flag.text for flag in flags)


def test_a_sheet_written_from_it_states_the_figures(tmp_path: Path) -> None:
    shutil.copy(LOG, tmp_path / "log.csv")
    quotes = read_quotes(sheet_with_log(tmp_path), "USD")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    back = read_quotes(write_entry_sheet(elsewhere / "offers.xlsx", "USD", quotes=quotes), "USD")["far-a"]
    assert back.log is None
    assert back.lead_time == pytest.approx(quotes["far-a"].lead_time, rel=1e-12)


def test_stock_is_tried_with_the_lead_times_of_the_log() -> None:
    log = read_deliveries(LOG)
    study = with_log(with_offers(offer()), "plain", log)
    assert study.quotes["plain"].log == log
    found = check_stock(study, "plain", shelves=16, years=2)
    assert found.deliveries == len(log.received)
    assert found.family in ("lognormal", "gamma")


def test_a_plan_keeps_the_mark_of_the_log(small_copy: Path) -> None:
    shutil.copy(LOG, small_copy / "log.csv")
    sheet_with_log(small_copy)
    before = marks_of(small_copy / "study.toml")
    assert "log.csv" in before
    text = (small_copy / "log.csv").read_text(encoding="utf-8")
    (small_copy / "log.csv").write_text(text.replace("500,5,", "500,6,", 1), encoding="utf-8")
    after = marks_of(small_copy / "study.toml")
    assert [name for name in before if before[name] != after[name]] == ["log.csv"]
