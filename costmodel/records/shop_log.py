"""What the shop logged of one input, in its canonical unit."""

from __future__ import annotations

import datetime
from typing import NamedTuple


class Log(NamedTuple):
    """Logged values of one input in its canonical unit, or how many of the parts tried were what a share counts."""

    address: str
    values: tuple[float, ...] = ()
    good: float = 0.0
    tried: float = 0.0
    of_spread: bool = False
    """Whether the input is the spread of the logged values, not their middle."""
    last: datetime.date | None = None
    """The last day logged; None where the log has no days."""
