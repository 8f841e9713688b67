"""What moved between two states of the inputs, and what each cause did to the money.

Method, stated: every input that differs belongs to one cause. A cause's part is what the result changes by
when its inputs alone move ("one at a time"); what several causes do together and none does alone is the
interaction, a line of its own. Parts and interaction add to the whole difference by construction. "sequential" and
"shapley" of `formulas.bridge` share the interaction out instead.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np

from costmodel.decision import Decision, decide
from costmodel.formulas.bridge import SplitMethod, split_by_cause
from costmodel.make_or_buy import alternative_cost, present_worth
from costmodel.records.address import field_quantity, tokens
from costmodel.records.faults import joined
from costmodel.records.fields import Named, Record
from costmodel.records.rates import Rates, rate_tables
from costmodel.records.study import NO_INPUT, Study
from costmodel.records.uncertain import Uncertain
from costmodel.records.used_rows import rates_ranges

CAUSES = ("price", "use", "yield", "volume")
WORDS = ("source", "as_of", "owner", "status", "note", "title", "series")
"""Fields of a row that say where it comes from and move no figure of today."""

_VOLUME = {"practical_hours", "budgeted_hours", "free_hours", "per_year", "growth", "lot", "orders_per_year"}
_YIELD = {"step_yield", "process_yield", "rejected_at_receipt", "rejected_at_assembly", "rejected_in_field"}
_PRICED = {"on_costs", "interest", "insurance", "life", "yearly_change", "base", "valid_from", "valid_to"}
_PRICED_TABLES = {"duties", "entry_fees", "currency", "indices", "year"}

UNIT_NOISE = 1e-12
"""Relative difference that reading one value in two units can leave [fraction]."""

Measure = Callable[[Study], float]


class Difference(NamedTuple):
    """An input that differs: its address, what stood there and what stands there; None where a row is new or gone."""

    address: str
    was: Any
    now: Any
    unit: str

    @property
    def change(self) -> float | None:
        """Relative change [fraction], where both are numbers and the old one is not zero."""
        if not isinstance(self.was, float) or not isinstance(self.now, float) or self.was == 0.0:
            return None
        return self.now / self.was - 1.0


def differences(before: Record, after: Record, place: str = "", home: str = "") -> tuple[Difference, ...]:
    """Every input that differs between two records of one kind, by address."""
    return tuple(_differences(before, after, tokens(place) if place else (), home))


def _differences(before: Any, after: Any, path: tuple[str, ...], home: str) -> Iterator[Difference]:
    if before is after:
        return
    if isinstance(before, Named) and isinstance(after, Named):
        for name in dict.fromkeys((*before, *after)):
            if name in before and name in after:
                yield from _differences(before[name], after[name], (*path, name), home)
            else:
                yield Difference(joined(*path, name), before.get(name), after.get(name), "")
        return
    if isinstance(before, Record) and type(before) is type(after):
        for field in (it for it in type(before).model_fields if it not in NO_INPUT):
            was, now = getattr(before, field), getattr(after, field)
            if isinstance(was, Named | Record):
                yield from _differences(was, now, (*path, field), home)
            elif not _same(was, now):
                spec = field_quantity(type(before), field)
                shown = spec.shown(home) if spec and spec.unit != "fraction" else spec.unit if spec else ""
                yield Difference(joined(*path, field), was, now, shown)
        return
    if not _same(before, after):
        yield Difference(joined(*path), before, after, "")


def _same(was: Any, now: Any) -> bool:
    """Whether two values are one; numbers that differ by less than a change of unit does are."""
    if isinstance(was, float) and isinstance(now, float):
        return bool(np.isclose(was, now, rtol=UNIT_NOISE, atol=0.0))
    return bool(np.array_equal(was, now))


def cause_of(address: str, root: Record) -> str:
    """Price, use, yield or volume: which of them an input belongs to.

    Price is what a unit of anything costs, with what the state or the bank adds. Use is how much of it the work
    takes: minutes, kilowatts, edges, kilograms. Yield is what is lost. Volume is over what fixed costs spread: parts
    and hours a year, lots.
    """
    path = tokens(address)
    field = path[-1]
    if field in _YIELD:
        return "yield"
    if field in _VOLUME:
        return "volume"
    if field in _PRICED or (path[0] == "rates" and path[1] in _PRICED_TABLES):
        return "price"
    spec = field_quantity(*_kind_at(root, path))
    if spec is not None and (spec.unit.startswith("money") or spec.unit == "own currency"):
        return "price"
    return "price" if path[0] in ("finance",) else "use"


def _kind_at(root: Record, path: tuple[str, ...]) -> tuple[type[Record], str]:
    node: Any = root
    owner: tuple[type[Record], str] = (type(root), path[0])
    for token in path:
        if isinstance(node, Record):
            owner = (type(node), token)
        node = node.get(token) if isinstance(node, Named) else getattr(node, token)
    return owner


def table_of(address: str, root: Record) -> str:
    """The rates table, or the file, in which an input stands."""
    path = tokens(address)
    return path[1] if path[0] == "rates" else path[0]


@dataclass(frozen=True)
class Bridge:
    """The way from one figure to another, cause by cause; the parts add to the difference."""

    name: str
    unit: str
    before: float
    after: float
    parts: Mapping[str, float]
    method: SplitMethod

    @property
    def change(self) -> float:
        """The whole difference."""
        return self.after - self.before


def moved(before: Study, found: Iterable[Difference]) -> Study:
    """A study with these inputs at their new values; rows that are gone stay, since nothing names them."""
    kept = [difference for difference in found if difference.now is not None or not _is_row(difference)]
    return before.with_inputs({difference.address: difference.now for difference in kept}) if kept else before


def _is_row(difference: Difference) -> bool:
    return isinstance(difference.was, Record) or isinstance(difference.now, Record)


def bridges(
    before: Study,
    after: Study,
    measures: Mapping[str, tuple[str, Measure]],
    *,
    causes: Iterable[str] = CAUSES,
    classify: Callable[[str, Record], str] = cause_of,
    method: SplitMethod = "one at a time",
    found: Iterable[Difference] | None = None,
) -> dict[str, Bridge]:
    """Split the difference of each measure by cause; `measures` gives unit and function by name.

    Rows that only the new state has come in first and cost nothing until something names them.
    """
    listed = (
        differences(before, after, home=before.rates.year.home_currency) if found is None else tuple(found)
    )
    listed = tuple(it for it in listed if tokens(it.address)[0] not in ("uncertainty", "scenarios"))
    start = moved(before, [it for it in listed if _is_row(it) and it.was is None])
    leaves = [it for it in listed if not _is_row(it)]
    by_cause: dict[str, list[Difference]] = {cause: [] for cause in causes}
    for leaf in leaves:
        by_cause.setdefault(classify(leaf.address, before), []).append(leaf)
    names = tuple(by_cause)
    studies = {chosen: _at(chosen, names, start, after, by_cause) for chosen in _sets(names, method)}
    result: dict[str, Bridge] = {}
    for name, (unit, measure) in measures.items():
        values = {chosen: measure(study) for chosen, study in studies.items()}
        parts = {cause: float(part) for cause, part in split_by_cause(values, names, method).items()}
        full, none = frozenset(names), frozenset[str]()
        result[name] = Bridge(name, unit, values[none], values[full], parts, method)
    return result


def _sets(names: tuple[str, ...], method: SplitMethod) -> list[frozenset[str]]:
    if method == "shapley":
        return [frozenset(chosen) for size in range(len(names) + 1) for chosen in combinations(names, size)]
    if method == "sequential":
        return [frozenset(names[:size]) for size in range(len(names) + 1)]
    return list(dict.fromkeys([frozenset(), *(frozenset({name}) for name in names), frozenset(names)]))


def _at(
    chosen: frozenset[str],
    names: tuple[str, ...],
    start: Study,
    after: Study,
    by_cause: Mapping[str, list[Difference]],
) -> Study:
    if chosen == frozenset(names):
        return after
    return moved(start, [it for name in names if name in chosen for it in by_cause[name]])


def running(name: str) -> Measure:
    """Running cost of a good part of one alternative [money/part]."""
    return lambda study: float(alternative_cost(study, name).per_part())


def worth(name: str) -> Measure:
    """Worth today of one alternative's cash over the horizon [money]."""
    return lambda study: float(present_worth(alternative_cost(study, name), study))


def at_rates(study: Study, rates: Rates) -> Study:
    """The same question at other rates.

    A range that a rates row states of itself is that of the new row; one that the study states of a rate
    moves in proportion to the rate's value.
    """
    own = {name: it for name, it in study.uncertainty.items() if it.origin == "study"}
    ranges = {name: _moved_range(spread, study.rates, rates) for name, spread in own.items()}
    moved_study = study.with_inputs({"rates": rates, "uncertainty": Named(ranges)})
    rows = rates_ranges(moved_study)
    kept = {name: rows[name] for name in study.uncertainty if name not in ranges and name in rows}
    ordered = {name: {**ranges, **kept}[name] for name in study.uncertainty if name in ranges or name in kept}
    return moved_study.with_inputs({"uncertainty": Named(ordered)})


def _number(root: Any, path: Iterable[str]) -> float | None:
    for token in path:
        root = root.get(token) if isinstance(root, Named) else getattr(root, token, None)
    return None if root is None else float(root)


RANGE_FIELDS = ("low", "likely", "high", "p10", "p50", "p90", "mean", "sd")


def _moved_range(spread: Uncertain, before: Rates, after: Rates) -> Uncertain:
    path = tokens(spread.name)
    if path[0] != "rates":
        return spread
    was, now = (_number(root, path[1:]) for root in (before, after))
    if not was or now is None or was == now:
        return spread
    factor = _factor(spread, was, now)
    numbers = {it: getattr(spread, it) * factor for it in RANGE_FIELDS if getattr(spread, it) is not None}
    lists = {it: tuple(value * factor for value in getattr(spread, it)) for it in ("values", "log")}
    return Uncertain(**{**spread.__dict__, **numbers, **lists})


def _factor(spread: Uncertain, was: float, now: float) -> float:
    """In proportion; a share of at most 100 % stays one."""
    top = max((getattr(spread, it) or 0.0) for it in ("high", "p90", "likely", "p50"))
    spec = field_quantity(*_kind_of_rate(tokens(spread.name)))
    most = spec.at_most if spec is not None and spec.at_most is not None else spec.below if spec else None
    return min(now / was, most / top) if most is not None and top else now / was


def _kind_of_rate(path: tuple[str, ...]) -> tuple[type[Record], str]:
    return rate_tables()[path[1]], path[-1]


class StudyEffect(NamedTuple):
    """What other rates do to one study: each alternative's bridges by cause and by table, and the verdict."""

    study: str
    title: str
    by_cause: dict[str, Bridge]
    by_table: dict[str, Bridge]
    before: Decision
    after: Decision

    @property
    def changes(self) -> bool:
        """Whether the verdict, or the alternative it names, is another one."""
        old, new = self.before.verdict, self.after.verdict
        return (old.answer, old.alternative) != (new.answer, new.alternative)


def study_effect(
    study: Study, rates: Rates, *, method: SplitMethod = "one at a time", draws: int = 2048, seed: int = 1
) -> StudyEffect:
    """Run a study at its own rates and at others, with the same draws, and split every difference."""
    after = at_rates(study, rates)
    currency = study.rates.year.home_currency
    measures = {name: (f"{currency}/part", running(name)) for name in study.alternatives}
    tables = [name for name in Rates.model_fields if name != "indices"]
    by_table = bridges(study, after, measures, causes=tables, classify=table_of, method="one at a time")
    return StudyEffect(
        study=study.name,
        title=study.title,
        by_cause=_titled(study, bridges(study, after, measures, method=method)),
        by_table=_titled(study, by_table),
        before=decide(study, draws=draws, seed=seed),
        after=decide(after, draws=draws, seed=seed),
    )


def _titled(study: Study, found: Mapping[str, Bridge]) -> dict[str, Bridge]:
    """Bridges of alternatives that a reader knows by their titles."""
    return {name: replace(bridge, name=study.alternatives[name].title) for name, bridge in found.items()}


def year_effects(
    studies: Iterable[Study],
    before: Rates,
    after: Rates,
    *,
    method: SplitMethod = "one at a time",
    draws: int = 2048,
    seed: int = 1,
) -> tuple[StudyEffect, ...]:
    """What going from one year's rates to another's does to each study, decided or open, with the same draws."""
    return tuple(
        study_effect(at_rates(study, before), after, method=method, draws=draws, seed=seed)
        for study in studies
    )


def open_studies(studies: Iterable[Study]) -> tuple[Study, ...]:
    """The studies whose answer other rates may still move."""
    return tuple(study for study in studies if study.decided_on is None)


def open_effects(effects: Iterable[StudyEffect]) -> tuple[StudyEffect, ...]:
    """The effects on studies that are still open."""
    return tuple(effect for effect in effects if effect.after.study.decided_on is None)


def held_decisions(studies: Iterable[Study], *, draws: int = 2048, seed: int = 1) -> tuple[Decision, ...]:
    """The decided studies, each at the rates of its own year: no other year's rates move them."""
    return tuple(decide(study, draws=draws, seed=seed) for study in studies if study.decided_on is not None)


def rate_differences(before: Rates, after: Rates) -> tuple[Difference, ...]:
    """The rates that differ, without words about where they come from."""
    found = differences(before, after, "rates", before.year.home_currency)
    return tuple(
        it for it in found if tokens(it.address)[-1] not in WORDS and not it.address.startswith("rates.year")
    )
