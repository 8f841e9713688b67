"""Suppliers beyond the price: non-price cost index, gates, weights, and the weight that flips the order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from costmodel.errors import LimitError
from costmodel.formulas._choices import choose, same_length
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.units import Number


def non_price_index(non_price_cost: Number, purchases: Number) -> Number:
    """Cost that a supplier causes besides the price, per money of price.

    non-price cost / purchases. A better index can go with a higher total: show both.

    Parameters
    ----------
    non_price_cost
        Cost of orders, receipts, faults, lateness, visits in a period [money], >= 0.
    purchases
        Price paid for the parts of the same period [money], > 0.

    Returns
    -------
    Number
        Index [-].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Cost-based supplier evaluation as taught in purchasing courses (university pages on supplier evaluation).
    """
    not_negative(non_price_cost=non_price_cost)
    positive(purchases=purchases)
    return non_price_cost / purchases


def total_per_unit(price: Number, index: Number) -> Number:
    """Price of a part with the cost its supplier causes besides.

    price x (1 + index).

    Parameters
    ----------
    price
        Price of a part [money/part], >= 0.
    index
        Non-price index [-], >= 0.

    Returns
    -------
    Number
        Total of a part [money/part].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Cost-based supplier evaluation as taught in purchasing courses (university pages on supplier evaluation).
    """
    not_negative(price=price, index=index)
    return price * (1.0 + index)


def passes_gate(
    value: Number, *, at_least: Number | None = None, at_most: Number | None = None
) -> bool | npt.NDArray[np.bool_]:
    """Whether a value passes a gate: a condition that nothing else makes up for.

    at least and at most, both inclusive; the gates of an alternative are joined by "and".

    Parameters
    ----------
    value
        Value of the alternative [-].
    at_least
        Smallest value that passes [-]; None for no lower bound.
    at_most
        Largest value that passes [-]; None for no upper bound.

    Returns
    -------
    bool or array of bool
        True where it passes [-].

    Raises
    ------
    LimitError
        A value that is not a number, or a gate without a bound.

    References
    ----------
    Common practice, no source.
    """
    within("value", value)
    if at_least is None and at_most is None:
        raise LimitError("at_least and at_most", None, "a bound on one side at least")
    low = -np.inf if at_least is None else at_least
    high = np.inf if at_most is None else at_most
    passed: bool | npt.NDArray[np.bool_] = np.greater_equal(value, low) & np.less_equal(value, high)
    return passed


def weighted_score(scores: Sequence[Number], weights: Sequence[Number]) -> Number:
    """Weighted mean of the scores of an alternative.

    sum of weight x score / sum of weights.

    Parameters
    ----------
    scores
        Score on each criterion, more is better [-].
    weights
        Weight of each criterion on any scale [-], >= 0, not all 0, as many as scores.

    Returns
    -------
    Number
        Weighted score on the scale of the scores [-].

    Raises
    ------
    LimitError
        An argument outside its range, or unlike lengths.

    References
    ----------
    Weighted-point supplier evaluation as taught in purchasing courses (university pages on supplier
    evaluation).
    """
    total = _checked_total(scores, weights)
    score: Number = 0.0
    for value, weight in zip(scores, weights, strict=True):
        score = score + value * weight
    return score / total


def _checked_total(scores: Sequence[Number], weights: Sequence[Number]) -> Number:
    same_length(scores=scores, weights=weights)
    total: Number = 0.0
    for weight in weights:
        not_negative(weights=weight)
        total = total + weight
    within("sum of weights", total, above=0.0)
    return total


def flip_weight(
    first_scores: Sequence[Number],
    second_scores: Sequence[Number],
    weights: Sequence[Number],
    criterion: int,
) -> Number:
    """Weight of one criterion, as a share of all, at which two alternatives score alike.

    With the other weights kept in proportion the difference is linear in the weight w:
    w d + (1 - w) e, d being the difference on the criterion and e the weighted mean difference on the others.
    It is zero at w = e / (e - d), and that counts only from 0 to 1.

    Parameters
    ----------
    first_scores
        Scores of one alternative, more is better [-].
    second_scores
        Scores of the other [-], as many.
    weights
        Weight of each criterion on any scale [-], >= 0, another than the criterion's above 0, as many.
    criterion
        Place of the criterion whose weight is varied, from 0 [-].

    Returns
    -------
    Number
        Weight as a share of all [fraction]; not a number where no weight makes them equal, or every weight
        does.

    Raises
    ------
    LimitError
        An argument outside its range, unlike lengths, or no such criterion.

    References
    ----------
    Linear interpolation between the two extreme weights (derived).
    """
    same_length(first_scores=first_scores, second_scores=second_scores, weights=weights)
    if not 0 <= criterion < len(weights):
        raise LimitError("criterion", criterion, f"from 0 to {len(weights) - 1}")
    gaps = [first - second for first, second in zip(first_scores, second_scores, strict=True)]
    others = [index for index in range(len(weights)) if index != criterion]
    other_gap = weighted_score([gaps[index] for index in others], [weights[index] for index in others])
    not_negative(weights=weights[criterion])
    slope = other_gap - gaps[criterion]
    safe = np.where(np.equal(slope, 0.0), 1.0, slope)
    weight = other_gap / safe
    real = np.not_equal(slope, 0.0) & np.greater_equal(weight, 0.0) & np.less_equal(weight, 1.0)
    return choose(real, weight, np.nan)


def ranking(scores: Sequence[float], passed: Sequence[bool]) -> tuple[int, ...]:
    """Order of the alternatives that pass every gate, best first.

    Falling score; equals keep the order in which they were given. Those that fail a gate are left out,
    however high their score.

    Parameters
    ----------
    scores
        Score of each alternative, more is better [-].
    passed
        Whether it passes every gate [-], as many as scores.

    Returns
    -------
    tuple of int
        Places of the alternatives, from 0 [-].

    Raises
    ------
    LimitError
        Unlike lengths, or a score that is not a number.

    References
    ----------
    Common practice, no source.
    """
    same_length(scores=scores, passed=passed)
    for score in scores:
        within("scores", score)
    remaining = [index for index, ok in enumerate(passed) if ok]
    return tuple(sorted(remaining, key=lambda index: -scores[index]))
