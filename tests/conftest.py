"""Studies that the tests share. All of it is invented input; no expected value stands here."""

from __future__ import annotations

import datetime
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib
import pytest
from hypothesis import settings

from costmodel.cost_lines import CostSheet
from costmodel.make_or_buy import alternative_cost
from costmodel.reading import read_study
from costmodel.records.part import Part
from costmodel.records.quote import Quote
from costmodel.records.rates import Rates
from costmodel.records.study import Study

settings.register_profile("costmodel", deadline=None)
settings.load_profile("costmodel")
matplotlib.use("Agg")
os.environ.setdefault("MPLBACKEND", "Agg")

TESTS = Path(__file__).parent
SMALL = TESTS / "small"
DATA = TESTS.parent / "data"
DEMO_STUDIES = ("encoder-cover", "saddle-clamp", "worm-shaft")
DAY = datetime.date(2026, 6, 15)
FIRST, LAST = datetime.date(2026, 1, 1), datetime.date(2026, 12, 31)


@pytest.fixture(scope="session")
def small() -> Study:
    """The study of tests/small: every kind of cut and step, two suppliers, a split, ranges, scenarios."""
    return read_study(SMALL / "study.toml")


@pytest.fixture(scope="session")
def demo() -> dict[str, Study]:
    """The demonstration studies by name."""
    return {name: read_study(DATA / "studies" / f"{name}.toml") for name in DEMO_STUDIES}


@pytest.fixture
def small_copy(tmp_path: Path) -> Path:
    """A folder with a copy of the files of tests/small, to be broken."""
    return Path(shutil.copytree(SMALL, tmp_path / "small"))


@pytest.fixture(scope="session")
def plain() -> Study:
    """A study in which nothing costs anything, nothing is lost, nothing varies and nothing is kept in stock.

    One route (machine "mill", outside "finish", bench "fit"), one supplier at a price of 1, no interest. A
    test states the few inputs of its example with `with_inputs` and knows that nothing else adds to them.
    """
    return Study(
        name="plain",
        title="Plain",
        question="Make it or buy it?",
        as_of=DAY,
        review_date=DAY,
        prepared_by="engineer",
        cleared_by="finance",
        invented=True,
        part=plain_part(),
        rates=plain_rates(),
        quotes={"supplier": plain_quote()},
        demand={"per_year": 4000.0, "weekly_sd": 0.0, "weeks": 50.0, "shortage_cost": 0.0},
        finance={"discount_rate": 0.0, "horizon": 12, "holding": 0.0, "service": 0.95},
        alternatives={
            "make": {"title": "Make", "make": "route", "lot": 200.0},
            "buy": {"title": "Buy", "buy": "supplier", "lot": 200.0, "current": True},
        },
        capacity={"mill": {"free_hours": 1e6}},
    )


def plain_part() -> Part:
    """A part of one kilogram with one route through a machine, a processor and a bench."""
    steps: dict[str, dict[str, Any]] = {
        "mill": {
            "kind": "machine",
            "machine": "mill",
            "parts_per_load": 1,
            "programme": 1.0,
            "loading": "outside",
            "hands_on": 0.0,
            "step_yield": 1.0,
        },
        "finish": {"kind": "outside", "processor": "finisher"},
        "fit": {"kind": "bench", "labour": "fitter", "hands_on": 0.0, "step_yield": 1.0},
    }
    route = {"title": "Route", "lead_time": 0.0, "lead_time_sd": 0.0, "steps": steps}
    blank = {"material": "bar", "shape": "mass", "mass": 1.0, "finished_mass": 0.0}
    return Part(name="part", title="Part", revision="A", invented=True, blank=blank, routes={"route": route})


def plain_rates() -> Rates:
    """Rates at which everything is free of charge; the euro stands at one dollar."""
    sourced = {
        "source": "invented",
        "as_of": FIRST,
        "owner": "tests",
        "status": "guess",
    }
    machine = {
        **dict.fromkeys(("purchase_price", "salvage", "interest", "floor_area", "power"), 0.0),
        **dict.fromkeys(("load_factor", "maintenance", "consumables", "tool_change"), 0.0),
        **dict.fromkeys(("rapid", "spindle_speed", "spindle_power", "max_feed"), 1e6),
        "life": 10.0,
        "space": "hall",
        "energy": "grid",
        "operator": "operator",
        "practical_hours": 2400.0,
        "budgeted_hours": 1500.0,
    }
    tables: dict[str, dict[str, dict[str, Any]]] = {
        "machines": {"mill": machine},
        "labour": {name: {"wage": 0.0, "on_costs": 0.0} for name in ("operator", "fitter")},
        "materials": {"bar": {"price": 0.0, "density": 2.7e-6}},
        "tools": {"cutter": {"price": 0.0, "diameter": 10.0, "life": "count", "parts_per_edge": 600.0}},
        "processors": {
            "finisher": {"price": 0.0, "lot_minimum": 0.0, "process_yield": 1.0, "turnaround": 0.0}
        },
        "freight": {
            "lane": {
                **dict.fromkeys(("price", "minimum", "insurance", "broker", "inland", "transit"), 0.0),
                "mode": "sea",
                "volumetric_density": 1e-6,
            }
        },
        "duties": {},
        "entry_fees": {},
        "currency": {"EUR": {"rate": 1.0}},
        "energy": {"grid": {"price": 0.0}},
        "spaces": {"hall": {"price": 0.0}},
        "faults": {name: {"cost": 0.0} for name in ("receipt", "assembly", "field")},
        "indices": {},
    }
    year = {
        "year": 2026,
        "home_currency": "USD",
        "customs_basis": "FOB",
        "valid_from": FIRST,
        "valid_to": LAST,
        "review_by": LAST,
        "invented": True,
    }
    rows = {
        table: {name: {**sourced, **row} for name, row in named.items()} for table, named in tables.items()
    }
    return Rates(year=year, **rows)


def plain_quote() -> Quote:
    """An offer at a price of 1, delivered to the dock, without faults, waiting or payment before receipt."""
    return Quote(
        name="supplier",
        title="Supplier",
        part="part",
        revision="A",
        currency="USD",
        delivery_term="DAP",
        place="our dock",
        valid_from=FIRST,
        valid_to=LAST,
        tiers={"1": {"quantity": 1.0, "price": 1.0, "currency": "USD"}},
        minimum_order=1.0,
        packed_mass=1.0,
        packed_volume=0.0,
        lead_time=0.0,
        lead_time_sd=0.0,
        rejected_at_receipt=0.0,
        rejected_at_assembly=0.0,
        rejected_in_field=0.0,
        source="invented",
        status="quoted",
    )


@pytest.fixture(scope="session")
def sheet() -> Callable[..., CostSheet]:
    """The lines of one alternative of a study: ``sheet(study, "make", "cash")``."""

    def of(study: Study, name: str, basis: Any = None) -> CostSheet:
        return alternative_cost(study, name, basis).portions[0].sheet

    return of
