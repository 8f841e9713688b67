"""What tools cost a part, and the cutting speeds that Taylor's law makes cheapest or quickest.

Rates are money per minute. Life, cutting minutes and change minutes are those of one edge.
"""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias, get_args

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.formulas._series import Series, items, whole_count, whole_down
from costmodel.units import Number

PartsRule: TypeAlias = Literal["fractional", "whole"]
LastLife: TypeAlias = Literal["used", "lost"]


class PieceCost(NamedTuple):
    """One piece: time with its share of tool changes [min], cost without material [money]."""

    minutes: Number
    cost: Number


def wear_per_part(cut_minutes: Series, lives: Series) -> Number:
    """Share of an edge's life that one part uses when several cuts share the tool.

    sum of minutes in cut / life at that cut's conditions. Its inverse is the parts per edge:
    parts_per_edge(1, wear).

    Parameters
    ----------
    cut_minutes
        Minutes in cut of each cut, a part [min], any shape each, >= 0.
    lives
        Life of the edge at the conditions of each cut [min], any shape each, > 0.

    Returns
    -------
    Number
        Share of the life [fraction/part], broadcast shape of the cuts.

    Raises
    ------
    LimitError
        A value outside its range, or lists of unlike length.

    References
    ----------
    Linear accumulation of wear, common practice, no source.
    """
    minutes = items("cut_minutes", cut_minutes, at_least=0.0)
    wear: Number = 0.0
    for one, life in zip(minutes, items("lives", lives, len(minutes), above=0.0), strict=True):
        wear = wear + one / life
    return wear


def parts_per_edge(life: Number, cut_minutes: Number, parts: PartsRule = "fractional") -> Number:
    """Parts that one edge makes.

    life / minutes in cut. whole: rounded down, as an edge that would fail within a part is changed before it;
    the cost is then 3 to 5 % higher in a textbook case, and jumps. fractional: the average over many parts.

    Parameters
    ----------
    life
        Life of the edge [min], any shape, > 0.
    cut_minutes
        Minutes in cut of one part [min], any shape, > 0.
    parts
        "fractional" (default) or "whole" [-].

    Returns
    -------
    Number
        Parts per edge [part]; 0 where whole parts are asked and the edge does not last one.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown rule.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 23, Ex 23.4 (whole).
    """
    positive(life=life, cut_minutes=cut_minutes)
    one_of("parts", parts, get_args(PartsRule))
    return life / cut_minutes if parts == "fractional" else whole_down(life / cut_minutes)


def edge_cost_per_part(
    price: Number,
    parts_per_edge: Number,
    edges: int = 1,
    regrinds: int = 0,
    regrind_price: Number = 0.0,
    reserve: Number = 0.0,
    last_life: LastLife = "used",
) -> Number:
    """Tooling cost a part from a count of parts per edge.

    (price + regrinds * regrind price) / (edges * lives * parts per edge * (1 - reserve)): a tool has its edges
    new and again after each regrind, so that lives = regrinds + 1; the reserve is the share of the count that
    is not used. lost: the last life is not counted, since a tool rarely reaches its last regrind whole; the
    price is then spread over the grinds, 15 and not 16.

    Parameters
    ----------
    price
        Price of the tool or insert with all its edges [money], any shape, >= 0.
    parts_per_edge
        Parts one edge makes before it is worn [part], any shape, > 0.
    edges
        Edges that are used one after the other [-], whole number >= 1.
    regrinds
        Times the tool is reground [-], whole number >= 0.
    regrind_price
        Price of one regrind of all edges [money], any shape, >= 0.
    reserve
        Share of the count given up for safety [fraction], any shape, >= 0 and < 1.
    last_life
        "used" (default) or "lost", which needs a regrind at least [-].

    Returns
    -------
    Number
        Tooling cost [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown convention.

    References
    ----------
    Definition: price over the parts it makes. Sources spread the price over the lives or over the grinds.
    """
    not_negative(price=price, regrind_price=regrind_price)
    positive(parts_per_edge=parts_per_edge)
    whole_count("edges", edges, at_least=1)
    one_of("last_life", last_life, get_args(LastLife))
    whole_count("regrinds", regrinds, at_least=0 if last_life == "used" else 1)
    within("reserve", reserve, at_least=0.0, below=1.0)
    lives = regrinds + (1 if last_life == "used" else 0)
    parts = edges * lives * parts_per_edge * (1.0 - reserve)
    return (price + regrinds * regrind_price) / parts


def cost_per_life(
    price: Number,
    lives: Number = 1.0,
    change_minutes: Number = 0.0,
    change_rate: Number = 0.0,
    regrind_minutes: Number = 0.0,
    regrind_rate: Number = 0.0,
) -> Number:
    """Cost of one tool life: the share of the price, changing and regrinding.

    price / lives + change minutes * rate + regrind minutes * rate. Leave the change out where the machine's
    time for it is counted elsewhere, as life_for_minimum_cost and piece_cost do.

    Parameters
    ----------
    price
        Price of the tool [money], any shape, >= 0.
    lives
        Lives the price is spread over: edges, or 1 + regrinds [-], any shape, >= 1.
    change_minutes
        Minutes of one change [min], any shape, >= 0.
    change_rate
        Rate of whoever waits and changes [money/min], any shape, >= 0.
    regrind_minutes
        Minutes of one regrind [min], any shape, >= 0.
    regrind_rate
        Rate of the grinder [money/min], any shape, >= 0.

    Returns
    -------
    Number
        Cost of one life [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 14.2, p. 564.
    """
    not_negative(price=price, change_minutes=change_minutes, change_rate=change_rate)
    not_negative(regrind_minutes=regrind_minutes, regrind_rate=regrind_rate)
    within("lives", lives, at_least=1.0)
    return price / lives + change_minutes * change_rate + regrind_minutes * regrind_rate


def change_minutes_per_part(change_minutes: Number, parts_per_edge: Number) -> Number:
    """Minutes of tool change that one part carries.

    change minutes / parts per edge.

    Parameters
    ----------
    change_minutes
        Minutes of one change of a worn edge [min], any shape, >= 0.
    parts_per_edge
        Parts one edge makes [part], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 4.7 and 4.8, p. 209.
    """
    not_negative(change_minutes=change_minutes)
    positive(parts_per_edge=parts_per_edge)
    return change_minutes / parts_per_edge


def life_for_maximum_production(exponent: Number, change_minutes: Number) -> Number:
    """Tool life at which a machine makes most parts in an hour.

    T = (1/n - 1) Tt: cutting faster saves no more than the added changes cost in time.

    Parameters
    ----------
    exponent
        Taylor's n [-], any shape, > 0 and < 1.
    change_minutes
        Minutes of one change of a worn edge [min], any shape, > 0.

    Returns
    -------
    Number
        Life [min], broadcast shape of the arguments; its speed is taylor_speed.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 23, Ex 23.3.
    """
    within("exponent", exponent, above=0.0, below=1.0)
    positive(change_minutes=change_minutes)
    return (1.0 / exponent - 1.0) * change_minutes


def life_for_minimum_cost(
    exponent: Number, change_minutes: Number, cost_per_life: Number, machine_rate: Number
) -> Number:
    """Tool life at which a part costs least.

    T = (1/n - 1)(Tt + Ct/Co): the life for maximum production with the tool's cost added as minutes. Lot size
    and handling time do not enter.

    Parameters
    ----------
    exponent
        Taylor's n [-], any shape, > 0 and < 1.
    change_minutes
        Minutes of one change of a worn edge [min], any shape, >= 0.
    cost_per_life
        Cost of one tool life without the change [money], any shape, >= 0.
    machine_rate
        Rate of machine and person [money/min], any shape, > 0.

    Returns
    -------
    Number
        Life [min], broadcast shape of the arguments; its speed is taylor_speed.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 23, Ex 23.3.
    """
    within("exponent", exponent, above=0.0, below=1.0)
    not_negative(change_minutes=change_minutes, cost_per_life=cost_per_life)
    positive(machine_rate=machine_rate)
    return (1.0 / exponent - 1.0) * (change_minutes + cost_per_life / machine_rate)


def piece_cost(
    machine_rate: Number,
    handling_minutes: Number,
    cut_minutes: Number,
    change_minutes: Number,
    cost_per_life: Number,
    parts_per_edge: Number,
) -> PieceCost:
    """Time and cost of one piece, cut by one tool, without material.

    minutes = Th + Tm + Tt/np; cost = Co * minutes + Ct/np, with np whole or fractional from parts_per_edge.

    Parameters
    ----------
    machine_rate
        Rate of machine and person [money/min], any shape, >= 0.
    handling_minutes
        Minutes to load and unload [min], any shape, >= 0.
    cut_minutes
        Minutes in cut [min], any shape, > 0.
    change_minutes
        Minutes of one change of a worn edge [min], any shape, >= 0.
    cost_per_life
        Cost of one tool life without the change [money], any shape, >= 0.
    parts_per_edge
        Parts one edge makes [part], any shape, > 0.

    Returns
    -------
    PieceCost
        Minutes [min/part] and cost [money/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range; an edge that does not last one whole part has 0 parts and is refused.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 23, Ex 23.4.
    """
    not_negative(machine_rate=machine_rate, handling_minutes=handling_minutes, cost_per_life=cost_per_life)
    positive(cut_minutes=cut_minutes)
    changing = change_minutes_per_part(change_minutes, parts_per_edge)
    minutes = handling_minutes + cut_minutes + changing
    return PieceCost(minutes, machine_rate * minutes + cost_per_life / parts_per_edge)
