"""Powers of numbers above zero, the hot part of tool-life and cutting-force laws."""

from __future__ import annotations

import numpy as np

from costmodel.units import Number


def power(base: Number, exponent: Number) -> Number:
    """Return base to the exponent for base > 0, by exp and log: faster over draws than ``**``."""
    result: Number = np.exp(exponent * np.log(base))
    return result
