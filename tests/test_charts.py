"""Charts draw the numbers of their tables, say what they show, and can be read in grey and by those who do not see."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import matplotlib as mpl
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from costmodel import charts, curves, tables
from costmodel.cautions import INVENTED
from costmodel.charts import style
from costmodel.charts.amounts import FILLS, ONCE_FILL
from costmodel.crossings import Crossing, break_even_volumes, levelled_cash
from costmodel.decision import Decision, decide
from costmodel.records.study import Study
from costmodel.tables.table import Table

DEMO = ("encoder-cover", "saddle-clamp", "worm-shaft")

DRAW: dict[str, Callable[..., Figure]] = {
    "volume": charts.crossover_chart,
    "stack": charts.stack_chart,
    "cash": charts.cash_chart,
    "swings": charts.swings_chart,
    "advantage": charts.advantage_chart,
}
TABLE: dict[str, Callable[[Any], Table]] = {
    "volume": tables.volume_table,
    "stack": tables.stack_table,
    "cash": tables.cash_table,
    "swings": tables.swings_table,
    "advantage": tables.advantage_table,
}


@pytest.fixture(scope="session")
def decisions(demo: dict[str, Study]) -> dict[str, Decision]:
    return {name: decide(study, draws=256) for name, study in demo.items()}


@pytest.fixture(scope="session")
def data(decisions: dict[str, Decision]) -> dict[tuple[str, str], Any]:
    """What each chart of each demo study draws."""
    found: dict[tuple[str, str], Any] = {}
    for name, decision in decisions.items():
        change = curves.recommended_change(decision)
        found[name, "volume"] = curves.cost_over_volume(decision)
        found[name, "stack"] = curves.cost_stack(decision.comparison)
        found[name, "cash"] = curves.cash_over_months(decision.study, change)
        found[name, "swings"] = curves.ranked_swings(decision)
        found[name, "advantage"] = curves.advantage_curve(decision.study, decision.outcome)
    return found


every_chart = pytest.mark.parametrize(
    ("study", "chart"), [(study, chart) for study in DEMO for chart in DRAW]
)


def words_of(figure: Figure) -> str:
    """All text in a figure, without line breaks."""
    return " ".join(" ".join(text.get_text().split()) for text in figure.findobj(mpl.text.Text))


def line_with(figure: Figure, values: Any) -> bool:
    """Whether a line of the figure runs through these heights."""
    wanted = np.asarray(values, dtype=np.float64)
    return any(
        np.array_equal(np.asarray(line.get_ydata(), dtype=np.float64), wanted)
        for line in figure.axes[0].get_lines()
    )


# --- every chart -------------------------------------------------------------------------------------


@every_chart
def test_the_title_states_the_finding(study: str, chart: str, data: dict[tuple[str, str], Any]) -> None:
    figure = DRAW[chart](data[study, chart])
    assert " ".join(figure.get_suptitle().split()) == charts.finding(data[study, chart]).replace("\xa0", " ")


@every_chart
def test_every_axis_has_its_unit(study: str, chart: str, data: dict[tuple[str, str], Any]) -> None:
    axes = DRAW[chart](data[study, chart]).axes[0]
    names = [label.get_text() for label in axes.get_yticklabels()]
    for label, named in (
        (axes.get_xlabel(), False),
        (axes.get_ylabel(), any(re.search("[a-z]", it) for it in names)),
    ):
        assert named or re.search(r"\[.+\]", label) or label == "month from the decision", label


@every_chart
def test_demo_data_say_so_in_picture_and_words(
    study: str, chart: str, data: dict[tuple[str, str], Any]
) -> None:
    drawn = data[study, chart]
    assert INVENTED in words_of(DRAW[chart](drawn))
    assert INVENTED in charts.alt_text(drawn)
    real = drawn._replace(subject=drawn.subject._replace(invented=False))
    assert INVENTED not in words_of(DRAW[chart](real))
    assert INVENTED not in charts.alt_text(real)


@every_chart
def test_pictures_come_from_nowhere_else_and_are_the_same_twice(
    study: str, chart: str, data: dict[tuple[str, str], Any]
) -> None:
    first, second = (charts.svg(DRAW[chart](data[study, chart])) for _ in range(2))
    assert first == second
    assert first.startswith("<svg")
    named = re.sub(r'xmlns(:xlink)?="http://www\.w3\.org/[^"]+"', "", first)
    assert "http" not in named
    assert "<script" not in named
    assert "<text" in first, "text can be read out and searched"


@every_chart
def test_the_words_hold_the_finding_and_the_figures(
    study: str, chart: str, data: dict[tuple[str, str], Any]
) -> None:
    text = charts.alt_text(data[study, chart])
    assert charts.finding(data[study, chart]) in text
    assert re.search(r"\d", text)
    assert re.match(r"[A-Z].*\.$", text, re.DOTALL)


def test_drawing_leaves_no_settings_behind(data: dict[tuple[str, str], Any]) -> None:
    before = dict(mpl.rcParams)
    charts.svg(charts.stack_chart(data["saddle-clamp", "stack"]))
    assert dict(mpl.rcParams) == before


def test_a_png_can_be_had_too(data: dict[tuple[str, str], Any]) -> None:
    assert charts.png(charts.cash_chart(data["saddle-clamp", "cash"])).startswith(b"\x89PNG")


def test_no_chart_needs_a_window() -> None:
    code = (
        "import sys; import costmodel.charts.lines, costmodel.charts.amounts; from costmodel import charts;"
        "from costmodel.charts.style import new_figure; from costmodel.curves import Subject;"
        "charts.svg(new_figure((2, 2), 'x', Subject('s', 'USD', True, {}, {}))[0]);"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


# --- the same numbers as the table behind each -------------------------------------------------------


@pytest.mark.parametrize("study", DEMO)
def test_cost_over_volume_is_the_model_at_each_volume(
    study: str, data: dict[tuple[str, str], Any], decisions: dict[str, Decision]
) -> None:
    drawn = data[study, "volume"]
    table, figure = tables.volume_table(drawn), charts.crossover_chart(drawn)
    for name in drawn.per_part:
        assert line_with(figure, table.column(drawn.subject.titles[name]))
    for at in (0, 40, len(drawn.volumes) - 1):
        volume = float(drawn.volumes[at])
        alone = decisions[study].study.with_inputs({"demand.per_year": volume})
        for name, values in drawn.per_part.items():
            assert values[at] == pytest.approx(float(levelled_cash(alone, name)) / volume, rel=1e-9)


@pytest.mark.parametrize("study", DEMO)
def test_the_cheapest_of_all_agrees_with_every_crossing_of_two(
    study: str, data: dict[tuple[str, str], Any], decisions: dict[str, Decision]
) -> None:
    drawn, decision = data[study, "volume"], decisions[study]
    for before, after in pairwise(drawn.cheapest):
        pair = break_even_volumes(
            decision.study, before.name, after.name, max(1, after.volume - 5), after.volume + 5
        )
        assert (after.volume, before.name, after.name) in [
            (it.volume, it.lower_below, it.lower_from_here) for it in pair
        ]
    table = tables.cheapest_table(drawn)
    assert table.column("from")[0] == decision.crossing_range[0]
    assert table.column("to")[-1] == decision.crossing_range[1]


@pytest.mark.parametrize("study", DEMO)
def test_crossings_are_marked_where_the_two_lines_meet(study: str, data: dict[tuple[str, str], Any]) -> None:
    drawn = data[study, "volume"]
    figure = charts.crossover_chart(drawn)
    marks = {
        float(line.get_xdata()[0]): float(line.get_ydata()[0])  # type: ignore[arg-type,index]
        for line in figure.axes[0].get_lines()
        if line.get_marker() in ("o", "D", "s")
    }
    for crossing in drawn.crossings:
        at = list(drawn.volumes).index(crossing.volume)
        one, other = drawn.per_part[drawn.first][at], drawn.per_part[drawn.second][at]
        assert marks[crossing.volume] == pytest.approx(one)
        assert one == pytest.approx(other, rel=0.01)
        assert f"{crossing.volume:,}".replace(",", " ") in words_of(figure).replace("\xa0", " ")


def test_a_jump_has_its_own_mark_and_word(data: dict[tuple[str, str], Any]) -> None:
    drawn = data["saddle-clamp", "volume"]
    jump = drawn._replace(crossings=(Crossing(int(drawn.volumes[30]), drawn.second, drawn.first, True),))
    figure = charts.crossover_chart(jump)
    assert "(jump)" in words_of(figure)
    assert "D" in [line.get_marker() for line in figure.axes[0].get_lines()]
    assert "jump" in charts.alt_text(jump)


def test_no_crossing_is_said_so(data: dict[tuple[str, str], Any]) -> None:
    drawn = data["saddle-clamp", "volume"]
    none = drawn._replace(crossings=(), cheapest=drawn.cheapest[:1])
    assert "at every volume" in charts.finding(none)
    assert "no volume" in charts.alt_text(none)


@pytest.mark.parametrize("study", DEMO)
def test_demand_and_its_range_are_drawn(study: str, data: dict[tuple[str, str], Any]) -> None:
    drawn = data[study, "volume"]
    assert drawn.band is not None
    assert drawn.band[0] < drawn.demand < drawn.band[1]
    figure = charts.crossover_chart(drawn)
    spans = [
        patch.get_extents().transformed(figure.axes[0].transData.inverted())
        for patch in figure.axes[0].patches
    ]
    assert any(np.allclose((box.x0, box.x1), drawn.band) for box in spans)
    assert "10 to 90" in words_of(charts.crossover_chart(drawn))
    assert "10 to 90" not in words_of(charts.crossover_chart(drawn._replace(band=None)))


@pytest.mark.parametrize("study", DEMO)
def test_bars_are_stacked_from_the_numbers_of_the_table(study: str, data: dict[tuple[str, str], Any]) -> None:
    drawn = data[study, "stack"]
    table, axes = tables.stack_table(drawn), charts.stack_chart(drawn).axes[0]
    widths = [bar.get_width() for bar in axes.patches]  # type: ignore[attr-defined]
    each = len(drawn.groups) + 1
    for row, cells in enumerate(table.rows):
        wanted = [*cells[1:each], cells[-1]]
        assert widths[row * each : (row + 1) * each] == pytest.approx(wanted)


@pytest.mark.parametrize("study", DEMO)
def test_cash_is_drawn_as_saved_and_marked_where_it_is_back(
    study: str, data: dict[tuple[str, str], Any]
) -> None:
    drawn = data[study, "cash"]
    figure = charts.cash_chart(drawn)
    assert line_with(figure, tables.cash_table(drawn).column("saved so far"))
    if drawn.back_month:
        assert f"back in month {drawn.back_month}" in words_of(figure)
        assert drawn.saved[drawn.back_month - 1] < 0.0 <= drawn.saved[drawn.back_month]
        assert (drawn.saved[drawn.back_month :] >= 0.0).all()
    else:
        assert "does not come back" in charts.finding(drawn)
        assert drawn.saved[-1] < 0.0


@pytest.mark.parametrize(
    ("saved", "month"),
    [
        ([0.0, 1.0, 2.0], 0),
        ([-5.0, -1.0, 0.0, 1.0], 2),
        ([-5.0, 1.0, -1.0, 2.0], 3),
        ([-5.0, 1.0, -1.0], None),
    ],
)
def test_money_is_back_when_it_stays_back(saved: list[float], month: int | None) -> None:
    assert curves._back_month(np.array(saved)) == month


@pytest.mark.parametrize("study", DEMO)
def test_bars_that_turn_the_answer_are_marked_by_hatch_and_word(
    study: str, data: dict[tuple[str, str], Any]
) -> None:
    drawn = data[study, "swings"]
    axes = charts.swings_chart(drawn, most=99).axes[0]
    assert len(axes.patches) == len(drawn.swings)
    for bar, swing in zip(axes.patches, drawn.swings, strict=True):
        assert bar.get_width() == pytest.approx(swing.width)  # type: ignore[attr-defined]
        assert bool(bar.get_hatch()) == swing.flips
    turning = [text.get_text() for text in axes.texts].count("turns")
    assert turning == sum(swing.flips for swing in drawn.swings)
    widths = [swing.width for swing in drawn.swings]
    assert widths == sorted(widths, reverse=True)


def test_inputs_that_move_nothing_stand_apart(data: dict[tuple[str, str], Any]) -> None:
    drawn = data["saddle-clamp", "swings"]
    assert {swing.address for swing in drawn.idle} >= {"rates.machines.mill-5x.practical_hours"}
    assert len(tables.swings_table(drawn).rows) == len(drawn.swings) + len(drawn.idle)


def test_small_swings_left_out_are_counted(data: dict[tuple[str, str], Any]) -> None:
    drawn = data["saddle-clamp", "swings"]
    assert f"and {len(drawn.swings) - 3} smaller ones" in words_of(charts.swings_chart(drawn, most=3))


@pytest.mark.parametrize("study", DEMO)
def test_the_curve_of_the_advantage_is_that_of_the_draws(
    study: str, data: dict[tuple[str, str], Any], decisions: dict[str, Decision]
) -> None:
    drawn, outcome = data[study, "advantage"], decisions[study].outcome
    assert line_with(charts.advantage_chart(drawn), tables.advantage_table(drawn).column("share of draws"))
    below = [float((outcome.sample <= value).mean()) for value in drawn.values]
    assert below == pytest.approx(list(drawn.shares), abs=1.5 / outcome.draws)


# --- read in grey, by eye and without ----------------------------------------------------------------


def luminance(ink: str) -> float:
    """Relative luminance as WCAG 2.1 defines it, https://www.w3.org/TR/WCAG21/#dfn-relative-luminance (from memory)."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in to_rgb(ink)]
    return float(np.dot((0.2126, 0.7152, 0.0722), linear))


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_and_white_is_as_published() -> None:
    assert contrast("black", "white") == pytest.approx(21.0)


@pytest.mark.parametrize("ink", [style.INK, style.MUTED, *style.INKS.values()])
def test_words_stand_out_from_their_ground(ink: str) -> None:
    assert contrast(ink, "white") >= 4.5


def test_kinds_differ_by_dash_and_fills_by_hatch_or_lightness() -> None:
    dashes = [str(dash) for dash in style.LINES.values()]
    assert len(set(dashes)) == len(dashes)
    fills = (*FILLS, ONCE_FILL)
    for (ink, hatch, text), (other, second, _) in pairwise(fills):
        assert hatch != second or contrast(ink, other) >= 1.5
        assert contrast(ink, text) >= 4.5


@given(
    st.lists(
        st.tuples(st.floats(0.0, 1.0), st.floats(0.01, 0.2)),
        min_size=1,
        max_size=12,
    )
)
def test_labels_keep_their_order_and_their_room(given_labels: list[tuple[float, float]]) -> None:
    heights, rooms = zip(*sorted(given_labels), strict=True)
    places = style._apart(list(heights), list(rooms))
    for at in range(1, len(places)):
        assert places[at] - places[at - 1] >= (rooms[at] + rooms[at - 1]) / 2.0 - 1e-9
    if all(
        heights[at] - heights[at - 1] > (rooms[at] + rooms[at - 1]) / 2.0 for at in range(1, len(heights))
    ):
        assert places == pytest.approx(list(heights))


def test_many_alternatives_are_named_only_where_they_matter(data: dict[tuple[str, str], Any]) -> None:
    drawn = data["saddle-clamp", "volume"]
    many = {f"other-{number}": values for number, values in enumerate(drawn.per_part.values())}
    titles = {**drawn.subject.titles, **{name: f"Other way {name}" for name in many}}
    kinds = {**drawn.subject.kinds, **dict.fromkeys(many, "buy")}
    crowded = drawn._replace(
        per_part={**drawn.per_part, **many}, subject=drawn.subject._replace(titles=titles, kinds=kinds)
    )
    text = words_of(charts.crossover_chart(crowded))
    assert "Other way" not in text
    assert "others, without names" in text
    for name in (drawn.first, drawn.second):
        assert drawn.subject.titles[name] in text


def test_what_is_no_chart_has_no_words() -> None:
    for speak in (charts.finding, charts.alt_text):
        with pytest.raises(TypeError):
            speak(3)


def test_titles_carry_the_doubt_and_the_axis_says_what_a_part_counts(
    data: dict[tuple[str, str], Any],
) -> None:
    sure, close = data["saddle-clamp", "volume"], data["encoder-cover", "volume"]
    assert charts.finding(sure).startswith("On base values")
    assert charts.finding(close).startswith("Too close to call; on base values")
    for drawn, months in ((sure, 60), (close, 48)):
        told = " ".join(words_of(charts.crossover_chart(drawn)).split())
        assert f"equal yearly amounts over {months} months, prices grown, once-costs in it" in told


def test_a_meeting_of_make_and_buy_above_a_third_way_is_named(data: dict[tuple[str, str], Any]) -> None:
    assert "329 best make meets" in " ".join(
        words_of(charts.crossover_chart(data["saddle-clamp", "volume"])).split()
    )
    assert "meets" not in words_of(charts.crossover_chart(data["encoder-cover", "volume"]))
