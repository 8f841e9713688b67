"""Running without a person: what a night makes, what a broken tool spoils, the price of careful settings."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.formulas._limits import fraction, not_negative, positive, within
from costmodel.formulas._series import whole_count, whole_down
from costmodel.units import Number


class UnattendedRun(NamedTuple):
    """One run without a person.

    Minutes of the run [min]; parts loaded [part]; chance of any failure [fraction]; mean parts spoilt [part];
    mean parts good in the morning [part]; mean parts spoilt if there is a failure [part].
    """

    minutes: Number
    parts: Number
    failure_chance: Number
    expected_scrap: Number
    expected_good: Number
    scrap_per_failure: Number

    @property
    def lost_share(self) -> Number:
        """Parts spoilt over parts cut [fraction]: what a failure that was seen leaves uncut is neither."""
        return self.expected_scrap / (self.expected_scrap + self.expected_good)


class SettingPrice(NamedTuple):
    """Price of a slower setting: [min/part], [money/part], [min/year] of machine time."""

    minutes_per_part: Number
    cost_per_part: Number
    minutes_per_year: Number


def loads_by_morning(
    available_minutes: Number, minutes_per_load: Number, loads_ready: Number = np.inf
) -> Number:
    """Loads that a machine finishes alone until somebody comes.

    The smaller of the loads that fit the time, whole, and those that stand ready on pallets or in the feeder.

    Parameters
    ----------
    available_minutes
        Minutes without a person [min], any shape, >= 0.
    minutes_per_load
        Machine minutes of one load with its change [min], any shape, > 0.
    loads_ready
        Loads that stand ready [load], any shape, >= 0.

    Returns
    -------
    Number
        Loads [load], whole, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: loads are whole.
    """
    not_negative(available_minutes=available_minutes, loads_ready=loads_ready)
    positive(minutes_per_load=minutes_per_load)
    loads: Number = np.minimum(whole_down(available_minutes / minutes_per_load), loads_ready)
    return loads


def unattended_run(
    loads: int,
    parts_per_load: Number,
    minutes_per_load: Number,
    failure_chance: Number,
    detection: Number = 0.0,
) -> UnattendedRun:
    """What a run of several loads without a person gives when a tool may fail in each.

    A load is spoilt when a tool fails in it, or ran on broken into it. After each spoilt load the failure is
    seen with the chance `detection`, which stops the run: 0 spoils every later load, 1 only the one of the
    failure. With q the chance that a load passes, good parts are (q + q^2 + ...) times the parts of a load,
    detection or not: it saves blanks, not output.

    Parameters
    ----------
    loads
        Loads of the run [load], whole number >= 1.
    parts_per_load
        Parts of one load [part/load], any shape, > 0.
    minutes_per_load
        Machine minutes of one load with its change [min/load], any shape, > 0.
    failure_chance
        Chance that a tool fails in one load [fraction], any shape, >= 0 and <= 1.
    detection
        Chance that a spoilt load is noticed at its end [fraction], any shape, >= 0 and <= 1.

    Returns
    -------
    UnattendedRun
        Minutes, parts, chance and means, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Two-state chain summed over the loads: closed form.
    """
    whole_count("loads", loads, at_least=1)
    positive(parts_per_load=parts_per_load, minutes_per_load=minutes_per_load)
    fraction(failure_chance=failure_chance, detection=detection)
    sound: Number = 1.0
    broken: Number = 0.0
    spoilt: Number = 0.0
    good: Number = 0.0
    any_failure: Number = 0.0
    for _ in range(loads):
        fails = sound * failure_chance
        broken = broken * (1.0 - detection) + fails
        sound = sound - fails
        any_failure = any_failure + fails
        spoilt = spoilt + broken
        good = good + sound
    return UnattendedRun(
        minutes=loads * minutes_per_load,
        parts=loads * parts_per_load,
        failure_chance=any_failure,
        expected_scrap=spoilt * parts_per_load,
        expected_good=good * parts_per_load,
        scrap_per_failure=_over(spoilt, any_failure) * parts_per_load,
    )


def _over(numerator: Number, denominator: Number) -> Number:
    """Return the quotient, 0 where nothing can fail."""
    safe = np.where(np.greater(denominator, 0.0), denominator, 1.0)
    result: Number = (numerator / safe)[()]
    return result


def scrap_cost_per_year(expected_scrap: Number, nights: Number, cost_per_part: Number) -> Number:
    """Yearly cost of parts spoilt without a person.

    Mean parts spoilt a night * nights * cost of a part so far.

    Parameters
    ----------
    expected_scrap
        Mean parts spoilt a night [part/night], any shape, >= 0.
    nights
        Nights a year [night/year], any shape, >= 0.
    cost_per_part
        Cost put into a part so far [money/part], any shape, >= 0.

    Returns
    -------
    Number
        Cost [money/year], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Linearity of the mean.
    """
    not_negative(expected_scrap=expected_scrap, nights=nights, cost_per_part=cost_per_part)
    return expected_scrap * nights * cost_per_part


def setting_price(
    careful_minutes: Number,
    brisk_minutes: Number,
    parts_per_load: Number,
    machine_rate: Number,
    parts_per_year: Number,
) -> SettingPrice:
    """Price of running a careful setting in place of a brisk one.

    Minutes a part = difference / parts per load; money = minutes * rate; minutes a year = minutes * parts.
    Take the rate of what an added hour costs when hours are free, and of what it displaces when they are not:
    show both.

    Parameters
    ----------
    careful_minutes
        Machine minutes of a load at the careful setting, not below the brisk [min/load], any shape, > 0.
    brisk_minutes
        Machine minutes of a load at the brisk setting [min/load], any shape, > 0.
    parts_per_load
        Parts of one load [part/load], any shape, > 0.
    machine_rate
        Worth of a machine minute [money/min], any shape, >= 0.
    parts_per_year
        Parts a year [part/year], any shape, >= 0.

    Returns
    -------
    SettingPrice
        Minutes and money a part, minutes a year, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a careful setting that is the quicker one.

    References
    ----------
    Definition: the difference of two times at a rate.
    """
    positive(careful_minutes=careful_minutes, brisk_minutes=brisk_minutes, parts_per_load=parts_per_load)
    not_negative(machine_rate=machine_rate, parts_per_year=parts_per_year)
    difference = careful_minutes - brisk_minutes
    within("careful_minutes less brisk_minutes", difference, at_least=0.0)
    minutes = difference / parts_per_load
    return SettingPrice(minutes, minutes * machine_rate, minutes * parts_per_year)


def idle_after_failure(
    parts: Number, good: Number, spoilt: Number, minutes: Number, failure_chance: Number
) -> Number:
    """Minutes that a machine stands after one failure in a run without a person, until somebody comes.

    The loads that are neither good nor spoilt were never cut, since a failure that was seen stopped the run:
    (parts - good - spoilt) / parts * minutes of the run / chance of a failure. Without detection it is 0: the
    machine runs on and spoils.

    Parameters
    ----------
    parts
        Parts loaded [part], any shape, > 0.
    good
        Mean parts good in the morning [part], any shape, >= 0.
    spoilt
        Mean parts spoilt [part], any shape, >= 0.
    minutes
        Minutes of the run [min], any shape, >= 0.
    failure_chance
        Chance of any failure in the run [fraction], any shape, >= 0 and <= 1.

    Returns
    -------
    Number
        Minutes a failure [min], broadcast shape of the arguments; 0 where nothing can fail.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: what is not cut is stood still.
    """
    positive(parts=parts)
    not_negative(good=good, spoilt=spoilt, minutes=minutes)
    fraction(failure_chance=failure_chance)
    stood: Number = np.maximum((parts - good - spoilt) / parts, 0.0)
    return _over(stood * minutes, failure_chance)
