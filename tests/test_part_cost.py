"""Making a part: acceptance examples through records and model, identities of the lines, minutes by hand.

The plain study of conftest costs nothing; each test states the inputs of its example and nothing else adds to
them. Expected numbers are arithmetic written beside them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from costmodel.cost_lines import CostSheet, Line, in_force, is_cash
from costmodel.cut_time import CutTime, cut_time
from costmodel.errors import InputError
from costmodel.machine_rate import rate_terms
from costmodel.part_cost import PartCost, part_cost
from costmodel.records.address import sweep
from costmodel.records.route import Item, MachineStep, Once, Route, Yearly
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


# --- acceptance examples -------------------------------------------------------------------------------


def test_machine_minutes_of_a_load_are_shared_by_its_parts(plain: Study, sheet: Sheet) -> None:
    """(46.0 + 1.5) / 4 = 11.875 machine minutes a part; at 60.00 an hour that is 11.875."""
    study = plain.with_inputs(
        {
            f"{MILL}.programme": "46 min/load",
            f"{MILL}.parts_per_load": 4,
            f"{MACHINE}.pallet_swap": "1.5 min",
            f"{MACHINE}.consumables": "60 USD/h",
        }
    )
    made = sheet(study, "make")
    assert made.minutes_per_part("machine", "mill") == pytest.approx(11.875, rel=1e-14)
    assert made.per_part() == pytest.approx(11.875, rel=1e-14)


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


def test_hands_are_paid_for_their_own_minutes(plain: Study, sheet: Sheet) -> None:
    """7 hands-on minutes a load at 42 an hour are 1.225 a part; the 47.5 of the machine would be 8.3125."""
    study = plain.with_inputs(
        {
            f"{MILL}.programme": 46.0,
            f"{MILL}.parts_per_load": 4,
            f"{MILL}.hands_on": "7 min/load",
            f"{MACHINE}.pallet_swap": 1.5,
            WAGE: "30 USD/h",
            "rates.labour.operator.on_costs": "40 %",  # 30 x 1.40 = 42
        }
    )
    made = sheet(study, "make")
    assert made.per_part() == pytest.approx(1.225, rel=1e-14)
    stood_by = sheet(study.with_inputs({f"{MILL}.attendance": 1.0}), "make")
    assert stood_by.per_part() == pytest.approx(1.225 + 8.3125, rel=1e-14)
    assert stood_by.minutes_per_part("hands-on") == pytest.approx((7.0 + 47.5) / 4.0, rel=1e-14)


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


def test_a_set_up_is_shared_by_its_lot(plain: Study, sheet: Sheet) -> None:
    """25 min at 102/h = 42.50: 0.2125 at a lot of 200, 0.85 at 50; 150 min = 255.00: 1.275 and 5.10."""
    study = plain.with_inputs(
        {f"{MACHINE}.consumables": 60.0, WAGE: 42.0, "alternatives.make.lot": sweep([200.0, 50.0])}
    )
    running = sheet(study, "make").per_part()
    for minutes, lot_cost, expected in ((25.0, 42.50, (0.2125, 0.85)), (150.0, 255.00, (1.275, 5.10))):
        made = sheet(study.with_inputs({f"{MILL}.set_up": minutes}), "make")
        assert sum(line.amount for line in made.lines if line.element == "set-up") == pytest.approx(lot_cost)
        assert np.ravel(made.per_part() - running) == pytest.approx(expected, rel=1e-12)


def test_material_is_what_is_bought_less_what_chips_bring(plain: Study, sheet: Sheet) -> None:
    """0.62 kg at 6.834/kg + 1.20 sawing - 0.41 kg of chips at 1.10 = 4.986."""
    study = plain.with_inputs(
        {
            f"{BLANK}.mass": 0.62,
            f"{BLANK}.finished_mass": 0.62 - 0.41,
            f"{BLANK}.saw": 1.20,
            f"{STOCK}.price": 6.834,
            f"{STOCK}.chip_credit": 1.10,
        }
    )
    made = sheet(study, "make")
    assert made.per_part() == pytest.approx(0.62 * 6.834 + 1.20 - 0.41 * 1.10, rel=1e-13)
    assert f"{made.per_part():.2f}" == "4.99"


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


def four_stages(plain: Study) -> Study:
    """Each stage adds 18.85, 3.20, 1.95, 0.50 and passes 98.5, 99, 97 and 100 %."""

    def bench(cost: float, share: float) -> dict[str, Any]:
        items = {"all": {"element": "other", "cost": cost}}
        return {"kind": "bench", "labour": "fitter", "hands_on": 0.0, "step_yield": share, "items": items}

    steps = {
        "first": bench(18.85, 0.985),
        "second": bench(3.20, 0.99),
        "finish": {"kind": "outside", "processor": "finisher"},
        "last": bench(0.50, 1.0),
    }
    route = Route(name="route", title="Stages", lead_time=0.0, lead_time_sd=0.0, steps=steps)
    return plain.with_inputs(
        {"part.routes.route": route, f"{PROCESSOR}.price": 1.95, f"{PROCESSOR}.process_yield": 0.97}
    )


def test_lost_parts_carry_what_they_have_cost_so_far(plain: Study, sheet: Sheet) -> None:
    """25.77 a good part (24.50 without scrap), 1.0572 blanks to start."""
    made = sheet(four_stages(plain), "make")
    good = ((18.85 / 0.985 + 3.20) / 0.99 + 1.95) / 0.97 + 0.50
    assert f"{good:.2f}" == "25.77"
    assert made.per_part() == pytest.approx(good, rel=1e-13)
    assert made.per_part(lambda line: line.element != "scrap") == pytest.approx(24.50, rel=1e-13)
    assert isinstance(made, PartCost)
    assert made.parts_in is not None
    assert made.parts_in["blank"] == pytest.approx(1.0 / (0.985 * 0.99 * 0.97), rel=1e-13)
    assert f"{made.parts_in['blank']:.4f}" == "1.0572"
    assert made.parts_in["finish"] == pytest.approx(1.0 / 0.97, rel=1e-13)
    scrap = {line.step: line.amount for line in made.lines if line.element == "scrap"}
    # lost at the first step: 18.85 for each of 1.0572 x 0.015 parts
    assert scrap["first"] == pytest.approx(18.85 * 0.015 / (0.985 * 0.99 * 0.97), rel=1e-12)
    assert scrap["second"] == pytest.approx((18.85 + 3.20) * 0.01 / (0.99 * 0.97), rel=1e-12)
    assert scrap["finish"] == pytest.approx((18.85 + 3.20 + 1.95) * 0.03 / 0.97, rel=1e-12)
    assert scrap["last"] == 0.0


def test_an_outside_lot_costs_its_minimum_at_least(plain: Study, sheet: Sheet) -> None:
    """Max(140, 1.95 n)/n is 2.80 at 50, 1.97 at 71, 1.95 at 72 and at 200."""
    lots = sweep([50.0, 71.0, 72.0, 200.0])
    study = plain.with_inputs(
        {f"{PROCESSOR}.price": 1.95, f"{PROCESSOR}.lot_minimum": 140.0, "alternatives.make.lot": lots}
    )
    per_part = np.ravel(sheet(study, "make").per_part())
    assert per_part == pytest.approx([140 / 50, 140 / 71, 1.95, 1.95], rel=1e-13)
    assert [f"{value:.2f}" for value in per_part] == ["2.80", "1.97", "1.95", "1.95"]
    carried = sheet(study.with_inputs({f"{PROCESSOR}.transport": 38.0}), "make").per_part()
    assert np.ravel(carried) - per_part == pytest.approx([38 / 50, 38 / 71, 38 / 72, 38 / 200], rel=1e-9)


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


def test_a_tool_costs_its_price_over_the_parts_of_its_edges(plain: Study, sheet: Sheet) -> None:
    """48.00/600 = 0.080; with 25 % reserve 48.00/450 = 0.107."""
    study = with_cuts(plain, {"edges": CHAMFER}).with_inputs({f"{TOOL}.price": 48.0})
    tooling = of_element("tooling")
    assert sheet(study, "make").per_part(tooling) == pytest.approx(0.080, rel=1e-13)
    kept = sheet(study.with_inputs({f"{TOOL}.reserve": "25 %"}), "make")
    assert kept.per_part(tooling) == pytest.approx(48.0 / 450.0, rel=1e-13)
    assert f"{kept.per_part(tooling):.3f}" == "0.107"
    two_edges = sheet(study.with_inputs({f"{TOOL}.edges": 2}), "make")
    assert two_edges.per_part(tooling) == pytest.approx(0.040, rel=1e-13)
    ground = study.with_inputs({f"{TOOL}.regrinds": 2, f"{TOOL}.regrind_price": 6.0})
    assert sheet(ground, "make").per_part(tooling) == pytest.approx((48.0 + 2 * 6.0) / (3 * 600), rel=1e-13)


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


def machine_sheet(plain: Study, **changes: Any) -> dict[str, float]:
    study = plain.with_inputs({f"{MACHINE}.{field}": value for field, value in changes.items()})
    terms = rate_terms(study.rates.machines["mill"], study.rates)
    return {term.element: float(term.per_hour) for term in terms}


def test_a_machine_hour_is_the_sum_of_its_sheet(plain: Study) -> None:
    """29.17 + 16.67 + 2.50 + 4.90 + 0.04 + 17.53 = 70.81 an hour over 250 x 2 x 8 x 0.9 = 3,600 h.

    The example's own interest (60,000 a year) is entered as a yearly sum.
    """
    study = plain.with_inputs(
        {"rates.spaces.hall.price": "8 USD/m2/yr", "rates.energy.grid.price": "0.35 USD/kWh"}
    )
    terms = machine_sheet(
        study,
        purchase_price=1_050_000.0,
        life=10.0,
        practical_hours=250 * 2 * 8 * 0.9,
        other_yearly=60_000.0,
        maintenance=9_000.0,
        power=14.0,
        load_factor=1.0,
        floor_area=20.0,
        consumables=17.53,
    )
    assert terms == pytest.approx(
        {
            "capital": 1_050_000 / 10 / 3600,  # 29.17
            "other standing": 60_000 / 3600,  # 16.67
            "maintenance": 9_000 / 3600,  # 2.50
            "energy": 14 * 0.35,  # 4.90
            "space": 8 * 20 / 3600,  # 0.04
            "consumables": 17.53,
        },
        rel=1e-12,
    )
    assert sum(terms.values()) == pytest.approx(29.17 + 16.67 + 2.50 + 4.90 + 0.04 + 17.53, abs=0.02)
    monthly = study.with_inputs({"rates.spaces.hall.price": "8 USD/m2/mo"})
    rents = [machine_sheet(it, practical_hours=3600.0, floor_area=20.0)["space"] for it in (study, monthly)]
    assert [f"{rent:.2f}" for rent in rents] == ["0.04", "0.53"]


def test_capital_recovers_price_and_interest(plain: Study) -> None:
    """With interest the yearly sum is worth price less salvage: P = A (1 - v^n)/i + S v^n, v = 1/(1 + i)."""
    terms = machine_sheet(
        plain, purchase_price=1e5, salvage=2e4, life=8.0, interest=0.09, practical_hours=2000.0
    )
    yearly, v = terms["capital"] * 2000.0, 1.0 / 1.09
    assert yearly * (1 - v**8) / 0.09 + 2e4 * v**8 == pytest.approx(1e5, rel=1e-12)


def test_four_rates_give_four_costs(plain: Study, sheet: Sheet) -> None:
    """Fixed 96,000 over 2,400 or 1,500 h, 16/h variable, 70/h displaced, 12 min, 14.00 other."""
    study = plain.with_inputs(
        {
            f"{MACHINE}.maintenance": 96_000.0,
            f"{MACHINE}.consumables": 16.0,
            f"{MACHINE}.practical_hours": 2_400.0,
            f"{MACHINE}.budgeted_hours": 1_500.0,
            "capacity.mill.contribution": 70.0,
            f"{MILL}.programme": 12.0,
            f"{MILL}.items.rest": Item(name="rest", element="other", cost=14.0),
        }
    )
    costs = {
        basis: float(sheet(study, "make", basis).per_part())
        for basis in ("practical", "budgeted", "cash", "displaced")
    }
    assert costs == pytest.approx(
        {
            "practical": 14.0 + 0.2 * (96_000 / 2_400 + 16),  # 25.20
            "budgeted": 14.0 + 0.2 * (96_000 / 1_500 + 16),  # 30.00
            "cash": 14.0 + 0.2 * 16,  # 17.20
            "displaced": 14.0 + 0.2 * (16 + 70),  # 31.20
        },
        rel=1e-13,
    )
    for basis in costs:  # what moves cash is the same on all
        assert sheet(study, "make", basis).per_part(is_cash) == pytest.approx(17.20, rel=1e-13)


def test_what_is_paid_once_stays_out_of_the_running_cost(plain: Study, sheet: Sheet) -> None:
    """18,400 in all; over 12,000 parts that would be 1.533 a part, shown apart."""
    once = {
        "fixture": Once(name="fixture", kind="fixture", cost=9_000.0),
        "pallets": Once(name="pallets", kind="pallets", cost=8_000.0, share=0.40),
        "programme": Once(name="programme", kind="programme", hours=40.0, labour="operator"),
        "gauges": Once(name="gauges", kind="gauges", cost=4_520.0),
    }
    study = plain.with_inputs(
        {f"part.routes.route.once.{name}": row for name, row in once.items()} | {WAGE: 42.0}
    )
    made = sheet(study, "make")
    assert made.once() == pytest.approx(9_000 + 0.4 * 8_000 + 40 * 42 + 4_520, rel=1e-13)
    assert made.once() == pytest.approx(18_400.0, rel=1e-13)
    assert f"{made.once() / 12_000:.3f}" == "1.533"
    assert made.per_part() == 0.0


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


# --- minutes of a load and of a cut ----------------------------------------------------------------------


def test_a_load_has_its_changes_moves_and_probing(plain: Study, sheet: Sheet) -> None:
    """Tools a, b, b, a are three changes of 0.1; five moves of 0.05, 1 min of probing, a swap of 2, four parts."""
    other = plain.rates.tools["cutter"].model_dump() | {"name": "other"}
    study = plain.with_inputs({"rates.tools.other": type(plain.rates.tools["cutter"])(**other)})
    cuts = {
        str(number): {**CHAMFER, "tool": tool}
        for number, tool in enumerate(("cutter", "other", "other", "cutter"))
    }
    study = with_cuts(study, cuts, parts_per_load=4, index_moves=5, probing=1.0).with_inputs(
        {f"{MACHINE}.tool_change": 0.1, f"{MACHINE}.index_time": 0.05, f"{MACHINE}.pallet_swap": 2.0}
    )
    a_load = 3 * 0.1 + 5 * 0.05 + 1.0 + 2.0
    assert sheet(study, "make").minutes_per_part("machine") == pytest.approx(
        4 * 0.5 + a_load / 4.0, rel=1e-13
    )


def test_rapid_moves_of_every_cut_are_counted(plain: Study, sheet: Sheet) -> None:
    """100 mm once and 300 mm three times at 5,000 mm/min, beside 0.5 and 3 x 0.5 min in feed."""
    cuts = {"one": {**CHAMFER, "rapid": 100.0}, "two": {**CHAMFER, "rapid": 300.0, "count": 3}}
    study = with_cuts(plain, cuts).with_inputs({f"{MACHINE}.rapid": 5000.0})
    expected = 4 * 0.5 + (100.0 + 3 * 300.0) / 5000.0
    assert sheet(study, "make").minutes_per_part("machine") == pytest.approx(expected, rel=1e-13)


BY_HAND = [
    # ten-millimetre cutter with two teeth; each time is way over feed. Five lanes on two levels, each longer by
    # what the round cutter is behind: its radius 5 less the 3 at which it is 8 wide
    (
        cut(
            "face",
            length=100.0,
            width=40.0,
            width_of_cut=8.0,
            depth=3.0,
            depth_of_cut=2.0,
            overtravel="exact",
            spindle_speed=1000.0,
            feed=500.0,
        ),
        2 * 5 * (100 + 5 - 3) / 500,
    ),
    (
        cut(
            "contour",
            length=200.0,
            radial_stock=1.0,
            width_of_cut=0.5,
            depth=30.0,
            depth_of_cut=15.0,
            spindle_speed=1000.0,
            feed=1000.0,
        ),
        200 * 2 * 2 / 1000,
    ),
    (
        cut(
            "clear",
            volume=30000.0,
            width_of_cut=1.0,
            depth_of_cut=10.0,
            efficiency=0.6,
            spindle_speed=1000.0,
            feed=1000.0,
        ),
        30000 / (10 * 1000 * 0.6),
    ),
    # pocket: five lanes of 40 and one way of 20 across, two levels; wall of 2 x 40 + 2 x 20 with rounded corners
    (
        cut(
            "pocket",
            length=50.0,
            width=30.0,
            depth=10.0,
            width_of_cut=5.0,
            depth_of_cut=5.0,
            corner_radius=10.0,
            spindle_speed=1000.0,
            feed=1000.0,
        ),
        2 * (5 * 40 + 20) / 1000 + (120 - (8 - 2 * np.pi) * 5) / 1000,
    ),
    # feed from 0.1 a tooth, two teeth, 2000 turns: 400 mm/min
    (cut("chamfer", length=600.0, passes=2, spindle_speed=2000.0, feed_per_tooth=0.1), 2 * 600 / 400),
    # the same from the speed at the edge: 2000 turns of 10 mm are 20 pi m/min
    (cut("chamfer", length=600.0, cutting_speed=20 * np.pi, feed_per_rev=0.2), 600 / 400),
    # drill: point of 90 deg adds 5 mm; 50 mm at 100 mm/min, once more out in rapid at 5000, once in between
    (
        cut("drill", depth=45.0, point_angle=90.0, spindle_speed=1000.0, feed_per_rev=0.1),
        50 / 100 + 50 / 5000,
    ),
    (
        cut("drill", depth=45.0, point_angle=90.0, peck=25.0, spindle_speed=1000.0, feed_per_rev=0.1),
        50 / 100 + 2 * 50 / 5000,
    ),
    (
        cut("drill", depth=45.0, point_angle=90.0, retract="feed", spindle_speed=1000.0, feed_per_rev=0.1),
        2 * 50 / 100,
    ),
    (cut("tap", depth=20.0, pitch=1.0, return_ratio=2.0, spindle_speed=500.0), 20 / 500 + 20 / 1000),
    # thread of 20: the centre runs a helix of diameter 10 at half the feed of the edge
    (
        cut(
            "thread-mill",
            thread_diameter=20.0,
            pitch=1.5,
            depth=10.0,
            passes=2,
            spindle_speed=1000.0,
            feed=1000.0,
        ),
        2 * np.hypot(np.pi * 10.0, 1.5) / 500,
    ),
    (
        cut(
            "turn",
            diameter=30.0,
            length=60.0,
            depth=3.0,
            depth_of_cut=1.5,
            spindle_speed=1000.0,
            feed_per_rev=0.2,
        ),
        2 * 60 / 200,
    ),
    (
        cut(
            "bore",
            diameter=16.0,
            length=8.0,
            depth=1.0,
            depth_of_cut=0.5,
            spindle_speed=1000.0,
            feed_per_rev=0.05,
        ),
        2 * 8 / 50,
    ),
    # across 20 mm at the spindle speed stated
    (cut("turn-face", diameter=50.0, inner_diameter=10.0, spindle_speed=1000.0, feed_per_rev=0.1), 20 / 100),
    (cut("part-off", diameter=50.0, inner_diameter=10.0, spindle_speed=1000.0, feed_per_rev=0.1), 20 / 100),
    # facing at the speed of the middle diameter, 30 pi m/min: 1000 turns
    (
        cut("turn-face", diameter=50.0, inner_diameter=10.0, cutting_speed=30 * np.pi, feed_per_rev=0.1),
        20 / 100,
    ),
    # parting at constant speed: the ring's area over speed times feed
    (
        cut("part-off", diameter=30.0, inner_diameter=10.0, cutting_speed=100.0, feed_per_rev=0.1),
        np.pi * (30**2 - 10**2) / 4 / (100 * 1000 * 0.1),
    ),
]


def timed(plain: Study, fields: dict[str, Any], **machine: float) -> CutTime:
    limits = {f"{MACHINE}.{name}": value for name, value in machine.items()}
    study = with_cuts(plain, {"it": fields}).with_inputs(
        {f"{TOOL}.teeth": 2, f"{MACHINE}.rapid": 5000.0} | limits
    )
    step = study.part.routes["route"].steps["mill"]
    assert isinstance(step, MachineStep)
    return cut_time(step, step.cuts["it"], study.rates, "bar")


@pytest.mark.parametrize(
    "fields, minutes", BY_HAND, ids=[f"{number}-{row[0]['kind']}" for number, row in enumerate(BY_HAND)]
)
def test_minutes_of_a_cut_by_hand(plain: Study, fields: dict[str, Any], minutes: float) -> None:
    once = timed(plain, fields)
    assert once.minutes == pytest.approx(minutes, rel=1e-12)
    thrice = timed(plain, {**fields, "count": 3, "rapid": 100.0})
    assert thrice.minutes == pytest.approx(3 * (minutes + 100 / 5000), rel=1e-12)
    assert thrice.in_cut == pytest.approx(3 * once.in_cut, rel=1e-12)
    assert once.in_cut <= once.minutes
    assert once.flags == ()


def test_only_minutes_in_feed_wear_the_edge(plain: Study) -> None:
    drill, tap = BY_HAND[7][0], BY_HAND[9][0]
    assert timed(plain, drill).in_cut == pytest.approx(50 / 100, rel=1e-12)
    assert timed(plain, tap).in_cut == pytest.approx(20 / 500, rel=1e-12)


@pytest.mark.parametrize(
    "number, limit, value, words",
    [
        (0, "spindle_speed", 900.0, "spindle speed 1000 1/min is above 900 1/min"),
        (0, "max_feed", 400.0, "feed 500 mm/min is above 400 mm/min"),
        (11, "spindle_speed", 900.0, "spindle speed 1000 1/min is above 900 1/min"),
        (13, "spindle_speed", 900.0, "spindle speed 1000 1/min is above 900 1/min"),
    ],
)
def test_what_a_machine_cannot_do_is_flagged_and_not_clipped(
    plain: Study, number: int, limit: str, value: float, words: str
) -> None:
    fields, minutes = BY_HAND[number]
    found = timed(plain, fields, **{limit: value})
    assert found.flags == (words,)
    assert found.minutes == pytest.approx(minutes, rel=1e-12)


def test_a_tool_that_is_too_short_or_a_spindle_too_weak_is_flagged(plain: Study) -> None:
    """Kienzle with mc = 0: kc = 1200 N/mm2 at 50,000 mm3/min are 1 kW (6e7 N mm/min)."""
    strong = plain.with_inputs(
        {f"{STOCK}.specific_force": 1200.0, f"{STOCK}.force_exponent": 0.0, f"{TOOL}.reach": 29.0}
    )
    fields = cut(
        "contour",
        length=200.0,
        radial_stock=1.0,
        width_of_cut=5.0,
        depth=30.0,
        depth_of_cut=10.0,
        spindle_speed=1000.0,
        feed=1000.0,
    )
    found = timed(strong, fields, spindle_power=0.9)
    assert found.power == pytest.approx(1.0, rel=1e-12)
    assert set(found.flags) == {"power 1 kW is above 0.9 kW", "depth 30 mm is above 29 mm"}
    assert timed(strong.with_inputs({f"{TOOL}.reach": 30.0}), fields, spindle_power=1.1).flags == ()


def test_flags_of_draws_name_the_worst_draw(plain: Study) -> None:
    fields, _ = BY_HAND[0]
    found = timed(plain, {**fields, "feed": np.array([300.0, 500.0, 450.0])}, max_feed=400.0)
    assert found.flags == ("feed 500 mm/min is above 400 mm/min",)


def test_a_cut_that_its_tool_cannot_make_is_refused_by_name(plain: Study) -> None:
    pocket = BY_HAND[3][0]
    with pytest.raises(InputError) as refused:
        timed(plain, {**pocket, "corner_radius": 4.0})
    message = str(refused.value)
    assert "steps.mill.cuts.it" in message
    assert "diameter" in message
    with pytest.raises(InputError, match=r"tool with a diameter.*tools\.csv"):
        timed(plain.with_inputs({f"{TOOL}.diameter": None}), pocket)


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
