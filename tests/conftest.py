"""Studies that the tests share. All of it is invented input; no expected value stands here."""

from __future__ import annotations

import datetime
import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import matplotlib
import pytest
from hypothesis import settings
from pydantic import TypeAdapter

from costmodel.cost_lines import CostSheet
from costmodel.make_or_buy import AlternativeCost, alternative_cost
from costmodel.part_cost import PartCost
from costmodel.reading import read_study
from costmodel.records.cuts import AnyCut
from costmodel.records.fields import Named
from costmodel.records.part import Blank, Part
from costmodel.records.quote import Quote
from costmodel.records.rates import Labour, Machine, Material, Rates
from costmodel.records.route import Route
from costmodel.records.study import Alternative, Study
from costmodel.records.tool import Tool
from costmodel.supply import STOCK

settings.register_profile("costmodel", deadline=None, max_examples=25, derandomize=True)
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


# --- a shop of plain numbers for the make side -----------------------------------------------------------

ROW = {
    "source": "invented",
    "as_of": datetime.date(2026, 1, 1),
    "owner": "engineer",
    "status": "guess",
}
CUT: TypeAdapter[AnyCut] = TypeAdapter(AnyCut)


class Shop:
    """Builds studies of one route, called ``way``, on one machine, called ``m``, of which an hour costs 60."""

    name = "way"

    def __init__(self) -> None:
        self.base = read_study(SMALL / "study.toml")

    def machine(self, name: str = "m", **changes: object) -> Machine:
        """A machine of which only what is stated costs anything: 60 an hour, as consumables."""
        plain = {
            "name": name,
            "purchase_price": 0.0,
            "salvage": 0.0,
            "life": 10.0,
            "interest": 0.0,
            "capital_rule": "straight line without interest",
            "space": "hall",
            "floor_area": 0.0,
            "energy": "grid",
            "power": 0.0,
            "load_factor": 0.0,
            "maintenance": 0.0,
            "consumables": 60.0,
            "practical_hours": 2400.0,
            "budgeted_hours": 1500.0,
            "operator": "hand",
            "rapid": 30_000.0,
            "tool_change": 0.0,
            "max_feed": 20_000.0,
        }
        return Machine(**{**ROW, **plain, **changes})

    def tool(self, name: str = "t", **changes: object) -> Tool:
        """A tool of 10 mm that costs nothing and lasts for ever, as good as."""
        plain = {"name": name, "price": 0.0, "diameter": 10.0, "life": "count", "parts_per_edge": 1e9}
        return Tool(**{**ROW, **plain, **changes})

    def material(self, **changes: object) -> Material:
        """A material that costs nothing."""
        return Material(**{**ROW, "name": "stuff", "price": 0.0, "density": 2.7e-6, **changes})

    def step(self, **changes: object) -> dict[str, object]:
        """A step of one part a load that takes no time."""
        plain = {
            "kind": "machine",
            "name": "s",
            "machine": "m",
            "parts_per_load": 1,
            "loading": "outside",
            "hands_on": 0.0,
            "step_yield": 1.0,
        }
        return {**plain, **({} if {"cuts", "cuts_from"} & set(changes) else {"programme": 1.0}), **changes}

    def study(
        self,
        *steps: Mapping[str, object],
        route: Mapping[str, object] | None = None,
        machines: tuple[Machine, ...] = (),
        tools: tuple[Tool, ...] = (),
        blank: Mapping[str, object] | None = None,
        material: Material | None = None,
        hand: float = 42.0,
        lot: float = 200.0,
        inputs: Mapping[str, object] | None = None,
    ) -> Study:
        """A study whose alternative ``way`` is made by these steps."""
        way = Route(
            name="way",
            title="The way",
            steps=Named({str(step["name"]): step for step in steps}),
            lead_time=0.0,
            lead_time_sd=0.0,
            **(route or {}),
        )
        stone = {"material": "stuff", "shape": "mass", "mass": 1.0, "finished_mass": 1.0}
        labour = Labour(**{**ROW, "name": "hand", "wage": hand, "on_costs": 0.0})
        part = self.base.part
        fresh = type(part)(
            name=part.name,
            title=part.title,
            revision=part.revision,
            invented=True,
            blank=Blank(**{**stone, **(blank or {})}),
            routes=Named({"way": way}),
        )
        rates = self.base.rates
        rows = {
            "machines": Named({row.name: row for row in (machines or (self.machine(),))}),
            "labour": Named({**rates.labour, "hand": labour}),
            "materials": Named({"stuff": material or self.material()}),
            "tools": Named({row.name: row for row in (tools or (self.tool(),))}),
        }
        fields = {
            **self.base.__dict__,
            "part": fresh,
            "rates": type(rates)(**{**rates.__dict__, **rows}),
            "alternatives": Named(
                {
                    "status-quo": self.base.alternatives["status-quo"],
                    "way": Alternative(name="way", title="Way", make="way", lot=lot),
                }
            ),
            "capacity": Named(),
            "uncertainty": Named(),
            "scenarios": Named(),
        }
        study = Study(**fields)
        return study.with_inputs(inputs) if inputs else study

    def cost(self, study: Study, **options: object) -> AlternativeCost:
        """What the way costs."""
        return alternative_cost(study, "way", **options)  # type: ignore[arg-type]

    def sheet(self, study: Study, **options: object) -> PartCost:
        """The lines of the way."""
        sheet = self.cost(study, **options).portions[0].sheet
        assert isinstance(sheet, PartCost)
        return sheet

    def part(self, study: Study, **options: object) -> float:
        """What a good part costs to make, its stock left out."""
        return float(self.sheet(study, **options).per_part(lambda line: line.step != STOCK))


@pytest.fixture(scope="session")
def shop() -> Shop:
    return Shop()
