"""Minutes of lathe work: turning, facing, grooving, parting and single-point threads."""

from __future__ import annotations

from typing import Literal, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import not_above, one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import whole_down, whole_up
from costmodel.formulas.cutting import MM_PER_M, passes, spindle_speed
from costmodel.units import Number

FacingSpeed: TypeAlias = Literal["average diameter", "constant surface speed"]


def turning_minutes(
    length: Number, feed: Number, spindle_speed: Number, cuts: Number = 1.0, approach: Number = 0.0
) -> Number:
    """Minutes in feed of turning outside or boring inside on a lathe.

    t = cuts * (l + approach) / (f N); with N = spindle_speed(v, D) that is pi D l / (1000 v f).

    Parameters
    ----------
    length
        Length turned [mm], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    spindle_speed
        Spindle speed [1/min], any shape, > 0.
    cuts
        Cuts of equal feed and speed [-], any shape, >= 0.
    approach
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
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (turning time), Ex 21.1.
    """
    positive(length=length, feed=feed, spindle_speed=spindle_speed)
    not_negative(cuts=cuts, approach=approach)
    return cuts * (length + approach) / (feed * spindle_speed)


def stepped_turning_minutes(
    length: Number,
    feed: Number,
    cutting_speed: Number,
    diameter: Number,
    depth_per_pass: Number,
    cuts: Number = 1.0,
    approach: Number = 0.0,
    maximum_spindle_speed: Number = np.inf,
) -> Number:
    """Minutes in feed of passes whose spindle follows the diameter of each: constant surface speed.

    Pass i from 0 runs at d = D - 2 ap i, outside from the first pass inward, inside back from the last one. Each
    takes (l + approach)/f over the smaller of 1000 v/(pi d) and the limit; of n passes the first m are above the
    diameter at which the limit is reached: t = (l + approach)/f [pi (m D - ap m (m - 1))/(1000 v) + (n - m)/Nmax].

    Parameters
    ----------
    length
        Length turned [mm], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    cutting_speed
        Cutting speed at the diameter of each pass [m/min], any shape, > 0.
    diameter
        Largest diameter: the work before the first pass, or the finished bore [mm], any shape, > 0.
    depth_per_pass
        Depth of one pass on the radius; the passes leave a core or a bore [mm], any shape, > 0.
    cuts
        Passes, whole [-], any shape, >= 0.
    approach
        Way fed in air before and behind [mm], any shape, >= 0.
    maximum_spindle_speed
        Highest spindle speed allowed [1/min], any shape, > 0.

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or passes that reach the middle.

    References
    ----------
    The turning time of M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21, summed over the passes.
    """
    positive(length=length, feed=feed, cutting_speed=cutting_speed, diameter=diameter)
    positive(depth_per_pass=depth_per_pass, maximum_spindle_speed=maximum_spindle_speed)
    not_negative(cuts=cuts, approach=approach)
    positive(diameter_of_the_last_pass=diameter - 2.0 * depth_per_pass * (cuts - 1.0))
    at_limit = MM_PER_M * cutting_speed / (np.pi * maximum_spindle_speed)
    above = whole_down((diameter - at_limit) / (2.0 * depth_per_pass)) + 1.0
    free = np.minimum(np.maximum(above, 0.0), cuts)
    turned = np.pi * free * (diameter - depth_per_pass * (free - 1.0)) / (MM_PER_M * cutting_speed)
    minutes: Number = (length + approach) / feed * (turned + (cuts - free) / maximum_spindle_speed)
    return minutes


def turning_removal_rate(cutting_speed: Number, feed: Number, depth_of_cut: Number) -> Number:
    """Volume a turning cut takes off in a minute.

    Q = 1000 v f ap, with v at the mean diameter of the ring where the cut is deep.

    Parameters
    ----------
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    depth_of_cut
        Depth of cut [mm], any shape, > 0.

    Returns
    -------
    Number
        Removal rate [mm3/min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21 (turning: material removal rate), Ex 21.1.
    """
    positive(cutting_speed=cutting_speed, feed=feed, depth_of_cut=depth_of_cut)
    return MM_PER_M * cutting_speed * feed * depth_of_cut


def facing_minutes(
    outer_diameter: Number,
    inner_diameter: Number,
    feed: Number,
    cutting_speed: Number,
    maximum_spindle_speed: Number = np.inf,
    speed: FacingSpeed = "average diameter",
) -> Number:
    """Minutes in feed of one facing cut between two diameters.

    average diameter: one spindle speed, from the cutting speed at (Do + Di)/2, at most the limit;
    t = (Do - Di) / (2 f N).
    constant surface speed: the spindle speeds up inward until it meets its limit at the diameter
    Dc = 1000 v / (pi Nmax); t = pi (Do^2 - D^2) / (4000 v f) down to D, the larger of Di and Dc, then
    (D - Di) / (2 f Nmax). Without a limit both rules give the same time.

    Parameters
    ----------
    outer_diameter
        Outer diameter [mm], any shape, > 0.
    inner_diameter
        Inner diameter, not above the outer; 0 for a solid face [mm], any shape, >= 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    maximum_spindle_speed
        Highest spindle speed allowed [1/min], any shape, > 0.
    speed
        "average diameter" (default) or "constant surface speed" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, an inner diameter above the outer, or an unknown rule.

    References
    ----------
    P. C. Sharma, A Textbook of Production Engineering, Ex 4.13, p. 220 (average diameter); the other rule is
    the integral of dr / (f N(r)).
    """
    positive(outer_diameter=outer_diameter, feed=feed, cutting_speed=cutting_speed)
    positive(maximum_spindle_speed=maximum_spindle_speed)
    not_negative(inner_diameter=inner_diameter)
    not_above("inner_diameter", inner_diameter, "outer_diameter", outer_diameter)
    one_of("speed", speed, get_args(FacingSpeed))
    if speed == "average diameter":
        wanted = spindle_speed(cutting_speed, (outer_diameter + inner_diameter) / 2.0)
        turns_per_minute = np.minimum(wanted, maximum_spindle_speed)
        average: Number = (outer_diameter - inner_diameter) / (2.0 * feed * turns_per_minute)
        return average
    limit_diameter = MM_PER_M * cutting_speed / (np.pi * maximum_spindle_speed)
    change = np.minimum(np.maximum(inner_diameter, limit_diameter), outer_diameter)
    ring = outer_diameter * outer_diameter - change * change
    at_speed = np.pi * ring / (4.0 * MM_PER_M * cutting_speed * feed)
    at_limit = (change - inner_diameter) / (2.0 * feed * maximum_spindle_speed)
    both: Number = at_speed + at_limit
    return both


def parting_minutes(
    bar_diameter: Number,
    bore_diameter: Number,
    feed: Number,
    cutting_speed: Number,
    maximum_spindle_speed: Number = np.inf,
    speed: FacingSpeed = "constant surface speed",
) -> Number:
    """Minutes in feed of parting one piece off the bar: a facing cut down to the bore or to the middle.

    t = facing_minutes(bar, bore). Parting usually runs at constant surface speed with a low spindle limit.

    Parameters
    ----------
    bar_diameter
        Bar diameter [mm], any shape, > 0.
    bore_diameter
        Bore diameter, not above the bar; 0 for a solid bar [mm], any shape, >= 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    maximum_spindle_speed
        Highest spindle speed allowed [1/min], any shape, > 0.
    speed
        "constant surface speed" (default) or "average diameter" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a bore above the bar, or an unknown rule.

    References
    ----------
    As facing_minutes.
    """
    return facing_minutes(bar_diameter, bore_diameter, feed, cutting_speed, maximum_spindle_speed, speed)


def grooving_minutes(
    diameter: Number,
    depth: Number,
    width: Number,
    tool_width: Number,
    feed: Number,
    cutting_speed: Number,
    maximum_spindle_speed: Number = np.inf,
    speed: FacingSpeed = "average diameter",
) -> Number:
    """Minutes in feed of an outside groove cut by plunges side by side.

    t = passes(width, tool width) * facing_minutes(D, D - 2 depth): each plunge is fed its depth at f N, so that it
    takes depth / (f N), with N at the middle diameter D - depth where one spindle speed is held.

    Parameters
    ----------
    diameter
        Diameter over the groove [mm], any shape, > 0.
    depth
        Depth of the groove, not above half the diameter [mm], any shape, > 0.
    width
        Width of the groove [mm], any shape, > 0.
    tool_width
        Width one plunge opens, overlap taken off [mm], any shape, > 0.
    feed
        Feed per revolution [mm], any shape, > 0.
    cutting_speed
        Cutting speed [m/min], any shape, > 0.
    maximum_spindle_speed
        Highest spindle speed allowed [1/min], any shape, > 0.
    speed
        "average diameter" (default) or "constant surface speed" [-].

    Returns
    -------
    Number
        Minutes [min], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a groove deeper than the middle, or an unknown rule.

    References
    ----------
    Way over feed speed, derived as stated; no published example of a groove by plunges. As facing_minutes.
    """
    positive(depth=depth, width=width, diameter=diameter)
    not_above("depth", depth, "half the diameter", diameter / 2.0)
    ground = np.maximum(diameter - 2.0 * depth, 0.0)
    plunge = facing_minutes(diameter, ground, feed, cutting_speed, maximum_spindle_speed, speed)
    return passes(width, tool_width) * plunge


def threading_cuts(thread_depth: Number, first_infeed: Number) -> Number:
    """Cuts that take a single-point thread to depth when each takes the same chip area.

    n = ceil((h / a1)^2): a V of depth a has an area as a^2, so the depth after n equal areas is a1 sqrt(n).

    Parameters
    ----------
    thread_depth
        Depth of the thread, on the radius [mm], any shape, > 0.
    first_infeed
        Infeed of the first cut, on the radius [mm], any shape, > 0.

    Returns
    -------
    Number
        Cuts [-], whole, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Similar triangles: closed form.
    """
    positive(thread_depth=thread_depth, first_infeed=first_infeed)
    ratio = thread_depth / first_infeed
    return whole_up(ratio * ratio)


def threading_minutes(
    length: Number,
    pitch: Number,
    spindle_speed: Number,
    rapid_rate: Number,
    cuts: Number,
    approach: Number = 0.0,
) -> Number:
    """Minutes of a single-point thread: every cut in at one pitch a turn and back in rapid.

    t = cuts * (l + approach) * (1 / (P N) + 1 / rapid). Spring cuts count as cuts.

    Parameters
    ----------
    length
        Length of thread [mm], any shape, > 0.
    pitch
        Pitch, the lead of a single-start thread [mm], any shape, > 0.
    spindle_speed
        Spindle speed [1/min], any shape, > 0.
    rapid_rate
        Rapid traverse rate [mm/min], any shape, > 0.
    cuts
        Cuts with the spring cuts, see threading_cuts [-], any shape, >= 0.
    approach
        Way to come up to speed and to run out [mm], any shape, >= 0.

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
    The turning time of M. P. Groover, Fundamentals of Modern Manufacturing, ch. 21, with the pitch as feed.
    """
    positive(length=length, pitch=pitch, spindle_speed=spindle_speed, rapid_rate=rapid_rate)
    not_negative(cuts=cuts, approach=approach)
    return cuts * (length + approach) * (1.0 / (pitch * spindle_speed) + 1.0 / rapid_rate)
