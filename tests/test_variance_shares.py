"""Swings of the demo, what-ifs in one block, shares of the variance against closed forms and an independent library."""

from __future__ import annotations

import numpy as np
import pytest
from SALib.analyze import sobol as reference_analysis
from SALib.sample import sobol as reference_sample

from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.sensitivity import advantage, one_at_a_time, swings
from costmodel.variance_shares import variance_shares

MINUTES = "part.routes.route.steps.mill.programme"
HOUR = "rates.machines.mill.consumables"
BLANK, PRICE = "rates.materials.bar.price", "quotes.supplier.tiers.1.price"
FINISH, FITTER = "rates.processors.finisher.price", "rates.labour.fitter.wage"
VOLUME = "demand.per_year"


def ranged(study: Study, ranges: dict[str, dict[str, object]]) -> Study:
    spreads = Named({name: Uncertain(name=name, **spread) for name, spread in ranges.items()})
    return study.with_inputs({"uncertainty": spreads})


def test_both_cost_the_same_at_every_switching_value(small: Study, demo: dict[str, Study]) -> None:
    pairs = [(small, "make-cuts", "near-b"), (demo["encoder-cover"], "make-three-axis", "status-quo")]
    for study, first, second in pairs:
        found = [swing for swing in swings(study, first, second) if swing.switching is not None]
        for swing in found:
            left = float(
                np.asarray(advantage(study.with_inputs({swing.address: swing.switching}), first, second))
            )
            assert abs(left) < 1e-6 * max(swing.width, 1.0) + 1e-3, swing.address
    assert found


def test_swings_are_ranked_and_what_flips_is_marked(demo: dict[str, Study]) -> None:
    """M23: widest first; each end is that of a single what-if; marked where the answer changes within the range.

    At a price of 8.60 for the bought cover both ways cost nearly the same.
    """
    study = demo["encoder-cover"].with_inputs({"quotes.overseas-a.tiers.400.price": 8.6})
    found = swings(study, "make-three-axis", "status-quo")
    assert [swing.width for swing in found] == sorted((swing.width for swing in found), reverse=True)
    assert len(found) == len(study.uncertainty)
    base = float(np.asarray(advantage(study, "make-three-axis", "status-quo")))
    for swing in found:
        ends = [
            float(
                np.asarray(
                    advantage(study.with_inputs({swing.address: value}), "make-three-axis", "status-quo")
                )
            )
            for value in (swing.low, swing.high)
        ]
        assert (swing.advantage_low, swing.advantage_high) == pytest.approx(ends, rel=1e-9, abs=1e-6)
        assert swing.flips == any(np.sign(end) != np.sign(base) for end in ends)
    assert any(swing.flips for swing in found)
    assert not all(swing.flips for swing in found)


def test_what_ifs_in_one_block_are_the_single_ones(small: Study) -> None:
    values = {VOLUME: np.array([3100.0, 4400.0]), "rates.currency.EUR.rate": np.array([1.0, 1.1, 1.25])}
    second = "status-quo"
    base, found = one_at_a_time(small, "make-cuts", second, values)
    assert base == pytest.approx(float(np.asarray(advantage(small, "make-cuts", second))), rel=1e-12)
    for name, row in values.items():
        for value, got in zip(row, found[name], strict=True):
            single = float(
                np.asarray(advantage(small.with_inputs({name: float(value)}), "make-cuts", second))
            )
            assert got == pytest.approx(single, rel=1e-9)


def test_a_study_without_ranges_has_no_swings(plain: Study) -> None:
    assert swings(plain, "make", "buy") == ()


# --- shares of variance ------------------------------------------------------------------------------


def test_shares_of_a_sum_are_its_variances(plain: Study) -> None:
    """Advantage 4,000 (price - blank - finish): shares are the variances, first order and total alike."""
    sds = {PRICE: 2.0, BLANK: 1.0, FINISH: 0.5}
    study = ranged(plain, {name: {"shape": "normal", "mean": 20.0, "sd": sd} for name, sd in sds.items()})
    whole = sum(sd * sd for sd in sds.values())
    found = variance_shares(study, "make", "buy", draws=16_384)
    assert [share.address for share in found] == [PRICE, BLANK, FINISH]
    for share in found:
        expected = sds[share.address] ** 2 / whole
        assert share.total.value == pytest.approx(expected, abs=5.0 * share.total.error + 1e-3)
        assert share.first_order.value == pytest.approx(expected, abs=5.0 * share.first_order.error + 2e-3)


def test_shares_agree_with_an_independent_library(plain: Study) -> None:
    """Price less minutes times rate: an input by itself and together with another. SALib runs the same model."""
    bounds = {PRICE: (18.0, 30.0), MINUTES: (5.0, 15.0), HOUR: (40.0, 120.0), FINISH: (1.0, 2.0)}
    study = ranged(plain, {n: {"shape": "uniform", "low": a, "high": b} for n, (a, b) in bounds.items()})
    problem = {"num_vars": len(bounds), "names": list(bounds), "bounds": [list(it) for it in bounds.values()]}
    points = reference_sample.sample(problem, 4096, calc_second_order=False, seed=1)
    rows = [np.ascontiguousarray(row) for row in points.T]
    outcome = np.asarray(advantage(study.plan(list(bounds)).apply(rows), "make", "buy"))
    reference = reference_analysis.analyze(problem, outcome, calc_second_order=False, seed=1)
    found = {share.address: share for share in variance_shares(study, "make", "buy", draws=16_384)}
    for at, name in enumerate(bounds):
        assert found[name].first_order.value == pytest.approx(reference["S1"][at], abs=0.02)
        assert found[name].total.value == pytest.approx(reference["ST"][at], abs=0.02)
    assert found[MINUTES].total.value > found[MINUTES].first_order.value + 0.01


def test_shares_do_not_exceed_the_whole(demo: dict[str, Study]) -> None:
    found = variance_shares(demo["encoder-cover"], "make-three-axis", "status-quo", draws=2048)
    assert sum(share.first_order.value for share in found) < 1.03
    assert sum(share.total.value for share in found) > 0.97
    for share in found:
        assert share.total.value > -1e-12
        assert share.first_order.value < share.total.value + 5.0 * share.first_order.error + 0.01
