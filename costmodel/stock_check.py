"""Do the closed forms of stock hold where lead times are skewed? A daily simulation confirms or corrects them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from costmodel.delivery_log import lead_times
from costmodel.formulas import distributions, stock_simulation
from costmodel.formulas.lead_time import LeadTimeFit, fit_lead_time, lead_time_quantile
from costmodel.make_or_buy import Portion, alternative_cost
from costmodel.records.study import Study
from costmodel.supply import DAYS_PER_YEAR, Stops, source_named, weeks_of_use

Draws = npt.NDArray[np.float64]
SHELVES = 128
YEARS = 4
ERRORS = 3.0
"""Standard errors within which the simulation counts as agreeing."""
CLOSE = 0.01
"""Difference of service that nobody acts on [fraction]."""
LEAST_SHARE = 1e-12


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
    corrected: float
    """Reorder point that gives the service wanted in the simulation; the closed form where that does [part]."""
    run: stock_simulation.StockSimulation
    """Everything that the simulation counted at the closed form's reorder point."""
    family: str
    """The law of the lead time."""
    deliveries: int
    """Deliveries on which that law rests; 0 where it was made from a mean and a spread [-]."""

    @property
    def confirmed(self) -> bool:
        """Whether the closed form gives the service wanted, within the error or so closely that nobody acts."""
        return self.simulated >= self.wanted - max(ERRORS * self.error, CLOSE)

    @property
    def extra_parts(self) -> float:
        """Parts that the correction adds to the safety stock; negative where it needs fewer [part]."""
        return self.corrected - self.closed_form


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
    portion = alternative_cost(study, name).portions[0]
    _, stops = source_named(study, name)
    lead = portion.stock.lead_time
    fit = law or _law_of_its_log(study, name) or lognormal_law(float(lead.mean), float(lead.sd))
    demand = _daily_demand(study, portion)
    times = _lead_times(fit, stops)
    policy = {
        "order_quantity": float(portion.stock.cycle * 2.0),
        "days": int(years * DAYS_PER_YEAR),
        "run_in": int(np.ceil(fit.mean * 3.0)),
        "draws": shelves,
    }
    closed = float(portion.stock.reorder_point)
    run = stock_simulation.simulate_stock(
        np.random.default_rng(seed),
        demand,
        times,
        reorder_point=closed,
        **policy,  # type: ignore[arg-type]
    )
    cycle = study.finance.service_measure == "cycle"
    found = StockCheck(
        name=name,
        measure=study.finance.service_measure,
        wanted=float(study.finance.service),
        closed_form=closed,
        simulated=run.cycle_service if cycle else run.fill_rate,
        error=run.cycle_service_error if cycle else run.fill_rate_error,
        corrected=closed,
        run=run,
        family=fit.family,
        deliveries=fit.deliveries,
    )
    if found.confirmed:
        return found
    corrected = stock_simulation.simulated_reorder_point(
        np.random.default_rng(seed),
        demand,
        times,
        wanted=float(study.finance.service),
        measure="cycle_service" if cycle else "fill_rate",
        closed_form=max(closed, 0.0),
        spread=max(float(portion.stock.spread), 1.0),
        **policy,  # type: ignore[arg-type]
    )
    return found._replace(corrected=corrected)


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

    def draw(generator: np.random.Generator, count: int) -> Draws:
        shares = np.clip(generator.random(count), LEAST_SHARE, 1.0 - LEAST_SHARE)
        times = np.asarray(lead_time_quantile(fit, shares), dtype=np.float64)
        if stopped > 0.0:
            meets = generator.random(count) < stopped
            times = times + np.where(meets, generator.exponential(length, count), 0.0)
        return times

    return draw
