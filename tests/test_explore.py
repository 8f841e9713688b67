"""Sliders move inputs of the model itself; a notebook without a kernel shows the study as it stands."""

from __future__ import annotations

import re

import pytest

from costmodel.charts.style import quick_png
from costmodel.decision import decide
from costmodel.explore import Explorer, explore, handles, moved
from costmodel.records.address import value_at
from costmodel.records.study import Study
from costmodel.tables.words import recommendation

DRAWS = 64
PNG = b"\x89PNG"


@pytest.fixture(params=["encoder-cover", "saddle-clamp", "worm-shaft"])
def study(request: pytest.FixtureRequest, demo: dict[str, Study]) -> Study:
    return demo[request.param]


def test_volume_duty_cycle_time_and_yield_have_sliders_that_start_where_the_study_stands(
    study: Study,
) -> None:
    found = handles(study)
    assert [re.sub(r".*\.", "", it.address) for it in found] == [
        "per_year",
        "rate",
        "time_factor",
        "step_yield",
    ]
    for it in found:
        assert it.base == value_at(study, it.address)
        assert it.low <= it.base <= it.high


def test_any_input_can_be_named(demo: dict[str, Study]) -> None:
    (found,) = handles(demo["saddle-clamp"], ["demand.growth"])
    assert found.label == "growth of demand"
    assert found.low < found.base < found.high


def test_what_a_slider_shows_is_what_deciding_gives(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    factor = handles(study)[2].address
    shown = moved(study, {factor: 2.0}, draws=DRAWS)
    by_hand = decide(study.settled({factor: 2.0}), draws=DRAWS)
    assert shown.words[0] == recommendation(by_hand)
    assert shown.words[0] != moved(study, {}, draws=DRAWS).words[0], "twice the cycle time changes the answer"
    assert "64 draws" in shown.words[2]
    assert shown.picture.startswith(PNG)


def test_moving_a_slider_redraws_words_and_chart(demo: dict[str, Study]) -> None:
    box = explore(demo["encoder-cover"], draws=DRAWS).widget()
    *sliders, view = box.children
    before = view.value
    sliders[2].value = sliders[2].max
    assert view.value != before
    assert "Buy it" in view.value
    assert 'alt="Line chart' in view.value
    sliders[2].value = 1.0
    assert view.value == before, "back where it stood"


def test_what_the_model_refuses_is_said(demo: dict[str, Study]) -> None:
    explorer = Explorer(demo["saddle-clamp"], draws=DRAWS)
    text = explorer.html({"demand.per_year": -1.0})
    assert "<img" not in text
    assert "per_year" in text


def test_without_a_kernel_there_is_a_picture_with_words(demo: dict[str, Study]) -> None:
    data, metadata = explore(demo["worm-shaft"], draws=DRAWS)._repr_mimebundle_()
    assert data["image/png"].startswith(PNG)
    assert metadata["image/png"]["alt"].startswith("Line chart")
    assert data["text/plain"].startswith("Buy it")
    assert "application/vnd.jupyter.widget-view+json" in data


def test_a_quick_picture_keeps_its_size() -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(3.0, 2.0))
    figure.add_subplot()
    width, height = (int.from_bytes(quick_png(figure, 100.0)[at : at + 4], "big") for at in (16, 20))
    assert (width, height) == (300, 200)
