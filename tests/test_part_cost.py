"""Making a part: what each level and clock is paid, identities of the lines; worked cases in test_make_acceptance.

The plain study of conftest costs nothing; each test states the inputs of its example and nothing else adds to
them. Expected numbers are arithmetic written beside them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from costmodel.cost_lines import CostSheet, Line, in_force
from costmodel.errors import InputError
from costmodel.machine_rate import rate_terms
from costmodel.part_cost import part_cost
from costmodel.records.route import Item, Once, Route, Yearly
from costmodel.records.study import Study

Sheet = Callable[..., CostSheet]
MILL = "part.routes.route.steps.mill"
FINISH = "part.routes.route.steps.finish"
FIT = "part.routes.route.steps.fit"
MACHINE = "rates.machines.mill"
WAGE = "rates.labour.operator.wage"
PROCESSOR = "rates.processors.finisher"
BLANK = "part.blank"
STOCK = "rates.materials.bar"


def at_level(level: str) -> Callable[[Line], bool]:
    return lambda line: line.level == level


def of_element(*elements: str) -> Callable[[Line], bool]:
    return lambda line: line.element in elements


# --- clocks and levels ----------------------------------------------------------------------------------


def test_loading_inside_the_cycle_keeps_the_machine_waiting(plain: Study, sheet: Sheet) -> None:
    """10.6 cut + 1.6 changes + 1.0 load inside = 13.20 at one a load; 10.6 + (1.6 + 1.5)/4 = 11.375 at four."""
    one = {f"{MILL}.programme": 10.6 + 1.6, f"{MILL}.loading": "inside", f"{MILL}.hands_on": 1.0}
    four = {f"{MILL}.programme": 4 * 10.6 + 1.6, f"{MILL}.parts_per_load": 4, f"{MILL}.hands_on": 1.0}
    swap = {f"{MACHINE}.pallet_swap": 1.5}
    inside, outside = (
        sheet(plain.with_inputs(one | swap), "make"),
        sheet(plain.with_inputs(four | swap), "make"),
    )
    assert inside.minutes_per_part("machine") == pytest.approx(13.20, rel=1e-14)
    assert outside.minutes_per_part("machine") == pytest.approx(11.375, rel=1e-14)
    assert inside.minutes_per_part("hands-on") == pytest.approx(1.0, rel=1e-14)
    assert outside.minutes_per_part("hands-on") == pytest.approx(0.25, rel=1e-14)


def test_standing_by_counts_no_minute_twice(plain: Study, sheet: Sheet) -> None:
    """Loaded inside: 1 min of loading is hands already; half of the other 12 min are stood by: 1 + 6 = 7."""
    study = plain.with_inputs(
        {
            f"{MILL}.programme": 12.0,
            f"{MILL}.hands_on": 1.0,
            f"{MILL}.loading": "inside",
            f"{MILL}.attendance": 0.5,
        }
    )
    assert sheet(study, "make").minutes_per_part("hands-on") == pytest.approx(7.0, rel=1e-14)


@pytest.mark.parametrize(
    "shape, sizes, volume",
    [
        ("block", {"width": 50.0, "height": 40.0, "length": 58.0, "kerf": 2.0}, 50.0 * 40.0 * 60.0),
        ("round", {"diameter": 20.0, "length": 97.0, "kerf": 3.0}, np.pi * 10.0**2 * 100.0),
    ],
)
def test_a_blank_is_weighed_with_its_kerf(
    plain: Study, sheet: Sheet, shape: str, sizes: dict[str, float], volume: float
) -> None:
    changes = {f"{BLANK}.{field}": value for field, value in sizes.items()}
    study = plain.with_inputs(
        {f"{BLANK}.shape": shape, f"{BLANK}.mass": None, **changes, f"{STOCK}.price": 5.0}
    )
    assert sheet(study, "make").per_part() == pytest.approx(volume * 2.7e-6 * 5.0, rel=1e-13)


def test_a_part_heavier_than_its_blank_is_refused(plain: Study, sheet: Sheet) -> None:
    sized = {
        f"{BLANK}.shape": "round",
        f"{BLANK}.mass": None,
        f"{BLANK}.diameter": 10.0,
        f"{BLANK}.length": 10.0,
    }
    study = plain.with_inputs(sized)
    with pytest.raises(InputError, match=r"blank\.finished_mass.*the mass of the blank"):
        sheet(study.with_inputs({f"{BLANK}.finished_mass": 0.1}), "make")


@pytest.mark.parametrize("minimum", [0.0, 140.0, 195.0, 210.0, 500.0])
def test_a_processor_is_paid_for_what_it_charges(plain: Study, sheet: Sheet, minimum: float) -> None:
    """At 90 % yield, 100 good parts want 111.1 sent: charged for all of them, or for the 100 good ones."""
    study = plain.with_inputs(
        {
            f"{PROCESSOR}.price": 1.95,
            f"{PROCESSOR}.process_yield": 0.90,
            f"{PROCESSOR}.lot_minimum": minimum,
            "alternatives.make.lot": 100.0,
        }
    )
    all_sent, good_only = max(minimum, 1.95 * 100.0 / 0.90), max(minimum, 1.95 * 100.0)
    assert sheet(study, "make").per_part() == pytest.approx(all_sent / 100.0, rel=1e-12)
    good = study.with_inputs({f"{FINISH}.charged_rejects": False})
    assert sheet(good, "make").per_part() == pytest.approx(good_only / 100.0, rel=1e-12)


def test_what_is_used_up_in_a_rejected_part_is_not_given_back(plain: Study, sheet: Sheet) -> None:
    """A tray of 0.11 is gone with the part; only the processor's 1.95 is not charged for a reject."""
    tray = Item(name="tray", element="packaging", cost=0.11)
    study = plain.with_inputs(
        {
            f"{FINISH}.items.tray": tray,
            f"{FINISH}.charged_rejects": False,
            f"{PROCESSOR}.price": 1.95,
            f"{PROCESSOR}.process_yield": 0.90,
        }
    )
    assert sheet(study, "make").per_part() == pytest.approx(0.11 / 0.90 + 1.95, rel=1e-13)


def cut(kind: str, **fields: Any) -> dict[str, Any]:
    return {"kind": kind, "tool": "cutter", **fields}


def with_cuts(study: Study, cuts: dict[str, dict[str, Any]], **fields: Any) -> Study:
    """The study with a route of one machine step that holds these cuts."""
    step = {
        "kind": "machine",
        "machine": "mill",
        "parts_per_load": 1,
        "loading": "outside",
        "hands_on": 0.0,
        "step_yield": 1.0,
        "cuts": cuts,
        **fields,
    }
    route = Route(name="route", title="Cuts", lead_time=0.0, lead_time_sd=0.0, steps={"mill": step})
    return study.with_inputs({"part.routes.route": route})


CHAMFER = cut("chamfer", length=500.0, cutting_speed=100.0, feed=1000.0)  # half a minute in feed
TOOL = "rates.tools.cutter"


def test_cuts_that_share_a_tool_share_its_life(plain: Study, sheet: Sheet) -> None:
    """0.5 + 2 x 0.5 min in feed of an edge's 100 min: 66.7 parts; each change takes 3 min of machine and hands."""
    cuts = {"one": CHAMFER, "two": {**CHAMFER, "count": 2}}
    study = with_cuts(plain, cuts).with_inputs(
        {
            f"{TOOL}.life": "minutes",
            f"{TOOL}.edge_minutes": 100.0,
            f"{TOOL}.price": 40.0,
            f"{TOOL}.change_minutes": 3.0,
        }
    )
    made = sheet(study, "make")
    assert made.per_part(of_element("tooling")) == pytest.approx(40.0 * 1.5 / 100.0, rel=1e-13)
    assert made.minutes_per_part("machine") == pytest.approx(1.5 + 3.0 * 1.5 / 100.0, rel=1e-13)
    assert made.minutes_per_part("hands-on") == pytest.approx(3.0 * 1.5 / 100.0, rel=1e-13)


def test_wear_by_taylor_adds_over_the_cuts(plain: Study, sheet: Sheet) -> None:
    """T = (C/v)^(1/n) with C = 400, n = 0.25: 256 min at 100 m/min, 16 min at 200 m/min, from v T^n = C."""
    cuts = {"slow": CHAMFER, "fast": {**CHAMFER, "cutting_speed": 200.0}}
    study = with_cuts(plain, cuts).with_inputs(
        {
            f"{TOOL}.life": "taylor",
            f"{TOOL}.taylor_constant": 400.0,
            f"{TOOL}.taylor_exponent": 0.25,
            f"{TOOL}.price": 40.0,
        }
    )
    wear = 0.5 / 256.0 + 0.5 / 16.0
    assert sheet(study, "make").per_part(of_element("tooling")) == pytest.approx(40.0 * wear, rel=1e-12)
    feeding = study.with_inputs({f"{TOOL}.feed_exponent": 0.5})
    # v T^n f^m = C: f is 1000 mm/min over the revolutions of a 10 mm cutter with one tooth
    slow, fast = (1000.0 / (1000.0 * speed / (np.pi * 10.0)) for speed in (100.0, 200.0))
    lives = [(400.0 / (speed * f**0.5)) ** 4.0 for speed, f in ((100.0, slow), (200.0, fast))]
    worn = sum(0.5 / life for life in lives)
    assert sheet(feeding, "make").per_part(of_element("tooling")) == pytest.approx(40.0 * worn, rel=1e-11)


def test_wear_goes_by_the_feed_of_each_tooth(plain: Study, sheet: Sheet) -> None:
    """1,000 mm/min over the turns at 100 m/min and four teeth; life falls with the root of it (exponents 0.5, 0.25)."""
    study = with_cuts(plain, {"edges": CHAMFER}).with_inputs(
        {
            f"{TOOL}.life": "taylor",
            f"{TOOL}.taylor_constant": 400.0,
            f"{TOOL}.taylor_exponent": 0.25,
            f"{TOOL}.feed_exponent": 0.5,
            f"{TOOL}.teeth": 4,
            f"{TOOL}.price": 40.0,
        }
    )
    turns = 100.0 * 1000.0 / (np.pi * 10.0)
    a_tooth = 1000.0 / (4.0 * turns)
    life = (400.0 / (100.0 * a_tooth**0.5)) ** 4.0
    assert sheet(study, "make").per_part(of_element("tooling")) == pytest.approx(40.0 * 0.5 / life, rel=1e-11)


def test_capital_recovers_price_and_interest(plain: Study) -> None:
    """With interest the yearly sum is worth price less salvage: P = A (1 - v^n)/i + S v^n, v = 1/(1 + i)."""
    bought = {"purchase_price": 1e5, "salvage": 2e4, "life": 8.0, "interest": 0.09, "practical_hours": 2000.0}
    study = plain.with_inputs({f"{MACHINE}.{field}": value for field, value in bought.items()})
    terms = {term.element: term.per_hour for term in rate_terms(study.rates.machines["mill"], study.rates)}
    yearly, v = terms["capital"] * 2000.0, 1.0 / 1.09
    assert yearly * (1 - v**8) / 0.09 + 2e4 * v**8 == pytest.approx(1e5, rel=1e-12)


def test_what_is_left_at_the_end_comes_back_in_our_share(plain: Study, sheet: Sheet) -> None:
    pallets = Once(name="pallets", kind="pallets", cost=8_000.0, share=0.40, end_value=1_000.0)
    made = sheet(plain.with_inputs({"part.routes.route.once.pallets": pallets}), "make")
    assert made.once() == pytest.approx(0.40 * (8_000.0 - 1_000.0), rel=1e-13)


def test_a_yearly_cost_is_shared_by_the_years_parts(plain: Study, sheet: Sheet) -> None:
    study = plain.with_inputs({"part.routes.route.yearly.upkeep": Yearly(name="upkeep", cost=600.0)})
    made = sheet(study, "make")
    assert made.per_part() == pytest.approx(600.0 / 4000.0, rel=1e-13)
    assert made.per_year() == pytest.approx(600.0, rel=1e-13)


def test_hands_at_every_step_are_paid(plain: Study, sheet: Sheet) -> None:
    """Minutes by level at 60 an hour: (1 a part + 2 a lot of 200) of each inspector, 3 a part and 4 a lot of set-up."""
    changes: dict[str, Any] = {"rates.labour.operator.wage": 60.0, "rates.labour.fitter.wage": 60.0}
    for step in (MILL, FINISH, FIT):
        changes |= {f"{step}.inspection": 1.0, f"{step}.inspection_per_lot": 2.0}
    changes |= {f"{FINISH}.labour": "fitter", f"{FIT}.hands_on": 3.0, f"{FIT}.set_up": 4.0}
    made = sheet(plain.with_inputs(changes), "make")
    minutes = 3 * (1.0 + 2.0 / 200.0) + 3.0 + 4.0 / 200.0
    assert made.per_part() == pytest.approx(minutes, rel=1e-13)
    assert made.minutes_per_part("hands-on") == pytest.approx(minutes, rel=1e-13)
    assert made.minutes_per_part("hands-on", "fitter") == pytest.approx(minutes - 1.01, rel=1e-13)


def test_another_operator_than_the_machines_is_paid_his_own_wage(plain: Study, sheet: Sheet) -> None:
    study = plain.with_inputs({"rates.labour.fitter.wage": 60.0, WAGE: 30.0, f"{MILL}.hands_on": 1.0})
    assert sheet(study, "make").per_part() == pytest.approx(0.5, rel=1e-13)
    assert sheet(study.with_inputs({f"{MILL}.operator": "fitter"}), "make").per_part() == pytest.approx(1.0)


def test_lost_parts_take_machine_and_hands_too(plain: Study, sheet: Sheet) -> None:
    """At 80 % and 50 % behind it, a good part takes 2.5 parts into the mill and 2 into the bench."""
    study = plain.with_inputs(
        {
            f"{MILL}.step_yield": 0.8,
            f"{FIT}.step_yield": 0.5,
            f"{MILL}.programme": 3.0,
            f"{FIT}.hands_on": 1.0,
        }
    )
    made = sheet(study, "make")
    assert made.minutes_per_part("machine") == pytest.approx(2.5 * 3.0, rel=1e-13)
    assert made.minutes_per_part("hands-on") == pytest.approx(2.0 * 1.0, rel=1e-13)


def test_a_set_up_serves_its_lot_whatever_is_lost_in_it(plain: Study, sheet: Sheet) -> None:
    """At 50 % two parts are machined for a good one, 3 min each; the 60 min of set-up are shared by 200 good ones."""
    study = plain.with_inputs({f"{MILL}.step_yield": 0.5, f"{MILL}.programme": 3.0, f"{MILL}.set_up": 60.0})
    made = sheet(study, "make")
    assert made.minutes_per_part("machine") == pytest.approx(2 * 3.0 + 60.0 / 200.0, rel=1e-13)
    assert made.minutes_per_part("hands-on") == pytest.approx(60.0 / 200.0, rel=1e-13)


# --- minutes of a load ----------------------------------------------------------------------


def test_a_load_has_its_changes_moves_and_probing(plain: Study, sheet: Sheet) -> None:
    """Tools a, b, b, a are two changes of 0.1; five moves of 0.05, 1 min of probing, a swap of 2, four parts."""
    other = plain.rates.tools["cutter"].model_dump() | {"name": "other"}
    study = plain.with_inputs({"rates.tools.other": type(plain.rates.tools["cutter"])(**other)})
    cuts = {
        str(number): {**CHAMFER, "tool": tool}
        for number, tool in enumerate(("cutter", "other", "other", "cutter"))
    }
    study = with_cuts(study, cuts, parts_per_load=4, index_moves=5, probing=1.0).with_inputs(
        {f"{MACHINE}.tool_change": 0.1, f"{MACHINE}.index_time": 0.05, f"{MACHINE}.pallet_swap": 2.0}
    )
    a_load = 2 * 0.1 + 5 * 0.05 + 1.0 + 2.0
    assert sheet(study, "make").minutes_per_part("machine") == pytest.approx(
        4 * 0.5 + a_load / 4.0, rel=1e-13
    )


def test_rapid_moves_of_every_cut_are_counted(plain: Study, sheet: Sheet) -> None:
    """100 mm once and 300 mm three times at 5,000 mm/min, beside 0.5 and 3 x 0.5 min in feed."""
    cuts = {"one": {**CHAMFER, "rapid": 100.0}, "two": {**CHAMFER, "rapid": 300.0, "count": 3}}
    study = with_cuts(plain, cuts).with_inputs({f"{MACHINE}.rapid": 5000.0})
    expected = 4 * 0.5 + (100.0 + 3 * 300.0) / 5000.0
    assert sheet(study, "make").minutes_per_part("machine") == pytest.approx(expected, rel=1e-13)


# --- identities ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["make-cuts", "make-measured", "status-quo", "near-b"])
def test_every_split_of_the_lines_sums_to_the_total(small: Study, sheet: Sheet, name: str) -> None:
    whole = sheet(small, name)
    by_hand = 0.0
    for line in whole.lines:
        if in_force(line):
            by_hand += line.amount * whole.rhythm.per_part(line.level, line.step)
    assert whole.per_part() == pytest.approx(by_hand, rel=1e-12)
    words: list[Callable[[Line], str]] = [
        lambda line: line.step,
        lambda line: line.element,
        lambda line: line.level,
        lambda line: line.mark,
        lambda line: line.series,
        lambda line: f"{line.step} {line.element} {line.note}",
    ]
    for word in words:
        assert sum(whole.split(word).values()) == pytest.approx(whole.per_part(), rel=1e-12)
    assert whole.per_year() == pytest.approx(whole.per_part() * whole.rhythm.per_year, rel=1e-14)


def test_halving_the_lot_doubles_what_occurs_once_a_lot(small: Study, sheet: Sheet) -> None:
    """Where no lot minimum binds; all else stays."""
    free = small.with_inputs({"rates.processors.anodiser.lot_minimum": 0.0})
    whole, half = (
        sheet(free.with_inputs({"alternatives.make-cuts.lot": lot}), "make-cuts") for lot in (200.0, 100.0)
    )
    assert half.per_part(at_level("lot")) == pytest.approx(2.0 * whole.per_part(at_level("lot")), rel=1e-13)
    assert half.per_part(of_element("set-up")) == pytest.approx(
        2.0 * whole.per_part(of_element("set-up")), rel=1e-13
    )
    assert whole.per_part(of_element("set-up")) > 0.0
    for level in ("part", "load"):
        assert half.per_part(at_level(level)) == pytest.approx(whole.per_part(at_level(level)), rel=1e-13)


@pytest.mark.parametrize("route", ["cuts", "measured"])
def test_scrap_lines_make_up_the_difference_to_the_cost_with_yields(small: Study, route: str) -> None:
    """Independent of the model's sums: carry the cost of one part from step to step, divide by each yield."""
    study = small.with_inputs(
        {
            "rates.processors.anodiser.process_yield": 0.88,
            "part.routes.measured.steps.mill.step_yield": 0.91,
            "part.routes.cuts.steps.turn.step_yield": 0.86,
        }
    )
    made = part_cost(study.part, study.part.routes[route], study.rates, lot=200.0, per_year=4000.0)
    adds: dict[str, float] = {"blank": 0.0} | dict.fromkeys(study.part.routes[route].steps, 0.0)
    charged_when_good = dict.fromkeys(adds, 0.0)
    for line in made.lines:
        if line.level in ("part", "load") and line.element != "scrap":
            refund = line.element == "outside" and route == "measured"
            kept = charged_when_good if refund else adds
            kept[line.step] += float(line.amount * made.rhythm.per_part(line.level, line.step))
    shares = dict.fromkeys(adds, 1.0) | {
        name: 0.88 if step.kind == "outside" else float(step.step_yield)  # type: ignore[union-attr]
        for name, step in study.part.routes[route].steps.items()
    }
    carried = 0.0
    for name in adds:
        carried = (carried + adds[name]) / shares[name] + charged_when_good[name]
    running = made.per_part(lambda line: line.level in ("part", "load"))
    assert running == pytest.approx(carried, rel=1e-12)
    scrap = made.per_part(of_element("scrap"))
    assert scrap == pytest.approx(carried - sum(adds.values()) - sum(charged_when_good.values()), rel=1e-10)
    assert scrap > 1.0


def test_scrap_is_kept_apart_by_mark_and_series(small: Study, sheet: Sheet) -> None:
    """What a lost part has cost in wages follows wages; machine hours that stay are not cash when lost either."""
    made = sheet(small, "make-cuts")
    marks = {(line.mark, line.series) for line in made.lines if line.level in ("part", "load")}
    scrap = {(line.mark, line.series) for line in made.lines if line.element == "scrap"}
    assert scrap == marks
    assert ("allocated", "machines") in scrap
    assert ("cash", "wages") in scrap


def test_a_tool_line_follows_the_series_of_its_tools(small: Study, sheet: Sheet) -> None:
    """The chamfer mill states no series, so what it costs is apart from the other tools of its step."""
    lines = {
        line.series: line.amount
        for line in sheet(small, "make-cuts").lines
        if line.element == "tooling" and line.step == "mill"
    }
    assert set(lines) == {"tools", ""}
    tools = part_cost(small.part, small.part.routes["cuts"], small.rates, lot=200.0, per_year=4000.0).tools
    chamfer = next(tool for tool in tools if tool.tool == "chamfer-mill")
    assert lines[""] == pytest.approx(chamfer.cost_per_part, rel=1e-14)
    assert sum(lines.values()) == pytest.approx(
        sum(tool.cost_per_part for tool in tools if tool.step == "mill"), rel=1e-13
    )
