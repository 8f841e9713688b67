"""Stated factors on the life of an edge: run-out, coolant, coating. Each is 1 unless a source says more."""

from __future__ import annotations

from costmodel.formulas._limits import not_negative, positive
from costmodel.units import Number


def life_factor(run_out: Number = 1.0, coolant: Number = 1.0, coating: Number = 1.0) -> Number:
    """Factor on the life of an edge from what the law does not hold.

    The product of the stated factors, each with its own source and range; 1 changes nothing.

    Parameters
    ----------
    run_out
        Factor for the run-out of the tool, see run_out_factor [-], any shape, > 0.
    coolant
        Factor for coolant through the tool against flood [-], any shape, > 0.
    coating
        Factor for the coating against none [-], any shape, > 0.

    Returns
    -------
    Number
        Factor on life [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Independent factors multiply: definition.
    """
    positive(run_out=run_out, coolant=coolant, coating=coating)
    return run_out * coolant * coating


def run_out_factor(run_out: Number, reference_run_out: Number, loss_rate: Number) -> Number:
    """Factor on the life of a small carbide tool from its run-out, by a straight line.

    1 - rate (run-out - reference). Tool-holder makers and the trade press report 10 to 13 % of life lost
    for each 0.0025 mm (0.0001 in); no refereed study is known, so it is indicative.

    Parameters
    ----------
    run_out
        Total indicator reading of the run-out [mm], any shape, >= 0.
    reference_run_out
        Run-out at which the life was found [mm], any shape, >= 0.
    loss_rate
        Share of life lost for each millimetre of run-out, 39 for 10 % a tenth [1/mm], any shape, >= 0.

    Returns
    -------
    Number
        Factor on life [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or a run-out so large that the line ends below zero.

    References
    ----------
    "Riding Herd on Runout", Cutting Tool Engineering, 15 July 2010.
    """
    not_negative(run_out=run_out, reference_run_out=reference_run_out, loss_rate=loss_rate)
    factor = 1.0 - loss_rate * (run_out - reference_run_out)
    positive(life_left=factor)
    return factor
