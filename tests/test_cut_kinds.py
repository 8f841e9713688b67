"""Each kind of cut takes the minutes that can be worked out on paper, and says what machine and tool cannot do."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from pydantic import TypeAdapter, ValidationError

from costmodel.cut_minutes import MINUTES
from costmodel.cut_time import cut_time
from costmodel.errors import InputError
from costmodel.machine_work import tool_changes
from costmodel.reading import read_study
from costmodel.records import cut_words
from costmodel.records.cuts import AnyCut, Holes, Milling, Saw, Turning
from costmodel.tool_settings import brisk_feed

ROOT = Path(__file__).parent.parent
N = 1000.0
FEED = {"spindle_speed": N, "feed": 240.0}
TURN = {"spindle_speed": 500.0, "feed_per_rev": 0.2}

# Ways in feed and elsewhere worked out on paper, with a tool of 10 mm and round numbers throughout.
CASES = {
    # 3 lanes of 90 + 10 mm; of 3 mm two rough levels and a finish at half the feed: 4 x 300 mm at 1,200
    "face": (
        {"length": 90.0, "width": 30.0, "width_of_cut": 10.0, "depth": 3.0, "depth_of_cut": 1.0},
        1.0,
        0.0,
    ),
    # 200 mm; one rough pass and a finish at half the feed, on two levels: 3 x 2 x 200 at 600
    "contour": (
        {"length": 200.0, "radial_stock": 0.25, "width_of_cut": 0.2, "depth": 40.0, "depth_of_cut": 20.0},
        2.0,
        0.0,
    ),
    # 30 cm3 at 1 x 10 x 1,000 mm3 a minute, half of it in air
    "clear": ({"volume": 30_000.0, "width_of_cut": 1.0, "depth_of_cut": 10.0, "efficiency": 0.5}, 6.0, 0.0),
    # centre reaches 20 x 20: 5 lanes and 20 across, 120 mm on each of 2 levels at 240; wall 80 mm twice at half
    "pocket": (
        {
            "length": 30.0,
            "width": 30.0,
            "depth": 10.0,
            "width_of_cut": 5.0,
            "depth_of_cut": 5.0,
            "corner_radius": 5.0,
            "wall_depth_of_cut": 5.0,
        },
        1.0 + 160 / 120,
        0.0,
    ),
    # 100 + 10 mm on two levels at 220
    "slot": ({"length": 100.0, "depth": 6.0, "depth_of_cut": 3.0}, 1.0, 0.0),
    # a disc of 100 mm, 20 deep: sqrt(20 x 80) = 40 before the 60 mm are cut; two runs at 200
    "side-mill": ({"length": 60.0, "width": 2.0, "depth": 40.0, "depth_of_cut": 20.0}, 1.0, 0.0),
    # a point of 90 deg on 10 mm is 5 high: 15 + 5 at 40, and out at feed
    "drill": ({"depth": 15.0, "through": True, "point_angle": 90.0, "retract": "feed"}, 0.5, 0.5),
    # 30 + 10 at 80 in and out
    "ream": ({"depth": 30.0, "stock": 0.25, "overrun": 10.0}, 0.5, 0.5),
    # 0.6 mm on the wall in two cuts of 20 mm at 40, out at feed
    "bore-mill": (
        {"diameter": 30.0, "depth": 20.0, "stock": 0.6, "depth_of_cut": 0.3, "retract": "feed"},
        1.0,
        1.0,
    ),
    # 10 turns of 1 mm at 100 turns a minute, out at twice that, 0.01 min to reverse
    "tap": ({"turns": 10.0, "threads_per_inch": 25.4, "return_ratio": 2.0, "reversing": 0.01}, 0.10, 0.06),
    # the centre goes round 10 pi = 31.416 and climbs 5/12 of that: 34.034, at half the feed of the edge
    "thread-mill": ({"thread_diameter": 20.0, "pitch": 50.0 / 12.0 * np.pi, "depth": 5.0}, 1.0, 0.0),
    # 500 mm twice at 1,000; three entries of 0.1 min each time
    "chamfer": ({"length": 500.0, "passes": 2, "entries": 3, "entry_time": 0.1}, 1.0, 0.6),
    "engrave": ({"length": 500.0, "depth": 0.2, "entries": 8, "entry_time": 0.02}, 0.5, 0.16),
    # 100 mm; two rough passes and a finish at half the feed: 4 x 100 at 100
    "turn": ({"diameter": 40.0, "length": 100.0, "depth": 2.25, "depth_of_cut": 1.0}, 4.0, 0.0),
    "bore": ({"diameter": 40.0, "length": 100.0, "depth": 2.25, "depth_of_cut": 1.0}, 4.0, 0.0),
    # from 100 to the middle, 50 mm at 0.1 x 500
    "turn-face": ({"diameter": 100.0}, 1.0, 0.0),
    "part-off": ({"diameter": 100.0}, 1.0, 0.0),
    # 5 mm wide by an insert of 2: three plunges like the one above
    "groove": ({"diameter": 100.0, "depth": 50.0, "width": 5.0}, 3.0, 0.0),
    # 1 mm deep from 0.5: 4 cuts of equal area and a spring cut, 25 mm at 125 each, back in rapid
    "thread-turn": (
        {
            "diameter": 20.0,
            "length": 20.0,
            "depth": 1.0,
            "pitch": 1.0,
            "first_infeed": 0.5,
            "spring_cuts": 1,
            "approach": 5.0,
        },
        1.0,
        125 / 30_000,
    ),
    "saw": ({"height": 40.0, "width": 30.0}, 2.0, 0.0),
}
SPEEDS = {
    "face": {"feed": 1200.0, "finish_allowance": 1.0, "finish_feed_share": 0.5},
    "contour": {"feed": 600.0, "finish_allowance": 0.05, "finish_feed_share": 0.5},
    "clear": {"feed": 1000.0},
    "pocket": {"feed": 240.0, "finish_feed_share": 0.5},
    "slot": {"feed": 220.0},
    "side-mill": {"feed": 200.0},
    "drill": {"feed": 40.0},
    "ream": {"feed": 80.0},
    "bore-mill": {"feed": 40.0},
    "tap": {"spindle_speed": 100.0},
    "thread-mill": {"feed": 65.0 / 3.0 * np.pi},
    "chamfer": {"feed": 1000.0},
    "engrave": {"feed": 1000.0},
    "turn": {**TURN, "finish_allowance": 0.25, "finish_feed_share": 0.5},
    "bore": {**TURN, "finish_allowance": 0.25, "finish_feed_share": 0.5},
    "turn-face": {**TURN, "feed_per_rev": 0.1},
    "part-off": {**TURN, "feed_per_rev": 0.1},
    "groove": {**TURN, "feed_per_rev": 0.1},
    "thread-turn": {"spindle_speed": 125.0},
    "saw": {"cutting_speed": 80.0, "feed": 20.0},
}


def cut(kind, **changes):
    stated = {"name": "c", "kind": kind, "tool": "t", **CASES[kind][0], **SPEEDS[kind], **changes}
    if not {"spindle_speed", "cutting_speed"} & set(stated):
        stated["spindle_speed"] = N
    return {field: value for field, value in stated.items() if value is not None}


def timed(shop, stated, *, material=None, tool=None, machine=None):
    diameter = 100.0 if stated["kind"] == "side-mill" else 10.0
    tools = (shop.tool(**{"diameter": diameter, "width": 2.0, **(tool or {})}),)
    study = shop.study(
        shop.step(cuts=[stated]),
        tools=tools,
        material=shop.material(**(material or {})),
        machines=(shop.machine(**(machine or {})),),
    )
    step = study.part.routes["way"].steps["s"]
    return cut_time(step, step.cuts["c"], study.rates, "stuff")


@pytest.mark.parametrize("kind", CASES)
def test_minutes_worked_out_on_paper(shop, kind):
    _, in_cut, other = CASES[kind]
    found = timed(shop, cut(kind))
    assert found.in_cut == pytest.approx(in_cut)
    assert found.other == pytest.approx(other)
    thrice = timed(shop, cut(kind, count=3, rapid=3000.0))
    assert thrice.minutes == pytest.approx(3.0 * (in_cut + other + 0.1))
    assert thrice.times == 3


# The same by other conventions and other ways to state speed and feed: a tool of 10 mm, two teeth, rapid 30,000.
VARIANTS = {
    # each lane longer by what the round cutter is behind: its radius of 5 less the 3 at which it is 8 wide
    "face exact": (
        "face",
        {
            "length": 100.0,
            "width": 40.0,
            "width_of_cut": 8.0,
            "depth": 3.0,
            "depth_of_cut": 2.0,
            "finish_allowance": None,
            "overtravel": "exact",
            "feed": 500.0,
        },
        2 * 5 * (100 + 5 - 3) / 500,
    ),
    # five lanes of 40 and 20 across on two levels; a wall of 2 x 40 + 2 x 20 with rounded corners
    "pocket with corners": (
        "pocket",
        {"length": 50.0, "corner_radius": 10.0, "wall_depth_of_cut": None, "feed": 1000.0},
        2 * (5 * 40 + 20) / 1000 + (120 - (8 - 2 * np.pi) * 5) / 500,
    ),
    "feed by the tooth": (
        "chamfer",
        {"spindle_speed": 2000.0, "feed": None, "feed_per_tooth": 0.1, "entries": None},
        2 * 500 / 400,
    ),
    # 2000 turns of 10 mm are 20 pi m/min
    "feed by the turn": (
        "chamfer",
        {"cutting_speed": 20 * np.pi, "feed": None, "feed_per_rev": 0.2, "entries": None},
        2 * 500 / 400,
    ),
    "drill out in rapid": ("drill", {"depth": 45.0, "retract": "rapid"}, 50 / 40 + 50 / 30_000),
    "drill with a peck": ("drill", {"depth": 45.0, "retract": "rapid", "peck": 25.0}, 50 / 40 + 100 / 30_000),
    "thread in two passes": (
        "thread-mill",
        {"pitch": 1.5, "depth": 10.0, "passes": 2, "feed": 1000.0},
        2 * np.hypot(np.pi * 10.0, 1.5) / 500,
    ),
    # across 20 mm at the stated 500 turns, and at those of the speed at the middle diameter of 30
    "tube faced": ("turn-face", {"diameter": 50.0, "inner_diameter": 10.0}, 20 / 50),
    "tube faced at a speed": (
        "turn-face",
        {"diameter": 50.0, "inner_diameter": 10.0, "spindle_speed": None, "cutting_speed": 15 * np.pi},
        20 / 50,
    ),
    # at constant speed: the ring's area over speed times feed
    "tube parted": (
        "part-off",
        {"diameter": 30.0, "inner_diameter": 10.0, "spindle_speed": None, "cutting_speed": 100.0},
        np.pi * (30**2 - 10**2) / 4 / (100 * 1000 * 0.1),
    ),
}


@pytest.mark.parametrize("variant", VARIANTS)
def test_minutes_by_other_conventions_on_paper(shop, variant):
    kind, changes, minutes = VARIANTS[variant]
    found = timed(shop, cut(kind, **changes), tool={"teeth": 2}, machine={"spindle_speed": 1e6})
    assert found.minutes == pytest.approx(minutes, rel=1e-12)
    assert found.in_cut <= found.minutes
    assert found.flags == ()


def test_every_kind_has_a_case_and_a_formula():
    kinds = {kind.model_fields["kind"].annotation.__args__[0]: kind for kind in MINUTES}
    assert set(kinds) == set(CASES)
    assert set(MINUTES) == {*Milling.__args__, *Holes.__args__, *Turning.__args__, Saw}


def test_developers_find_each_kind_with_its_formula():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(
        r"^\| (`[a-z-]+`(?:, `[a-z-]+`)*) \| (.+?) \| (.+?) \| (.+?) \|$", text, flags=re.MULTILINE
    )
    listed = {
        kind: (minutes, power)
        for kinds, minutes, power, source in rows
        for kind in re.findall(r"`([a-z-]+)`", kinds)
        if source
    }
    assert set(listed) == set(CASES)
    for kind, (minutes, power) in listed.items():
        assert re.findall(r"`(\w+)\.(\w+)`", minutes), kind
        assert re.findall(r"`(\w+)\.(\w+)`", power) or power.startswith("none: "), kind
        for module, formula in re.findall(r"`(\w+)\.(\w+)`", f"{minutes} {power}"):
            assert callable(getattr(import_module(f"costmodel.formulas.{module}"), formula)), formula


def test_an_editor_shows_what_each_field_means():
    shown = TypeAdapter(list[AnyCut]).json_schema()["$defs"]
    kinds = {it["properties"]["kind"]["const"]: it for it in shown.values() if "tool" in it["properties"]}
    assert set(kinds) == set(CASES)
    used = {field for it in kinds.values() for field in it["properties"]}
    assert set(cut_words.ALL) == used
    for kind, words in cut_words.BY_KIND.items():
        assert set(words) <= set(kinds[kind]["properties"]), kind
    for kind, it in kinds.items():
        for field, stated in it["properties"].items():
            assert stated["description"].startswith(cut_words.meaning(kind, field)), (kind, field)
    assert "chip_thickness" not in kinds["drill"]["properties"]  # refused there
    assert "feed" not in kinds["tap"]["properties"]


def test_the_demo_parts_use_every_kind():
    used = set()
    for name in ("saddle-clamp", "worm-shaft"):
        part = read_study(ROOT / "data" / "studies" / f"{name}.toml").part
        for route in part.routes.values():
            for step in route.steps.values():
                if step.kind == "machine":
                    used |= {it.kind for it in part.cuts_of(step).values()}
    assert used == set(CASES)


@pytest.mark.parametrize("kind", ["turn-face", "part-off", "groove"])
def test_across_at_a_cutting_speed_the_lathe_speeds_up(shop, kind):
    # 500 turns at 100 mm are twice as many at the mean diameter: half the time, and no limit is passed
    stated = cut(kind, spindle_speed=None, cutting_speed=50.0 * np.pi)
    found = timed(shop, stated, machine={"spindle_speed": 1e6})
    assert found.in_cut == pytest.approx(CASES[kind][1] / 2.0, rel=1e-3)
    assert found.flags == ()


# Of a limit of 400 turns, what each asks for, and the diameter at which it asks for it: 50 pi m/min are 500 turns at
# 100 mm, and 1,000 at 50, the middle of a face or groove cut at one spindle speed.
HELD = {
    "turn-face": ({}, 1000.0, 50.0),
    "groove": ({}, 1000.0, 50.0),
    "part-off": ({}, 500.0, 100.0),
    # outside 100, 98 and the finish on 96; inside 99.5 and 97.5 before the finish on 100
    "turn": ({"diameter": 100.0, "speed": "each pass"}, 50_000.0 / 96.0, 100.0),
    "bore": ({"diameter": 100.0, "speed": "each pass"}, 50_000.0 / 97.5, 100.0),
}


@pytest.mark.parametrize("kind", HELD)
def test_a_speed_that_the_spindle_cannot_follow_is_flagged_and_told_as_held(shop, kind):
    changes, asked, diameter = HELD[kind]
    stated = cut(kind, spindle_speed=None, cutting_speed=50.0 * np.pi, **changes)
    held = timed(shop, stated, machine={"spindle_speed": 400.0}, material=STEEL)
    assert held.flags == (f"spindle speed {float(f'{asked:.4g}'):g} 1/min is above 400 1/min and held there",)
    assert held.motion.spindle_speed == pytest.approx(400.0)
    assert held.motion.cutting_speed == pytest.approx(400.0 * np.pi * diameter / 1000.0)
    assert held.motion.feed_speed == pytest.approx(400.0 * held.motion.feed)
    # what is shown is what the minutes, the power and the torque are of
    way = {"turn-face": 50.0, "groove": 150.0, "part-off": 50.0}.get(kind, 400.0)
    assert held.in_cut == pytest.approx(way / held.motion.feed_speed)
    as_stated = cut(kind, spindle_speed=400.0, feed_per_rev=float(held.motion.feed), **changes)
    if diameter == 100.0 and "speed" not in changes:
        same = timed(shop, as_stated, material=STEEL)
        assert (held.power, held.demand.torque) == pytest.approx((same.power, same.demand.torque))


@pytest.mark.parametrize("kind", ["turn-face", "part-off"])
def test_a_spindle_that_speeds_up_to_its_limit_is_no_fault(shop, kind):
    speed = {"speed": "constant surface speed"} if kind == "turn-face" else {}
    stated = cut(kind, spindle_speed=None, cutting_speed=50.0 * np.pi, **speed)
    assert timed(shop, stated, machine={"spindle_speed": 600.0}).flags == ()


@pytest.mark.parametrize(
    ("kind", "diameters"),
    # outside 40, 38 and the finish pass on 36; inside back from the bore less its allowance: 39.5, 37.5, and 40
    [("turn", (40.0, 38.0, 36.0)), ("bore", (39.5, 37.5, 40.0))],
)
def test_the_spindle_follows_the_diameter_of_each_pass(shop, kind, diameters):
    stated = cut(kind, spindle_speed=None, cutting_speed=20.0 * np.pi, speed="each pass")
    found = timed(shop, stated, machine={"spindle_speed": 1e6})
    turns = [20_000.0 / diameter for diameter in diameters]
    first, second, finish = (100.0 / (0.2 * speed) for speed in turns)
    assert found.in_cut == pytest.approx(first + second + 2.0 * finish)
    slow = timed(shop, stated, machine={"spindle_speed": 100.0})
    assert slow.in_cut == pytest.approx(4.0 * 100.0 / 20.0)


def test_sawing_by_the_area(shop):
    stated = cut("saw", feed=None, cutting_rate=600.0)  # 40 x 30 mm
    assert timed(shop, stated).in_cut == pytest.approx(2.0)
    assert timed(shop, stated).motion.feed_speed == pytest.approx(20.0)  # across 30 mm


def test_a_thin_chip_feeds_faster(shop):
    # ae = D/10: the chip is 0.6 of the feed, so a chip of 0.03 takes a feed of 0.05
    stated = cut("clear", feed=None, chip_thickness=0.03)
    found = timed(shop, stated, tool={"teeth": 2})
    assert found.motion.feed == pytest.approx(0.05)
    assert found.motion.feed_speed == pytest.approx(0.05 * 2 * N)


@pytest.mark.parametrize(
    ("kind", "changes", "place"),
    [
        ("clear", {"chip_thickness": 0.03}, "feed"),
        ("clear", {"feed": None}, "feed"),
        ("drill", {"feed": None, "chip_thickness": 0.03}, "chip_thickness"),
        ("tap", {"feed": 100.0}, "feed"),
        ("tap", {"depth": 10.0}, "depth"),
        ("tap", {"pitch": 1.0}, "pitch"),
        ("thread-turn", {"feed_per_rev": 1.0}, "feed_per_rev"),
        ("thread-mill", {"pitch": None}, "pitch"),
        ("saw", {"spindle_speed": 50.0}, "spindle_speed"),
        ("saw", {"cutting_rate": 600.0}, "feed"),
        ("slot", {"cutting_speed": 30.0, "spindle_speed": N}, "cutting_speed"),
    ],
)
def test_one_way_to_state_each_thing(shop, kind, changes, place):
    with pytest.raises(ValidationError) as caught:
        timed(shop, cut(kind, **changes))
    places = {fault.place for it in caught.value.errors() for fault in it["ctx"]["faults"]}
    assert place in places


# --- what machine and tool cannot do ------------------------------------------------------------------

STEEL = {"specific_force": 2000.0, "force_exponent": 0.25}


@pytest.mark.parametrize(
    ("kind", "limits", "words"),
    [
        ("slot", {"machine": {"spindle_speed": 900.0}}, "spindle speed 1000 1/min is above 900"),
        ("slot", {"machine": {"max_feed": 200.0}}, "feed 220 mm/min is above 200"),
        ("slot", {"machine": {"spindle_power": 0.01}, "material": STEEL}, "power"),
        ("slot", {"machine": {"spindle_torque": 0.1}, "material": STEEL}, "torque"),
        ("slot", {"tool": {"reach": 5.0}}, "depth 6 mm is above 5"),
        ("slot", {"tool": {"flute_length": 2.5}}, "depth of cut 3 mm is above 2.5"),
        ("tap", {"tool": {"reach": 9.0}}, "depth 10 mm is above 9"),
        ("thread-mill", {"tool": {"reach": 4.0}}, "depth 5 mm is above 4"),
        ("thread-mill", {"tool": {"flute_length": 4.0}}, "depth of cut 5 mm is above 4"),
        ("groove", {"tool": {"reach": 40.0}}, "depth 50 mm is above 40"),
        ("part-off", {"tool": {"reach": 40.0}}, "depth 50 mm is above 40"),
        ("side-mill", {"tool": {"reach": 30.0}}, "depth 40 mm is above 30"),
        # the full diameter 15 mm deep, and a point of 90 deg on 10 mm before it
        ("drill", {"tool": {"reach": 19.0}}, "depth 20 mm is above 19"),
        ("ream", {"tool": {"reach": 39.0}}, "depth 40 mm is above 39"),
        ("contour", {"tool": {"reach": 30.0}}, "depth 40 mm is above 30"),
        ("contour", {"tool": {"flute_length": 15.0}}, "depth of cut 20 mm is above 15"),
        ("bore", {"tool": {"reach": 90.0}}, "depth 100 mm is above 90"),
        ("turn", {"machine": {"spindle_speed": 400.0}}, "spindle speed 500 1/min is above 400"),
        ("turn-face", {"machine": {"spindle_speed": 400.0}}, "spindle speed 500 1/min is above 400"),
    ],
)
def test_limits_are_reported_and_change_nothing(shop, kind, limits, words):
    found = timed(shop, cut(kind), **limits)
    assert [text for text in found.flags if text.startswith(words)]
    free = timed(shop, cut(kind))
    assert free.flags == ()
    assert found.minutes == pytest.approx(free.minutes)


@pytest.mark.parametrize("point", ["point once", "0.29 D twice", "none"])
def test_a_drill_reaches_as_far_as_its_point_goes(shop, point):
    # 34.5 mm through by a drill of 5 mm and 118 deg: a point of 1.502 mm, whatever allowance its time takes
    stated = cut("drill", depth=34.5, point_angle=118.0, point=point)
    short, long = (timed(shop, stated, tool={"diameter": 5.0, "reach": reach}) for reach in (36.0, 36.01))
    assert short.flags == ("depth 36.002 mm is above 36 mm",)
    assert long.flags == ()


def test_an_insert_without_a_width_is_the_reason_why_power_is_not_told(shop):
    found = timed(shop, cut("part-off"), material=STEEL, machine=STRONG, tool={"width": None})
    assert found.unchecked == "t states no width"


@pytest.mark.parametrize(
    ("kind", "tool", "machine", "words"),
    [
        ("drill", {"made_for": "face"}, {}, "t is made for face, not for drill"),
        ("tap", {"made_for": "face, contour"}, {}, "t is made for face, contour, not for tap"),
        ("turn", {}, {"work": "milling"}, "m does milling, no turning"),
        ("thread-mill", {}, {"work": "turning"}, "m does turning, no milling"),
        ("slot", {}, {"work": "sawing"}, "m does sawing, no milling"),
        ("drill", {}, {"work": "sawing"}, "m does sawing, no milling or turning"),
        ("drill", {"made_for": "drill"}, {"work": "turning"}, ""),
        ("turn", {"made_for": "turn-face, turn"}, {"work": "milling and turning"}, ""),
        ("saw", {}, {"work": "sawing"}, ""),
        ("saw", {}, {}, ""),
    ],
)
def test_a_tool_or_machine_of_another_trade_is_flagged(shop, kind, tool, machine, words):
    assert timed(shop, cut(kind), tool=tool, machine=machine).flags == ((words,) if words else ())


def test_what_a_tool_is_made_for_is_a_kind_of_cut(shop):
    with pytest.raises(ValidationError) as caught:
        shop.tool(made_for="face, drilling")
    (fault,) = (fault for it in caught.value.errors() for fault in it["ctx"]["faults"])
    assert (fault.place, fault.value) == ("made_for", "drilling")


def test_flags_of_draws_name_the_worst_draw(shop):
    found = timed(shop, cut("slot", feed=np.array([300.0, 500.0, 450.0])), machine={"max_feed": 400.0})
    assert found.flags == ("feed 500 mm/min is above 400 mm/min",)


def test_what_each_kind_takes_off(shop):
    # widths and depths over feed: a slot as wide as its mill, a disc's radial depth, a groove as wide as its insert
    rates = {
        "face": 10.0 * 1.0 * 1200.0,
        "slot": 10.0 * 3.0 * 220.0,
        "side-mill": 20.0 * 2.0 * 200.0,
        "drill": np.pi * 25.0 * 40.0,
        "ream": np.pi * (25.0 - 4.75**2) * 80.0,
        "turn": np.pi * 40.0 * 500.0 * 0.2 * 1.0,
        "bore-mill": np.pi * 30.0 * 1000.0 * 0.04 * 0.3,
        "groove": np.pi * 100.0 * 500.0 * 0.1 * 2.0,
        "part-off": np.pi * 100.0 * 500.0 * 0.1 * 2.0,
        "bore": np.pi * 40.0 * 500.0 * 0.2 * 1.0,
        "contour": 0.2 * 20.0 * 600.0,
        "clear": 1.0 * 10.0 * 1000.0,
        "pocket": 5.0 * 5.0 * 240.0,
        # a groove of 1/4 mm2 a turn along 10 pi mm, 100 turns a minute
        "tap": 0.25 * 10.0 * np.pi * 100.0,
        # the first of four cuts is 0.5 deep: 0.5^2 tan 30, along 20 pi mm, 125 turns a minute
        "thread-turn": 0.25 / np.sqrt(3.0) * 20.0 * np.pi * 125.0,
        # half a square of 0.4 over two passes
        "chamfer": 0.08 / 2.0 * 1000.0,
        # a tip of 10 mm, 0.2 deep, between sides at 90 deg: 10 x 0.2 and two halves of 0.2 x 0.2
        "engrave": (2.0 + 0.04) * 1000.0,
        "turn-face": np.pi * 100.0 * 500.0 * 0.1 * 1.5,
        "saw": 30.0 * 2.0 * 20.0,
    }
    for kind, rate in rates.items():
        found = timed(shop, cut(kind, **WHAT_POWER_NEEDS.get(kind, {})), material=STEEL)
        assert found.demand.removal_rate == pytest.approx(rate), kind
    # three threads of 1.5 mm in the work at once, two passes: half of 3 x 1.5^2/4 at the feed of the edge
    milled = timed(shop, cut("thread-mill", pitch=1.5, depth=4.5, passes=2, feed=200.0), material=STEEL)
    assert milled.demand.removal_rate == pytest.approx(0.5 * 3 * 0.5625 * 200.0)
    single = timed(shop, cut("thread-mill", pitch=1.5, depth=4.5, cutter="single row", feed=200.0))
    assert single.demand.removal_rate == pytest.approx(0.5625 * 200.0)


WHAT_POWER_NEEDS = {
    "chamfer": {"leg": 0.4},
    "engrave": {"cone_angle": 90.0},
    "turn-face": {"depth_of_cut": 1.5},
}
STRONG = {"spindle_power": 1e6, "spindle_torque": 1e6}


# What is stated is what one pass may take; less stock than that loads the tool by the stock. Rates on paper.
LESS_THERE = {
    "face": ({"depth": 0.6, "width": 8.0, "finish_allowance": None}, 8.0 * 0.6 * 1200.0),
    "face left to finish": ({"depth": 1.5, "depth_of_cut": 5.0}, 10.0 * 1.0 * 1200.0),
    "contour": ({"depth": 10.0, "depth_of_cut": 60.0, "width_of_cut": 8.0}, 0.2 * 10.0 * 600.0),
    "clear": ({"depth": 4.0}, 1.0 * 4.0 * 1000.0),
    "pocket": ({"depth": 2.0, "wall_depth_of_cut": None}, 5.0 * 2.0 * 240.0),
    "slot": ({"depth": 2.0}, 10.0 * 2.0 * 220.0),
    "side-mill": ({"depth": 15.0}, 15.0 * 2.0 * 200.0),
    "bore-mill": ({"stock": 0.2}, np.pi * 30.0 * 1000.0 * 0.04 * 0.2),
    "turn": ({"depth": 0.75, "finish_allowance": 0.25}, np.pi * 40.0 * 500.0 * 0.2 * 0.5),
    "bore": ({"depth": 0.6, "finish_allowance": None}, np.pi * 40.0 * 500.0 * 0.2 * 0.6),
}


@pytest.mark.parametrize("case", LESS_THERE)
def test_a_pass_takes_no_more_than_there_is(shop, case):
    changes, rate = LESS_THERE[case]
    kind = case.partition(" ")[0]
    found = timed(shop, cut(kind, **changes), material=STEEL, tool={"flute_length": 16.0})
    assert found.demand.removal_rate == pytest.approx(rate)
    assert not [text for text in found.flags if text.startswith("depth of cut")]


def test_a_stock_thinner_than_a_pass_wears_by_its_own_depth(shop):
    thin = {"finish_allowance": None, "depth": 0.6}
    deep, own = (used(shop, cut("turn", **thin, depth_of_cut=it)) for it in (3.0, 0.6))
    assert deep.life_parts == pytest.approx(own.life_parts)


def test_the_wall_of_a_pocket_is_checked_as_its_floor_is(shop):
    # a floor in levels of 5 mm, a wall of 10 mm at once with 1 mm left on it, at half the feed
    stated = cut("pocket", wall_depth_of_cut=None, wall_allowance=1.0, width_of_cut=0.5)
    found = timed(shop, stated, material=STEEL, tool={"flute_length": 6.0})
    assert found.flags == ("depth of cut 10 mm is above 6 mm",)
    chip = 0.12 * 1.0 / (5.0 * np.arccos(1.0 - 1.0 / 5.0))
    assert found.demand.removal_rate == pytest.approx(1.0 * 10.0 * 120.0)
    assert found.power == pytest.approx(2000.0 * chip**-0.25 * 1200.0 / 6e7)
    in_levels = timed(shop, cut("pocket", wall_allowance=1.0), material=STEEL, tool={"flute_length": 6.0})
    assert in_levels.flags == ()
    assert in_levels.demand.removal_rate == pytest.approx(5.0 * 5.0 * 240.0)


def test_every_kind_that_a_spindle_drives_has_power_and_torque(shop):
    for kind in CASES:
        stated = cut(kind, **WHAT_POWER_NEEDS.get(kind, {}))
        found = timed(shop, stated, material=STEEL, machine=STRONG)
        if kind == "saw":
            assert found.unchecked == "no spindle turns a saw's blade"
            continue
        assert found.unchecked == "", kind
        speed = 2.0 * np.pi * found.motion.spindle_speed / 60.0
        assert found.power == pytest.approx(found.demand.torque * speed / 1000.0), kind
        for word in ("power", "torque"):
            weak = timed(shop, stated, material=STEEL, machine={**STRONG, f"spindle_{word}": 1e-9})
            assert [text for text in weak.flags if text.startswith(f"{word} ")], kind


@pytest.mark.parametrize(
    ("kind", "changes", "material", "machine", "words"),
    [
        ("chamfer", {}, STEEL, STRONG, "states no leg"),
        ("turn-face", {}, STEEL, STRONG, "states no depth_of_cut"),
        ("tap", {"method": "forming"}, STEEL, STRONG, "a thread that is formed has no chip"),
        ("slot", {}, {}, STRONG, "stuff states no specific_force and force_exponent"),
        ("slot", {}, STEEL, {}, "m states no spindle_power and no spindle_torque"),
        ("slot", {}, STEEL, {"spindle_power": 9.0}, "m states no spindle_torque"),
    ],
)
def test_what_is_not_checked_is_said(shop, kind, changes, material, machine, words):
    found = timed(shop, cut(kind, **changes), material=material, machine=machine)
    assert found.unchecked == words
    study = shop.study(
        shop.step(cuts=[cut(kind, **changes)]),
        tools=(shop.tool(width=2.0),),
        material=shop.material(**material),
        machines=(shop.machine(**machine),),
    )
    said = [flag.text for flag in shop.sheet(study).flags if flag.place == "s"]
    limits_stated = "no spindle" not in words
    assert said == ([f"power and torque are not checked for c: {words}"] if limits_stated else [])


def test_force_of_the_last_cut_of_a_thread(shop):
    # four cuts of equal area: the last goes from 0.866 to 1 mm; its chip is that infeed times sin 30
    found = timed(shop, cut("thread-turn"), material=STEEL)
    chip = (1.0 - 0.5 * np.sqrt(3.0)) * 0.5
    force = 2000.0 * chip**-0.25 * 0.25 / np.sqrt(3.0)
    assert found.demand.torque == pytest.approx(force * 0.010)  # at a radius of 10 mm


def test_torque_of_a_tap_by_its_lead(shop):
    # 1 mm of pitch on 10 mm, two flutes with a lead of 2.5 threads: five edges open 0.5413 mm
    found = timed(shop, cut("tap"), material=STEEL, tool={"teeth": 2})
    chip = 0.625 * np.sqrt(0.75) / 5.0
    assert found.demand.torque == pytest.approx(2000.0 * chip**-0.25 * 10.0 / 8000.0)
    longer = timed(shop, cut("tap", lead_threads=5.0), material=STEEL, tool={"teeth": 2})
    assert longer.demand.torque == pytest.approx(found.demand.torque * 2.0**0.25)


def test_chips_of_edges_that_slant(shop):
    # a chamfer of 0.4 mm by a mill of 10: cos phi = 0.92, over an arc of 5 phi; its edge stands at 45 deg
    found = timed(shop, cut("chamfer", leg=0.4, passes=1), material=STEEL, tool={"teeth": 2})
    chip = 0.5 * 0.4 * np.sqrt(0.5) / (5.0 * np.arccos(0.92))
    assert found.power == pytest.approx(2000.0 * chip**-0.25 * 0.08 * 1000.0 / 6e7)
    # a thread of 1.5 mm in one pass: as deep as its height, on the side of the mill
    milled = timed(shop, cut("thread-mill", pitch=1.5, feed=200.0), material=STEEL, tool={"teeth": 2})
    height = 1.5 * 0.625 * np.sqrt(0.75)
    chip = 0.1 * height / (5.0 * np.arccos(1.0 - height / 5.0))
    rate = 5.0 / 1.5 * 0.5625 * 200.0
    assert milled.power == pytest.approx(2000.0 * chip**-0.25 * rate / 6e7)


# --- ways into the work -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "minutes"),
    [
        ({"entry": "ramp", "entry_angle": 30.0}, 10.0 / 0.5 / 240.0),
        ({"entry": "ramp", "entry_angle": 90.0, "entry_feed_share": 0.5}, 10.0 / 120.0),
        # two levels of 5 mm, each closed by a turn of the centre round 6 mm
        ({"entry": "helix", "entry_angle": 30.0, "entry_diameter": 16.0}, (20.0 + 12 * np.pi) / 240.0),
    ],
)
def test_a_pocket_is_entered_on_a_slope(shop, changes, minutes):
    plain = timed(shop, cut("pocket")).in_cut
    assert timed(shop, cut("pocket", **changes)).in_cut - plain == pytest.approx(minutes)


def test_a_drill_breaks_its_chips_with_less_way_than_it_clears_them(shop):
    # 15 + 5 mm fed at 40 with 2 of clearance, in pecks of 5.5: four; in rapid 30,000
    pecked = {"clearance": 2.0, "peck": 5.5, "restart_gap": 0.5, "retract": "rapid"}
    full = timed(shop, cut("drill", **pecked))
    assert full.in_cut == pytest.approx((22.0 + 3 * 0.5) / 40.0)
    assert full.other == pytest.approx((3 * (22.0 - 0.5) + 22.0) / 30_000.0)
    short = timed(shop, cut("drill", **pecked, pecking="chip breaking", lift=1.0))
    assert short.in_cut == full.in_cut
    assert short.other == pytest.approx((3 * (2.0 - 0.5) + 22.0) / 30_000.0)


@pytest.mark.parametrize(
    ("kind", "changes", "place"),
    [
        ("pocket", {"entry": "ramp"}, "entry_angle"),
        ("pocket", {"entry": "helix", "entry_angle": 3.0}, "entry_diameter"),
        ("pocket", {"entry_angle": 3.0}, "entry_angle"),
        ("pocket", {"entry": "ramp", "entry_angle": 3.0, "entry_diameter": 15.0}, "entry_diameter"),
        ("drill", {"pecking": "chip breaking", "lift": 0.5}, "peck"),
        ("drill", {"restart_gap": 0.5}, "peck"),
        ("drill", {"peck": 5.0, "pecking": "chip breaking"}, "lift"),
        ("drill", {"peck": 5.0, "lift": 0.5}, "lift"),
    ],
)
def test_a_way_in_is_stated_in_full(shop, kind, changes, place):
    with pytest.raises(ValidationError) as caught:
        timed(shop, cut(kind, **changes))
    places = {fault.place for it in caught.value.errors() for fault in it["ctx"]["faults"]}
    assert place in places


def test_the_chip_of_a_drill_thins_with_its_point(shop):
    # two lips of feed 0.04/2 under 45 deg: h = 0.02 sin 45; P = kc1.1 h^-mc Q
    found = timed(shop, cut("drill"), material=STEEL, tool={"teeth": 2})
    chip = 0.02 * np.sqrt(0.5)
    assert found.power == pytest.approx(2000.0 * chip**-0.25 * np.pi * 25.0 * 40.0 / 6e7)


def test_the_chip_of_a_full_slot_is_thinner_than_its_feed(shop):
    # averaged over half a turn: 2 fz / pi
    found = timed(shop, cut("slot"), material=STEEL, tool={"teeth": 2})
    chip = 2.0 / np.pi * 0.11
    assert found.power == pytest.approx(2000.0 * chip**-0.25 * 10.0 * 3.0 * 220.0 / 6e7)


@pytest.mark.parametrize(
    ("stated", "feed"),
    [({"feed": 240.0}, 0.12), ({"feed_per_tooth": 0.12}, 0.12), ({"feed_per_rev": 0.24}, 0.12)],
)
def test_a_feed_is_the_same_however_it_is_stated(shop, stated, feed):
    found = timed(shop, cut("slot", **{"feed": None, **stated}), tool={"teeth": 2})
    assert found.motion.feed == pytest.approx(feed)
    assert found.motion.feed_speed == pytest.approx(240.0)


def test_power_and_torque_agree_with_the_force_on_the_chip(shop):
    # turning at 0.2 x 1.0 mm: F = kc1.1 b h^(1 - mc); M = F D/2; P = F v
    found = timed(shop, cut("turn"), material=STEEL)
    force = 2000.0 * 1.0 * 0.2**0.75
    assert found.demand.torque == pytest.approx(force * 0.020, rel=1e-9)  # at a radius of 20 mm
    speed = np.pi * 0.040 * 500.0 / 60.0
    assert found.demand.power == pytest.approx(force * speed / 1000.0)


def test_a_reamer_takes_no_more_than_its_ring(shop):
    reamed = timed(shop, cut("ream"), material=STEEL)
    drilled = timed(shop, cut("drill", feed=80.0), material=STEEL)
    ring = 1.0 - 9.5**2 / 10.0**2
    assert reamed.demand.removal_rate == pytest.approx(ring * drilled.demand.removal_rate)
    assert reamed.power < 0.15 * drilled.power


def test_a_cutter_that_fits_no_corner_is_named(shop):
    with pytest.raises(InputError, match=r"steps\.s\.cuts\.c"):
        timed(shop, cut("pocket", corner_radius=4.0))


@pytest.mark.parametrize(
    ("tool", "kind", "words"),
    [
        ({"width": None}, "groove", "a tool with a width"),
        ({"diameter": None}, "slot", "a tool with a diameter"),
    ],
)
def test_a_missing_dimension_is_named(shop, tool, kind, words):
    with pytest.raises(InputError, match=words):
        timed(shop, cut(kind), tool=tool)


def test_a_load_too_heavy_too_many_and_a_full_magazine(shop):
    once = [{"name": "plate", "kind": "fixture", "cost": 1.0, "holds": 2, "mass": 90.0}]
    step = shop.step(cuts=[cut("slot")], parts_per_load=4, fixture="plate")
    machine = shop.machine(table_load=93.0, tool_places=2)
    study = shop.study(step, route={"once": once}, machines=(machine,), tools=(shop.tool(sisters=3),))
    texts = [flag.text for flag in shop.sheet(study).flags]
    assert texts == [
        "mass of a load 94 kg is above 93 kg",
        "4 parts a load are more than the 2 that plate holds",
        "3 tools are more than the 2 places of m",
    ]


def test_a_run_of_cuts_with_one_tool_changes_it_once_around_the_cycle():
    assert tool_changes(["a", "a", "b", "c"]) == 3
    assert tool_changes(["a", "a", "b", "a"]) == 2  # the next load begins with the tool in the spindle
    assert tool_changes(["a"]) == tool_changes(["a", "a"]) == tool_changes([]) == 0


# --- what the trade says, on the demonstration machine ------------------------------------------------

# Common practice, no source: in aluminium with coolant through the tool a letter R (0.339 in) carbide drill at
# 120 in/min and a 14.5 mm drill at 150 in/min are called conservative, about double being possible; a half-inch
# three-flute end mill runs about 2 in deep at 10 % radial stepover; finish passes leave 0.002 to 0.003 in;
# 1/8-27 NPT is tapped after letter R; a 1/4-20 thread is milled in two passes.
INCH = 25.4
ALUMINIUM = {"specific_force": 800.0, "force_exponent": 0.23}  # of the demonstration, to have any
FACTS = {
    "letter-r": (
        "drill",
        {"diameter": 0.339 * INCH, "teeth": 2},
        {"depth": 19.0, "spindle_speed": 10_000.0, "feed": 120 * INCH},
    ),
    "14.5": (
        "drill",
        {"diameter": 14.5, "teeth": 2},
        {"depth": 42.0, "spindle_speed": 8_000.0, "feed": 150 * INCH},
    ),
    "end-mill": (
        "contour",
        {"diameter": 0.5 * INCH, "teeth": 3, "reach": 2.1 * INCH},
        {
            "length": 300.0,
            "radial_stock": 3.0,
            "depth": 2 * INCH,
            "width_of_cut": 0.05 * INCH,
            "depth_of_cut": 2 * INCH,
            "finish_allowance": 0.0025 * INCH,
            "spindle_speed": 8_000.0,
            "feed_per_tooth": 0.003 * INCH,
        },
    ),
    "npt": (
        "tap",
        {"diameter": 0.405 * INCH},
        {"turns": 11.0, "threads_per_inch": 27.0, "spindle_speed": 700.0},
    ),
    "quarter-20": (
        "thread-mill",
        {"diameter": 0.18 * INCH, "teeth": 3},
        {
            "thread_diameter": 0.25 * INCH,
            "threads_per_inch": 20.0,
            "depth": 12.7,
            "passes": 2,
            "spindle_speed": 6_000.0,
            "feed_per_tooth": 0.0009 * INCH,
        },
    ),
}


@pytest.mark.parametrize("fact", FACTS)
def test_the_facts_of_the_trade_are_feasible(shop, fact):
    kind, tool, stated = FACTS[fact]
    machine = read_study(ROOT / "data" / "studies" / "saddle-clamp.toml").rates.machines["mill-5x"]
    fields = ("spindle_speed", "spindle_power", "spindle_torque", "max_feed", "rapid")
    same = {field: getattr(machine, field) for field in fields}
    fact_cut = {"name": "c", "kind": kind, "tool": "t", **stated}
    found = timed(shop, fact_cut, tool=tool, machine=same, material=ALUMINIUM)
    assert found.flags == ()
    if kind == "drill":
        assert (
            timed(
                shop, {**fact_cut, "feed": 2 * stated["feed"]}, tool=tool, machine=same, material=ALUMINIUM
            ).flags
            == ()
        )


@pytest.mark.parametrize(
    ("fact", "name", "tool"),
    [("letter-r", "drill-grease-port", "drill-9mm"), ("14.5", "drill-clamp-bolt", "drill-11.8mm")],
)
def test_what_twice_the_feed_of_a_drill_saves_and_risks(fact, name, tool):
    """The facts of the trade put in the place of the invented drills, as a what-if."""
    _, of_tool, of_cut = FACTS[fact]
    place = f"part.routes.rotary.steps.five-sides.cuts.{name}"
    facts = {f"{place}.{field}": value for field, value in of_cut.items()}
    study = read_study(ROOT / "data" / "studies" / "saddle-clamp.toml").with_inputs(
        {**facts, f'rates.tools."{tool}".diameter': of_tool["diameter"]}
    )
    brisk = brisk_feed(study, "make-rotary", "five-sides", name)
    assert brisk.now == pytest.approx(of_cut["feed"])
    assert brisk.brisk == pytest.approx(2 * of_cut["feed"])
    assert brisk.change.flags == ()
    drilled = next(cut for cut in shop_cuts(study) if cut.name == name)
    parts_in = 1.0570
    assert brisk.change.minutes_per_part == pytest.approx(parts_in * drilled.in_cut / 2.0, rel=0.05)
    # little is saved, so that little of the tool's life may be lost before it is gone
    for basis in ("practical", "cash"):
        assert 0.5 < brisk.break_even_life[basis] < 1.0


def shop_cuts(study):
    from costmodel.make_or_buy import alternative_cost

    return alternative_cost(study, "make-rotary").portions[0].sheet.cuts


# --- how the tool wears in a finish pass, and how far it is fed ---------------------------------------------

WEARS = {
    "life": "taylor",
    "parts_per_edge": None,
    "taylor_constant": 300.0,
    "taylor_exponent": 0.25,
    "feed_exponent": 0.3,
    "depth_exponent": 0.15,
}


def used(shop, *cuts, **tool):
    named = [{**stated, "name": f"c{at}"} for at, stated in enumerate(cuts)]
    tools = (shop.tool(**{"diameter": 10.0, **WEARS, **tool}),)
    (use,) = shop.sheet(shop.study(shop.step(cuts=named), tools=tools)).tools
    return use


FINISHED = {
    # passes of 1 mm on 2 mm of stock, then 0.25 mm at half the feed: as two cuts at the same spindle speed
    "turn": ({"depth": 2.0}, {"diameter": 40.0, "depth": 0.25, "depth_of_cut": 0.25, "feed_per_rev": 0.1}),
    "bore": ({"depth": 2.0}, {"diameter": 40.0, "depth": 0.25, "depth_of_cut": 0.25, "feed_per_rev": 0.1}),
    "face": ({"depth": 2.0}, {"depth": 1.0, "depth_of_cut": 1.0, "feed": 600.0}),
    "contour": ({"radial_stock": 0.2}, {"radial_stock": 0.05, "width_of_cut": 0.05, "feed": 300.0}),
}


@pytest.mark.parametrize("kind", FINISHED)
def test_a_finish_pass_wears_the_tool_as_a_cut_of_its_own(shop, kind):
    rough, finish = FINISHED[kind]
    none = {"finish_allowance": None, "finish_feed_share": None}
    one, two = used(shop, cut(kind)), used(shop, cut(kind, **rough, **none), cut(kind, **finish, **none))
    assert one.in_cut == pytest.approx(two.in_cut)
    assert one.life_parts == pytest.approx(two.life_parts)


def test_the_wall_of_a_pocket_wears_the_tool_at_its_own_feed_and_depth(shop):
    one = used(shop, cut("pocket"))
    n, a, b, speed = 0.25, 0.3, 0.15, np.pi * 10.0

    def life(feed, depth):
        return (300.0 / (speed * feed**a * depth**b)) ** (1 / n)

    worn = 1.0 / life(0.24, 5.0) + 160 / 120 / life(0.12, 5.0)
    assert one.life_parts == pytest.approx(1.0 / worn)


# Ways in feed on paper, of the cases at the top: the same whatever the feed at which each piece of it runs.
WAYS = {
    "face": 3 * 300.0,
    "contour": 2 * 2 * 200.0,
    "pocket": 240.0 + 2 * 80.0,
    "turn": 3 * 100.0,
    "bore": 3 * 100.0,
    "turn-face": 50.0,
    "part-off": 50.0,
    "groove": 3 * 50.0,
    "drill": 20.0,
    "ream": 40.0,
    "bore-mill": 40.0,
    "tap": 10.0,
    "chamfer": 1000.0,
    "engrave": 500.0,
    "slot": 220.0,
    "thread-turn": 125.0,
    "saw": 40.0,
}


@pytest.mark.parametrize("kind", WAYS)
def test_the_way_fed_is_the_path_whatever_the_feeds(shop, kind):
    assert timed(shop, cut(kind)).fed_length == pytest.approx(WAYS[kind])
    assert timed(shop, cut(kind, count=3)).fed_length == pytest.approx(3 * WAYS[kind])
    if kind in HELD:
        speed = {"speed": "each pass"} if kind in ("turn", "bore") else {}
        speed |= {"speed": "constant surface speed"} if kind == "turn-face" else {}
        stated = cut(kind, spindle_speed=None, cutting_speed=90.0, **speed)
        assert timed(shop, stated).fed_length == pytest.approx(WAYS[kind])
        assert timed(shop, stated, machine={"spindle_speed": 700.0}).fed_length == pytest.approx(WAYS[kind])


def test_the_way_into_a_pocket_is_fed_too(shop):
    # down a slope of 30 deg: twice the depth of 10 mm
    entered = cut("pocket", entry="ramp", entry_angle=30.0, entry_feed_share=0.5)
    assert timed(shop, entered).fed_length == pytest.approx(WAYS["pocket"] + 20.0)


def test_a_path_grows_no_longer_by_minutes_not_yet_measured(shop):
    study = shop.study(shop.step(cuts=[cut("chamfer")]), route={"time_factor": 1.5})
    (found,) = shop.sheet(study).cuts
    assert found.in_cut == pytest.approx(1.5)
    assert found.fed_length == pytest.approx(WAYS["chamfer"])


# --- what the work has no room for -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "changes", "place", "words"),
    [
        ("turn", {"diameter": 50.0, "depth": 60.0}, "depth", "below 25"),
        ("turn", {"diameter": 50.0, "depth": np.array([2.25, 25.0])}, "depth", "below 25"),
        ("bore", {"diameter": 14.0, "depth": 30.0}, "depth", "below 7"),
        ("bore-mill", {"stock": 15.0}, "stock", "below 15"),
        ("thread-turn", {"diameter": 35.0, "depth": 30.0}, "depth", "below 17.5"),
        ("thread-turn", {"first_infeed": 5.0}, "first_infeed", "at most 1"),
        ("groove", {"depth": 51.0}, "depth", "at most 50"),
        ("turn-face", {"inner_diameter": 100.0}, "inner_diameter", "below 100"),
        ("part-off", {"inner_diameter": 120.0}, "inner_diameter", "below 100"),
        ("turn", {"finish_allowance": 3.0}, "finish_allowance", "at most 2.25"),
    ],
)
def test_what_the_work_has_no_room_for_is_refused(shop, kind, changes, place, words):
    with pytest.raises(ValidationError) as caught:
        timed(shop, cut(kind, **changes))
    (fault,) = (fault for it in caught.value.errors() for fault in it["ctx"]["faults"])
    assert fault.place == place
    assert fault.expected.startswith(words)


@pytest.mark.parametrize(("kind", "diameter"), [("bore", 8.0), ("bore-mill", 8.0)])
def test_a_bar_goes_into_its_bore(shop, kind, diameter):
    with pytest.raises(InputError, match="no thicker than its bore of 8 mm"):
        timed(shop, cut(kind, diameter=diameter))
    assert timed(shop, cut(kind, diameter=diameter), tool={"diameter": 5.0}).flags == ()


def test_an_exponent_of_nothing_is_a_specific_energy(shop):
    # 0.8 W s/mm3 is 800 N/mm2 whatever the chip: 6,600 mm3 a minute take 88 W
    energy = {"specific_force": 800.0, "force_exponent": 0.0}
    assert timed(shop, cut("slot"), material=energy).power == pytest.approx(0.8 * 6600.0 / 60.0 / 1000.0)
