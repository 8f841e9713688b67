"""Minutes of both clocks item by item, losses by stage, what is made in-house: each against its own arithmetic."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from costmodel.errors import InputError
from costmodel.make_or_buy import alternative_cost
from costmodel.reading import read_study

ROOT = Path(__file__).parent.parent


def element(sheet, word, step="s"):
    return sheet.per_part(lambda line: (line.step, line.element) == (step, word))


def minutes(sheet, what, step="s"):
    items = [item for item in sheet.spent if (item.step, item.what) == (step, what)]
    return sum(item.machine for item in items), sum(item.hands_on for item in items)


DRILL = {
    "name": "c",
    "kind": "drill",
    "tool": "t",
    "depth": 20.0,
    "point": "none",
    "spindle_speed": 500.0,
    "feed": 40.0,
}


def test_what_each_load_takes(shop):
    machine = shop.machine(pallet_swap=1.5, door=0.2, index_time=0.05, tool_change=0.1)
    step = shop.step(cuts=[DRILL], parts_per_load=4, index_moves=6, probing=1.1, machine="m", hands_on=3.0)
    sheet = shop.sheet(shop.study(step, machines=(machine,)))
    # 20 mm at 40 and 0.0007 out; index, probing, door, swap are shared by four; one tool stays in the spindle
    cut = 0.5 + 20.0 / 30_000
    assert sheet.minutes_per_part("machine") == pytest.approx(cut + (0.3 + 1.1 + 0.2 + 1.5) / 4)
    assert sheet.minutes_per_part("hands-on") == pytest.approx(3.0 / 4)
    assert minutes(sheet, "door") == (pytest.approx(0.2), 0.0)


def test_loading_beside_the_machine_waits_only_where_it_takes_longer(shop):
    machine = shop.machine(pallet_swap=1.0)
    quick = shop.sheet(shop.study(shop.step(programme=8.0, hands_on=6.0), machines=(machine,)))
    slow = shop.sheet(shop.study(shop.step(programme=8.0, hands_on=11.0), machines=(machine,)))
    assert quick.minutes_per_part("machine") == pytest.approx(9.0)
    assert slow.minutes_per_part("machine") == pytest.approx(12.0)  # the larger of 8 and 11, and the swap
    assert minutes(slow, "waiting for a person")[0] == pytest.approx(3.0)


def test_one_person_loads_beside_several_machines(shop):
    step = shop.step(programme=20.0, hands_on=6.0, walk=1.0, machines_tended=4)
    sheet = shop.sheet(shop.study(step))
    assert sheet.minutes_per_part("machine") == pytest.approx(28.0)  # the round of four takes 4 x 7
    assert sheet.minutes_per_part("hands-on") == pytest.approx(7.0)


def test_a_bar_is_fed_each_part_and_changed_each_bar(shop):
    machine = shop.machine(bar_advance=0.05, bar_change=2.9)
    blank = {
        "shape": "round",
        "mass": None,
        "diameter": 20.0,
        "length": 97.0,
        "kerf": 3.0,
        "bar_length": 3000.0,
        "remnant": 100.0,
        "finished_mass": 0.01,
    }
    material = shop.material(price=1.0, density=1e-6)
    step = shop.step(programme=2.0, feeds_bar=True)
    sheet = shop.sheet(shop.study(step, machines=(machine,), blank=blank, material=material))
    assert minutes(sheet, "bar feed")[0] == pytest.approx(0.05 + 2.9 / 29)  # 29 parts a bar
    whole = np.pi / 4 * 20.0**2 * 3000.0 * 1e-6
    assert element(sheet, "material", "blank") == pytest.approx(whole / 29)


def test_a_stockist_sells_no_less_than_a_minimum(shop):
    material = shop.material(price=2.0, minimum_mass=300.0)
    sheet = shop.sheet(shop.study(shop.step(), material=material, lot=200.0))
    assert element(sheet, "minimum buy", "blank") == pytest.approx((300.0 - 200.0) * 2.0 / 200.0)
    enough = shop.sheet(shop.study(shop.step(), material=material, lot=400.0))
    assert element(enough, "minimum buy", "blank") == 0.0


def test_chips_are_sold_as_far_as_they_are_kept(shop):
    material = shop.material(price=6.0, chip_credit=2.0, chip_recovery=0.75)
    sheet = shop.sheet(shop.study(shop.step(), material=material, blank={"mass": 1.0, "finished_mass": 0.4}))
    assert element(sheet, "chips sold", "blank") == pytest.approx(-0.6 * 0.75 * 2.0)


def test_hands_lent_by_the_step_that_stands_by(shop):
    steps = (
        shop.step(name="big", programme=40.0, attendance=0.1, parts_per_load=4),
        shop.step(
            name="small", programme=3.0, hands_on=1.6, loading="inside", parts_per_load=2, inspection=0.2
        ),
    )
    apart = shop.sheet(shop.study(*steps))
    lent = shop.sheet(shop.study(steps[0], {**steps[1], "tended_during": "big"}))
    # standing by: 4 min a load of 4; the small step asks for 0.8 a part, all but its inspection
    saved = apart.minutes_per_part("hands-on") - lent.minutes_per_part("hands-on")
    assert saved == pytest.approx(0.8)
    assert lent.minutes_per_part("machine") == pytest.approx(apart.minutes_per_part("machine"))
    assert lent.flags == ()
    little = shop.study({**steps[0], "attendance": 0.02}, {**steps[1], "tended_during": "big"})
    # standing by 0.2 a part, of which none is left over; 0.6 of the small step's 0.8, and its inspection
    sheet = shop.sheet(little)
    assert sheet.minutes_per_part("hands-on") == pytest.approx(0.2 + 0.6 + 0.2)
    lent = [item.hands_on for item in sheet.spent if item.what.startswith("done while")]
    assert lent == pytest.approx(
        [-0.4, 0.0]
    )  # of a load of two, nothing is left for what is done by the part


def test_a_step_too_slow_for_the_one_it_is_tended_during_is_flagged(shop):
    steps = (
        shop.step(name="big", programme=4.0, attendance=0.5),
        shop.step(name="small", programme=9.0, tended_during="big", hands_on=0.5, loading="inside"),
    )
    (flag,) = shop.sheet(shop.study(*steps)).flags
    assert flag.place == "small"
    assert "longer than big" in flag.text


def test_unattended_hours_are_what_machines_run_without_hands(shop):
    study = shop.study(shop.step(programme=30.0, hands_on=3.0, attendance=0.2))
    sheet = shop.sheet(study)
    per_year = float(study.demand.per_year)
    assert sheet.unattended_hours() == pytest.approx((30.0 - 3.0 - 6.0) * per_year / 60.0)


@pytest.mark.parametrize(("lot", "sample"), [(200.0, 50.0), (1000.0, 80.0), (5.0, 5.0)])
def test_a_sample_is_inspected_by_the_standard(shop, lot, sample):
    # ISO 2859-1 (ANSI/ASQ Z1.4), level II, normal: at 1.0 % a lot of 200 takes the 50 of letter H that the arrow
    # of G points to, a lot of 1,000 takes 80 of letter J; a lot below the sample is inspected whole
    study = shop.study(shop.step(sampled_inspection=1.5), lot=lot)
    (item,) = (it for it in shop.sheet(study).spent if it.what == "inspection of the sample")
    assert item.hands_on == pytest.approx(1.5 * sample)
    assert item.level == "lot"


def test_deburring_in_the_machine_and_at_a_bench_compare(shop):
    # 0.5 min of machine at 60 and 10 % attendance, against 1 min of hands at 42: neither is free
    edges = {
        "name": "e",
        "kind": "chamfer",
        "tool": "t",
        "length": 500.0,
        "spindle_speed": 5000.0,
        "feed": 1000.0,
    }
    inside = shop.part(shop.study(shop.step(cuts=[DRILL, edges], attendance=0.1)))
    bench = {"kind": "bench", "name": "deburr", "labour": "hand", "hands_on": 1.0, "step_yield": 1.0}
    outside = shop.part(shop.study(shop.step(cuts=[DRILL], attendance=0.1), bench))
    assert inside - outside == pytest.approx(0.5 * 1.0 + 0.05 * 0.7 - 1.0 * 0.7)


# --- rejects -------------------------------------------------------------------------------------------


def test_salvage_comes_off_what_lost_parts_cost(shop):
    step = shop.step(programme=20.0, step_yield=0.8)
    whole = shop.part(shop.study(step))
    saved = shop.part(shop.study({**step, "salvage": 4.0}))
    assert whole == pytest.approx(20.0 / 0.8)
    assert whole - saved == pytest.approx(4.0 * 0.2 / 0.8)


# First pass 80 %, three quarters of the rejects reworkable, two thirds of the reworks succeed: once, 0.15 reworks
# bring 0.10 good parts; until settled a quarter comes round again, and 0.20 reworks bring 0.1333.
@pytest.mark.parametrize(
    ("repeat", "good", "reworks"), [("once", 0.90, 0.15), ("until settled", 0.8 + 0.4 / 3, 0.20)]
)
def test_rework_saves_parts_and_costs_hands(shop, repeat, good, reworks):
    success = 2.0 / 3.0
    fix = {
        "reworkable": 0.75,
        "success": success,
        "labour": "hand",
        "hands_on": 6.0,
        "cost": 0.3,
        "repeat": repeat,
    }
    step = shop.step(programme=20.0, step_yield=0.8, rework=fix)
    sheet = shop.sheet(shop.study(step))
    assert sheet.parts_in["s"] == pytest.approx(1.0 / good)
    assert element(sheet, "rework") == pytest.approx(reworks * (6.0 * 0.7 + 0.3))
    assert sheet.minutes_per_part("hands-on") == pytest.approx(6.0 * reworks / good)
    assert shop.part(shop.study(step)) == pytest.approx((20.0 + reworks * 4.5) / good)


@pytest.mark.parametrize(("charged", "per_good"), [(True, (10.0 + 2.0) / 0.9), (False, 10.0 / 0.9 + 2.0)])
def test_a_finisher_charges_its_rejects_or_not(shop, charged, per_good):
    inputs = {
        "rates.processors.anodiser.price": 2.0,
        "rates.processors.anodiser.lot_minimum": 0.0,
        "rates.processors.anodiser.transport": 0.0,
        "rates.processors.anodiser.process_yield": 0.9,
    }
    out = {"kind": "outside", "name": "finish", "processor": "anodiser", "charged_rejects": charged}
    assert shop.part(shop.study(shop.step(programme=10.0), out, inputs=inputs)) == pytest.approx(per_good)


# --- paid once -----------------------------------------------------------------------------------------


def test_a_fixture_made_here_costs_hours_hands_and_material(shop):
    machine = shop.machine(other_yearly=96_000.0, consumables=16.0)  # 40 standing and 16 running an hour
    made = {"machine": "m", "machine_hours": 10.0, "labour": "hand", "hours": 20.0, "material": 180.0}
    once = [{"name": "plate", "kind": "fixture", **made, "end_value": 100.0}]
    study = shop.study(shop.step(), route={"once": once}, machines=(machine,))
    lines = [line for line in shop.sheet(study).lines if line.level == "once" and line.step == "route"]
    cash = sum(line.amount for line in lines if line.mark == "cash" and line.element == "fixture")
    standing = sum(line.amount for line in lines if line.mark == "allocated")
    assert cash == pytest.approx(10.0 * 16.0 + 20.0 * 42.0 + 180.0)
    assert standing == pytest.approx(10.0 * 40.0)
    assert shop.cost(study).once() == pytest.approx(cash)  # what is paid


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"cost": 5.0, "labour": "hand", "hours": 1.0}, "cost"),
        ({}, "cost"),
        ({"cost": 5.0, "hours": 1.0}, "labour"),
        ({"cost": 5.0, "material": 1.0}, "material"),
        ({"cost": 5.0, "share": 0.5, "other_volume": 10.0}, "share"),
    ],
)
def test_once_costs_are_stated_one_way(shop, changes, word):
    with pytest.raises(ValidationError) as caught:
        shop.study(shop.step(), route={"once": [{"name": "x", "kind": "other", **changes}]})
    assert word in {fault.place for it in caught.value.errors() for fault in it["ctx"]["faults"]}


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"cuts_from": "way.nowhere"}, "routes.way.steps.s.cuts_from"),
        ({"cuts_from": "way.s"}, "routes.way.steps.s.cuts_from"),
        ({"fixture": "none"}, "steps.s.fixture"),
        ({"tended_during": "s"}, "steps.s.tended_during"),
        ({"feeds_bar": True}, "routes.way.steps.s.feeds_bar"),
        ({"calls": "random"}, "calls"),
        ({"machines_tended": 3}, "hands_on"),
    ],
)
def test_names_that_nothing_answers_to(shop, changes, place):
    with pytest.raises(ValidationError) as caught:
        shop.study(shop.step(**changes))
    assert place in {fault.place for it in caught.value.errors() for fault in it["ctx"]["faults"]}


def test_two_routes_share_the_cuts_of_one():
    study = read_study(ROOT / "data" / "studies" / "saddle-clamp.toml")
    address = "part.routes.rotary.steps.five-sides.cuts.rough-dovetail.efficiency"
    slow = study.with_inputs({address: 0.3})
    for name in ("make-rotary", "make-single-vice"):
        before, after = (float(alternative_cost(it, name).per_part()) for it in (study, slow))
        assert after > before + 0.2


# --- draws ---------------------------------------------------------------------------------------------

DRAWN = {
    'rates.tools."drill-11.8mm".variation': (0.1, 0.6),
    'rates.tools."drill-11.8mm".reserve': (0.0, 0.5),
    "rates.tools.end-mill-16mm-4f.edge_minutes": (200.0, 900.0),
    "rates.tools.drill-5mm.coolant_factor": (1.1, 1.4),
    "rates.tools.tap-m6.parts_per_edge": (300.0, 1100.0),
    "rates.machines.mill-5x.door": (0.0, 0.3),
    "rates.machines.mill-5x.other_yearly": (0.0, 9000.0),
    "rates.materials.aluminium-6061.minimum_mass": (0.0, 200.0),
    "part.blank.remnant": (0.0, 400.0),
    "part.routes.rotary.steps.five-sides.unattended_share": (0.0, 0.9),
    "part.routes.rotary.steps.five-sides.detection": (0.0, 1.0),
    "part.routes.rotary.steps.five-sides.failure_stop": (0.0, 40.0),
    "part.routes.rotary.steps.five-sides.attendance": (0.0, 0.3),
    "part.routes.rotary.steps.five-sides.salvage": (0.0, 0.5),
    "part.routes.rotary.steps.five-sides.sampled_inspection": (0.0, 2.0),
    "part.routes.rotary.steps.five-sides.cuts.rough-outside.chip_thickness": (0.02, 0.06),
    "part.routes.rotary.steps.five-sides.cuts.finish-walls.finish_allowance": (0.0, 0.08),
    "part.routes.rotary.ramp_up.first_yield": (0.5, 0.9),
    "part.routes.rotary.ramp_up.learning_rate": (0.8, 1.0),
    "part.routes.rotary.once.quick-change-pallets.other_volume": (0.0, 9000.0),
    "alternatives.make-rotary.lot": (60.0, 800.0),
}


def test_an_array_of_draws_equals_a_stack_of_floats():
    study = read_study(ROOT / "data" / "studies" / "saddle-clamp.toml")
    spread = np.random.default_rng(3).uniform(size=(len(DRAWN), 6))
    drawn = {
        address: low + (high - low) * spread[at] for at, (address, (low, high)) in enumerate(DRAWN.items())
    }
    many = alternative_cost(study.with_inputs(drawn), "make-rotary")
    column = alternative_cost(
        study.with_inputs({address: values.reshape(-1, 1) for address, values in drawn.items()}),
        "make-rotary",
    )
    for at in range(6):
        one = alternative_cost(
            study.with_inputs({address: float(values[at]) for address, values in drawn.items()}),
            "make-rotary",
        )
        for total in (lambda it: it.per_part(), lambda it: it.once()):
            assert np.broadcast_to(total(many), 6)[at] == pytest.approx(float(total(one)), rel=1e-12)
            assert np.broadcast_to(total(column), (6, 1))[at, 0] == pytest.approx(
                float(total(one)), rel=1e-12
            )


def test_failures_that_lose_every_part_are_an_error(shop):
    tool = shop.tool(parts_per_edge=0.1, variation=1.0, policy="to failure")
    step = shop.step(cuts=[DRILL], parts_per_load=8, unattended_share=1.0, unattended_loads=20)
    with pytest.raises(InputError, match=r"steps\.s: found every part"):
        shop.sheet(shop.study(step, tools=(tool,)))
