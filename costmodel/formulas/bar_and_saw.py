"""Minutes of getting the blank: sawing, and the bar feeder of a lathe."""

from __future__ import annotations

from costmodel.formulas import blanks
from costmodel.formulas._limits import not_negative, positive, within
from costmodel.units import Number


def parts_per_bar(bar_length: Number, remnant: Number, part_length: Number, parting_width: Number) -> Number:
    """Whole parts that one bar gives.

    n = floor((bar - remnant) / (part + parting width)); each part loses one parting or sawing width.

    Parameters
    ----------
    bar_length
        Length of the bar [mm], any shape, > 0.
    remnant
        End that cannot be used, with the first facing, not above the bar [mm], any shape, >= 0.
    part_length
        Length of the part with its facing stock [mm], any shape, > 0.
    parting_width
        Width of the parting tool or the saw cut [mm], any shape, >= 0.

    Returns
    -------
    Number
        Parts [part], whole, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a remnant above the bar.

    References
    ----------
    Definition: parts are whole.
    """
    positive(bar_length=bar_length, part_length=part_length)
    not_negative(remnant=remnant, parting_width=parting_width)
    not_negative(bar_length_less_remnant=bar_length - remnant)
    return blanks.parts_per_bar(bar_length, part_length, parting_width, remnant)


def bar_feed_minutes(advance_minutes: Number, bar_change_minutes: Number, parts_per_bar: Number) -> Number:
    """Machine minutes of feeding the bar, a part.

    t = advance + bar change / parts per bar.

    Parameters
    ----------
    advance_minutes
        Minutes to push the bar on and clamp it, each part [min], any shape, >= 0.
    bar_change_minutes
        Minutes the machine waits for a new bar, each bar [min], any shape, >= 0.
    parts_per_bar
        Parts that one bar gives [part], any shape, >= 1.

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
    Definition: what happens once a bar is shared by its parts.
    """
    not_negative(advance_minutes=advance_minutes, bar_change_minutes=bar_change_minutes)
    within("parts_per_bar", parts_per_bar, at_least=1.0)
    return advance_minutes + bar_change_minutes / parts_per_bar


def sawing_minutes(cross_section: Number, cutting_rate: Number) -> Number:
    """Minutes of one saw cut from the area it cuts.

    t = A / rate.

    Parameters
    ----------
    cross_section
        Area of the cut [mm2], any shape, > 0.
    cutting_rate
        Area the saw cuts in a minute [mm2/min], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition of the cutting rate of a saw.
    """
    positive(cross_section=cross_section, cutting_rate=cutting_rate)
    return cross_section / cutting_rate


def sawing_minutes_by_feed(height: Number, feed_speed: Number, overtravel: Number = 0.0) -> Number:
    """Minutes of one saw cut from the way the blade is fed.

    t = (height + overtravel) / vf.

    Parameters
    ----------
    height
        Height of the cut along the feed [mm], any shape, > 0.
    feed_speed
        Feed speed of the blade into the work [mm/min], any shape, > 0.
    overtravel
        Way fed in air before and behind [mm], any shape, >= 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Definition: way over speed.
    """
    positive(height=height, feed_speed=feed_speed)
    not_negative(overtravel=overtravel)
    return (height + overtravel) / feed_speed
