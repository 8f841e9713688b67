"""One person at several machines: how many can be tended, and what the machines lose by waiting."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias, get_args

import numpy as np

from costmodel.formulas._choices import one_of
from costmodel.formulas._limits import not_negative, positive
from costmodel.formulas._series import whole_count, whole_down
from costmodel.units import Number

Service: TypeAlias = Literal["constant", "exponential"]


class MachinesTended(NamedTuple):
    """Machines one person can tend: exact [-], whole [-]."""

    exact: Number
    whole: Number


class Interference(NamedTuple):
    """Several machines, one person.

    Share of time a machine runs [fraction]; minutes a load waits for the person before its service
    [min/load]; share of time the person is busy [fraction]; loads that all
    machines finish in a minute [load/min].
    """

    running: Number
    waiting_minutes: Number
    person_busy: Number
    loads_per_minute: Number


def machines_per_person(
    service_minutes: Number, run_minutes: Number, walk_minutes: Number = 0.0
) -> MachinesTended:
    """Machines that one person keeps running when every cycle takes the same time.

    n = (service + run) / (service + walk): a machine's cycle over the person's time for it. Rounded down no
    machine waits; rounded up the person never does.

    Parameters
    ----------
    service_minutes
        Hands-on minutes of a load while the machine stands [min/load], any shape, > 0.
    run_minutes
        Minutes the machine then runs alone [min/load], any shape, > 0.
    walk_minutes
        Minutes to walk to the next machine [min], any shape, >= 0.

    Returns
    -------
    MachinesTended
        Machines, exact and rounded down [-], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    Man-machine chart of time study, from memory: B. Niebel and A. Freivalds, Methods, Standards, and Work
    Design, synchronous servicing.
    """
    positive(service_minutes=service_minutes, run_minutes=run_minutes)
    not_negative(walk_minutes=walk_minutes)
    exact = (service_minutes + run_minutes) / (service_minutes + walk_minutes)
    return MachinesTended(exact, whole_down(exact))


def regular_waiting_minutes(
    machines: int, service_minutes: Number, run_minutes: Number, walk_minutes: Number = 0.0
) -> Number:
    """Minutes each load waits when one person goes round machines of equal, regular cycles.

    max(0, n (service + walk) - (service + run)): beyond the number from machines_per_person the round takes
    longer than the cycle. It is the least waiting; irregular cycles add to it (machine_interference).

    Parameters
    ----------
    machines
        Machines tended [-], whole number >= 1.
    service_minutes
        Hands-on minutes of a load while the machine stands [min/load], any shape, > 0.
    run_minutes
        Minutes the machine then runs alone [min/load], any shape, > 0.
    walk_minutes
        Minutes to walk to the next machine [min], any shape, >= 0.

    Returns
    -------
    Number
        Waiting [min/load], broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range.

    References
    ----------
    As machines_per_person.
    """
    whole_count("machines", machines, at_least=1)
    positive(service_minutes=service_minutes, run_minutes=run_minutes)
    not_negative(walk_minutes=walk_minutes)
    late = machines * (service_minutes + walk_minutes) - (service_minutes + run_minutes)
    waiting: Number = np.maximum(late, 0.0)
    return waiting


def machine_interference(
    machines: int, service_minutes: Number, run_minutes: Number, service: Service = "constant"
) -> Interference:
    """Waiting of several machines for one person when they call at random times.

    Each machine runs an exponential time of mean `run`, then needs service. In one busy spell the person
    serves on average M = sum over r from 0 to n - 1 of binomial(n - 1, r) * product over i from 1 to r of
    (1/psi(i/run) - 1), psi the Laplace transform of the service time: 1/psi - 1 is exp(i s/run) - 1 for
    constant service, i s/run for exponential. The person is busy n p M / (1 + n p M) of the time, p =
    service/run, and idle spells last run/n.

    Parameters
    ----------
    machines
        Machines tended [-], whole number >= 1.
    service_minutes
        Mean minutes of one service, walking included [min/load], any shape, > 0.
    run_minutes
        Mean minutes a machine runs between services [min/load], any shape, > 0.
    service
        "constant" (default) or "exponential" [-].

    Returns
    -------
    Interference
        Shares, waiting and output, broadcast shape of the arguments.

    Raises
    ------
    LimitError
        An argument outside its range, or an unknown kind of service.

    References
    ----------
    H. Ashcroft, The productivity of several machines under the care of one operator, J. Royal Statistical
    Society B 12 (1950) 145-151; L. Takacs, Introduction to the Theory of Queues (1962), ch. 5; from memory.
    """
    whole_count("machines", machines, at_least=1)
    positive(service_minutes=service_minutes, run_minutes=run_minutes)
    one_of("service", service, get_args(Service))
    ratio = service_minutes / run_minutes
    term: Number = 1.0
    served: Number = 1.0
    for index in range(1, machines):
        again: Number = np.expm1(index * ratio) if service == "constant" else index * ratio
        term = term * again * (machines - index) / index
        served = served + term
    load = machines * ratio * served
    busy = load / (1.0 + load)
    output = busy / service_minutes
    running = output * run_minutes / machines
    return Interference(running, machines / output - run_minutes - service_minutes, busy, output)
