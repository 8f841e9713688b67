"""What a year teaches: what was counted is taken, one figure stays a guess, a status follows its own figure."""

from __future__ import annotations

import csv
import datetime
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.cli.rate_year import today
from costmodel.decision import decide
from costmodel.measured import belief, propose, with_measured
from costmodel.reading.rate_folder import read_changes
from costmodel.records.rate_sheet import Change
from costmodel.records.shop_log import Log
from costmodel.records.snapshot import Actual, Actuals
from costmodel.records.study import Study
from costmodel.review import freeze, lesson_changes, review


def actuals(**rows: dict[str, object]) -> Actuals:
    listed = {name: Actual.model_validate({"name": name, "source": "x", **row}) for name, row in rows.items()}
    return Actuals.model_validate(
        {
            "title": "a year",
            "since": "2026-07-01",
            "until": "2027-06-30",
            "prepared_by": "engineer",
            "invented": True,
            "actual": listed,
        }
    )


def lessons(study: Study, **row: Any) -> Change:
    plan = freeze(decide(study, draws=64), datetime.date(2026, 6, 15))
    (change,) = lesson_changes(review(plan, actuals(**{"demand.per_year": row})))
    return change


def test_a_figure_without_a_sample_stays_a_guess(demo: dict[str, Study]) -> None:
    change = lessons(demo["saddle-clamp"], value="900 part/yr")
    assert change.status == "guess"
    assert "one figure, no sample" in change.how


def test_what_was_counted_is_taken(demo: dict[str, Study]) -> None:
    change = lessons(demo["saddle-clamp"], value="900 part/yr", counted=True)
    assert (change.value, change.status) == ("900 part/yr", "measured")
    assert change.how.startswith("counted")


def accepted(address: str, value: str, status: str = "measured") -> Change:
    words = {"accept": "yes", "source": "log", "as_of": "2027-06-30", "owner": "shop", "status": status}
    return Change.model_validate({"address": address, "value": value, **words})


@pytest.mark.parametrize(
    ("place", "field", "value", "now"),
    [
        ("part.routes.rotary", "time_factor", "1.1", "guess"),
        ("demand", "per_year", "900 part/yr", "measured"),
        ("part.routes.rotary.once.rotary-fixture", "cost", "18900 USD", "measured"),
        ("part.routes.rotary.once.rotary-fixture", "end_value", "900 USD", "guess"),
        ("rates.machines.mill-5x", "practical_hours", "3050 h/yr", "guess"),
        ("rates.processors.anodiser", "price", "2.4 USD/part", "measured"),
        ("quotes.overseas-a", "lead_time", "90 d", "measured"),
    ],
)
def test_a_status_moves_with_its_own_figure(
    demo: dict[str, Study], place: str, field: str, value: str, now: str
) -> None:
    study = demo["saddle-clamp"].with_inputs({f"{place}.status": "guess"})
    after = with_measured(study, [accepted(f"{place}.{field}", value)])
    owner: Any = after
    for word in place.split("."):
        owner = owner[word] if hasattr(owner, "keys") else getattr(owner, word)
    assert owner.status == now


def test_an_accepted_guess_is_written_as_one(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"].with_inputs({"demand.status": "quoted"})
    assert (
        with_measured(study, [accepted("demand.per_year", "900 part/yr", "guess")]).demand.status == "guess"
    )


def test_a_measured_value_is_of_the_last_day_of_its_log(tmp_path: Path) -> None:
    data = Path(__file__).parent.parent / "data"
    undated = tmp_path / "undated.csv"
    undated.write_text(
        "route,step,hands_on [min/load]\nrotary,five-sides,6\nrotary,five-sides,7\n", encoding="utf-8"
    )
    files = [data / "shop_logs" / "energy.csv", data / "shop_logs" / "saddle-clamp-scrap.csv",
             data / "logs" / "saddle-clamp-overseas-a.csv", undated]  # fmt: skip
    out = tmp_path / "changes.csv"
    words = ["measured", str(data / "studies" / "saddle-clamp.toml"), *map(str, files), "--who", "x"]
    assert CliRunner().invoke(app, [*words, "-o", str(out)]).exit_code == 0
    days = {change.address.rpartition(".")[2]: change.as_of for change in read_changes(out)}
    last = {
        file.stem: max(re.findall(r"20\d\d-\d\d-\d\d", file.read_text(encoding="utf-8")))
        for file in files[:2]
    }
    assert days["load_factor"].isoformat() == last["energy"]
    assert days["step_yield"].isoformat() == last["saddle-clamp-scrap"]
    received = [row["received"] for row in csv.DictReader(files[2].read_text(encoding="utf-8").splitlines())]
    assert days["lead_time"].isoformat() == max(received)
    assert days["hands_on"].isoformat() == today()


HANDS = "part.routes.rotary.steps.five-sides.hands_on"


def known(study: Study, *values: float) -> tuple[float, float, float, float]:
    found = propose(study, Log(HANDS, values))
    return found.value, *found.range, float(found.weighed.weight)


def test_few_values_never_count_as_sure(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    value, low, high, weight = known(study, 9.0, 9.1)
    assert 0.5 < weight < 0.9
    assert low < 9.0 < high
    assert high - low > 1.0
    value, low, high, weight = known(study, 7.0, 7.0, 7.0, 7.0)
    assert weight < 0.97
    assert low < value < high
    alike, more = known(study, 5.6, 5.6, 5.6), known(study, *[5.6] * 30)
    assert more[2] - more[1] < alike[2] - alike[1]


def test_a_clash_of_log_and_belief_is_shown_by_the_range(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    believed = belief(study, HANDS)[0]
    value, low, high, _ = known(study, 38.0, 40.0, 42.0)
    assert believed < value < 40.0 < high
    assert 0.0 < low < value / 2.0


def test_a_lesson_is_estimated_as_a_log_is(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    plan = freeze(decide(study, draws=64), datetime.date(2026, 6, 15))
    row: dict[str, object] = {"value": "40 min/load", "n": 3, "spread": "2 min/load"}
    (lesson,) = review(plan, actuals(**{HANDS: row})).lessons
    assert (lesson.likely, lesson.low, lesson.high) == pytest.approx(known(study, 38.0, 40.0, 42.0)[:3])
