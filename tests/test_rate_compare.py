"""What moved between two years and what it did: parts add up, each input has one cause, verdicts are named."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from costmodel.charts import alt_text, bridge_chart
from costmodel.cli import app
from costmodel.curves import subject_of
from costmodel.decision import range_flags
from costmodel.make_or_buy import alternative_cost
from costmodel.rate_compare import (
    Bridge,
    at_rates,
    bridges,
    cause_of,
    differences,
    held_decisions,
    moved,
    open_studies,
    rate_differences,
    running,
    study_effect,
)
from costmodel.reading import read_rates, read_study
from costmodel.records.study import Study, fingerprint
from costmodel.review_curves import BridgeSteps
from costmodel.tables.rate_tables import (
    bridge_cells,
    bridges_table,
    differences_table,
    moved_table,
    verdicts_table,
)
from costmodel.tables.renderings import to_csv
from costmodel.tables.rounding import parts_that_add

RATES = Path(__file__).parent.parent / "data" / "rates"


@pytest.mark.parametrize("method", ["one at a time", "sequential", "shapley"])
def test_a_bridge_adds_up_whatever_the_method(demo: dict[str, Study], method: str) -> None:
    after = demo["saddle-clamp"]
    before = at_rates(after, read_rates(RATES / "2025"))
    found = bridges(before, after, {"make": ("USD/part", running("make-rotary"))}, method=method)["make"]  # type: ignore[arg-type]
    assert found.before == float(alternative_cost(before, "make-rotary").per_part())
    assert found.after == float(alternative_cost(after, "make-rotary").per_part())
    assert sum(found.parts.values()) == pytest.approx(found.change, abs=1e-12)
    cells = bridge_cells(found, list(found.parts))
    assert round(sum(cells[1:-1]), 2) == cells[-1]  # type: ignore[arg-type]


def test_moving_every_input_gives_the_other_year(demo: dict[str, Study]) -> None:
    for study in demo.values():
        before = at_rates(study, read_rates(RATES / "2025"))
        found = [it for it in differences(before, study) if it.address.partition(".")[0] != "uncertainty"]
        for name in study.alternatives:
            assert running(name)(moved(before, found)) == pytest.approx(running(name)(study), rel=1e-12)


@pytest.mark.parametrize(
    "address, cause",
    [
        ("rates.labour.operator.wage", "price"),
        ("rates.labour.operator.on_costs", "price"),
        ("rates.duties.base.rate", "price"),
        ("rates.currency.EUR.rate", "price"),
        ("rates.machines.mill.load_factor", "use"),
        ("rates.machines.mill.tool_change", "use"),
        ("rates.tools.end-mill.edge_minutes", "use"),
        ("rates.processors.anodiser.process_yield", "yield"),
        ("rates.machines.mill.practical_hours", "volume"),
        ("demand.per_year", "volume"),
        ("part.routes.cuts.steps.mill.step_yield", "yield"),
        ("part.routes.measured.steps.mill.programme", "use"),
        ("quotes.far-a.tiers.500.price", "price"),
    ],
)
def test_each_input_has_one_cause(small: Study, address: str, cause: str) -> None:
    assert cause_of(address, small) == cause


def test_a_change_of_one_cause_is_all_its_own(plain: Study) -> None:
    # 6 minutes of hands at 24.00 an hour are 2.40; at 28.00 they are 2.80: +0.40 from wages and nothing else
    base = plain.with_inputs({"part.routes.route.steps.fit.hands_on": 6.0, "rates.labour.fitter.wage": 24.0})
    later = base.with_inputs({"rates.labour.fitter.wage": 28.0})
    found = bridges(base, later, {"make": ("USD/part", running("make"))})["make"]
    assert (found.before, found.after) == pytest.approx((2.4, 2.8))
    assert found.parts == pytest.approx({"price": 0.4, "use": 0, "yield": 0, "volume": 0, "interaction": 0})


def test_price_and_use_together_leave_an_interaction(plain: Study) -> None:
    # 2.40 = 6 min x 0.40; then 7 min x 0.50 = 3.50: price 0.60, use 0.40, both together 0.10
    base = plain.with_inputs({"part.routes.route.steps.fit.hands_on": 6.0, "rates.labour.fitter.wage": 24.0})
    later = base.with_inputs({"part.routes.route.steps.fit.hands_on": 7.0, "rates.labour.fitter.wage": 30.0})
    found = bridges(base, later, {"make": ("USD/part", running("make"))})["make"]
    assert found.parts == pytest.approx(
        {"price": 0.6, "use": 0.4, "yield": 0, "volume": 0, "interaction": 0.1}
    )


def test_ranges_of_rates_move_with_their_values(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    before = at_rates(study, read_rates(RATES / "2025"))
    wage = before.uncertainty["rates.labour.operator.wage"]
    assert wage.likely == pytest.approx(26.30)
    assert wage.low == pytest.approx(26.80 * 26.30 / 27.40)
    assert before.uncertainty["demand.per_year"] == study.uncertainty["demand.per_year"]
    assert at_rates(study, study.rates) == study


@pytest.mark.parametrize("name", ["worm-shaft", "encoder-cover"])
def test_a_study_that_adopts_a_year_says_what_the_comparison_said(tmp_path: Path, name: str) -> None:
    """Ranges that a study states of rates move with it; its path alone would leave them around the old values."""
    shutil.copytree(RATES.parent, tmp_path / "data")
    file = tmp_path / "data" / "studies" / f"{name}.toml"
    rates = read_rates(RATES / "2025")
    wanted = at_rates(read_study(file), rates)
    words = ["rates", "adopt", "2025", str(file), "--who", "engineer"]
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    found = read_study(file)
    assert found.rates == rates
    assert list(found.uncertainty) == list(wanted.uncertainty)
    for address, spread in wanted.uncertainty.items():
        now = found.uncertainty[address]
        assert (now.shape, now.source, now.status) == (spread.shape, spread.source, spread.status)
        for field in ("low", "likely", "high", "p10", "p50", "p90", "mean", "sd"):
            number = getattr(spread, field)
            assert getattr(now, field) == (None if number is None else pytest.approx(number, rel=1e-5))
    log = file.with_name(f"{name}.changes.csv").read_text(encoding="utf-8")
    assert "rates,../rates/2026,../rates/2025" in log
    again = CliRunner().invoke(app, words)
    assert again.exit_code == 0, again.output
    assert file.with_name(f"{name}.changes.csv").read_text(encoding="utf-8") == log


def test_a_range_that_stayed_around_the_old_value_is_flagged(demo: dict[str, Study]) -> None:
    study = demo["encoder-cover"]
    assert range_flags(study) == ()
    other = study.with_inputs({"rates.currency.EUR.rate": 0.97, "rates.labour.operator.wage": 30.4}).rates
    by_hand = study.with_inputs({"rates": other})
    assert {flag.place for flag in range_flags(by_hand)} == {
        *("rates.currency.EUR.rate", "rates.labour.operator.wage"),
    }
    assert range_flags(at_rates(study, other)) == ()


def test_a_decided_study_adopts_no_other_year(tmp_path: Path, demo: dict[str, Study]) -> None:
    shutil.copytree(RATES.parent, tmp_path / "data")
    file = tmp_path / "data" / "studies" / "saddle-clamp.toml"
    before = file.read_text(encoding="utf-8")
    result = CliRunner().invoke(app, ["rates", "adopt", "2025", str(file), "--who", "engineer"])
    assert result.exit_code == 2
    assert "keeps its own year's rates" in " ".join(result.output.split())
    assert file.read_text(encoding="utf-8") == before
    assert {it.name for it in open_studies(demo.values())} == {"worm-shaft", "encoder-cover"}
    (held,) = held_decisions(demo.values(), draws=512)
    assert held.study.rates.year.year == 2026


def test_the_comparison_leaves_decided_studies_alone_unless_told(tmp_path: Path) -> None:
    words = ["rates", "compare", "2025", "2026", "--folder", str(RATES), "--draws", "512", "--json"]
    words += ["--studies", str(RATES.parent / "studies")]
    tables = json.loads(CliRunner().invoke(app, words).output)["tables"]
    assert "saddle-clamp-by-cause" not in tables
    assert tables["decided"]["rows"][0][0].startswith("Saddle clamp body")
    told = json.loads(CliRunner().invoke(app, [*words, "--decided"]).output)["tables"]
    assert "saddle-clamp-by-cause" in told
    assert len(told["verdicts"]["rows"]) == 3


def test_a_verdict_that_changes_is_named(demo: dict[str, Study]) -> None:
    study = demo["encoder-cover"]
    rates = study.with_inputs({"rates.currency.EUR.rate": 0.95, "rates.labour.operator.wage": 31.0}).rates
    effect = study_effect(study, rates, draws=512)
    assert effect.changes
    assert effect.after.verdict.answer == "buy"
    row = verdicts_table([effect], 2026, 2027).rows[0]
    assert row[0] == study.title
    assert study.alternatives[effect.after.verdict.alternative].title in str(row[2])
    assert row[5] == "CHANGES"
    assert row[6:] == (effect.before.fingerprint, effect.after.fingerprint)
    same = study_effect(study, study.rates, draws=512)
    assert not same.changes
    assert all(bridge.change == 0.0 for bridge in same.by_cause.values())


def test_differences_by_table() -> None:
    before, after = (read_rates(RATES / year) for year in ("2025", "2026"))
    found = {it.address: it for it in rate_differences(before, after)}
    assert found["rates.labour.operator.wage"].change == pytest.approx(27.40 / 26.30 - 1.0)
    assert "rates.labour.operator.source" not in found
    assert rate_differences(before, before) == ()
    text = to_csv(differences_table(found.values(), 2025, 2026, invented=True))
    assert "labour,operator,wage,26.3,27.4,USD/h,4.18" in text


@given(st.lists(st.floats(-50.0, 50.0), min_size=1, max_size=9))
def test_rounded_parts_add_to_the_rounded_whole(parts: list[float]) -> None:
    rounded = parts_that_add(parts, sum(parts))
    assert round(sum(rounded), 2) == pytest.approx(round(sum(parts), 2), abs=0.0051)
    assert all(abs(one - other) <= 0.0100001 for one, other in zip(rounded, parts, strict=True))


def test_the_bridge_chart_sums_to_its_end(demo: dict[str, Study]) -> None:
    bridge = Bridge("make", "USD/part", 24.10, 25.60, {"rate": 0.40, "cycle": 0.65, "scrap": 0.30, "finish": 0.15},
                    "sequential")  # fmt: skip
    subject = subject_of(demo["saddle-clamp"])
    steps = BridgeSteps(subject, "Make it", bridge)
    figure = bridge_chart(steps)
    widths = [bar.get_width() for bar in figure.axes[0].patches]  # type: ignore[attr-defined]
    assert sum(widths[:-1]) == pytest.approx(widths[-1])
    assert widths[-1] == pytest.approx(25.60)
    assert [bool(bar.get_hatch()) for bar in figure.axes[0].patches] == [False, *[True] * 4, False]
    better = bridge_chart(steps._replace(more_is_worse=False))
    assert not any(bar.get_hatch() for bar in better.axes[0].patches)
    assert "cycle +0.65" in alt_text(steps)
    table = bridges_table([bridge], "Bridge", invented=True)
    assert table.rows[0] == ("make", 24.1, 0.4, 0.65, 0.3, 0.15, 25.6)


def test_what_is_only_written_in_another_unit_has_not_moved() -> None:
    before, after = (read_rates(RATES / year) for year in ("2025", "2026"))
    found = rate_differences(before, after)
    moved_fields = {it.address for it in found}
    same = ("mill-5x.spindle_power", "mill-3x.floor_area", "lathe.spindle_power", "lathe.power")
    assert not moved_fields & {f"rates.machines.{name}" for name in same}
    assert not {address for address in moved_fields if address.endswith("density")}


def test_the_value_that_moved_most_is_no_end_of_a_range() -> None:
    before, after = (read_rates(RATES / year) for year in ("2025", "2026"))
    table = moved_table(rate_differences(before, after), 2025, 2026, invented=True)
    named = [str(cell).split()[-1] for cell in table.column("moved most") if cell]
    assert named
    assert not set(named) & {"low", "high"}


def test_adopting_names_the_inputs_as_written_and_offers_that_lapse(tmp_path: Path) -> None:
    shutil.copytree(RATES.parent, tmp_path / "data")
    shutil.copytree(RATES / "2026", tmp_path / "data" / "rates" / "2027")
    year = tmp_path / "data" / "rates" / "2027" / "year.toml"
    text = year.read_text(encoding="utf-8").replace("2027", "2028").replace("2026", "2027")
    year.write_text(text, encoding="utf-8")
    labour = year.with_name("labour.csv")
    text = labour.read_text(encoding="utf-8").replace("27.40,26.80,28.90", "28.1234567,27.1,29.9")
    labour.write_text(text, encoding="utf-8")
    file = tmp_path / "data" / "studies" / "encoder-cover.toml"
    result = CliRunner().invoke(app, ["rates", "adopt", "2027", str(file), "--who", "engineer", "--json"])
    assert result.exit_code == 0, result.output
    said = json.loads(result.output)
    study = read_study(file)
    assert said["inputs"] == {file.name: fingerprint(study)}
    lapsed = [name for name, quote in study.quotes.items() if quote.valid_to < study.rates.year.valid_from]
    assert lapsed
    assert f"still of {study.as_of}" in said["to look at"][0]
    assert all(name in said["to look at"][0] for name in lapsed)
