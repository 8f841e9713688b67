"""A new year of rates: ratio method, marks, what to confirm, nothing written over, nothing half written."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.errors import InputError
from costmodel.make_or_buy import alternative_cost
from costmodel.rate_update import YearUpdate, confirm_text, new_year, sheet_texts
from costmodel.reading import read_rates, read_study
from costmodel.reading.rate_folder import (
    changed_since,
    file_marks,
    read_observations,
    read_rate_sheets,
    seal_text,
)
from costmodel.records.rate_sheet import SEAL, YEAR_FILE, Change, Observation, plain_text
from costmodel.writing import recover_folder, write_folder

ROOT = Path(__file__).parent.parent
RATES = ROOT / "data" / "rates"


def seen(series: str, month: str, value: float, state: str = "final") -> Observation:
    return Observation.model_validate(
        {
            "series": series,
            "month": month,
            "value": value,
            "base": "2020 = 100",
            "source": "x",
            "state": state,
        }
    )


def files_of(update: YearUpdate) -> dict[str, str]:
    return {YEAR_FILE: update.sheets.year_text, **sheet_texts(update.sheets)}


SERIES = ("wages", "energy", "metals", "tools", "machines", "services", "freight", "general")


def flat(value: float = 100.0) -> list[Observation]:
    """Observations of every series that never move."""
    months = [f"{year}-{month:02d}" for year in (2025, 2026) for month in range(1, 13)]
    return [seen(name, month, value) for name in SERIES for month in months]


def test_a_row_is_escalated_by_the_ratio_not_by_points(tmp_path: Path) -> None:
    # exact arithmetic of price adjustment by an index: 1000 at 110 -> 121 is 1100; points would give 1110
    folder = Path(shutil.copytree(RATES / "2026", tmp_path / "2026"))
    text = (folder / "labour.csv").read_text(encoding="utf-8")
    (folder / "labour.csv").write_text(
        text.replace("operator,27.40,26.80,28.90", "operator,1000,,"), encoding="utf-8"
    )
    update = new_year(
        read_rate_sheets(folder), 2027, [seen("wages", "2026-01", 110.0), seen("wages", "2026-10", 121.0)]
    )
    row = next(row for row in update.rows if (row.table, row.name) == ("labour", "operator"))
    assert row.mark == "escalated"
    assert row.changes[0] == ("wage", "1000", "1100")
    assert row.used is not None
    assert (row.used.base_month, row.used.base_value, row.used.month, row.used.value) == (
        *("2026-01", 110.0),
        *("2026-10", 121.0),
    )
    assert "wages, 2026-01: 110, 2026-10: 121" in {c: now for c, _, now in row.changes}["source"]


def test_escalation_by_one_equals_carry_over(tmp_path: Path) -> None:
    old = read_rate_sheets(RATES / "2026")
    by_one, carried = new_year(old, 2027, flat()), new_year(old, 2027, [])
    assert len(by_one.marked("escalated")) > 40
    assert not carried.marked("escalated")
    for name, update in (("one", by_one), ("carried", carried)):
        write_folder(tmp_path / name, files_of(update), check=read_rates)
    study = read_study(ROOT / "data" / "studies" / "saddle-clamp.toml")
    costs = [
        float(
            alternative_cost(
                study.with_inputs({"rates": read_rates(tmp_path / name)}), "make-rotary"
            ).per_part()
        )
        for name in ("one", "carried")
    ]
    assert costs[0] == costs[1]


@given(st.floats(0.2, 5.0), st.floats(10.0, 500.0))
def test_the_base_year_of_a_series_does_not_matter(ratio: float, level: float) -> None:
    old = read_rate_sheets(RATES / "2026")
    wages = [
        new_year(old, 2027, [seen("wages", "2026-01", base), seen("wages", "2026-10", base * ratio)])
        .sheets.cells()[("labour", "operator", "wage")]
        for base in (100.0, level)
    ]  # fmt: skip
    assert float(wages[0]) == pytest.approx(float(wages[1]), rel=2e-6)


def test_units_of_cells_stay_and_fractions_are_carried() -> None:
    update = new_year(
        read_rate_sheets(RATES / "2026"),
        2027,
        [*(seen("general", f"2026-{m}", v) for m, v in (("01", 100.0), ("10", 150.0))),
         *(seen("wages", f"2026-{m}", v) for m, v in (("01", 100.0), ("10", 102.0)))],
    )  # fmt: skip
    cells = update.sheets.cells()
    assert cells[("spaces", "workshop", "price")] == "13.8 USD/ft2/yr"
    assert cells[("labour", "operator", "on_costs")] == "42"
    reasons = {f"{row.table}.{row.name}": row.confirm for row in update.rows}
    assert any("large jump: price +50.0%" in reason for reason in reasons["spaces.workshop"])
    assert not any("large jump" in reason for reason in reasons["labour.operator"])


def test_what_a_person_must_confirm_is_listed() -> None:
    update = new_year(
        read_rate_sheets(RATES / "2026"), 2029, read_observations(RATES / "index_observations.csv")
    )
    reasons = {f"{row.table}.{row.name}": " | ".join(row.confirm) for row in update.rows}
    assert "preliminary" in reasons["energy.electricity"]
    assert "follows no index series" in reasons["currency.EUR"]
    assert "stale" in reasons["currency.EUR"]
    assert "a guess" in reasons["indices.wages"]
    assert "ended on 2028-01-31" in reasons["duties.remainder-layer"]
    assert "rates.duties.remainder-layer,carried" in confirm_text(update)


def test_every_row_has_one_mark() -> None:
    old = read_rate_sheets(RATES / "2026")
    offer = Change.model_validate(
        {
            "address": "rates.tools.tap-m3.price",
            "was": "19.60 USD",
            "value": "21.40 USD",
            "source": "invented: new list",
            "as_of": "2026-11-20",
            "owner": "engineer",
            "status": "quoted",
        }
    )
    update = new_year(old, 2027, read_observations(RATES / "index_observations.csv"), replacements=[offer])
    marks = [len(update.marked(mark)) for mark in ("carried", "escalated", "replaced")]
    assert sum(marks) == sum(len(table.rows) for table in old.tables.values())
    assert marks[2] == 1
    cells = update.sheets.cells()
    assert cells[("tools", "tap-m3", "price")] == "21.4"
    assert cells[("tools", "tap-m3", "status")] == "quoted"
    assert cells[("tools", "tap-m3", "low")] == "17.40"
    stale = offer.model_validate({**offer.model_dump(), "was": "18 USD"})
    with pytest.raises(InputError, match="has changed since this was proposed"):
        new_year(old, 2027, [], replacements=[stale])


def test_a_series_with_two_bases_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "observations.csv"
    file.write_text(
        "series,month,value,base,source\nwages,2026-01,110,2020 = 100,x\nwages,2026-02,101,2025 = 100,x\n"
    )
    with pytest.raises(InputError, match="Link the two bases"):
        read_observations(file)


def test_nothing_is_written_over(tmp_path: Path) -> None:
    update = new_year(read_rate_sheets(RATES / "2026"), 2027, [])
    target = write_folder(tmp_path / "2027", files_of(update), check=read_rates)
    before = file_marks(target)
    with pytest.raises(InputError, match="Nothing is written over"):
        write_folder(target, {"labour.csv": "x"})
    assert file_marks(target) == before


def test_a_year_that_cannot_be_read_is_never_shown(tmp_path: Path) -> None:
    files = files_of(new_year(read_rate_sheets(RATES / "2026"), 2027, []))
    files["labour.csv"] = files["labour.csv"].replace("27.40", "27,40 x")
    with pytest.raises(InputError, match=r"labour\.csv"):
        write_folder(tmp_path / "2027", files, check=read_rates)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "value, text",
    [(1100.0, "1100"), (0.0001234567, "0.000123457"), (1234567.0, "1234570"), (73269.3, "73269.3")],
)
def test_a_number_for_a_cell(value: float, text: str) -> None:
    assert plain_text(value) == text


# --- history -----------------------------------------------------------------------------------------


def test_a_sealed_year_that_was_changed_is_named_when_it_is_read(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(RATES / "2025", tmp_path / "2025"))
    (folder / SEAL).write_text(seal_text(folder), encoding="utf-8")
    marks = file_marks(folder)
    read_rates(folder)
    wages = folder / "labour.csv"
    wages.write_bytes(wages.read_bytes().replace(b"\n", b"\r\n"))
    read_rates(folder)
    assert changed_since(folder, marks) == ()
    wages.write_bytes(wages.read_bytes().replace(b"26.30", b"26.31"))
    assert changed_since(folder, marks) == ("labour.csv",)
    with pytest.raises(InputError, match=r"labour\.csv: rates 2025: found a changed file"):
        read_rates(folder)


# --- killed at any moment ----------------------------------------------------------------------------


def test_without_an_exchange_in_one_step_the_old_folder_comes_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("costmodel.writing._exchanged", lambda one, other: False)
    target = write_folder(tmp_path / "2027", {"a": "old"})
    write_folder(target, {"a": "new"}, replace=True)
    assert (target / "a").read_text() == "new"
    target.rename(tmp_path / ".2027.before")  # as a kill between the two renames leaves it
    recover_folder(target)
    assert (target / "a").read_text() == "new"
