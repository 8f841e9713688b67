"""The one mechanism for every what-if: addresses, values, rules, and one model for numbers, draws and ranges."""

from __future__ import annotations

import pickle
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costmodel.cli.shared import changed_study
from costmodel.decision import decide
from costmodel.draws.spreads import quantile
from costmodel.errors import InputError
from costmodel.make_or_buy import Comparison, compare
from costmodel.records.address import currency_at, sweep, tokens, unit_at, value_at
from costmodel.records.rates import Duty
from costmodel.records.route import Item
from costmodel.records.study import Study, fingerprint

CLAMP = Path(__file__).parent.parent / "data" / "studies" / "saddle-clamp.toml"
VOLUME = "demand.per_year"
STEP = "part.routes.cuts.steps.mill"


def refusal(study: Study, changes: dict[str, Any]) -> str:
    """The words of the refusal; fails where the what-if is taken."""
    with pytest.raises(InputError) as refused:
        study.with_inputs(changes)
    for problem in refused.value.problems:
        assert problem.file == "study"
        assert problem.place
        assert problem.expected
        assert problem.remedy
    return str(refused.value)


# --- addresses -----------------------------------------------------------------------------------------


def test_an_address_is_a_dotted_key_of_toml() -> None:
    assert tokens('rates.tools."drill-5.1mm".price') == ("rates", "tools", "drill-5.1mm", "price")
    assert tokens("demand") == ("demand",)


@pytest.mark.parametrize("address", ["", "rates..price", ".rates", "rates.", 'rates."drill', "a.b.c."])
def test_a_malformed_address_is_refused(small: Study, address: str) -> None:
    assert "a dotted key" in refusal(small, {address: 1.0})


def test_a_name_with_a_dot_is_quoted(small: Study) -> None:
    changed = small.with_inputs({'rates.tools."drill-5.1mm".price': 31.0})
    assert changed.rates.tools["drill-5.1mm"].price == 31.0
    assert "drill-5" in refusal(small, {"rates.tools.drill-5.1mm.price": 31.0})


@pytest.mark.parametrize(
    "address, words",
    [
        ("demand.per_yaer", ("per_yaer", "per_year, growth, weekly_sd", 'Did you mean "per_year"?')),
        ("rates.machines.mil.life", ("one of mill, lathe", 'Did you mean "mill"?')),
        ("rates.engines.mill.life", ("found engines", "one of year, machines, labour")),
        ("demand.per_year.low", ("nothing below a single value",)),
        ("quotes.far-a.tiers.501.price", ("one of 200, 500, 2000",)),
        ("quotes.far-a.duties.base", ("nothing below a single value",)),
        (f"{STEP}.cuts.face.depht", ("depth",)),
        ("price", ("one of name, title, question",)),
    ],
)
def test_an_unknown_address_names_what_exists_there(
    small: Study, address: str, words: tuple[str, ...]
) -> None:
    message = refusal(small, {address: 1.0})
    assert address in message
    for word in words:
        assert word in message


def test_two_addresses_of_one_place_are_refused(small: Study) -> None:
    duty = small.rates.duties["base"]
    for changes in (
        {"demand": small.demand, VOLUME: 5.0},
        {VOLUME: 5.0, "demand": small.demand},
        {"rates.duties.base": duty, "rates.duties.base.rate": 0.1},
        {"rates.duties.base.rate": 0.1, "rates.duties.base": duty},
        {VOLUME: 5.0, 'demand."per_year"': 6.0},
    ):
        assert "one address for one place" in refusal(small, changes)


def test_every_number_of_a_study_has_an_address_that_gives_it_back(small: Study) -> None:
    """Walks the whole tree: each field of each record is found at its dotted key."""
    named = ("uncertainty", "scenarios")  # what these tables hold is named by addresses itself
    found = [(path, value) for path, value in leaves(small, ()) if path[0] not in named]
    assert len(found) > 500
    for path, value in found:
        address = ".".join(f'"{token}"' if "." in token else token for token in path)
        assert value_at(small, address) is value


def leaves(node: Any, path: tuple[str, ...]) -> Iterable[tuple[tuple[str, ...], Any]]:
    rows = node.items() if isinstance(node, dict) else getattr(node, "__dict__", {}).items()
    if not rows:
        yield path, node
    for name, value in rows:
        yield from leaves(value, (*path, name))


@pytest.mark.parametrize(
    "address, unit, currency",
    [
        (VOLUME, "part/yr", "USD"),
        ("rates.machines.mill.purchase_price", "USD", "USD"),
        ("rates.materials.aluminium.price", "USD/kg", "USD"),
        ("quotes.far-a.tiers.500.price", "EUR", "EUR"),
        ("quotes.near-b.equipment", "USD", "USD"),
        ("quotes.far-a.contact_cost", "USD/yr", "USD"),
        (f"{STEP}.step_yield", "fraction", "USD"),
        (f"{STEP}.parts_per_load", "", "USD"),
    ],
)
def test_an_address_knows_its_unit_and_currency(small: Study, address: str, unit: str, currency: str) -> None:
    assert unit_at(small, address, "USD") == unit
    assert currency_at(small, address, "USD") == currency


# --- values --------------------------------------------------------------------------------------------


def test_a_value_may_be_text_with_a_unit(small: Study) -> None:
    changed = small.with_inputs(
        {
            "quotes.far-a.lead_time": "3 wk",
            "rates.materials.aluminium.price": "3.10 USD/lb",
            f"{STEP}.step_yield": "97 %",
            f"{STEP}.cuts.face.length": "1.250 in",
            "quotes.far-a.tiers.500.price": "16.50 EUR",
            "quotes.near-b.tiers.100.price": "22.90",
        }
    )
    assert changed.quotes["far-a"].lead_time == pytest.approx(21.0, rel=1e-15)
    assert changed.rates.materials["aluminium"].price == pytest.approx(3.10 / 0.45359237, rel=1e-14)
    assert value_at(changed, f"{STEP}.step_yield") == pytest.approx(0.97, rel=1e-15)
    assert value_at(changed, f"{STEP}.cuts.face.length") == pytest.approx(31.75, rel=1e-15)
    assert changed.quotes["far-a"].tiers["500"].price == 16.5
    assert changed.quotes["near-b"].tiers["100"].price == 22.9


@pytest.mark.parametrize(
    "address, value, words",
    [
        ("rates.materials.aluminium.price", "3.10 EUR/lb", "EUR is not the home currency"),
        ("quotes.far-a.tiers.500.price", "16.50 USD", "EUR"),
        (VOLUME, "4000", "a quantity in part/yr"),
        (VOLUME, "4,000 part/yr", "two ways"),
        (VOLUME, 0.0, "part/yr above 0"),
        (VOLUME, float("nan"), "part/yr above 0"),
        (VOLUME, None, "Fill it in"),
        (VOLUME, True, "True"),
        (f"{STEP}.step_yield", 98, 'Did you mean "98 %"?'),
        (f"{STEP}.step_yield", np.array([0.97, 1.078]), "0.97 to 1.078"),
        (f"{STEP}.step_yield", np.array([0.97, np.nan]), "fraction"),
        (f"{STEP}.loading", "beside", "'outside' or 'inside'"),
        ("as_of", "15.6.2026", "ISO 8601"),
    ],
)
def test_a_value_that_its_field_refuses_is_refused_at_its_address(
    small: Study, address: str, value: object, words: str
) -> None:
    message = refusal(small, {address: value})
    assert f"study: {address}:" in message
    assert words in message


@pytest.mark.parametrize(
    "address",
    [
        f"{STEP}.parts_per_load",
        f"{STEP}.cuts.drill.count",
        f"{STEP}.index_moves",
        "rates.tools.end-mill.teeth",
        "rates.tools.end-mill.regrinds",
        "finance.horizon",
        "part.routes.cuts.once.fixture.month",
    ],
)
def test_a_count_refuses_an_array(small: Study, address: str) -> None:
    for value in (np.array([2.0, 3.0]), np.array([2, 3]), sweep([2, 3]), 2.5):
        assert "integer" in refusal(small, {address: value})


def test_the_study_it_came_from_stays_as_it_was(small: Study) -> None:
    before = pickle.dumps(small)
    small.with_inputs({VOLUME: 5.0, "rates.labour.operator.wage": 99.0})
    assert pickle.loads(before) == small
    assert small.demand.per_year == 4000.0


def test_untouched_branches_are_shared(small: Study) -> None:
    changed = small.with_inputs({"rates.labour.operator.wage": 30.0})
    assert changed.part is small.part
    assert changed.quotes is small.quotes
    assert changed.rates.machines is small.rates.machines
    assert changed.rates.labour["setter"] is small.rates.labour["setter"]
    assert changed.rates is not small.rates
    assert changed.rates.labour["operator"] is not small.rates.labour["operator"]


def test_no_change_is_an_equal_study(small: Study) -> None:
    assert small.with_inputs({}) == small
    assert small.with_inputs({VOLUME: 4000.0}) == small
    assert small.with_inputs({VOLUME: 4001.0}) != small


def test_studies_with_arrays_are_equal_by_value(small: Study) -> None:
    def drawn() -> Study:
        return small.with_inputs({VOLUME: np.array([4000.0, 4100.0])})

    assert drawn() == drawn()
    assert drawn() != small
    assert pickle.loads(pickle.dumps(drawn())) == drawn()
    with pytest.raises(TypeError, match="unhashable"):
        hash(small)


def test_a_study_is_frozen_all_the_way_down(small: Study) -> None:
    with pytest.raises(TypeError, match="with_inputs"):
        small.rates.machines["new"] = small.rates.machines["mill"]  # type: ignore[index]
    with pytest.raises(TypeError, match="with_inputs"):
        small.scenarios["half"].inputs["demand.growth"] = 0.5
    with pytest.raises(ValueError, match="frozen"):
        small.demand.per_year = 5.0  # type: ignore[misc]


def test_a_later_change_of_the_callers_array_has_no_effect(small: Study) -> None:
    draws = np.array([3000.0, 4000.0])
    study = small.with_inputs({VOLUME: draws})
    draws[:] = 1.0
    assert np.asarray(study.demand.per_year).tolist() == [3000.0, 4000.0]


def test_a_plan_is_resolved_once_and_applied_often(small: Study) -> None:
    plan = small.plan([VOLUME, "rates.labour.operator.wage"])
    first, second = plan.apply([3000.0, 25.0]), plan.apply([3500.0, 26.0])
    assert first == small.with_inputs({VOLUME: 3000.0, "rates.labour.operator.wage": 25.0})
    assert second == small.with_inputs({"rates.labour.operator.wage": 26.0, VOLUME: 3500.0})
    for values in ([3000.0], [3000.0, 25.0, 1.0]):
        with pytest.raises(InputError, match="2 values"):
            plan.apply(values)


def test_a_scenario_is_a_named_set_of_inputs(small: Study) -> None:
    half = small.with_scenario("half")
    assert half.demand == small.with_inputs({VOLUME: 2000.0}).demand
    assert (half.rates, half.quotes, half.part) == (small.rates, small.quotes, small.part)
    assert VOLUME in small.uncertainty
    assert set(half.uncertainty) == set(small.uncertainty) - {VOLUME}  # what is settled is not drawn
    assert small.with_scenario("duty-up").rates.duties["metal"].rate == pytest.approx(0.45, rel=1e-15)
    with pytest.raises(InputError, match="one of duty-up, half"):
        small.with_scenario("halved")


# --- whole records -------------------------------------------------------------------------------------


def test_a_whole_record_goes_in_at_a_new_name_of_a_table(small: Study) -> None:
    layer = small.rates.duties["base"].model_dump() | {"name": "added", "rate": 0.5}
    study = small.with_inputs(
        {"rates.duties.added": Duty(**layer), "quotes.far-a.duties": ("base", "metal", "rest", "added")}
    )
    assert study.rates.duties["added"].rate == 0.5
    assert list(study.rates.duties) == ["base", "metal", "rest", "added"]
    lines = compare(study, names=["status-quo"]).alternatives["status-quo"].portions[0].sheet.lines
    added, base = (next(line.amount for line in lines if line.element == name) for name in ("added", "base"))
    assert added / base == pytest.approx(0.5 / 0.025, rel=1e-12)  # same base, the two rates


@pytest.mark.parametrize("value", [0.5, "50 %", {"rate": 0.5}, None])
def test_only_a_record_of_the_right_kind_goes_into_a_table(small: Study, value: object) -> None:
    assert "a Duty record" in refusal(small, {"rates.duties.added": value})
    assert "a Duty record" in refusal(small, {"rates.duties.added": small.rates.machines["mill"]})


def test_a_new_name_elsewhere_is_refused(small: Study) -> None:
    assert "per_year, growth" in refusal(small, {"demand.extra": small.demand})
    assert "one of year" in refusal(small, {"rates.extra": small.rates.machines})


def test_a_new_record_under_a_name_that_is_not_its_own_is_refused(small: Study) -> None:
    assert "base" in refusal(small, {"rates.duties.added": small.rates.duties["base"]})


# --- rules between fields run on a what-if too ---------------------------------------------------------


@pytest.mark.parametrize(
    "address, value, words",
    [
        ("rates.machines.mill.salvage", 390001.0, "at most the purchase price"),
        ("rates.machines.mill.salvage", np.array([1.0, 390001.0]), "at most the purchase price"),
        ("rates.machines.mill.purchase_price", sweep([69999.0, 390000.0]), "at most the purchase price"),
        ("finance.holding", 0.09, "at least the discount rate"),
        ("finance.discount_rate", np.array([0.10, 0.25]), "at least the discount rate"),
        ("quotes.far-a.tiers.500.quantity", 2000.0, "quantities in rising order"),
        ("quotes.far-a.tiers.500.quantity", np.array([500.0, 100.0]), "quantities in rising order"),
        ("alternatives.both.shares.near-b.share", 0.5, "shares that sum to 100 %"),
        ("alternatives.both.shares.near-b.share", np.array([0.4, 0.5]), "shares that sum to 100 %"),
        ("alternatives.make-cuts.lot", None, "lot or orders_per_year"),
        (f"{STEP}.programme", 12.0, "cuts or measured programme minutes"),
        (f"{STEP}.cuts.face.spindle_speed", 900.0, "exactly one of cutting_speed, spindle_speed"),
        ("part.routes.cuts.once.fixture.labour", "setter", "a cost, or hours with a labour grade"),
        ("rates.tools.end-mill.taylor_exponent", None, "taylor"),
        ("alternatives.make-cuts.make", "lathe", "the name of a row of routes"),
        (f"{STEP}.machine", "grinder", "the name of a row of machines"),
        (f"{STEP}.cuts.face.tool", "file", "the name of a row of tools"),
        ("quotes.far-a.currency", "JPY", "a currency with a rate"),
        ("quotes.far-a.revision", "B", "an offer for bracket revision A"),
        ("as_of", "2026-10-01", "an offer valid on 2026-10-01"),
        ("alternatives.near-b.current", True, "exactly one alternative marked current"),
        ("rates.labour.operator.series", "moods", "the name of a row of indices"),
    ],
)
def test_a_rule_between_fields_holds_on_a_what_if(
    small: Study, address: str, value: object, words: str
) -> None:
    assert words in refusal(small, {address: value})


def test_a_cost_in_the_rate_and_in_the_part_is_refused_with_both_places(small: Study) -> None:
    coolant = Item(name="coolant", element="consumables", cost=0.10)
    message = refusal(small, {f"{STEP}.items.coolant": coolant})
    assert f"{STEP}.items.coolant" in message
    assert "rates.machines.mill (consumables)" in message
    free = small.with_inputs({f"{STEP}.items.coolant": coolant, "rates.machines.mill.consumables": 0.0})
    assert value_at(free, f"{STEP}.items.coolant.cost") == 0.10


# --- lengths -------------------------------------------------------------------------------------------


def test_a_range_is_a_column_and_draws_are_a_row() -> None:
    assert np.shape(sweep([1.0, 2.0, 3.0])) == (3, 1)
    assert np.shape(sweep(range(5))) == (5, 1)


def test_two_lengths_of_draws_are_refused(small: Study) -> None:
    message = refusal(small, {VOLUME: np.full(8, 4000.0), "demand.shortage_cost": np.ones(5)})
    assert "one length for all draws" in message
    assert f"{VOLUME}: 8" in message
    assert "demand.shortage_cost: 5" in message


def test_two_lengths_of_a_range_are_refused(small: Study) -> None:
    changes = {VOLUME: sweep([1.0, 2.0]), "demand.shortage_cost": sweep([1.0, 2.0, 3.0])}
    assert "one length for all a range" in refusal(small, changes)


def test_draws_of_an_earlier_what_if_count_too(small: Study) -> None:
    drawn = small.with_inputs({VOLUME: np.full(8, 4000.0)})
    assert "one length for all draws" in refusal(drawn, {"demand.shortage_cost": np.ones(5)})
    assert drawn.with_inputs({VOLUME: np.full(5, 4000.0)}).demand.per_year.shape == (5,)  # type: ignore[union-attr]
    assert drawn.with_inputs({"demand.shortage_cost": np.ones(8)}) is not None


@pytest.mark.parametrize("shape", [(), (2, 3), (1, 5), (2, 1, 1)])
def test_other_shapes_are_refused(small: Study, shape: tuple[int, ...]) -> None:
    assert "draws (n,) or a column (m, 1)" in refusal(small, {VOLUME: np.full(shape, 4000.0)})


def test_a_range_meets_draws(small: Study) -> None:
    both = small.with_inputs({VOLUME: sweep([2000.0, 4000.0, 6000.0]), "demand.shortage_cost": np.ones(5)})
    worth = compare(both).worth
    assert {np.shape(value) for value in worth.values()} == {(3, 5)}


# --- one model for a number, draws and a range ---------------------------------------------------------


def figures(comparison: Comparison) -> dict[str, np.ndarray[Any, Any]]:
    """Every figure that the comparison shows of every alternative."""
    found = {}
    for name, cost in comparison.alternatives.items():
        found[f"{name} per part"] = cost.per_part()
        found[f"{name} per year"] = cost.per_year()
        found[f"{name} once"] = cost.once()
        found[f"{name} tied up"] = cost.tied_up()
        found[f"{name} short"] = cost.short_per_year()
        found[f"{name} hands"] = cost.hands_on_hours()
        found[f"{name} worth"] = comparison.worth[name]
        for machine in comparison.study.rates.machines:
            found[f"{name} {machine}"] = cost.machine_hours(machine)
    return {word: np.asarray(value, dtype=np.float64) for word, value in found.items()}


def assert_same(block: dict[str, Any], single: dict[str, Any], shape: tuple[int, ...], at: Any) -> None:
    for word, value in block.items():
        got = np.broadcast_to(value, shape)[at]
        assert got == pytest.approx(float(single[word]), rel=1e-12, abs=1e-9), word


def test_a_thousand_volumes_in_one_call_equal_a_thousand_single_calls(small: Study) -> None:
    """Volumes across a price break, so that a step of the totals is met too."""
    volumes = np.linspace(150.0, 20000.0, 1000)
    plan, names = small.plan([VOLUME]), ["status-quo", "both"]
    block = compare(plan.apply([sweep(volumes)]), names=names)
    singles = [compare(plan.apply([float(volume)]), names=names) for volume in volumes]
    for name in names:
        worth = [single.worth[name] for single in singles]
        per_part = [single.alternatives[name].per_part() for single in singles]
        np.testing.assert_allclose(np.ravel(block.worth[name]), worth, rtol=1e-12)
        np.testing.assert_allclose(np.ravel(block.alternatives[name].per_part()), per_part, rtol=1e-12)
    # 40 % of 10,000 bought in eight orders reach the price break of 500; 98.88 % of them are good
    falls = -np.diff(np.ravel(block.alternatives["both"].per_part()))
    at_break = int(np.searchsorted(volumes, 9888.0)) - 1
    assert falls[at_break] > 10.0 * falls[at_break - 1]


def test_columns_times_draws_equal_single_studies(small: Study) -> None:
    volumes, rates = np.array([300.0, 1000.0, 4000.0, 12000.0]), np.array([0.95, 1.05, 1.12, 1.20, 1.31])
    yields = np.array([0.91, 0.95, 0.97, 0.985, 1.0])
    addresses = [VOLUME, "rates.currency.EUR.rate", f"{STEP}.step_yield"]
    plan = small.plan(addresses)
    block = figures(compare(plan.apply([sweep(volumes), rates, yields])))
    for row, volume in enumerate(volumes):
        for column, (rate, share) in enumerate(zip(rates, yields, strict=True)):
            single = figures(compare(plan.apply([float(volume), float(rate), float(share)])))
            assert_same(block, single, (volumes.size, rates.size), (row, column))


@pytest.mark.parametrize("name", ["encoder-cover", "saddle-clamp", "worm-shaft"])
def test_draws_of_all_uncertain_inputs_equal_a_stack_of_single_studies(
    demo: dict[str, Study], name: str
) -> None:
    study = demo[name]
    spreads = list(study.uncertainty.values())
    shares = np.random.default_rng(7).uniform(0.02, 0.98, (len(spreads), 12))
    rows = [np.asarray(quantile(study, spread, row)) for spread, row in zip(spreads, shares, strict=True)]
    plan = study.plan([spread.name for spread in spreads])
    block = figures(compare(plan.apply(rows)))
    assert sum(value.shape == (12,) for value in block.values()) > 10
    for draw in range(12):
        single = figures(compare(plan.apply([float(row[draw]) for row in rows])))
        assert_same(block, single, (12,), draw)


def test_a_what_if_drops_the_range_around_the_old_value(demo: dict[str, Study]) -> None:
    """The same change by hand, by --set and by a scenario gives one outcome, and base and range agree."""
    by_hand = demo["saddle-clamp"].settled({VOLUME: 2000.0})
    by_option, told = changed_study(CLAMP, ["demand.per_year=2000 part/yr"], None)
    by_scenario = demo["saddle-clamp"].with_scenario("volume-halved")
    assert told == ["demand.per_year = 2000 part/yr"]
    assert VOLUME in demo["saddle-clamp"].uncertainty
    decisions = [decide(study, draws=256) for study in (by_hand, by_option, by_scenario)]
    assert len({decision.outcome.advantage for decision in decisions}) == 1
    worth = decisions[0].comparison.worth
    low, _, high = decisions[0].outcome.advantage
    assert low < worth[decisions[0].buy.name] - worth[decisions[0].make.name] < high


def test_a_range_can_be_changed_beside_an_input(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    assert study.settled({VOLUME: 2000.0, "uncertainty": {}}).uncertainty == {}
    wider = study.settled({VOLUME: 2000.0, "drivers": {}, "correlations": {}})
    assert set(wider.uncertainty) == set(study.uncertainty) - {VOLUME}


def test_a_what_if_that_changes_nothing_keeps_the_fingerprint(demo: dict[str, Study]) -> None:
    for study in demo.values():
        assert fingerprint(study.settled({})) == fingerprint(study)
        assert fingerprint(study.settled({VOLUME: 1234.0})) != fingerprint(study)
        known = study.settled({VOLUME: float(study.demand.per_year)})
        assert fingerprint(known) != fingerprint(study)  # it is no longer in doubt
