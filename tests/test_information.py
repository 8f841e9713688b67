"""What knowing is worth: closed forms of normal gaps, and the list of what to measure first."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from costmodel.information import value_of_information
from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.tables.doubt_tables import knowing_table
from costmodel.uncertainty import sample

PRICE, BLANK, FINISH = (
    "quotes.supplier.tiers.1.price",
    "rates.materials.bar.price",
    "rates.processors.finisher.price",
)
VOLUME = 4000.0


def normal_loss(mean: float, sd: float) -> float:
    """Expected value of perfect information on a normal advantage: sd times the unit normal loss at |mean|/sd."""
    score = abs(mean) / sd
    return float(sd * (stats.norm.pdf(score) - score * stats.norm.sf(score)))


def ranged(study: Study, ranges: dict[str, dict[str, object]]) -> Study:
    spreads = Named({name: Uncertain(name=name, **spread) for name, spread in ranges.items()})
    return study.with_inputs({"uncertainty": spreads})


@pytest.fixture
def three(plain: Study) -> Study:
    """A price of 21 against a blank of 14 and a finish of 6, all normal: an advantage of 1 +/- 2.291 a part."""
    sds = {PRICE: (21.0, 2.0), BLANK: (14.0, 1.0), FINISH: (6.0, 0.5)}
    return ranged(plain, {n: {"shape": "normal", "mean": mean, "sd": sd} for n, (mean, sd) in sds.items()})


def test_knowing_all_of_a_normal_gap(three: Study) -> None:
    found = value_of_information(sample(three, draws=65_536))
    expected = VOLUME * normal_loss(1.0, np.sqrt(2.0**2 + 1.0**2 + 0.5**2))
    assert found.chosen == "make"
    assert found.everything.value == pytest.approx(expected, abs=5.0 * found.everything.error + 2.0)


def test_knowing_one_input_of_a_normal_gap(three: Study) -> None:
    """With the others unknown their means stand: the worth is that of a gap of this input's spread alone."""
    found = value_of_information(sample(three, draws=65_536))
    assert [worth.address for worth in found.inputs] == [PRICE, BLANK, FINISH]
    for worth, sd in zip(found.inputs, (2.0, 1.0, 0.5), strict=True):
        expected = VOLUME * normal_loss(1.0, sd)
        assert worth.value.value == pytest.approx(expected, abs=5.0 * worth.value.error + 0.002 * VOLUME)
        assert worth.changes == pytest.approx(stats.norm.sf(1.0 / sd), abs=0.005)
    assert sum(worth.value.value for worth in found.inputs) < found.everything.value


def test_knowing_one_of_a_few_values(plain: Study) -> None:
    """A duty that is on or off decides by itself: 30 % of the time the other way saves 5 a part (by hand)."""
    ranges = {PRICE: {"shape": "discrete", "values": (12.0, 20.0), "chances": (0.7, 0.3)}}
    study = ranged(plain.with_inputs({BLANK: 15.0}), ranges)
    found = value_of_information(sample(study, draws=8192))
    assert found.chosen == "buy"
    assert found.everything.value == pytest.approx(0.3 * 5.0 * VOLUME, rel=2e-3)
    assert found.inputs[0].value.value == pytest.approx(0.3 * 5.0 * VOLUME, rel=2e-3)
    assert found.inputs[0].changes == pytest.approx(0.3, abs=1e-3)


def test_how_often_knowing_changes_the_choice_by_hand(plain: Study) -> None:
    """A price of 14 or 20 (80 %, 20 %) against a blank of 13 or 16 (half each): 15.2 and 14.5 on average, so make.

    Knowing both, one buys at 14 against 16, 40 % of the time, and saves 2. Knowing the price alone, one buys at
    14, 80 % of the time, and saves 14.5 - 14; the blank alone, at 16, half of the time, and saves 16 - 15.2.
    """
    ranges = {
        PRICE: {"shape": "discrete", "values": (14.0, 20.0), "chances": (0.8, 0.2)},
        BLANK: {"shape": "discrete", "values": (13.0, 16.0), "chances": (0.5, 0.5)},
    }
    found = value_of_information(sample(ranged(plain, ranges), draws=8192))
    assert found.chosen == "make"
    assert found.everything.value == pytest.approx(0.4 * 2.0 * VOLUME, rel=5e-3)
    assert found.everything_changes == pytest.approx(0.4, abs=2e-3)
    inputs = {worth.address: worth for worth in found.inputs}
    assert inputs[PRICE].value.value == pytest.approx(0.8 * 0.5 * VOLUME, rel=5e-3)
    assert inputs[PRICE].changes == pytest.approx(0.8, abs=2e-3)
    assert inputs[BLANK].value.value == pytest.approx(0.5 * 0.8 * VOLUME, rel=2e-2)
    assert inputs[BLANK].changes == pytest.approx(0.5, abs=2e-3)
    shown = knowing_table(plain, found).column("would change the choice")
    assert shown[0] == pytest.approx(40.0, abs=0.2)


def test_an_input_without_part_is_worth_nothing_on_average(plain: Study) -> None:
    """Where both ways cost the same on average, a fit of few draws finds patterns in their noise: not for money."""
    ranges = {
        PRICE: {"shape": "normal", "mean": 20.0, "sd": 2.0},
        BLANK: {"shape": "normal", "mean": 20.0, "sd": 2.0},
        "rates.labour.fitter.wage": {"shape": "uniform", "low": 10.0, "high": 30.0},
    }
    study = ranged(plain, ranges)
    found = []
    for seed in range(1, 31):
        known = value_of_information(sample(study, draws=512, seed=seed, method="plain"))
        found += [it.value.value for it in known.inputs if it.address == "rates.labour.fitter.wage"]
    error = np.std(found, ddof=1) / np.sqrt(len(found))
    assert np.mean(found) == pytest.approx(0.0, abs=3.0 * error)


def test_regression_agrees_with_a_second_level_of_draws(demo: dict[str, Study]) -> None:
    """Nested check: for each value of one input the others are drawn anew and the cheapest on average is taken."""
    study = demo["encoder-cover"]
    found = value_of_information(sample(study, draws=8192))
    top = found.inputs[0]
    values = np.quantile(sample(study, draws=512).input(top.address), (np.arange(24) + 0.5) / 24)
    inner = np.array(
        [sample(study.settled({top.address: float(value)}), draws=512).worth.mean(axis=1) for value in values]
    )
    nested = inner.mean(axis=0).min() - inner.min(axis=1).mean()
    assert top.value.value == pytest.approx(nested, rel=0.1)


def test_what_to_measure_first_is_ranked(demo: dict[str, Study]) -> None:
    """C6: ranked by what knowing it is worth; what plays no part is worth nothing and changes nothing."""
    study = demo["encoder-cover"]
    found = value_of_information(sample(study, draws=4096))
    values = [worth.value.value for worth in found.inputs]
    assert values == sorted(values, reverse=True)
    assert {worth.address for worth in found.inputs} == set(study.uncertainty)
    assert all(value <= found.everything.value + 1e-9 for value in values)
    idle = next(worth for worth in found.inputs if "mill-3x.practical_hours" in worth.address)
    assert idle.value.value < 0.02 * found.everything.value
    assert found.inputs[0].changes > 0.05


def test_nothing_is_worth_knowing_where_the_answer_is_clear(plain: Study) -> None:
    study = ranged(plain.with_inputs({BLANK: 5.0}), {PRICE: {"shape": "uniform", "low": 10.0, "high": 12.0}})
    found = value_of_information(sample(study, draws=512))
    assert found.everything.value == pytest.approx(0.0, abs=1e-9)
    assert found.inputs[0].value.value == pytest.approx(0.0, abs=1e-6)
    assert found.inputs[0].changes == 0.0
