"""Spoilage in the books: all money stays accounted for."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.errors import LimitError
from costmodel.formulas import spoilage

JOB = {"units": 50.0, "unit_cost": 2000.0, "disposal_value": 600.0, "good_units_of_all_jobs": 140.0}


@pytest.mark.parametrize(("normal", "abnormal"), [(5.0, 0.0), (0.0, 5.0), (3.0, 2.0), (0.0, 0.0)])
def test_money_spent_is_in_the_job_the_period_or_the_disposal(normal: float, abnormal: float) -> None:
    job = spoilage.job_cost_with_spoilage(**JOB, normal_spoiled=normal, abnormal_spoiled=abnormal)
    spent = 50.0 * 2000.0
    assert job.cost + job.period_loss + (normal + abnormal) * 600.0 == pytest.approx(spent)
    assert job.spread_per_unit == 0.0
    assert job.unit_cost == pytest.approx(job.cost / (50.0 - normal - abnormal))


def test_spoilage_of_all_jobs_is_spread_over_their_good_units() -> None:
    job = spoilage.job_cost_with_spoilage(
        **JOB, normal_spoiled=5.0, abnormal_spoiled=0.0, charged_to="all jobs"
    )
    others = (140.0 - 45.0) * job.spread_per_unit
    assert job.cost + others + 5.0 * 600.0 == pytest.approx(50.0 * 2000.0)


def test_the_two_bases_of_normal_spoilage_differ() -> None:
    assert spoilage.normal_spoilage(20000.0, 20500.0, 0.02) == 400.0
    assert spoilage.normal_spoilage(20000.0, 20500.0, 0.02, "units started") == 410.0


def test_a_job_without_a_good_unit_is_refused() -> None:
    with pytest.raises(LimitError, match="below units"):
        spoilage.job_cost_with_spoilage(**JOB, normal_spoiled=np.array([1.0, 30.0]), abnormal_spoiled=20.0)
