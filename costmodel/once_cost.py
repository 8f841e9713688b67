"""What a route costs once: bought or made in-house by the same rates, shared with other parts, and its ramp-up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from costmodel.cost_lines import ALWAYS, Line
from costmodel.formulas import learning, yields
from costmodel.machine_rate import labour_per_hour, terms_on
from costmodel.records.rates import Rates
from costmodel.records.route import Once, RampUp
from costmodel.records.study import RateBasis
from costmodel.units import Number

RAMP_UP = "ramp-up"


def once_lines(
    once: Once, rates: Rates, per_year: Number, basis: RateBasis, contributions: Mapping[str, Number]
) -> Iterator[Line]:
    """What is paid once, and our share of what it is still worth at the end of the horizon.

    What is made in-house costs material, hands and machine hours; the standing terms of the machine's hour are
    allocated, as in a part.
    """
    share = our_share(once, per_year)
    paid: Number = once.material if once.cost is None else once.cost
    if once.labour:
        paid = paid + once.hours * labour_per_hour(rates.labour[once.labour])
    if once.machine:
        machine = rates.machines[once.machine]
        for term in terms_on(basis, machine, rates, contributions.get(once.machine, 0.0)):
            if term.mark == "cash":
                paid = paid + once.machine_hours * term.per_hour
            else:
                spread = share * once.machine_hours * term.per_hour
                note = f"{once.name}: {term.element}"
                yield Line("route", once.kind, "once", term.mark, spread, note=note, first_month=once.month)
    yield Line("route", once.kind, "once", "cash", share * paid, note=once.name, first_month=once.month)
    left = -share * once.end_value
    yield Line("route", "end value", "once", "cash", left, note=once.name, first_month=ALWAYS)


def our_share(once: Once, per_year: Number) -> Number:
    """Our part of what several parts use: as stated, or by the volumes that they need [fraction]."""
    return once.share * per_year / (per_year + once.other_volume)


def ramp_up_lines(
    ramp: RampUp, rolled: Number, cash_per_part: Number, hands_per_part: Number
) -> Iterator[Line]:
    """What learning to make the part costs once: more blanks than at the running yield, slower hands.

    `rolled` is the running yield of the whole route; `cash_per_part` what a part costs through all steps, as
    a part lost in the ramp-up is taken to be found at the end [money/part]; `hands_per_part` what hands-on
    work of a part costs once learned [money/part].
    """
    weekly = yields.ramp_yields(ramp.first_yield, rolled, ramp.weeks)
    steady = yields.ramp_blanks(ramp.good_per_week, [rolled] * ramp.weeks)
    more = yields.ramp_blanks(ramp.good_per_week, weekly) - steady
    yield Line(
        RAMP_UP, "scrap", "once", "cash", more * cash_per_part, note="poorer yield at first", first_month=1
    )
    slower = slow_parts(ramp)
    yield Line(
        RAMP_UP, "labour", "once", "cash", slower * hands_per_part, note="hands still learning", first_month=1
    )


def slow_parts(ramp: RampUp) -> Number:
    """Hands-on time that learning takes beyond the learned time, counted in parts at the learned time [part]."""
    first = learning.first_unit_time(1.0, ramp.learning_rate, ramp.learned_at, ramp.learning)
    return learning.total_time(first, ramp.learning_rate, ramp.learned_at, ramp.learning) - ramp.learned_at
