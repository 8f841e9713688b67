"""What no figure here settles: words that go with every decision, and who has to be asked instead."""

from __future__ import annotations

from typing import NamedTuple

INVENTED = "Invented demo data"
INVENTED_WORDS = (
    "Invented demo data: no firm, part, person, price, rate or duty here is a real one. Decide nothing on it."
)


class Caution(NamedTuple):
    """One caution: its subject in a word or two, and what the reader must know."""

    subject: str
    text: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "What this is",
        "The tool prices what its users state. It does not decide: a person signs. It gives no cutting data and "
        "does not say that a cut, a claim or a classification is safe, lawful or right.",
    ),
    Caution(
        "Unattended cutting",
        "A price for unattended hours does not make them safe. Chips, coolant and broken tools start fires, oil "
        "coolant feeds them, and insurers often exclude unattended work unless it is agreed. Ask the insurer, the "
        "fire authority and the local codes first.",
    ),
    Caution(
        "Customs",
        "Duty layers and fees are taken as entered. The importer of record classifies and values with reasonable "
        "care; tooling given to a maker abroad can count as value. Ask a licensed broker or for a binding ruling.",
    ),
    Caution(
        "Export control",
        "Sending drawings or models abroad can be a controlled export, also for a firm that only imports; "
        "five-axis machines and their data can be controlled too. Have it cleared, by name and date.",
    ),
    Caution(
        "Origin claims",
        "Making a part here does not by itself allow a claim of origin for the product: such claims have their own "
        "tests of all or virtually all content.",
    ),
    Caution(
        "Tax",
        "All money is before tax. Whether to capitalise or expense, depreciation and credits are for an accountant.",
    ),
    Caution(
        "Accounts",
        "This is a view for a decision, not the ledger: stock is valued in the books at normal capacity, without "
        "abnormal idle cost, and allocated cost stays whichever way is chosen.",
    ),
    Caution(
        "Contracts",
        "Who owns tooling, how to leave, claims and confidentiality are for a lawyer; offers expire on their dates.",
    ),
    Caution(
        "Confidential",
        "Pay and suppliers' prices stand behind these figures: pass them on with care.",
    ),
)

DEFERRAL = (
    "Local codes and licensed practice (safety, fire, customs, law, tax) go before anything shown here."
)

SHORT = (
    "The tool prices what is stated; a person decides and signs. It does not say that unattended cutting, a customs "
    "classification, an export, an origin claim or a tax treatment is safe or right: insurer and fire authority, "
    "licensed broker, accountant and lawyer go first, as do local codes and licensed practice. Money is before tax "
    "and no ledger view; offers expire; pay and prices are confidential."
)
