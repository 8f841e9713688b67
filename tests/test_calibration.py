"""Honest chances: in many simulated worlds, what is called 80 % sure comes true about 80 times in a hundred.

Each world has its own stated ranges; its truth is drawn from them by NumPy's own generators, which share nothing
with the draws of the library. The statement is made from the ranges, then compared with the model at the truth.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from scipy import stats

from costmodel.draws.spreads import uncertain_numbers
from costmodel.evaluation import evaluate
from costmodel.formulas.distributions import Z90
from costmodel.reading import read_study
from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.uncertainty import simulate

WORLDS = 500
DRAWS = 1024
PAIR = ("make-three-axis", "status-quo")
SHIFTED = "quotes.overseas-a.tiers.400.price"
BINS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)


class World(NamedTuple):
    """What was said of one world, and what was so."""

    sure: float
    """Chance given to the side that was called cheaper."""
    right: bool
    held: tuple[bool, bool, bool]
    """Whether the 10 to 90 % range held the true cost of making, of buying, and the true advantage."""


def truth(study: Study, spread: Uncertain, chance: np.random.Generator) -> float:
    """A value drawn from a stated range by a generator of its own shape."""
    n = uncertain_numbers(study, spread)
    if spread.shape == "pert":
        span = n["high"] - n["low"]
        if span == 0.0:
            return n["low"]
        mode = (n["likely"] - n["low"]) / span
        return n["low"] + span * chance.beta(1.0 + 4.0 * mode, 5.0 - 4.0 * mode)
    if spread.shape == "triangular":
        return chance.triangular(n["low"], n["likely"], n["high"])
    if spread.shape == "uniform":
        return chance.uniform(n["low"], n["high"])
    if spread.shape == "normal":
        return chance.normal(n["mean"], n["sd"])
    if spread.shape == "lognormal":
        variance = np.log1p((n["sd"] / n["mean"]) ** 2)
        return chance.lognormal(np.log(n["mean"]) - variance / 2.0, np.sqrt(variance))
    score = chance.normal() / Z90
    return n["p50"] + score * (n["p90"] - n["p50"] if score > 0.0 else n["p50"] - n["p10"])


def narrowed(spread: Uncertain, width: float) -> Uncertain:
    """A range as wide as a share of itself, around its middle."""
    middle = next(it for it in (spread.likely, spread.p50, spread.mean, 0.0) if it is not None)
    fields = {
        field: middle + width * (value - middle)
        for field in ("low", "high", "p10", "p90")
        if (value := getattr(spread, field)) is not None
    }
    if spread.sd is not None:
        fields["sd"] = width * spread.sd
    return Uncertain(**{**spread.__dict__, **fields})


def world(study: Study, number: int, width: float = 1.0) -> World:
    """One world: its price range moved, its statement from ranges of some width, its truth from the whole ones."""
    chance = np.random.default_rng([2026, number])
    moved = chance.uniform(0.88, 1.12)
    spread = study.uncertainty[SHIFTED]
    points = {field: getattr(spread, field) * moved for field in ("p10", "p50", "p90")}
    ranges = dict(study.uncertainty) | {SHIFTED: Uncertain(**{**spread.__dict__, **points})}
    here = study.with_inputs({"uncertainty": Named(ranges)})
    stated = here
    if width != 1.0:
        own = {name: it for name, it in ranges.items() if it.origin == "study"}
        narrow = {name: narrowed(it, width) for name, it in own.items()}
        stated = here.with_inputs({"uncertainty": Named({**ranges, **narrow})})
    said = simulate(stated, *PAIR, names=PAIR, draws=DRAWS, seed=number)
    values = {name: truth(here, it, chance) for name, it in here.uncertainty.items()}
    made, bought = evaluate(here.with_inputs(values), PAIR)
    advantage = float(bought.worth) - float(made.worth)
    true = (float(made.per_part), float(bought.per_part), advantage)
    ranges_said = (*(said.per_part[name] for name in PAIR), said.advantage)
    first = said.chance >= 0.5
    return World(
        sure=max(said.chance, 1.0 - said.chance),
        right=(advantage > 0.0) == first,
        held=tuple(low <= value <= high for value, (low, _, high) in zip(true, ranges_said, strict=True)),  # type: ignore[arg-type]
    )


@cache
def study() -> Study:
    return read_study(Path(__file__).parents[1] / "data" / "studies" / "encoder-cover.toml")


@cache
def worlds() -> tuple[World, ...]:
    return tuple(world(study(), number) for number in range(WORLDS))


def reliability() -> list[tuple[str, int, float, float]]:
    """Lines of a table: how sure, in how many worlds, the mean chance given, the share that was right."""
    lines = []
    for low, high in pairwise(BINS):
        some = [it for it in worlds() if low <= it.sure < high or (high == 1.0 and it.sure == 1.0)]
        if some:
            given, right = np.mean([it.sure for it in some]), np.mean([it.right for it in some])
            lines.append((f"{low:.0%} to {high:.0%}", len(some), float(given), float(right)))
    return lines


@pytest.mark.slow
def test_chances_given_are_chances_kept() -> None:
    """In each class of surety the share that was right lies within 3.3 binomial errors (99.9 %)."""
    table = reliability()
    assert sum(count for _, count, _, _ in table) == WORLDS
    assert len([count for _, count, _, _ in table if count >= 30]) >= 4
    for words, count, given, right in table:
        error = np.sqrt(given * (1.0 - given) / count)
        assert abs(right - given) < 3.3 * error + 0.5 / count, (words, count, given, right)


def test_eighty_per_cent_sure_is_right_about_eighty_times() -> None:
    some = [it for it in worlds() if 0.75 <= it.sure < 0.85]
    given, right = np.mean([it.sure for it in some]), sum(it.right for it in some)
    assert len(some) >= 40
    assert stats.binomtest(right, len(some), float(given)).pvalue > 0.001


@pytest.mark.parametrize("which", [0, 1, 2])
def test_the_range_from_10_to_90_holds_the_truth_eight_times_in_ten(which: int) -> None:
    held = sum(it.held[which] for it in worlds())
    assert stats.binomtest(held, WORLDS, 0.8).pvalue > 0.001


@pytest.mark.slow
def test_ranges_that_are_too_narrow_are_found_out() -> None:
    """The same truths against ranges a third as wide: held far less often than eight times in ten."""
    held = sum(world(study(), number, width=1.0 / 3.0).held[2] for number in range(120))
    assert stats.binomtest(held, 120, 0.8).pvalue < 1e-6
