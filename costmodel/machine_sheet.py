"""A machine's year: hours planned, practical and run, energy by meter or load factor, and what its rate recovered."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costmodel.cost_lines import total
from costmodel.formulas import rate_bases, run_time
from costmodel.formulas._series import quotient
from costmodel.machine_rate import rate_terms
from costmodel.records.rates import Rates
from costmodel.records.run_log import RunLog
from costmodel.units import Number


class MachineSheet(NamedTuple):
    """What stands on a machine's yearly sheet; hours a year [h/yr], money a year [money/yr]."""

    machine: str
    planned_busy: Number
    budgeted_hours: Number
    practical_hours: Number
    charged_hours: Number
    """Production and set-up: the hours that parts are charged for."""
    ratios: run_time.RunRatios
    load_factor: Number
    metered: bool
    """Whether the load factor comes from a meter; else it is that of the rates."""
    energy_cost: Number
    budgeted_rate: Number
    """Full rate over budgeted hours [money/h]: what parts were charged."""
    practical_rate: Number
    recovered: Number
    actual_cost: Number | None
    over_absorbed: Number | None
    """Recovered beyond what the machine really cost; below zero under-absorbed. None without a ledger figure."""
    idle_cost: Number
    """Standing cost of practical hours that nothing was charged to."""
    machines_tended: Number
    """Machines that one person tends at once, from machine and people hours [-]; 0 without people."""


def machine_sheet(rates: Rates, log: RunLog) -> MachineSheet:
    """The sheet of one machine from its rates and its run log of a year."""
    machine = rates.machines[log.machine]
    charged = log.production + log.set_up
    if log.energy is None:
        load, energy = machine.load_factor, charged * machine.power * machine.load_factor
    else:
        load, energy = run_time.load_factor_by_meter(log.energy, charged, machine.power), log.energy
    budgeted, practical = (
        total(term.per_hour for term in rate_terms(machine, rates, base))
        for base in ("budgeted", "practical")
    )
    standing = total(
        term.per_hour for term in rate_terms(machine, rates, "practical") if term.mark == "allocated"
    )
    recovered = rate_bases.machine_charge(charged * rate_bases.MINUTES_PER_HOUR, budgeted)
    return MachineSheet(
        machine=log.machine,
        planned_busy=log.planned_busy,
        budgeted_hours=machine.budgeted_hours,
        practical_hours=machine.practical_hours,
        charged_hours=charged,
        ratios=run_time.run_ratios(log.planned_busy, log.production, log.set_up, log.delay),
        load_factor=load,
        metered=log.energy is not None,
        energy_cost=energy * rates.energy[machine.energy].price,
        budgeted_rate=budgeted,
        practical_rate=practical,
        recovered=recovered,
        actual_cost=log.actual_cost,
        over_absorbed=None
        if log.actual_cost is None
        else rate_bases.over_absorbed(budgeted, charged, log.actual_cost),
        idle_cost=rate_bases.idle_cost(
            standing * machine.practical_hours,
            machine.practical_hours,
            np.minimum(charged, machine.practical_hours),
        ),
        machines_tended=quotient(charged, log.people_hours, 0.0),
    )
