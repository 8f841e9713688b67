"""A year after: the plan stays as decided, the gap adds up by cause, the saving and the way back are told."""

from __future__ import annotations

import datetime
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from scipy.optimize import brentq
from typer.testing import CliRunner

from costmodel.charts import alt_text, review_chart
from costmodel.cli import app
from costmodel.decision import decide
from costmodel.errors import InputError
from costmodel.make_or_buy import alternative_cost
from costmodel.page import draw, page_html
from costmodel.payback import payback
from costmodel.rate_compare import running
from costmodel.reading import read_study, reviews
from costmodel.reading.rate_folder import read_changes
from costmodel.reading.reviews import read_actuals, read_snapshot
from costmodel.records.snapshot import Actuals, Signature, Snapshot
from costmodel.records.study import Study, fingerprint, fingerprint_of
from costmodel.review import (
    freeze,
    gap_cause,
    kept,
    payback_day,
    plan_or_now,
    planned,
    review,
    sign_off,
    signed,
)
from costmodel.review_curves import review_cash
from costmodel.tables.review_tables import review_cash_table, review_tables, words
from costmodel.tables.rounding import money

DATA = Path(__file__).parent.parent / "data"
DAY = datetime.date(2026, 6, 15)
STUDY = DATA / "studies" / "saddle-clamp.toml"
ACTUALS = DATA / "reviews" / "saddle-clamp-2027.toml"


def snapshot_of(study: Study, chosen: str, baseline: str) -> Snapshot:
    return Snapshot(
        study=study,
        fingerprint=fingerprint(study),
        library="",
        decided_on=DAY,
        answer="make",
        chosen=chosen,
        baseline=baseline,
        planned=planned(study, chosen, baseline),
    )


def actuals_of(values: dict[str, str], **more: Any) -> Actuals:
    rows = {address: {"name": address, "value": value, "source": "test"} for address, value in values.items()}
    return Actuals.model_validate(
        {
            "title": "t",
            "since": datetime.date(2026, 6, 15),
            "until": datetime.date(2027, 6, 15),
            "prepared_by": "t",
            "invented": True,
            "actual": rows,
            **more,
        }
    )


FIT = "part.routes.route.steps.fit.hands_on"
WAGE = "rates.labour.fitter.wage"
LOSS = "part.routes.route.steps.mill.step_yield"
FINISH = "rates.processors.finisher.price"


@pytest.fixture(scope="module")
def example(plain: Study) -> tuple[Study, dict[str, float]]:
    """A plan of 24.10 a part and four changes that add 0.40, 0.65, 0.30 and 0.15 one after the other.

    The acceptance example states the figures; which wage, minutes, yield and price give them is solved here.
    """
    base = plain.with_inputs(
        {
            WAGE: 30.0,
            FIT: 20.0,
            FINISH: 1.5,
            LOSS: 0.97,
            "quotes.supplier.tiers.1.price": 31.80,
            "rates.materials.bar.price": 5.0,
        }
    )
    cost = running("make")

    def solved(study: Study, address: str, target: float, low: float, high: float) -> float:
        return float(brentq(lambda x: cost(study.with_inputs({address: x})) - target, low, high, xtol=1e-13))

    base = base.with_inputs(
        {"rates.materials.bar.price": solved(base, "rates.materials.bar.price", 24.10, 0.1, 40.0)}
    )
    moved, steps, target = base, {}, 24.10
    for address, adds, low, high in (
        (WAGE, 0.40, 30.0, 60.0),
        (FIT, 0.65, 20.0, 60.0),
        (LOSS, 0.30, 0.5, 0.97),
        (FINISH, 0.15, 1.5, 5.0),
    ):
        target += adds
        steps[address] = solved(moved, address, target, low, high)
        moved = moved.with_inputs({address: steps[address]})
    return base, steps


def test_the_gap_by_cause_and_the_saving(example: tuple[Study, dict[str, float]]) -> None:
    # acceptance: 24.10 -> 25.60 by rate .40, cycle .65, scrap .30, finish .15; 22,320 on 3,600 against 30,800 on 4,000
    base, steps = example
    texts = {
        WAGE: f"{steps[WAGE]!r} USD/h",
        FIT: f"{steps[FIT]!r} min/part",
        LOSS: f"{steps[LOSS]!r}",
        FINISH: f"{steps[FINISH]!r} USD/part",
        "demand.per_year": "3600 part/yr",
    }
    found = review(snapshot_of(base, "make", "buy"), actuals_of(texts))
    assert (found.gap.before, found.gap.after) == pytest.approx((24.10, 25.60))
    expected = {"rate": 0.40, "cycle": 0.65, "scrap": 0.30, "finish": 0.15, "volume": 0.0}
    assert dict(found.gap.parts) == pytest.approx(expected, abs=1e-9)
    assert list(found.gap.parts) == list(expected)
    assert found.saving.before == pytest.approx(30_800.0)
    assert found.saving.after == pytest.approx(22_320.0)
    assert sum(found.saving.parts.values()) == pytest.approx(22_320.0 - 30_800.0)
    assert "72% was realised" in words(found)[0]


@pytest.mark.parametrize("method", ["sequential", "one at a time", "shapley"])
def test_the_gap_adds_up_whatever_the_method(example: tuple[Study, dict[str, float]], method: Any) -> None:
    base, steps = example
    texts = {WAGE: f"{steps[WAGE]!r} USD/h", LOSS: f"{steps[LOSS]!r}"}
    found = review(snapshot_of(base, "make", "buy"), actuals_of(texts), method=method)
    assert sum(found.gap.parts.values()) == pytest.approx(found.gap.change, abs=1e-12)


def test_what_went_to_plan_leaves_no_gap(example: tuple[Study, dict[str, float]]) -> None:
    base, _ = example
    found = review(snapshot_of(base, "make", "buy"), actuals_of({WAGE: "30 USD/h"}))
    assert found.gap.change == 0.0
    assert found.share == 1.0
    assert found.lessons[0].ratio == 1.0


def test_payback_reached_or_its_new_day(example: tuple[Study, dict[str, float]]) -> None:
    base, _ = example
    fixture = {
        "name": "fixture", "kind": "fixture", "cost": 15_400.0, "end_value": 0.0,
    }  # fmt: skip
    once = type(base.part.routes["route"]).model_fields["once"]
    assert once is not None
    route = type(base.part.routes["route"])(
        **{**base.part.routes["route"].__dict__, "once": {"fixture": fixture}}
    )
    study = base.with_inputs({"part.routes.route": route})
    plan = snapshot_of(study, "make", "buy")
    assert plan.planned.payback_months == pytest.approx(6.0)  # 15,400 / 30,800 a year
    reached = review(plan, actuals_of({WAGE: "30 USD/h"}))
    assert reached.reached
    assert reached.payback_day == payback_day(DAY, 6.0) == datetime.date(2026, 12, 14)
    late = review(
        plan, actuals_of({"quotes.supplier.tiers.1.price": "27.10"})
    )  # saves 3.00 a part, 12,000 a year
    assert late.realised.payback_months == pytest.approx(15_400.0 / 12_000.0 * 12.0)
    assert not late.reached
    assert "not back yet" in words(late)[1]
    never = review(plan, actuals_of({"quotes.supplier.tiers.1.price": "20"}))
    assert never.payback_day is None
    assert "never comes back" in words(never)[1]


def test_it_says_when_buying_again_would_be_better(example: tuple[Study, dict[str, float]]) -> None:
    base, _ = example
    plan = snapshot_of(base.with_inputs({"finance.horizon": 36}), "make", "buy")
    dear = review(plan, actuals_of({"quotes.supplier.tiers.1.price": "22.10"}))
    assert dear.again.months == 24
    assert dear.again.best == "buy"
    # two years ahead, no interest: 2.00 a part on 4,000 parts a year
    assert dear.again.buy_lead == pytest.approx(2.0 * 4000.0 * 2.0, rel=1e-9)
    assert "Buying again would now be better" in words(dear)[2]
    stays = review(plan, actuals_of({WAGE: "30 USD/h"}))
    assert stays.again.best == "make"
    assert "stays the best" in words(stays)[2]


def test_lessons_move_a_belief_by_its_certainty(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    found = review(snapshot_of(study, "make-rotary", "status-quo"), read_actuals(ACTUALS))
    lessons = {lesson.address.rpartition(".")[2]: lesson for lesson in found.lessons}
    hands = lessons["hands_on"]
    assert hands.in_range is False
    assert hands.n == 64
    assert hands.plan < hands.likely < hands.actual
    assert hands.weight > 0.9
    assert lessons["wage"].weight == pytest.approx(0.5)
    assert lessons["per_year"].in_range is True
    assert found.share < 1.0
    for table in review_tables(found).values():
        assert table.invented


@pytest.mark.parametrize(
    "address, cause",
    [
        ("rates.machines.mill.interest", "rate"),
        ("rates.tools.end-mill.price", "tooling"),
        ("rates.processors.anodiser.price", "finish"),
        ("rates.processors.anodiser.process_yield", "scrap"),
        ("part.routes.cuts.steps.mill.hands_on", "cycle"),
        ("part.routes.cuts.once.fixture.cost", "paid once"),
        ("quotes.far-a.rejected_at_receipt", "offer"),
        ("demand.per_year", "volume"),
    ],
)
def test_causes_of_a_gap(small: Study, address: str, cause: str) -> None:
    assert gap_cause(address, small) == cause


def test_a_plan_is_frozen_whole(tmp_path: Path, small: Study) -> None:
    decision = decide(small, draws=512)
    plan = freeze(decision, DAY, library="costmodel 0", marks={"study.toml": "x"})
    file = tmp_path / "small.decided.json"
    file.write_text(json.dumps(plan.model_dump(mode="json")), encoding="utf-8")
    back = read_snapshot(file)
    assert back == plan
    assert fingerprint(back.study) == decision.fingerprint
    for name in small.alternatives:
        assert float(alternative_cost(back.study, name).per_part()) == float(
            alternative_cost(small, name).per_part()
        )
    edited = file.read_text(encoding="utf-8").replace('"per_year": 4000.0', '"per_year": 4100.0', 1)
    file.write_text(edited, encoding="utf-8")
    found = review(read_snapshot(file), actuals_of({"demand.per_year": "4000 part/yr"}))
    assert not found.intact
    assert "somebody edited them" in words(found)[-1]
    file.write_text("{", encoding="utf-8")
    with pytest.raises(InputError, match="valid JSON"):
        read_snapshot(file)


def test_a_signature_stands_on_its_inputs(small: Study) -> None:
    plan = snapshot_of(small, "make-cuts", "status-quo")
    plan = signed(plan, Signature(role="approved", who="finance", day=DAY, fingerprint=fingerprint(small)))
    assert sign_off(plan, small, DAY).valid
    other = small.with_inputs({"demand.per_year": 3000.0})
    state = sign_off(plan, other, DAY)
    assert not state.valid
    assert "inputs have changed since finance approved them" in state.changed[0]
    assert state.changed[1] == "what differs: demand.per_year"
    late = sign_off(plan, small, datetime.date(2027, 7, 1))
    assert late.valid
    assert late.due == f"a review was due by {small.review_date}"
    again = signed(plan, Signature(role="approved", who="manager", day=DAY, fingerprint="x"))
    assert [it.who for it in again.signatures] == ["manager"]


def test_an_actual_that_the_plan_does_not_know_is_named(small: Study) -> None:
    plan = snapshot_of(small, "make-cuts", "status-quo")
    with pytest.raises(InputError, match=r"demand\.per_yaer"):
        review(plan, actuals_of({"demand.per_yaer": "3 part/yr"}))
    with pytest.raises(InputError, match="part/yr"):
        review(plan, actuals_of({"demand.per_year": "3 kg"}))


def test_freeze_sign_and_review_from_the_command_line(tmp_path: Path) -> None:
    run = CliRunner().invoke
    plan = tmp_path / "plan.json"
    first = run(
        app,
        ["freeze", str(STUDY), "--who", "engineer", "--on", "2026-06-15", "--draws", "512", "-o", str(plan)],
    )
    assert first.exit_code == 0, first.output
    assert run(app, ["freeze", str(STUDY), "--who", "x", "--draws", "512", "-o", str(plan)]).exit_code == 2
    assert run(app, ["sign", str(plan), "--role", "approved", "--who", "finance"]).exit_code == 0
    charts, lessons = tmp_path / "charts", tmp_path / "lessons.csv"
    shown = run(
        app,
        [
            *("review", str(plan), str(ACTUALS), "--study", str(STUDY), "--json"),
            *("--charts", str(charts), "--lessons", str(lessons)),
        ],
    )
    assert shown.exit_code == 0, shown.output
    data = json.loads(shown.output)
    assert data["changed files"] == []
    assert {row[1] for row in data["tables"]["signatures"]["rows"]} == {"stands"}
    assert "Invented" in data["notice"]
    assert data["inputs"]["plan"] == read_snapshot(plan).fingerprint
    for name in ("gap", "saving", "cash"):
        stem = charts / f"saddle-clamp-{name}"
        assert stem.with_suffix(".svg").read_text(encoding="utf-8").startswith("<svg")
        assert "Invented" in stem.with_suffix(".csv").read_text(encoding="utf-8")
    proposed = {change.address: change for change in read_changes(lessons)}
    assert all(change.accept == "" for change in proposed.values())
    assert proposed["part.routes.rotary.steps.five-sides.hands_on"].was == "5.6 min/load"
    assert read_study(STUDY) == read_snapshot(plan).study


def test_a_page_whose_inputs_changed_since_says_so(small: Study) -> None:
    plan = snapshot_of(small, "make-cuts", "status-quo")
    plan = signed(plan, Signature(role="approved", who="finance", day=DAY, fingerprint=fingerprint(small)))
    decision = decide(small, draws=512)
    pictures = draw(decision)
    stands = page_html(decision, pictures, signed=sign_off(plan, small, DAY))
    assert f"approved by finance on 2026-06-15, inputs {fingerprint(small)}" in stands
    assert "No longer as signed" not in stands
    moved = small.with_inputs({"rates.labour.operator.wage": 29.0})
    later = page_html(decision, pictures, signed=sign_off(plan, moved, DAY))
    assert "No longer as signed" in later
    assert "rates.labour.operator.wage" in later


# --- plans of older and newer forms --------------------------------------------------------------------


def kept_by(file: Path, decision_of: Study, **changed: Any) -> dict[str, Any]:
    """A plan as a file keeps it, some of its own fields changed."""
    plan = freeze(decide(decision_of, draws=512), DAY, library="costmodel 0.1.0")
    raw: dict[str, Any] = {**plan.model_dump(mode="json"), "mark": plan.fingerprint, **changed}
    file.write_text(json.dumps(raw), encoding="utf-8")
    return raw


def test_a_plan_of_an_older_form_gets_the_field_it_lacks(
    tmp_path: Path, small: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A later version knows a required field more: the plan reads, and nobody is said to have edited it."""
    file = tmp_path / "plan.json"
    raw = kept_by(file, small)
    for machine in raw["study"]["rates"]["machines"].values():
        del machine["budgeted_hours"]
    del raw["study"]["finance"]["holding"]
    raw |= {"format": 0, "fingerprint": fingerprint_of(raw["study"]), "mark": ""}
    signature = {"role": "approved", "who": "finance", "day": "2026-06-15", "fingerprint": raw["fingerprint"]}
    file.write_text(json.dumps({**raw, "signatures": [signature]}), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_snapshot(file)
    said = str(refused.value)
    assert "study.finance.holding" in said
    assert "kept by costmodel 0.1.0" in said
    assert "read it with that version" in said
    added = {
        ("study", "finance", "holding"): small.finance.holding,
        ("study", "rates", "machines", "*", "budgeted_hours"): 1000.0,
    }
    monkeypatch.setitem(reviews.SINCE_FORMAT, 1, added)
    plan = read_snapshot(file)
    assert not plan.edited
    assert plan.format == 1
    assert {machine.budgeted_hours for machine in plan.study.rates.machines.values()} == {1000.0}
    assert sign_off(plan, plan.study, DAY).valid
    assert not sign_off(plan, plan.study.with_inputs({"demand.per_year": 1.0}), DAY).valid


def test_a_plan_of_a_newer_form_is_refused_in_words(tmp_path: Path, small: Study) -> None:
    file = tmp_path / "plan.json"
    kept_by(file, small, format=99, library="costmodel 9.0")
    with pytest.raises(InputError, match=r"kept by costmodel 9\.0: read it with that version or a newer one"):
        read_snapshot(file)


def test_a_plan_that_somebody_edited_is_not_signed(tmp_path: Path, small: Study) -> None:
    file = tmp_path / "plan.json"
    raw = kept_by(file, small)
    raw["study"]["demand"]["per_year"] = 4100.0
    file.write_text(json.dumps(raw), encoding="utf-8")
    result = CliRunner().invoke(app, ["sign", str(file), "--role", "approved", "--who", "finance"])
    assert result.exit_code == 2
    assert "inputs as they were frozen" in " ".join(result.output.split())


# --- staying as it was, and history --------------------------------------------------------------------


def test_a_decision_to_stay_has_nothing_to_pay_back(demo: dict[str, Study]) -> None:
    study = demo["worm-shaft"]
    plan = plan_or_now(None, study)
    assert plan.chosen == plan.baseline == "status-quo"
    found = review(plan, actuals_of({"demand.per_year": "3000 part/yr"}))
    said = words(found)
    assert "It was decided to stay" in said[0]
    assert not any("%" in line or "never" in line for line in said)
    assert "buying again" not in " ".join(said)
    cash = review_cash(found)
    assert set(cash.promised) == {0.0}
    assert "none has to come back" in alt_text(cash)
    review_chart(cash)


def test_the_cash_of_a_review_ends_where_the_payback_says(example: tuple[Study, dict[str, float]]) -> None:
    base, _ = example
    found = review(snapshot_of(base, "make", "buy"), actuals_of({"demand.per_year": "3600 part/yr"}))
    cash = review_cash(found)
    # no interest, nothing paid once: 5 years of 30,800, and of 7.70 on 3,600 parts
    assert cash.promised[-1] == pytest.approx(30_800.0 * base.finance.horizon / 12.0)
    assert cash.realised[-1] == pytest.approx(7.70 * 3600.0 * base.finance.horizon / 12.0)
    rows = review_cash_table(cash).rows
    assert len(rows) == base.finance.horizon + 1
    assert [row[4] for row in rows].count("reviewed") == int(found.months) + 1


@pytest.mark.parametrize("path", sorted((DATA / "decisions").glob("*.json")), ids=lambda path: path.stem)
def test_a_kept_decision_gives_its_figures_to_the_cent(path: Path) -> None:
    """A change of figures that is meant is frozen anew, with its reason in the change notes."""
    plan = read_snapshot(path)
    assert not plan.edited
    assert {it.role for it in plan.signatures} == {"prepared", "checked", "approved"}
    assert kept(plan).holds


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A copy of the demonstration data."""
    return Path(shutil.copytree(DATA, tmp_path / "data"))


def test_history_holds_and_names_what_changed(shop: Path) -> None:
    run = CliRunner().invoke
    folder = str(shop / "decisions")
    (shop / "decisions" / "saddle-clamp.json").unlink()
    study = str(shop / "studies" / "saddle-clamp.toml")
    assert run(app, ["freeze", study, "--who", "x", "--draws", "512"]).exit_code == 0
    held = run(app, ["history", folder, "--json"])
    assert held.exit_code == 0, held.output
    assert "the same to the cent" in held.output
    wages = shop / "rates" / "2026" / "labour.csv"
    wages.write_text(wages.read_text(encoding="utf-8").replace("27.40", "27.41", 1), encoding="utf-8")
    changed = run(app, ["history", folder])
    assert changed.exit_code == 2
    said = " ".join(changed.output.split())
    assert "../rates/2026/labour.csv: rates 2026" in said
    assert "the same to the cent" in said
    plan = shop / "decisions" / "saddle-clamp.json"
    raw = json.loads(plan.read_text(encoding="utf-8"))
    raw["planned"]["per_part"] += 0.01
    plan.write_text(json.dumps(raw), encoding="utf-8")
    other = run(app, ["history", folder])
    assert other.exit_code == 2
    assert "DIFFER" in other.output


def test_a_decided_study_keeps_its_day(shop: Path) -> None:
    run = CliRunner().invoke
    study = str(shop / "studies" / "saddle-clamp.toml")
    (shop / "decisions" / "saddle-clamp.json").unlink()
    wrong = run(app, ["freeze", study, "--who", "x", "--on", "2026-07-01", "--draws", "512"])
    assert wrong.exit_code == 2
    assert "2026-06-15, as saddle-clamp.toml has it" in " ".join(wrong.output.split())
    assert run(app, ["freeze", study, "--who", "x", "--draws", "512"]).exit_code == 0
    plan = read_snapshot(shop / "decisions" / "saddle-clamp.json")
    assert plan.decided_on == datetime.date(2026, 6, 15)
    undecided = plan.study.with_inputs({"decided_on": None})
    assert fingerprint(undecided) == fingerprint(plan.study) == plan.fingerprint


def test_cash_promised_and_realised_come_first(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    plan = snapshot_of(study, "make-rotary", "status-quo")
    found = review(plan, read_actuals(ACTUALS))
    promised = payback(study, "status-quo", "make-rotary")
    assert found.promised_cash == pytest.approx(float(promised.cash_saving))
    table = review_tables(found)["promised"]
    assert table.rows[0][:3] == ("saving in cash", "USD/yr", money(float(promised.cash_saving)))
    assert "saving as booked, at full machine rates" in [row[0] for row in table.rows]
    assert words(found)[0].startswith(
        f"In cash, {money(float(promised.cash_saving))} USD a year was promised"
    )


def test_money_paid_stays_paid_where_only_demand_moved(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    plan = snapshot_of(study, "make-rotary", "status-quo")
    found = review(plan, actuals_of({"demand.per_year": "900 part/yr"}))
    assert found.realised.once == pytest.approx(plan.planned.once)
    assert found.realised.payback_months == pytest.approx(plan.planned.once / found.realised_cash * 12.0)
