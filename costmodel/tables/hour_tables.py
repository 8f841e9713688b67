"""Tables of a machine's hour: what it is made of, and what it costs on each basis."""

from __future__ import annotations

from collections.abc import Iterable

from costmodel.cost_lines import total
from costmodel.machine_rate import rate_terms, spread_hours, terms_on
from costmodel.records.route import MachineStep
from costmodel.records.study import BASIS_WORDS, RateBasis, Study
from costmodel.tables.part_tables import currency_of
from costmodel.tables.table import Column, Table, make_table, single


def machines_of(study: Study, route: str) -> tuple[str, ...]:
    """The machines of a route, each once, in the order of its steps."""
    steps = study.part.routes[route].steps.values()
    return tuple(dict.fromkeys(step.machine for step in steps if isinstance(step, MachineStep)))


def rate_table(study: Study, machines: Iterable[str], basis: RateBasis) -> Table:
    """What a machine's hour is made of on a rate basis, term by term, and over which hours it is spread."""
    currency = currency_of(study)
    rows: list[list[object]] = []
    for name in machines:
        machine = study.rates.machines[name]
        hours = study.capacity.get(name)
        terms = terms_on(basis, machine, study.rates, hours.contribution if hours else 0.0)
        for term in terms:
            spread = "every hour run" if term.hours is None else single(term.hours)
            rows.append([name, term.element, term.mark, single(term.per_hour), spread, term.series or "none"])
        rows.append([name, "together", "", single(total(term.per_hour for term in terms)), "", ""])
    return make_table(
        f"A machine's hour, {BASIS_WORDS[basis]}",
        (
            Column("machine"),
            Column("term"),
            Column("mark"),
            Column("an hour", f"{currency}/h", "money"),
            Column("spread over", "h/yr", "hours"),
            Column("follows index"),
        ),
        rows,
        study=study,
        notes=("People's time is not in it: hands-on minutes are priced apart.",),
    )


def hour_bases_table(study: Study, machines: Iterable[str]) -> Table:
    """A machine's hour on the four bases side by side, and the hours that each stands on."""
    unit = f"{currency_of(study)}/h"
    rows: list[list[object]] = []
    for name in machines:
        machine = study.rates.machines[name]
        hours = study.capacity.get(name)
        cells: list[object] = [
            single(total(t.per_hour for t in terms_on(b, machine, study.rates))) for b in BASIS_WORDS
        ]
        if hours is None:
            cells[-1] = "not stated"
        else:
            displaced = terms_on("displaced", machine, study.rates, hours.contribution)
            cells[-1] = single(total(term.per_hour for term in displaced))
        spread = [single(spread_hours(machine, base)) for base in ("practical", "budgeted")]
        standing = total(
            term.per_hour for term in rate_terms(machine, study.rates) if term.mark == "allocated"
        )
        rows.append([name, *cells, *spread, single(standing)])
    return make_table(
        "A machine's hour on four bases",
        (
            Column("machine"),
            *(Column(words, unit, "money") for words in BASIS_WORDS.values()),
            Column("practical hours", "h/yr", "hours"),
            Column("budgeted hours", "h/yr", "hours"),
            Column("of it standing", unit, "money"),
        ),
        rows,
        study=study,
        notes=(
            "Standing cost is paid whether the machine runs or not; an hour left idle costs it, and no part "
            "carries that.",
            "Not stated: what an hour of displaced work would earn."
            if any("not stated" in r for r in rows)
            else "",
        ),
    )
