"""An estimate that is not yet measured has the range of its class, until somebody measures or replaces it."""

from __future__ import annotations

import pytest

from costmodel.decision import decide
from costmodel.draws.spreads import quantile
from costmodel.make_or_buy import alternative_cost
from costmodel.maturity import CLASSES, maturity_flags, maturity_spreads
from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.register import register

ROUTE = "part.routes.cuts"


def test_the_classes_have_the_published_outer_ranges() -> None:
    """AACE 18R-97, outer low and high of classes 5 to 1: -50/+100, -30/+50, -20/+30, -15/+20, -10/+15 %."""
    ranges = {kind.number: (-100 * kind.below, 100 * kind.above) for kind in CLASSES.values()}
    published = {5: (-50, 100), 4: (-30, 50), 3: (-20, 30), 2: (-15, 20), 1: (-10, 15)}
    assert {number: pytest.approx(pair) for number, pair in published.items()} == ranges


def test_measured_times_have_no_range_of_their_own(small: Study) -> None:
    assert maturity_spreads(small) == ()


def test_an_idea_ranges_from_half_to_twice_its_times(small: Study) -> None:
    idea = small.with_inputs({f"{ROUTE}.maturity": "idea"})
    (spread,) = maturity_spreads(idea)
    assert spread.name == f"{ROUTE}.time_factor"
    assert (spread.low, spread.likely, spread.high) == (0.5, 1.0, 2.0)
    assert float(quantile(idea, spread, 1e-12)) == pytest.approx(0.5, abs=0.01)
    assert spread.name in {row.address for row in register(idea)}


def test_the_factor_stretches_programme_minutes_and_nothing_else(small: Study) -> None:
    """At twice the time in the programme, machine minutes grow by the programme's part and set-ups stay."""
    once, twice, thrice = (
        alternative_cost(small.with_inputs({f"{ROUTE}.time_factor": factor}), "make-cuts")
        for factor in (1.0, 2.0, 3.0)
    )
    minutes = [cost.portions[0].sheet.minutes_per_part("machine") for cost in (once, twice, thrice)]
    assert minutes[1] > minutes[0]
    assert minutes[2] - minutes[1] == pytest.approx(minutes[1] - minutes[0], rel=1e-9)
    assert minutes[0] > minutes[1] - minutes[0]  # set-up, loading and changes are no programme


def test_less_mature_times_widen_the_range_of_the_decision(small: Study) -> None:
    widths = []
    for maturity in ("measured", "idea"):
        rated = small.with_inputs({"part.routes.measured.maturity": maturity})  # the best way to make
        low, _, high = decide(rated, draws=4096).outcome.advantage
        widths.append(high - low)
    assert widths[0] < widths[1]


def test_a_default_range_is_said_until_somebody_replaces_it(small: Study) -> None:
    """S16: the default is shown until times are measured; a range of one's own takes its place."""
    idea = small.with_inputs({f"{ROUTE}.maturity": "idea"})
    (flag,) = maturity_flags(idea)
    assert flag.place == ROUTE
    assert "-50 to +100 %" in flag.text
    assert flag in decide(idea, draws=64).flags
    own = Uncertain(name=f"{ROUTE}.time_factor", shape="pert", low=0.9, likely=1.0, high=1.2)
    ranges = {**small.uncertainty, own.name: own}
    assert maturity_flags(idea.with_inputs({"uncertainty": Named(ranges)})) == ()
    assert maturity_flags(small) == ()
