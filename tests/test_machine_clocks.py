"""Hands lent once, hours without hands, loads, waiting and lots: each against its own arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.errors import InputError
from costmodel.part_cost import part_cost
from costmodel.records import route_words
from costmodel.records.route import Route


def lent(sheet):
    return [(item.step, item.level, item.hands_on) for item in sheet.spent if item.what.startswith("done")]


def small(shop, name, **changes):
    stated = {"programme": 1.0, "hands_on": 0.5, "loading": "inside", "tended_during": "big", **changes}
    return shop.step(name=name, **stated)


def test_standing_by_is_lent_once_to_all_the_steps_that_ask_for_it(shop):
    big = shop.step(name="big", programme=10.0, attendance=0.08)
    sheet = shop.sheet(shop.study(big, *(small(shop, name) for name in ("x1", "x2", "x3"))))
    # 0.8 min of standing by: the first step takes 0.5, the second what is left, the third nothing
    assert [hands for _, level, hands in lent(sheet) if level == "load"] == pytest.approx([-0.5, -0.3, 0.0])
    assert sheet.minutes_per_part("hands-on") == pytest.approx(0.8 + 1.5 - 0.8)


@pytest.mark.parametrize(
    ("lot", "per_year", "word"),
    [
        (-5.0, 4000.0, "lot"),
        (0.0, 4000.0, "lot"),
        (0.5, 4000.0, "lot"),
        (np.inf, 4000.0, "lot"),
        (np.array([10.0, np.nan]), 4000.0, "lot"),
        (200.0, 0.0, "per_year"),
        (200.0, -1.0, "per_year"),
        (200.0, np.inf, "per_year"),
    ],
)
def test_a_lot_is_a_part_or_more_and_a_year_has_parts(shop, lot, per_year, word):
    study = shop.study(shop.step())
    route = next(iter(study.part.routes.values()))
    with pytest.raises(InputError, match=word):
        part_cost(study.part, route, study.rates, lot=lot, per_year=per_year)


def test_hours_without_hands_are_of_each_machine_alone(shop):
    step = shop.step(programme=30.0, hands_on=3.0, attendance=0.2)
    bench = {"kind": "bench", "name": "b", "labour": "operator", "hands_on": 50.0, "step_yield": 1.0}
    alone = shop.sheet(shop.study(step)).unattended_hours()
    sheet = shop.sheet(shop.study(step, bench))
    assert sheet.unattended_hours() == pytest.approx(alone)
    assert alone > 0.0


def test_a_step_with_more_hands_than_minutes_takes_none_of_anothers_hours(shop):
    one = shop.step(name="one", programme=30.0, hands_on=3.0)
    two = shop.step(name="two", programme=1.0, hands_on=1.0, inspection=20.0, loading="inside")
    apart = shop.sheet(shop.study(one)).unattended_hours()
    assert shop.sheet(shop.study(one, two)).unattended_hours() == pytest.approx(apart)


def test_a_machine_that_waits_does_not_run(shop):
    few, many = (
        shop.sheet(shop.study(shop.step(programme=20.0, hands_on=2.0, walk=3.0, machines_tended=number)))
        for number in (4, 12)
    )
    assert many.minutes_per_part("machine") > few.minutes_per_part("machine")
    assert many.unattended_hours() == pytest.approx(few.unattended_hours())


def test_hands_lent_to_a_step_are_at_it_all_the_same(shop):
    big = shop.step(name="big", programme=40.0, attendance=0.5)
    study = shop.study(big, small(shop, "x", programme=5.0, hands_on=2.0))
    # 40 less 20 at the one, 7 less 2 at the other: who pays for the two minutes changes nothing
    hours = (20.0 + 5.0) * float(study.demand.per_year) / 60.0
    assert shop.sheet(study).unattended_hours() == pytest.approx(hours)


def texts(sheet):
    return [flag.text for flag in sheet.flags]


def test_loading_beside_a_machine_without_pallets_is_flagged(shop):
    step = shop.step(programme=10.0, hands_on=2.0)
    (text,) = texts(shop.sheet(shop.study(step)))
    assert "pallet_swap" in text
    assert texts(shop.sheet(shop.study(step, machines=(shop.machine(pallet_swap=0.5),)))) == []
    assert texts(shop.sheet(shop.study({**step, "loading": "inside"}))) == []


def test_a_bar_is_fed_by_a_machine_that_says_how_long_it_takes_and_opens_no_door(shop):
    step = shop.step(programme=2.0, feeds_bar=True, loading="inside")
    blank = {"shape": "round", "mass": None, "diameter": 20.0, "length": 97.0, "bar_length": 3000.0}
    blank |= {"finished_mass": 0.01}
    fed, free = (
        shop.sheet(shop.study(step, machines=(machine,), blank=blank))
        for machine in (shop.machine(bar_advance=0.05, door=0.2), shop.machine(door=0.2))
    )
    (text,) = texts(free)
    assert "bar_advance" in text
    assert texts(fed) == []
    assert fed.minutes_per_part("machine") == pytest.approx(2.05)  # and no door


def test_one_person_stands_by_at_several_machines_and_loads_them(shop):
    step = shop.step(programme=20.0, hands_on=2.0, walk=1.0, loading="inside", attendance=0.6)
    alone, third = (shop.sheet(shop.study({**step, "machines_tended": number})) for number in (1, 3))
    assert alone.minutes_per_part("machine") == pytest.approx(22.0)
    assert alone.flags == ()
    # a load asks for 12 min of standing by, 2 of loading and 1 of walking, three times a round
    assert third.minutes_per_part("machine") == pytest.approx(3 * 15.0)
    (text,) = texts(third)
    assert "180 %" in text


@pytest.mark.parametrize("calls", ["regular", "random"])
def test_standing_by_never_shortens_a_wait(shop, calls):
    step = shop.step(programme=20.0, hands_on=6.0, loading="inside", machines_tended=4, calls=calls)
    waits = [
        shop.sheet(shop.study({**step, "attendance": share})).minutes_per_part("machine")
        for share in (0.0, 0.01, 0.2, 0.9)
    ]
    assert waits == sorted(waits)
    assert waits[-1] == pytest.approx(4 * (6.0 + 0.9 * 20.0))


def test_several_machines_loaded_beside_their_cycle_wait_for_who_stands_by(shop):
    step = shop.step(programme=20.0, hands_on=2.0, walk=1.0, attendance=0.5, machines_tended=2)
    sheet = shop.sheet(shop.study(step, machines=(shop.machine(pallet_swap=1.0),)))
    # 10.5 min of standing by (half of programme and swap), 2 of loading, 1 of walking, at two machines
    assert sheet.minutes_per_part("machine") == pytest.approx(2 * 13.5 + 1.0)


def loads_of(shop, lot, **changes):
    step = shop.step(programme=8.0, parts_per_load=4, step_yield=0.9, loading="inside", **changes)
    return shop.sheet(shop.study(step, lot=lot))


@pytest.mark.parametrize(("lot", "loads"), [(1.0, 1), (3.6, 1), (4.0, 2), (36.0, 10), (37.0, 11)])
def test_whole_loads_are_run_for_every_lot(shop, lot, loads):
    sheet = loads_of(shop, lot, loads="whole")
    # lot / 0.9 parts go in, four at a time; the last load runs as long as a full one
    assert sheet.minutes_per_part("machine") * lot == pytest.approx(8.0 * loads)
    assert sheet.flags == ()
    # 60 an hour is 1 a minute: what is lost carries its share of the loads, and nothing is counted twice
    running = sheet.per_part(lambda line: line.step == "s" and line.level in ("part", "load"))
    assert running * lot == pytest.approx(8.0 * loads)


def test_a_share_of_a_load_is_charged_by_its_share_and_said(shop):
    few, odd, full = (loads_of(shop, lot) for lot in (1.0, 5.0, 8.0))
    assert few.minutes_per_part("machine") == full.minutes_per_part("machine") == pytest.approx(2.0 / 0.9)
    (text,) = texts(few)
    assert "1 parts fill 0.25 loads of 4" in text
    assert "1.25 loads" in texts(odd)[0]
    assert full.flags == ()


def test_lots_in_an_array_fill_whole_loads_each(shop):
    lots = np.array([1.0, 5.0, 40.0])
    step = shop.step(programme=8.0, parts_per_load=4, loading="inside", loads="whole")
    study = shop.study(step)
    route = next(iter(study.part.routes.values()))
    many = part_cost(study.part, route, study.rates, lot=lots, per_year=400.0)
    assert many.minutes_per_part("machine") * lots == pytest.approx([8.0, 16.0, 80.0])


@pytest.mark.parametrize(
    ("stated", "place"),
    [
        ({"name": "machine-maintenance"}, r"rates\.machines\.m \(maintenance\)"),
        ({"name": "service-contract", "element": "maintenance"}, r"rates\.machines\.m \(maintenance\)"),
        ({"name": "energy"}, r"rates\.machines\.m \(energy\)"),
        ({"name": "coolant", "element": "consumables"}, r"rates\.machines\.m \(consumables\)"),
        ({"name": "floor", "element": "space"}, r"rates\.machines\.m \(space\)"),
    ],
)
def test_a_yearly_cost_that_the_machine_hour_holds_is_refused(shop, stated, place):
    machine = shop.machine(maintenance=13600.0, power=20.0, floor_area=10.0)
    yearly = {"yearly": {stated["name"]: {"cost": 500.0, **stated}}}
    with pytest.raises((InputError, ValueError), match=f"it stands in {place} too"):
        shop.study(shop.step(), machines=(machine,), route=yearly)
    free = shop.machine(maintenance=0.0, consumables=0.0)
    assert shop.study(shop.step(), machines=(free,), route=yearly)


def test_a_yearly_cost_of_something_else_may_bear_any_name(shop):
    machine = shop.machine(maintenance=13600.0)
    for row in ({"name": "fixture-maintenance", "element": "other"}, {"name": "gauge-calibration"}):
        study = shop.study(
            shop.step(), machines=(machine,), route={"yearly": {row["name"]: {"cost": 500.0, **row}}}
        )
        assert shop.sheet(study).per_year(lambda line: line.step == "route") == pytest.approx(500.0)


@pytest.mark.filterwarnings("ignore:Default value")  # an empty table is no JSON value
def test_an_editor_shows_what_each_field_of_a_route_means():
    whole = Route.model_json_schema()
    shown = {**whole["$defs"], "Route": whole}
    told = {name: shown[name]["properties"] for name in (*route_words.BY_RECORD,)}
    for name, fields in told.items():
        assert set(route_words.BY_RECORD[name]) <= set(fields), name
        for field, stated in fields.items():
            assert stated["description"].startswith(route_words.meaning(name, field)), (name, field)
    used = {field for name, it in told.items() for field in it if field not in route_words.BY_RECORD[name]}
    assert set(route_words.ALL) == used
