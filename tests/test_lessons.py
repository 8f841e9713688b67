"""What a year teaches: what was counted is taken, one figure stays a guess, a status follows its own figure."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from costmodel.decision import decide
from costmodel.measured import with_measured
from costmodel.records.rate_sheet import Change
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
