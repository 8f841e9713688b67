"""The verdict: its rules, each reason constructed, and the same inputs giving the same decision everywhere."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy_financial as npf
import pytest

from costmodel.capacity import MachineHours, machine_hours
from costmodel.curves import recommended_change
from costmodel.decision import BasisView, Decision, decide, judge, levelled_per_part, volume_range
from costmodel.errors import InputError
from costmodel.make_or_buy import AlternativeCost, alternative_cost, compare
from costmodel.reading import read_study
from costmodel.records.quote import Tier
from costmodel.records.route import Item, Once
from costmodel.records.study import BASIS_WORDS, Alternative, CapacityStep, Study, fingerprint
from costmodel.records.uncertain import Uncertain
from costmodel.tables.reserves import reserves
from costmodel.tables.words import change_words
from costmodel.uncertainty import Outcome

ROOT = Path(__file__).parent.parent
PRICE = "quotes.supplier.tiers.1.price"
MACHINE = "rates.machines.mill"
TIME = "part.routes.route.steps.mill.programme"
OTHER = "part.routes.route.steps.fit.items.all"
BASES = ("practical", "budgeted", "cash", "displaced")


def outcome(low: float, middle: float, high: float, chance: float) -> Outcome:
    """What the draws say, as far as the verdict reads it."""
    return Outcome(
        first="make",
        second="buy",
        seed=1,
        draws=8,
        method="sobol",
        per_part={},
        mean_per_part={},
        cheapest={},
        advantage=(low, middle, high),
        mean_advantage=middle,
        chance=chance,
        mean_error=1.0,
        chance_error=0.01,
        sample=np.array([middle]),
    )


def views(*answers: str) -> tuple[BasisView, ...]:
    costs = {"make": (10.0, 12.0), "buy": (12.0, 10.0)}
    return tuple(BasisView(basis, *costs[answer]) for basis, answer in zip(BASES, answers, strict=True))


def hours(needed: float, free: float) -> MachineHours:
    return MachineHours("mill", needed, free, np.array([needed / 12.0]), 1.0)


@pytest.fixture
def sides(plain: Study) -> tuple[AlternativeCost, AlternativeCost]:
    return alternative_cost(plain, "make"), alternative_cost(plain, "buy")


Sides = tuple[AlternativeCost, AlternativeCost]


# --- the rules -------------------------------------------------------------------------------------------


def test_a_clear_case_is_called(sides: Sides) -> None:
    verdict = judge(outcome(100.0, 200.0, 300.0, 0.97), views(*["make"] * 4), [hours(800, 900)], *sides)
    assert (verdict.answer, verdict.alternative) == ("make", "make")
    verdict = judge(outcome(-300.0, -200.0, -100.0, 0.03), views(*["buy"] * 4), [hours(800, 900)], *sides)
    assert (verdict.answer, verdict.alternative) == ("buy", "buy")


@pytest.mark.parametrize(
    "low, middle, high, lean",
    [
        (-1.0, 50.0, 120.0, "make"),
        (-120.0, -50.0, 1.0, "buy"),
        (0.0, 5.0, 9.0, "make"),
        (-9.0, -5.0, 0.0, "buy"),
    ],
)
def test_a_range_that_holds_zero_is_too_close(
    sides: Sides, low: float, middle: float, high: float, lean: str
) -> None:
    """A gap inside its own range is not called; the leaning is still named."""
    verdict = judge(outcome(low, middle, high, 0.6), views(*[lean] * 4), [], *sides)
    assert (verdict.answer, verdict.alternative) == ("too close to call", lean)
    assert any("holds zero" in reason for reason in verdict.reasons)
    assert len(verdict.reasons) == 1


@pytest.mark.parametrize("basis", range(4))
def test_another_answer_on_one_rate_basis_is_too_close(sides: Sides, basis: int) -> None:
    answers = ["make"] * 4
    answers[basis] = "buy"
    verdict = judge(outcome(100.0, 200.0, 300.0, 1.0), views(*answers), [], *sides)
    assert (verdict.answer, verdict.alternative) == ("too close to call", "make")
    against = next(reason for reason in verdict.reasons if "depends on the rate basis" in reason)
    assert [word for word in BASIS_WORDS.values() if f'"{word}"' in against] == [
        list(BASIS_WORDS.values())[basis]
    ]


def test_bases_that_agree_among_themselves_are_not_blamed(sides: Sides) -> None:
    """All four bases say make, the middle of the draws says buy: that is its own reason."""
    verdict = judge(outcome(-300.0, -200.0, -100.0, 0.1), views(*["make"] * 4), [], *sides)
    assert verdict.answer == "too close to call"
    assert not any("depends on the rate basis" in reason for reason in verdict.reasons)
    assert any("every rate basis" in reason for reason in verdict.reasons)


def test_hours_that_are_not_there_are_too_close_for_making_only(sides: Sides) -> None:
    short = [hours(1000.0, 900.0)]
    verdict = judge(outcome(100.0, 200.0, 300.0, 1.0), views(*["make"] * 4), short, *sides)
    assert verdict.answer == "too close to call"
    assert any("mill is short of 100 h" in reason for reason in verdict.reasons)
    buying = judge(outcome(-300.0, -200.0, -100.0, 0.0), views(*["buy"] * 4), short, *sides)
    assert buying.answer == "buy"


def test_every_reason_is_given(sides: Sides) -> None:
    verdict = judge(
        outcome(-100.0, 200.0, 300.0, 0.8),
        views("make", "buy", "make", "buy"),
        [hours(1000, 900), hours(5, 9)],
        *sides,
    )
    assert verdict.answer == "too close to call"
    assert len(verdict.reasons) == 3  # the range, the bases, the one machine


# --- the rules on whole studies ----------------------------------------------------------------------------


def uniform(address: str, low: float, high: float) -> Uncertain:
    return Uncertain(name=address, shape="uniform", low=low, high=high)


def study_with(plain: Study, make: float, buy: float, spread: float, **changes: Any) -> Study:
    """Making at `make`, buying at `buy` give or take `spread`, 4,000 a year in one year without interest."""
    study = plain.with_inputs({PRICE: buy, OTHER: Item(name="all", element="other", cost=make)} | changes)
    return study.with_inputs({"uncertainty": {PRICE: uniform(PRICE, buy - spread, buy + spread)}})


def call(study: Study) -> Decision:
    return decide(study, draws=256, seed=3)


def test_a_gap_beyond_its_range_is_called_and_one_inside_it_is_not(plain: Study) -> None:
    """0.60 cheaper with a 10 to 90 % range of +/-1.80 (uniform +/-2.25) is too close to call."""
    close = call(study_with(plain, 20.0, 20.60, 2.25))
    assert close.verdict.answer == "too close to call"
    assert close.outcome.advantage == pytest.approx(
        (4000 * (0.60 - 1.80), 4000 * 0.60, 4000 * (0.60 + 1.80)), rel=0.05
    )
    assert call(study_with(plain, 20.0, 22.60, 2.25)).verdict.answer == "make"
    assert call(study_with(plain, 20.0, 17.40, 2.25)).verdict.answer == "buy"


def test_the_answer_may_depend_on_the_rate_basis(plain: Study) -> None:
    """25.20, 30.00, 17.20, 31.20 against 28.00: make, buy, make, buy, so it depends on the basis."""
    study = study_with(
        plain,
        14.0,
        28.0,
        0.01,
        **{
            f"{MACHINE}.maintenance": 96_000.0,
            f"{MACHINE}.consumables": 16.0,
            f"{MACHINE}.practical_hours": 2_400.0,
            f"{MACHINE}.budgeted_hours": 1_500.0,
            "capacity.mill.contribution": 70.0,
            TIME: 12.0,
        },
    )
    decision = call(study)
    assert {view.basis: view.make for view in decision.bases} == pytest.approx(
        {"practical": 25.20, "budgeted": 30.00, "cash": 17.20, "displaced": 31.20}, rel=1e-12
    )
    assert [view.answer for view in decision.bases] == ["make", "buy", "make", "buy"]
    assert [view.buy for view in decision.bases] == pytest.approx([28.0] * 4, rel=1e-12)
    assert decision.verdict.answer == "too close to call"
    words = '"full, budgeted hours" and on "cash and displaced work"'
    assert any(words in reason for reason in decision.verdict.reasons)


@pytest.mark.parametrize("volume, needed, short", [(4000.0, 800.0, 0.0), (5000.0, 1000.0, 100.0)])
def test_hours_needed_against_hours_free(plain: Study, volume: float, needed: float, short: float) -> None:
    """4,000 x 11.875 min + 20 set-ups of 25 min = 800 h of 900 free; 5,000 and 25 set-ups = 1,000 h, 100 short."""
    study = study_with(
        plain,
        1.0,
        9.0,
        0.1,
        **{
            TIME: 11.875,
            "part.routes.route.steps.mill.set_up": 25.0,
            "capacity.mill.free_hours": 900.0,
            "demand.per_year": volume,
        },
    )
    (found,) = machine_hours(study, alternative_cost(study, "make"))
    assert found.needed == pytest.approx(needed, rel=1e-12)
    assert found.short == pytest.approx(short, abs=1e-9)
    verdict = call(study).verdict
    assert verdict.answer == ("too close to call" if short else "make")
    assert any("short of 100 h" in reason for reason in verdict.reasons) is bool(short)


def test_what_is_paid_once_is_levelled_into_the_views(plain: Study) -> None:
    """3,600 once over a year without interest is 0.90 of each of 4,000 parts."""
    fixture = Once(name="fixture", kind="fixture", cost=3_600.0)
    study = study_with(plain, 5.0, 9.0, 0.1, **{"part.routes.route.once.fixture": fixture})
    assert levelled_per_part(study, alternative_cost(study, "make")) == pytest.approx(5.90, rel=1e-12)


def test_the_best_of_each_kind_is_chosen_on_base_values(small: Study) -> None:
    decision = call(small)
    worth = compare(small).worth
    assert worth[decision.make.name] == min(worth["make-cuts"], worth["make-measured"])
    assert worth[decision.buy.name] == min(worth["status-quo"], worth["near-b"])
    assert (decision.outcome.first, decision.outcome.second) == (decision.make.name, decision.buy.name)
    assert decision.payback.start == "status-quo"
    assert decision.payback.target == decision.make.name
    assert decision.crossing_range == volume_range(small) == (200, 12_000)


@pytest.mark.parametrize("kept", ["make", "buy"])
def test_without_an_alternative_of_each_kind_there_is_nothing_to_decide(small: Study, kept: str) -> None:
    rows = {name: row for name, row in small.alternatives.items() if getattr(row, kept)}
    if kept == "make":
        rows["make-cuts"] = Alternative(**(rows["make-cuts"].model_dump() | {"current": True}))
    only = small.with_inputs({"alternatives": rows})
    other = {"make": "buy", "buy": "make"}[kept]
    with pytest.raises(InputError, match=f"an alternative to {other}"):
        call(only)


def test_conditions_are_the_switching_values_nearest_first(plain: Study) -> None:
    study = study_with(plain, 20.0, 22.0, 3.0)
    ranges = {PRICE: uniform(PRICE, 19.0, 25.0), OTHER + ".cost": uniform(OTHER + ".cost", 18.0, 24.0)}
    found = call(study.with_inputs({"uncertainty": ranges})).conditions()
    assert [it.address for it in found] == [PRICE, OTHER + ".cost"]
    assert [it.switching for it in found] == pytest.approx([20.0, 22.0], rel=1e-4)  # -9.1 % and +10 %


def test_the_three_demonstrations_have_three_honest_answers(demo: dict[str, Study]) -> None:
    answers = {name: decide(study, draws=1024).verdict.answer for name, study in demo.items()}
    assert answers == {"saddle-clamp": "make", "worm-shaft": "buy", "encoder-cover": "too close to call"}


def test_a_demonstration_says_that_it_is_invented(demo: dict[str, Study]) -> None:
    """Study, part and rates alike."""
    for study in demo.values():
        assert study.invented
        assert study.part.invented
        assert study.rates.year.invented


# --- the same inputs, the same decision --------------------------------------------------------------------


def test_the_same_study_is_decided_the_same(small: Study) -> None:
    """Every part of it, draws included."""
    first, again = call(small), call(small)
    assert first.verdict == again.verdict
    assert first.fingerprint == again.fingerprint
    assert np.array_equal(first.outcome.sample, again.outcome.sample)
    assert first.crossings == again.crossings
    assert first.swings == again.swings
    assert first.register == again.register


def test_a_fingerprint_is_of_the_inputs_alone(small: Study) -> None:
    again = read_study(ROOT / "tests" / "small" / "study.toml")
    assert fingerprint(again) == fingerprint(small)
    assert len(fingerprint(small)) == 12
    assert set(fingerprint(small)) <= set("0123456789abcdef")


def test_a_fingerprint_changes_with_any_input(small: Study) -> None:
    tools = small.rates.tools["drill-5.1mm"].price
    changes: list[dict[str, Any]] = [
        {"demand.per_year": 4001.0},
        {'rates.tools."drill-5.1mm".price': float(tools) + 1e-9},
        {"quotes.near-b.valid_to": "2026-11-15"},
        {"part.routes.cuts.steps.mill.parts_per_load": 3},
        {"finance.basis": "cash"},
        {"alternatives.make-cuts.title": "Other"},
        {"uncertainty": {}},
        {"quotes.far-a.tiers.9000": Tier(name="9000", quantity=9000.0, price=1.0, currency="EUR")},
    ]
    prints = {fingerprint(small)} | {fingerprint(small.with_inputs(change)) for change in changes}
    assert len(prints) == 1 + len(changes)


def test_another_interpreter_gives_the_same_numbers_and_fingerprint(small: Study) -> None:
    """Other hash seed, other folder; text is compared, so every digit counts."""
    code = (
        "from costmodel.decision import decide\n"
        "from costmodel.reading import read_study\n"
        f"d = decide(read_study(r'{ROOT / 'tests' / 'small' / 'study.toml'}'), draws=256, seed=3)\n"
        "print(d.fingerprint, repr(d.outcome.mean_advantage), repr(float(d.payback.cash_saving)), d.verdict)\n"
    )
    texts = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            cwd=folder,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        ).stdout
        for seed, folder in (("1", ROOT), ("2", ROOT / "tests"))
    }
    here = call(small)
    numbers = f"{here.outcome.mean_advantage!r} {float(here.payback.cash_saving)!r}"
    assert texts == {f"{here.fingerprint} {numbers} {here.verdict}\n"}


def test_another_seed_moves_the_draws_and_not_the_base(small: Study) -> None:
    one, two = decide(small, draws=256, seed=1), decide(small, draws=256, seed=2)
    assert not np.array_equal(one.outcome.sample, two.outcome.sample)
    assert one.comparison.worth == two.comparison.worth
    assert replace(one, outcome=two.outcome, verdict=two.verdict).payback == two.payback


def test_flags_are_gathered_once_each(small: Study) -> None:
    stale = small.with_inputs({"rates.year.review_by": "2026-05-01"})
    flags = call(stale).flags
    assert len(flags) == len(set(flags))
    texts = " ".join(flag.text for flag in flags)
    assert "were due for review by 2026-05-01" in texts
    assert "rest is in force 2027-01-01" in texts


# --- what a verdict leaves open ------------------------------------------------------------------------


def test_a_second_way_of_the_same_side_is_named_where_the_draws_do_not_tell_it_apart(
    demo: dict[str, Study],
) -> None:
    """At half the volume the rotary fixture is hardly better than the vice; at the stated volume it is."""
    clamp = demo["saddle-clamp"]
    halved = decide(clamp.with_scenario("volume-halved"), draws=1024)
    (rival,) = halved.rivals
    assert rival.name == "make-single-vice"
    low, middle, high = rival.saved
    assert low <= 0.0 <= high
    drawn = halved.drawn_of_all
    gap = drawn.worth[drawn.names.index(rival.name)] - drawn.worth[drawn.names.index("make-rotary")]
    assert middle == pytest.approx(float(np.median(gap)))
    assert any("is too close to call" in words for words in reserves(halved))
    assert decide(clamp, draws=1024).rivals == ()


def test_missing_hours_are_priced_beside_the_verdict(demo: dict[str, Study]) -> None:
    """A step for 1,000 a month and 5,000 once: worth today of 60 payments at the month's interest, and 5,000."""
    clamp = demo["saddle-clamp"]
    step = CapacityStep(name="nights", title="Nights", hours=900.0, per_year=12_000.0, once=5_000.0, life=5.0)
    free = {"capacity.mill-5x.free_hours": 400.0, "capacity.mill-5x.steps": {"nights": step}}
    decision = decide(clamp.with_inputs(free), draws=256)
    interest = 1.1 ** (1.0 / 12.0) - 1.0
    assert clamp.finance.discount_rate == 0.10
    worth = -npf.pv(interest, clamp.finance.horizon, 12_000.0 / 12.0) + 5_000.0
    assert decision.steps_worth == pytest.approx(worth, rel=1e-9)
    text = " ".join(reserves(decision))
    assert "short of" in text
    assert '"Nights"' in text
    assert "with them making saves" in text
    nothing = decide(clamp.with_inputs({"capacity.mill-5x.free_hours": 400.0}), draws=256)
    assert nothing.steps_worth == 0.0
    assert "no stated step brings" in " ".join(reserves(nothing))
    assert reserves(decide(clamp, draws=256)) == ()


def test_a_way_that_fits_the_free_hours_is_named(demo: dict[str, Study]) -> None:
    clamp = demo["saddle-clamp"]
    needed = decide(clamp, draws=64).capacity[0].peak_needed * 12.0
    tight = decide(clamp.with_inputs({"capacity.mill-5x.free_hours": 0.9 * needed}), draws=64)
    assert tight.make.name not in tight.fitting
    assert "rotary-and-c" in tight.fitting
    assert "The free hours do for" in " ".join(reserves(tight))


def test_where_today_is_the_way_recommended_the_other_side_is_what_is_compared(
    demo: dict[str, Study],
) -> None:
    clamp = demo["saddle-clamp"]
    ways = {
        name: way.model_copy(update={"current": name == "make-rotary"})
        for name, way in clamp.alternatives.items()
    }
    decision = decide(clamp.with_inputs({"alternatives": ways}), draws=64)
    assert decision.verdict.alternative == "make-rotary"
    change = recommended_change(decision)
    assert (change.start, change.target) == ("make-rotary", decision.buy.name)
    assert "If it were bought instead" in change_words(decision, change)
