"""Each kind of cut takes the minutes that can be worked out on paper, and says what machine and tool cannot do."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from costmodel.cut_time import _MINUTES, cut_time
from costmodel.errors import InputError
from costmodel.machine_work import tool_changes
from costmodel.reading import read_study
from costmodel.records.cuts import Holes, Milling, Saw, Turning
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
    # the centre goes round 10 pi = 31.416 and climbs 3/4 of that: 39.270, at half the feed of the edge
    "thread-mill": ({"thread_diameter": 20.0, "pitch": 7.5 * np.pi, "depth": 5.0}, 1.0, 0.0),
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
    "thread-mill": {"feed": 25.0 * np.pi},
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


def test_every_kind_has_a_case_and_a_formula():
    kinds = {kind.model_fields["kind"].annotation.__args__[0]: kind for kind in _MINUTES}
    assert set(kinds) == set(CASES)
    assert set(_MINUTES) == {*Milling.__args__, *Holes.__args__, *Turning.__args__, Saw}


def test_developers_find_each_kind_with_its_formula():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (`[a-z-]+`(?:, `[a-z-]+`)*) \| (.+?) \| (.+?) \|$", text, flags=re.MULTILINE)
    listed = {
        kind: formulas
        for kinds, formulas, source in rows
        for kind in re.findall(r"`([a-z-]+)`", kinds)
        if source
    }
    assert set(CASES) <= set(listed)
    for kind in CASES:
        named = re.findall(r"`(\w+)\.(\w+)`", listed[kind])
        assert named
        for module, formula in named:
            assert callable(getattr(import_module(f"costmodel.formulas.{module}"), formula))


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
    assert timed(shop, stated, machine={"spindle_speed": 400.0}).flags == ()


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
    }
    for kind, rate in rates.items():
        assert timed(shop, cut(kind)).demand.removal_rate == pytest.approx(rate), kind
    for kind in ("tap", "thread-mill", "thread-turn", "chamfer", "engrave", "saw", "turn-face"):
        assert timed(shop, cut(kind), material=STEEL).demand == (None, None, None), kind


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


def test_a_run_of_cuts_with_one_tool_changes_it_once():
    assert tool_changes(["a", "a", "b", "a"]) == 3


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
