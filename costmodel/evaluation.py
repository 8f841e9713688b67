"""One pass of the model for many draws: what every alternative costs a part and is worth today."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from costmodel.make_or_buy import alternative_cost, present_worth
from costmodel.records.study import Study
from costmodel.units import Number


class Cost(NamedTuple):
    """One alternative of a study, draws and all."""

    per_part: Number
    """Running cost of a good part on the study's basis [money/part]."""
    worth: Number
    """Worth today of the cash it costs over the horizon [money]."""


def evaluate(study: Study, names: Iterable[str]) -> tuple[Cost, ...]:
    """Cost the named alternatives of a study."""
    costs = (alternative_cost(study, name) for name in names)
    return tuple(Cost(cost.per_part(), present_worth(cost, study)) for cost in costs)
