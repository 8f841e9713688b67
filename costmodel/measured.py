"""What the shop logged, against what was believed: proposals with n, spread and the way they were found.

Nothing is applied: a proposal is a row that a person accepts or not. Middle and spread come from
`formulas.measured_values.log_estimate`; the belief before is the input's range in the study, or a quarter of
its value to either side where the study has none. The proposal lies between both by their certainty.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np
from pydantic_core import PydanticCustomError

from costmodel.draws.spreads import quantile
from costmodel.errors import InputError, Problem
from costmodel.formulas import measured_values
from costmodel.formulas.measured_values import Estimate, Estimator, Weighed
from costmodel.records.address import currency_at, field_quantity, leaf_field, unit_at, value_at
from costmodel.records.fields import Named, Quantity
from costmodel.records.rate_sheet import Change, plain_text
from costmodel.records.shop_log import Log
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain

TENTHS = 2.563103131089201
"""Distance between the 10 and the 90 % point of a normal distribution, in standard deviations."""
BLIND = 0.25
"""Spread of a belief without a range, as a share of its value."""


class Proposal(NamedTuple):
    """What a log says of one input."""

    address: str
    unit: str
    believed: float
    believed_spread: float
    ranged: bool
    """Whether the belief's spread stands in the study; without it the house's rule stands in."""
    measured: float
    spread: float
    n: int
    outliers: int
    how: str
    weighed: Weighed

    @property
    def value(self) -> float:
        """The proposed value."""
        return float(self.weighed.middle)

    @property
    def range(self) -> tuple[float, float]:
        """The proposed 10 and 90 % points of what is known of the value."""
        half = TENTHS / 2.0 * float(self.weighed.spread)
        return self.value - half, self.value + half


def belief(study: Study, address: str) -> tuple[float, float, bool]:
    """What a study believes of an input: value, standard deviation, and whether its range says so."""
    value = float(value_at(study, address))
    spread = study.uncertainty.get(address)
    if spread is not None:
        low, high = (float(quantile(study, spread, share)) for share in (0.1, 0.9))
        return value, (high - low) / TENTHS, True
    room = np.minimum(value, 1.0 - value) if unit_at(study, address, "") == "fraction" else value
    return value, BLIND * float(room) or BLIND, False


def propose(study: Study, log: Log, estimator: Estimator = "robust where outliers") -> Proposal:
    """The proposal of one log against the belief of a study. Raises InputError and LimitError."""
    believed, sd, ranged = belief(study, log.address)
    unit = unit_at(study, log.address, study.rates.year.home_currency)
    if log.tried:
        share = log.good / log.tried
        weighed = measured_values.shrunk_share(believed, sd, log.good, log.tried)
        spread = float(np.sqrt(share * (1.0 - share)))
        how = f"{log.good:g} of {log.tried:g} parts"
        return Proposal(
            log.address, unit, believed, sd, ranged, share, spread, int(log.tried), 0, how, weighed
        )
    found = measured_values.log_estimate(np.array(log.values), estimator)
    if log.of_spread:
        freedom = float(np.sqrt(2.0 * max(found.n - 1, 1)))
        found = found._replace(middle=found.spread, error=found.spread / freedom)
    # one value has no spread of its own: it counts as sure as the belief
    error = found.error if found.n > 1 else sd
    weighed = measured_values.shrunk_mean(believed, sd, found.middle, error)
    return Proposal(
        *(log.address, unit, believed, sd, ranged, found.middle, found.spread),
        *(found.n, found.outliers, _how(found), weighed),
    )


def _how(found: Estimate) -> str:
    if not found.robust:
        return "mean, standard deviation"
    return f"median, 1.4826 MAD ({found.outliers} outliers)"


def proposals(
    study: Study, logs: Iterable[Log], estimator: Estimator = "robust where outliers"
) -> tuple[Proposal, ...]:
    """The proposals of all logs, and of the spread of lead times where deliveries were logged."""
    return tuple(propose(study, log, estimator) for log in logs)


def as_change(proposal: Proposal, as_of: datetime.date, owner: str, source: str) -> Change:
    """A proposal as a row for a person to accept; its status is measured, and nothing is accepted yet."""
    weight = float(proposal.weighed.weight)
    belief_words = (
        "its range in the study" if proposal.ranged else f"{BLIND:.0%} of its value, no range known"
    )
    how = (
        f"{proposal.how}; measured {_text(proposal.measured, proposal.unit)} has weight {weight:.2f} against "
        f"{_text(proposal.believed, proposal.unit)} believed with {belief_words}"
    )
    return Change(
        address=proposal.address,
        was=_text(proposal.believed, proposal.unit),
        value=_text(proposal.value, proposal.unit),
        n=proposal.n,
        spread=_text(proposal.spread, proposal.unit),
        how=how,
        source=source,
        as_of=as_of,
        owner=owner,
        status="measured",
    )


def _text(value: float, unit: str) -> str:
    if unit == "fraction":
        return f"{plain_text(100.0 * value)} %"
    return f"{plain_text(value)} {unit}".strip()


def with_measured(study: Study, changes: Iterable[Change]) -> Study:
    """A study with the accepted changes only; their inputs are no longer a range but what was measured."""
    accepted = [change for change in changes if change.accept == "yes"]
    if not accepted:
        return study
    inputs: dict[str, object] = {change.address: change.value for change in accepted}
    inputs |= dict.fromkeys(_statuses(study, inputs), "measured")
    return study.with_inputs({**inputs, "uncertainty": Named(_ranges(study, accepted, inputs))})


def _statuses(study: Study, inputs: Mapping[str, object]) -> list[str]:
    """Addresses of the status of each row or offer that a change belongs to."""
    found: dict[str, None] = {}
    for address in inputs:
        head, _, _ = address.rpartition(".")
        owner = value_at(study, head) if head else None
        if hasattr(owner, "status"):
            found[f"{head}.status"] = None
    return list(found)


def _ranges(study: Study, accepted: Iterable[Change], inputs: Mapping[str, object]) -> dict[str, Uncertain]:
    """The ranges of a study, each measured one moved to its new middle and narrowed by what was measured."""
    ranges = dict(study.uncertainty)
    after = study.with_inputs(dict(inputs))
    for change in accepted:
        spread = ranges.get(change.address)
        if spread is None or change.n is None:
            continue
        _, sd, _ = belief(study, change.address)
        measured_sd = _error(after, change)
        narrow = sd * measured_sd / float(np.hypot(sd, measured_sd)) if measured_sd else 0.0
        value = float(value_at(after, change.address))
        half = TENTHS / 2.0 * narrow
        ranges[change.address] = Uncertain(
            name=change.address,
            shape="three-point",
            p10=value - half,
            p50=value,
            p90=value + half,
            source=f"{change.source}: {change.n} values",
            owner=change.owner,
            status="measured",
        )
    return ranges


def _error(study: Study, change: Change) -> float:
    """Standard error of a measured middle, in the canonical unit of its input."""
    if not change.n or not change.spread:
        return 0.0
    return spread_number(study, change.address, change.spread) / float(np.sqrt(change.n))


def spread_number(study: Study, address: str, text: str) -> float:
    """A spread as text in the canonical unit of its input. Raises InputError."""
    spec = field_quantity(*leaf_field(study, address))
    if spec is None:
        return 0.0
    home = currency_at(study, address, study.rates.year.home_currency)
    plain = Quantity(spec.unit, at_least=0.0)
    try:
        return float(plain.check(text, home, from_file=True) or 0.0)
    except PydanticCustomError as error:
        fault = (error.context or {})["faults"][0]
        problem = Problem("measured", f"{address} (spread)", fault.value, fault.expected, fault.remedy)
        raise InputError([problem]) from error
