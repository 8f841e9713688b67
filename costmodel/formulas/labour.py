"""Two clocks of a step: machine minutes and hands-on minutes, for parts, loads and lots."""

from __future__ import annotations

from typing import Literal, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import fraction, not_negative, positive
from costmodel.formulas._series import Series, items
from costmodel.units import Number

Loading: TypeAlias = Literal["inside the cycle", "outside the cycle"]


def machine_minutes_per_load(
    programme_minutes: Number,
    swap_minutes: Number,
    loading_minutes: Number = 0.0,
    loading: Loading = "outside the cycle",
) -> Number:
    """Machine minutes from one load to the next.

    inside the cycle: programme + swap + loading; the machine waits while a person loads. outside the cycle:
    the larger of programme and loading, + swap; a second pallet or spindle is loaded while the machine cuts,
    and the machine waits only where loading takes longer.

    Parameters
    ----------
    programme_minutes
        Minutes of the programme for one load [min/load], any shape, > 0.
    swap_minutes
        Minutes for door, pallet or bar between loads, machine waiting [min/load], any shape, >= 0.
    loading_minutes
        Hands-on minutes to unload and load [min/load], any shape, >= 0.
    loading
        "outside the cycle" (default) or "inside the cycle" [-].

    Returns
    -------
    Number
        Machine minutes [min/load], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown place of loading.

    References
    ----------
    Time study: machine-paced and operator-paced elements, common practice, no source.
    """
    positive(programme_minutes=programme_minutes)
    not_negative(swap_minutes=swap_minutes, loading_minutes=loading_minutes)
    one_of("loading", loading, get_args(Loading))
    if loading == "inside the cycle":
        return programme_minutes + swap_minutes + loading_minutes
    minutes: Number = np.maximum(programme_minutes, loading_minutes) + swap_minutes
    return minutes


def machine_minutes_per_part(
    programme_minutes: Number,
    swap_minutes: Number,
    parts_per_load: Number,
    loading_minutes: Number = 0.0,
    loading: Loading = "outside the cycle",
) -> Number:
    """Machine minutes that one part takes of its load.

    machine_minutes_per_load / parts per load.

    Parameters
    ----------
    programme_minutes
        Minutes of the programme for one load [min/load], any shape, > 0.
    swap_minutes
        Minutes for door, pallet or bar between loads, machine waiting [min/load], any shape, >= 0.
    parts_per_load
        Parts clamped at once [part/load], any shape, > 0.
    loading_minutes
        Hands-on minutes to unload and load [min/load], any shape, >= 0.
    loading
        "outside the cycle" (default) or "inside the cycle" [-].

    Returns
    -------
    Number
        Machine minutes [min/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown place of loading.

    References
    ----------
    Definition: what happens once a load is shared by its parts.
    """
    positive(parts_per_load=parts_per_load)
    return (
        machine_minutes_per_load(programme_minutes, swap_minutes, loading_minutes, loading) / parts_per_load
    )


def hands_on_minutes_per_part(
    hands_on_minutes: Number,
    parts_per_load: Number,
    attendance: Number = 0.0,
    machine_minutes: Number = 0.0,
) -> Number:
    """Hands-on minutes that one part takes: what the load needs, and a share of standing by.

    [h + attendance * max(machine - h, 0)] / parts per load: with attendance 1 the person's clock is the
    machine's.

    Parameters
    ----------
    hands_on_minutes
        Hands-on minutes of a load: loading, checking, blowing off [min/load], any shape, >= 0.
    parts_per_load
        Parts clamped at once [part/load], any shape, > 0.
    attendance
        Share of the other machine minutes at which a person stands by [fraction], any shape, >= 0 and <= 1.
    machine_minutes
        Machine minutes of a load [min/load], any shape, >= 0.

    Returns
    -------
    Number
        Hands-on minutes [min/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: two clocks.
    """
    not_negative(hands_on_minutes=hands_on_minutes, machine_minutes=machine_minutes)
    positive(parts_per_load=parts_per_load)
    fraction(attendance=attendance)
    alone = np.maximum(machine_minutes - hands_on_minutes, 0.0)
    minutes: Number = (hands_on_minutes + attendance * alone) / parts_per_load
    return minutes


def chained_minutes(machine_minutes: Series, hands_on_minutes: Series) -> Number:
    """Minutes between loads of steps chained on machines beside each other, tended by one person.

    The largest of the machines' minutes and the sum of the hands-on minutes: the slowest station sets the
    pace.

    Parameters
    ----------
    machine_minutes
        Machine minutes of a load at each machine [min/load], any shape each, > 0.
    hands_on_minutes
        Hands-on minutes of a load at each machine, walking included [min/load], any shape each, >= 0.

    Returns
    -------
    Number
        Minutes between loads [min/load], broadcast shape of the steps.

    Raises
    ------
    LimitError
        A value outside its range, or lists of unlike length.

    References
    ----------
    Bottleneck of a chain: definition.
    """
    machines = items("machine_minutes", machine_minutes, above=0.0)
    slowest: Number = 0.0
    hands: Number = 0.0
    for machine, one in zip(
        machines, items("hands_on_minutes", hands_on_minutes, len(machines), at_least=0.0), strict=True
    ):
        slowest, hands = np.maximum(slowest, machine), hands + one
    pace: Number = np.maximum(slowest, hands)
    return pace


def lot_minutes(set_up_minutes: Number, unit_minutes: Number, lot: Number) -> Number:
    """Minutes of a lot: set-up to the first good part, then every part.

    SU + N H.

    Parameters
    ----------
    set_up_minutes
        Set-up to the first good part [min/lot], any shape, >= 0.
    unit_minutes
        Minutes of one part [min/part], any shape, >= 0.
    lot
        Parts of the lot [part/lot], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min/lot], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. F. Ostwald and T. S. McLaren, Cost Analysis and Estimating for Engineering and Management, Pearson
    2004, Problems 7.1 to 7.3.
    """
    not_negative(set_up_minutes=set_up_minutes, unit_minutes=unit_minutes)
    positive(lot=lot)
    return set_up_minutes + lot * unit_minutes


def unit_minutes_with_set_up(set_up_minutes: Number, unit_minutes: Number, lot: Number) -> Number:
    """Minutes of one part with its share of the set-up.

    SU / N + H = lot_minutes / N.

    Parameters
    ----------
    set_up_minutes
        Set-up to the first good part [min/lot], any shape, >= 0.
    unit_minutes
        Minutes of one part [min/part], any shape, >= 0.
    lot
        Parts of the lot [part/lot], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min/part], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. F. Ostwald and T. S. McLaren, Cost Analysis and Estimating for Engineering and Management, Pearson
    2004, Problem 7.1.
    """
    return lot_minutes(set_up_minutes, unit_minutes, lot) / lot


def cost_of_minutes(minutes: Number, rate: Number) -> Number:
    """Cost of minutes on one clock.

    minutes * rate.

    Parameters
    ----------
    minutes
        Minutes on the clock, machine or hands [min], any shape, >= 0.
    rate
        Rate of that clock [money/min], any shape, >= 0.

    Returns
    -------
    Number
        Cost [money], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    P. F. Ostwald and T. S. McLaren, Cost Analysis and Estimating for Engineering and Management, Pearson
    2004, Problem 7.2.
    """
    not_negative(minutes=minutes, rate=rate)
    return minutes * rate
