"""The map of verdicts, and scenarios side by side."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.crossings import break_even_volumes
from costmodel.errors import InputError
from costmodel.records.fields import Named
from costmodel.records.rates import Duty
from costmodel.records.study import Study
from costmodel.records.uncertain import Scenario, Uncertain
from costmodel.scenarios import BASE, scenario_cases
from costmodel.sensitivity import swings
from costmodel.verdict_map import verdict_map

MINUTES = "part.routes.route.steps.mill.programme"
HOUR, BLANK = "rates.machines.mill.consumables", "rates.materials.bar.price"
PRICE, VOLUME = "quotes.supplier.tiers.1.price", "demand.per_year"


@pytest.mark.parametrize("address", ["rates.currency.EUR.rate", "part.routes.cuts.steps.mill.step_yield"])
def test_regions_meet_where_the_break_even_volumes_are(small: Study, address: str) -> None:
    """S14: along the volume, at each value of the other input, the map changes at the crossings (M19)."""
    values = {"rates.currency.EUR.rate": (0.9, 1.12, 1.3)}.get(address, (0.9, 0.96, 0.99))
    volumes = np.arange(100.0, 2600.0, 25.0)
    pair = ("make-cuts", "status-quo")
    found = verdict_map(small, address, values, volumes, pair)
    for column, value in enumerate(values):
        crossings = break_even_volumes(small.with_inputs({address: value}), *pair, 100, 2575)
        changes = np.flatnonzero(np.diff(found.cheapest[:, column]))
        spans = {(volumes[at], volumes[at + 1]) for at in changes}
        for low, high in spans:
            assert any(low < crossing.volume <= high for crossing in crossings), (low, high)
        single = [c for c in crossings if not any(abs(c.volume - d.volume) < 50 for d in crossings if d != c)]
        for crossing in single:
            assert any(low < crossing.volume <= high for low, high in spans), crossing


def test_regions_meet_where_the_switching_value_is(plain: Study) -> None:
    """S14 with M24: 31.80 = 14.00 + 80/60 t at 13.35 minutes, at every volume here."""
    study = plain.with_inputs({PRICE: 31.80, BLANK: 14.00, HOUR: 80.0, MINUTES: 12.0})
    spread = Uncertain(name=MINUTES, shape="uniform", low=10.0, high=16.0)
    study = study.with_inputs({"uncertainty": Named({MINUTES: spread})})
    switching = swings(study, "make", "buy")[0].switching
    assert switching == pytest.approx(13.35, abs=1e-6)
    values = np.linspace(10.0, 16.0, 61)
    found = verdict_map(study, MINUTES, values, [500.0, 4000.0, 9000.0])
    for row in range(3):
        made = [found.at(row, column) == "make" for column in range(values.size)]
        assert made == [bool(value < switching) for value in values]


def test_a_map_is_what_single_studies_say(demo: dict[str, Study]) -> None:
    study = demo["encoder-cover"]
    address, values, volumes = "rates.currency.EUR.rate", (0.95, 1.1, 1.3), (400.0, 1800.0)
    found = verdict_map(study, address, values, volumes)
    assert found.unit == "USD"
    assert found.cheapest.shape == (2, 3)
    for row, volume in enumerate(volumes):
        for column, value in enumerate(values):
            single = study.with_inputs({VOLUME: volume, address: value})
            worth = scenario_cases(single.with_inputs({"scenarios": Named()})).cases[0].worth
            ordered = sorted(worth, key=lambda name: worth[name])
            assert found.at(row, column) == ordered[0]
            lead = worth[ordered[1]] - worth[ordered[0]]
            assert found.lead[row, column] == pytest.approx(lead, rel=1e-6, abs=1e-4)


# --- scenarios -----------------------------------------------------------------------------------------


def three_duties(plain: Study) -> Study:
    """A price of 20 and one duty on all of it, in three scenarios."""
    duty = Duty(
        name="duty",
        rate=0.0,
        base="full",
        cleared_by="broker (invented)",
        source="invented",
        owner="tests",
        status="guess",
        as_of=plain.as_of,
        valid_from=plain.rates.year.valid_from,
        valid_to=plain.rates.year.valid_to.replace(year=2031),
    )
    cases = {"low": 0.05, "middle": 0.27, "high": 0.55}
    scenarios = {
        name: Scenario(name=name, title=name, inputs={"rates.duties.duty.rate": rate})
        for name, rate in cases.items()
    }
    return plain.with_inputs(
        {
            PRICE: 20.0,
            BLANK: 28.0,
            "rates.duties.duty": duty,
            "quotes.supplier.duties": ("duty",),
            "quotes.supplier.delivery_term": "DPU",
            "quotes.supplier.freight": "lane",
            "scenarios": Named(scenarios),
        }
    )


def test_three_duty_scenarios(plain: Study) -> None:
    """S12: 20.00 landed at 5, 27 and 55 % duty is 21.00, 25.40 and 31.00; the verdict turns with it."""
    found = scenario_cases(three_duties(plain))
    assert [case.name for case in found.cases] == [BASE, "low", "middle", "high"]
    assert [case.per_part["buy"] for case in found.cases] == pytest.approx(
        [20.0, 21.0, 25.4, 31.0], rel=1e-12
    )
    assert [case.cheapest for case in found.cases] == ["buy", "buy", "buy", "make"]
    assert found.expected is None


def test_weights_give_an_expected_worth(plain: Study) -> None:
    """Weights 0.3, 0.3, 0.2 leave 0.2 for the study as it stands: the duty is 18.7 % on average (by hand)."""
    study = three_duties(plain)
    weights = {"low": 0.3, "middle": 0.3, "high": 0.2}
    scenarios = {
        name: Scenario(name=name, title=name, inputs=dict(it.inputs), weight=weights[name])
        for name, it in study.scenarios.items()
    }
    found = scenario_cases(study.with_inputs({"scenarios": Named(scenarios)}))
    assert [case.weight for case in found.cases] == pytest.approx([0.2, 0.3, 0.3, 0.2])
    mean_duty = 0.3 * 0.05 + 0.3 * 0.27 + 0.2 * 0.55
    assert found.expected is not None
    assert found.expected["buy"] == pytest.approx(4000.0 * 20.0 * (1.0 + mean_duty), rel=1e-9)
    assert found.expected["make"] == pytest.approx(4000.0 * 28.0, rel=1e-9)


@pytest.mark.parametrize(
    ("weights", "words"),
    [((0.5, 0.6, 0.2), "at most 1"), ((0.5, None, 0.2), "a weight for each scenario or for none")],
)
def test_weights_that_cannot_be_are_told(plain: Study, weights: tuple[float | None, ...], words: str) -> None:
    study = three_duties(plain)
    scenarios = {
        name: Scenario(name=name, title=name, inputs=dict(it.inputs), weight=weight)
        for (name, it), weight in zip(study.scenarios.items(), weights, strict=True)
    }
    with pytest.raises(InputError, match=words):
        study.with_inputs({"scenarios": Named(scenarios)})


def test_the_scenarios_of_the_demo_stand_side_by_side(demo: dict[str, Study]) -> None:
    for study in demo.values():
        found = scenario_cases(study)
        assert [case.name for case in found.cases] == [BASE, *study.scenarios]
        assert all(set(case.worth) == set(study.alternatives) for case in found.cases)
