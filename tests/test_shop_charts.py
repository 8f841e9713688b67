"""Charts of the shop and between two ways: they hold the numbers of their tables, and say what they show."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from costmodel import charts, show, tables
from costmodel.curves import cost_over_volume, cost_stack, cost_steps
from costmodel.decision import decide
from costmodel.delivery_log import as_offered, way_to_buy
from costmodel.errors import InputError
from costmodel.make_or_buy import compare
from costmodel.once_cost import slow_parts
from costmodel.reading import logged_offer
from costmodel.records.study import Study
from costmodel.scarce_hours import hours_for
from costmodel.shop_curves import ramp_picture, region_picture, span_of

CLAMP = "data/studies/saddle-clamp.toml"


@pytest.fixture
def clamp(demo: dict[str, Study]) -> Study:
    return demo["saddle-clamp"]


# --- a ramp-up -------------------------------------------------------------------------------------------


def test_a_ramp_rises_to_the_routes_own_yield_within_its_band(clamp: Study) -> None:
    data = ramp_picture(clamp, "make-rotary")
    ramp = clamp.part.routes["rotary"].ramp_up
    assert ramp is not None
    assert data.planned[0] == pytest.approx(float(ramp.first_yield))
    assert np.all(np.diff(data.planned) > 0.0)
    assert np.all((data.low <= data.planned) & (data.planned <= data.high))


def test_the_band_of_a_week_is_that_of_the_binomial_law(clamp: Study) -> None:
    """SciPy's distribution function: at most a tenth of weeks lie below the band, and no more above it."""
    data = ramp_picture(clamp, "make-rotary")
    for plan, low, high in zip(data.planned, data.low, data.high, strict=True):
        blanks = max(1, round(40.0 / plan))
        assert binom.cdf(low * blanks - 1, blanks, plan) < 0.1 <= binom.cdf(low * blanks, blanks, plan)
        assert binom.sf(high * blanks, blanks, plan) <= 0.1


def test_slow_hands_add_up_to_what_learning_costs(clamp: Study) -> None:
    data = ramp_picture(clamp, "make-rotary")
    ramp = clamp.part.routes["rotary"].ramp_up
    assert ramp is not None
    beyond = float(ramp.good_per_week) * float(np.sum(data.hands - 1.0))
    assert beyond == pytest.approx(float(slow_parts(ramp)))


def test_a_poor_week_is_named_and_drawn(clamp: Study) -> None:
    data = ramp_picture(clamp, "make-rotary", [0.72, 0.55])
    assert charts.finding(data).startswith("Week 2 is below")
    assert "72" in charts.alt_text(data)
    left = charts.ramp_chart(data).axes[0]
    drawn = [line.get_ydata() for line in left.lines]
    assert any(len(heights) == 2 and np.allclose(heights, [72.0, 55.0]) for heights in drawn)
    assert tables.ramp_table(data).column("seen")[:3] == (72.0, pytest.approx(55.0), "not yet")
    assert charts.finding(ramp_picture(clamp, "make-rotary", [0.72])).startswith("On plan after week 1")


def test_a_route_without_a_ramp_says_so(demo: dict[str, Study]) -> None:
    data = ramp_picture(demo["worm-shaft"], "make-lathe")
    assert "plans no ramp-up" in charts.finding(data)
    assert tables.ramp_table(data).rows == ()
    assert charts.ramp_chart(data).axes


# --- from one way to another -----------------------------------------------------------------------------


def test_steps_lead_from_one_way_to_the_other(clamp: Study) -> None:
    stack = cost_stack(compare(clamp))
    data = cost_steps(stack, "regional-c" if "regional-c" in stack.running else "buy-c", "make-rotary")
    assert data.before + sum(data.steps.values()) == pytest.approx(data.after)
    table = tables.cost_steps_table(data)
    assert sum(table.column("cost")[:-1]) == pytest.approx(table.column("cost")[-1])
    assert "less than" in charts.finding(data)
    back = cost_steps(stack, data.target, data.start)
    assert "more than" in charts.finding(back)
    axes = charts.steps_chart(data).axes[0]
    tops = [bar.get_y() + bar.get_height() for bar in axes.patches]
    assert max(tops) == pytest.approx(max(data.before, data.after), abs=0.01)


def test_cash_a_year_is_the_cost_of_a_part_times_the_volume(clamp: Study) -> None:
    data = cost_over_volume(decide(clamp, draws=64))
    lines = charts.total_chart(data).axes[0].lines
    name = data.first
    wanted = data.per_part[name] * data.volumes
    assert any(
        len(line.get_ydata()) > 10 and np.allclose(line.get_ydata(), wanted[: len(line.get_ydata())])
        for line in lines
    )


# --- maps, logs, claims ----------------------------------------------------------------------------------


def test_a_map_over_a_share_reads_in_percent(clamp: Study) -> None:
    data = region_picture(clamp, "demand.growth", points=6)
    low, high = span_of(clamp, "demand.growth")
    table = tables.regions_table(data)
    assert [column.unit for column in table.columns] == ["part/yr", "%", "%", ""]
    assert min(table.column("from")) == pytest.approx(100.0 * low)
    assert max(table.column("to")) == pytest.approx(100.0 * high)
    assert charts.regions_chart(data).axes[0].get_xlabel() == "growth of demand [%]"
    assert "fraction" not in charts.alt_text(data)


def test_a_log_is_found_by_its_offer_or_is_the_first_there_is(demo: dict[str, Study]) -> None:
    cover = "data/studies/encoder-cover.toml"
    assert logged_offer(cover, demo["encoder-cover"].quotes) == "regional-c"
    assert logged_offer(CLAMP, demo["saddle-clamp"].quotes, "overseas-b") == "overseas-b"
    with pytest.raises(InputError, match="nobody"):
        logged_offer(CLAMP, demo["saddle-clamp"].quotes, "nobody")


def test_the_way_that_buys_an_offer(clamp: Study) -> None:
    today = next(name for name, way in clamp.alternatives.items() if way.current)
    assert way_to_buy(clamp, clamp.alternatives[today].buy) == today
    other = way_to_buy(clamp, "regional-c")
    assert clamp.alternatives[other].buy == "regional-c"
    assert way_to_buy(clamp, "regional-c", "named") == "named"
    assert as_offered(clamp, "regional-c")[0] == clamp.quotes["regional-c"].lead_time


def test_a_study_named_twice_claims_once(demo: dict[str, Study]) -> None:
    scarce = hours_for([demo["worm-shaft"], *demo.values()], "mill-3x")
    assert [claim.part for claim in scarce.claims] == ["worm-shaft", "encoder-cover", "saddle-clamp"]


def test_a_folded_table_keeps_all_rows_behind_its_title(clamp: Study) -> None:
    table = tables.alternatives_table(compare(clamp))
    data, _ = show.table(table, folded=True)._repr_mimebundle_()
    assert data["text/html"].startswith("<details><summary>Alternatives side by side: 6 rows</summary>")
    assert data["text/html"].count("<tr") == 7
    assert data["text/csv"] == show.table(table)._repr_mimebundle_()[0]["text/csv"]
