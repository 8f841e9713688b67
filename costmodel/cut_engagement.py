"""How much of the tool is in the work: what one pass may take, and no more than there is to take."""

from __future__ import annotations

import numpy as np

from costmodel.records import cuts as kinds
from costmodel.records.cuts import AnyCut
from costmodel.units import Number

Finished = kinds.Face | kinds.Contour | kinds.Pocket | kinds.TurnedPasses


def engaged_depth(cut: AnyCut) -> Number | None:
    """Depth of cut of a rough pass: along the axis of a mill, on the radius of turned work and of a disc."""
    if isinstance(cut, kinds.Face | kinds.TurnedPasses):
        return _rough(cut.depth, cut.depth_of_cut, cut.finish_allowance)
    if isinstance(cut, kinds.BoreMill):
        return _lesser(cut.depth_of_cut, cut.stock)
    if isinstance(cut, kinds.SideCut | kinds.Slot | kinds.SideMill):
        depth: Number | None = cut.depth
        return cut.depth_of_cut if depth is None else _lesser(cut.depth_of_cut, depth)
    return cut.depth_of_cut if isinstance(cut, kinds.TurnFace) else None


def engaged_width(cut: kinds.SideCut) -> Number:
    """Width of cut of a rough pass, square to the side of the mill."""
    if isinstance(cut, kinds.Contour):
        return _rough(cut.radial_stock, cut.width_of_cut, cut.finish_allowance)
    if isinstance(cut, kinds.Face):
        return _lesser(cut.width_of_cut, cut.width)
    if isinstance(cut, kinds.Pocket):
        return _lesser(cut.width_of_cut, np.minimum(cut.width, cut.length))
    return cut.width_of_cut


def finish_depth(cut: Finished) -> Number:
    """Depth of cut of the finish pass, or of the pass around the wall of a pocket."""
    if isinstance(cut, kinds.Pocket):
        return cut.depth if cut.wall_depth_of_cut is None else _lesser(cut.wall_depth_of_cut, cut.depth)
    if isinstance(cut, kinds.Contour):
        return _lesser(cut.depth_of_cut, cut.depth)
    return cut.finish_allowance


def _lesser(pass_may_take: Number, there: Number) -> Number:
    least: Number = np.minimum(pass_may_take, there)
    return least


def _rough(stock: Number, pass_may_take: Number, allowance: Number) -> Number:
    """What a rough pass takes, or the finish pass where that leaves nothing to rough."""
    return _lesser(pass_may_take, np.maximum(stock - allowance, allowance))
