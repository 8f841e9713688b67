"""Lot-by-lot acceptance sampling: plans of ISO 2859-1, what they let through, and what sorting costs.

Covered: code letters and sample sizes for every lot size and level; acceptance numbers of single sampling
under normal inspection for an acceptable quality limit of 1.0 % (letters A to Q) and, for letter K alone,
0.65 %. Nothing is guessed for the rest of the master table.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._choices import choose, not_above, one_of
from costmodel.formulas._limits import fraction, not_negative, within
from costmodel.units import Number

LEVELS: tuple[str, ...] = ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
SAMPLE_SIZES = MappingProxyType(
    {
        "A": 2.0, "B": 3.0, "C": 5.0, "D": 8.0, "E": 13.0, "F": 20.0, "G": 32.0, "H": 50.0, "J": 80.0,
        "K": 125.0, "L": 200.0, "M": 315.0, "N": 500.0, "P": 800.0, "Q": 1250.0, "R": 2000.0,
    }
)  # fmt: skip
CODE_LETTERS: tuple[tuple[float, str], ...] = (
    (2, "AAAAAAB"),
    (9, "AAAAABC"),
    (16, "AABBBCD"),
    (26, "ABBCCDE"),
    (51, "BBCCCEF"),
    (91, "BBCDDFG"),
    (151, "BCDEEGH"),
    (281, "BCDEFHJ"),
    (501, "CCEFGJK"),
    (1201, "CDEGHKL"),
    (3201, "CDFGJLM"),
    (10001, "CDFHKMN"),
    (35001, "DEGJLNP"),
    (150001, "DEGJMPQ"),
    (500001, "DEHKNQR"),
)
"""Smallest lot of each class, and the letters of that class in the order of `LEVELS`."""
_ONE_PER_CENT = (
    dict.fromkeys("ABCDEF", (13.0, 0.0))
    | dict.fromkeys("GH", (50.0, 1.0))
    | {"J": (80.0, 2.0), "K": (125.0, 3.0), "L": (200.0, 5.0), "M": (315.0, 7.0), "N": (500.0, 10.0)}
    | {"P": (800.0, 14.0), "Q": (1250.0, 21.0)}
)
NORMAL_SINGLE_PLANS = MappingProxyType(
    {0.01: MappingProxyType(_ONE_PER_CENT), 0.0065: MappingProxyType({"K": (125.0, 2.0)})}
)
"""Acceptable quality limit [fraction] to code letter to (sample, acceptance number), arrows followed."""


class SamplingPlan(NamedTuple):
    """A single sampling plan."""

    sample: Number
    """Parts to inspect [parts], at most the lot."""
    accept: Number
    """Largest number of bad parts with which the lot is accepted [parts]."""
    reject: Number
    """Smallest number of bad parts with which the lot is refused [parts]."""


def _by_lot_class(lot_size: Number, values: list[float]) -> Number:
    result: Number = values[0] + 0.0 * lot_size
    for (smallest, _), value in zip(CODE_LETTERS[1:], values[1:], strict=True):
        result = choose(np.greater_equal(lot_size, smallest), value, result)
    return result


def code_letter(lot_size: int, level: str = "II") -> str:
    """Code letter of the sample size for a lot and an inspection level.

    A look-up in the standard's first table.

    Parameters
    ----------
    lot_size
        Parts in the lot [parts], whole number >= 2.
    level
        Inspection level [-], one of `LEVELS`.

    Returns
    -------
    str
        Code letter [-].

    Raises
    ------
    LimitError
        A lot below 2 or an unknown level.

    References
    ----------
    ISO 2859-1 table 1 (= ANSI/ASQ Z1.4 table I = MIL-STD-105E table I).
    """
    one_of("level", level, LEVELS)
    within("lot_size", float(lot_size), at_least=2.0)
    letters = [row for smallest, row in CODE_LETTERS if smallest <= lot_size][-1]
    return letters[LEVELS.index(level)]


def code_sample_size(lot_size: Number, *, level: str = "II") -> Number:
    """Sample size that belongs to the code letter of a lot.

    The letter by `code_letter`, its size by the standard; a plan may prescribe another size where its table
    has an arrow, see `single_sampling_plan`.

    Parameters
    ----------
    lot_size
        Parts in the lot [parts], >= 2.
    level
        Inspection level [-], one of `LEVELS`.

    Returns
    -------
    Number
        Sample size of the letter [parts].

    Raises
    ------
    LimitError
        A lot below 2 or an unknown level.

    References
    ----------
    ISO 2859-1 tables 1 and 2-A (= ANSI/ASQ Z1.4 tables I and II-A).
    """
    one_of("level", level, LEVELS)
    within("lot_size", lot_size, at_least=2.0)
    column = LEVELS.index(level)
    return _by_lot_class(lot_size, [SAMPLE_SIZES[letters[column]] for _, letters in CODE_LETTERS])


def single_sampling_plan(
    lot_size: Number, *, acceptable_quality: float = 0.01, level: str = "II"
) -> SamplingPlan:
    """Single sampling plan under normal inspection.

    Code letter by lot and level, then sample and acceptance number from the master table, its arrows
    followed. A sample as large as the lot means that all parts are inspected.

    Parameters
    ----------
    lot_size
        Parts in the lot [parts], >= 2.
    acceptable_quality
        Acceptable quality limit [fraction], 0.01 or, for letter K alone, 0.0065.
    level
        Inspection level [-], one of `LEVELS`.

    Returns
    -------
    SamplingPlan
        Sample, acceptance and rejection number [parts].

    Raises
    ------
    LimitError
        A lot below 2, an unknown level, or a limit or letter that is not covered here.

    References
    ----------
    ISO 2859-1 table 2-A (= ANSI/ASQ Z1.4 table II-A), column 1.0 and, for letter K, column 0.65.
    """
    one_of("level", level, LEVELS)
    within("lot_size", lot_size, at_least=2.0)
    if acceptable_quality not in NORMAL_SINGLE_PLANS:
        covered = ", ".join(f"{limit:.2%}" for limit in NORMAL_SINGLE_PLANS)
        raise LimitError("acceptable_quality", acceptable_quality, f"one of the limits covered ({covered})")
    plans = NORMAL_SINGLE_PLANS[acceptable_quality]
    column = LEVELS.index(level)
    rows = [plans.get(letters[column], (np.nan, np.nan)) for _, letters in CODE_LETTERS]
    sample = _by_lot_class(lot_size, [row[0] for row in rows])
    if np.any(np.isnan(sample)):
        letters = ", ".join(sorted(plans))
        raise LimitError("lot_size", lot_size, f"a lot whose code letter is covered here ({letters})")
    accept = _by_lot_class(lot_size, [row[1] for row in rows])
    return SamplingPlan(np.minimum(sample, lot_size), accept, accept + 1.0)


def acceptance_probability(
    bad_share: Number, sample: Number, accept: Number, *, lot_size: Number | None = None
) -> Number:
    """Chance that a lot is accepted: the operating characteristic of a single sampling plan.

    Sum over x = 0..c of the chance of x bad parts in the sample: binomial where no lot size is given (a
    steady process), hypergeometric for a lot, whose bad parts are the share times the lot, rounded.

    Parameters
    ----------
    bad_share
        Share of bad parts [fraction], 0 to 1.
    sample
        Parts inspected, n [parts], whole number >= 0.
    accept
        Acceptance number, c [parts], whole number >= 0.
    lot_size
        Parts in the lot [parts], whole number, at least the sample; None for a process.

    Returns
    -------
    Number
        Chance of acceptance [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    ISO 2859-1 clause on operating characteristic curves; binomial and hypergeometric distribution functions.
    """
    fraction(bad_share=bad_share)
    not_negative(sample=sample, accept=accept)
    if lot_size is None:
        return _binomial_acceptance(bad_share, sample, accept)
    not_above("sample", sample, "lot_size", lot_size)
    bad: Number = np.round(bad_share * lot_size)
    return _hypergeometric_acceptance(bad, sample, accept, lot_size)


def _binomial_acceptance(bad_share: Number, sample: Number, accept: Number) -> Number:
    from scipy.special import betainc

    always = np.greater_equal(accept, sample)
    beyond = np.where(always, 1.0, sample - accept)
    chance = betainc(beyond, accept + 1.0, 1.0 - bad_share)
    return choose(always, 1.0, chance)


def _log_choose(total: Number, taken: Number) -> Number:
    from scipy.special import gammaln

    logarithm: Number = gammaln(total + 1.0) - gammaln(taken + 1.0) - gammaln(total - taken + 1.0)
    return logarithm


def _hypergeometric_acceptance(bad: Number, sample: Number, accept: Number, lot_size: Number) -> Number:
    good = lot_size - bad
    chance: Number = 0.0 * (bad + sample + accept + lot_size)
    all_samples = _log_choose(lot_size, sample)
    for found in range(int(np.max(accept)) + 1):
        possible = (
            (found <= accept) & np.less_equal(found, np.minimum(bad, sample)) & (sample - found <= good)
        )
        few: Number = np.where(possible, float(found), np.maximum(0.0, sample - good))
        logarithm = _log_choose(bad, few) + _log_choose(good, sample - few) - all_samples
        chance = chance + choose(possible, np.exp(logarithm), 0.0)
    at_most_one: Number = np.minimum(chance, 1.0)
    return at_most_one


def average_outgoing_quality(
    bad_share: Number,
    acceptance: Number,
    sample: Number,
    lot_size: Number,
    *,
    bad_parts: Literal["replaced", "removed"] = "replaced",
) -> Number:
    """Share of bad parts that pass on average when refused lots are sorted.

    replaced by good ones: Pa p (N - n) / N. Only removed: the same bad parts among the parts left,
    N - p n - p (1 - Pa) (N - n).

    Parameters
    ----------
    bad_share
        Share of bad parts arriving, p [fraction], 0 to 1.
    acceptance
        Chance of acceptance at that share, Pa [fraction], 0 to 1.
    sample
        Parts inspected of a lot, n [parts], >= 0.
    lot_size
        Parts in the lot, N [parts], at least the sample, > 0.
    bad_parts
        Whether bad parts found are replaced or only taken out [-], "replaced" or "removed".

    Returns
    -------
    Number
        Average outgoing share of bad parts [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    D. C. Montgomery, Introduction to Statistical Quality Control, chapter on rectifying inspection (from
    memory).
    """
    one_of("bad_parts", bad_parts, ("replaced", "removed"))
    fraction(bad_share=bad_share, acceptance=acceptance)
    not_negative(sample=sample)
    within("lot_size", lot_size, above=0.0)
    not_above("sample", sample, "lot_size", lot_size)
    unseen = lot_size - sample
    passed = acceptance * bad_share * unseen
    if bad_parts == "replaced":
        return passed / lot_size
    left = lot_size - bad_share * sample - bad_share * (1.0 - acceptance) * unseen
    return choose(np.greater(left, 0.0), passed / np.where(np.greater(left, 0.0), left, 1.0), 0.0)


def average_total_inspection(acceptance: Number, sample: Number, lot_size: Number) -> Number:
    """Parts inspected per lot on average when refused lots are sorted.

    n + (1 - Pa) (N - n).

    Parameters
    ----------
    acceptance
        Chance of acceptance, Pa [fraction], 0 to 1.
    sample
        Parts inspected of a lot, n [parts], >= 0.
    lot_size
        Parts in the lot, N [parts], at least the sample.

    Returns
    -------
    Number
        Parts inspected [parts/lot].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    D. C. Montgomery, Introduction to Statistical Quality Control, chapter on rectifying inspection (from
    memory).
    """
    fraction(acceptance=acceptance)
    not_negative(sample=sample)
    not_above("sample", sample, "lot_size", lot_size)
    return sample + (1.0 - acceptance) * (lot_size - sample)


def incoming_inspection_cost(
    acceptance: Number,
    sample: Number,
    lot_size: Number,
    inspection_cost: Number,
    *,
    sorting_cost: Number | None = None,
) -> Number:
    """Expected cost of inspecting the sample of a lot and sorting the rest if it is refused.

    n k + (1 - Pa) (N - n) s.

    Parameters
    ----------
    acceptance
        Chance of acceptance, Pa [fraction], 0 to 1.
    sample
        Parts inspected of a lot, n [parts], >= 0.
    lot_size
        Parts in the lot, N [parts], at least the sample.
    inspection_cost
        Cost of inspecting one part of the sample, k [money/part], >= 0.
    sorting_cost
        Cost of sorting one part of a refused lot, s [money/part], >= 0; None for the cost of inspection.

    Returns
    -------
    Number
        Expected cost [money/lot].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Derived from the average total inspection.
    """
    not_negative(inspection_cost=inspection_cost)
    sorting = inspection_cost if sorting_cost is None else sorting_cost
    not_negative(sorting_cost=sorting)
    inspected = average_total_inspection(acceptance, sample, lot_size)
    return sample * inspection_cost + (inspected - sample) * sorting
