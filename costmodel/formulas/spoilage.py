"""How the books treat spoiled units: normal spoilage is a cost of good units, abnormal a loss of the period.

This is the accountant's view of the past; a decision uses the loss carried stage by stage (module `yields`).
"""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, positive
from costmodel.formulas._series import any_number
from costmodel.units import Number

SpoilageBasis = Literal["good output", "units started"]
NormalChargedTo = Literal["this job", "all jobs"]


class JobCost(NamedTuple):
    """What the books show of a job.

    cost [money], unit_cost [money/good unit], spread_per_unit: what normal spoilage adds to every good unit
    of all jobs [money/unit], 0 where this job bears it, and period_loss: abnormal spoilage [money].
    """

    cost: Number
    unit_cost: Number
    spread_per_unit: Number
    period_loss: Number


def normal_spoilage(
    good_units: Number, started_units: Number, rate: Number, basis: SpoilageBasis = "good output"
) -> Number:
    """Spoiled units that count as normal.

    rate x good units, or rate x units started: the two differ and books must say which they use

    Parameters
    ----------
    good_units
        Good units made [part], >= 0.
    started_units
        Units started [part], >= 0.
    rate
        Normal spoilage rate on the basis [fraction].
    basis
        "good output" (default) or "units started" [-].

    Returns
    -------
    Number
        Normal spoilage [part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Units below zero, a rate outside 0 to 1, or an unknown basis.

    References
    ----------
    Horngren, Datar and Rajan, Cost Accounting, ch. 18: the rate is on good output.
    """
    not_negative(good_units=good_units, started_units=started_units)
    fraction(rate=rate)
    one_of("basis", basis, get_args(SpoilageBasis))
    return rate * good_units if basis == "good output" else rate * started_units


def job_cost_with_spoilage(
    units: Number,
    normal_spoiled: Number,
    abnormal_spoiled: Number,
    unit_cost: Number,
    disposal_value: Number,
    good_units_of_all_jobs: Number,
    charged_to: NormalChargedTo = "this job",
) -> JobCost:
    """Cost of a job in the books when some of its units are spoiled.

    The loss of a spoiled unit is its cost so far less its disposal value. Abnormal losses go to the period.
    Normal losses stay with this job, or are spread over the good units of all jobs in the period, this one
    included.

    Parameters
    ----------
    units
        Units started on the job [part], > 0.
    normal_spoiled
        Of these, spoiled as is normal [part], >= 0.
    abnormal_spoiled
        Of these, spoiled beyond what is normal [part], >= 0.
    unit_cost
        Cost of a unit up to the point of detection [money/part], >= 0.
    disposal_value
        What a spoiled unit fetches [money/part]; negative if disposal costs.
    good_units_of_all_jobs
        Good units of all jobs in the period [part], > 0; used only where the spoilage is charged to all jobs.
    charged_to
        "this job" (default) or "all jobs" [-]: who bears normal spoilage.

    Returns
    -------
    JobCost
        Cost [money], unit cost [money/part], spread [money/part] and period loss [money].

    Raises
    ------
    LimitError
        An argument out of range, no good unit left, or an unknown convention.

    References
    ----------
    Horngren, Datar and Rajan, Cost Accounting 16e, p. 751.
    """
    positive(units=units, good_units_of_all_jobs=good_units_of_all_jobs)
    not_negative(normal_spoiled=normal_spoiled, abnormal_spoiled=abnormal_spoiled, unit_cost=unit_cost)
    any_number(disposal_value=disposal_value)
    one_of("charged_to", charged_to, get_args(NormalChargedTo))
    good_units = units - normal_spoiled - abnormal_spoiled
    if not np.all(np.greater(good_units, 0.0)):
        raise LimitError("normal_spoiled plus abnormal_spoiled", units - good_units, "below units")
    loss_per_unit = unit_cost - disposal_value
    normal_loss = normal_spoiled * loss_per_unit
    spread = normal_loss / good_units_of_all_jobs if charged_to == "all jobs" else 0.0 * normal_loss
    borne = good_units * spread if charged_to == "all jobs" else normal_loss
    cost = good_units * unit_cost + borne
    return JobCost(cost, cost / good_units, spread, abnormal_spoiled * loss_per_unit)
