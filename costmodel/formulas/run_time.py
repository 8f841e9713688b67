"""What a machine's time went into: ratios of ISO 22400-2, each with its denominator said, and energy by meter."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.errors import LimitError
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import quotient
from costmodel.units import Number


class RunRatios(NamedTuple):
    """Availability [fraction], utilisation efficiency [fraction], technical efficiency [fraction], set-up ratio
    [fraction], allocation ratio [fraction]."""

    availability: Number
    utilisation_efficiency: Number
    technical_efficiency: Number
    set_up_ratio: Number
    allocation_ratio: Number


def run_ratios(planned_busy: Number, production: Number, set_up: Number, delay: Number) -> RunRatios:
    """Where the planned time of a machine went.

    APT actual production time, AUST actual unit set-up time, ADET actual unit delay time, PBT planned busy time.
    Processing time AUPT = APT + AUST, busy time AUBT = AUPT + ADET. availability APT / PBT; utilisation efficiency
    APT / AUBT; technical efficiency APT / (APT + ADET); set-up ratio AUST / AUPT; allocation ratio AUBT / PBT.
    What is without an hour in its denominator is 0.

    Parameters
    ----------
    planned_busy
        Planned busy time PBT [h], > 0.
    production
        Actual production time APT [h], >= 0.
    set_up
        Actual unit set-up time AUST [h], >= 0.
    delay
        Actual unit delay time ADET [h], >= 0.

    Returns
    -------
    RunRatios
        The five ratios [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        A time below zero, no planned time, or more busy time than planned.

    References
    ----------
    ISO 22400-2:2014, key performance indicators for manufacturing operations (from memory).
    """
    positive(planned_busy=planned_busy)
    not_negative(production=production, set_up=set_up, delay=delay)
    processing = production + set_up
    busy = processing + delay
    if np.any(np.greater(busy, planned_busy * (1.0 + 1e-9))):
        raise LimitError("planned_busy", planned_busy, "at least production, set-up and delay together")
    return RunRatios(
        production / planned_busy,
        quotient(production, busy, 0.0),
        quotient(production, production + delay, 0.0),
        quotient(set_up, processing, 0.0),
        busy / planned_busy,
    )


def load_factor_by_meter(energy: Number, hours: Number, power: Number) -> Number:
    """Share of its plate power that a machine really draws while it runs.

    energy / (hours x plate power)

    Parameters
    ----------
    energy
        Energy metered [kWh], >= 0.
    hours
        Hours run over which it was metered [h], > 0.
    power
        Plate power [kW], > 0.

    Returns
    -------
    Number
        Load factor [fraction], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        Energy below zero, or hours or power not above zero.

    References
    ----------
    Definition of a load factor.
    """
    not_negative(energy=energy)
    positive(hours=hours, power=power)
    return energy / (hours * power)
