"""What faults cost, when inspection pays, what samples prove, what a capability index means in bad parts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from costmodel.formulas._choices import choose, not_above, one_of, same_length
from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.units import Number

Sides = Literal["two", "one"]
RULE_OF_THREE = 3.0
SIGMAS_PER_INDEX = 3.0


class ShareLimits(NamedTuple):
    """Confidence limits of a share."""

    lower: Number
    """Lower limit [fraction]."""
    upper: Number
    """Upper limit [fraction]."""


def fault_costs(found: Sequence[Number], unit_costs: Sequence[Number], parts: Number) -> tuple[Number, ...]:
    """Cost of faults per part, one amount for each place where they are found.

    found x unit cost / parts, place by place: the later a fault is found, the more it costs.

    Parameters
    ----------
    found
        Faulty parts found at each place, such as receipt, assembly, field [parts], >= 0.
    unit_costs
        Cost of one fault found there [money/part], >= 0, as many as found.
    parts
        Parts among which they were found [parts], > 0.

    Returns
    -------
    tuple of Number
        Cost per part for each place [money/part]; their sum is the cost of faults.

    Raises
    ------
    LimitError
        An argument outside its range, or unlike lengths.

    References
    ----------
    Supplier evaluation by total quality cost, quality journal paper of 2002 (rejects, rework, stoppage and
    returns priced by stage); arithmetic common practice.
    """
    same_length(found=found, unit_costs=unit_costs)
    positive(parts=parts)
    for count, cost in zip(found, unit_costs, strict=True):
        not_negative(found=count, unit_costs=cost)
    return tuple(count * cost / parts for count, cost in zip(found, unit_costs, strict=True))


def inspection_threshold(inspection_cost: Number, escape_cost: Number, *, detection: Number = 1.0) -> Number:
    """Share of bad parts above which inspecting every part is cheaper than inspecting none.

    k1 / (e k2): inspect all if the share is above, none if below. The rule needs a known, steady share; where
    the share wanders about the threshold neither extreme is right. A replacement that is itself inspected
    leaves the threshold where it is.

    Parameters
    ----------
    inspection_cost
        Cost of inspecting one part, k1 [money/part], >= 0.
    escape_cost
        Cost of one bad part found later, k2 [money/part], > 0.
    detection
        Share of bad parts that inspection finds, e [fraction], above 0 to 1.

    Returns
    -------
    Number
        Threshold share [fraction]; above 1 inspection of every part never pays.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    W. E. Deming, Out of the Crisis, 1986, ch. 15, as given in R. E. Barlow, Engineering Reliability, pp.
    95-97.
    """
    not_negative(inspection_cost=inspection_cost)
    positive(escape_cost=escape_cost)
    within("detection", detection, above=0.0, at_most=1.0)
    return inspection_cost / (detection * escape_cost)


def inspection_policy_cost(
    bad_share: Number,
    inspection_cost: Number,
    escape_cost: Number,
    *,
    policy: Literal["none", "all", "cheapest"] = "cheapest",
    detection: Number = 1.0,
    replacement_inspected: bool = True,
) -> Number:
    """Cost per part wanted of inspecting none or all of the parts.

    none: p k2. all: k1 + p (1 - e) k2. Where every bad part, found at once or later, is replaced by
    inspecting others until a good one turns up, both cost p k1 / (1 - p) more, so the threshold stays k1 /
    (e k2); a share of 1 then has no end.

    Parameters
    ----------
    bad_share
        Share of bad parts, p [fraction], 0 to 1 (below 1 with replacement).
    inspection_cost
        Cost of inspecting one part, k1 [money/part], >= 0.
    escape_cost
        Cost of one bad part found later, k2 [money/part], >= 0.
    policy
        Inspection of no part, of all parts, or the cheaper of both [-], "none", "all" or "cheapest".
    detection
        Share of bad parts that inspection finds, e [fraction], 0 to 1.
    replacement_inspected
        Whether a bad part, found at once or later, is replaced by an inspected one at the buyer's expense
        [-].

    Returns
    -------
    Number
        Cost of inspection and escapes [money/part].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    W. E. Deming, Out of the Crisis, 1986, ch. 15, as given in R. E. Barlow, Engineering Reliability, pp.
    95-97; imperfect detection derived.
    """
    one_of("policy", policy, ("none", "all", "cheapest"))
    fraction(bad_share=bad_share, detection=detection)
    not_negative(inspection_cost=inspection_cost, escape_cost=escape_cost)
    replacement: Number = 0.0
    if replacement_inspected:
        within("bad_share", bad_share, below=1.0)
        replacement = bad_share * inspection_cost / (1.0 - bad_share)
    none = bad_share * escape_cost + replacement + 0.0 * (detection + inspection_cost)
    all_parts = inspection_cost + bad_share * (1.0 - detection) * escape_cost + replacement
    if policy == "cheapest":
        cheaper: Number = np.minimum(none, all_parts)
        return cheaper
    return none if policy == "none" else all_parts


def share_limits(
    bad: Number, sampled: Number, *, confidence: Number = 0.95, sides: Sides = "one"
) -> ShareLimits:
    """What a sample proves about the share of bad parts: exact (Clopper-Pearson) limits.

    Each limit is the share at which the count seen, or one further out, has exactly the chance left over;
    they are quantiles of beta distributions: upper from (x + 1, n - x), lower from (x, n - x + 1). One-sided
    limits leave 1 - confidence on their own side each, so only one of them may be stated at a time;
    two-sided limits leave half of it on either side.

    Parameters
    ----------
    bad
        Bad parts in the sample, x [parts], 0 to sampled.
    sampled
        Parts in the sample, n [parts], > 0.
    confidence
        Confidence of the statement [fraction], above 0 and below 1.
    sides
        Whether one limit is stated or both together [-], "one" or "two".

    Returns
    -------
    ShareLimits
        Lower and upper limit [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
    """
    from scipy.special import betaincinv

    one_of("sides", sides, ("one", "two"))
    not_negative(bad=bad)
    positive(sampled=sampled)
    not_above("bad", bad, "sampled", sampled)
    within("confidence", confidence, above=0.0, below=1.0)
    left_over = (1.0 - confidence) / (2.0 if sides == "two" else 1.0)
    good = sampled - bad
    upper = betaincinv(bad + 1.0, np.where(good > 0.0, good, 1.0), 1.0 - left_over)
    lower = betaincinv(np.where(np.greater(bad, 0.0), bad, 1.0), good + 1.0, left_over)
    return ShareLimits(choose(np.greater(bad, 0.0), lower, 0.0), choose(good > 0.0, upper, 1.0))


def rule_of_three(sampled: Number) -> Number:
    """Short rule for the upper 95 % limit of the share of bad parts when none was found.

    3 / n, from -ln(0.05) = 2.996; a little above the exact limit 1 - 0.05^(1/n).

    Parameters
    ----------
    sampled
        Parts in the sample, none of them bad [parts], > 0.

    Returns
    -------
    Number
        Upper limit at 95 % confidence [fraction]; above 1 for fewer than three parts, which prove nothing.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    J. A. Hanley and A. Lippman-Hand, JAMA 249 (1983) 1743-1745 (from memory).
    """
    positive(sampled=sampled)
    return RULE_OF_THREE / sampled


def sample_to_prove(bad_share: Number, *, confidence: Number = 0.95) -> Number:
    """Parts that must all be good to prove that the share of bad parts is below a value.

    (1 - p)^n <= 1 - confidence, so n = ln(1 - confidence) / ln(1 - p), rounded up.

    Parameters
    ----------
    bad_share
        Share to be proved [fraction], above 0 and below 1.
    confidence
        Confidence of the statement [fraction], above 0 and below 1.

    Returns
    -------
    Number
        Parts to sample, a whole number [parts].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    The exact limit of Clopper and Pearson, Biometrika 26 (1934) 404-413, for no bad part.
    """
    within("bad_share", bad_share, above=0.0, below=1.0)
    within("confidence", confidence, above=0.0, below=1.0)
    parts: Number = np.ceil(np.log1p(-confidence) / np.log1p(-bad_share) - 1e-9)
    return parts


def share_outside_tolerance(capability: Number, *, shift: Number = 0.0, sides: Sides = "two") -> Number:
    """Share of parts outside the tolerance of a normal process with a capability index.

    Each limit lies 3 Cp standard deviations from the middle; a mean that is off by `shift` standard
    deviations is nearer to one limit. two: Phi(-(3 Cp - s)) + Phi(-(3 Cp + s)); one: the nearer limit
    alone. Note that an index of 1.33 is not 4/3 (66 and 63 parts in a million).

    Parameters
    ----------
    capability
        Capability index, tolerance over six standard deviations [-], >= 0.
    shift
        Distance of the mean from the middle [standard deviations], >= 0.
    sides
        Whether both limits count or the nearer alone [-], "two" or "one".

    Returns
    -------
    Number
        Share outside [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Normal distribution; D. C. Montgomery, Introduction to Statistical Quality Control, chapter on process
    capability (from memory).
    """
    from scipy.special import ndtr

    one_of("sides", sides, ("two", "one"))
    not_negative(capability=capability, shift=shift)
    distance = SIGMAS_PER_INDEX * capability
    nearer: Number = ndtr(shift - distance)
    if sides == "one":
        return nearer
    further: Number = ndtr(-shift - distance)
    return nearer + further
