"""The difference of two results split by cause, so that the parts add up to it exactly.

A change of two factors at once has a joint part that belongs to neither alone. Each method says what it does
with it: "sequential" gives it to the factor that moves later in the stated order, "shapley" shares it evenly
over all orders, "one at a time" moves each factor alone and shows the joint rest as a line of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, pairwise
from typing import Literal, NamedTuple, get_args

from costmodel.errors import LimitError
from costmodel.formulas._choices import one_of
from costmodel.formulas._series import Series, any_number, items
from costmodel.units import Number

SplitMethod = Literal["shapley", "sequential", "one at a time"]

INTERACTION = "interaction"
"""Name of the line that holds the joint rest of the method "one at a time"."""


class PriceUseSplit(NamedTuple):
    """Difference of price x use by cause: price [money], use [money], interaction [money]."""

    price: Number
    use: Number
    interaction: Number


def price_use_split(
    price_then: Number, use_then: Number, price_now: Number, use_now: Number
) -> PriceUseSplit:
    """Difference of two amounts price x use, by price, by use and by both together.

    price: (p1 - p0) u0; use: p0 (u1 - u0); interaction: (p1 - p0)(u1 - u0). They add to p1 u1 - p0 u0.

    Parameters
    ----------
    price_then
        Price before [money/unit].
    use_then
        Use before [unit].
    price_now
        Price after [money/unit].
    use_now
        Use after [unit].

    Returns
    -------
    PriceUseSplit
        The three parts [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument that is not a number.

    References
    ----------
    Price, efficiency and joint variance of standard costing (from memory).
    """
    any_number(price_then=price_then, use_then=use_then, price_now=price_now, use_now=use_now)
    dearer, more = price_now - price_then, use_now - use_then
    return PriceUseSplit(dearer * use_then, price_then * more, dearer * more)


def split_by_cause(
    results: Mapping[frozenset[str], Number], causes: Sequence[str], method: SplitMethod = "shapley"
) -> dict[str, Number]:
    """Difference of two runs of a model, by the cause that moved it.

    sequential: cause k is f(first k moved) - f(first k-1 moved), in the order given.
    shapley: mean of that step over all orders of the causes, w = |S|! (n-|S|-1)! / n! for each set S moved
    before.
    one at a time: f(only k moved) - f(none); the rest is the interaction. All parts add to f(all) - f(none).

    Parameters
    ----------
    results
        Result of the model for the sets of causes that are moved to their new values [money]; the empty set
        is the old result. Sequential needs n + 1 sets, one at a time n + 2, Shapley all 2^n.
    causes
        Names of the causes in order [-], such as price, use, yield, volume.
    method
        "shapley" (default), "sequential" or "one at a time" [-].

    Returns
    -------
    dict of Number
        Part of each cause [money], with "interaction" as the last for "one at a time".

    Raises
    ------
    LimitError
        No cause or one named twice, a result that is missing, or an unknown method.

    References
    ----------
    L. S. Shapley, A value for n-person games, 1953 (from memory), for the even sharing.
    """
    one_of("method", method, get_args(SplitMethod))
    if not causes or len(set(causes)) != len(causes) or INTERACTION in causes:
        raise LimitError("causes", tuple(causes), f'different names, and none of them "{INTERACTION}"')
    if method == "sequential":
        curve = [_result(results, causes[:moved]) for moved in range(len(causes) + 1)]
        return {cause: after - before for cause, (before, after) in zip(causes, pairwise(curve), strict=True)}
    if method == "shapley":
        return {cause: _mean_step(results, cause, causes) for cause in causes}
    start = _result(results, ())
    parts = {cause: _result(results, (cause,)) - start for cause in causes}
    rest = _result(results, causes) - start
    for part in parts.values():
        rest = rest - part
    return {**parts, INTERACTION: rest}


def _result(results: Mapping[frozenset[str], Number], moved: Sequence[str]) -> Number:
    if frozenset(moved) not in results:
        raise LimitError("results", f"none for {sorted(moved)}", "given for every set the method needs")
    return results[frozenset(moved)]


def _mean_step(results: Mapping[frozenset[str], Number], cause: str, causes: Sequence[str]) -> Number:
    """Mean over all orders of what moving one cause adds to those moved before it."""
    others = [other for other in causes if other != cause]
    weight = 1.0 / len(causes)
    part: Number = 0.0
    for size in range(len(others) + 1):
        if size:
            weight *= size / (len(causes) - size)
        for moved in combinations(others, size):
            part = part + weight * (_result(results, (*moved, cause)) - _result(results, moved))
    return part


def product_split(before: Series, after: Series, method: SplitMethod = "shapley") -> tuple[Number, ...]:
    """Difference of two products of the same factors, by factor.

    split_by_cause of f = product of the factors; the parts add to product(after) - product(before)

    Parameters
    ----------
    before
        Factors before [unit of each].
    after
        Factors after, in the same order [unit of each].
    method
        "shapley" (default), "sequential" or "one at a time" [-].

    Returns
    -------
    tuple of Number
        Part of each factor [unit of the product], then the interaction for "one at a time".

    Raises
    ------
    LimitError
        No factor, series of different lengths, or an unknown method.

    References
    ----------
    L. S. Shapley, A value for n-person games, 1953 (from memory), for the even sharing.
    """
    old = items("before", before)
    new = items("after", after, len(old))
    names = [str(place) for place in range(len(old))]
    results: dict[frozenset[str], Number] = {}
    for size in range(len(names) + 1):
        for moved in combinations(names, size):
            product: Number = 1.0
            for name, was, is_now in zip(names, old, new, strict=True):
                product = product * (is_now if name in moved else was)
            results[frozenset(moved)] = product
    return tuple(split_by_cause(results, names, method).values())
