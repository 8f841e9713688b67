"""How sure: seeds, errors, closed forms, and each alternative's chance of being the cheapest."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from costmodel.decision import decide
from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.uncertainty import outcome, sample, simulate

METAL, FINISH = "rates.materials.bar.price", "rates.processors.finisher.price"
WAGE, MINUTES = "rates.labour.fitter.wage", "part.routes.route.steps.fit.hands_on"
PRICE = "quotes.supplier.tiers.1.price"
VOLUME = 4000.0


def ranged(study: Study, **spreads: dict[str, object]) -> Study:
    """The study with ranges named by the constants above."""
    table = {globals()[name]: Uncertain(name=globals()[name], **spread) for name, spread in spreads.items()}
    return study.with_inputs({"uncertainty": Named(table)})


@pytest.mark.parametrize("method", ["sobol", "plain"])
def test_one_seed_gives_one_answer(small: Study, method: str) -> None:
    """M25: the same seed twice is identical."""
    one, other = (simulate(small, "make-cuts", "near-b", draws=4096, seed=7, method=method) for _ in "ab")  # type: ignore[arg-type]
    assert one._replace(sample=None) == other._replace(sample=None)
    assert np.array_equal(one.sample, other.sample)


@pytest.mark.parametrize("name", ["encoder-cover", "saddle-clamp", "worm-shaft"])
@pytest.mark.parametrize("method", ["sobol", "plain"])
def test_two_seeds_agree(demo: dict[str, Study], name: str, method: str) -> None:
    """M25: two seeds at 20,000 draws agree within 2 points, and within five standard errors of their gap."""
    study = demo[name]
    one, other = (sample(study, draws=20_000, seed=seed, method=method) for seed in (1, 2))  # type: ignore[arg-type]
    for first, second in zip(one.worth, other.worth, strict=True):
        a, b = one.estimate(first), other.estimate(second)
        assert abs(a.value - b.value) < 5.0 * np.hypot(a.error, b.error) + 1e-9
    shares = [outcome(drawn, "status-quo", _other(study)).cheapest for drawn in (one, other)]
    for key in shares[0]:
        assert abs(shares[0][key].value - shares[1][key].value) < 0.02


def _other(study: Study) -> str:
    return next(name for name in study.alternatives if name != "status-quo")


def test_more_alternatives_join_a_sample_in_the_same_draws(small: Study) -> None:
    whole = sample(small, draws=256, seed=3)
    pair = sample(small, ("make-cuts", "near-b"), draws=256, seed=3)
    for names in (whole.names, ("near-b", "make-cuts"), ("both", "near-b")):
        joined = pair.of(names)
        assert joined.names == tuple(names)
        rows = [whole.names.index(name) for name in names]
        assert np.array_equal(joined.per_part, whole.per_part[rows])
        assert np.array_equal(joined.worth, whole.worth[rows])


def test_a_decision_says_the_same_of_two_sides_and_of_all(demo: dict[str, Study]) -> None:
    decision = decide(demo["encoder-cover"], draws=512)
    two, all_of_them = decision.outcome, decision.outcome_of_all
    assert set(two.per_part) == {decision.make.name, decision.buy.name}
    assert set(all_of_them.per_part) == set(demo["encoder-cover"].alternatives)
    assert two.advantage == all_of_them.advantage
    assert all(all_of_them.per_part[name] == found for name, found in two.per_part.items())


@pytest.mark.parametrize("name", ["encoder-cover", "saddle-clamp", "worm-shaft"])
def test_sobol_and_plain_draws_agree(demo: dict[str, Study], name: str) -> None:
    even, plain = (sample(demo[name], draws=16_384, method=method) for method in ("sobol", "plain"))  # type: ignore[arg-type]
    for first, second in zip(even.per_part, plain.per_part, strict=True):
        a, b = even.estimate(first), plain.estimate(second)
        assert abs(a.value - b.value) < 5.0 * np.hypot(a.error, b.error)
        assert a.error < b.error


def test_standard_errors_are_what_seeds_scatter_by(small: Study) -> None:
    """The error stated over 8 sets against the scatter of 40 seeds (chi-square limits, 99.9 %)."""
    outcomes = [simulate(small, "make-cuts", "near-b", draws=512, seed=seed) for seed in range(40)]
    scatter = np.std([found.mean_advantage for found in outcomes], ddof=1)
    stated = np.sqrt(np.mean([found.mean_error**2 for found in outcomes]))
    low, high = np.sqrt(stats.chi2(39).ppf([0.0005, 0.9995]) / 39)
    assert low < scatter / stated < high


def test_the_mean_and_the_chance_are_known_well_by_default(demo: dict[str, Study]) -> None:
    for study in demo.values():
        found = simulate(study, *list(study.alternatives)[:2])
        for estimate in found.mean_per_part.values():
            assert estimate.error < 1e-4 * estimate.value
        assert found.chance_error < 0.005
        for chance in found.cheapest.values():
            assert chance.error < 0.005
        assert sum(chance.value for chance in found.cheapest.values()) == pytest.approx(1.0, abs=1e-12)


def test_a_sum_of_lognormals_has_their_moments(plain: Study) -> None:
    """Two lognormal costs of a part: mean and variance of the sum are the sums (closed form)."""
    study = ranged(
        plain,
        METAL={"shape": "lognormal", "mean": 14.0, "sd": 3.0},
        FINISH={"shape": "lognormal", "mean": 6.0, "sd": 2.5},
    )
    drawn = sample(study, ["make"], draws=65_536)
    mean = drawn.estimate(drawn.per_part[0])
    assert mean.value == pytest.approx(20.0, abs=5.0 * mean.error)
    assert mean.error < 1e-3
    assert drawn.per_part[0].var() == pytest.approx(3.0**2 + 2.5**2, rel=5e-3)


def test_a_product_of_lognormals_has_their_points(plain: Study) -> None:
    """Wage times minutes, both lognormal: the logarithm is normal, so 10, 50 and 90 % are known exactly."""
    study = ranged(
        plain,
        WAGE={"shape": "lognormal", "mean": 30.0, "sd": 4.0},
        MINUTES={"shape": "lognormal", "mean": 12.0, "sd": 5.0},
    )
    found = simulate(study, "make", "buy", draws=65_536)
    log_variance = [np.log1p((sd / mean) ** 2) for mean, sd in ((30.0, 4.0), (12.0, 5.0))]
    middle = np.log(30.0 * 12.0 / 60.0) - sum(log_variance) / 2.0
    law = stats.lognorm(np.sqrt(sum(log_variance)), scale=np.exp(middle))
    assert found.per_part["make"] == pytest.approx(law.ppf([0.1, 0.5, 0.9]), rel=1e-3)


def test_a_normal_gap_gives_its_chance_and_its_points(plain: Study) -> None:
    """A part for 14 against one for 15 +/- 2 (normal): the chance is known, and worth a year is 4,000 times it."""
    base = plain.with_inputs({METAL: 14.0})
    study = ranged(base, PRICE={"shape": "normal", "mean": 15.0, "sd": 2.0})
    found = simulate(study, "make", "buy", draws=16_384)
    law = stats.norm(1.0, 2.0)
    assert found.chance == pytest.approx(law.sf(0.0), abs=5.0 * found.chance_error + 1e-4)
    assert found.cheapest["make"].value == pytest.approx(law.sf(0.0), abs=5.0 * found.chance_error + 1e-4)
    assert np.array(found.advantage) / VOLUME == pytest.approx(law.ppf([0.1, 0.5, 0.9]), abs=5e-3)
    assert found.mean_advantage == pytest.approx(VOLUME, abs=5.0 * found.mean_error)


def test_a_driver_widens_a_sum(plain: Study) -> None:
    """Variance of a sum of two normal costs with correlation r: s1^2 + s2^2 + 2 r s1 s2."""
    normal = {"shape": "normal", "mean": 14.0, "sd": 1.0}
    study = ranged(plain, METAL=normal, FINISH={**normal, "sd": 2.0})
    driven = study.with_inputs(
        {"drivers": Named({"metal": {"name": "metal", "inputs": {METAL: 0.8, FINISH: 0.9}}})}
    )
    apart, together = (sample(each, ["make"], draws=65_536).per_part[0].var() for each in (study, driven))
    assert apart == pytest.approx(5.0, rel=5e-3)
    assert together == pytest.approx(5.0 + 2.0 * 0.72 * 1.0 * 2.0, rel=5e-3)


def test_only_the_named_alternatives_are_costed(small: Study) -> None:
    found = simulate(small, "make-cuts", "near-b", names=["both"], draws=64)
    assert set(found.per_part) == {"make-cuts", "near-b", "both"}


def test_draws_far_beyond_memory_are_summed_in_chunks(plain: Study) -> None:
    """Many draws of a light study: the same first set as with few, one chunk after the other."""
    study = ranged(plain, METAL={"shape": "pert", "low": 4.0, "likely": 5.0, "high": 9.0})
    few, many = sample(study, ["make"], draws=8 * 1024), sample(study, ["make"], draws=8 * 65_536)
    assert few.per_part[0, :1024] == pytest.approx(many.per_part[0, :1024], rel=1e-14)
    assert few.per_part[0].mean() == pytest.approx(many.per_part[0].mean(), rel=1e-5)


def test_nothing_uncertain_is_one_answer(plain: Study) -> None:
    found = simulate(plain.with_inputs({METAL: 14.0, PRICE: 15.0}), "make", "buy", draws=64)
    assert found.advantage == pytest.approx((VOLUME,) * 3, rel=1e-12)
    assert (found.chance, found.chance_error, found.mean_error) == (1.0, 0.0, 0.0)


def test_a_range_over_the_limits_of_its_input_is_told(plain: Study) -> None:
    from costmodel.errors import InputError

    study = ranged(plain, METAL={"shape": "normal", "mean": 5.0, "sd": 3.0})
    with pytest.raises(InputError, match="Narrow the range of this input"):
        simulate(study, "make", "buy")
