"""`compare`: all alternatives side by side."""

from __future__ import annotations

from pathlib import Path
from typing import cast

from costmodel.cli.shared import Received, changed_study, console, print_json, show, show_notice
from costmodel.curves import cost_stack
from costmodel.make_or_buy import Comparison, compare
from costmodel.order_size import order_size
from costmodel.records.study import RateBasis
from costmodel.register import freshness_flags
from costmodel.soft_factors import soft_factors
from costmodel.tables.buy_tables import bought, landed_table, offers_table
from costmodel.tables.curve_tables import stack_table
from costmodel.tables.decision_tables import alternatives_table, flags_table
from costmodel.tables.renderings import to_dict
from costmodel.tables.source_tables import order_sizes_table, soft_factors_table
from costmodel.tables.stamp import stamp, stamp_words
from costmodel.tables.table import Table


def run(
    path: Path,
    basis: str | None,
    changes: list[str],
    scenario: str | None,
    received: Received | None = None,
    *,
    override: str = "",
    blind: bool = False,
    as_json: bool,
) -> None:
    """Compare and show; `override` is the reason for comparing offers that have expired or are for another drawing."""
    study, changed = changed_study(path, changes, scenario, received=received, override=override, blind=blind)
    comparison = compare(study, cast("RateBasis | None", basis))
    tables = comparison_tables(comparison)
    foot = stamp(study, changed=changed)
    if as_json:
        shown = {name: to_dict(table) for name, table in tables.items()}
        print_json({"stamp": foot, "basis": comparison.basis, "tables": shown})
        return
    screen = console()
    show_notice(screen, study, changed)
    screen.print(study.question)
    screen.print()
    show(screen, tables.values())
    screen.print(stamp_words(foot))


def comparison_tables(comparison: Comparison) -> dict[str, Table]:
    """Alternatives, what they are made of, landed cost, offers, order sizes, soft factors, flags."""
    flags = [flag for cost in comparison.alternatives.values() for flag in cost.flags]
    tables = {
        "alternatives": alternatives_table(comparison),
        "made-of": stack_table(cost_stack(comparison)),
    }
    if bought(comparison):
        tables |= {"landed": landed_table(comparison), "offers": offers_table(comparison)}
    study = comparison.study
    sizes = [
        order_size(study, name) for name, cost in comparison.alternatives.items() if cost.kind != "split"
    ]
    tables["order-sizes"] = order_sizes_table(study, sizes)
    judged = soft_factors(study)
    if judged is not None:
        tables["soft-factors"] = soft_factors_table(study, judged)
    every = dict.fromkeys((*freshness_flags(comparison.study), *flags))
    return {**tables, "flags": flags_table(comparison.study, every)}
