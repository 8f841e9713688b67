"""What the shop logged, against what was believed: proposals with n, spread and the way they were found.

Nothing is applied: a proposal is a row that a person accepts or not. Middle and spread come from
`formulas.measured_values`; the belief before is the input's range in the study, or a quarter of
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
from costmodel.records.address import (
    currency_at,
    field_quantity,
    leaf_field,
    tokens,
    unit_at,
    value_at,
)
from costmodel.records.fields import Named, Quantity, Sourced, Vouched
from costmodel.records.rate_sheet import AS_WRITTEN, Change, plain_text
from costmodel.records.route import Once
from costmodel.records.shop_log import Log
from costmodel.records.study import Demand, Study
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
        return around(self.value, float(self.weighed.spread), self.unit)


def around(value: float, spread: float, unit: str) -> tuple[float, float]:
    """The 10 and 90 % points of what is known; an end beyond 0, or a fraction's 1, is as many times off instead."""
    half = TENTHS / 2.0 * spread
    low, high = value - half, value + half
    if low <= 0.0 < value:
        low = value**2 / high
    if unit == "fraction" and high >= 1.0 > value:
        high = 1.0 - (1.0 - value) ** 2 / (1.0 - low)
    return low, high


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
        wide = measured_values.clash(believed, sd, share, spread / float(np.sqrt(log.tried)))
        weighed = weighed._replace(spread=weighed.spread * wide)
        how = f"{log.good:g} of {log.tried:g} parts"
        return Proposal(
            log.address, unit, believed, sd, ranged, share, spread, int(log.tried), 0, how, weighed
        )
    found = measured_values.log_estimate(np.array(log.values), estimator)
    one = found.error * float(np.sqrt(found.n))  # a value's spread as it bears on the middle
    if log.of_spread:
        one = max(found.spread, believed) / float(np.sqrt(2.0))
        found = found._replace(middle=found.spread)
    weighed = measured_values.weighed_log(believed, sd, found.middle, one, found.n)
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
        f"{proposal.how}; measured {number_text(proposal.measured, proposal.unit)} has weight {weight:.2f} against "
        f"{number_text(proposal.believed, proposal.unit)} believed with {belief_words}"
    )
    return Change(
        address=proposal.address,
        was=number_text(proposal.believed, proposal.unit),
        value=number_text(proposal.value, proposal.unit),
        low=number_text(proposal.range[0], proposal.unit),
        high=number_text(proposal.range[1], proposal.unit),
        n=proposal.n,
        spread=number_text(proposal.spread, proposal.unit),
        how=how,
        source=source,
        as_of=as_of,
        owner=owner,
        status="measured",
    )


def number_text(value: float, unit: str) -> str:
    """A number of an input in its unit, as a file takes it."""
    if unit == "fraction":
        return f"{plain_text(100.0 * value)} %"
    return f"{plain_text(value)} {unit}".strip()


def with_measured(study: Study, changes: Iterable[Change]) -> Study:
    """A study with the accepted changes only; their inputs are no longer a range but what was measured."""
    accepted = [change for change in changes if change.accept == "yes"]
    if not accepted:
        return study
    inputs: dict[str, object] = {change.address: change.value for change in accepted}
    inputs |= _statuses(study, accepted)
    return study.with_inputs({**inputs, "uncertainty": Named(_ranges(study, accepted, inputs))})


def _statuses(study: Study, changes: Iterable[Change]) -> dict[str, str]:
    """The status of each row or offer whose own figure changes, by address: a figure beside it says nothing of it."""
    found: dict[str, str] = {}
    for change in changes:
        head, _, field = change.address.rpartition(".")
        owner = value_at(study, head) if head else None
        if hasattr(owner, "status") and _own_figure(owner) in (field, None):
            found[f"{head}.status"] = change.status
    return found


def _own_figure(owner: object) -> str | None:
    """The field that a status is about; nothing where it is about no single one, None for an offer, as a whole."""
    if isinstance(owner, Sourced):
        return owner.headline
    own = {Once: "cost", Demand: "per_year"}
    return own.get(type(owner), "") if isinstance(owner, Vouched) else None


def _ranges(study: Study, accepted: Iterable[Change], inputs: Mapping[str, object]) -> dict[str, Uncertain]:
    """The ranges of a study, each measured one at the points that were accepted with its value."""
    ranges = dict(study.uncertainty)
    after = study.with_inputs(dict(inputs))
    for change in accepted:
        if change.address not in ranges or not change.low or not change.high:
            continue
        low, high = (range_number(after, change.address, text) for text in (change.low, change.high))
        ranges[change.address] = Uncertain(
            name=change.address,
            shape="three-point",
            p10=low,
            p50=float(value_at(after, change.address)),
            p90=high,
            source=f"{change.source}: {change.n} values" if change.n else change.source,
            owner=change.owner,
            status=change.status,
        )
    return ranges


class Sorted(NamedTuple):
    """Accepted changes by where they go."""

    here: tuple[Change, ...]
    """Into the files of the study."""
    there: tuple[Change, ...]
    """Already standing where they go: only the study's range may still follow."""
    rates: tuple[Change, ...]
    """Into a year's rates, by `rates apply`."""


def sorted_changes(study: Study, changes: Iterable[Change]) -> Sorted:
    """The accepted changes of a file by where they go. Raises InputError for one whose input has changed since."""
    here, there, rates, problems = [], [], [], []
    for change in (it for it in changes if it.accept == "yes"):
        now, new = (_as_number(study, change.address, it) for it in (None, change.value))
        if _same(now, new):
            there.append(change)
        elif tokens(change.address)[0] == "rates":
            rates.append(change)
        elif change.was and not _same(now, _as_number(study, change.address, change.was)):
            unit = unit_at(study, change.address, study.rates.year.home_currency)
            found, remedy = (
                number_text(now, unit),
                "Look at it again: it has changed since this was proposed.",
            )
            expected = f'"{change.was}" as when it was proposed'
            problems.append(Problem("changes", change.address, found, expected, remedy))
        else:
            here.append(change)
    if problems:
        raise InputError(problems)
    return Sorted(tuple(here), tuple(there), tuple(rates))


def _as_number(study: Study, address: str, text: str | None) -> float:
    return float(value_at(study if text is None else study.with_inputs({address: text}), address))


def _same(one: float, other: float) -> bool:
    """Whether two numbers are one, since a proposal names six digits."""
    return abs(one - other) <= AS_WRITTEN * abs(one)


def written_values(study: Study, changes: Iterable[Change]) -> dict[str, str]:
    """What accepted changes write, by address: each value, and where its row or offer states a status of it, that."""
    listed = list(changes)
    return {**{change.address: change.value for change in listed}, **_statuses(study, listed)}


def written_ranges(study: Study, changes: Iterable[Change]) -> dict[str, dict[str, str]]:
    """The ranges of a study that accepted changes narrow, as its file states them."""
    listed = list(changes)
    after = with_measured(study, listed)
    home = study.rates.year.home_currency
    found: dict[str, dict[str, str]] = {}
    for change in listed:
        spread, before = after.uncertainty.get(change.address), study.uncertainty.get(change.address)
        if spread is None or before is None or spread == before or before.origin != "study":
            continue
        unit = unit_at(study, change.address, home)
        numbers = {it: number_text(getattr(spread, it), unit) for it in ("p10", "p50", "p90")}
        words = {it: str(getattr(spread, it)) for it in ("source", "owner", "status")}
        found[change.address] = {**numbers, **words}
    return found


def range_number(study: Study, address: str, text: str) -> float:
    """A spread, or a point of a range, as text in the canonical unit of its input. Raises InputError."""
    spec = field_quantity(*leaf_field(study, address))
    if spec is None:
        return 0.0
    home = currency_at(study, address, study.rates.year.home_currency)
    plain = Quantity(spec.unit)
    try:
        return float(plain.check(text, home, from_file=True) or 0.0)
    except PydanticCustomError as error:
        fault = (error.context or {})["faults"][0]
        problem = Problem(
            "measured", f"{address} (spread or range)", fault.value, fault.expected, fault.remedy
        )
        raise InputError([problem]) from error
