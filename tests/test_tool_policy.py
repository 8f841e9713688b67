"""Tools whose life scatters: the model's failures against simulation, the cheapest rule against the model itself."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from costmodel.errors import InputError
from costmodel.records.address import sweep
from costmodel.tool_policy import night, tool_risks
from costmodel.tool_settings import (
    brisk_feed,
    compare_settings,
    feed_address,
    setting_curve,
    setting_curves,
)

CUT = {
    "name": "c",
    "kind": "drill",
    "tool": "t",
    "depth": 20.0,
    "point": "none",
    "spindle_speed": 500.0,
    "feed": 40.0,
}
RESERVE = "rates.tools.t.reserve"


def scattered(shop, step=None, **tool):
    stated = {"price": 50.0, "parts_per_edge": 500.0, "variation": 0.3, "reserve": 0.2, "change_minutes": 2.0}
    changed = {"parts_per_load": 4, "failure_stop": 10.0, "step_yield": 0.98, **(step or {})}
    return shop.study(shop.step(cuts=[CUT], **changed), tools=(shop.tool(**{**stated, **tool}),))


@pytest.mark.parametrize("family", ["weibull", "lognormal"])
def test_failures_and_use_agree_with_simulated_edges(shop, family):
    study = scattered(shop, family=family)
    (use,) = shop.sheet(study).tools
    random = np.random.default_rng(11)
    if family == "lognormal":
        sigma = np.sqrt(np.log(1.09))
        lives = np.exp(np.log(500.0) - sigma**2 / 2 + sigma * random.standard_normal(400_000))
    else:
        draws = random.weibull(3.7138, 400_000)  # shape of a coefficient of variation of 0.3
        lives = 500.0 * draws / np.mean(draws)
    made = np.minimum(lives, 400.0)
    assert use.parts_per_edge == pytest.approx(400.0)
    assert use.mean_use == pytest.approx(np.mean(made), rel=2e-3)
    assert use.failures == pytest.approx(np.mean(lives < 400.0) / np.mean(made), rel=2e-2)
    assert use.life_used == pytest.approx(np.mean(made) / 500.0, rel=2e-3)


def test_an_unattended_stretch_agrees_with_simulated_loads(shop):
    # short lives, so that a second failure in the same stretch counts
    step = {"unattended_share": 1.0, "unattended_loads": 6, "detection": 0.5}
    study = scattered(shop, step, parts_per_edge=60.0)
    sheet = shop.sheet(study)
    (use,), losses = sheet.tools, sheet.losses["s"]
    random = np.random.default_rng(5)
    chance, nights = 1.0 - np.exp(-use.failures * 4), 400_000
    broken, stopped, spoilt, failures, idle, cut = (np.zeros(nights) for _ in range(6))
    for _ in range(6):
        idle += stopped
        cut += 4 * (stopped == 0)
        fails = (broken == 0) & (stopped == 0) & (random.random(nights) < chance)
        failures += fails
        broken = np.where(fails, 1, broken)
        spoilt += 4 * broken
        seen = (broken == 1) & (random.random(nights) < 0.5)
        broken, stopped = np.where(seen, 0, broken), np.where(seen, 1, stopped)
    assert losses.unattended == pytest.approx(np.sum(spoilt) / np.sum(failures), rel=0.02)
    assert losses.lost == pytest.approx(np.sum(spoilt) / np.sum(cut), rel=0.01)  # of the parts that enter
    load = 4 * (sheet.minutes_per_part("machine") / sheet.parts_in["s"] - losses.failures * losses.stopped)
    assert losses.stopped - 10.0 == pytest.approx(np.sum(idle) / np.sum(failures) * load, rel=0.02)


def test_what_failures_lose_weighs_loads_with_and_without_a_person(shop):
    step = {"unattended_share": 0.25, "unattended_loads": 6, "detection": 0.5}
    sheet = shop.sheet(scattered(shop, step))
    (use,), losses = sheet.tools, sheet.losses["s"]
    assert losses.attended == 4.0
    assert losses.unattended > 6.0
    by_day, by_night = (
        shop.sheet(scattered(shop, {**step, "unattended_share": share})).losses["s"].lost
        for share in (0.0, 1.0)
    )
    assert by_day == pytest.approx(1.0 - np.exp(-4.0 * use.failures))  # a load in which no edge fails is good
    assert losses.lost == pytest.approx(0.75 * by_day + 0.25 * by_night)
    assert sheet.parts_in["s"] == pytest.approx(1.0 / (0.98 * (1.0 - losses.lost)))
    alone = shop.sheet(scattered(shop, {**step, "failure_spoils": "part"})).losses["s"]
    assert alone.attended == 1.0


@pytest.mark.parametrize("alone", [0.0, 1.0])
def test_no_more_parts_are_lost_than_enter(shop, alone):
    step = {"parts_per_load": 300, "unattended_share": alone, "unattended_loads": 3}
    losses = shop.sheet(scattered(shop, step, policy="to failure")).losses["s"]
    # an edge fails each 500 parts on average: a load of 300 is good with the chance exp(-0.6)
    good = np.exp(-0.6)
    through = good if alone == 0.0 else (good + good**2 + good**3) / 3.0
    assert losses.lost == pytest.approx(1.0 - through)


@pytest.mark.parametrize(("edges", "regrinds"), [(1, 2), (4, 0)])
def test_a_failure_takes_an_edge_or_the_whole_used_tool(shop, edges, regrinds):
    stated = {"edges": edges, "regrinds": regrinds, "regrind_price": 13.0}
    whole, edge = (scattered(shop, **stated, lost_in_failure=lost) for lost in ("tool", "edge"))
    (one,), (other,) = shop.sheet(whole).tools, shop.sheet(edge).tools
    assert other.cost_per_part == pytest.approx(
        (50.0 + 13.0 * regrinds) / edges / (regrinds + 1) / other.mean_use
    )
    # tools simulated one by one: each ends with its first failed edge, or with its last
    random = np.random.default_rng(3)
    lives = random.weibull(3.7138, 400_000)  # shape of a coefficient of variation of 0.3
    lives *= 500.0 / np.mean(lives)
    money, had = 50.0, 0
    for life in lives:
        had += 1
        if life < 400.0 or had == edges * (regrinds + 1):
            money, had = money + 50.0, 0
        elif had % edges == 0:
            money += 13.0
    assert one.cost_per_part == pytest.approx(money / np.sum(np.minimum(lives, 400.0)), rel=5e-3)
    lost = tool_risks(whole, "way").priced[0].failure.tool - tool_risks(edge, "way").priced[0].failure.tool
    assert 0.0 < lost < 50.0


def test_the_cheapest_count_of_a_reground_tool_is_the_cheapest_in_the_model(shop):
    study = scattered(shop, price=90.0, regrinds=3, regrind_price=13.0, lost_in_failure="tool")
    (risk,) = tool_risks(study, "way").priced
    reserves = np.linspace(-0.5, 0.8, 651)
    totals = np.ravel(shop.cost(study.with_inputs({RESERVE: sweep(reserves)})).per_part())
    assert 500.0 * (1.0 - reserves[np.argmin(totals)]) == pytest.approx(risk.cheapest.change_at, abs=3.0)
    now = float(np.ravel(shop.cost(study).per_part())[0])
    assert (now - totals.min()) * 4000.0 == pytest.approx(risk.above_cheapest, rel=0.02)


def test_a_sister_tool_goes_on_through_the_night(shop):
    step = {"unattended_share": 0.25, "unattended_loads": 6, "detection": 1.0}
    single, double = (shop.sheet(scattered(shop, step, sisters=number)).losses["s"] for number in (1, 2))
    assert single.stopped > 10.0 + 1.0
    assert double.stopped == 10.0


def test_the_cheapest_count_is_the_cheapest_in_the_model(shop):
    study = scattered(shop)
    (risk,) = tool_risks(study, "way").priced
    reserves = np.linspace(-0.5, 0.8, 651)
    totals = np.ravel(shop.cost(study.with_inputs({RESERVE: sweep(reserves)})).per_part())
    best = 500.0 * (1.0 - reserves[np.argmin(totals)])
    assert best == pytest.approx(risk.cheapest.change_at, abs=3.0)
    # and what the rule costs now beyond it is what the whole model says, stock and yield included
    now = float(np.ravel(shop.cost(study).per_part())[0])
    assert (now - totals.min()) * 4000.0 == pytest.approx(risk.above_cheapest, rel=0.02)


def test_failures_of_the_cheapest_rule_agree_with_simulated_edges_and_the_model(shop):
    study = scattered(shop)
    (risk,) = tool_risks(study, "way").priced
    through = shop.sheet(study).parts_in["s"] * 4000.0
    draws = np.random.default_rng(12).weibull(3.7138, 400_000)  # shape of a coefficient of variation of 0.3
    lives = 500.0 * draws / np.mean(draws)
    made = np.minimum(lives, risk.cheapest.change_at)
    simulated = np.mean(lives < risk.cheapest.change_at) / np.mean(made) * through
    assert risk.cheapest.failures_per_year == pytest.approx(simulated, rel=2e-2)
    kept = study.with_inputs({RESERVE: 1.0 - float(risk.cheapest.change_at) / 500.0})
    (again,) = tool_risks(kept, "way").priced
    assert again.now.failures_per_year == pytest.approx(risk.cheapest.failures_per_year, rel=5e-3)
    assert again.failures_spared == pytest.approx(0.0, abs=0.02)


def test_beyond_the_mean_only_where_life_scatters(shop):
    with pytest.raises(ValidationError):
        shop.tool(reserve=-0.2)
    assert shop.tool(reserve=-0.2, variation=0.3).reserve == -0.2


def test_running_to_failure_costs_in_the_model_what_it_says(shop):
    study = scattered(shop)
    (risk,) = tool_risks(study, "way").priced
    waiting = study.with_inputs({"rates.tools.t.policy": "to failure"})
    more = float(shop.cost(waiting).per_year() - shop.cost(study).per_year())
    assert more == pytest.approx(risk.to_failure.cost_per_year - risk.now.cost_per_year, rel=0.02)
    (use,) = shop.sheet(waiting).tools
    assert use.parts_per_edge == np.inf
    assert use.mean_use == pytest.approx(500.0)
    assert use.failures == pytest.approx(1 / 500.0)


def test_a_dearer_failure_asks_for_an_earlier_change(shop):
    alone = {"unattended_share": 0.5, "unattended_loads": 8}
    counts = [
        float(tool_risks(scattered(shop, step), "way").priced[0].cheapest.change_at)
        for step in ({"failure_spoils": "part", "failure_stop": 0.0}, {}, alone)
    ]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > 1.3 * counts[2]


def test_a_sister_tool_spares_the_machine(shop):
    one, two = scattered(shop), scattered(shop, sisters=2)
    (single,), (double,) = shop.sheet(one).tools, shop.sheet(two).tools
    assert double.waiting_per_part == 0.0
    (item,) = (it for it in shop.sheet(two).spent if it.what == "worn tools changed")
    assert (item.machine, item.hands_on) == (0.0, double.change_minutes_per_part)
    assert double.change_minutes_per_part == single.change_minutes_per_part > 0.0
    assert tool_risks(two, "way").priced[0].planned_cost == pytest.approx(50.0 + 2.0 * 0.7)
    assert tool_risks(one, "way").priced[0].planned_cost == pytest.approx(50.0 + 2.0 * 1.7)


def test_a_tool_without_scatter_is_named_and_not_judged(shop):
    study = scattered(shop, variation=None)
    risks = tool_risks(study, "way")
    assert risks.priced == ()
    assert risks.unstated == ("t",)
    stated = study.with_inputs({"rates.tools.t.variation": 0.3})
    assert tool_risks(stated, "way").priced[0].life_parts == 500.0


def test_only_what_is_made_has_tools(shop):
    with pytest.raises(InputError, match="an alternative that is made"):
        tool_risks(scattered(shop), "status-quo")


# --- lives ----------------------------------------------------------------------------------------------

HALF = {"run_out_factor": 0.5, "run_out_low": 0.4, "run_out_high": 1.0, "run_out_source": "invented"}
COOLED = {"coolant_factor": 1.5, "coolant_low": 1.2, "coolant_high": 2.0, "coolant_source": "invented"}
MORE = {**CUT, "name": "d", "count": 3}


@pytest.mark.parametrize(
    ("tool", "parts"),
    [
        ({"life": "count", "parts_per_edge": 120.0}, 120.0),
        ({"life": "minutes", "edge_minutes": 60.0}, 60.0 / (4 * 0.5)),
        ({"life": "holes", "holes_per_edge": 400.0}, 100.0),
        ({"life": "length", "edge_length": 8000.0}, 100.0),  # 4 holes of 20 mm
        ({"life": "count", "parts_per_edge": 120.0, **COOLED}, 180.0),
        ({"life": "count", "parts_per_edge": 120.0, **HALF, **COOLED}, 90.0),
        ({"life": "minutes", "edge_minutes": 60.0, **HALF}, 15.0),
        ({"life": "holes", "holes_per_edge": 400.0, **HALF}, 50.0),
        ({"life": "length", "edge_length": 8000.0, **HALF}, 50.0),
        ({"life": "taylor", "taylor_constant": 500.0 * np.pi, "taylor_exponent": 0.5, **HALF}, 2500.0),
        ({"life": "count", "parts_per_edge": 120.5, "reserve": 0.5, "parts_rule": "whole"}, 60.0),
    ],
)
def test_parts_of_an_edge_by_each_model(shop, tool, parts):
    study = shop.study(shop.step(cuts=[CUT, MORE]), tools=(shop.tool(**tool),))
    (use,) = shop.sheet(study).tools
    assert use.parts_per_edge == pytest.approx(parts)


def test_wear_of_cuts_at_two_speeds_adds_up(shop):
    # v T^0.5 = 100: at 10 m/min 100 min, at 20 m/min 25 min; 0.5 and 1.5 min in cut use 0.005 + 0.06 of a life
    speeds = (
        {**CUT, "spindle_speed": None, "cutting_speed": 10.0},
        {**MORE, "spindle_speed": None, "cutting_speed": 20.0},
    )
    cuts = [{key: value for key, value in cut.items() if value is not None} for cut in speeds]
    tool = shop.tool(life="taylor", taylor_constant=100.0, taylor_exponent=0.5)
    (use,) = shop.sheet(shop.study(shop.step(cuts=cuts), tools=(tool,))).tools
    assert use.life_parts == pytest.approx(1.0 / 0.065)


def test_extended_taylor_with_feed(shop):
    # v T^0.5 f^0.5 = 100 at 10 m/min: with twice the feed the life halves, and the time in cut too
    slow = {key: value for key, value in CUT.items() if key not in ("feed", "spindle_speed")}
    parts = []
    for feed in (0.1, 0.2):
        cut = {**slow, "cutting_speed": 10.0, "feed_per_rev": feed}
        tool = shop.tool(life="taylor", taylor_constant=100.0, taylor_exponent=0.5, feed_exponent=0.5)
        parts.append(shop.sheet(shop.study(shop.step(cuts=[cut]), tools=(tool,))).tools[0].life_parts)
    assert parts[0] == pytest.approx(parts[1])


@pytest.mark.parametrize("word", ["run_out", "coolant", "coating"])
@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"source": ""}, "source"),
        ({"low": None}, "low"),
        ({"high": None}, "high"),
        ({"low": 0.95}, "factor"),
        ({"high": 0.85}, "factor"),
        ({"factor": 1.0, "high": 0.95}, "factor"),
    ],
)
def test_a_factor_needs_its_range_and_source_and_stays_inside(shop, word, changes, place):
    stated = {"factor": 0.9, "low": 0.8, "high": 1.1, "source": "invented"}
    assert shop.tool(**{f"{word}_{end}": value for end, value in stated.items()})
    with pytest.raises(ValidationError) as caught:
        shop.tool(**{f"{word}_{end}": value for end, value in {**stated, **changes}.items()})
    places = {fault.place for it in caught.value.errors() for fault in it["ctx"]["faults"]}
    assert places == {f"{word}_{place}"}


def test_a_factor_is_one_until_it_is_stated(shop):
    tool = shop.tool()
    assert (tool.run_out_factor, tool.coolant_factor, tool.coating_factor) == (1.0, 1.0, 1.0)


def test_a_draw_of_a_factor_outside_its_range_is_refused(shop):
    study = shop.study(shop.step(cuts=[CUT]), tools=(shop.tool(**COOLED),))
    inside = study.with_inputs({"rates.tools.t.coolant_factor": np.array([1.2, 1.9])})
    assert shop.sheet(inside).tools[0].parts_per_edge.tolist() == [1.2e9, 1.9e9]
    with pytest.raises(InputError, match=r"within its range, 1\.2 to 2"):
        study.with_inputs({"rates.tools.t.coolant_factor": np.array([1.2, 2.1])})


def test_the_last_life_of_a_reground_tool_may_be_lost(shop):
    # 48.00 and three regrinds of 4.00: 60.00 over four lives of 100 parts, or over three
    made = {"price": 48.0, "parts_per_edge": 100.0, "regrinds": 3, "regrind_price": 4.0}
    cost = [
        shop.sheet(shop.study(shop.step(cuts=[CUT]), tools=(shop.tool(**made, last_life=last),)))
        .tools[0]
        .cost_per_part
        for last in ("used", "lost")
    ]
    assert cost == pytest.approx([0.15, 0.20])
    with pytest.raises(ValidationError):
        shop.tool(last_life="lost")


# --- speeds and feeds -----------------------------------------------------------------------------------


def test_the_cheapest_speed_is_taylors(shop):
    # Cheapest life (1/n - 1)(change time + edge cost over rate): n = 0.25, 2 min and 4.80 at 60 an hour, so
    # 3 (2 + 4.8) = 20.4 min: M. P. Groover, Fundamentals of Modern Manufacturing, minimum-cost speed
    turned = {"diameter": 50.0, "length": 300.0, "depth": 1.0, "depth_of_cut": 1.0}
    cut = {"name": "c", "kind": "turn", "tool": "t", **turned, "cutting_speed": 150.0, "feed_per_rev": 0.2}
    tool = shop.tool(
        price=4.8, life="taylor", taylor_constant=400.0, taylor_exponent=0.25, change_minutes=2.0
    )
    study = shop.study(shop.step(cuts=[cut]), tools=(tool,), hand=0.0)
    address = "part.routes.way.steps.s.cuts.c.cutting_speed"
    curve = setting_curve(study, "way", address, np.arange(100.0, 300.0, 1.0))
    assert curve.best == pytest.approx(400.0 / 20.4**0.25, abs=0.5)
    assert curve.cost_best < curve.cost_now
    held = study.with_inputs({"rates.machines.m.spindle_speed": 1100.0})
    limited = setting_curve(held, "way", address, np.arange(100.0, 300.0, 1.0))
    assert limited.best == 172.0  # 1100 / min of 50 mm is 172.8 m/min
    assert next(speed for speed, far in zip(limited.values, limited.beyond, strict=True) if far) == 173.0


def test_twice_the_feed_saves_half_the_time_and_no_more_life_than_it_pays(shop):
    study = scattered(shop, variation=None, parts_per_edge=100.0, reserve=0.0)
    brisk = brisk_feed(study, "way", "s", "c")
    assert brisk.address.endswith("cuts.c.feed")
    assert (brisk.now, brisk.brisk) == (40.0, 80.0)
    parts_in = 1.0 / 0.98
    assert brisk.change.minutes_per_part == pytest.approx(0.25 * parts_in)
    assert not brisk.life_follows
    # the edge and its change cost 53.40 over 100 parts; the saving is 0.25 min at 60: 0.534/(0.534 + 0.25)
    assert brisk.break_even_life["practical"] == pytest.approx(0.534 / 0.784, rel=2e-3)
    limited = study.with_inputs({"rates.machines.m.max_feed": 60.0})
    (flag,) = brisk_feed(limited, "way", "s", "c").change.flags
    assert "feed 80" in flag.text


def test_a_pitch_is_no_feed_to_double(shop):
    tap = {"name": "c", "kind": "tap", "tool": "t", "depth": 10.0, "pitch": 1.0, "spindle_speed": 100.0}
    with pytest.raises(InputError, match="states a feed"):
        feed_address(shop.study(shop.step(cuts=[tap])), "way", "s", "c")


def test_nothing_changed_saves_nothing(shop):
    study = scattered(shop)
    change = compare_settings(study, "way", {RESERVE: 0.2})
    assert change.minutes_per_part == 0.0
    assert set(change.saved.values()) == {0.0}
    assert change.flags == ()


def test_a_night_of_tools_that_do_not_scatter_spoils_nothing(shop):
    run = night(scattered(shop, variation=None), "way", "s", 5, 200.0)
    assert run.parts == 20
    assert run.scrap_unseen == run.cost_seen == 0.0


def test_a_lost_part_has_one_price_by_day_and_by_night(shop):
    study = scattered(shop, {"salvage": 0.3, "unattended_share": 1.0, "unattended_loads": 6})
    (risk,) = tool_risks(study, "way").priced
    alone = night(study, "way", "s", 6, 1.0)
    each = shop.sheet(study).cost_so_far("s") - 0.3
    assert risk.failure.parts / risk.lost_parts == pytest.approx(each)
    assert alone.cost_unseen / alone.scrap_unseen == pytest.approx(each)


def test_a_cut_that_passes_a_limit_already_is_given_no_setting_that_passes_another(shop):
    # too fast for the spindle as it stands; from 40 mm/min on too fast for the feed as well
    fast = {**CUT, "spindle_speed": 700.0, "feed": 20.0}
    slow = (shop.machine(spindle_speed=600.0, max_feed=40.0),)
    study = shop.study(shop.step(cuts=[fast]), tools=(shop.tool(),), machines=slow)
    curve = setting_curve(study, "way", "part.routes.way.steps.s.cuts.c.feed", (20.0, 30.0, 60.0, 90.0))
    assert curve.beyond == (False, False, True, True)
    assert curve.best == 30.0


def test_the_cheapest_settings_of_cuts_are_searched_through_the_model(shop):
    # as above, 400 / 20.4^0.25 = 188.2 m/min, on a grid of half to twice the speed now
    turned = {"diameter": 50.0, "length": 300.0, "depth": 1.0, "depth_of_cut": 1.0}
    cut = {"name": "c", "kind": "turn", "tool": "t", **turned, "cutting_speed": 150.0, "feed_per_rev": 0.2}
    law = {"life": "taylor", "taylor_constant": 400.0, "taylor_exponent": 0.25, "change_minutes": 2.0}
    study = shop.study(shop.step(cuts=[cut]), tools=(shop.tool(price=4.8, **law),), hand=0.0)
    speed, feed = setting_curves(study, "way", [("s", "c")])
    assert (speed.setting, feed.setting) == ("cutting_speed", "feed_per_rev")
    assert (speed.life_follows, feed.life_follows) == (True, False)
    assert speed.curve.best in speed.curve.values
    assert speed.curve.best == pytest.approx(188.2, rel=2.0 ** (1 / 12) - 1.0)
    assert feed.curve.best == max(feed.curve.values) == pytest.approx(0.4)
