"""Several parts and the hours of one machine, by hand: who gets them, what is missing, what the rest would cost."""

from __future__ import annotations

import json
from typing import Any

import pytest
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError
from costmodel.records.fields import Named
from costmodel.records.study import CapacityStep, Study
from costmodel.scarce_hours import hours_for
from costmodel.tables.doubt_tables import awards_table, together_table
from costmodel.tables.table import Table, texts

SATURDAYS = CapacityStep(name="saturdays", title="Saturdays", hours=60.0, per_hour=18.0)
NIGHTS = CapacityStep(name="nights", title="Nights", hours=900.0, per_hour=3.0, per_year=1000.0, once=500.0)
STUDIES = [f"data/studies/{name}.toml" for name in ("saddle-clamp", "worm-shaft", "encoder-cover")]


def part(plain: Study, name: str, minutes: float, price: float, **demand: float) -> Study:
    """4,000 parts a year over 12 months at no interest: bought at a price, or made of a blank of 15."""
    changes: dict[str, Any] = {
        "name": name,
        "part.name": name,
        "quotes.supplier.part": name,
        "quotes.supplier.tiers.1.price": price,
        "rates.materials.bar.price": 15.0,
        "part.routes.route.steps.mill.programme": minutes,
        "capacity.mill.free_hours": 600.0,
        **{f"demand.{key}": value for key, value in demand.items()},
    }
    return plain.with_inputs(changes)


@pytest.fixture
def parts(plain: Study) -> list[Study]:
    """By hand: 400 h a year and 1.2 times that in the busiest month, 480; 200 h, grown by a tenth, 220; 66.7 h.

    They save 4,000 parts times 9, 6 and -1: 36,000, about 24,000 and nothing.
    """
    return [
        part(plain, "body", 6.0, 24.0, peak=1.2),
        part(plain, "cover", 3.0, 21.0, growth=0.1),
        part(plain, "pin", 1.0, 14.0),
    ]


def with_steps(studies: list[Study]) -> list[Study]:
    steps = Named({step.name: step for step in (SATURDAYS, NIGHTS)})
    return [studies[0].with_inputs({"capacity.mill.steps": steps}), *studies[1:]]


def test_peak_and_growth_of_every_part_count(parts: list[Study]) -> None:
    """480 + 220 h for the two that save, 600 free: 100 h missing, while 400 + 200 would just have fitted."""
    found = hours_for(parts, "mill")
    assert {claim.part: claim.hours for claim in found.claims} == pytest.approx(
        {"body": 480.0, "cover": 220.0, "pin": 4000.0 / 60.0}
    )
    assert found.together.needed == pytest.approx(600.0)
    assert found.together.short == pytest.approx(100.0)
    assert found.together.uncovered == pytest.approx(100.0)


def test_steps_are_priced_for_what_all_of_them_miss(parts: list[Study]) -> None:
    """100 h: Saturdays bring 60 at most, and nights with them cost more than nights alone, 1,000 + 100 x 3."""
    found = hours_for(with_steps(parts), "mill")
    assert [(step.name, step.hours, step.per_year, step.once) for step in found.together.steps] == [
        ("nights", pytest.approx(100.0), pytest.approx(1300.0), 500.0)
    ]
    table = together_table(parts[0], found)
    assert table.column("missing")[0] == pytest.approx(100.0)
    assert table.column("steps cost a year")[0] == pytest.approx(1300.0)
    assert table.column("steps cost once")[0] == pytest.approx(500.0)


def test_what_the_parts_left_without_hours_would_save(parts: list[Study]) -> None:
    """Whole: the cover alone saves 24,000 in 220 h and the body 36,000 in 480: the body, and the cover is left out."""
    found = hours_for(parts, "mill")
    assert {award.claim.part: award.share for award in found.awards} == {"cover": 0.0, "body": 1.0}
    cover = next(claim for claim in found.claims if claim.part == "cover")
    assert cover.saving == pytest.approx(4000.0 * 6.0, rel=0.06)
    left = together_table(parts[0], found).column("saved by those left without")[0]
    assert left == pytest.approx(cover.saving)


def test_shares_fill_the_hours_to_the_last(parts: list[Study]) -> None:
    """The cover first, 109 an hour; the body has 380 of its 480 h."""
    found = hours_for(parts, "mill", whole=False)
    assert {award.claim.part: award.share for award in found.awards} == pytest.approx(
        {"cover": 1.0, "body": 380.0 / 480.0}
    )


def test_hours_without_steps_cost_nobody_knows_what(parts: list[Study]) -> None:
    table = together_table(parts[0], hours_for(parts, "mill"))
    assert table.column("steps cost a year") == ("unknown",)


def test_why_a_part_gets_none_is_said(parts: list[Study], demo: dict[str, Study]) -> None:
    table = awards_table(parts[0], hours_for(parts, "mill"))
    assert table.column("part") == ("cover", "body")
    assert any("Making saves nothing: pin." in note for note in table.notes)
    clamp = demo["saddle-clamp"]
    lathe = awards_table(clamp, hours_for(demo.values(), "lathe"))
    assert lathe.column("part") == ("none",)
    assert any("Need none of these hours: encoder-cover, saddle-clamp." in note for note in lathe.notes)


def test_hours_show_why_a_part_does_not_fit(parts: list[Study]) -> None:
    """119.6 h fit beside 480 and 120.4 do not: a whole number of hours would show 120 for both."""
    nearly = part(parts[0], "cover", 1.806, 21.0, peak=1.0)
    table = awards_table(parts[0], hours_for([parts[0], nearly], "mill"))
    assert shown(table, "hours at its busiest") == {"cover": "120.4", "body": "480.0"}
    assert shown(table, "gets of its hours") == {"cover": "0", "body": "100.0"}
    some = awards_table(parts[0], hours_for([parts[0], nearly], "mill", whole=False))
    assert shown(some, "gets") == {"cover": "120.4", "body": "479.6"}
    assert shown(some, "gets of its hours") == {"cover": "100.0", "body": "99.9"}


def shown(table: Table, column: str) -> dict[str, str]:
    """The cells of a column as a reader sees them, by the first one of their row."""
    at = [it.name for it in table.columns].index(column)
    return {row[0]: row[at] for row in texts(table)}


def test_a_study_named_twice_claims_once(parts: list[Study]) -> None:
    changed = parts[0].with_inputs({"demand.peak": 1.0})
    found = hours_for([changed, *parts], "mill")
    assert [claim.hours for claim in found.claims] == pytest.approx([400.0, 220.0, 4000.0 / 60.0])


def test_studies_that_state_other_hours_are_named(parts: list[Study]) -> None:
    other = parts[1].with_inputs({"capacity.mill.free_hours": 300.0})
    found = hours_for([parts[0], other], "mill")
    assert found.together.free == 600.0
    assert found.others == {"cover": 300.0}
    assert any("cover states 300.0 h" in note for note in awards_table(parts[0], found).notes)


def test_fewer_hours_can_be_tried(parts: list[Study]) -> None:
    found = hours_for(parts, "mill", free=500.0)
    assert found.together.short == pytest.approx(200.0)


def test_a_machine_without_free_hours_is_refused(parts: list[Study]) -> None:
    with pytest.raises(InputError, match="free hours of saw"):
        hours_for(parts, "saw")


def test_the_command_shows_all_parts_together() -> None:
    told = CliRunner().invoke(app, ["hours", *STUDIES, "--machine", "mill-3x", "--json"])
    assert told.exit_code == 0, told.output
    tables = json.loads(told.stdout)["tables"]
    assert set(tables) == {"hours", "together", "beyond"}
    needed = sum(row[2] for row in tables["hours"]["rows"])
    heads = [column["name"] for column in tables["together"]["columns"]]
    together = dict(zip(heads, tables["together"]["rows"][0], strict=True))
    assert together["needed at the busiest"] == pytest.approx(needed)
    assert together["missing"] == pytest.approx(needed - together["free"])
    assert together["missing"] > 0.0
