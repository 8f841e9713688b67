"""Sampling plans, their operating characteristic and the cost of sorting."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, hypergeom

from costmodel.errors import LimitError
from costmodel.formulas.sampling import (
    LEVELS,
    SAMPLE_SIZES,
    acceptance_probability,
    average_outgoing_quality,
    average_total_inspection,
    code_letter,
    code_sample_size,
    incoming_inspection_cost,
    single_sampling_plan,
)


def test_the_usual_lots_have_the_usual_letters() -> None:
    assert [code_letter(lot) for lot in (8, 200, 1000, 3000)] == ["A", "G", "J", "K"]
    assert code_letter(200, "S-1") == "B"
    assert code_letter(2_000_000, "III") == "R"


@settings(deadline=None)
@given(st.integers(2, 1_000_000), st.sampled_from(LEVELS))
def test_a_letter_and_its_sample_size_agree(lot: int, level: str) -> None:
    assert code_sample_size(float(lot), level=level) == SAMPLE_SIZES[code_letter(lot, level)]


@settings(deadline=None)
@given(st.integers(2, 1_000_000))
def test_a_higher_level_never_samples_less(lot: int) -> None:
    special = [code_sample_size(float(lot), level=level) for level in LEVELS[:4]]
    general = [code_sample_size(float(lot), level=level) for level in LEVELS[4:]]
    assert special == sorted(special)
    assert general == sorted(general)


def test_a_lot_below_two_has_no_letter() -> None:
    with pytest.raises(LimitError, match="lot_size must be at least 2"):
        code_letter(1)


def test_a_lot_smaller_than_its_sample_is_inspected_whole() -> None:
    plan = single_sampling_plan(np.array([8.0, 12.0, 13.0, 90.0]))
    assert np.asarray(plan.sample).tolist() == [8.0, 12.0, 13.0, 13.0]
    assert np.asarray(plan.reject).tolist() == [1.0] * 4


def test_what_the_table_here_does_not_cover_is_named() -> None:
    with pytest.raises(
        LimitError, match=r"acceptable_quality must be one of the limits covered \(1.00%, 0.65%\)"
    ):
        single_sampling_plan(1000.0, acceptable_quality=0.04)
    with pytest.raises(LimitError, match=r"a lot whose code letter is covered here \(K\), got 1000"):
        single_sampling_plan(1000.0, acceptable_quality=0.0065)
    with pytest.raises(LimitError, match="code letter is covered"):
        single_sampling_plan(1e6, level="III")  # letter R


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.integers(1, 300), st.integers(0, 25))
def test_acceptance_from_a_process_is_binomial(share: float, sample: int, accept: int) -> None:
    got = acceptance_probability(share, float(sample), float(accept))
    assert got == pytest.approx(binom.cdf(accept, sample, share), abs=1e-12)


@settings(deadline=None)
@given(st.data())
def test_acceptance_from_a_lot_is_hypergeometric(data: st.DataObject) -> None:
    lot = data.draw(st.integers(1, 300))
    bad, sample = data.draw(st.integers(0, lot)), data.draw(st.integers(0, lot))
    accept = data.draw(st.integers(0, 12))
    got = acceptance_probability(bad / lot, float(sample), float(accept), lot_size=float(lot))
    assert got == pytest.approx(hypergeom.cdf(accept, lot, bad, sample), abs=1e-9)


def test_a_lot_sample_array_is_a_stack_of_floats() -> None:
    shares, accepts = np.array([[0.0], [0.1], [0.5]]), np.array([0.0, 2.0, 40.0])
    with np.errstate(all="raise"):
        grid = acceptance_probability(shares, 20.0, accepts, lot_size=50.0)
        for i, share in enumerate(shares[:, 0]):
            for j, accept in enumerate(accepts):
                one = acceptance_probability(float(share), 20.0, float(accept), lot_size=50.0)
                assert grid[i, j] == pytest.approx(one, abs=1e-12)


def test_a_sample_beyond_its_lot_is_refused() -> None:
    with pytest.raises(LimitError, match="sample must be at most lot_size"):
        acceptance_probability(0.1, 20.0, 1.0, lot_size=10.0)


@pytest.mark.parametrize("lot", [600.0, 2000.0, 5000.0, 20_000.0, 60_000.0])
def test_a_lot_at_the_acceptable_limit_is_mostly_accepted(lot: float) -> None:
    plan = single_sampling_plan(lot)
    assert 0.90 < acceptance_probability(0.01, plan.sample, plan.accept) < 0.999
    assert acceptance_probability(0.10, plan.sample, plan.accept) < 0.02


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.integers(0, 50), st.integers(50, 900))
def test_outgoing_quality_counts_what_passes(share: float, accepted: float, sample: int, lot: int) -> None:
    """Parts: refused lots leave no bad part, accepted ones what was not in the sample."""
    unseen_bad = accepted * share * (lot - sample)
    replaced = average_outgoing_quality(share, accepted, float(sample), float(lot))
    assert replaced * lot == pytest.approx(unseen_bad, abs=1e-9)
    removed = average_outgoing_quality(share, accepted, float(sample), float(lot), bad_parts="removed")
    taken_out = share * lot - unseen_bad
    assert removed * (lot - taken_out) == pytest.approx(unseen_bad, abs=1e-6)
    assert replaced <= removed + 1e-12
    assert removed <= share + 1e-12


def test_outgoing_quality_is_best_for_good_and_for_very_bad_lots() -> None:
    shares = np.linspace(0.0, 0.2, 81)
    passed = average_outgoing_quality(shares, acceptance_probability(shares, 80.0, 2.0), 80.0, 1000.0)
    worst = int(np.argmax(passed))
    assert 0 < worst < 80
    assert passed[0] == 0.0
    assert passed[-1] < 0.1 * passed[worst]


def test_everything_bad_leaves_nothing_to_pass() -> None:
    assert average_outgoing_quality(1.0, 0.0, 80.0, 80.0, bad_parts="removed") == 0.0


def test_a_lot_inspected_whole_needs_no_sorting() -> None:
    assert average_total_inspection(0.3, 80.0, 80.0) == 80.0
    assert average_total_inspection(0.0, 80.0, 1000.0) == 1000.0
    assert average_total_inspection(1.0, 80.0, 1000.0) == 80.0


def test_sorting_may_have_its_own_price() -> None:
    assert incoming_inspection_cost(0.9, 80.0, 1000.0, 0.5) == pytest.approx(40.0 + 0.1 * 920.0 * 0.5)
    dear = incoming_inspection_cost(0.9, 80.0, 1000.0, 0.5, sorting_cost=1.5)
    assert dear == pytest.approx(40.0 + 0.1 * 920.0 * 1.5)
