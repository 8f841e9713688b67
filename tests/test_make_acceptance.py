"""The make side answers the shop's worked cases through the whole model.

The cases are a shop's own arithmetic, invented where no source is named: they check that minutes and money go
to the right level and clock, not that any figure is usual.
"""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.cost_lines import is_cash
from costmodel.errors import InputError
from costmodel.lot_size import cheapest_lot
from costmodel.machine_rate import idle_hours, rate_terms
from costmodel.records.fields import Named
from costmodel.records.study import Hours
from costmodel.tool_policy import night, tool_risks
from costmodel.tool_settings import compare_settings


def element(sheet, word, step="s"):
    return sheet.per_part(lambda line: line.element == word and line.step == step)


def test_m1_machine_minutes_of_a_part(shop):
    machine = shop.machine(pallet_swap=1.5)
    study = shop.study(shop.step(programme=46.0, parts_per_load=4), machines=(machine,))
    sheet = shop.sheet(study)
    assert sheet.minutes_per_part("machine") == pytest.approx(11.875)
    assert element(sheet, "machine") == pytest.approx(11.875)  # at 60.00 an hour


def test_m2_two_clocks(shop):
    machine = shop.machine(pallet_swap=1.5)
    step = shop.step(programme=46.0, parts_per_load=4, hands_on=7.0)
    study = shop.study(step, machines=(machine,), hand=30.0)
    study = study.with_inputs({"rates.labour.hand.on_costs": 0.40})  # 30 x 1.40 = 42 an hour
    assert element(shop.sheet(study), "labour") == pytest.approx(1.225)  # 7 min over four parts
    attended = shop.sheet(study.with_inputs({"part.routes.way.steps.s.attendance": 1.0}))
    assert element(attended, "labour") == pytest.approx(1.225 + 8.3125)  # and the 47.5 of the machine
    assert attended.minutes_per_part("hands-on") == pytest.approx((7.0 + 47.5) / 4.0)


@pytest.mark.parametrize(
    ("minutes", "lot", "money"),
    [(25.0, 200.0, 0.2125), (25.0, 50.0, 0.85), (150.0, 200.0, 1.275), (150.0, 50.0, 5.10)],
)
def test_m3_set_up_by_the_lot(shop, minutes, lot, money):
    study = shop.study(shop.step(set_up=minutes), lot=lot)  # 60 of machine and 42 of hands an hour
    assert element(shop.sheet(study), "set-up") == pytest.approx(money)


def test_m4_material_from_the_blank(shop):
    study = shop.study(
        shop.step(),
        blank={"mass": 0.62, "finished_mass": 0.21, "saw": 1.20},
        material=shop.material(price=6.834, chip_credit=1.10),
    )
    assert shop.sheet(study).per_part(lambda line: line.step == "blank") == pytest.approx(4.99, abs=0.005)


def stages(shop, yields):
    """Four bench steps that each add a stated sum."""
    return [
        {
            "kind": "bench",
            "name": f"b{at}",
            "labour": "hand",
            "hands_on": 0.0,
            "step_yield": good,
            "items": [{"name": "adds", "element": "other", "cost": adds}],
        }
        for at, (adds, good) in enumerate(zip((18.85, 3.20, 1.95, 0.50), yields, strict=True))
    ]


def test_m5_yield_by_stage(shop):
    study = shop.study(*stages(shop, (0.985, 0.99, 0.97, 1.0)))
    sheet = shop.sheet(study)
    assert shop.part(study) == pytest.approx(25.77, abs=0.005)
    assert sheet.parts_in["blank"] == pytest.approx(1.0572, abs=5e-5)
    assert sheet.blanks_to_start() == 212  # 200 x 1.0572 = 211.4
    assert shop.part(shop.study(*stages(shop, (1.0, 1.0, 1.0, 1.0)))) == pytest.approx(24.50)
    # lost at the first stage: 18.85 for each of 1.0572 x 0.015 parts, and so on with what each has cost so far
    scrap = {line.step: line.amount for line in sheet.lines if line.element == "scrap" and line.amount}
    through = {"b0": 0.985 * 0.99 * 0.97, "b1": 0.99 * 0.97, "b2": 0.97}
    so_far, lost = {"b0": 18.85, "b1": 22.05, "b2": 24.00}, {"b0": 0.015, "b1": 0.01, "b2": 0.03}
    assert scrap == pytest.approx({at: so_far[at] * lost[at] / through[at] for at in through})


@pytest.mark.parametrize(("lot", "money"), [(50.0, 2.80), (71.0, 1.97), (72.0, 1.95), (200.0, 1.95)])
def test_m6_lot_minimum_of_an_outside_process(shop, lot, money):
    out = {"kind": "outside", "name": "finish", "processor": "anodiser"}
    inputs = {
        "rates.processors.anodiser.price": 1.95,
        "rates.processors.anodiser.lot_minimum": 140.0,
        "rates.processors.anodiser.transport": 0.0,
        "rates.processors.anodiser.process_yield": 1.0,
    }
    sheet = shop.sheet(shop.study(shop.step(), out, lot=lot, inputs=inputs))
    assert element(sheet, "outside", "finish") == pytest.approx(money, abs=0.005)
    inputs["rates.processors.anodiser.transport"] = 38.0
    carried = shop.sheet(shop.study(shop.step(), out, lot=lot, inputs=inputs))
    assert element(carried, "outside", "finish") - element(sheet, "outside", "finish") == pytest.approx(
        38.0 / lot
    )


@pytest.mark.parametrize(("reserve", "money"), [(0.0, 0.080), (0.25, 0.107)])
def test_m7_tool_cost_from_a_count(shop, reserve, money):
    tool = shop.tool(price=48.0, parts_per_edge=600.0, reserve=reserve)
    study = shop.study(drilling(shop), tools=(tool,))
    assert element(shop.sheet(study), "tooling") == pytest.approx(money, abs=0.0005)
    two_edges = study.with_inputs({"rates.tools.t.edges": 2})
    assert element(shop.sheet(two_edges), "tooling") == pytest.approx(money / 2.0, abs=0.0005)
    ground = study.with_inputs({"rates.tools.t.regrinds": 2, "rates.tools.t.regrind_price": 6.0})
    assert element(shop.sheet(ground), "tooling") == pytest.approx(60.0 / 48.0 / 3.0 * money, abs=0.0005)


def drilling(shop, **changes):
    cut = {
        "name": "c",
        "kind": "drill",
        "tool": "t",
        "depth": 20.0,
        "cutting_speed": 60.0,
        "feed_per_rev": 0.1,
    }
    return shop.step(cuts=[cut], **changes)


@pytest.mark.parametrize(
    ("rent", "space", "together"), [("8 USD/m2/yr", 0.04, 70.81), ("8 USD/m2/mo", 0.53, 71.30)]
)
def test_m8_machine_hour_term_by_term(shop, rent, space, together):
    # University course solution of a machine-hour rate, terms 29.17 + 16.67 + 2.50 + 4.90 + 0.04 + 17.53:
    # 3,600 h; 1,040,000 replacement and 10,000 scrapping over 10 years; 60,000 interest; 9,000 maintenance;
    # 14 kWh an hour at 0.35; 20 m2 at 8 a year. The same rent by the month is twelve times that.
    machine = shop.machine(
        purchase_price=1_050_000.0,
        practical_hours=3600.0,
        other_yearly=60_000.0,
        maintenance=9_000.0,
        floor_area=20.0,
        power=14.0,
        load_factor=1.0,
        consumables=17.53,
    )
    inputs = {"rates.energy.grid.price": 0.35, "rates.spaces.hall.price": rent}
    study = shop.study(shop.step(), machines=(machine,), inputs=inputs)
    terms = {term.element: term for term in rate_terms(study.rates.machines["m"], study.rates)}
    assert terms["capital"].per_hour == pytest.approx(29.17, abs=0.005)
    assert terms["other standing"].per_hour == pytest.approx(16.67, abs=0.005)
    assert terms["maintenance"].per_hour == pytest.approx(2.50, abs=0.005)
    assert terms["energy"].per_hour == pytest.approx(4.90, abs=0.005)
    assert terms["space"].per_hour == pytest.approx(space, abs=0.005)
    assert sum(term.per_hour for term in terms.values()) == pytest.approx(together, abs=0.015)
    assert all(term.hours in (None, 3600.0) for term in terms.values())


def four_views(shop):
    machine = shop.machine(other_yearly=96_000.0, consumables=16.0)
    items = [{"name": "rest", "element": "other", "cost": 14.0}]
    study = shop.study(shop.step(programme=12.0, items=items), machines=(machine,))
    hours = Named({"m": Hours(name="m", free_hours=900.0, contribution=70.0)})
    return type(study)(**{**study.__dict__, "capacity": hours})


def test_m9_four_bases_and_what_each_says(shop):
    study, landed = four_views(shop), 28.00
    views = [shop.part(study, basis=basis) for basis in ("practical", "budgeted", "cash", "displaced")]
    assert views == pytest.approx([25.20, 30.00, 17.20, 31.20])
    assert ["make" if view < landed else "buy" for view in views] == ["make", "buy", "make", "buy"]
    for basis in ("practical", "budgeted", "cash", "displaced"):  # what moves cash is the same on all
        sheet = shop.sheet(study, basis=basis)
        assert sheet.per_part(lambda line: is_cash(line) and line.step == "s") == pytest.approx(17.20)


def test_m10_idle_hours_are_a_line_of_the_year(shop):
    study = four_views(shop)
    idle = idle_hours(study.rates.machines["m"], study.rates, 1500.0)
    assert idle.cost == pytest.approx(36_000.0)
    assert idle.standing_per_year / idle.practical_hours == pytest.approx(40.0)
    busy = idle_hours(study.rates.machines["m"], study.rates, 2400.0)
    assert busy.cost == pytest.approx(0.0)
    assert not any(line.element.startswith("idle") for line in shop.sheet(study).lines)


@pytest.mark.parametrize(
    ("items", "step", "blank", "places"),
    [
        ("consumables", {}, {}, ("items.extra", "rates.machines.m (consumables)")),
        ("inspection", {"inspection": 0.5}, {}, ("items.extra", "minutes of inspection")),
        ("tooling", {"cuts": True}, {}, ("items.extra", "tools of the cuts")),
        ("", {"saw": True}, {"saw": 0.5}, ("part.blank.saw", "steps.s saws too")),
    ],
)
def test_m11_a_cost_stated_twice_names_both_places(shop, items, step, blank, places):
    cut = {
        "name": "c",
        "kind": "drill",
        "tool": "t",
        "depth": 20.0,
        "cutting_speed": 60.0,
        "feed_per_rev": 0.1,
    }
    saw = {
        "name": "c",
        "kind": "saw",
        "tool": "t",
        "height": 40.0,
        "width": 40.0,
        "cutting_speed": 80.0,
        "feed": 50.0,
    }
    changes = dict(step)
    for word, made in (("cuts", cut), ("saw", saw)):
        if changes.pop(word, False):
            changes["cuts"] = [made]
    if items:
        changes["items"] = [{"name": "extra", "element": items, "cost": 0.2}]
    with pytest.raises(Exception) as caught:
        shop.study(shop.step(**changes), blank=blank)
    message = " ".join(
        f"{fault.place} {fault.expected}" for it in caught.value.errors() for fault in it["ctx"]["faults"]
    )
    for place in places:
        assert place in message


def test_m12_once_costs_stay_out_of_the_part(shop):
    once = [
        {"name": "programme", "kind": "programme", "hours": 100.0, "labour": "hand"},
        {"name": "fixture", "kind": "fixture", "cost": 14_200.0},
    ]
    study = shop.study(shop.step(), route={"once": once})
    cost = shop.cost(study)
    assert cost.once() == pytest.approx(18_400.0)
    assert cost.once() / 12_000 == pytest.approx(1.533, abs=0.0005)
    bare = shop.cost(shop.study(shop.step()))
    assert cost.per_part() == pytest.approx(bare.per_part())


# --- lots, tools, nights, settings, ramp-up, shared equipment -------------------------------------------


@pytest.mark.parametrize(("minutes", "lot"), [(150.0, 607.0), (25.0, 248.0)])
def test_s1_cheapest_lot(shop, minutes, lot):
    # 4,000 a year, a part of 23.10, 24 % holding: sqrt(2 x 4000 x 255.00 / 5.544) and with 42.50
    items = [{"name": "all", "element": "other", "cost": 23.10 - 1.0}]
    study = shop.study(shop.step(set_up=minutes, items=items))
    choice = cheapest_lot(study, "way")
    assert choice.cheapest == lot
    assert choice.cost <= choice.cost_now
    assert choice.by_lot == pytest.approx(4000.0 / lot * minutes * 1.70)


def test_s1_a_minimum_that_binds_moves_the_cheapest_lot(shop):
    out = {"kind": "outside", "name": "finish", "processor": "anodiser"}
    inputs = {
        "rates.processors.anodiser.price": 1.95,
        "rates.processors.anodiser.lot_minimum": 140.0,
        "rates.processors.anodiser.transport": 0.0,
        "rates.processors.anodiser.process_yield": 1.0,
    }
    items = [{"name": "all", "element": "other", "cost": 23.10 - 1.0 - 1.95}]
    study = shop.study(shop.step(set_up=25.0, items=items), out, inputs=inputs)
    assert cheapest_lot(study, "way").cheapest == 248.0  # 72 is not binding
    dear = study.with_inputs({"rates.processors.anodiser.lot_minimum": 800.0})
    assert cheapest_lot(dear, "way").cheapest == np.ceil(800.0 / 1.95)


def test_s2_cheapest_count_and_running_to_failure(shop):
    # shape 4, scale 600: mean 543.8 and a coefficient of variation of 0.2805; 51.40 planned, 358.00 on failure
    tool = shop.tool(
        price=51.40, parts_per_edge=543.84, variation=0.28054, reserve=0.0, lost_in_failure="tool"
    )
    step = drilling(shop, failure_spoils="part", failure_stop=306.60 / 1.70)
    risk = tool_risks(shop.study(step, tools=(tool,)), "way").priced[0]
    assert risk.planned_cost == pytest.approx(51.40)
    spoilt = risk.failure.parts
    assert risk.failure.whole - spoilt == pytest.approx(358.0)
    assert spoilt < 1.0  # one drilled part, with its tool
    assert risk.cheapest.change_at == pytest.approx(290.0, rel=0.01)
    assert risk.cheapest.cost_per_part == pytest.approx(0.236, abs=0.0005)
    assert risk.to_failure.cost_per_part == pytest.approx(0.658, abs=0.0015)


def test_s4_a_night_with_and_without_detection(shop):
    # six loads of four; 0.4 % a load: -ln(0.996)/4 failures a part
    rate = -np.log(0.996) / 4.0
    tool = shop.tool(parts_per_edge=1.0 / rate, variation=1.0, policy="to failure")
    study = shop.study(drilling(shop, parts_per_load=4), tools=(tool,))
    run = night(study, "way", "s", 6, 230.0)
    assert run.parts == 24
    assert run.scrap_unseen == pytest.approx(0.334, abs=0.0005)
    assert run.scrap_seen == pytest.approx(0.095, abs=0.0005)
    each = run.cost_unseen / (run.scrap_unseen * 230.0)
    assert run.cost_unseen / each * 22.0 == pytest.approx(1689.0, abs=2.0)
    assert run.cost_seen / each * 22.0 == pytest.approx(481.0, abs=2.0)


def test_s5_machines_tended_and_waiting(shop):
    inside = {"programme": 46.0, "hands_on": 6.0, "loading": "inside", "walk": 1.0}
    waits = []
    for machines in (1, 7, 8):
        sheet = shop.sheet(shop.study(shop.step(**inside, machines_tended=machines)))
        waits.append(sheet.minutes_per_part("machine") - 52.0)
    assert waits == pytest.approx([0.0, 0.0, 8 * 7.0 - 52.0])  # (6 + 46) / (6 + 1) = 7.4 machines
    random = shop.sheet(shop.study(shop.step(**inside, machines_tended=7, calls="random")))
    assert random.minutes_per_part("machine") > 52.0 + 3.0  # irregular calls wait where regular ones do not


def test_s6_price_of_careful_feeds(shop):
    study = four_views(shop)
    address = "part.routes.way.steps.s.programme"
    careful = study.with_inputs({address: 46.0, "part.routes.way.steps.s.parts_per_load": 4})
    change = compare_settings(careful, "way", {address: 37.0}, ("practical", "budgeted", "cash"))
    assert change.minutes_per_part == pytest.approx(2.25)
    assert change.hours_per_year == pytest.approx(150.0)
    # beyond the hour itself a dearer part also ties up money in stock: 24 % of half a lot in 4,000 parts
    stock = 1.0 + 0.24 * 100.0 / 4000.0
    assert change.saved["cash"] == pytest.approx(0.60 * stock)
    assert change.saved["budgeted"] == pytest.approx(3.00, rel=0.005)


def test_s7_ramp_up_is_paid_once(shop):
    items = [{"name": "all", "element": "other", "cost": 20.0 - 1.0}]
    ramp = {"weeks": 6, "first_yield": 0.70, "good_per_week": 40.0}
    study = shop.study(shop.step(step_yield=0.95, items=items), route={"ramp_up": ramp})
    sheet = shop.sheet(study)
    lines = [line for line in sheet.lines if line.step == "ramp-up"]
    assert all(line.level == "once" for line in lines)
    assert sum(line.amount for line in lines) == pytest.approx(
        829.0, abs=1.0
    )  # 294 blanks against 253, at 20.00
    without = shop.sheet(shop.study(shop.step(step_yield=0.95, items=items)))
    assert sheet.per_part() == pytest.approx(without.per_part())


@pytest.mark.parametrize("model", ["crawford", "wright"])
def test_s7_hands_learn_and_machines_do_not(shop, model):
    ramp = {
        "weeks": 2,
        "first_yield": 1.0,
        "good_per_week": 0.0,
        "learning_rate": 0.9,
        "learned_at": 64.0,
        "learning": model,
    }
    step = shop.step(programme=30.0, hands_on=10.63)
    (line,) = (
        line
        for line in shop.sheet(shop.study(step, route={"ramp_up": ramp})).lines
        if (line.step, line.element) == ("ramp-up", "labour")
    )
    exponent = np.log2(0.9)
    units = np.arange(1, 65)
    times = (
        units**exponent if model == "crawford" else units ** (1 + exponent) - (units - 1) ** (1 + exponent)
    )
    first = 10.63 / times[-1]
    if model == "crawford":
        assert first == pytest.approx(20.0, abs=0.01)  # 90 % from 20 min: unit 64 takes 10.63
    extra = np.sum(first * times - 10.63)
    assert line.amount == pytest.approx(extra * 0.70, rel=1e-9)


def test_s17_pallets_shared_by_volume(shop):
    once = [{"name": "pallets", "kind": "pallets", "cost": 4800.0, "other_volume": 4000.0}]
    study = shop.study(shop.step(), route={"once": once}, inputs={"demand.per_year": 4000.0})
    assert shop.cost(study).once() == pytest.approx(2400.0)  # 4,000 of 4,000 + 2,500 + 1,500


def test_a_tool_that_lasts_no_whole_part_is_named(shop):
    tool = shop.tool(life="minutes", edge_minutes=0.01, parts_rule="whole")
    with pytest.raises(InputError, match=r"tools\.t"):
        shop.sheet(shop.study(drilling(shop), tools=(tool,)))
