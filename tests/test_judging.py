"""What is judged beside the money: soft factors, a price by its supplier's likely cost, and a study without names."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from buying import offer, study, with_offers

from costmodel.blinding import blinded, shown_rows, supplier_letters
from costmodel.delivery_log import with_log
from costmodel.errors import InputError
from costmodel.make_or_buy import compare
from costmodel.part_cost import part_cost
from costmodel.quote_check import price_check
from costmodel.reading import read_deliveries, read_should_cost, read_study
from costmodel.records.rates import Duty
from costmodel.records.study import Study
from costmodel.records.uncertain import Driver, Scenario
from costmodel.soft_factors import soft_factors
from costmodel.tables.source_tables import price_checks_table

ROOT = Path(__file__).parent.parent
LOG = ROOT / "data" / "logs" / "saddle-clamp-overseas-a.csv"
DEMO = sorted((ROOT / "data" / "studies").glob("*.toml"))


# --- soft factors ---------------------------------------------------------------------------------------


def judged(*criteria: dict[str, Any]) -> Study:
    two = with_offers(offer(name="x"), offer(name="y"))
    return Study.model_validate({**two.__dict__, "criteria": list(criteria)})


def criterion(name: str, weight: float, x: float, y: float, at_least: float | None = None) -> dict[str, Any]:
    marks = {"x": x, "y": y}
    return {"name": name, "title": name, "weight": weight, "marks": marks, "at_least": at_least}


def test_gates_come_before_weights() -> None:
    found = soft_factors(judged(criterion("price", 1, 5, 2), criterion("control", 1, 1, 4, at_least=2)))
    assert found is not None
    assert found.order == ("y",)
    assert [row.failed for row in found.marked] == [("control",), ()]
    assert [row.score for row in found.marked] == [3.0, 3.0]
    assert found.flips == ()


def test_at_the_flip_weight_both_score_alike() -> None:
    # Marks of a purchasing course, 4.3 against 3.9, whose order turns where the price weighs 71.4 %: see test_scoring.
    from test_scoring import FIRST, SECOND, WEIGHTS

    rows = [
        criterion(f"c{number}", weight, x, y)
        for number, (weight, x, y) in enumerate(zip(WEIGHTS, FIRST, SECOND, strict=True))
    ]
    found = soft_factors(judged(*rows))
    assert found is not None
    assert sorted(round(row.score, 1) for row in found.marked) == [3.9, 4.3]
    assert found.flips[0].flips_at == pytest.approx(0.714, abs=5e-4)
    share = found.flips[0].flips_at
    rest = sum(WEIGHTS[1:])
    changed = [{**row, "weight": (1 - share) * row["weight"] / rest} for row in rows]
    changed[0]["weight"] = share
    level = soft_factors(judged(*changed))
    assert level is not None
    assert level.marked[0].score == pytest.approx(level.marked[1].score)


def test_every_alternative_is_marked_and_no_other() -> None:
    with pytest.raises(ValueError, match="a mark for the alternative y"):
        judged({"name": "price", "title": "Price", "weight": 1, "marks": {"x": 1}})
    with pytest.raises(ValueError, match="z"):
        judged({"name": "price", "title": "Price", "weight": 1, "marks": {"x": 1, "y": 1, "z": 1}})
    with pytest.raises(ValueError, match="a mark of 0 or more"):
        judged(criterion("price", 1, -1, 2))


def test_nothing_judged_gives_nothing() -> None:
    assert soft_factors(study()) is None


# --- should-cost ----------------------------------------------------------------------------------------

GUESS = """
quote = "far-a"
route = "cuts"
quantity = "500 part"
margin_low = "10 %"
margin_high = "10 %"
source = "invented"
[assumed]
"rates.labour.operator.wage" = { low = "9 USD/h", high = "14 USD/h", source = "invented: talk" }
"""


def guess(tmp_path: Path, text: str = GUESS):
    path = tmp_path / "guess.toml"
    path.write_text(text, encoding="utf-8")
    return read_should_cost(path, study())


def test_the_range_is_the_model_s_on_the_supplier_s_inputs(tmp_path: Path) -> None:
    found = price_check(study(), guess(tmp_path))
    ends = []
    for wage in (9.5, 13.5):  # a tenth inside each end of the even range
        his = study().with_inputs({"rates.labour.operator.wage": wage})
        sheet = part_cost(
            his.part, his.part.routes["cuts"], his.rates, lot=500.0, per_year=4000.0, basis="practical"
        )
        ends.append(float(sheet.per_part()) / 0.9)
    assert (found.low, found.high) == pytest.approx(tuple(ends), rel=2e-3)


def test_it_gives_a_range_with_its_assumptions_and_no_point(tmp_path: Path) -> None:
    found = price_check(study(), guess(tmp_path))
    assert found.low < found.high
    assert not {"mean", "likely", "estimate", "point"} & set(found._fields)
    assert found.words[0] == "rates.labour.operator.wage: 9.5 to 13.5 USD/h (guess; invented: talk)"
    assert found.words[-2:] == (
        "margin: 10% to 10% of the price",
        "everything else: as our own rates and times stand in the study",
    )
    assert found.price == pytest.approx((16.10 + 0.22) * 1.12)
    assert price_check(study(), guess(tmp_path)) == found


@pytest.mark.parametrize(
    ("term", "carriage", "held"),
    [
        ("FOB", 0.0, ""),
        ("CIF", 0.0, "carriage"),
        ("CIF", 2.0, ""),
        ("DAP", 0.0, "carriage"),
        ("DDP", 2.0, "duty"),
        ("DDP", 0.0, "carriage, duty"),
    ],
)
def test_a_price_delivered_is_taken_back_to_the_works(
    tmp_path: Path, term: str, carriage: float, held: str
) -> None:
    """The range ends at the maker's gate: 2.00 of carriage in the price is no part of it, and the rest is named."""
    terms = {"delivery_term": term, "carriage_in_price": carriage}
    given = study().with_inputs({f"quotes.far-a.{field}": value for field, value in terms.items()})
    found = price_check(given, guess(tmp_path))
    assert found.price == pytest.approx((16.10 + 0.22 - carriage) * 1.12)
    assert found.held.startswith(held) if held else found.held == ""
    notes = " ".join(price_checks_table(given, [found]).notes)
    assert ("holds carriage" in notes or "holds duty" in notes) == bool(held)


@pytest.mark.parametrize(("price", "position"), [(0.5, "below the range"), (500.0, "above the range")])
def test_where_the_price_lies(tmp_path: Path, price: float, position: str) -> None:
    given = study().with_inputs({"quotes.far-a.tiers.500.price": price})
    assert price_check(given, guess(tmp_path)).position == position


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"cuts"', '"none"', "one of cuts"),
        ('"far-a"', '"far-x"', "one of far-a"),
        ("operator.wage", "operator.wages", 'Did you mean "wage"'),
        ('margin_high = "10 %"', 'margin_high = "5 %"', "rising order"),
        ('margin_high = "10 %"', 'margin_high = "100 %"', "below 100 %"),
        ("9 USD/h", "9", "a quantity in USD/h"),
        ('"rates.labour', '#"rates.labour', "a range for at least one input"),
    ],
)
def test_a_guess_that_cannot_be_run_says_why(tmp_path: Path, old: str, new: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        price_check(study(), guess(tmp_path, GUESS.replace(old, new)))


def test_the_demo_guess_runs() -> None:
    given = read_study(ROOT / "data" / "studies" / "saddle-clamp.toml")
    found = price_check(
        given, read_should_cost(ROOT / "data" / "should_cost" / "saddle-clamp-overseas-a.toml", given)
    )
    assert found.low < found.price
    assert len(found.words) == 8


# --- without names --------------------------------------------------------------------------------------


def strings(node: Any) -> list[str]:
    if isinstance(node, dict):
        return [text for key, value in node.items() for text in (str(key), *strings(value))]
    if isinstance(node, (list, tuple)):
        return [text for value in node for text in strings(value)]
    return [node] if isinstance(node, str) else []


def words_of_suppliers(given: Study) -> set[str]:
    """Every text by which a supplier of the study could be known."""
    words = {
        text
        for quote in given.quotes.values()
        for text in (quote.name, quote.title, quote.place, quote.source)
    }
    words |= {row.source for table in (given.rates.freight, given.rates.processors) for row in table.values()}
    words |= set(given.rates.freight) | set(given.rates.processors)
    words |= {alternative.title for alternative in given.alternatives.values() if alternative.buy}
    words |= {alternative.override for alternative in given.alternatives.values()} - {""}
    return words - {"our dock"}


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
def test_no_word_of_a_supplier_is_left_and_no_figure_changes(path: Path) -> None:
    given = read_study(path)
    blind = blinded(given)
    shown = "\n".join(strings(blind.model_dump(mode="json"))).lower()
    assert [word for word in words_of_suppliers(given) if word.lower() in shown] == []
    before, after = compare(given), compare(blind)
    for one, other in zip(before.alternatives.values(), after.alternatives.values(), strict=True):
        assert float(one.per_part()) == float(other.per_part())
    assert [float(worth) for worth in before.worth.values()] == [
        float(worth) for worth in after.worth.values()
    ]


def test_ranges_and_scenarios_follow_the_new_names() -> None:
    given = read_study(DEMO[0])
    blind = blinded(given)
    base = blind.with_inputs(
        {address: 1.0 * np.asarray(blind_value(blind, address)) for address in blind.uncertainty}
    )
    assert len(base.uncertainty) == len(given.uncertainty)
    for name in blind.scenarios:
        blind.with_scenario(name)


def test_a_name_is_found_wherever_it_hides() -> None:
    """In names of scenarios, duties and drivers, in titles, notes and questions, in order numbers of a log."""
    given = with_log(read_study(DEMO[1]), "overseas-a", read_deliveries(LOG))
    duty = given.rates.duties["base-aluminium-part"]
    hidden = Duty.model_validate({**duty.__dict__, "name": "overseas-a-extra", "note": "Overseas A says so"})
    scenario = Scenario.model_validate(
        {
            "name": "overseas-a-dear",
            "title": "OVERSEAS A raises",
            "inputs": {"quotes.overseas-a.lead_time": 100.0},
        }
    )
    driver = Driver.model_validate(
        {
            "name": "euro",
            "inputs": {"quotes.overseas-a.tiers.500.price": 0.5, "quotes.regional-c.tiers.500.price": 0.2},
        }
    )
    layers = (*given.quotes["overseas-a"].duties, "overseas-a-extra")
    given = given.with_inputs(
        {
            "rates.duties.overseas-a-extra": hidden,
            "quotes.overseas-a.duties": layers,
            "scenarios.overseas-a-dear": scenario,
            "drivers.euro": driver,
            "part.title": "Clamp, drawn for overseas-a",
            "demand.source": "letter of Overseas A",
            "title": "Clamp of Overseas A",
        }
    )
    blind = blinded(given)
    shown = "\n".join(strings(blind.model_dump(mode="json"))).lower()
    assert [word for word in ("overseas-a", "overseas a", "sc-001", "regional") if word in shown] == []
    assert blind.with_scenario("supplier-a-dear").quotes["supplier-a"].lead_time == 100.0
    assert "quotes.supplier-a.tiers.500.price" in blind.drivers["euro"].inputs
    assert "supplier-a-extra" in blind.quotes["supplier-a"].duties
    assert float(compare(blind).worth["buy-a"]) == float(compare(given).worth["status-quo"])


def blind_value(given: Study, address: str) -> Any:
    from costmodel.records.address import value_at

    return value_at(given, address)


def test_pay_is_left_out_of_what_is_shown() -> None:
    rows = ("rates.labour.operator.wage", "rates.labour", "rates.materials.steel.price", "demand.per_year")
    assert shown_rows(rows) == rows[2:]


def test_letters_go_on_after_z() -> None:
    assert supplier_letters(3) == ("A", "B", "C")
    assert supplier_letters(28)[25:] == ("Z", "AA", "AB")
