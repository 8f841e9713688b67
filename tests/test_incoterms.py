"""The eleven delivery rules: facts that distinguish them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from costmodel.errors import LimitError
from costmodel.formulas.incoterms import ELEMENTS, RULES, TERMS, buyer_pays, seller_must_insure


def who_pays(element: str) -> set[str]:
    """Rules under which the buyer pays the element."""
    return {term for term in TERMS if buyer_pays(term, element)}


def test_there_are_eleven_rules_four_of_them_for_ships() -> None:
    assert len(TERMS) == 11
    assert {term for term in TERMS if RULES[term].sea_only} == {"FAS", "FOB", "CFR", "CIF"}


def test_only_ex_works_leaves_the_export_to_the_buyer() -> None:
    """Under both EXW and FCA at the seller's premises the buyer's carrier collects there."""
    assert who_pays("export_clearance") == {"EXW"}
    assert who_pays("loading_at_origin") == {"EXW"}
    assert who_pays("origin_carriage") == {"EXW", "FCA"}


def test_only_delivered_duty_paid_leaves_the_import_to_the_seller() -> None:
    assert set(TERMS) - who_pays("import_clearance_and_duty") == {"DDP"}


def test_only_delivered_unloaded_makes_the_seller_unload() -> None:
    assert set(TERMS) - who_pays("unloading_at_destination") == {"DPU"}


def test_the_seller_pays_the_main_carriage_under_c_and_d_rules() -> None:
    assert who_pays("main_carriage") == {"EXW", "FCA", "FAS", "FOB"}
    assert who_pays("loading_on_main_carriage") == {"EXW", "FCA", "FAS"}


def test_insurance_is_owed_under_two_rules_and_else_follows_the_risk() -> None:
    assert {term for term in TERMS if seller_must_insure(term)} == {"CIF", "CIP"}
    assert who_pays("insurance") == {"EXW", "FCA", "FAS", "FOB", "CFR", "CPT"}
    assert RULES["CIP"].insurance_duty.startswith("(A)")
    assert RULES["CIF"].insurance_duty.startswith("(C)")


def test_onward_carriage_is_always_the_buyers() -> None:
    assert who_pays("onward_carriage") == set(TERMS)


@pytest.mark.parametrize(
    "chain",
    [
        ("EXW", "FCA", "CPT", "CIP", "DAP", "DPU"),
        ("EXW", "FCA", "CPT", "DAP", "DDP"),
        ("EXW", "FAS", "FOB", "CFR", "CIF"),
    ],
)
def test_the_buyer_pays_less_and_less_along_the_way(chain: tuple[str, ...]) -> None:
    paid = [{element for element in ELEMENTS if buyer_pays(term, element)} for term in chain]
    for earlier, later in pairwise(paid):
        assert later <= earlier


def test_what_hangs_on_the_contract_is_an_argument() -> None:
    # ICC Incoterms 2020, FCA A2: loaded on the buyer's carrier at the seller's premises, else brought to the place
    # named on the seller's own vehicle, ready for unloading (from memory).
    assert not buyer_pays("FCA", "loading_at_origin")
    assert not buyer_pays("FCA", "loading_at_origin", at_seller_premises=False)
    assert buyer_pays("FCA", "origin_carriage")
    assert not buyer_pays("FCA", "origin_carriage", at_seller_premises=False)
    assert buyer_pays("FCA", "loading_on_main_carriage", at_seller_premises=False)
    assert not buyer_pays("FOB", "origin_carriage", at_seller_premises=True)
    assert not buyer_pays("CIF", "unloading_at_destination", unloading_in_freight=True)
    assert buyer_pays("DAP", "unloading_at_destination", unloading_in_freight=True)


def test_an_unknown_rule_or_element_is_named() -> None:
    with pytest.raises(LimitError, match=r'term must be one of "EXW".*got "DAT"'):
        buyer_pays("DAT", "insurance")
    with pytest.raises(LimitError, match="element must be one of"):
        buyer_pays("FOB", "customs")
    with pytest.raises(LimitError, match="term"):
        seller_must_insure("DDU")


def test_the_table_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        RULES["FOB"] = RULES["EXW"]
