"""What a supplier, or our own shop, really delivered: one row for each delivery."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from costmodel.records.faults import Fault
from costmodel.records.fields import Record

LONGEST_WAIT = 3650
"""Days from order to receipt beyond which one of the two dates is taken for a slip [d]."""


FEW = 20
"""Deliveries below which nothing is said of the tail; common practice, no source."""
SAME_DAY = 0.5
"""Lead time of what is received on the day of its order [d]."""


def delivery_faults(
    row: int,
    ordered: datetime.date | None,
    received: datetime.date | None,
    quantity: float | None,
    rejected: float | None,
) -> Iterator[Fault]:
    """What cannot be in one delivery; None for what could not be read, of which nothing is said."""
    if ordered is not None and received is not None and not 0 <= (received - ordered).days <= LONGEST_WAIT:
        expected = f"a day from {ordered}, when it was ordered, to ten years later"
        yield Fault(f"{row}.received", f"{received}", expected, "Correct one of the two dates.")
    if quantity is not None and quantity <= 0.0:
        yield Fault(f"{row}.quantity", f"{quantity:g}", "parts received, above 0", "Correct it.")
    elif quantity is not None and rejected is not None and not 0.0 <= rejected <= quantity:
        expected = f"0 to the {quantity:g} parts received"
        yield Fault(f"{row}.rejected", f"{rejected:g}", expected, "Correct one of the two.")


class DeliveryLog(Record):
    """Deliveries in the order of the log: when ordered, promised and received, how many, how many rejected."""

    name: str
    orders: tuple[str, ...]
    ordered: tuple[datetime.date, ...]
    promised: tuple[datetime.date, ...]
    received: tuple[datetime.date, ...]
    quantity: tuple[float, ...]
    rejected: tuple[float, ...]
    still_open: tuple[str, ...] = ()
    """Orders in the log of which nothing has been received."""
    file: str = ""
    """Its file as a sheet of offers names it; empty where none does."""

    def rules(self) -> Iterator[Fault]:
        """Every row is whole, is received after it was ordered, and rejects no more than came."""
        columns = (self.orders, self.ordered, self.promised, self.received, self.quantity, self.rejected)
        if len({len(column) for column in columns}) != 1:
            yield Fault("", "", "columns of one length", "Give every delivery all its fields.")
            return
        if not self.ordered:
            yield Fault("", "", "at least one delivery received", "Add the deliveries received so far.")
        rows = zip(self.ordered, self.received, self.quantity, self.rejected, strict=True)
        for number, row in enumerate(rows):
            yield from delivery_faults(number, *row)

    @property
    def lead_times(self) -> tuple[float, ...]:
        """Days from order to receipt of each delivery [d]; one on the day of its order counts as half a day."""
        rows = zip(self.ordered, self.received, strict=True)
        return tuple(max(float((received - ordered).days), SAME_DAY) for ordered, received in rows)
