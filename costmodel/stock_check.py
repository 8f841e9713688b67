"""Do the closed forms of stock hold where lead times are skewed? A daily simulation confirms or corrects them."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.delivery_log import lead_times
from costmodel.errors import InputError, LimitError, Problem
from costmodel.formulas import distributions, stock_simulation
from costmodel.formulas.lead_time import LeadTimeFit, fit_lead_time, lead_time_quantile
from costmodel.make_or_buy import Portion, alternative_cost
from costmodel.records.study import Study
from costmodel.supply import DAYS_PER_YEAR, Stops, source_named, weeks_of_use

Draws = npt.NDArray[np.float64]
SHELVES = 1024
YEARS = 4
ERRORS = 3.0
"""Standard errors of the reorder point needed that are granted to chance."""
SLOPE_STEP = 0.25
"""Distance of the two runs that give the slope of the service, in standard deviations of the lead-time demand."""
FINE = 0.01
"""Where the search for the reorder point ends, in the same measure."""
REACH = 40.0
"""How far it looks, in the same measure."""
HELD = ("stock interest", "stock storage")
LAW_STEPS = 65536
"""Equally likely lead times that stand for their law: its values at the middle of so many equal shares."""


class StockCheck(NamedTuple):
    """One source's stock by the closed form and as simulated day by day."""

    name: str
    measure: str
    """"cycle" or "fill"."""
    wanted: float
    """Service wanted [fraction]."""
    closed_form: float
    """Reorder point of the closed form [part]."""
    simulated: float
    """Service that it gives in the simulation [fraction]."""
    error: float
    """Standard error of that service [fraction]."""
    needed: float
    """Reorder point that gives the service wanted in the simulation [part]."""
    error_of_needed: float
    """Standard error of that point: the error of its service over the slope of the service [part]."""
    grain: float
    """Parts used in a day, the step in which the simulation counts time [part]."""
    holding: float
    """What a part more on the shelf costs for a year: interest and storage [money/part]."""
    run: stock_simulation.StockSimulation
    """Everything that the simulation counted at the closed form's reorder point."""
    family: str
    """The law of the lead time."""
    deliveries: int
    """Deliveries on which that law rests; 0 where it was made from a mean and a spread [-]."""

    @property
    def confirmed(self) -> bool:
        """Whether the closed form may lie within a day's use of the point needed, as far as its error tells."""
        return abs(self.needed - self.closed_form) <= self.grain + ERRORS * self.error_of_needed

    @property
    def corrected(self) -> float:
        """Reorder point to use: the closed form where it is confirmed, else the point needed [part]."""
        return self.closed_form if self.confirmed else self.needed

    @property
    def extra_parts(self) -> float:
        """Parts that the correction adds to the safety stock; negative where it needs fewer [part]."""
        return self.corrected - self.closed_form

    @property
    def extra_cost(self) -> float:
        """What these parts cost to hold, or save [money/yr]."""
        return self.extra_parts * self.holding


def lognormal_law(mean: float, spread: float) -> LeadTimeFit:
    """A lognormal law of the lead time from its mean and standard deviation [d]: skewed to the right."""
    shape = distributions.lognormal_from_moments(mean, spread)
    nothing = np.array([], dtype=np.float64)
    median = float(np.exp(shape.log_mean))
    return LeadTimeFit("lognormal", float(shape.log_sd), median, mean, spread, float("nan"), 0, nothing)


def check_stock(
    study: Study,
    name: str,
    law: LeadTimeFit | None = None,
    *,
    seed: int = 1,
    shelves: int = SHELVES,
    years: int = YEARS,
) -> StockCheck:
    """Simulate the stock of an alternative from one source, and correct its reorder point.

    `law` is the law of the lead time fitted to a delivery log; without one it is that of the offer's own log, or else
    lognormal with the mean and the spread of the offer or route. Demand of a day follows a gamma law with the study's
    weekly mean and spread. An order that meets a stop waits for its end. Works on a study without arrays.
    """
    _one_source(study, name)
    portion = alternative_cost(study, name).portions[0]
    _, stops = source_named(study, name)
    lead = portion.stock.lead_time
    fit = law or _law_of_its_log(study, name) or lognormal_law(float(lead.mean), float(lead.sd))
    demand = _daily_demand(study, portion)
    times = _lead_times(fit, stops)
    lot = float(portion.stock.cycle * 2.0)
    wanted = float(study.finance.service)

    def run(point: float) -> stock_simulation.StockSimulation:
        return stock_simulation.simulate_stock(
            np.random.default_rng(seed),
            demand,
            times,
            reorder_point=max(point, -lot),
            order_quantity=lot,
            days=int(years * DAYS_PER_YEAR),
            run_in=int(np.ceil(fit.mean * 3.0)),
            draws=shelves,
        )

    closed = float(portion.stock.reorder_point)
    first = run(closed)
    simulated, error = service_of(first, study.finance.service_measure)
    needed, off = _needed(
        lambda point: service_of(run(point), study.finance.service_measure),
        wanted,
        (closed, simulated),
        max(float(portion.stock.spread), 1.0),
    )
    return StockCheck(
        name=name,
        measure=study.finance.service_measure,
        wanted=wanted,
        closed_form=closed,
        simulated=simulated,
        error=error,
        needed=needed,
        error_of_needed=off,
        grain=float(portion.sheet.rhythm.per_year) / DAYS_PER_YEAR,
        holding=_holding(portion),
        run=first,
        family=fit.family,
        deliveries=fit.deliveries,
    )


def service_of(run: stock_simulation.StockSimulation, measure: str) -> tuple[float, float]:
    """The service of a simulated stock in the measure of the study, and its standard error [fraction]."""
    if measure == "cycle":
        return run.cycle_service, run.cycle_service_error
    return run.fill_rate, run.fill_rate_error


def _needed(
    service: Callable[[float], tuple[float, float]], wanted: float, known: tuple[float, float], spread: float
) -> tuple[float, float]:
    """The reorder point at which the service is the one wanted, and its standard error [part].

    Every trial meets the same demands and lead times, so that the service rises with the point.
    """
    from scipy.optimize import brentq

    point, found = known
    step = spread if found < wanted else -spread
    other = point + step
    while (service(other)[0] < wanted) == (found < wanted):
        if not abs(other - point) < REACH * spread:
            raise LimitError("wanted", wanted, f"a service that a reorder point within {other:g} gives")
        step *= 2.0
        other = point + step
    low, high = min(point, other), max(point, other)
    needed = float(brentq(lambda at: service(at)[0] - wanted, low, high, xtol=FINE * spread))
    for width in (SLOPE_STEP * spread, spread, 4.0 * spread):
        slope = (service(needed + width)[0] - service(needed - width)[0]) / (2.0 * width)
        if slope > 0.0:
            return needed, service(needed)[1] / slope
    return needed, float("inf")


def _holding(portion: Portion) -> float:
    held = sum(float(line.amount) for line in portion.sheet.lines if line.element in HELD)
    on_shelf = float(portion.stock.safety + portion.stock.cycle)
    return held / on_shelf if on_shelf > 0.0 else 0.0


def _one_source(study: Study, name: str) -> None:
    """Raise InputError for a name that is no alternative, or one that gets its parts from several sources."""
    single = ", ".join(key for key, way in study.alternatives.items() if not way.shares)
    if name not in study.alternatives or study.alternatives[name].shares:
        expected = "a way from one source, not a split" if name in study.alternatives else f"one of {single}"
        problem = Problem("study", "alternatives", name, expected, f"Name one of its ways: {single}.")
        raise InputError([problem])


def _law_of_its_log(study: Study, name: str) -> LeadTimeFit | None:
    """The law fitted to the log of an offer; None without a log or where its lead times do not differ."""
    way = study.alternatives[name]
    log = study.quotes[way.buy].log if way.buy else None
    return fit_lead_time(lead_times(log)) if log is not None and len(set(log.lead_times)) > 1 else None


def _daily_demand(study: Study, portion: Portion) -> stock_simulation.Sampler:
    mean = float(portion.sheet.rhythm.per_year) / DAYS_PER_YEAR
    spread = float(study.demand.weekly_sd * np.sqrt(weeks_of_use(1.0, study.demand)))
    if spread == 0.0:
        return lambda generator, count: np.full(count, mean)
    shape, scale = (mean / spread) ** 2, spread**2 / mean
    return lambda generator, count: generator.gamma(shape, scale, count)


def _lead_times(fit: LeadTimeFit, stops: Stops) -> stock_simulation.Sampler:
    """Lead times of the law; an order placed in a stop waits until its end too."""
    per_year, length = float(stops.per_year), float(stops.days)
    stopped = per_year * length / DAYS_PER_YEAR

    shares = (np.arange(LAW_STEPS) + 0.5) / LAW_STEPS
    law = np.broadcast_to(np.asarray(lead_time_quantile(fit, shares), dtype=np.float64), (LAW_STEPS,))

    def draw(generator: np.random.Generator, count: int) -> Draws:
        times = law[generator.integers(LAW_STEPS, size=count)]
        if stopped > 0.0:
            meets = generator.random(count) < stopped
            times = times + np.where(meets, generator.exponential(length, count), 0.0)
        return times

    return draw
