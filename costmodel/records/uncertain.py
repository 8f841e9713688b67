"""What a study says of its doubt: how far an input may be off, which inputs move together, named scenarios."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from itertools import count
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from costmodel.records.faults import Fault
from costmodel.records.fields import Name, Named, Record, Status

Shape = Literal["pert", "triangular", "three-point", "normal", "lognormal", "uniform", "discrete", "measured"]

SPREAD_FIELDS: dict[str, tuple[str, ...]] = {
    "pert": ("low", "likely", "high"),
    "triangular": ("low", "likely", "high"),
    "three-point": ("p10", "p50", "p90"),
    "normal": ("mean", "sd"),
    "lognormal": ("mean", "sd"),
    "uniform": ("low", "high"),
    "discrete": ("values", "chances"),
    "measured": ("log",),
}
FROM_BASE = ("likely", "mean")
"""Numbers that may be left out: the input's own value stands for them."""


class Uncertain(Record):
    """How far one input may be off: a distribution at its address, in its canonical unit.

    "pert" and "triangular" take low, likely, high; "three-point" p10, p50, p90; "normal" and "lognormal" mean
    and sd; "uniform" low and high; "discrete" values and their chances; "measured" a log of values as found.
    Where likely or mean is left out the value of the input itself stands for it. ``origin`` is "rates" for
    the range that a rates row states of itself. ``column`` fixes which column of the draws it takes.
    """

    name: str
    shape: Shape
    low: float | None = None
    likely: float | None = None
    high: float | None = None
    p10: float | None = None
    p50: float | None = None
    p90: float | None = None
    mean: float | None = None
    sd: Annotated[float, Field(ge=0)] | None = None
    values: tuple[float, ...] = ()
    chances: tuple[Annotated[float, Field(ge=0, le=1)], ...] = ()
    log: tuple[float, ...] = ()
    source: str = ""
    owner: str = ""
    status: Status = "guess"
    origin: Literal["study", "rates"] = "study"
    column: Annotated[int, Field(ge=0)] | None = None

    def rules(self) -> Iterator[Fault]:
        """The numbers of the shape are there and rise from low to high; chances add up to one."""
        fields = SPREAD_FIELDS[self.shape]
        given = {field: getattr(self, field) for field in fields}
        for field, value in given.items():
            if value in (None, ()) and field not in FROM_BASE:
                yield Fault(field, "", f"a value, since the shape is {self.shape}", f"Add {field}.")
        if self.shape in ("pert", "triangular", "three-point", "uniform"):
            numbers = [value for value in given.values() if value is not None]
            if sorted(numbers) != numbers:
                found = ", ".join(f"{value:g}" for value in numbers)
                yield Fault(fields[0], found, f"{', '.join(fields)} in rising order", "Sort the numbers.")
        if self.shape == "discrete":
            yield from self._chance_faults()

    def _chance_faults(self) -> Iterator[Fault]:
        if len(self.values) != len(self.chances):
            found = f"{len(self.chances)} for {len(self.values)} values"
            yield Fault("chances", found, "one chance a value", "Give both lists one length.")
        elif abs(sum(self.chances) - 1.0) > 1e-9:
            yield Fault("chances", f"{sum(self.chances):g}", "chances that add up to 1", "Correct them.")


def columns(uncertainty: Mapping[str, Uncertain]) -> dict[str, int]:
    """The column of draws of every uncertain input, so that one more at the end moves none of the others.

    A column that a range names is its own; of the rest the study's take the free even ones in their order,
    those of rates rows the odd ones.
    """
    taken = {spread.column for spread in uncertainty.values()}
    free = {
        origin: (column for column in count(start, 2) if column not in taken)
        for origin, start in (("study", 0), ("rates", 1))
    }
    return {
        name: next(free[spread.origin]) if spread.column is None else spread.column
        for name, spread in uncertainty.items()
    }


def in_their_columns(uncertainty: Mapping[str, Uncertain], left_out: Container[str]) -> dict[str, Uncertain]:
    """The ranges of all other inputs, each kept in its column of draws."""
    return {
        name: Uncertain(**{**uncertainty[name].__dict__, "column": column})
        for name, column in columns(uncertainty).items()
        if name not in left_out
    }


class Scenario(Record):
    """A named set of changed inputs, by address, in canonical units, and how likely it is where that is stated."""

    name: Name
    title: str
    inputs: Named[float | int | str | bool]
    weight: Annotated[float, Field(ge=0)] | None = None


class Driver(Record):
    """One cause behind several inputs: each follows it by a share from -1 to 1, the rest of its spread is its own.

    At 1 an input moves with the driver alone; two inputs at 0.8 have a correlation of 0.64 between their
    normal scores.
    """

    name: Name
    inputs: Named[Annotated[float, Field(ge=-1, le=1)]]
    title: str = ""
    source: str = ""

    def without(self, addresses: Container[str]) -> Driver:
        """The driver of the other inputs."""
        kept = {address: share for address, share in self.inputs.items() if address not in addresses}
        return Driver(name=self.name, inputs=Named(kept), title=self.title, source=self.source)


class RankCorrelation(Record):
    """Rank correlations (Spearman) between a few inputs, as a matrix in the order in which they are named."""

    name: Name
    inputs: tuple[str, ...]
    ranks: tuple[tuple[Annotated[float, Field(ge=-1, le=1)], ...], ...]
    source: str = ""

    def rules(self) -> Iterator[Fault]:
        """A square, symmetric matrix with ones on its diagonal that some set of inputs can have."""
        count = len(self.inputs)
        if len(self.ranks) != count or any(len(row) != count for row in self.ranks):
            yield Fault("ranks", "", f"{count} rows of {count} numbers", "Give a row for each input.")
            return
        matrix = np.array(self.ranks, dtype=np.float64).reshape(count, count)
        if not np.array_equal(matrix, matrix.T) or np.any(np.diag(matrix) != 1.0):
            yield Fault("ranks", "", "a symmetric matrix with 1 on its diagonal", "Mirror the numbers.")
        elif count and np.linalg.eigvalsh(matrix)[0] <= 1e-10:
            remedy = "Bring the largest ones nearer to 0, or name a driver instead."
            yield Fault("ranks", "", "correlations that can hold together", remedy)

    def without(self, addresses: Container[str]) -> RankCorrelation:
        """The correlations between the other inputs."""
        kept = [at for at, address in enumerate(self.inputs) if address not in addresses]
        return RankCorrelation(
            name=self.name,
            inputs=tuple(self.inputs[at] for at in kept),
            ranks=tuple(tuple(self.ranks[row][column] for column in kept) for row in kept),
            source=self.source,
        )


def correlation_faults(
    drivers: Mapping[str, Driver],
    correlations: Mapping[str, RankCorrelation],
    uncertainty: Mapping[str, Uncertain],
) -> Iterator[Fault]:
    """What moves together is uncertain, and follows one driver or one matrix only."""
    places: dict[str, str] = {}
    groups = [(f"drivers.{name}", tuple(driver.inputs)) for name, driver in drivers.items()]
    groups += [(f"correlations.{name}", group.inputs) for name, group in correlations.items()]
    for place, addresses in groups:
        for address in addresses:
            if address not in uncertainty:
                remedy = "Give it a range, or take it out."
                yield Fault(place, address, "the address of an uncertain input", remedy)
            if address in places:
                expected = f"an input named once; it stands in {places[address]} too"
                yield Fault(place, address, expected, "Keep one of the two.")
            places[address] = place


def weight_faults(scenarios: Mapping[str, Scenario]) -> Iterator[Fault]:
    """Every scenario has a weight or none has; what they leave of one belongs to the study as it stands."""
    weights = {name: scenario.weight for name, scenario in scenarios.items()}
    if all(weight is None for weight in weights.values()):
        return
    for name, weight in weights.items():
        if weight is None:
            yield Fault(f"scenarios.{name}.weight", "", "a weight for each scenario or for none", "Add it.")
    whole = sum(weight for weight in weights.values() if weight is not None)
    if whole > 1.0 + 1e-9:
        yield Fault("scenarios", f"{whole:g}", "weights of at most 1 together", "Lower them.")
