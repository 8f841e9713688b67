"""Draws: distributions against scipy, outcomes against closed forms, and the same seed twice."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from scipy import stats

from costmodel.draws import REPLICATES, drawing, sobol
from costmodel.draws.spreads import quantile
from costmodel.errors import InputError
from costmodel.records.route import Item
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.sensitivity import advantage
from costmodel.uncertainty import sample, simulate

SHARES = np.array([0.001, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.999])
PRICE = "quotes.supplier.tiers.1.price"
VOLUME = "demand.per_year"


def spread(shape: str, **numbers: float) -> Uncertain:
    return Uncertain(name="it", shape=shape, **numbers)


# --- distributions ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "uncertain, reference",
    [
        (spread("uniform", low=2.0, high=6.0), stats.uniform(2.0, 4.0)),
        (spread("triangular", low=2.0, likely=3.0, high=6.0), stats.triang(0.25, 2.0, 4.0)),
        (spread("triangular", low=2.0, likely=2.0, high=6.0), stats.triang(0.0, 2.0, 4.0)),
        (spread("normal", mean=5.0, sd=2.0), stats.norm(5.0, 2.0)),
        # PERT: a beta distribution with 1 + 4 (m - a)/(b - a) and 1 + 4 (b - m)/(b - a)
        (spread("pert", low=2.0, likely=3.0, high=6.0), stats.beta(2.0, 4.0, 2.0, 4.0)),
        (spread("pert", low=2.0, likely=4.0, high=6.0), stats.beta(3.0, 3.0, 2.0, 4.0)),
    ],
)
def test_a_quantile_is_scipys(plain: Study, uncertain: Uncertain, reference: Any) -> None:
    assert np.asarray(quantile(plain, uncertain, SHARES)) == pytest.approx(reference.ppf(SHARES), rel=1e-9)
    assert float(quantile(plain, uncertain, 0.3)) == pytest.approx(reference.ppf(0.3), rel=1e-9)


def test_a_lognormal_has_the_mean_and_spread_that_are_stated(plain: Study) -> None:
    """Moments of a lognormal: variance = (exp(s^2) - 1) mean^2, so s^2 = log(1 + (sd/mean)^2)."""
    s2 = np.log(1.0 + (0.3 / 1.12) ** 2)
    reference = stats.lognorm(np.sqrt(s2), scale=1.12 * np.exp(-s2 / 2.0))
    assert reference.mean() == pytest.approx(1.12, rel=1e-12)
    assert reference.std() == pytest.approx(0.3, rel=1e-12)
    got = quantile(plain, spread("lognormal", mean=1.12, sd=0.3), SHARES)
    assert np.asarray(got) == pytest.approx(reference.ppf(SHARES), rel=1e-9)


def test_three_points_are_met_exactly(plain: Study) -> None:
    it = spread("three-point", p10=15.4, p50=16.1, p90=17.3)
    assert np.asarray(quantile(plain, it, np.array([0.1, 0.5, 0.9]))) == pytest.approx(
        [15.4, 16.1, 17.3], rel=1e-12
    )


def test_a_range_without_width_is_one_value(plain: Study) -> None:
    for shape in ("pert", "triangular"):
        it = spread(shape, low=5.0, likely=5.0, high=5.0)
        assert np.asarray(quantile(plain, it, SHARES)) == pytest.approx(np.full(SHARES.size, 5.0), rel=1e-12)


def test_values_rise_with_their_share(small: Study, demo: dict[str, Study]) -> None:
    for study in (small, *demo.values()):
        for it in study.uncertainty.values():
            assert np.all(np.diff(np.asarray(quantile(study, it, SHARES))) >= 0.0), it.name


# --- draws -----------------------------------------------------------------------------------------------


def chances(dimensions: int, points: int, key: str) -> np.ndarray[Any, Any]:
    """Scrambled points, a row for each of the first dimensions."""
    rows = np.empty((dimensions, points))
    columns = sobol.scrambled(range(dimensions), [f"{key}/{number}" for number in range(dimensions)])
    sobol.fill(columns, 0, rows)
    return rows


def test_draws_fill_the_unit_interval_evenly() -> None:
    for row in chances(6, 512, "any"):
        assert np.all((row > 0.0) & (row < 1.0))
        # one point in each of 512 cells: what a scrambled net keeps
        assert np.unique(np.floor(row * row.size)).size == row.size


def test_two_columns_fill_the_square_evenly() -> None:
    """Of 256 points of the first two dimensions each of 16 x 16 cells holds one, scrambled or not."""
    cells = np.floor(chances(2, 256, "square") * 16).astype(int)
    assert np.unique(cells[0] * 16 + cells[1]).size == 256


def test_inputs_are_drawn_independently_of_each_other(small: Study) -> None:
    how = drawing(small, 8192, 11)
    points = how.values(slice(0, how.draws))
    correlation = np.corrcoef(points) - np.eye(len(points))
    assert np.abs(correlation).max() < 4.0 / np.sqrt(8192)


def test_each_draw_lies_at_its_own_quantile(small: Study) -> None:
    """The share of draws at or below each quantile is that share, for every input of the study."""
    how = drawing(small, 8192, 2)
    rows = dict(zip(how.addresses, how.values(slice(0, how.draws)), strict=True))
    assert set(small.uncertainty) <= set(rows)
    for address, it in small.uncertainty.items():
        for share in (0.1, 0.5, 0.9):
            below = float((rows[address] <= float(quantile(small, it, share))).mean())
            assert below == pytest.approx(share, abs=0.003), address


def test_a_range_at_the_end_moves_no_other(small: Study) -> None:
    """Bitwise: one more uncertain input leaves the draws of those before it alone."""
    more = Uncertain(name="finance.service", shape="uniform", low=0.90, high=0.98)
    with_more = small.with_inputs({"uncertainty": {**small.uncertainty, more.name: more}})
    before, after = drawing(small, 256, 1), drawing(with_more, 256, 1)
    rows = dict(zip(after.addresses, after.values(slice(0, 256)), strict=True))
    for address, row in zip(before.addresses, before.values(slice(0, 256)), strict=True):
        assert np.array_equal(rows[address], row), address


@pytest.mark.parametrize("chunk", [64, 100, 1024, 5000])
def test_numbers_do_not_depend_on_the_chunk_or_the_workers(small: Study, chunk: int) -> None:
    names = ("make-cuts", "near-b")
    whole = sample(small, names, draws=2048, seed=3)
    pieces = sample(small, names, draws=2048, seed=3, chunk=chunk, workers=2)
    assert np.array_equal(whole.worth, pieces.worth)
    assert np.array_equal(whole.per_part, pieces.per_part)


def test_the_recorded_model_is_the_model(small: Study) -> None:
    """With and without the tape that speeds the draws up."""
    names = tuple(small.alternatives)
    taped, plain = (sample(small, names, draws=512, seed=3, tape=tape) for tape in (True, False))
    np.testing.assert_allclose(taped.worth, plain.worth, rtol=1e-11)
    np.testing.assert_allclose(taped.per_part, plain.per_part, rtol=1e-11)


def test_a_sample_is_the_model_at_each_of_its_draws(small: Study) -> None:
    """A few draws taken out one by one and run as single studies."""
    drawn = sample(small, ("make-cuts", "near-b"), draws=64, seed=3)
    rows = {address: drawn.input(address) for address in drawn.drawing.addresses}
    for at in (0, 17, 63):
        alone = small.with_inputs({address: float(row[at]) for address, row in rows.items()})
        gap = float(advantage(alone, "make-cuts", "near-b"))
        assert drawn.worth[1, at] - drawn.worth[0, at] == pytest.approx(gap, rel=1e-9)


# --- outcomes --------------------------------------------------------------------------------------------


def normal_prices(plain: Study) -> Study:
    """Buying at a normal price of mean 10 and sd 2 against making at 9, 4,000 parts in one year without interest."""
    study = plain.with_inputs(
        {
            "part.routes.route.steps.fit.items.all": Item(name="all", element="other", cost=9.0),
            PRICE: 10.0,
        }
    )
    uncertain = Uncertain(name=PRICE, shape="normal", mean=10.0, sd=2.0)
    return study.with_inputs({"uncertainty": {PRICE: uncertain}})


def test_an_outcome_agrees_with_its_closed_form(plain: Study) -> None:
    """The advantage is 4,000 x (price - 9): normal with mean 4,000 and sd 8,000, above zero with Phi(0.5)."""
    outcome = simulate(normal_prices(plain), "make", "buy", draws=8192, seed=4)
    exact = stats.norm(4000.0, 8000.0)
    assert outcome.draws == 8192
    assert outcome.sample.size == 8192
    assert outcome.mean_advantage == pytest.approx(4000.0, abs=5 * outcome.mean_error)
    assert 0.0 < outcome.mean_error < 8000.0 / np.sqrt(8192)  # no worse than plain draws
    assert outcome.chance == pytest.approx(stats.norm.cdf(0.5), abs=max(5 * outcome.chance_error, 1e-3))
    assert outcome.advantage == pytest.approx(exact.ppf([0.1, 0.5, 0.9]), abs=60.0)
    assert outcome.sample.std() == pytest.approx(8000.0, rel=0.01)
    assert outcome.per_part["make"] == pytest.approx((9.0, 9.0, 9.0), rel=1e-12)
    assert outcome.per_part["buy"] == pytest.approx(stats.norm(10.0, 2.0).ppf([0.1, 0.5, 0.9]), abs=0.02)


def test_the_other_way_round_is_the_opposite(plain: Study) -> None:
    study = normal_prices(plain)
    there, back = (simulate(study, *pair, draws=1024, seed=2) for pair in (("make", "buy"), ("buy", "make")))
    assert back.mean_advantage == pytest.approx(-there.mean_advantage, rel=1e-12)
    assert back.chance == pytest.approx(1.0 - there.chance, abs=1e-12)
    assert back.advantage == pytest.approx(tuple(-value for value in reversed(there.advantage)), rel=1e-9)


def test_the_same_seed_gives_the_same_numbers(small: Study) -> None:
    """Bit by bit, so that anybody can repeat a decision."""
    first, again = (simulate(small, "make-cuts", "near-b", draws=1024, seed=5) for _ in range(2))
    assert np.array_equal(first.sample, again.sample)
    assert first._replace(sample=again.sample) == again


def test_two_seeds_agree_within_their_errors(small: Study) -> None:
    """At 20,000 draws the chances agree within two points, here where the answer is open."""
    open_case = small.with_inputs({"part.routes.cuts.once.fixture.cost": 270_000.0})
    one, two = (simulate(open_case, "make-cuts", "near-b", draws=20_000, seed=seed) for seed in (1, 2))
    assert 0.05 < one.chance < 0.95
    assert not np.array_equal(one.sample, two.sample)
    assert abs(one.chance - two.chance) < 0.02
    assert abs(one.mean_advantage - two.mean_advantage) < 5 * np.hypot(one.mean_error, two.mean_error)
    assert one.chance == pytest.approx(float((one.sample > 0).mean()), rel=1e-14)


def test_an_outcome_agrees_with_plain_draws(small: Study) -> None:
    """The same model on independent plain random numbers, as the library draws them and as numpy does."""
    outcome = simulate(small, "make-cuts", "near-b", draws=4096, seed=1)
    plain = simulate(small, "make-cuts", "near-b", draws=16_384, seed=1, method="plain")
    chance = np.random.default_rng(9)
    how = drawing(small, 8, 1)
    rows = [
        np.asarray(quantile(small, small.uncertainty[it], chance.uniform(1e-9, 1 - 1e-9, 20_000)))
        for it in how.addresses
    ]
    own = np.asarray(advantage(small.plan(how.addresses).apply(rows), "make-cuts", "near-b"))
    for values in (plain.sample, own):
        error = values.std() / np.sqrt(values.size)
        assert outcome.mean_advantage == pytest.approx(values.mean(), abs=4 * error)
        assert outcome.advantage == pytest.approx(np.quantile(values, [0.1, 0.5, 0.9]), rel=0.02)
    assert outcome.mean_error < plain.mean_error / 2.0  # with a quarter of the draws


def test_a_study_without_ranges_has_one_outcome(plain: Study) -> None:
    study = normal_prices(plain).with_inputs({"uncertainty": {}})
    outcome = simulate(study, "make", "buy", draws=64)
    assert outcome.advantage == pytest.approx((4000.0, 4000.0, 4000.0), rel=1e-12)
    assert outcome.mean_error == pytest.approx(0.0, abs=1e-9)
    assert outcome.chance == 1.0


@pytest.mark.parametrize("draws", [0, -8, 7])
def test_fewer_draws_than_sets_are_refused(small: Study, draws: int) -> None:
    with pytest.raises(InputError, match="at least 8"):
        simulate(small, "make-cuts", "near-b", draws=draws)


def test_draws_are_rounded_up_to_whole_sets(small: Study) -> None:
    assert simulate(small, "make-cuts", "near-b", draws=1001).draws == 126 * REPLICATES


def test_a_number_of_draws_that_is_no_power_of_two_warns_nobody(small: Study) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert simulate(small, "make-cuts", "near-b", draws=200).draws == 200


def test_a_draw_beyond_what_its_input_may_be_is_named(plain: Study) -> None:
    wild = Uncertain(name=PRICE, shape="normal", mean=10.0, sd=9.0)
    study = normal_prices(plain).with_inputs({"uncertainty": {PRICE: wild}})
    with pytest.raises(InputError, match=r"tiers\.1\.price.*Narrow the range"):
        simulate(study, "make", "buy", draws=1024)
