"""Index, gates, weights and the weight that flips the order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas.scoring import (
    flip_weight,
    non_price_index,
    passes_gate,
    ranking,
    total_per_unit,
    weighted_score,
)

# Invented scores of two alternatives on price, quality, delivery; the price weighs six tenths.
FIRST, SECOND, WEIGHTS = (4.0, 5.0, 4.0), (5.0, 2.0, 3.0), (0.6, 0.3, 0.1)
SCORES = st.lists(st.floats(1.0, 5.0), min_size=3, max_size=3)


def test_a_better_index_can_go_with_a_higher_total() -> None:
    cheap, dear = non_price_index(558_900.0, 950_000.0), 303.83 / 200.0 - 1.0
    assert (round(cheap, 3), round(dear, 3)) == (0.588, 0.519)
    assert total_per_unit(190.0, cheap) == pytest.approx(301.78)
    assert total_per_unit(200.0, dear) > total_per_unit(190.0, cheap)


def test_the_total_is_the_price_with_its_own_cost_per_part() -> None:
    parts, price, cost = 5000.0, 190.0, 558_900.0
    assert total_per_unit(price, non_price_index(cost, parts * price)) == pytest.approx(price + cost / parts)


def test_the_order_flips_at_a_price_weight_of_714_per_cent() -> None:
    assert weighted_score(FIRST, WEIGHTS) == pytest.approx(4.3)
    assert weighted_score(SECOND, WEIGHTS) == pytest.approx(3.9)
    assert round(100 * flip_weight(FIRST, SECOND, WEIGHTS, 0), 1) == 71.4


@settings(deadline=None)
@given(SCORES, SCORES, st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3), st.integers(0, 2))
def test_at_the_flip_weight_both_score_alike(
    first: list, second: list, weights: list, criterion: int
) -> None:
    flip = flip_weight(first, second, weights, criterion)
    if not np.isnan(flip):
        rest = sum(weights) - weights[criterion]
        shares = [flip if i == criterion else (1.0 - flip) * w / rest for i, w in enumerate(weights)]
        assert weighted_score(first, shares) == pytest.approx(weighted_score(second, shares), abs=1e-9)


@settings(deadline=None)
@given(SCORES, SCORES, st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3), st.integers(0, 2))
def test_no_flip_weight_means_one_is_ahead_at_both_ends(
    first: list, second: list, weights: list, criterion: int
) -> None:
    ends = []
    for whole in (0.0, 1.0):
        shares = [whole if i == criterion else (1.0 - whole) * w for i, w in enumerate(weights)]
        ends.append(weighted_score(first, shares) - weighted_score(second, shares))
    if np.isnan(flip_weight(first, second, weights, criterion)):
        assert ends[0] * ends[1] > 0.0 or ends[0] == pytest.approx(ends[1], abs=1e-9)
    else:
        assert ends[0] * ends[1] <= 1e-9


def test_the_best_in_everything_is_never_flipped() -> None:
    assert np.isnan(flip_weight((5.0, 5.0), (4.0, 4.0), (0.5, 0.5), 0))
    assert np.isnan(flip_weight((5.0, 4.0), (4.0, 3.0), (0.5, 0.5), 0))
    assert np.isnan(flip_weight((5.0, 4.0), (5.0, 4.0), (0.5, 0.5), 0))


@settings(deadline=None)
@given(SCORES, st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3), st.floats(0.1, 100.0))
def test_the_scale_of_the_weights_does_not_matter(scores: list, weights: list, factor: float) -> None:
    scaled = [factor * weight for weight in weights]
    assert weighted_score(scores, scaled) == pytest.approx(weighted_score(scores, weights))
    assert min(scores) - 1e-9 <= weighted_score(scores, weights) <= max(scores) + 1e-9


def test_a_gate_is_closed_on_both_sides() -> None:
    assert passes_gate(0.95, at_least=0.95)
    assert not passes_gate(0.949, at_least=0.95)
    assert passes_gate(500.0, at_most=500.0)
    assert not passes_gate(501.0, at_least=0.0, at_most=500.0)
    assert np.asarray(passes_gate(np.array([0.9, 0.99]), at_least=0.95)).tolist() == [False, True]


def test_gates_come_before_weights() -> None:
    scores = [3.9, 4.9, 4.3, 3.9]
    assert ranking(scores, [True, False, True, True]) == (2, 0, 3)
    assert ranking(scores, [False] * 4) == ()


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: passes_gate(1.0),
        lambda: weighted_score((1.0, 2.0), (1.0,)),
        lambda: weighted_score((1.0, 2.0), (0.0, 0.0)),
        lambda: weighted_score((), ()),
        lambda: flip_weight(FIRST, SECOND[:2], WEIGHTS, 0),
        lambda: flip_weight(FIRST, SECOND, WEIGHTS, 3),
        lambda: flip_weight(FIRST, SECOND, WEIGHTS, -1),
        lambda: flip_weight(FIRST, SECOND, (0.6, 0.0, 0.0), 0),
        lambda: flip_weight((1.0,), (2.0,), (1.0,), 0),
        lambda: ranking([1.0], [True, False]),
        lambda: ranking([float("nan")], [True]),
    ],
)
def test_wrong_arguments_are_refused(wrong) -> None:
    with pytest.raises(LimitError):
        wrong()
