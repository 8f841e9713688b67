"""A shop of plain numbers for the tests of the make side: invented, so that arithmetic can be followed by hand."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

import pytest
from pydantic import TypeAdapter

from costmodel.make_or_buy import AlternativeCost, alternative_cost
from costmodel.part_cost import PartCost
from costmodel.reading import read_study
from costmodel.records.cuts import AnyCut
from costmodel.records.fields import Named
from costmodel.records.part import Blank
from costmodel.records.rates import Labour, Machine, Material, Tool
from costmodel.records.route import Route
from costmodel.records.study import Alternative, Study
from costmodel.supply import STOCK

SMALL = Path(__file__).parent / "small" / "study.toml"
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
        self.base = read_study(SMALL)

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
