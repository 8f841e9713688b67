"""Tables show what the library computed: sums equal its totals, rounding is honest, nothing becomes a formula."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel import tables
from costmodel.cautions import INVENTED
from costmodel.cost_lines import ALWAYS, CostSheet, Flag, Line, Rhythm, is_cash
from costmodel.crossings import crossings
from costmodel.curves import (
    cash_over_months,
    cost_over_volume,
    cost_stack,
    ranked_swings,
    recommended_change,
)
from costmodel.decision import Decision, decide
from costmodel.formulas import investment, landed
from costmodel.make_or_buy import compare
from costmodel.part_cost import PartCost, part_cost
from costmodel.payback import Payback
from costmodel.records.study import Study
from costmodel.tables import rounding, words
from costmodel.tables.renderings import as_text, fitted, to_text
from costmodel.tables.stamp import stamp, stamp_words
from costmodel.tables.table import Column, Table, make_table, single, texts

DEMO = ("encoder-cover", "saddle-clamp", "worm-shaft")
APART = "\N{NO-BREAK SPACE}"


@pytest.fixture(scope="session")
def decisions(demo: dict[str, Study]) -> dict[str, Decision]:
    return {name: decide(study, draws=256) for name, study in demo.items()}


@pytest.fixture(params=DEMO)
def decision(request: pytest.FixtureRequest, decisions: dict[str, Decision]) -> Decision:
    return decisions[request.param]


def made(study: Study) -> list[PartCost]:
    """The part by each of its routes, at the study's volume."""
    return [
        part_cost(study.part, route, study.rates, lot=200.0, per_year=study.demand.per_year)
        for route in study.part.routes.values()
    ]


def numbers(table: Table, name: str) -> list[float]:
    return [float(cell) for cell in table.column(name) if not isinstance(cell, str)]


# --- rounding: all of it, and nowhere else -----------------------------------------------------------


def test_money_keeps_its_precision_or_its_range() -> None:
    # The same figure with and without a range: three digits are all that 21.3 to 24.9 supports.
    assert rounding.money(23.1047) == "23.10"
    assert rounding.with_range(23.1047, 21.31, 24.93) == "23.1 (21.3 to 24.9)"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (33433.816, f"33{APART}434"),
        (999.994, "999.99"),
        (999.996, f"1{APART}000"),
        (1.0, "1.00"),
        (0.0, "0.00"),
        (0.4118, "0.412"),
        (0.04118, "0.0412"),
        (-12.345, "-12.35"),
        (-0.00001, "0.0000"),
    ],
)
def test_money_is_rounded_by_its_size(value: float, text: str) -> None:
    assert rounding.money(value) == text


def test_money_carries_its_currency_where_asked() -> None:
    assert rounding.money(16.5, "USD") == f"16.50{APART}USD"


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (98476.0, 160212.0, f"98{APART}000 to 160{APART}000"),
        (16.448, 17.657, "16.4 to 17.7"),
        (-6660.0, 9859.0, f"-7{APART}000 to 10{APART}000"),
        (5.0, 5.0, "5.00"),
    ],
)
def test_a_range_is_given_to_a_tenth_of_the_power_of_ten_below_its_width(
    low: float, high: float, text: str
) -> None:
    assert rounding.range_text(low, high) == text


@given(st.floats(1e-3, 1e6), st.floats(1e-3, 1e3), st.floats(0.0, 1.0))
def test_a_rounded_figure_stays_within_a_twentieth_of_its_range(low: float, width: float, at: float) -> None:
    high = low + width
    value = low + at * (high - low)
    shown = float(rounding.with_range(value, low, high).split(" (")[0].replace(APART, ""))
    assert abs(shown - value) <= 0.0501 * (high - low) + 1e-9 * high


@pytest.mark.parametrize(
    ("fraction", "text"), [(0.126, "13 %"), (0.0261, "2.6 %"), (0.0005, "0.05 %"), (0.0, "0 %")]
)
def test_percent(fraction: float, text: str) -> None:
    assert rounding.percent(fraction).replace(APART, " ") == text


@pytest.mark.parametrize(
    ("share", "text"), [(1.0, "more than 99 %"), (0.0, "less than 1 %"), (0.548, "55 %"), (0.99, "99 %")]
)
def test_draws_never_make_a_certainty(share: float, text: str) -> None:
    assert rounding.chance(share).replace(APART, " ") == text


def test_endless_months_are_never() -> None:
    assert rounding.months(np.inf) == "never"
    assert rounding.months(17.87) == "17.9"


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.06, "fraction", "6 %"),
        (0.0712, "fraction", "7.12 %"),
        (1.1978175, "USD", "1.20 USD"),
        (14.0, "d", "14 d"),
        (0.08128, "mm", "0.0813 mm"),
        (3303.04, "part/yr", "3 300 part/yr"),
        (0.0, "", "0"),
    ],
)
def test_an_input_is_given_to_three_digits_with_its_unit(value: float, unit: str, text: str) -> None:
    assert rounding.amount(value, unit).replace(APART, " ") == text


def test_a_column_has_the_decimals_of_its_largest_figure() -> None:
    table = make_table(
        "t",
        (
            Column("each", "USD", "money"),
            Column("sum", "USD", "money"),
            Column("step", "USD", "money", 100.0),
        ),
        [[0.126, 0.5, 66080.0], [12.0, 33433.8, 51.0]],
    )
    assert texts(table) == [["0.13", "0", f"66{APART}100"], ["12.00", f"33{APART}434", "100"]]


def test_only_a_true_zero_is_shown_short() -> None:
    table = make_table("t", (Column("a", "min", "minutes"),), [[0.0], [0.001], [2.0]])
    assert [row[0] for row in texts(table)] == ["0", "0.00", "2.00"]


# --- the neutral table -------------------------------------------------------------------------------


def test_numbers_stay_unrounded_in_a_table() -> None:
    table = make_table("t", (Column("a", "", "number"),), [[np.float64(1 / 3)], [np.int64(2)], [np.inf]])
    assert table.column("a") == (1 / 3, 2, "never")
    assert all(type(cell) in (float, int, str) for cell in table.column("a"))


def test_rows_have_a_cell_for_each_column() -> None:
    with pytest.raises(ValueError, match="1 cells for 2 columns"):
        make_table("t", (Column("a"), Column("b")), [["x"]])


def test_draws_are_no_cell() -> None:
    with pytest.raises(ValueError, match="one number a cell"):
        single(np.array([1.0, 2.0]))
    assert single(np.array([[3.0]])) == 3.0


def test_columns_can_be_left_out() -> None:
    table = make_table("t", (Column("a"), Column("b", "h", "hours")), [["x", 1.0]])
    assert table.without("b").rows == (("x",),)


# --- sums shown equal the library's totals -----------------------------------------------------------


@pytest.mark.parametrize("name", DEMO)
def test_steps_and_elements_sum_to_the_cost_of_a_part(name: str, demo: dict[str, Study]) -> None:
    study = demo[name]
    for cost in made(study):
        by_step = tables.cost_by_step(study, cost)
        whole, cash = float(cost.per_part()), float(cost.per_part(is_cash))
        for table in (by_step, tables.cost_by_element(study, cost), tables.cost_by_level(study, cost)):
            assert table.totals == 1
            assert table.rows[-1][0] == "total"
            assert numbers(table, "total")[-1] == pytest.approx(whole, rel=1e-12)
            assert numbers(table, "cash")[-1] == pytest.approx(cash, rel=1e-12)
            for column in ("cash", "allocated", "total"):
                cells = numbers(table, column)
                assert sum(cells[:-1]) == pytest.approx(cells[-1], rel=1e-9)
        for clock in ("machine", "hands-on"):
            minutes = numbers(by_step, clock)
            assert minutes[-1] == pytest.approx(float(cost.minutes_per_part(clock)), rel=1e-12)
            assert sum(minutes[:-1]) == pytest.approx(minutes[-1], rel=1e-9)


@pytest.mark.parametrize("name", DEMO)
def test_minutes_of_a_lot_stand_with_its_set_up(name: str, demo: dict[str, Study]) -> None:
    study = demo[name]
    for cost in made(study):
        table = tables.cost_by_step(study, cost)
        for clock in ("machine", "hands-on"):
            lots = sum(float(it.minutes) for it in cost.clocks if it.kind == clock and it.level == "lot")
            cells = zip(table.column("element"), table.column(clock), strict=True)
            shown = sum(float(cell) for element, cell in cells if element == "set-up")
            assert shown == pytest.approx(lots / 200.0, rel=1e-9)


@pytest.mark.parametrize("name", DEMO)
def test_the_steps_carry_all_minutes_and_the_yields(name: str, demo: dict[str, Study]) -> None:
    study = demo[name]
    for route, cost in zip(study.part.routes, made(study), strict=True):
        table = tables.steps_table(study, cost, route)
        for clock in ("machine", "hands-on"):
            assert sum(numbers(table, clock)) == pytest.approx(float(cost.minutes_per_part(clock)), rel=1e-9)
        rolled = np.prod(numbers(table, "yield")) / 100.0 ** len(table.rows)
        assert numbers(table, "enter for one good")[0] == pytest.approx(1.0 / rolled, rel=1e-9)


@pytest.mark.parametrize("name", DEMO)
def test_tools_sum_to_the_tooling_lines(name: str, demo: dict[str, Study]) -> None:
    study = demo[name]
    for cost in made(study):
        tooling = float(cost.per_part(lambda line: line.element == "tooling"))
        assert numbers(tables.tools_table(study, cost), "cost")[-1] == pytest.approx(tooling, rel=1e-9)


def test_a_machine_hour_is_the_sum_of_its_terms(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    for basis in ("practical", "budgeted", "cash", "displaced"):
        table = tables.rate_table(study, ["mill-5x"], basis)
        terms = numbers(table, "an hour")
        assert table.rows[-1][1] == "together"
        assert sum(terms[:-1]) == pytest.approx(terms[-1], rel=1e-12)
    bases = tables.hour_bases_table(study, ["mill-5x", "lathe"])
    practical = numbers(tables.rate_table(study, ["mill-5x"], "practical"), "an hour")[-1]
    assert bases.rows[0][1] == pytest.approx(practical)
    assert bases.rows[1][4] == "not stated", "the lathe's other work is not in this study"


def test_what_is_paid_once_is_apart_and_spread_on_request_only(plain: Study) -> None:
    # 18,400 over 12,000 parts is 1.533 a part, shown apart from the running cost.
    lines = (
        Line("route", "fixture", "once", "cash", 18400.0, note="fixture", first_month=0),
        Line("mill", "machine", "part", "cash", 23.1),
        Line("route", "end value", "once", "cash", 0.0, note="fixture", first_month=ALWAYS),
    )
    sheet = CostSheet("route", "Route", lines, (), Rhythm(4000.0, 200.0, 200.0, {}))
    table = tables.once_table(plain, sheet)
    assert "spread" not in [column.name for column in table.columns]
    assert [row[:2] for row in table.rows] == [("fixture", "fixture"), ("total", "")]
    spread = tables.once_table(plain, sheet, spread_over=12000.0)
    assert texts(spread)[-1][-1] == "1.533"
    assert numbers(tables.cost_by_step(plain, sheet), "total")[-1] == 23.1


@pytest.mark.parametrize("name", DEMO)
def test_landed_layers_sum_to_each_offer_in_the_order_money_is_spent(
    name: str, demo: dict[str, Study]
) -> None:
    comparison = compare(demo[name])
    table = tables.landed_table(comparison)
    bought = [cost for cost in comparison.alternatives.values() if cost.kind == "buy"]
    for column, cost in zip(table.columns[2:], bought, strict=True):
        cells, sums = table.column(column.name)[: -table.totals], table.column(column.name)[-table.totals :]
        layers = [cell for cell in cells if not isinstance(cell, str)]
        assert sum(layers) == pytest.approx(float(cost.per_part()), rel=1e-9)
        assert sums[0] == pytest.approx(float(cost.per_part()), rel=1e-12)
        assert sums[1] == pytest.approx(float(cost.per_part(is_cash)), rel=1e-12)
        spread = sum(cell for cell in sums[2:-1] if not isinstance(cell, str))
        assert spread == pytest.approx(cost_stack(comparison).once[cost.name])
        assert sums[-1] == pytest.approx(float(cost.per_part()) + spread)
        assert set(sums[2:-1]) == {"paid already"} or not cost.current
    order = list(dict.fromkeys(table.column("layer")))
    assert order[0] == "price"
    assert (
        order.index("freight") < order.index("duty and entry") < order.index("faults") < order.index("stock")
    )
    assert order.index("stock") < order.index("faults in use")


def test_carriage_on_comes_after_the_border(demo: dict[str, Study]) -> None:
    """Broker, duty, entry fees, then the lorry inland."""
    elements = tables.landed_table(compare(demo["saddle-clamp"])).column("what for")
    steps = [
        "origin",
        "freight",
        "broker",
        "base-aluminium-part",
        "entry-processing",
        "inland",
        "found at receipt",
    ]
    assert sorted(steps, key=elements.index) == steps


def test_a_layer_that_an_offer_lacks_is_named_not_zero(demo: dict[str, Study]) -> None:
    table = tables.landed_table(compare(demo["saddle-clamp"]))
    freight = next(row for row in table.rows if row[1] == "freight")
    assert freight[-1] == "none stated", "Regional C delivers to our dock"
    assert isinstance(freight[2], float)


@pytest.mark.parametrize("name", DEMO)
def test_alternatives_show_the_library_s_totals(name: str, demo: dict[str, Study]) -> None:
    comparison = compare(demo[name])
    table = tables.alternatives_table(comparison)
    wanted: dict[str, Callable[[Any], Any]] = {
        "a part": lambda cost: cost.per_part(),
        "of it cash": lambda cost: cost.per_part(is_cash),
        "a year": lambda cost: cost.per_year(),
        "once": lambda cost: cost.once(),
        "tied up": lambda cost: cost.tied_up(),
        "short": lambda cost: cost.short_per_year(),
    }
    for column, of in wanted.items():
        assert numbers(table, column) == [float(of(cost)) for cost in comparison.alternatives.values()]
    assert sum("(today)" in str(cell) for cell in table.column("alternative")) == 1
    assert {"make", "buy", "make and buy"} == set(table.column("kind"))


def test_kinds_that_are_not_compared_are_named(demo: dict[str, Study]) -> None:
    comparison = compare(demo["saddle-clamp"], names=["status-quo", "make-rotary"])
    note = " ".join(tables.alternatives_table(comparison).notes)
    assert "Not in this study: make and buy, another supplier." in note


def test_a_figure_outside_its_own_range_is_explained(decisions: dict[str, Decision]) -> None:
    decision = decisions["encoder-cover"]
    beyond = decision.outcome._replace(per_part={decision.make.name: (20.0, 21.0, 22.0)})
    assert float(decision.make.per_part()) < 20.0
    assert "go by the range" in " ".join(tables.alternatives_table(decision.comparison, beyond).notes)
    wide = decision.outcome._replace(per_part={decision.make.name: (0.0, 10.0, 20.0)})
    assert "go by the range" not in " ".join(tables.alternatives_table(decision.comparison, wide).notes)


def test_with_draws_figures_are_rounded_to_what_the_range_supports(decisions: dict[str, Decision]) -> None:
    decision = decisions["saddle-clamp"]
    table = tables.alternatives_table(decision.comparison, decision.outcome_of_all)
    low, _, high = decision.outcome.per_part[decision.make.name]
    steps = {column.name: column.step for column in table.columns}
    assert steps["a part"] is not None
    assert steps["a part"] <= (high - low) / 10.0 * 1.0001
    one_drawn = decision.outcome._replace(per_part={decision.make.name: (low, low, high)})
    alone = tables.alternatives_table(decision.comparison, one_drawn).column("10 to 90 %")
    assert alone.count("not drawn") == len(alone) - 1
    shown = texts(table)[list(decision.comparison.alternatives).index(decision.make.name)]
    assert rounding.range_text(low, high) in shown


@pytest.mark.parametrize("name", DEMO)
def test_the_parts_of_the_stack_sum_to_the_cost_of_a_part(name: str, demo: dict[str, Study]) -> None:
    comparison = compare(demo[name])
    table = tables.stack_table(cost_stack(comparison))
    assert numbers(table, "running") == pytest.approx(
        [float(cost.per_part()) for cost in comparison.alternatives.values()], rel=1e-9
    )


# --- break-evens, payback, hours, turning values -----------------------------------------------------


def test_several_break_evens_and_their_jumps() -> None:
    # 6,000 once and 23.10 a part against 34 / 30 / 24 from 1 / 500 / 2,000: worked out by hand, making is the
    # cheaper from 870 (6,000 / (30 - 23.10) = 869.6), buying from the price break at 2,000, making again from
    # 6,667 (6,000 / (24 - 23.10) = 6,666.7).
    found = crossings(
        lambda q: 6000.0 + 23.10 * q,
        lambda q: q * landed.tier_price(q, [1.0, 500.0, 2000.0], [34.0, 30.0, 24.0]),
        1,
        10000,
        ("make", "buy"),
    )
    table = tables.break_even_table(found, (1, 10000), unit="part")
    assert table.column("from") == (870, 2000, 6667)
    assert table.column("cheaper from here") == ("make", "buy", "make")
    assert table.column("made by") == ("slope", "jump", "slope")
    assert any("jump" in note for note in table.notes)


def test_no_break_even_is_never_not_a_number() -> None:
    found = crossings(lambda q: 10.0 * q, lambda q: 100.0 + 11.0 * q, 1, 5000)
    assert found == ()
    table = tables.break_even_table(found, (1, 5000))
    assert table.rows == (("never", "no change", "no change", "none"),)


def test_payback_on_three_bases_with_cash_as_headline(demo: dict[str, Study]) -> None:
    # Pallets at 3,600 that save 2,417 a year in cash, 4,250 as booked, 5,333 with the hours refilled:
    # 3,600 / 2,417 years are 17.9 months, 10.2 and 8.1 on the other two.
    savings = (2417.0, 4250.0, 5333.0)
    back = [investment.simple_payback(3600.0, saving / 12.0) for saving in savings]
    change = Payback("status-quo", "make-rotary", 3600.0, *savings, *back, present_worth=0.0)
    table = tables.payback_table(demo["saddle-clamp"], change)
    assert [row[-1] for row in texts(table)] == ["17.9", "10.2", "8.1"]
    assert "headline" in str(table.rows[0][0])
    assert "cash" in str(table.rows[0][0])


def test_money_that_does_not_come_back_is_never(demo: dict[str, Study]) -> None:
    change = Payback("status-quo", "make-rotary", 3600.0, -1.0, 0.0, 0.0, np.inf, np.inf, np.inf, -9.0)
    assert set(tables.payback_table(demo["saddle-clamp"], change).column("back after")) == {"never"}


def test_hours_fit_or_are_short(decision: Decision) -> None:
    table = tables.capacity_table(decision)
    for hours, row in zip(decision.capacity, table.rows, strict=True):
        assert row[:3] == (hours.machine, hours.needed, hours.free)
        assert row[3] == max(hours.by_month) * hours.peak
        assert row[4] == hours.free / 12.0
        assert (row[5] == "fits") == (max(hours.by_month) * hours.peak <= hours.free / 12.0)
        if row[5] != "fits":
            assert row[5] == f"{rounding.plain(hours.short, 0)} h/yr from month {hours.short_from}"


def test_bases_name_the_cheaper_side_and_whether_it_depends(decision: Decision) -> None:
    table = tables.bases_table(decision)
    assert len(table.rows) == 4
    for row in table.rows:
        assert row[3] == ("make" if float(row[1]) < float(row[2]) else "buy")
    depends = len(set(table.column("cheaper"))) > 1
    assert ("depends" in table.notes[-1]) == depends


def test_turning_values_are_given_or_none_in_range(decision: Decision) -> None:
    table = tables.switching_table(decision)
    assert len(table.rows) == len(decision.swings)
    for swing, row in zip(decision.swings, table.rows, strict=True):
        cells = dict(zip([column.name for column in table.columns], row, strict=True))
        scale = 100.0 if swing.unit == "fraction" else 1.0
        assert cells["base"] == pytest.approx(scale * swing.base)
        if swing.switching is None:
            assert cells["turns at"] == cells["distance"] == "none in range"
        else:
            assert cells["turns at"] == pytest.approx(scale * swing.switching)
        assert cells["turns within 10 to 90 %"] == ("yes" if swing.flips else "no")
        assert cells["address"] == swing.address


def test_guesses_are_counted(decision: Decision) -> None:
    table = tables.status_table(decision)
    counts = decision.status_counts()
    assert dict(zip(table.column("status"), table.column("figures"), strict=True)) == {
        **counts,
        "total": sum(counts.values()),
    }
    assert f"{counts['guess']} of {len(decision.register)} are guesses" in words.known_words(decision)


def test_the_register_says_what_is_not_stated(decision: Decision) -> None:
    table = tables.register_table(decision.study, decision.register)
    assert len(table.rows) == len(decision.register)
    assert all(cell for row in table.rows for cell in row)
    for row, known in zip(table.rows, decision.register, strict=True):
        if known.value is not None and "fraction" in known.unit:
            assert row[1] == rounding.amount(single(known.value), "fraction")


def test_cash_by_month_adds_up(decisions: dict[str, Decision]) -> None:
    decision = decisions["saddle-clamp"]
    curve = cash_over_months(decision.study, recommended_change(decision))
    table = tables.cash_table(curve)
    assert np.cumsum(numbers(table, "saved in the month")) == pytest.approx(numbers(table, "saved so far"))
    assert numbers(table, "saved so far") == pytest.approx(list(curve.saved))


def test_flags_are_listed_or_said_to_be_none(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    assert tables.flags_table(study, [Flag("rates 2025", "stale")]).rows == (("rates 2025", "stale"),)
    assert tables.flags_table(study, []).rows[0][0] == "none"


# --- sentences ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("address", "text"),
    [
        ("demand.per_year", "demand"),
        ("quotes.regional-c.tiers.500.price", "Regional C: price from 500 parts"),
        ("quotes.overseas-a.lead_time", "Overseas A: lead time"),
        ("rates.currency.EUR.rate", "EUR: exchange rate"),
        ("rates.duties.metal-layer-aluminium.rate", "metal-layer-aluminium: duty rate"),
        ("rates.labour.operator.wage", "operator: wage"),
        ('rates.tools."drill-11.8mm".parts_per_edge', "drill-11.8mm: parts an edge"),
        ("part.routes.rotary.steps.five-sides.hands_on", "five-sides (rotary): hands-on time"),
        ("part.routes.rotary.once.rotary-fixture.cost", "rotary-fixture (rotary): cost"),
        ("finance.discount_rate", "finance: discount rate"),
    ],
)
def test_an_address_in_words(address: str, text: str, demo: dict[str, Study]) -> None:
    assert words.described(demo["saddle-clamp"], address) == text


def test_the_recommendation_names_its_alternative(decision: Decision) -> None:
    text = words.recommendation(decision)
    assert decision.study.alternatives[decision.verdict.alternative].title in text
    assert text.startswith(words.ANSWERS[decision.verdict.answer])


def test_the_condition_gives_the_values_at_which_it_turns(decision: Decision) -> None:
    cheapest = cost_over_volume(decision).cheapest
    text = words.condition(decision, cheapest)
    found = decision.conditions()
    if found:
        nearest = found[0]
        assert nearest.switching is not None
        assert words.described(decision.study, nearest.address) in text
        assert rounding.amount(nearest.switching, nearest.unit) in text
    else:
        assert "No input alone changes the answer" in text


def test_a_close_call_says_so_and_what_to_measure(decisions: dict[str, Decision]) -> None:
    close = [it for it in decisions.values() if it.verdict.answer == "too close to call"]
    for decision in close:
        assert words.recommendation(decision).startswith("Too close to call")
        assert "make sure of these first" in words.condition(decision, cost_over_volume(decision).cheapest)


def test_volume_words_hold_at_the_demand(decision: Decision) -> None:
    curves = cost_over_volume(decision)
    at = list(curves.volumes).index(curves.demand)
    best = min(curves.per_part, key=lambda name: float(curves.per_part[name][at]))
    text = words.volume_words(decision, curves.cheapest)
    if best == decision.verdict.alternative:
        assert text.startswith("It is the cheapest of all")
    else:
        assert curves.subject.titles[best] in text


def test_the_headline_is_cash(decision: Decision) -> None:
    change = recommended_change(decision)
    saving, out, back, worth = words.headline(decision)
    assert ("saved" in saving.label) == (float(change.cash_saving) >= 0.0)
    digits = float("".join(sign for sign in saving.value if sign.isdigit()))
    assert digits == pytest.approx(abs(float(change.cash_saving)), rel=5e-3)
    assert back.value.startswith(rounding.months(float(change.cash_months)))
    month = cash_over_months(decision.study, change).back_month
    if back.value == rounding.NEVER:
        assert "saves nothing" in back.small
    else:
        assert back.small.endswith(
            f"month {month}" if month else f"not in {decision.study.finance.horizon} months"
        )
    assert "once" in out.label
    assert "10 to 90 %" in worth.small


# --- outputs -----------------------------------------------------------------------------------------


@pytest.fixture
def sample() -> Table:
    return make_table(
        "Sums & <b>more</b>",
        (Column("name"), Column("cost", "USD/part", "money"), Column("note")),
        [["=1+1", 1 / 3, "<script>"], ["plain, with comma", -2.0, "@home"], ["total", 1 / 3 - 2.0, ""]],
        notes=("A note.",),
        invented=True,
        totals=1,
    )


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1 %", "@name", "\tx", "\rx"])
def test_text_never_becomes_a_formula(text: str) -> None:
    assert as_text(text) == "'" + text.replace("\r", " ")
    table = make_table("t", (Column(text), Column("b")), [[text, "b"]])
    rows = list(csv.reader(io.StringIO(tables.to_csv(table), newline="")))
    assert all(cell[0] == "'" for row in rows for cell in row if cell.strip("'") != "b")


def test_numbers_are_not_quoted_against_formulas() -> None:
    assert as_text(-2.5) == -2.5


def test_csv_is_exact_and_marks_demo_data_in_every_row(sample: Table) -> None:
    rows = list(csv.reader(io.StringIO(tables.to_csv(sample))))
    assert rows[0] == ["name", "cost [USD/part]", "note", "data"]
    assert [row[-1] for row in rows[1:]] == [INVENTED] * 3
    assert float(rows[1][1]) == 1 / 3
    assert rows[2][0] == "plain, with comma"


def test_html_is_escaped_and_readable_by_a_screen_reader(sample: Table) -> None:
    html = tables.to_html(sample)
    assert "<script>" not in html
    assert "&lt;script&gt;" in html
    assert html.count("<caption>") == 1
    assert "Sums &amp; &lt;b&gt;more&lt;/b&gt;" in html
    assert html.count('scope="col"') == 3
    assert html.count('scope="row"') == 3
    assert INVENTED in html
    assert "A note." in html
    assert 'class="total"' in html


def test_a_data_frame_is_exact_and_keeps_the_notes(sample: Table) -> None:
    frame = tables.to_frame(sample)
    assert list(frame.columns) == ["name", "cost [USD/part]", "note"]
    assert frame["cost [USD/part]"].tolist() == [1 / 3, -2.0, 1 / 3 - 2.0]
    assert frame.attrs["notes"][0].startswith(INVENTED)


def test_json_is_exact_and_strict(sample: Table) -> None:
    data = json.loads(json.dumps(tables.to_dict(sample), allow_nan=False))
    assert data["rows"][0][1] == 1 / 3
    assert data["columns"][1] == {"name": "cost", "unit": "USD/part"}
    assert data["notes"][0].startswith(INVENTED)


def rendered(table: Table, width: int) -> str:
    from rich.console import Console

    screen = Console(width=width, file=io.StringIO(), highlight=False)
    screen.print(tables.to_rich(table, width))
    return screen.file.getvalue()  # type: ignore[attr-defined]


def test_a_terminal_shows_brackets_as_they_are(sample: Table) -> None:
    text = rendered(sample, 80)
    assert "[USD/part]" in text
    assert "<script>" in text
    assert INVENTED in text
    assert "-2.00" in text


@pytest.mark.parametrize("width", [60, 110])
def test_plain_text_holds_the_same_cells(width: int, decision: Decision) -> None:
    table = tables.bases_table(decision)
    text = to_text(table, width)
    shown = "".join(text.split())
    assert text.splitlines()[0] == table.title
    assert max(len(line) for line in text.splitlines() if line not in table.notes) <= width
    for row in texts(table):
        for cell in row:
            assert "".join(cell.split()) in shown
    assert INVENTED in text


@pytest.mark.parametrize("width", [60, 80, 110, 160])
def test_wide_tables_come_in_pieces_that_fit(width: int, decision: Decision) -> None:
    table = tables.alternatives_table(decision.comparison, decision.outcome_of_all)
    pieces = fitted(table, width)
    assert [column for piece in pieces for column in piece.columns[1:]] == list(table.columns[1:])
    for piece in pieces:
        assert piece.columns[0] == table.columns[0]
        lines = rendered(piece, width).splitlines()
        assert max(len(line.rstrip()) for line in lines) <= width
        shown = "".join("".join(line.split()) for line in lines)
        for row in texts(piece):
            for cell in row[1:]:
                assert "".join(cell.split()) in shown


def test_every_table_of_a_demo_study_says_invented(decision: Decision) -> None:
    study = decision.study
    sheet = decision.make.portions[0].sheet
    every = [
        tables.cost_by_step(study, sheet),
        tables.landed_table(decision.comparison),
        tables.offers_table(decision.comparison),
        tables.bases_table(decision),
        tables.outcome_table(decision),
        tables.swings_table(ranked_swings(decision)),
        tables.volume_table(cost_over_volume(decision)),
        tables.flags_table(study, ()),
        tables.rate_table(study, study.capacity, "practical"),
    ]
    for table in every:
        assert table.invented, table.title
        for text in (rendered(table, 100), tables.to_html(table), tables.to_csv(table)):
            assert INVENTED in text
        assert INVENTED in json.dumps(tables.to_dict(table))


def test_a_real_study_is_not_called_invented(demo: dict[str, Study]) -> None:
    addresses = ("invented", "rates.year.invented", "part.invented")
    study = demo["worm-shaft"].with_inputs(dict.fromkeys(addresses, False))
    assert not tables.alternatives_table(compare(study)).invented
    for address in addresses:
        part_real = demo["worm-shaft"].with_inputs({it: it == address for it in addresses})
        assert tables.alternatives_table(compare(part_real)).invented, address
    assert INVENTED not in json.dumps(stamp(study))


def test_the_stamp_says_what_a_result_rests_on(decisions: dict[str, Decision]) -> None:
    decision = decisions["worm-shaft"]
    text = stamp_words(stamp(decision.study, decision.outcome, ["demand.per_year = 1 part/yr"]))
    for wanted in (
        decision.fingerprint,
        "2026",
        decision.study.as_of.isoformat(),
        "256 draws",
        "seed 1",
        "costmodel",
        "changed for this run: demand.per_year = 1 part/yr",
    ):
        assert wanted in text
