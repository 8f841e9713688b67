"""How far a milling cutter is engaged, and how thick its chips are: radial chip thinning."""

from __future__ import annotations

from typing import Literal, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import not_above, one_of
from costmodel.formulas._limits import positive, within
from costmodel.units import Number

FULL_TURN = 360.0
HALF = 0.5

Position: TypeAlias = Literal["side", "centred"]
ChipRule: TypeAlias = Literal["exact", "approximate"]


def engagement_angle(width_of_cut: Number, diameter: Number, position: Position = "side") -> Number:
    """Angle over which a tooth is in the work.

    Side: the cutter reaches ae into the work, so cos phi = 1 - 2 ae/D. Centred: the work is a strip of width
    ae under the middle of the cutter, so sin(phi/2) = ae/D.

    Parameters
    ----------
    width_of_cut
        Radial width of cut, not above the diameter [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    position
        "side" (default) or "centred" [-].

    Returns
    -------
    Number
        Engagement angle [deg], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a width above the diameter, or an unknown position.

    References
    ----------
    Tool-maker technical pages scribd.com/doc/112775511 and docs.steelcam.org/palbit/obshij-katalog-page128
    (angle tables); geometry of a chord.
    """
    positive(width_of_cut=width_of_cut, diameter=diameter)
    not_above("width_of_cut", width_of_cut, "diameter", diameter)
    one_of("position", position, get_args(Position))
    share = width_of_cut / diameter
    angle: Number = np.arccos(1.0 - 2.0 * share) if position == "side" else 2.0 * np.arcsin(share)
    degrees: Number = np.degrees(angle)
    return degrees


def chip_thickness_ratio(width_of_cut: Number, diameter: Number) -> Number:
    """Largest chip thickness as a share of the feed per tooth, for a cutter that works with its side.

    h_max/fz = sin phi = 2 sqrt(a (1 - a)) with a = ae/D up to one half; beyond one half some tooth passes the
    middle, where the chip is as thick as the feed, so the ratio is 1.

    Parameters
    ----------
    width_of_cut
        Radial width of cut, not above the diameter [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.

    Returns
    -------
    Number
        Ratio h_max/fz, above 0 to 1 [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a width above the diameter.

    References
    ----------
    Tool-maker technical pages scribd.com/doc/112775511 and docs.steelcam.org/stellram page 289.
    """
    positive(width_of_cut=width_of_cut, diameter=diameter)
    not_above("width_of_cut", width_of_cut, "diameter", diameter)
    share = np.minimum(width_of_cut / diameter, HALF)
    ratio: Number = 2.0 * np.sqrt(share * (1.0 - share))
    return ratio


def feed_for_chip_thickness(maximum_chip_thickness: Number, width_of_cut: Number, diameter: Number) -> Number:
    """Feed per tooth at which the thickest chip has a stated thickness: the feed raised for chip thinning.

    fz = h_max / (h_max/fz). At ae/D = 10 % a cutter may feed 1.67 times as fast as in a full slot.

    Parameters
    ----------
    maximum_chip_thickness
        Largest chip thickness the edge stands [mm], any shape, > 0.
    width_of_cut
        Radial width of cut, not above the diameter [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.

    Returns
    -------
    Number
        Feed per tooth [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a width above the diameter.

    References
    ----------
    D. A. Stephenson and J. S. Agapiou, Metal Cutting Theory and Practice, side-mill example 2.8.
    """
    positive(maximum_chip_thickness=maximum_chip_thickness)
    return maximum_chip_thickness / chip_thickness_ratio(width_of_cut, diameter)


def mean_chip_thickness(
    feed_per_tooth: Number,
    width_of_cut: Number,
    diameter: Number,
    edge_angle: Number = 90.0,
    position: Position = "side",
    rule: ChipRule = "exact",
) -> Number:
    """Chip thickness averaged over the engagement of a milling tooth.

    exact: hm = 360 fz ae sin(kappa) / (pi D phi), the chip's area over its length of arc; for a side cut with
    kappa = 90 deg it is 2 fz a / phi (phi in radians).
    approximate: hm = fz sqrt(ae/D) sin(kappa), 1 to 6 % high up to ae/D = 30 % and 11 % high at one half,
    where it stops; for a side cut only.

    Parameters
    ----------
    feed_per_tooth
        Feed per tooth [mm], any shape, > 0.
    width_of_cut
        Radial width of cut, not above the diameter (half of it for the approximation) [mm], any shape, > 0.
    diameter
        Cutter diameter [mm], any shape, > 0.
    edge_angle
        Cutting edge angle kappa between edge and feed [deg], any shape, > 0 and <= 90.
    position
        "side" (default) or "centred" [-].
    rule
        "exact" (default) or "approximate" [-].

    Returns
    -------
    Number
        Mean chip thickness [mm], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, a width above its limit, or an unknown convention.

    References
    ----------
    Tool-maker technical sheet "Power Calculation Milling", scribd.com/doc/112775511; the square-root rule
    also in docs.steelcam.org/stellram page 289.
    """
    positive(feed_per_tooth=feed_per_tooth)
    within("edge_angle", edge_angle, above=0.0, at_most=90.0)
    one_of("rule", rule, get_args(ChipRule))
    angle = engagement_angle(width_of_cut, diameter, position)
    sine: Number = np.sin(np.radians(edge_angle))
    share = width_of_cut / diameter
    if rule == "exact":
        return FULL_TURN * feed_per_tooth * share * sine / (np.pi * angle)
    one_of("position", position, ("side",))
    not_above("width_of_cut", share, "half the diameter", HALF)
    approximate: Number = feed_per_tooth * np.sqrt(share) * sine
    return approximate
