"""Named scenarios side by side: what every alternative costs in each, and on average where they have weights."""

from __future__ import annotations

from typing import NamedTuple

from costmodel.evaluation import evaluate
from costmodel.records.study import Study

BASE = "base"


class Case(NamedTuple):
    """One scenario, or the study as it stands."""

    name: str
    title: str
    weight: float | None
    """How likely it is [fraction]; None where scenarios have no weights."""
    per_part: dict[str, float]
    """Running cost of a good part on the study's basis [money/part]."""
    worth: dict[str, float]
    """Worth today of the cash each alternative costs over the horizon [money]."""

    @property
    def cheapest(self) -> str:
        """The alternative that costs least cash over the horizon."""
        return min(self.worth, key=lambda name: self.worth[name])


class Cases(NamedTuple):
    """The study as it stands and every scenario of it."""

    cases: tuple[Case, ...]
    expected: dict[str, float] | None
    """Worth of each alternative weighted by the scenarios [money]; None where they have no weights."""


def scenario_cases(study: Study) -> Cases:
    """Cost every alternative as the study stands and in each of its scenarios.

    What the weights of the scenarios leave of one is the weight of the study as it stands.
    """
    weights = [scenario.weight for scenario in study.scenarios.values() if scenario.weight is not None]
    rest = 1.0 - sum(weights) if weights else None
    cases = [_case(study, BASE, study.title, rest)]
    for name, scenario in study.scenarios.items():
        cases.append(_case(study.with_scenario(name), name, scenario.title, scenario.weight))
    if not weights:
        return Cases(tuple(cases), None)
    expected = {
        name: sum((case.weight or 0.0) * case.worth[name] for case in cases) for name in study.alternatives
    }
    return Cases(tuple(cases), expected)


def _case(study: Study, name: str, title: str, weight: float | None) -> Case:
    costs = dict(zip(study.alternatives, evaluate(study, study.alternatives), strict=True))
    return Case(
        name=name,
        title=title,
        weight=weight,
        per_part={key: float(cost.per_part) for key, cost in costs.items()},
        worth={key: float(cost.worth) for key, cost in costs.items()},
    )
