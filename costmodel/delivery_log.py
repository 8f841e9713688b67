"""What a delivery log shows: lead time, lateness, rejects, how sure and how they drift; a study that uses it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.formulas import lead_time, quality, quality_drift
from costmodel.records.deliveries import FEW, LONGEST_WAIT, DeliveryLog
from costmodel.records.faults import joined
from costmodel.records.study import Study

Days = npt.NDArray[np.float64]


class LogSummary(NamedTuple):
    """A delivery log in figures."""

    name: str
    statistics: lead_time.DeliveryStatistics
    fits: tuple[lead_time.LeadTimeFit, ...]
    """Lognormal and gamma law where the lead times differ, and the log itself, as the empirical law."""
    best: lead_time.LeadTimeFit
    """The likelier of the laws; the log itself where it has no spread."""
    parts: float
    """Parts received [part]."""
    rejected: float
    """Parts rejected [part]."""
    rejected_share: float
    """[fraction]"""
    rejected_at_most: float
    """Upper limit of the true share with 95 % confidence, one-sided [fraction]."""
    history: quality_drift.RejectHistory
    """Share of all rejects so far, delivery by delivery, in the order received."""
    recent_share: float
    """Rejected share in which recent deliveries count more [fraction]."""
    halves: quality_drift.PeriodComparison | None
    """The later half of the deliveries against the earlier; None with fewer than two."""
    trend: quality_drift.RejectTrend | None
    """Slope of the rejected share over time; None where the log is too short or holds no reject."""
    still_open: int
    """Orders not received yet; the slowest are among them, so that lead times may look shorter than they are [-]."""

    @property
    def words(self) -> tuple[str, ...]:
        """What limits these figures."""
        said = []
        if self.statistics.deliveries < FEW:
            said.append(f"{self.statistics.deliveries} deliveries say little of the longest lead times")
        if self.still_open:
            said.append(f"orders still open, not counted: {self.still_open}; the slow ones are among them")
        if self.best.family == "empirical":
            said.append("the lead times do not differ: no law can be fitted")
        if self.halves is not None and self.halves.chance < SURE:
            said.append("the later half has more rejects than chance explains")
        return tuple(said)


SURE = 0.05


def days_of(log: DeliveryLog, field: str) -> Days:
    """A column of dates as days from the first order [d]."""
    first = min(log.ordered).toordinal()
    return np.array([day.toordinal() - first for day in getattr(log, field)], dtype=np.float64)


def lead_times(log: DeliveryLog) -> Days:
    """Days from order to receipt of each delivery [d]; one on the day of its order counts as half a day."""
    return np.array(log.lead_times, dtype=np.float64)


def summary(log: DeliveryLog, *, early: float = float(LONGEST_WAIT), late: float = 0.0) -> LogSummary:
    """Lead time, lateness, rejects and their drift, each with what it rests on.

    On time is what comes up to `late` days after its promise [d]; up to `early` days before it counts too [d], by
    default however early.
    """
    in_order = np.argsort(days_of(log, "received"), kind="stable")
    received = np.array(log.quantity, dtype=np.float64)[in_order]
    rejected = np.array(log.rejected, dtype=np.float64)[in_order]
    days = days_of(log, "received")[in_order]
    times = lead_times(log)
    differ = float(times.min()) < float(times.max())
    families = ("lognormal", "gamma") if differ else ()
    fits = tuple(lead_time.fit_lead_time(times, family=family) for family in (*families, "empirical"))
    total, bad = float(received.sum()), float(rejected.sum())
    return LogSummary(
        name=log.name,
        statistics=statistics(log, early=early, late=late),
        fits=fits,
        best=lead_time.fit_lead_time(times) if differ else fits[-1],
        parts=total,
        rejected=bad,
        rejected_share=bad / total,
        rejected_at_most=float(quality.share_limits(bad, total).upper),
        history=quality_drift.cumulative_reject_share(received, rejected),
        recent_share=float(quality_drift.weighted_reject_share(received, rejected)[-1]),
        halves=_halves(received, rejected),
        trend=_trend(days, received, rejected),
        still_open=len(log.still_open),
    )


def _halves(received: Days, rejected: Days) -> quality_drift.PeriodComparison | None:
    middle = len(received) // 2
    if not middle:
        return None
    sums = [round(float(part.sum())) for part in (received[:middle], rejected[:middle])]
    later = [round(float(part.sum())) for part in (received[middle:], rejected[middle:])]
    return quality_drift.compare_periods(*sums, *later)


def _trend(days: Days, received: Days, rejected: Days) -> quality_drift.RejectTrend | None:
    bad = float(rejected.sum())
    if len(np.unique(days)) < 3 or bad == 0.0 or bad == float(received.sum()):
        return None
    return quality_drift.reject_trend(days, received, rejected)


def statistics(
    log: DeliveryLog, *, early: float = float(LONGEST_WAIT), late: float = 0.0
) -> lead_time.DeliveryStatistics:
    """Lead time, lateness and the share on time, each with its limits; see `summary` for early and late."""
    return lead_time.delivery_statistics(
        days_of(log, "ordered"), days_of(log, "promised"), days_of(log, "received"), early=early, late=late
    )


def as_offered(study: Study, quote: str) -> tuple[float, float, float]:
    """What an offer states: lead time and its spread [d], rejected at receipt [fraction]."""
    offer = study.quotes[quote]
    return float(offer.lead_time), float(offer.lead_time_sd), float(offer.rejected_at_receipt)


def way_to_buy(study: Study, quote: str, name: str = "") -> str:
    """The alternative of a name; without one today's way where it buys this offer, else the first that does."""
    buying = [it for it, way in study.alternatives.items() if way.buy == quote]
    today = [it for it in buying if study.alternatives[it].current]
    return name or next(iter((*today, *buying)), "")


def with_log(study: Study, quote: str, log: DeliveryLog) -> Study:
    """A study in which the log replaces what an offer says of lead time and rejects at receipt; status measured.

    Raises InputError where the study has no such offer.
    """
    found = summary(log)
    spread = found.statistics.lead_time_spread
    return study.settled(
        {
            joined("quotes", quote, "lead_time"): found.statistics.mean_lead_time,
            joined("quotes", quote, "lead_time_sd"): spread if np.isfinite(spread) else 0.0,
            joined("quotes", quote, "rejected_at_receipt"): found.rejected_share,
            joined("quotes", quote, "log"): log,
            joined("quotes", quote, "status"): "measured",
            joined("quotes", quote, "source"): f"{log.name}: {found.statistics.deliveries} deliveries",
        }
    )
