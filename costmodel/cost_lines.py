"""Lines of cost: how a total is kept. A total is the sum of named lines and is computed no other way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from costmodel.units import Number

Level = Literal["part", "load", "lot", "shipment", "year", "once"]
Mark = Literal["cash", "allocated"]

IN_USE = "use"
"""The step of what a part costs after it has lain on the shelf: faults found at assembly and in the field."""

ALWAYS = 10_000
"""The last month of a line that ends with the horizon."""

VOLUME_LEVELS: tuple[Level, ...] = ("part", "load", "lot", "shipment")


class Line(NamedTuple):
    """One cost: what for, how often it occurs, and whether the decision moves cash.

    ``amount`` is money each time its level occurs: per good part, per load of its step, per lot, per
    shipment, per year, or once in month ``first_month``. ``series`` names the index that escalates it. A
    running line holds from ``first_month`` to ``last_month``, counted from the decision; month 1 is today's.
    """

    step: str
    element: str
    level: Level
    mark: Mark
    amount: Number
    series: str = ""
    note: str = ""
    first_month: int = 1
    last_month: int = ALWAYS


class Clock(NamedTuple):
    """Minutes of one resource: a machine's own, or hands-on minutes of a grade of labour.

    ``minutes`` are per occurrence of the level, lost parts included.
    """

    step: str
    kind: Literal["machine", "hands-on"]
    resource: str
    level: Level
    minutes: Number


class Flag(NamedTuple):
    """Something a reader must know: a limit exceeded, an expired quote, a guess that matters."""

    place: str
    text: str


@dataclass(frozen=True)
class Rhythm:
    """How often each level occurs: loads a good part by step, good parts a lot and a shipment, parts a year."""

    per_year: Number
    lot: Number
    shipment: Number
    loads: Mapping[str, Number]

    def per_part(self, level: Level, step: str) -> Number:
        """How often a level occurs for one good part."""
        if level == "part":
            return 1.0
        if level == "load":
            return self.loads[step]
        divisor = {"lot": self.lot, "shipment": self.shipment, "year": self.per_year}[level]
        return 1.0 / divisor


class Group(NamedTuple):
    """Lines that occur alike and change alike over time; ``step`` counts for loads only."""

    level: Level
    step: str
    mark: Mark
    series: str
    first_month: int
    last_month: int


@dataclass(frozen=True)
class CostSheet:
    """The lines of one way of getting a good part, and how often their levels occur."""

    name: str
    title: str
    lines: tuple[Line, ...]
    clocks: tuple[Clock, ...]
    rhythm: Rhythm
    flags: tuple[Flag, ...] = ()

    def per_part(self, keep: Callable[[Line], bool] = lambda line: True) -> Number:
        """Today's running cost of one good part [money/part]: summed by level, then times how often."""
        sums = self.sums(lambda line: in_force(line) and keep(line))
        return _by_occurrence(
            ((group.level, group.step, amount) for group, amount in sums.items()), self.rhythm
        )

    def sums(self, keep: Callable[[Line], bool] = lambda line: True) -> dict[Group, Number]:
        """Amounts of the lines kept, summed over those that occur and change alike: the first step to any total."""
        result: dict[Group, Number] = {}
        for line in self.lines:
            if keep(line):
                step = line.step if line.level == "load" else ""
                group = Group(line.level, step, line.mark, line.series, line.first_month, line.last_month)
                result[group] = result[group] + line.amount if group in result else line.amount
        return result

    def per_year(self, keep: Callable[[Line], bool] = lambda line: True) -> Number:
        """Running cost of a year's good parts [money/yr]."""
        return self.per_part(keep) * self.rhythm.per_year

    def once(self, keep: Callable[[Line], bool] = lambda line: True) -> Number:
        """What is paid once [money], net of what comes back at the end."""
        return total(line.amount for line in self.lines if line.level == "once" and keep(line))

    def minutes_per_part(self, kind: str, resource: str = "") -> Number:
        """Minutes of a clock for one good part [min/part], of one resource or of all."""
        chosen = (c for c in self.clocks if c.kind == kind and resource in ("", c.resource))
        return _by_occurrence(((clock.level, clock.step, clock.minutes) for clock in chosen), self.rhythm)

    def split(self, key: Callable[[Line], str]) -> dict[str, Number]:
        """Running cost of one good part by any word of its lines, in the order in which they are spent."""
        words = dict.fromkeys(key(line) for line in self.lines if in_force(line))
        return {word: self.per_part(lambda line, word=word: key(line) == word) for word in words}  # type: ignore[misc]


def total(amounts: Iterable[Number]) -> Number:
    """The sum of amounts of any shape; 0 of none. One amount is its own sum: nobody writes into it."""
    result: Number | None = None
    for amount in amounts:
        result = amount if result is None else result + amount
    return 0.0 if result is None else result


def in_force(line: Line) -> bool:
    """Whether a line is a running cost of today."""
    return line.level != "once" and line.first_month <= 1 <= line.last_month


def is_cash(line: Line) -> bool:
    """Whether a line moves cash with the decision."""
    return line.mark == "cash"


def _by_occurrence(items: Iterable[tuple[Level, str, Number]], rhythm: Rhythm) -> Number:
    sums: dict[tuple[Level, str], Number] = {}
    for level, step, amount in items:
        key = (level, step if level == "load" else "")
        sums[key] = sums[key] + amount if key in sums else amount
    return total(amount * rhythm.per_part(level, step) for (level, step), amount in sums.items())
