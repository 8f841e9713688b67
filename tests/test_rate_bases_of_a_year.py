"""What a year's rates rest on: planned hours, reference rates, machine sheets, and old years that never move."""

from __future__ import annotations

import datetime
import importlib.util
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError, LimitError
from costmodel.formulas.run_time import load_factor_by_meter, run_ratios
from costmodel.machine_rate import rate_terms
from costmodel.machine_sheet import machine_sheet
from costmodel.make_or_buy import alternative_cost
from costmodel.part_cost import part_cost
from costmodel.rate_update import new_year, sheet_texts
from costmodel.reading import read_part, read_rates, read_study
from costmodel.reading.rate_folder import (
    read_changes,
    read_observations,
    read_rate_sheets,
    read_run_logs,
    seal_text,
)
from costmodel.records.rate_sheet import SEAL, YEAR_FILE
from costmodel.records.run_log import RunLog
from costmodel.records.study import Study, fingerprint
from costmodel.tables.measured_tables import change_file
from costmodel.writing import write_folder

DATA = Path(__file__).parent.parent / "data"
RATES = DATA / "rates"
needs_holidays = pytest.mark.skipif(not importlib.util.find_spec("holidays"), reason="extra calendars")
needs_currency = pytest.mark.skipif(
    not importlib.util.find_spec("currency_converter"), reason="extra currency"
)


# --- planned hours ------------------------------------------------------------------------------------


@needs_holidays
@pytest.mark.parametrize(
    "year, country, region, days",
    [
        (2025, "US", "", 250),
        (2026, "US", "", 250),
        (2025, "DE", "", 252),
        (2025, "DE", "BY", 250),
        (2025, "DE", "BE", 251),
        (2026, "DE", "", 254),
        (2025, "PL", "", 251),
        (2025, "JP", "", 246),
    ],
)
def test_working_days_of_a_year(year: int, country: str, region: str, days: int) -> None:
    # counted once from the rules of holidays 0.109 by another reader
    from costmodel.calendar_hours import planned_hours

    assert planned_hours(year, country, region=region).days == days


@needs_holidays
def test_hours_of_shifts_and_closed_days() -> None:
    from costmodel.calendar_hours import planned_hours

    plain = planned_hours(2025, "US")
    assert plain.weekdays == 261
    assert len(plain.holidays) == 11
    assert plain.hours == 2000.0  # 250 working days of 8 h
    shut = [datetime.date(2025, 12, 26), datetime.date(2025, 12, 27), datetime.date(2025, 12, 25)]
    fewer = planned_hours(2025, "US", closed=shut, shifts=2.0, utilisation=0.85)
    assert fewer.closed == (datetime.date(2025, 12, 26),)  # Saturday and the holiday are off already
    assert fewer.hours == pytest.approx(249 * 2 * 8 * 0.85)
    with pytest.raises(InputError, match="ISO 3166"):
        planned_hours(2025, "XX")


# --- reference rates ----------------------------------------------------------------------------------


@needs_currency
def test_reference_rates_of_known_days() -> None:
    # European Central Bank: 2020-01-02 USD 1.1193, JPY 121.75; 2008-07-15 USD 1.5990; 1999-01-04 USD 1.1789
    from costmodel.reference_rates import reference_rate

    dollar = reference_rate("EUR", "USD", datetime.date(2020, 1, 2))
    assert dollar.rate == pytest.approx(1.1193)
    assert dollar.day == datetime.date(2020, 1, 2)
    assert "European Central Bank" in dollar.source
    yen = reference_rate("JPY", "USD", datetime.date(2020, 1, 2))
    assert yen.rate == pytest.approx(1.1193 / 121.75)
    assert reference_rate("EUR", "USD", datetime.date(2008, 7, 15)).rate == pytest.approx(1.5990)
    assert reference_rate("EUR", "USD", datetime.date(1999, 1, 4)).days == 1
    back = reference_rate("USD", "EUR", datetime.date(2020, 1, 2))
    assert back.rate == pytest.approx(1.0 / 1.1193)
    assert dollar.low < dollar.high
    assert 0.02 < dollar.yearly_change < 0.12


@needs_currency
def test_a_day_without_a_rate_takes_the_one_before() -> None:
    from costmodel.reference_rates import as_changes, reference_rate

    new_years_day = reference_rate("EUR", "USD", datetime.date(2020, 1, 1))
    assert new_years_day.day == datetime.date(2019, 12, 31)
    changes = as_changes(new_years_day, {"rate": "1.12 USD"}, "finance")
    values = {change.address.rpartition(".")[2]: float(change.value.split()[0]) for change in changes}
    assert values["low"] < values["rate"] < values["high"]
    assert all(change.accept == "" for change in changes)
    with pytest.raises(InputError, match="ISO 4217"):
        reference_rate("XXX", "USD", datetime.date(2020, 1, 1))
    with pytest.raises(InputError, match="a day with reference rates"):
        reference_rate("USD", "EUR", datetime.date(1990, 1, 1))


# --- machine sheets -----------------------------------------------------------------------------------

hours = st.floats(0.0, 1000.0)


@given(hours, hours, hours, st.floats(1.0, 1000.0))
def test_ratios_of_run_time(production: float, set_up: float, delay: float, idle: float) -> None:
    planned = production + set_up + delay + idle
    found = run_ratios(planned, production, set_up, delay)
    assert all(0.0 <= float(ratio) <= 1.0 for ratio in found)
    # availability is allocation ratio times utilisation efficiency: APT/PBT = AUBT/PBT x APT/AUBT
    assert found.availability == pytest.approx(
        float(found.allocation_ratio) * float(found.utilisation_efficiency)
    )


def test_limits_of_run_time() -> None:
    with pytest.raises(LimitError, match="planned_busy"):
        run_ratios(10.0, 9.0, 1.0, 1.0)
    with pytest.raises(LimitError, match="delay"):
        run_ratios(10.0, 1.0, 1.0, -1.0)
    with pytest.raises(LimitError, match="hours"):
        load_factor_by_meter(1.0, 0.0, 1.0)
    with pytest.raises(LimitError, match="energy"):
        load_factor_by_meter(-1.0, 1.0, 1.0)
    assert load_factor_by_meter(432.0, 50.0, 24.0) == pytest.approx(0.36)


def test_a_sheet_recovers_its_cost_exactly_at_budgeted_hours() -> None:
    rates = read_rates(RATES / "2026")
    machine = rates.machines["mill-5x"]
    terms = rate_terms(machine, rates, "budgeted")
    budgeted = float(machine.budgeted_hours)
    cost = sum(float(term.per_hour) for term in terms) * budgeted
    log = RunLog(
        machine="mill-5x", planned_busy=3000.0, production=budgeted, set_up=0.0, delay=0.0, actual_cost=cost
    )
    assert machine_sheet(rates, log).over_absorbed == pytest.approx(0.0, abs=1e-6)
    fewer = log.model_validate({**log.__dict__, "production": budgeted - 300.0})
    standing = sum(float(term.per_hour) for term in terms)
    assert machine_sheet(rates, fewer).over_absorbed == pytest.approx(-300.0 * standing)


def test_energy_comes_from_the_meter_where_there_is_one() -> None:
    rates = read_rates(RATES / "2026")
    sheets = {it.machine: it for it in (machine_sheet(rates, log) for log in
              read_run_logs(DATA / "shop_logs" / "machines-2026.csv", "USD"))}  # fmt: skip
    mill, lathe = sheets["mill-5x"], sheets["lathe"]
    assert mill.metered
    assert mill.load_factor == pytest.approx(18_400 / (2120 * 24))
    assert mill.energy_cost == pytest.approx(18_400 * 0.148)
    assert mill.machines_tended == pytest.approx(2120 / 1120)
    assert not lathe.metered
    assert lathe.load_factor == rates.machines["lathe"].load_factor
    result = CliRunner().invoke(
        app,
        ["rates", "machines", "2026", str(DATA / "shop_logs" / "machines-2026.csv"), "--folder", str(RATES)],
    )
    assert result.exit_code == 0, result.output


def test_a_run_log_that_cannot_be_is_told(tmp_path: Path) -> None:
    file = tmp_path / "runs.csv"
    file.write_text("machine,planned_busy [h],production [h],set_up [h],delay [h]\nlathe,100,90,20,0\n")
    with pytest.raises(InputError, match="at least 110 h"):
        read_run_logs(file, "USD")


# --- history ------------------------------------------------------------------------------------------


def test_a_third_year_moves_no_figure_of_the_others(tmp_path: Path, demo: dict[str, Study]) -> None:
    def figures() -> dict[str, float]:
        found: dict[str, float] = {}
        for year in ("2025", "2026"):
            rates = read_rates(root / year)
            for path in sorted((DATA / "parts").glob("*.toml")):
                part = read_part(path, rates.year.home_currency)
                for name, route in part.routes.items():
                    cost = part_cost(part, route, rates, lot=250.0, per_year=4000.0)
                    found[f"{year} {part.name} {name}"] = round(float(cost.per_part()), 2)
        return found

    root = Path(shutil.copytree(DATA, tmp_path / "data")) / "rates"
    before = figures()
    prints = {name: fingerprint(study) for name, study in demo.items()}
    (root / "2026" / SEAL).write_text(seal_text(root / "2026"), encoding="utf-8")
    update = new_year(
        read_rate_sheets(root / "2026"), 2027, read_observations(root / "index_observations.csv")
    )
    files = {YEAR_FILE: update.sheets.year_text, **sheet_texts(update.sheets)}
    write_folder(root / "2027", files, check=read_rates)
    assert figures() == before
    for name, study in demo.items():
        again = read_study(tmp_path / "data" / "studies" / f"{name}.toml")
        assert fingerprint(again) == prints[name]
        newer = study.with_inputs({"rates": read_rates(root / "2027")})
        assert fingerprint(newer) != prints[name]
        assert newer.rates.year.year == 2027
        for alternative in study.alternatives:
            assert float(alternative_cost(again, alternative).per_part()) == float(
                alternative_cost(study, alternative).per_part()
            )


@needs_currency
def test_a_newer_range_is_not_overwritten_by_an_older_reference(tmp_path: Path) -> None:
    data = Path(__file__).parent.parent / "data" / "rates" / "2026"
    year = tmp_path / "rates" / "2026"
    shutil.copytree(data, year)
    folder, out = ["--folder", str(tmp_path / "rates")], tmp_path / "currency.csv"
    (year / "currency.csv").write_text(
        (year / "currency.csv").read_text(encoding="utf-8").replace("2026-05-29", "2026-11-02"),
        encoding="utf-8",
    )
    words = ["rates", "currency", "2026", "--until", "2020-01-01", "--who", "x", "-o", str(out), *folder]
    told = CliRunner().invoke(app, words)
    assert told.exit_code == 0, told.output
    assert "EUR: its rate of 2026-11-02 is newer than the reference of 2019-12-31" in " ".join(
        told.output.split()
    )
    rows = {it.address.rpartition(".")[2]: it for it in read_changes(out) if ".EUR." in it.address}
    assert {word: rows[word].was for word in rows} == {
        "rate": "1.12 USD",
        "low": "1.02 USD",
        "high": "1.21 USD",
    }
    out.write_text(
        change_file([it.model_copy(update={"accept": "yes"}) for it in rows.values()]), encoding="utf-8"
    )
    apply = ["rates", "apply", "2026", str(out), "--who", "x", "--why", "y", *folder]
    text = (year / "currency.csv").read_text(encoding="utf-8")
    (year / "currency.csv").write_text(
        text.replace("EUR,1.12,1.02,1.21", "EUR,1.12,1.10,1.40"), encoding="utf-8"
    )
    refused = CliRunner().invoke(app, apply)
    assert refused.exit_code == 2
    assert "rates.currency.EUR.low" in refused.output
    (year / "currency.csv").write_text(text, encoding="utf-8")
    applied = CliRunner().invoke(app, apply)
    assert applied.exit_code == 0, applied.output
    assert "as_of went back from 2026-11-02 to 2019-12-31" in " ".join(applied.output.split())
