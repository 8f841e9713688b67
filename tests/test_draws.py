"""Draws of uncertain inputs: their evenness, their distributions, their independence and what ties them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from costmodel.draws import REPLICATES, drawing, sobol
from costmodel.draws.spreads import quantile, sampler
from costmodel.errors import InputError
from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Driver, RankCorrelation, Uncertain

METAL, CHIPS = "rates.materials.bar.price", "rates.materials.bar.chip_credit"
WAGE, PRICE = "rates.labour.fitter.wage", "quotes.supplier.tiers.1.price"
RANGES = {
    METAL: {"shape": "pert", "low": 4.0, "likely": 5.0, "high": 9.0},
    CHIPS: {"shape": "triangular", "low": 0.2, "likely": 0.5, "high": 0.6},
    WAGE: {"shape": "normal", "mean": 30.0, "sd": 2.0},
    PRICE: {"shape": "lognormal", "mean": 20.0, "sd": 3.0},
}


def ranged(study: Study, ranges: dict[str, dict[str, object]], **more: object) -> Study:
    """The study with these ranges, and whatever ties them."""
    spreads = Named({name: Uncertain(name=name, **spread) for name, spread in ranges.items()})
    return study.with_inputs({"uncertainty": spreads, **more})


def rows(study: Study, draws: int = 8192, seed: int = 1, method: str = "sobol") -> dict[str, np.ndarray]:
    how = drawing(study, draws, seed, method)  # type: ignore[arg-type]
    return dict(zip(how.addresses, how.values(slice(0, how.draws)), strict=True))


# --- points ------------------------------------------------------------------------------------------


def test_direction_numbers_are_those_of_an_independent_library() -> None:
    """Points without scramble equal those of scipy in every dimension; its order is the Gray code's."""
    count = 64
    numbers = np.array([sobol.direction_numbers(at) for at in range(sobol.dimensions())], dtype=np.uint32)
    shares = np.empty((sobol.dimensions(), count))
    sobol.fill(sobol.Columns(numbers, np.zeros((len(numbers), 1), np.uint32)), 0, shares)
    order = np.arange(count)
    reference = stats.qmc.Sobol(sobol.dimensions(), scramble=False, bits=sobol.BITS).random(count)
    assert np.array_equal(shares[:, order ^ (order >> 1)].T - 0.5 * 2.0**-sobol.BITS, reference)


@given(st.integers(0, 5000), st.integers(1, 3000))
def test_any_run_of_points_is_part_of_the_whole(start: int, length: int) -> None:
    columns = sobol.scrambled([0, 3, 11], ["a", "b", "c"])
    whole, part = np.empty((3, 8000)), np.empty((3, length))
    sobol.fill(columns, 0, whole)
    sobol.fill(columns, start, part)
    assert np.array_equal(part, whole[:, start : start + length])


def test_a_scramble_keeps_the_points_even_and_centred() -> None:
    """Every power of two has one point in each of that many equal parts, in each column (property of a net)."""
    columns = sobol.scrambled(list(range(40)), [f"{at}" for at in range(40)])
    for count in (16, 256, 4096):
        shares = np.empty((40, count))
        sobol.fill(columns, 0, shares)
        parts = np.sort(np.floor(shares * count).astype(int), axis=1)
        assert np.array_equal(parts, np.tile(np.arange(count), (40, 1)))


def test_two_scrambles_are_independent() -> None:
    first, second = np.empty((1, 4096)), np.empty((1, 4096))
    sobol.fill(sobol.scrambled([5], ["one"]), 0, first)
    sobol.fill(sobol.scrambled([9], ["two"]), 0, second)
    assert abs(np.corrcoef(first[0], second[0])[0, 1]) < 0.01


# --- columns of their own ----------------------------------------------------------------------------


@pytest.mark.parametrize("method", ["sobol", "plain"])
def test_one_more_input_leaves_the_others_as_they_were(plain: Study, method: str) -> None:
    few = rows(ranged(plain, {name: RANGES[name] for name in (METAL, CHIPS, WAGE)}), method=method)
    more = rows(ranged(plain, RANGES), method=method)
    assert all(np.array_equal(few[name], more[name]) for name in few)


def test_a_settled_input_leaves_the_others_as_they_were(plain: Study) -> None:
    study = ranged(plain, RANGES)
    settled = study.settled({METAL: 6.0})
    before, after = rows(study), rows(settled)
    assert set(before) - set(after) == {METAL}
    assert settled.rates.materials["bar"].price == 6.0
    assert all(np.array_equal(before[name], after[name]) for name in after)


def test_stating_the_range_of_a_rates_row_leaves_the_others_as_they_were(small: Study) -> None:
    address = "rates.energy.grid.price"
    assert small.uncertainty[address].origin == "rates"
    own = Uncertain(name=address, shape="uniform", low=0.1, high=0.2)
    ranges = {**{name: spread for name, spread in small.uncertainty.items() if name != address}, address: own}
    before, after = rows(small), rows(small.with_inputs({"uncertainty": Named(ranges)}))
    assert all(np.array_equal(before[name], after[name]) for name in before if name != address)
    assert not np.array_equal(before[address], after[address])


@pytest.mark.parametrize("method", ["sobol", "plain"])
def test_seeds_and_sets_differ(plain: Study, method: str) -> None:
    study = ranged(plain, RANGES)
    one, other = rows(study, seed=1, method=method), rows(study, seed=2, method=method)
    assert not np.any(one[METAL] == other[METAL])
    sets = one[METAL].reshape(REPLICATES, -1)
    assert np.unique(sets).size == sets.size


def test_second_draws_are_independent_of_the_first(plain: Study) -> None:
    study = ranged(plain, RANGES)
    first, second = (drawing(study, 8192, 1, second=it).values(slice(0, 8192)) for it in (False, True))
    for one, other in zip(first, second, strict=True):
        assert abs(stats.spearmanr(one, other).statistic) < 0.02


def test_one_input_alone_is_the_same_as_among_all(plain: Study) -> None:
    how = drawing(ranged(plain, RANGES), 4096, 1)
    together = how.values(slice(0, how.draws))
    for at, name in enumerate(how.addresses):
        assert np.array_equal(how.one(name), together[at])


@pytest.mark.parametrize(
    ("draws", "method", "words"),
    [
        (0, "sobol", "at least 8"),
        (7, "plain", "at least 8"),
        (64, "latin", "sobol or plain"),
    ],
)
def test_draws_that_cannot_be_are_told(plain: Study, draws: int, method: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        drawing(plain, draws, 1, method)  # type: ignore[arg-type]


def test_two_inputs_in_one_column_are_told(plain: Study) -> None:
    ranges = {name: {**RANGES[name], "column": 4} for name in (METAL, WAGE)}
    with pytest.raises(InputError, match="different columns"):
        drawing(ranged(plain, ranges), 64, 1)


# --- distributions -----------------------------------------------------------------------------------

REFERENCES = {
    "pert": ({"low": 2.0, "likely": 3.0, "high": 7.0}, stats.beta(1.8, 4.2, loc=2.0, scale=5.0)),
    "triangular": ({"low": 2.0, "likely": 3.0, "high": 7.0}, stats.triang(0.2, loc=2.0, scale=5.0)),
    "uniform": ({"low": 2.0, "high": 7.0}, stats.uniform(2.0, 5.0)),
    "normal": ({"mean": 30.0, "sd": 2.0}, stats.norm(30.0, 2.0)),
    "lognormal": (
        {"mean": 20.0, "sd": 3.0},
        stats.lognorm(np.sqrt(np.log1p(0.15**2)), scale=20.0 / np.sqrt(1.0 + 0.15**2)),
    ),
}


@pytest.mark.parametrize("shape", REFERENCES)
@pytest.mark.parametrize("method", ["sobol", "plain"])
def test_draws_follow_their_distribution(plain: Study, shape: str, method: str) -> None:
    numbers, law = REFERENCES[shape]
    drawn = rows(ranged(plain, {METAL: {"shape": shape, **numbers}}), 16384, method=method)[METAL]
    distance = stats.kstest(drawn, law.cdf).statistic
    assert distance < (
        0.001 if method == "sobol" else 1.63 / np.sqrt(drawn.size)
    )  # 1 % point of the plain test


@given(st.floats(0.0, 1.0))
def test_the_table_of_a_pert_range_follows_the_exact_curve(mode: float) -> None:
    """Against scipy's inverse beta function, to the ends of what points can be; never falling."""
    tails = 2.0 ** -np.arange(1.0, 33.0, 0.37)
    chances = np.sort(np.concatenate([tails, np.linspace(0.001, 0.999, 500), 1.0 - tails]))
    exact = stats.beta(1.0 + 4.0 * mode, 5.0 - 4.0 * mode).ppf(chances)
    spread = Uncertain(name=METAL, shape="pert", low=0.0, likely=mode, high=1.0)
    drawn = chances.copy()
    sampler(None, spread)(drawn)  # type: ignore[arg-type]
    assert np.max(np.abs(drawn - exact)) < 2e-5
    assert np.mean(np.abs(drawn - exact)) < 5e-6
    assert np.all(np.diff(drawn) > -1e-12)


def test_three_points_are_met_exactly(plain: Study) -> None:
    study = ranged(plain, {PRICE: {"shape": "three-point", "p10": 15.4, "p50": 16.1, "p90": 17.3}})
    shares = np.array([0.1, 0.5, 0.9])
    found = np.asarray(quantile(study, study.uncertainty[PRICE], shares))
    assert found == pytest.approx([15.4, 16.1, 17.3], rel=1e-12)
    assert np.quantile(rows(study)[PRICE], shares) == pytest.approx([15.4, 16.1, 17.3], rel=1e-3)


def test_values_rise_with_their_share(small: Study, demo: dict[str, Study]) -> None:
    shares = np.array([0.001, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.999])
    for study in (small, *demo.values()):
        for spread in study.uncertainty.values():
            assert np.all(np.diff(np.asarray(quantile(study, spread, shares))) >= 0.0), spread.name


def test_a_range_without_width_is_its_value(plain: Study) -> None:
    drawn = rows(ranged(plain, {METAL: {"shape": "pert", "low": 3.0, "likely": 3.0, "high": 3.0}}))[METAL]
    assert np.all(drawn == 3.0)


def test_a_discrete_range_keeps_its_chances(plain: Study) -> None:
    spread = {"shape": "discrete", "values": (9.0, 3.0, 5.0), "chances": (0.25, 0.5, 0.25)}
    study = ranged(plain, {METAL: spread})
    values, counts = np.unique(rows(study)[METAL], return_counts=True)
    assert values.tolist() == [3.0, 5.0, 9.0]
    assert counts / counts.sum() == pytest.approx([0.5, 0.25, 0.25], abs=2e-3)
    assert quantile(study, study.uncertainty[METAL], 0.6) == 5.0


def test_a_log_gives_its_own_quantiles(plain: Study) -> None:
    """numpy.quantile of the log, linear between entries, is the reference."""
    log = tuple(np.random.default_rng(3).gamma(4.0, 2.0, 37))
    study = ranged(plain, {METAL: {"shape": "measured", "log": log}})
    drawn = rows(study, 16384)[METAL]
    for share in (0.1, 0.5, 0.9):
        expected = np.quantile(log, share)
        assert quantile(study, study.uncertainty[METAL], share) == pytest.approx(expected, rel=1e-12)
        assert np.quantile(drawn, share) == pytest.approx(expected, rel=2e-3)


def test_what_is_left_out_is_the_value_of_the_input(plain: Study) -> None:
    base = plain.with_inputs({METAL: 5.0, WAGE: 30.0})
    study = ranged(
        base, {METAL: {"shape": "triangular", "low": 4.0, "high": 9.0}, WAGE: {"shape": "normal", "sd": 2.0}}
    )
    full = ranged(
        base,
        {
            METAL: {"shape": "triangular", "low": 4.0, "likely": 5.0, "high": 9.0},
            WAGE: {"shape": "normal", "mean": 30.0, "sd": 2.0},
        },
    )
    assert all(np.array_equal(rows(study)[name], rows(full)[name]) for name in (METAL, WAGE))
    with pytest.raises(InputError, match="from 4 to 9"):
        rows(study.with_inputs({METAL: 10.0}))


def test_ranges_of_rates_rows_are_taken_unless_stated_or_refused(small: Study) -> None:
    rated = {name for name, spread in small.uncertainty.items() if spread.origin == "rates"}
    assert "rates.machines.mill.purchase_price" in rated
    assert "rates.currency.EUR.rate" not in rated, "the study states it"
    assert not any("lathe.purchase_price" in name for name in rated), "its row states no range"
    for name in rated:
        spread = small.uncertainty[name]
        assert spread.source
        assert spread.low is not None


# --- what moves together -----------------------------------------------------------------------------


def test_a_driver_moves_its_inputs_together(plain: Study) -> None:
    """Normal scores that follow one cause by 0.8 and 0.9 have a correlation of 0.72 (product of the shares)."""
    driver = Driver(name="metal", inputs={METAL: 0.8, CHIPS: 0.9})
    study = ranged(plain, RANGES, drivers=Named({"metal": driver}))
    drawn, free = rows(study, 16384), rows(ranged(plain, RANGES), 16384)
    ranks = stats.spearmanr(drawn[METAL], drawn[CHIPS]).statistic
    assert ranks == pytest.approx(6.0 / np.pi * np.arcsin(0.72 / 2.0), abs=0.01)
    assert abs(stats.spearmanr(drawn[METAL], drawn[WAGE]).statistic) < 0.02
    for name in (WAGE, PRICE):
        assert np.array_equal(drawn[name], free[name])
    for name in RANGES:
        assert np.quantile(drawn[name], [0.1, 0.5, 0.9]) == pytest.approx(
            np.quantile(free[name], [0.1, 0.5, 0.9]), rel=5e-3
        )


def test_metal_drives_the_blank_and_the_chips_together(plain: Study) -> None:
    """C4: at a share of one both move as one, so that a dear blank never meets a low credit for its chips."""
    driver = Driver(name="metal", inputs={METAL: 1.0, CHIPS: 1.0})
    drawn = rows(ranged(plain, RANGES, drivers=Named({"metal": driver})))
    assert stats.spearmanr(drawn[METAL], drawn[CHIPS]).statistic == pytest.approx(1.0, abs=1e-9)
    opposed = Driver(name="metal", inputs={METAL: 1.0, CHIPS: -1.0})
    drawn = rows(ranged(plain, RANGES, drivers=Named({"metal": opposed})))
    assert stats.spearmanr(drawn[METAL], drawn[CHIPS]).statistic == pytest.approx(-1.0, abs=1e-9)


def test_a_rank_matrix_is_what_the_draws_have(plain: Study) -> None:
    names, ranks = (METAL, WAGE, PRICE), ((1.0, 0.6, -0.3), (0.6, 1.0, 0.2), (-0.3, 0.2, 1.0))
    group = RankCorrelation(name="group", inputs=names, ranks=ranks)
    drawn = rows(ranged(plain, RANGES, correlations=Named({"group": group})), 16384)
    found = stats.spearmanr(np.array([drawn[name] for name in names]).T).statistic
    assert found == pytest.approx(np.array(ranks), abs=0.015)
    assert np.array_equal(drawn[CHIPS], rows(ranged(plain, RANGES), 16384)[CHIPS])


def test_an_input_follows_one_driver_or_one_matrix(plain: Study) -> None:
    driver = Driver(name="metal", inputs={METAL: 0.8})
    group = RankCorrelation(name="group", inputs=(METAL, WAGE), ranks=((1.0, 0.5), (0.5, 1.0)))
    with pytest.raises(InputError, match=r"an input named once; it stands in drivers.metal too"):
        ranged(plain, RANGES, drivers=Named({"metal": driver}), correlations=Named({"group": group}))


def test_what_is_settled_leaves_its_driver_and_its_matrix(plain: Study) -> None:
    driver = Driver(name="metal", inputs={METAL: 0.8, CHIPS: 0.9})
    group = RankCorrelation(name="group", inputs=(WAGE, PRICE), ranks=((1.0, 0.5), (0.5, 1.0)))
    study = ranged(plain, RANGES, drivers=Named({"metal": driver}), correlations=Named({"group": group}))
    settled = study.settled({METAL: 5.0, WAGE: 30.0})
    assert dict(settled.drivers["metal"].inputs) == {CHIPS: 0.9}
    assert settled.correlations["group"].inputs == (PRICE,)
    assert rows(settled)[CHIPS] == pytest.approx(rows(study)[CHIPS], rel=1e-12)
    assert not study.settled(dict.fromkeys((METAL, CHIPS), 0.5)).drivers
