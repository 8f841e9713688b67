"""The answer on top of each notebook holds the figures of the tables below it, and its doubt."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from costmodel import show
from costmodel.cost_lines import is_cash
from costmodel.curves import VolumeCurves, cash_over_months, cost_over_volume, cost_stack, recommended_change
from costmodel.decision import Decision, decide
from costmodel.delivery_log import summary, way_to_buy, with_log
from costmodel.payback import payback
from costmodel.rate_compare import Bridge, StudyEffect, year_effects
from costmodel.reading import logged_offer, read_rates, study_deliveries
from costmodel.records.study import Study
from costmodel.scarce_hours import hours_for
from costmodel.stock_check import check_stock
from costmodel.tables import answers
from costmodel.tables.doubt_tables import awards_table
from costmodel.tables.rounding import chance, money, plain
from costmodel.tables.words import change_words, headline

DATA = Path(__file__).parent.parent / "data"
DEMO = ("encoder-cover", "saddle-clamp", "worm-shaft")


@pytest.fixture(scope="module")
def decisions(demo: dict[str, Study]) -> dict[str, Decision]:
    return {name: decide(study, draws=256) for name, study in demo.items()}


@pytest.fixture(scope="module")
def volume(decisions: dict[str, Decision]) -> dict[str, VolumeCurves]:
    return {name: cost_over_volume(decision) for name, decision in decisions.items()}


@pytest.mark.parametrize("name", DEMO)
def test_the_decision_says_how_sure_it_is_and_what_speaks_against(
    name: str, decisions: dict[str, Decision], volume: dict[str, VolumeCurves]
) -> None:
    decision = decisions[name]
    said = answers.decided(decision, volume[name].cheapest)
    share = decision.outcome.chance
    assert chance(share if decision.outcome.advantage[1] > 0.0 else 1.0 - share) in said[1]
    assert all(reason in said[1] for reason in decision.verdict.reasons)
    assert said[0].startswith(
        {"make": "Make", "buy": "Buy"}.get(decision.verdict.answer, "Too close to call")
    )


@pytest.mark.parametrize("name", DEMO)
def test_every_volume_at_which_the_answer_flips_is_named(
    name: str, decisions: dict[str, Decision], volume: dict[str, VolumeCurves]
) -> None:
    said = answers.flipping(decisions[name], volume[name])
    assert all(plain(found.volume, 0) in said[0] for found in volume[name].crossings)
    assert all(plain(found.volume, 0) in said[1] for found in volume[name].cheapest)
    none = answers.flipping(decisions[name], volume[name]._replace(crossings=()))
    assert none[0].startswith("At none from")


def test_what_it_costs_to_make_is_told_in_cash_and_in_all(decisions: dict[str, Decision]) -> None:
    decision = decisions["saddle-clamp"]
    cost, stack = decision.make, cost_stack(decision.comparison)
    said = " ".join(answers.made(decision.study, cost, stack))
    whole, cash, once = (float(it) for it in (cost.per_part(), cost.per_part(is_cash), cost.once()))
    assert 0.0 < cash < whole
    assert all(money(figure, "USD") in said for figure in (whole, cash, once, stack.once[cost.name]))


def paid_back(study: Study, start: str, target: str) -> tuple[str, ...]:
    change = payback(study, start, target)
    return answers.paid_back(study, change, cash_over_months(study, change))


def test_a_payback_is_told_on_cash_first_or_that_there_is_none(decisions: dict[str, Decision]) -> None:
    decision = decisions["saddle-clamp"]
    today, make = decision.comparison.current.name, decision.make.name
    said = paid_back(decision.study, today, make)
    assert said[0].startswith(f"After {plain(float(decision.payback.cash_months), 1)} months, on cash")
    back = paid_back(decision.study, make, today)
    assert back[0].startswith("Never, on cash")
    assert "more spent" in back[1]
    assert paid_back(decision.study, today, today)[0].startswith("Nothing changes")


def test_a_log_is_set_against_its_offer(demo: dict[str, Study]) -> None:
    path, study = DATA / "studies" / "saddle-clamp.toml", demo["saddle-clamp"]
    offer = logged_offer(path, study.quotes, "")
    log = study_deliveries(path, offer, "")
    found, measured = summary(log), with_log(study, offer, log)
    check = check_stock(measured, way_to_buy(study, offer), found.best, shelves=20, years=2)
    late, bad, best = answers.supplied(study, offer, found, check, measured)
    assert f"{found.statistics.deliveries} deliveries" in late
    assert "the later half" in bad
    assert "still costs least cash" in best
    short = check._replace(simulated=0.5, needed=check.closed_form + 1000.0, error_of_needed=0.0)
    assert (
        f"order at {plain(short.corrected, 0)}" in answers.supplied(study, offer, found, short, measured)[1]
    )
    other = answers.supplied(study, offer, found, check, study.settled({"demand.per_year": "300 part/yr"}))
    assert "costs least cash, not" in other[2]


def test_hours_go_to_named_parts_and_the_rest_is_told(demo: dict[str, Study]) -> None:
    study, each = demo["saddle-clamp"], list(demo.values())
    found = hours_for(each, "mill-3x", free=420.0)
    said = answers.awarded(study, found)
    assert "saddle clamp" in said[0]
    assert any("are not left" in line and "Encoder cover" in line for line in said[1:])
    assert any("worm shaft" in line and line.startswith("Go on buying") for line in said[1:])
    assert answers.awarded(study, hours_for(each, "mill-3x", free=0.0))[0].startswith("None")


def test_two_tables_of_who_gets_hours_have_titles_of_their_own(demo: dict[str, Study]) -> None:
    study, each = demo["saddle-clamp"], list(demo.values())
    tried = [(420.0, True), (150.0, True), (150.0, False)]
    tables = [
        awards_table(study, hours_for(each, "mill-3x", free=free, whole=whole)) for free, whole in tried
    ]
    assert len({table.title for table in tables}) == len(tables)


@pytest.fixture(scope="module")
def effect(demo: dict[str, Study]) -> StudyEffect:
    old, new = (read_rates(DATA / "rates" / year) for year in ("2025", "2026"))
    return year_effects([demo["saddle-clamp"]], old, new, draws=64)[0]


def test_new_rates_are_told_for_a_part_and_for_open_verdicts(effect: StudyEffect) -> None:
    said = answers.repriced(effect, [effect], (2025, 2026))
    bridge = effect.by_cause[effect.after.verdict.alternative]
    assert plain(abs(bridge.change), 2) in said[0]
    assert "No verdict changes" in said[1]
    name = effect.after.verdict.alternative
    same = effect._replace(by_cause={name: _still(bridge)})
    assert "costs the same" in answers.repriced(same, [], (2025, 2026))[0]


def _still(bridge: Bridge) -> Bridge:
    return replace(bridge, after=bridge.before, parts=dict.fromkeys(bridge.parts, 0.0))


def test_an_answer_stands_out_and_its_text_is_escaped() -> None:
    data, _ = show.answer("a < b", "more", "", asked="why?")._repr_mimebundle_()
    assert data["text/plain"] == "why?\na < b\nmore"
    assert '<p class="word"><strong>a &lt; b</strong></p><p>more</p>' in data["text/html"]


def test_the_headline_figures_are_all_shown(decisions: dict[str, Decision]) -> None:
    decision = decisions["encoder-cover"]
    shown, against = headline(decision), change_words(decision, recommended_change(decision))
    data, _ = show.figures(against, shown)._repr_mimebundle_()
    for kind in ("text/plain", "text/html"):
        assert all(figure.value in data[kind] for figure in shown)


def test_what_is_paid_once_at_another_volume_is_named_item_by_item(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    other = study.settled({"demand.per_year": "2000 part/yr"})
    changes = [payback(it, "status-quo", "make-rotary") for it in (study, other)]
    said = answers.once_moved(study, other, changes[0])[0]
    assert all(money(float(change.once)) in said for change in changes)
    assert "quick change pallets" in said
    assert "the same" in answers.once_moved(study, study, changes[0])[0]
