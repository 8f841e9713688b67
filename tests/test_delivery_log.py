"""Delivery logs: read under many names, asked about where two readings remain, and what they show."""

from __future__ import annotations

import csv
import datetime
import time
from pathlib import Path

import numpy as np
import pytest
from buying import offer, with_offers
from openpyxl import Workbook

from costmodel.delivery_log import lead_times, summary, with_log
from costmodel.errors import InputError
from costmodel.reading import read_deliveries
from costmodel.records.deliveries import DeliveryLog

ROOT = Path(__file__).parent.parent
LOGS = sorted(
    path
    for path in (ROOT / "data" / "logs").glob("*.csv")
    if path.read_text(encoding="utf-8").startswith("order,")
)
HEADER = ("order", "ordered", "promised", "received", "quantity", "rejected")
DAY = datetime.date(2024, 1, 1)


def log(waits: list[int], rejected: list[int] | None = None, quantity: int = 100) -> DeliveryLog:
    count = len(waits)
    ordered = [DAY + datetime.timedelta(days=30 * number) for number in range(count)]
    return DeliveryLog(
        name="log",
        orders=tuple(f"B{number}" for number in range(count)),
        ordered=tuple(ordered),
        promised=tuple(day + datetime.timedelta(days=90) for day in ordered),
        received=tuple(day + datetime.timedelta(days=wait) for day, wait in zip(ordered, waits, strict=True)),
        quantity=(float(quantity),) * count,
        rejected=tuple(float(number) for number in rejected or [0] * count),
    )


def rows_of(found: DeliveryLog) -> list[list[object]]:
    columns = (found.orders, found.ordered, found.promised, found.received, found.quantity, found.rejected)
    return [list(row) for row in zip(*columns, strict=True)]


def written(
    path: Path, rows: list[list[object]], header: tuple[str, ...] = HEADER, delimiter: str = ","
) -> Path:
    if path.suffix == ".xlsx":
        book = Workbook()
        for row in (list(header), *rows):
            book.active.append(row)  # type: ignore[union-attr]
        book.save(path)
    else:
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, delimiter=delimiter).writerows([header, *rows])
    return path


def same_but_name(one: DeliveryLog, other: DeliveryLog) -> bool:
    return {**one.__dict__, "name": ""} == {**other.__dict__, "name": ""}


@pytest.mark.parametrize("name", ["log.csv", "log.xlsx"])
def test_a_log_is_read_as_it_was_written(tmp_path: Path, name: str) -> None:
    known = log([88, 95, 120], [0, 3, 1])
    assert same_but_name(read_deliveries(written(tmp_path / name, rows_of(known))), known)


def test_other_names_and_other_dates(tmp_path: Path) -> None:
    rows = [["B0", "01.01.2024", "31 Mar 2024", "2024-03-29", "1.000", "3 pcs"]]
    header = ("PO number", "Order date", "Due date", "Goods receipt", "Qty (pcs)", "Rejects")
    path = written(tmp_path / "log.csv", rows, header, ";")
    with pytest.raises(InputError, match=r"row 2, cell E2 \(quantity\).*1000 or 1:"):
        read_deliveries(path)
    rows[0][4] = "1000"
    found = read_deliveries(written(tmp_path / "log.csv", rows, header, ";"))
    assert (found.quantity, found.rejected, found.received) == (
        (1000.0,),
        (3.0,),
        (datetime.date(2024, 3, 29),),
    )


@pytest.mark.bench
@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_two_thousand_rows_are_read_in_under_a_second_of_work(tmp_path: Path, suffix: str) -> None:
    path = written(tmp_path / f"log{suffix}", rows_of(log([90 + number % 17 for number in range(2000)])))
    read_deliveries(path)  # libraries loaded
    began = time.process_time()
    found = read_deliveries(path)
    spent = time.process_time() - began
    assert len(found.orders) == 2000
    assert spent < 1.0, spent


@pytest.mark.parametrize(
    ("column", "value", "place", "words"),
    [
        ("received", "2023-06-01", "row 3, cell D3 (received)", "when it was ordered"),
        ("received", "03/04/2024", "row 3, cell D3 (received)", "Write 2024-04-03 or 2024-03-04"),
        ("promised", "soon", "row 3, cell C3 (promised)", "ISO 8601"),
        ("quantity", "0", "row 3, cell E3 (quantity)", "above 0"),
        ("quantity", "2,000", "row 3, cell E3 (quantity)", "2000 or 2:"),
        ("quantity", "2.000", "row 3, cell E3 (quantity)", "2000 or 2:"),
        ("rejected", "101", "row 3, cell F3 (rejected)", "0 to the 100 parts received"),
        ("rejected", "", "row 3, cell F3 (rejected)", "Write 0 where none was"),
        ("rejected", "2 %", "row 3, cell F3 (rejected)", 'Take "%" out'),
    ],
)
def test_a_row_that_is_not_certain_is_asked_about(
    tmp_path: Path, column: str, value: str, place: str, words: str
) -> None:
    rows = rows_of(log([90, 90, 90]))
    rows[1][HEADER.index(column)] = value
    with pytest.raises(InputError) as asked:
        read_deliveries(written(tmp_path / "log.csv", rows))
    assert [problem.place for problem in asked.value.problems] == [place]
    assert words in str(asked.value)


def test_orders_still_open_are_listed_and_not_counted(tmp_path: Path) -> None:
    rows = rows_of(log([90, 95, 99]))
    rows[2][3:] = ["", "", ""]
    found = read_deliveries(written(tmp_path / "log.csv", rows))
    assert (len(found.orders), found.still_open) == (2, ("B2",))
    assert any("still open" in word for word in summary(found).words)


def test_one_supplier_of_a_common_log(tmp_path: Path) -> None:
    rows = [
        [*row, name]
        for row, name in zip(rows_of(log([90, 50, 91])), ("Far A", "Near B", "Far A"), strict=True)
    ]
    path = written(tmp_path / "log.csv", rows, (*HEADER, "supplier"))
    assert read_deliveries(path, "far a").orders == ("B0", "B2")
    with pytest.raises(InputError, match="a supplier with deliveries in the log"):
        read_deliveries(path, "Nobody")


def test_a_log_without_its_columns_names_them(tmp_path: Path) -> None:
    path = written(
        tmp_path / "log.csv", [["a", "2024-01-01", "2024-02-01"]], ("order", "ordered", "received")
    )
    with pytest.raises(InputError) as asked:
        read_deliveries(path)
    assert [problem.expected for problem in asked.value.problems] == [
        "a column promised", "a column quantity", "a column rejected",
    ]  # fmt: skip


# --- what it shows --------------------------------------------------------------------------------------


def test_lead_time_and_lateness_are_those_of_numpy() -> None:
    waits = [80, 95, 100, 88, 130, 97, 91]
    found = summary(log(waits)).statistics
    assert found.deliveries == 7
    assert found.mean_lead_time == pytest.approx(np.mean(waits))
    assert found.lead_time_spread == pytest.approx(np.std(waits, ddof=1))
    assert found.mean_lateness == pytest.approx(np.mean(waits) - 90)
    assert found.on_time_share == pytest.approx(2 / 7)
    assert summary(log(waits), early=5.0, late=3.0).statistics.on_time_share == pytest.approx(2 / 7)  # 88, 91


def test_the_law_is_that_of_scipy_and_shows_its_deliveries() -> None:
    from scipy.stats import gamma, lognorm

    waits = np.rint(np.random.default_rng(5).lognormal(4.5, 0.25, 400)).astype(int).tolist()
    found = summary(log(waits))
    lognormal, gammas, empirical = found.fits
    shape, _, scale = lognorm.fit(lead_times(log(waits)), floc=0)
    assert (lognormal.shape, lognormal.scale) == pytest.approx((shape, scale), rel=1e-4)
    shape, _, scale = gamma.fit(lead_times(log(waits)), floc=0)
    assert (gammas.shape, gammas.scale) == pytest.approx((shape, scale), rel=1e-3)
    assert found.best.family == "lognormal"
    assert empirical.deliveries == 400
    assert empirical.mean == pytest.approx(np.mean(waits))


def test_what_few_samples_prove() -> None:
    # Clopper-Pearson, 0 bad in 200: 1 - 0.05^(1/200) = 1.487 %, so "under 1.5 %" with 95 % confidence.
    found = summary(log([90], [0], quantity=200))
    assert found.rejected_share == 0.0
    assert found.rejected_at_most == pytest.approx(1.0 - 0.05 ** (1 / 200), rel=1e-6)
    assert round(100 * found.rejected_at_most, 1) == 1.5


def test_drift_of_quality_is_seen_and_steadiness_is_not_called_drift() -> None:
    worse = summary(log([90] * 20, [1] * 10 + [9] * 10))
    assert worse.halves is not None
    assert worse.halves.chance < 0.001
    assert worse.trend is not None
    assert worse.trend.share_at_end > worse.trend.share_at_start
    assert worse.recent_share > worse.rejected_share
    assert "the later half has more rejects than chance explains" in worse.words
    steady = summary(log([90 + number for number in range(20)], [2] * 20))
    assert steady.halves is not None
    assert steady.halves.chance > 0.4
    assert steady.words == ()


def test_few_deliveries_and_equal_lead_times_say_so() -> None:
    words = summary(log([90, 90, 90])).words
    assert any("3 deliveries say little" in word for word in words)
    assert any("no law can be fitted" in word for word in words)


def test_a_log_replaces_what_an_offer_says_and_the_status_turns_measured() -> None:
    given = with_offers(offer(lead_time=98.0, lead_time_sd=7.0))
    waits = [80, 95, 100, 88, 130, 97, 91] * 5
    measured = with_log(given, "plain", log(waits, [3] * 35)).quotes["plain"]
    assert measured.lead_time == pytest.approx(np.mean(waits))
    assert measured.lead_time_sd == pytest.approx(np.std(waits, ddof=1))
    assert measured.rejected_at_receipt == pytest.approx(0.03)
    assert (measured.status, measured.source) == ("measured", "log: 35 deliveries")
    with pytest.raises(InputError, match="nobody"):
        with_log(given, "nobody", log(waits))


@pytest.mark.parametrize("path", LOGS, ids=lambda path: path.stem)
def test_the_demo_logs_say_that_they_are_invented(path: Path) -> None:
    assert "invented" in path.read_text(encoding="utf-8").splitlines()[1]
    found = read_deliveries(path)
    assert max(found.received) < datetime.date(2026, 6, 15)
    assert summary(found).statistics.deliveries == len(found.orders)


def test_all_problems_of_a_log_come_at_once(tmp_path: Path) -> None:
    rows = rows_of(log([90] * 6))
    rows[0][HEADER.index("promised")] = "soon"
    rows[0][HEADER.index("rejected")] = "501"  # unreadable and impossible in one row
    rows[1][HEADER.index("received")] = "2023-06-01"
    rows[2][HEADER.index("quantity")] = "2.000"
    rows[3][HEADER.index("rejected")] = "101"
    rows[4][HEADER.index("received")] = "2023-06-01"
    rows[4][HEADER.index("quantity")] = "many"
    with pytest.raises(InputError) as asked:
        read_deliveries(written(tmp_path / "log.csv", rows))
    assert {problem.place for problem in asked.value.problems} == {
        "row 2, cell C2 (promised)",
        "row 2, cell F2 (rejected)",
        "row 3, cell D3 (received)",
        "row 4, cell E4 (quantity)",
        "row 5, cell F5 (rejected)",
        "row 6, cell D6 (received)",
        "row 6, cell E6 (quantity)",
    }
    assert len(asked.value.problems) == 7
