"""Supply that stops: what it costs a year, what stock bridges, what a second source is worth."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, positive
from costmodel.units import Number

DurationLaw = Literal["fixed", "exponential"]
_LARGEST_EXPONENT = 700.0


class SecondSource(NamedTuple):
    """What a second source costs and saves in a year."""

    premium: Number
    """Paid more for the parts it delivers [money/year]."""
    avoided_loss: Number
    """Expected loss it avoids [money/year]."""
    net_value: Number
    """Avoided loss less premium and upkeep [money/year]."""


def time_beyond_bridge(duration: Number, bridged: Number, *, law: DurationLaw = "fixed") -> Number:
    """Mean time of a disruption that stock does not bridge.

    fixed: max(duration - bridged, 0). exponential: duration x exp(-bridged / duration), for a random duration
    with that mean.

    Parameters
    ----------
    duration
        Mean duration of a disruption [period], > 0.
    bridged
        Time that stock covers [period], >= 0.
    law
        Whether every disruption lasts the same or its end is a matter of chance [-], "fixed" or
        "exponential".

    Returns
    -------
    Number
        Mean time without parts [period].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Mean excess of a fixed and of an exponential variable.
    """
    one_of("law", law, ("fixed", "exponential"))
    positive(duration=duration)
    not_negative(bridged=bridged)
    beyond: Number = (
        np.maximum(duration - bridged, 0.0)
        if law == "fixed"
        else duration * np.exp(-np.minimum(bridged / duration, _LARGEST_EXPONENT))
    )
    return beyond


def disruption_loss(
    yearly_chance: Number,
    duration: Number,
    demand: Number,
    margin: Number,
    *,
    bridged: Number = 0.0,
    law: DurationLaw = "fixed",
) -> Number:
    """Expected loss of a year from a supply that may stop.

    disruptions a year x time beyond the bridge x demand x margin.

    Parameters
    ----------
    yearly_chance
        Disruptions expected in a year; a chance for one at most [1/year], >= 0.
    duration
        Mean duration of a disruption [period], > 0.
    demand
        Demand of a period [parts/period], >= 0.
    margin
        Loss for each part not delivered [money/part], >= 0.
    bridged
        Time that stock covers [period], >= 0.
    law
        Whether every disruption lasts the same or its end is a matter of chance [-], "fixed" or
        "exponential".

    Returns
    -------
    Number
        Expected loss [money/year].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Expected value; common practice, no source.
    """
    not_negative(yearly_chance=yearly_chance, demand=demand, margin=margin)
    return yearly_chance * time_beyond_bridge(duration, bridged, law=law) * demand * margin


def second_source_value(
    volume: Number,
    share: Number,
    price_difference: Number,
    loss_alone: Number,
    *,
    loss_with_both: Number = 0.0,
    upkeep: Number = 0.0,
) -> SecondSource:
    """What a second source costs a year against the loss it avoids.

    premium = volume x share x price difference; avoided = loss alone - loss with both;
    net = avoided - premium - upkeep.

    Parameters
    ----------
    volume
        Parts a year from both [parts/year], >= 0.
    share
        Share the second source delivers [fraction], 0 to 1.
    price_difference
        What its landed part costs more, negative if less [money/part].
    loss_alone
        Expected loss of a year with one source [money/year], >= 0.
    loss_with_both
        Expected loss of a year with both [money/year], >= 0.
    upkeep
        Yearly cost of keeping it: audits, tooling, buyer's hours [money/year], >= 0.

    Returns
    -------
    SecondSource
        Premium, avoided loss and net value [money/year].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Expected value; common practice, no source.
    """
    fraction(share=share)
    not_negative(volume=volume, loss_alone=loss_alone, loss_with_both=loss_with_both, upkeep=upkeep)
    premium = volume * share * price_difference
    avoided = loss_alone - loss_with_both
    return SecondSource(premium, avoided, avoided - premium - upkeep)


def availability(mean_time_up: Number, mean_time_down: Number) -> Number:
    """Share of the time in which a source, or a single machine, can deliver.

    up / (up + down).

    Parameters
    ----------
    mean_time_up
        Mean time between the end of one stop and the start of the next [period], > 0.
    mean_time_down
        Mean time of a stop [period], >= 0.

    Returns
    -------
    Number
        Availability [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Renewal theory; availability of a repairable item as in IEC 60050-192 (from memory).
    """
    positive(mean_time_up=mean_time_up)
    not_negative(mean_time_down=mean_time_down)
    return mean_time_up / (mean_time_up + mean_time_down)


def availability_of_two(first: Number, second: Number, *, common_cause: Number = 0.0) -> Number:
    """Share of the time in which at least one of two sources can deliver.

    1 - ((1 - c) u1 u2 + c min(u1, u2)), u being the shares of time down and c the share of the smaller one
    that strikes both at once (one lane, one mill, one customs rule): 0 for independent sources.

    Parameters
    ----------
    first
        Availability of one source [fraction], 0 to 1.
    second
        Availability of the other [fraction], 0 to 1.
    common_cause
        Weight of the common cause, c [fraction], 0 to 1.

    Returns
    -------
    Number
        Availability of the pair [fraction].

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Parallel items with a common cause, mixture of independence and full dependence (derived).
    """
    fraction(first=first, second=second, common_cause=common_cause)
    down_first, down_second = 1.0 - first, 1.0 - second
    together = np.minimum(down_first, down_second)
    return 1.0 - ((1.0 - common_cause) * down_first * down_second + common_cause * together)
