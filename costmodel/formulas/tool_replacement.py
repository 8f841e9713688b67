"""When to change a tool whose life scatters: at a planned count or when it fails, and what each costs a part.

A planned change costs the edge and the minutes of the change. A failure costs those, the parts spoilt and the
minutes until cutting goes on. Use and life are counted in parts, or in any other unit of use, holes or
minutes in cut; costs come out for that unit.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, NamedTuple, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import choose, one_of
from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.formulas.tool_scatter import Family, _scaled_life
from costmodel.units import Number

CountRule: TypeAlias = Literal["whole", "fractional"]

# The search runs over ln(use / mean life): from a ten-thousandth of the mean life to ten times it.
LOWEST_LOG, HIGHEST_LOG, COARSE_POINTS = -9.2, 2.3, 58
FINE_POINTS, FINE_SCANS = 9, 8


class CheapestCount(NamedTuple):
    """The cheapest replacement plan.

    Count at which to replace [part], infinite where running to failure is cheapest; cost with that count
    [money/part]; cost of running to failure [money/part]; chance that an edge reaches the count [fraction].
    """

    change_at: Number
    cost: Number
    run_to_failure_cost: Number
    reached: Number


class CheapestSpeed(NamedTuple):
    """The cheapest speed under scatter.

    Cutting speed [m/min]; mean life at it [min]; minutes in cut at which to replace [min], infinite for
    never; tool changes and failures for each minute in cut [money/min].
    """

    cutting_speed: Number
    mean_life: Number
    planned_use: Number
    tool_cost: Number


def replacement_cost(planned_cost: Number, failure_cost: Number, reached: Number, mean_use: Number) -> Number:
    """Cost for each unit of use of replacing at a fixed age, whatever the distribution of life.

    C = [Cp R + Cf (1 - R)] / integral of R: cost of one cycle over its mean length.

    Parameters
    ----------
    planned_cost
        Cost of a planned change Cp [money], any shape, >= 0.
    failure_cost
        Cost of a failure Cf with its change [money], any shape, >= 0.
    reached
        Chance R of reaching the age [fraction], any shape, >= 0 and <= 1.
    mean_use
        Mean use of a cycle, the integral of R up to the age [part], any shape, > 0.

    Returns
    -------
    Number
        Cost [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    A. K. S. Jardine and A. H. C. Tsang, Maintenance, Replacement, and Reliability, 2nd ed., ch. 2, Problem 2.
    """
    not_negative(planned_cost=planned_cost, failure_cost=failure_cost)
    fraction(reached=reached)
    positive(mean_use=mean_use)
    return (planned_cost * reached + failure_cost * (1.0 - reached)) / mean_use


def planned_replacement_cost(
    count: Number,
    mean: Number,
    variation: Number,
    planned_cost: Number,
    failure_cost: Number,
    family: Family = "weibull",
) -> Number:
    """Cost a part of replacing an edge at a planned count, failures before it included.

    [Cp R + Cf (1 - R)] / integral of R, with reliability and expected_use of the family, both closed forms.

    Parameters
    ----------
    count
        Count at which the edge is replaced [part], any shape, > 0.
    mean
        Mean life [part], any shape, > 0.
    variation
        Coefficient of variation of the life [-], any shape, >= 0.01 and <= 3.
    planned_cost
        Cost of a planned change [money], any shape, >= 0.
    failure_cost
        Cost of a failure with its change [money], any shape, >= 0.
    family
        "weibull" (default) or "lognormal" [-].

    Returns
    -------
    Number
        Cost [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown family.

    References
    ----------
    As replacement_cost.
    """
    positive(count=count, mean=mean)
    left, used = _scaled_life(variation, family)(count / mean)
    return replacement_cost(planned_cost, failure_cost, left, mean * used)


def run_to_failure_cost(mean: Number, failure_cost: Number) -> Number:
    """Cost a part of running every edge until it fails.

    C = Cf / mean life.

    Parameters
    ----------
    mean
        Mean life [part], any shape, > 0.
    failure_cost
        Cost of a failure with its change [money], any shape, >= 0.

    Returns
    -------
    Number
        Cost [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    replacement_cost at an infinite age.
    """
    positive(mean=mean)
    not_negative(failure_cost=failure_cost)
    return failure_cost / mean


def _lowest(
    cost: Callable[[Number], Number], low: Number, high: Number, points: int
) -> tuple[Number, Number]:
    """Return the place of the lowest of equally spaced points, element by element, and their spacing."""
    step = (high - low) / (points - 1)
    best, lowest = low, cost(low)
    for index in range(1, points):
        place = low + index * step
        value = cost(place)
        best, lowest = choose(value < lowest, place, best), np.minimum(value, lowest)
    return best, step


def cheapest_count(
    mean: Number,
    variation: Number,
    planned_cost: Number,
    failure_cost: Number,
    family: Family = "weibull",
    count: CountRule = "whole",
) -> CheapestCount:
    """Count at which replacing an edge costs least a part, or the finding that waiting for failure does.

    The least of planned_replacement_cost, searched on a grid of ln(count) and refined about its lowest point,
    for all elements at once; then set against run_to_failure_cost. Of the whole counts beside the optimum the
    cheaper is taken, at least 1.

    Parameters
    ----------
    mean
        Mean life [part], any shape, > 0.
    variation
        Coefficient of variation of the life [-], any shape, >= 0.01 and <= 3.
    planned_cost
        Cost of a planned change [money], any shape, > 0.
    failure_cost
        Cost of a failure with its change [money], any shape, > 0.
    family
        "weibull" (default) or "lognormal" [-].
    count
        "whole" (default) or "fractional" [-].

    Returns
    -------
    CheapestCount
        Count, costs and chance of reaching it, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown convention.

    References
    ----------
    A. K. S. Jardine and A. H. C. Tsang, Maintenance, Replacement, and Reliability, 2nd ed., ch. 2 (age
    replacement).
    """
    positive(mean=mean, planned_cost=planned_cost, failure_cost=failure_cost)
    one_of("count", count, get_args(CountRule))

    life = _scaled_life(variation, family)

    def cost_at(age: Number) -> Number:
        left, used = life(age / mean)
        return (planned_cost * left + failure_cost * (1.0 - left)) / (mean * used)

    def scaled_cost(log_age: Number) -> Number:
        left, used = life(np.exp(log_age))
        return (planned_cost * left + failure_cost * (1.0 - left)) / used

    best, step = _lowest(scaled_cost, LOWEST_LOG, HIGHEST_LOG, COARSE_POINTS)
    for _ in range(FINE_SCANS):
        best, step = _lowest(scaled_cost, best - step, best + step, FINE_POINTS)
    age: Number = mean * np.exp(best)
    if count == "whole":
        below: Number = np.maximum(np.floor(age), 1.0)
        age = choose(cost_at(below) <= cost_at(below + 1.0), below, below + 1.0)
    cost, waiting = cost_at(age), run_to_failure_cost(mean, failure_cost)
    planned = cost < waiting * (1.0 - 1e-9)
    return CheapestCount(
        change_at=choose(planned, age, np.inf),
        cost=np.minimum(cost, waiting),
        run_to_failure_cost=waiting,
        reached=choose(planned, life(age / mean)[0], 0.0),
    )


def cheapest_speed(
    constant: Number,
    exponent: Number,
    variation: Number,
    machine_rate: Number,
    planned_cost: Number,
    failure_cost: Number,
    family: Family = "weibull",
) -> CheapestSpeed:
    """Cutting speed that makes a part cheapest when life scatters about Taylor's law, with its best count.

    Minutes in cut are a way over v, so the cost a part is proportional to (rate + K/T(v)) / v, K the cheapest
    cost of tools for one mean life. With a coefficient of variation that the speed does not change, K is
    constant, and the optimum is the deterministic one with K in place of the tool's cost: T = (1/n - 1) K /
    rate. For the cheapest feed at a fixed speed use n/a in place of n, where n/a < 1; otherwise the highest
    feed is cheapest.

    Parameters
    ----------
    constant
        Taylor's C for the mean life [m/min], any shape, > 0.
    exponent
        Taylor's n [-], any shape, > 0 and < 1.
    variation
        Coefficient of variation of the life [-], any shape, >= 0.01 and <= 3.
    machine_rate
        Rate of machine and person [money/min], any shape, > 0.
    planned_cost
        Cost of a planned change with the machine's minutes for it [money], any shape, > 0.
    failure_cost
        Cost of a failure with its change [money], any shape, > 0.
    family
        "weibull" (default) or "lognormal" [-].

    Returns
    -------
    CheapestSpeed
        Speed, mean life, planned use and cost, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown family.

    References
    ----------
    "Probabilistic Optimization of Multitool Machining Operations", ASME J. Eng. for Industry 102(3), 1980,
    p. 239, abstract: with a constant coefficient of variation the stochastic optimum is a multiple of the
    deterministic one.
    """
    positive(constant=constant, machine_rate=machine_rate)
    within("exponent", exponent, above=0.0, below=1.0)
    plan = cheapest_count(1.0, variation, planned_cost, failure_cost, family, "fractional")
    life = (1.0 / exponent - 1.0) * plan.cost / machine_rate
    speed: Number = constant * np.exp(-exponent * np.log(life))
    return CheapestSpeed(speed, life, plan.change_at * life, plan.cost / life)


def failure_cost(
    tool_cost: Number,
    lost_parts: Number,
    cost_per_lost_part: Number,
    stopped_minutes: Number,
    machine_rate: Number,
) -> Number:
    """Cost of one tool failure.

    tool + parts lost * their cost so far + minutes until cutting goes on * rate. Unattended, the parts lost
    are those of every load until somebody comes (unattended_run) and the minutes those until morning.

    Parameters
    ----------
    tool_cost
        Cost of the tool, the whole of it where all edges are lost [money], any shape, >= 0.
    lost_parts
        Parts spoilt by one failure [part], any shape, >= 0.
    cost_per_lost_part
        Cost put into such a part so far [money/part], any shape, >= 0.
    stopped_minutes
        Minutes until cutting goes on, the change included [min], any shape, >= 0.
    machine_rate
        Rate of what stands still [money/min], any shape, >= 0.

    Returns
    -------
    Number
        Cost [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: the sum of what a failure takes.
    """
    not_negative(tool_cost=tool_cost, lost_parts=lost_parts, cost_per_lost_part=cost_per_lost_part)
    not_negative(stopped_minutes=stopped_minutes, machine_rate=machine_rate)
    return tool_cost + lost_parts * cost_per_lost_part + stopped_minutes * machine_rate


def safe_count(mean: Number, standard_deviation: Number, deviations: Number = 3.0) -> Number:
    """Count at which a shop changes a tool to be on the safe side: mean less some standard deviations.

    mean - k s. It weighs no cost; cheapest_count does.

    Parameters
    ----------
    mean
        Mean life [part], any shape, > 0.
    standard_deviation
        Standard deviation of the life [part], any shape, >= 0.
    deviations
        k [-], any shape, >= 0.

    Returns
    -------
    Number
        Count [part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a spread so large that no count is left.

    References
    ----------
    Common practice, no source: three standard deviations below the mean.
    """
    positive(mean=mean)
    not_negative(standard_deviation=standard_deviation, deviations=deviations)
    count = mean - deviations * standard_deviation
    positive(count=count)
    return count
