"""Who pays what under each of the eleven Incoterms 2020 rules.

ICC Incoterms 2020 (publication 723E). FCA stands here as it is at the seller's premises. The table is partly from
memory: the insurance column was compared with the ICC wall chart and the lines FCA, CPT, CIP, DPU, DAP, DDP with a
public data set; check a contract against the rules themselves. Paying and bearing the risk are two things: under the
C rules the seller pays the main carriage while the buyer already bears its risk.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal, NamedTuple

from costmodel.formulas._choices import one_of

Element = Literal[
    "loading_at_origin",
    "origin_carriage",
    "export_clearance",
    "loading_on_main_carriage",
    "main_carriage",
    "insurance",
    "unloading_at_destination",
    "import_clearance_and_duty",
    "onward_carriage",
]

ELEMENTS: tuple[str, ...] = (
    "loading_at_origin",
    "origin_carriage",
    "export_clearance",
    "loading_on_main_carriage",
    "main_carriage",
    "insurance",
    "unloading_at_destination",
    "import_clearance_and_duty",
    "onward_carriage",
)
"""Elements of a delivery in the order in which they happen.

``insurance`` is cover of the main carriage: paid by the side that must insure, else by the side that bears
the risk. ``onward_carriage`` runs from the destination (port, terminal or place named) to the point of use;
it is nothing where the place named is the point of use.
"""


class DeliveryRule(NamedTuple):
    """One rule: which side pays each element, where risk passes, and who must insure."""

    sea_only: bool
    """Whether the rule is for sea and inland waterway alone."""
    buyer_pays: tuple[bool, ...]
    """Whether the buyer pays, in the order of `ELEMENTS`."""
    insurance_duty: str
    """Cover the seller must buy: "" for none, else the Institute Cargo Clauses (A) or (C)."""
    risk_passes: str
    """Where risk passes to the buyer."""


def _rule(sea_only: bool, payers: str, insurance_duty: str, risk_passes: str) -> DeliveryRule:
    return DeliveryRule(sea_only, tuple(letter == "B" for letter in payers), insurance_duty, risk_passes)


RULES = MappingProxyType(
    {
        "EXW": _rule(False, "BBBBBBBBB", "", "at the seller's premises"),
        "FCA": _rule(False, "SBSBBBBBB", "", "handed to the carrier"),
        "CPT": _rule(False, "SSSSSBBBB", "", "handed to the first carrier"),
        "CIP": _rule(False, "SSSSSSBBB", "(A), 110 %", "handed to the first carrier"),
        "DAP": _rule(False, "SSSSSSBBB", "", "at destination, ready to unload"),
        "DPU": _rule(False, "SSSSSSSBB", "", "at destination, unloaded"),
        "DDP": _rule(False, "SSSSSSBSB", "", "at destination, ready to unload"),
        "FAS": _rule(True, "SSSBBBBBB", "", "alongside the ship at origin"),
        "FOB": _rule(True, "SSSSBBBBB", "", "on board at origin"),
        "CFR": _rule(True, "SSSSSBBBB", "", "on board at origin"),
        "CIF": _rule(True, "SSSSSSBBB", "(C), 110 %", "on board at origin"),
    }
)
TERMS: tuple[str, ...] = tuple(RULES)
_CARRIAGE_PAID = ("CPT", "CIP", "CFR", "CIF")
_BROUGHT = ("DAP", "DPU", "DDP")


def buyer_pays(
    term: str,
    element: str,
    *,
    at_seller_premises: bool = True,
    unloading_in_freight: bool = False,
    at_point_of_use: bool = False,
) -> bool:
    """Whether the buyer pays an element of the delivery under a rule.

    A look-up in the table of the eleven rules. Three entries hang on the contract: under FCA the seller loads the
    carrier that the buyer sends to his premises, or carries the goods to another place named himself; under CPT,
    CIP, CFR and CIF unloading is the buyer's unless it is in the freight; under DAP, DPU and DDP nothing is left to
    carry where the place named is the point of use.

    Parameters
    ----------
    term
        Three letters of the rule [-], one of `TERMS`.
    element
        Element of the delivery [-], one of `ELEMENTS`.
    at_seller_premises
        Whether an FCA delivery takes place at the seller's premises [-].
    unloading_in_freight
        Whether unloading at destination is part of the freight under a C rule [-].
    at_point_of_use
        Whether the place named in a D rule is the point of use [-].

    Returns
    -------
    bool
        True where the buyer pays [-].

    Raises
    ------
    LimitError
        An unknown rule or element.

    References
    ----------
    ICC Incoterms 2020, publication 723E, articles A and B of each rule; table partly from memory.
    """
    one_of("term", term, TERMS)
    one_of("element", element, ELEMENTS)
    if term == "FCA" and element == "origin_carriage":
        return at_seller_premises
    if term in _CARRIAGE_PAID and element == "unloading_at_destination":
        return not unloading_in_freight
    if term in _BROUGHT and element == "onward_carriage":
        return not at_point_of_use
    return RULES[term].buyer_pays[ELEMENTS.index(element)]


def seller_must_insure(term: str) -> bool:
    """Whether the rule obliges the seller to insure the main carriage for the buyer.

    Only CIF and CIP do: CIF with the restricted cover (C), CIP since 2020 with the full cover (A).

    Parameters
    ----------
    term
        Three letters of the rule [-], one of `TERMS`.

    Returns
    -------
    bool
        True under CIF and CIP [-].

    Raises
    ------
    LimitError
        An unknown rule.

    References
    ----------
    ICC Incoterms 2020, publication 723E, A5 of CIF and CIP.
    """
    one_of("term", term, TERMS)
    return bool(RULES[term].insurance_duty)
