"""Logs against beliefs: robust estimates, weights by certainty, proposals that nobody applies but a person."""

from __future__ import annotations

import csv
import datetime
import shutil
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from scipy import integrate, stats
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError, LimitError
from costmodel.formulas.measured_values import clash, log_estimate, shrunk_mean, shrunk_share, weighed_log
from costmodel.measured import as_change, propose, with_measured
from costmodel.reading import read_rates
from costmodel.reading.rate_folder import file_marks, read_changes
from costmodel.reading.shop_logs import read_logs
from costmodel.records.rate_sheet import Change
from costmodel.records.shop_log import Log
from costmodel.records.study import Study
from costmodel.tables.measured_tables import change_file

DATA = Path(__file__).parent.parent / "data"
LOGS = DATA / "shop_logs"
DAY = datetime.date(2026, 11, 25)
values = st.lists(st.floats(1.0, 1000.0), min_size=3, max_size=40)


# --- estimators ---------------------------------------------------------------------------------------


@given(values)
def test_mean_and_median_agree_with_scipy(log: list[float]) -> None:
    mean = log_estimate(np.array(log), "mean")
    assert mean.middle == pytest.approx(float(np.mean(log)))
    assert mean.error == pytest.approx(float(stats.sem(log)))
    median = log_estimate(np.array(log), "median")
    assert median.middle == pytest.approx(float(np.median(log)))
    assert median.spread == pytest.approx(float(stats.median_abs_deviation(log, scale="normal")))


def test_an_outlier_turns_the_estimate_robust() -> None:
    clean = [5.0, 5.2, 4.9, 5.1, 4.8, 5.3, 5.0]
    assert not log_estimate(np.array(clean)).robust
    spoiled = log_estimate(np.array([*clean, 55.0]))
    assert spoiled.robust
    assert spoiled.outliers == 1
    assert spoiled.middle == pytest.approx(5.05)
    assert log_estimate(np.array([*clean, 55.0]), "mean").middle > 11.0


def test_the_error_of_a_median_is_that_of_many_normal_logs() -> None:
    draws = np.random.default_rng(5).normal(0.0, 1.0, (40_000, 101))
    found = log_estimate(np.random.default_rng(6).normal(0.0, 1.0, 100_001), "median")
    assert found.error * np.sqrt(100_001 / 101) == pytest.approx(
        float(np.std(np.median(draws, axis=1))), rel=0.02
    )


@pytest.mark.parametrize("log", [[], [1.0, np.nan]])
def test_an_empty_or_broken_log_is_refused(log: list[float]) -> None:
    with pytest.raises(LimitError, match="log"):
        log_estimate(np.array(log))


@given(st.floats(1.0, 20.0), st.floats(0.1, 5.0), st.floats(1.0, 20.0), st.floats(0.1, 5.0))
def test_the_weight_is_that_of_the_posterior(prior: float, sd: float, middle: float, error: float) -> None:
    found = shrunk_mean(prior, sd, middle, error)
    low, high = min(prior - 9 * sd, middle - 9 * error), max(prior + 9 * sd, middle + 9 * error)
    grid = np.linspace(low, high, 200_001)
    density = stats.norm.pdf(grid, prior, sd) * stats.norm.pdf(middle, grid, error)
    mass = integrate.trapezoid(density, grid)
    if mass > 1e-12:
        mean = integrate.trapezoid(grid * density, grid) / mass
        assert float(found.middle) == pytest.approx(mean, rel=1e-4)
    assert min(prior, middle) <= found.middle <= max(prior, middle) or prior == pytest.approx(middle)


def test_few_values_move_little_and_many_make_it_their_own() -> None:
    weights = [float(shrunk_mean(10.0, 1.0, 12.0, 2.0 / np.sqrt(n)).weight) for n in (1, 4, 100, 10_000)]
    assert weights == sorted(weights)
    assert weights[0] == pytest.approx(1.0 / 5.0)  # n / (n + s^2 / s0^2) with n 1, s 2, s0 1
    assert weights[1] == pytest.approx(0.5)
    assert weights[-1] > 0.999


@given(st.floats(0.05, 0.95), st.integers(0, 300), st.integers(0, 300))
def test_a_share_is_the_mean_of_its_beta_posterior(prior: float, good: int, bad: int) -> None:
    sd = 0.3 * float(np.sqrt(prior * (1.0 - prior)))
    worth = prior * (1.0 - prior) / sd**2 - 1.0
    beta = stats.beta(worth * prior + good, worth * (1.0 - prior) + bad)
    found = shrunk_share(prior, sd, float(good), float(good + bad))
    assert float(found.middle) == pytest.approx(beta.mean())
    assert float(found.spread) == pytest.approx(beta.std())


def test_limits_of_the_weights() -> None:
    with pytest.raises(LimitError, match="prior_spread"):
        shrunk_mean(1.0, 0.0, 1.0, 1.0)
    with pytest.raises(LimitError, match="error"):
        shrunk_mean(1.0, 1.0, 1.0, -1.0)
    with pytest.raises(LimitError, match="good"):
        shrunk_share(0.9, 0.05, 11.0, 10.0)
    with pytest.raises(LimitError, match="prior_spread"):
        shrunk_share(0.9, 0.5, 1.0, 10.0)
    with pytest.raises(LimitError, match="prior"):
        shrunk_share(1.0, 0.1, 1.0, 10.0)
    many = shrunk_mean(np.array([1.0, 2.0]), 1.0, 3.0, 1.0)
    assert many.middle == pytest.approx([2.0, 2.5])


# --- logs to proposals --------------------------------------------------------------------------------


def test_real_deliveries_replace_the_believed_lead_time(demo: dict[str, Study]) -> None:
    # acceptance: 30 real deliveries replace "14 wk"; the status turns measured
    study = demo["saddle-clamp"]
    assert study.quotes["overseas-a"].lead_time == 98.0
    logs = {log.address: log for log in read_logs(DATA / "logs" / "saddle-clamp-overseas-a.csv", study)}
    proposal = propose(study, logs["quotes.overseas-a.lead_time"])
    assert proposal.n >= 30
    change = as_change(proposal, DAY, "buyer", "delivery log")
    assert change.was == "98 d"
    assert with_measured(study, [change]) is study
    accepted = Change(**{**change.__dict__, "accept": "yes"})
    after = with_measured(study, [accepted])
    quote = after.quotes["overseas-a"]
    assert quote.status == "measured"
    assert quote.lead_time == pytest.approx(proposal.value, rel=1e-5)
    spread = after.uncertainty["quotes.overseas-a.lead_time"]
    assert spread.status == "measured"
    assert spread.p90 - spread.p10 < 2.563 * 1.5 * 7.0  # type: ignore[operator]


def test_every_kind_of_log_is_read(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    shop = [file for file in sorted(LOGS.glob("*.csv")) if not file.name.startswith("machines-")]
    files = [*shop, DATA / "logs" / "saddle-clamp-overseas-a.csv"]
    found = {log.address: log for file in files for log in read_logs(file, study)}
    steps = "part.routes.rotary.steps.five-sides"
    assert set(found) == {
        *(f"{steps}.{field}" for field in ("hands_on", "set_up", "step_yield")),
        *(f"quotes.overseas-a.{field}" for field in ("lead_time", "lead_time_sd", "rejected_at_receipt")),
        "rates.machines.mill-5x.load_factor",
        'rates.tools."drill-11.8mm".parts_per_edge',
    }
    hands = propose(study, found[f"{steps}.hands_on"])
    assert hands.outliers == 2
    assert hands.how.startswith("median")
    assert found[f"{steps}.step_yield"].tried == 18 * 206


def test_an_xlsx_log_with_other_units(tmp_path: Path, demo: dict[str, Study]) -> None:
    book = Workbook()
    sheet = book.active
    sheet.append(["date", "route", "step", "set_up [h/lot]"])
    for value in (0.5, 0.6, 0.55):
        sheet.append([DAY, "rotary", "five-sides", value])
    book.save(tmp_path / "log.xlsx")
    (log,) = read_logs(tmp_path / "log.xlsx", demo["saddle-clamp"])
    assert log.values == pytest.approx((30.0, 36.0, 33.0))


@pytest.mark.parametrize(
    "text, words",
    [
        ("date,value\n2026-01-01,3\n", "columns route and step"),
        ("route,step,hands_on [min/load]\nrotary,five-side,3\n", "five-side"),
        ("route,step,hands_on [kg]\nrotary,five-sides,3\n", "min/load"),
        ("route,step,started,good\nrotary,five-sides,10,11\n", "at most 10 started"),
        ("route,step,started,good\nrotary,five-sides,ten,9\n", "a number for started"),
    ],
)
def test_a_broken_log_is_told(tmp_path: Path, demo: dict[str, Study], text: str, words: str) -> None:
    file = tmp_path / "log.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words):
        read_logs(file, demo["saddle-clamp"])


def test_one_value_counts_as_sure_as_the_belief(small: Study) -> None:
    address = "part.routes.cuts.steps.mill.hands_on"
    found = propose(small, Log(address, (9.0,)))
    assert float(found.weighed.weight) == pytest.approx(0.5)
    assert not found.ranged
    many = propose(small, Log(address, tuple([9.0, 8.0, 10.0] * 20)))
    assert many.value > found.value


def test_nothing_is_applied_until_a_row_says_yes(tmp_path: Path, demo: dict[str, Study]) -> None:
    shutil.copytree(DATA / "rates" / "2026", tmp_path / "rates" / "2026")
    year = tmp_path / "rates" / "2026"
    file = tmp_path / "changes.csv"
    run = CliRunner().invoke
    words = ["measured", str(DATA / "studies" / "saddle-clamp.toml"), str(LOGS / "tool-changes.csv"),
             str(LOGS / "energy.csv"), "--who", "engineer", "-o", str(file)]  # fmt: skip
    assert run(app, words).exit_code == 0
    marks = file_marks(year)
    apply = [
        "rates",
        "apply",
        "2026",
        str(file),
        "--folder",
        str(tmp_path / "rates"),
        "--who",
        "finance",
        "--why",
        "log",
    ]
    assert run(app, apply).exit_code == 0
    assert file_marks(year) == marks
    changes = [Change(**{**change.__dict__, "accept": "yes"}) for change in read_changes(file)]
    file.write_text(change_file(changes), encoding="utf-8")
    result = run(app, apply)
    assert result.exit_code == 0, result.output
    tool = read_rates(year).tools["drill-11.8mm"]
    assert tool.as_of.isoformat() == "2026-02-03"  # of its price: the note says what was measured
    assert "parts_per_edge: " in tool.note
    assert tool.parts_per_edge == pytest.approx(3585.0, rel=0.01)
    with (year / "change_log.csv").open(encoding="utf-8") as log:
        rows = {(row["table"], row["column"]): row for row in csv.DictReader(log)}
    assert rows["tools", "parts_per_edge"]["who"] == "finance"
    assert "has weight" in rows["tools", "parts_per_edge"]["how"]
    again = run(app, apply)
    assert again.exit_code == 2
    assert "has changed since this was proposed" in " ".join(again.output.split())


@pytest.mark.parametrize("n", [1, 2, 5, 40])
def test_a_log_that_agrees_is_known_by_t(n: int) -> None:
    # posterior of a mean with a variance pooled from 3 values of the belief's spread and n - 1 of the log's
    found = weighed_log(10.0, 1.0, 10.0, 0.5, n)
    pooled = np.sqrt((3.0 + (n - 1) * 0.25) / (n + 2) / n)
    normal = shrunk_mean(10.0, 1.0, 10.0, pooled)
    wide = stats.t(n + 2).ppf(0.9) / stats.norm.ppf(0.9)
    assert float(found.spread) == pytest.approx(float(normal.spread) * wide)
    assert float(found.weight) == pytest.approx(float(normal.weight))


def test_two_that_disagree_are_widened_by_their_distance() -> None:
    # Birge: the errors of results that scatter by more than they state are raised by sqrt(chi2 / (N - 1))
    assert clash(10.0, 3.0, 20.0, 4.0) == pytest.approx(2.0)
    assert clash(10.0, 3.0, 12.0, 4.0) == 1.0
    assert clash(np.array([10.0, 18.0]), 3.0, 20.0, 4.0) == pytest.approx([2.0, 1.0])
    for wrong in ((1.0, 0.0, 1.0, 1.0), (1.0, 1.0, 1.0, -1.0)):
        with pytest.raises(LimitError):
            clash(*wrong)
    for wrong_n in (0, 2.5):
        with pytest.raises(LimitError, match="n"):
            weighed_log(1.0, 1.0, 1.0, 1.0, wrong_n)
    with pytest.raises(LimitError, match="spread"):
        weighed_log(1.0, 1.0, 1.0, -1.0, 2)
