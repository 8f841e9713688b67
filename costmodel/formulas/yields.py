"""Yield along a route: parts into each stage, blanks to start, what lost parts cost and at which stage.

The yield of a stage is good parts out / parts in. A stage is charged on every part that enters it, also on
those that it loses; a finisher who charges good parts only is a smaller cost per part in
(`stage_cost_per_part_in`).
"""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, within
from costmodel.formulas._series import Series, items, whole_count, whole_up
from costmodel.units import Number

Pieces = Literal["fractional", "whole"]
ChargedOn = Literal["parts in", "good parts"]
Repeat = Literal["once", "until settled"]


class Rework(NamedTuple):
    """What a stage with rework gives: yield [fraction], reworks [1/part in], cost [money/part in]."""

    stage_yield: Number
    reworks: Number
    cost: Number


def rolled_yield(yields: Series) -> Number:
    """Share of the parts started that is good after all stages.

    product of the stage yields

    Parameters
    ----------
    yields
        Yield of each stage in order [fraction], above 0, at most 1.

    Returns
    -------
    Number
        Rolled yield [fraction], broadcast shape of the yields.

    Raises
    ------
    LimitError
        No stage, or a yield not above 0 and at most 1.

    References
    ----------
    T. Pyzdek, page on rolled throughput yield: 0.95 x 0.84 x 0.88 = 0.70.
    """
    product: Number = 1.0
    for stage_yield in items("yields", yields, above=0.0, at_most=1.0):
        product = product * stage_yield
    return product


def parts_into_stages(yields: Series) -> tuple[Number, ...]:
    """Parts that enter each stage for one good part at the end.

    n_j = 1 / (y_j y_j+1 ... y_last)

    Parameters
    ----------
    yields
        Yield of each stage in order [fraction], above 0, at most 1.

    Returns
    -------
    tuple of Number
        Parts into each stage per good part [-], in the order of the stages.

    Raises
    ------
    LimitError
        No stage, or a yield not above 0 and at most 1.

    References
    ----------
    Follows from the definition of yield.
    """
    entering: list[Number] = []
    needed: Number = 1.0
    for stage_yield in reversed(items("yields", yields, above=0.0, at_most=1.0)):
        needed = needed / stage_yield
        entering.append(needed)
    return tuple(reversed(entering))


def blanks_to_start(good_parts: Number, rolled: Number, pieces: Pieces = "fractional") -> Number:
    """Blanks to start for a number of good parts.

    good parts / rolled yield; the expected number, rounded up on request

    Parameters
    ----------
    good_parts
        Good parts wanted [part], >= 0.
    rolled
        Rolled yield [fraction], above 0, at most 1.
    pieces
        "fractional" (default, the average over many lots) or "whole" [-].

    Returns
    -------
    Number
        Blanks [part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Parts below zero, a yield not above 0 and at most 1, or an unknown convention.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing: start Q / (1 - q)^n (from memory).
    """
    not_negative(good_parts=good_parts)
    within("rolled", rolled, above=0.0, at_most=1.0)
    one_of("pieces", pieces, get_args(Pieces))
    blanks = good_parts / rolled
    return whole_up(blanks) if pieces == "whole" else blanks


def _salvages(salvage: Series | None, stages: int) -> tuple[Number, ...]:
    return (0.0,) * stages if salvage is None else items("salvage", salvage, stages)


def loss_by_stage(costs: Series, yields: Series, salvage: Series | None = None) -> tuple[Number, ...]:
    """Cost of the parts lost at each stage, per good part at the end.

    loss_j = (c_1 + ... + c_j - salvage_j) x n_j (1 - y_j), the cost of one part so far times the parts lost
    there.
    The stage costs of one part and these losses add up to the cost per good part.

    Parameters
    ----------
    costs
        Cost that each stage adds to a part that enters it [money/part], >= 0.
    yields
        Yield of each stage [fraction], above 0, at most 1.
    salvage
        What a part lost at each stage still fetches [money/part]; nothing if not given, negative if disposal
        costs.

    Returns
    -------
    tuple of Number
        Loss at each stage [money/good part], in the order of the stages.

    Raises
    ------
    LimitError
        No stage, series of different lengths, a cost below zero, or a yield not above 0 and at most 1.

    References
    ----------
    Summation by parts of the cost of all parts entering each stage; process costing, common practice, no
    source.
    """
    stages = items("costs", costs, at_least=0.0)
    passed = items("yields", yields, len(stages), above=0.0, at_most=1.0)
    credits = _salvages(salvage, len(stages))
    so_far: Number = 0.0
    losses: list[Number] = []
    for cost, share, entering, credit in zip(stages, passed, parts_into_stages(yields), credits, strict=True):
        so_far = so_far + cost
        losses.append((so_far - credit) * entering * (1.0 - share))
    return tuple(losses)


def cost_per_good_part(costs: Series, yields: Series, salvage: Series | None = None) -> Number:
    """Cost of a good part, which carries the parts lost on the way.

    (..(c_1 / y_1 + c_2) / y_2 ...) / y_last without salvage; what lost parts fetch comes off

    Parameters
    ----------
    costs
        Cost that each stage adds to a part that enters it [money/part], >= 0.
    yields
        Yield of each stage [fraction], above 0, at most 1.
    salvage
        What a part lost at each stage still fetches [money/part]; nothing if not given, negative if disposal
        costs.

    Returns
    -------
    Number
        Cost [money/good part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No stage, series of different lengths, a cost below zero, or a yield not above 0 and at most 1.

    References
    ----------
    Process costing with losses, common practice, no source.
    """
    stages = items("costs", costs, at_least=0.0)
    passed = items("yields", yields, len(stages), above=0.0, at_most=1.0)
    carried: Number = 0.0
    for cost, share, credit in zip(stages, passed, _salvages(salvage, len(stages)), strict=True):
        carried = (carried + cost - credit * (1.0 - share)) / share
    return carried


def flat_factor_cost(costs: Series, yields: Series) -> Number:
    """Cost of a good part if every part were lost at the very end: the crude rule, for comparison.

    sum of stage costs / rolled yield; never below the cost with the loss carried stage by stage

    Parameters
    ----------
    costs
        Cost that each stage adds to a part that enters it [money/part], >= 0.
    yields
        Yield of each stage [fraction], above 0, at most 1.

    Returns
    -------
    Number
        Cost [money/good part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        No stage, series of different lengths, a cost below zero, or a yield not above 0 and at most 1.

    References
    ----------
    Common practice, no source.
    """
    stages = items("costs", costs, at_least=0.0)
    items("yields", yields, len(stages))
    total: Number = 0.0
    for cost in stages:
        total = total + cost
    return total / rolled_yield(yields)


def stage_cost_per_part_in(price: Number, stage_yield: Number, charged_on: ChargedOn = "parts in") -> Number:
    """Cost that a stage adds to each part that enters it, by what its price is charged on.

    parts in: the price itself, rejects are charged too. good parts: price x yield.

    Parameters
    ----------
    price
        Price of the stage for one charged part [money/part], >= 0.
    stage_yield
        Yield of the stage [fraction].
    charged_on
        "parts in" (default) or "good parts" [-].

    Returns
    -------
    Number
        Cost [money/part in], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A price below zero, a yield outside 0 to 1, or an unknown convention.

    References
    ----------
    Outside finishers charge their rejects too: common practice, no source.
    """
    not_negative(price=price)
    fraction(stage_yield=stage_yield)
    one_of("charged_on", charged_on, get_args(ChargedOn))
    return price * stage_yield if charged_on == "good parts" else price + 0.0 * stage_yield


def rework_loop(
    first_pass_yield: Number,
    reworkable: Number,
    success: Number,
    rework_cost: Number,
    repeat: Repeat = "once",
) -> Rework:
    """Yield and cost of a stage whose rejects may be reworked.

    With f = 1 - first pass yield and r the reworkable share: once gives f r reworks and y + f r s good parts.
    Until settled sends a failed rework round again if it is still reworkable: reworks = f r / (1 - r (1 -
    s)).

    Parameters
    ----------
    first_pass_yield
        Good parts at the first pass [fraction].
    reworkable
        Share of the rejects that can be reworked [fraction].
    success
        Share of the reworked parts that is good then [fraction].
    rework_cost
        Cost of one rework [money/part], >= 0.
    repeat
        "once" (default) or "until settled" [-].

    Returns
    -------
    Rework
        Yield with rework [fraction], reworks [1/part in] and their cost [money/part in].

    Raises
    ------
    LimitError
        A share outside 0 to 1, a cost below zero, an unknown convention, or rework that never settles.

    References
    ----------
    Geometric series of a two-state loop; closed form.
    """
    fraction(first_pass_yield=first_pass_yield, reworkable=reworkable, success=success)
    not_negative(rework_cost=rework_cost)
    one_of("repeat", repeat, get_args(Repeat))
    reworks = (1.0 - first_pass_yield) * reworkable
    if repeat == "until settled":
        returning = reworkable * (1.0 - success)
        if np.any(np.greater_equal(returning, 1.0)):
            raise LimitError("success", success, "above zero where every reject is reworked until settled")
        reworks = reworks / (1.0 - returning)
    return Rework(first_pass_yield + reworks * success, reworks, reworks * rework_cost)


def ramp_yields(first: Number, last: Number, weeks: int) -> tuple[Number, ...]:
    """Yield of each week of a ramp-up that rises in equal steps.

    y_k = first + (last - first) (k - 1) / (weeks - 1)

    Parameters
    ----------
    first
        Yield in the first week [fraction], above 0, at most 1.
    last
        Yield in the last week [fraction], above 0, at most 1.
    weeks
        Weeks of the ramp [-], whole number >= 2.

    Returns
    -------
    tuple of Number
        Yield of each week [fraction].

    Raises
    ------
    LimitError
        A yield not above 0 and at most 1, or fewer than two weeks.

    References
    ----------
    A straight ramp from pilot to running yield over 4 to 8 weeks: common practice, no source.
    """
    within("first", first, above=0.0, at_most=1.0)
    within("last", last, above=0.0, at_most=1.0)
    whole_count("weeks", weeks, 2)
    step = (last - first) / (weeks - 1)
    return tuple(first + step * week for week in range(weeks))


def ramp_blanks(good_per_week: Number, weekly_yields: Series) -> Number:
    """Blanks that a ramp-up uses for a steady number of good parts a week.

    sum over the weeks of good parts / yield of the week

    Parameters
    ----------
    good_per_week
        Good parts wanted each week [part/week], >= 0.
    weekly_yields
        Yield of each week [fraction], above 0, at most 1.

    Returns
    -------
    Number
        Blanks [part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Parts below zero, no week, or a yield not above 0 and at most 1.

    References
    ----------
    Follows from the definition of yield.
    """
    not_negative(good_per_week=good_per_week)
    blanks: Number = 0.0
    for weekly_yield in items("weekly_yields", weekly_yields, above=0.0, at_most=1.0):
        blanks = blanks + good_per_week / weekly_yield
    return blanks
