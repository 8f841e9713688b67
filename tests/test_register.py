"""The assumptions register: what a study rests on, who stands for it, and how much of it is a guess."""

from __future__ import annotations

from collections import Counter

import pytest

from costmodel.decision import decide
from costmodel.make_or_buy import compare
from costmodel.records.address import tokens, value_at
from costmodel.records.study import Study
from costmodel.register import Assumption, freshness_flags, register, row_of, steady_flags


def by_address(study: Study) -> dict[str, Assumption]:
    """Rates rows, offers and statements; ranges come after them and may repeat an address."""
    found: dict[str, Assumption] = {}
    for row in register(study):
        found.setdefault(row.address, row)
    return found


def test_a_row_carries_what_its_owner_wrote(small: Study) -> None:
    """Value, unit, range, source, date, owner, status, as they stand in tests/small."""
    row = by_address(small)["rates.machines.mill"]
    assert (row.value, row.unit, row.low, row.high) == (390000.0, "USD", 360000.0, 420000.0)
    assert (row.status, row.source, str(row.as_of), row.owner) == (
        "quoted",
        "invented",
        "2026-01-20",
        "finance",
    )
    metal = by_address(small)["rates.materials.aluminium"]
    assert metal.unit == "USD/kg"
    assert metal.value == pytest.approx(3.25 / 0.45359237, rel=1e-14)


def test_a_name_with_a_dot_is_quoted(small: Study) -> None:
    assert 'rates.tools."drill-5.1mm"' in by_address(small)


def test_only_what_is_used_stands_in_it(small: Study) -> None:
    """Every table row of tests/small is used by some alternative, until the alternative goes."""
    rows = set(by_address(small))
    for table in (
        "machines",
        "materials",
        "tools",
        "processors",
        "freight",
        "duties",
        "entry_fees",
        "currency",
        "faults",
    ):
        for name in getattr(small.rates, table):
            quoted = f'"{name}"' if "." in name else name
            assert f"rates.{table}.{quoted}" in rows
    bought = {name: row for name, row in small.alternatives.items() if row.buy}
    fewer = set(by_address(small.with_inputs({"alternatives": bought})))
    gone = {row.split(".")[1] for row in rows - fewer if row.startswith("rates.")}
    assert {"machines", "materials", "tools", "processors"} <= gone
    assert "freight" not in gone


def test_an_inspector_is_in_it_too(small: Study) -> None:
    """Grades of labour: operators of machines, who fits, who inspects what comes back, who programmes."""
    rows = by_address(small)
    for grade in ("operator", "setter", "assembler", "inspector"):
        assert f"rates.labour.{grade}" in rows


def test_a_grade_that_is_paid_once_only_is_in_it(small: Study) -> None:
    """The setter writes the programme; with another operator at the machine he has no other work here."""
    study = small.with_inputs({"part.routes.measured.steps.mill.operator": "operator"})
    assert "rates.labour.setter" in by_address(study)
    unpaid = study.with_inputs({"part.routes.cuts.once.programme.labour": "operator"})
    assert "rates.labour.setter" not in by_address(unpaid)


def test_what_prices_follow_over_the_years_is_in_it(small: Study) -> None:
    """The index series carry the cash flow, and most of them are guesses."""
    used = {row for row in by_address(small) if row.startswith("rates.indices.")}
    assert {"rates.indices.wages", "rates.indices.metals", "rates.indices.services"} <= used


def test_offers_are_named_with_their_source(small: Study) -> None:
    rows = by_address(small)
    assert (rows["quotes.far-a"].status, rows["quotes.near-b"].status) == ("measured", "quoted")
    assert str(rows["quotes.far-a"].as_of) == "2026-04-01"


def test_every_range_is_in_it_with_its_value_and_unit(small: Study) -> None:
    stated = {address for address, it in small.uncertainty.items() if it.origin == "study"}
    assert len(stated) == 6
    rows = register(small)
    ranges = {address: row_of(rows, address) for address in stated}
    for address, row in ranges.items():
        assert row is not None
        assert row.value == value_at(small, address)
        assert small.uncertainty[address].source in row.source
    price = ranges["quotes.far-a.tiers.500.price"]
    assert (price.unit, price.low, price.value, price.high) == ("EUR", 15.4, 16.1, 17.3)
    assert ranges["part.routes.cuts.steps.mill.step_yield"].low == pytest.approx(0.95)


def test_every_number_resolves_to_one_row(small: Study) -> None:
    """The row with the longest address that contains it."""
    rows = register(small)
    expected = {
        "rates.machines.mill.maintenance": "rates.machines.mill",
        "quotes.far-a.lead_time": "quotes.far-a",
        "quotes.near-b.lead_time": "quotes.near-b.lead_time",
        "quotes.far-a.tiers.500.price": "quotes.far-a.tiers.500.price",
        "quotes.far-a.tiers.200.price": "quotes.far-a",
        "demand.per_year": "demand.per_year",
        "demand.weeks": "demand",
        "part.routes.cuts.steps.mill.cuts.face.length": "part.routes.cuts",
        "part.blank.length": "part.blank",
    }
    for address, row in expected.items():
        found = row_of(rows, address)
        assert found is not None, address
        assert found.address == row
    assert row_of(rows, "part.title") is None


def test_guesses_are_counted(small: Study) -> None:
    decision = decide(small, draws=64)
    counts = decision.status_counts()
    assert sum(counts.values()) == len(decision.register) > 40
    assert counts == dict(Counter(row.status for row in decision.register)) | {
        key: counts[key] for key in counts
    }
    better = small.with_inputs({"rates.faults.field.status": "measured"})
    after = decide(better, draws=64).status_counts()
    assert after["guess"] == counts["guess"] - 1
    assert after["measured"] == counts["measured"] + 1


def test_a_range_of_a_rates_figure_stands_in_its_row(demo: dict[str, Study]) -> None:
    """One number, one row: no figure is counted twice, and its range makes it no better known."""
    for study in demo.values():
        rows = register(study)
        assert len({row.address for row in rows}) == len(rows)
        whole = [row for row in rows if row.address.startswith("rates.") and len(tokens(row.address)) == 3]
        for row in whole:
            head = headline_of(study, row.address)
            assert not any(other.address == head for other in rows), row.address
    duty = by_address(demo["saddle-clamp"])["rates.duties.metal-layer-aluminium"]
    spread = demo["saddle-clamp"].uncertainty["rates.duties.metal-layer-aluminium.rate"]
    assert (duty.low, duty.high, duty.status) == (spread.low, spread.high, spread.status)
    assert "range: " in duty.source


@pytest.mark.parametrize("name", ["saddle-clamp", "worm-shaft", "encoder-cover"])
def test_every_row_of_a_demonstration_says_whose_it_is(demo: dict[str, Study], name: str) -> None:
    rows = [row for row in register(demo[name]) if row.address.split(".")[0] in ("rates", "quotes")]
    assert len(rows) > 30
    for row in rows:
        assert row.status in ("guess", "quoted", "measured")
        assert row.source, row.address
        assert row.owner, row.address


def test_rates_out_of_their_year_or_overdue_are_flagged(small: Study) -> None:
    assert freshness_flags(small) == ()
    late = small.with_inputs({"rates.year.valid_to": "2026-05-31"})
    assert "used for a decision on 2026-06-15" in freshness_flags(late)[0].text
    overdue = small.with_inputs({"rates.year.review_by": "2026-06-14"})
    assert "due for review by 2026-06-14" in freshness_flags(overdue)[0].text
    on_the_day = small.with_inputs(
        {"rates.year.review_by": "2026-06-15", "rates.year.valid_to": "2026-06-15"}
    )
    assert freshness_flags(on_the_day) == ()


@pytest.mark.parametrize("name", ["encoder-cover", "saddle-clamp", "worm-shaft"])
def test_a_row_moves_only_the_alternatives_that_are_said_to_rest_on_it(
    demo: dict[str, Study], name: str
) -> None:
    """M26, used where: each number of the rates and ranges one hundredth lower, all alternatives costed anew."""
    study = demo[name]
    before = compare(study)
    moved_somewhere = 0
    for row in register(study):
        if row.value is None:
            continue
        address = headline_of(study, row.address)
        after = compare(study.with_inputs({address: value_at(study, address) * 0.99}))
        moved = {
            other
            for other, cost in after.alternatives.items()
            if float(after.worth[other]) != float(before.worth[other])
            or float(cost.per_part()) != float(before.alternatives[other].per_part())
        }
        # In the months of a ramp, and where shown beside it, today's way stands in for what is missing.
        assert moved <= {*row.used_by, *ramped(study, row)}, row.address
        moved_somewhere += bool(moved)
    assert moved_somewhere > 20


def headline_of(study: Study, address: str) -> str:
    """The address of the main number of a row; the address itself where it names a number."""
    row = value_at(study, address)
    return f"{address}.{row.headline}" if hasattr(row, "headline") else address


def ramped(study: Study, row: Assumption) -> set[str]:
    """Alternatives with a ramp, where the row concerns the way of today."""
    current = next(name for name, way in study.alternatives.items() if way.current)
    if current not in row.used_by:
        return set()
    return {name for name, way in study.alternatives.items() if way.ramp}


def test_every_row_of_the_demo_says_where_it_comes_from(demo: dict[str, Study]) -> None:
    for study in demo.values():
        for row in register(study):
            assert row.source, row.address
            assert row.owner, row.address


def test_a_price_that_never_moves_is_asked_about(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    assert steady_flags(study) == ()
    still = study.with_inputs({"quotes.overseas-a.series": ""})
    (flag,) = steady_flags(still)
    assert flag.place == "quotes.overseas-a"
    assert flag in decide(still, draws=64).flags
    assert steady_flags(still.with_inputs({"finance.horizon": 12})) == ()
    flat = {f"rates.indices.{name}.yearly_change": 0.0 for name in study.rates.indices}
    assert steady_flags(still.with_inputs(flat)) == ()
