"""What the charts of new rates and of a review draw, as numbers: bridges, and cash promised beside cash realised."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.curves import Subject, subject_of
from costmodel.payback import cumulative_saving
from costmodel.rate_compare import Bridge, StudyEffect
from costmodel.records.study import Study
from costmodel.review import Review

Floats = npt.NDArray[np.float64]


class BridgeSteps(NamedTuple):
    """The way from one figure of an alternative to another, cause by cause."""

    subject: Subject
    title: str
    bridge: Bridge
    more_is_worse: bool = True
    """A cost that goes up is for the worse; a saving that does is for the better."""


def year_steps(effect: StudyEffect, name: str = "") -> BridgeSteps:
    """The bridge of an alternative from one year's rates to another's; without a name that of the new answer."""
    study = effect.after.study
    chosen = name or effect.after.verdict.alternative
    return BridgeSteps(subject_of(study), _title(study, chosen), effect.by_cause[chosen])


def gap_steps(found: Review) -> BridgeSteps:
    """The bridge of the cost of a part from plan to actual."""
    return BridgeSteps(_subject(found), _title(found.study, found.snapshot.chosen), found.gap)


def saving_steps(found: Review) -> BridgeSteps:
    """The bridge of the saving a year from plan to actual."""
    title = f"The saving by {_title(found.study, found.snapshot.chosen)}"
    return BridgeSteps(_subject(found), title, found.saving, more_is_worse=False)


def _title(study: Study, name: str) -> str:
    return f'"{study.alternatives[name].title}"'


def _subject(found: Review) -> Subject:
    subject = subject_of(found.study)
    return subject._replace(invented=subject.invented or found.actuals.invented)


class ReviewCash(NamedTuple):
    """Cash saved up to each month since a decision, as it was promised and as it comes on what happened."""

    subject: Subject
    start: str
    target: str
    months: Floats
    promised: Floats
    """Stock money apart [money]; so the next one."""
    realised: Floats
    promised_back: int | None
    """First month from which it stays at or above zero; None where it does not end there."""
    realised_back: int | None
    reviewed: float
    """Months from the decision to the end of the period reviewed; what comes after lies ahead."""


def review_cash(found: Review) -> ReviewCash:
    """Cumulative cash of a decision against the way of before: promised, and on what happened."""
    start, target = found.snapshot.baseline, found.snapshot.chosen
    promised, realised = (
        cumulative_saving(study, start, target).ravel() for study in (found.snapshot.study, found.study)
    )
    return ReviewCash(
        subject=_subject(found),
        start=start,
        target=target,
        months=np.arange(promised.size, dtype=np.float64),
        promised=promised,
        realised=realised,
        promised_back=_back(promised),
        realised_back=_back(realised),
        reviewed=found.months,
    )


def _back(saved: Floats) -> int | None:
    below = np.flatnonzero(saved < 0.0)
    month = int(below[-1]) + 1 if below.size else 0
    return month if month < saved.size else None
