"""What one life of an edge costs where a failure takes the whole tool, with the edges and regrinds left on it."""

from __future__ import annotations

from typing import NamedTuple, get_args

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative
from costmodel.formulas._series import whole_count
from costmodel.formulas.tool_cost import LastLife
from costmodel.units import Number


class LifePrice(NamedTuple):
    """One life of an edge.

    Its cost on average [money]; what one more life adds that wears out [money]; or that fails [money].
    """

    mean: Number
    worn: Number
    failed: Number


def price_of_a_life(
    price: Number,
    reached: Number,
    edges: int = 1,
    regrinds: int = 0,
    regrind_price: Number = 0.0,
    last_life: LastLife = "used",
) -> LifePrice:
    """Cost of one life where each failure ends the tool, the lives already had of it paid by its price.

    A tool has L lives one after the other, edges times those between regrinds; it reaches life k + 1 with chance
    R^k and is reground the j-th time after all its edges with chance R^(edges j). One tool costs N = price +
    regrind price * sum of R^(edges j) and lasts D = sum of R^k lives, so that a life costs f = N / D. worn = f +
    (1 - R) f' and failed = f - R f' are what one more life of either end adds, so that f = worn R + failed (1 - R).
    A failure then costs less than the price, since the tool lost is a used one.

    Parameters
    ----------
    price
        Price of the tool with all its edges [money], any shape, >= 0.
    reached
        Chance R that an edge reaches its planned change [fraction], any shape, >= 0 and <= 1.
    edges
        Edges that are used one after the other [-], whole number >= 1.
    regrinds
        Times the tool is reground [-], whole number >= 0.
    regrind_price
        Price of one regrind of all edges [money], any shape, >= 0.
    last_life
        "used" (default) or "lost", which needs a regrind at least [-].

    Returns
    -------
    LifePrice
        Costs [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown convention.

    References
    ----------
    Renewal: cost of one tool over the lives it gives. At R = 1 it is edge_cost_per_part of one part an edge.
    """
    not_negative(price=price, regrind_price=regrind_price)
    fraction(reached=reached)
    whole_count("edges", edges, at_least=1)
    one_of("last_life", last_life, get_args(LastLife))
    whole_count("regrinds", regrinds, at_least=0 if last_life == "used" else 1)
    rounds = regrinds + (1 if last_life == "used" else 0)
    spent, by_spent = price, 0.0 * price
    lives: Number = 0.0
    by_lives: Number = 0.0
    power: Number = 1.0 + 0.0 * reached  # R^k, of which k lives are over
    slope: Number = 0.0 * reached  # of R^k by R
    for life in range(edges * (regrinds + 1)):
        if life > 0 and life % edges == 0:
            spent, by_spent = spent + regrind_price * power, by_spent + regrind_price * slope
        if life < edges * rounds:
            lives, by_lives = lives + power, by_lives + slope
        power, slope = power * reached, power + slope * reached
    mean = spent / lives
    by_reached = (by_spent - mean * by_lives) / lives
    return LifePrice(mean, mean + (1.0 - reached) * by_reached, mean - reached * by_reached)
