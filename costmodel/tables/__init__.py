"""Results as tables: one neutral Table, and from it text, HTML, CSV, data frames, JSON. All rounding lives here."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from costmodel.tables.buy_tables import landed_table, offers_table
    from costmodel.tables.curve_tables import (
        advantage_table,
        cash_table,
        cheapest_table,
        cost_steps_table,
        stack_table,
        swings_table,
        volume_table,
    )
    from costmodel.tables.decision_tables import (
        alternatives_table,
        bases_table,
        break_even_table,
        capacity_table,
        flags_table,
        outcome_table,
        payback_table,
        register_table,
        status_table,
        switching_table,
    )
    from costmodel.tables.doubt_tables import (
        awards_table,
        knowing_table,
        scenarios_table,
        shares_table,
        together_table,
    )
    from costmodel.tables.hour_tables import hour_bases_table, rate_table
    from costmodel.tables.make_tables import (
        feeds_table,
        life_table,
        night_table,
        risks_table,
        setting_table,
        settings_table,
    )
    from costmodel.tables.part_tables import (
        cost_by_element,
        cost_by_level,
        cost_by_step,
        cuts_table,
        once_table,
        steps_table,
        tools_table,
    )
    from costmodel.tables.renderings import to_csv, to_dict, to_frame, to_html, to_rich
    from costmodel.tables.rounding import money, percent, with_range
    from costmodel.tables.shop_tables import (
        lives_table,
        machine_hours_table,
        ramp_table,
        regions_table,
        rejects_table,
        scenario_parts_table,
    )
    from costmodel.tables.source_tables import (
        log_table,
        order_sizes_table,
        soft_factors_table,
        stock_check_table,
    )
    from costmodel.tables.table import Column, Table

_HOMES = {
    "Column": "table",
    "Table": "table",
    "advantage_table": "curve_tables",
    "alternatives_table": "decision_tables",
    "awards_table": "doubt_tables",
    "bases_table": "decision_tables",
    "break_even_table": "decision_tables",
    "capacity_table": "decision_tables",
    "cash_table": "curve_tables",
    "cheapest_table": "curve_tables",
    "cost_by_element": "part_tables",
    "cost_by_level": "part_tables",
    "cost_by_step": "part_tables",
    "cost_steps_table": "curve_tables",
    "cuts_table": "part_tables",
    "feeds_table": "make_tables",
    "flags_table": "decision_tables",
    "hour_bases_table": "hour_tables",
    "knowing_table": "doubt_tables",
    "landed_table": "buy_tables",
    "life_table": "make_tables",
    "lives_table": "shop_tables",
    "log_table": "source_tables",
    "machine_hours_table": "shop_tables",
    "money": "rounding",
    "night_table": "make_tables",
    "offers_table": "buy_tables",
    "once_table": "part_tables",
    "order_sizes_table": "source_tables",
    "outcome_table": "decision_tables",
    "payback_table": "decision_tables",
    "percent": "rounding",
    "ramp_table": "shop_tables",
    "rate_table": "hour_tables",
    "regions_table": "shop_tables",
    "register_table": "decision_tables",
    "rejects_table": "shop_tables",
    "risks_table": "make_tables",
    "scenario_parts_table": "shop_tables",
    "scenarios_table": "doubt_tables",
    "setting_table": "make_tables",
    "settings_table": "make_tables",
    "shares_table": "doubt_tables",
    "soft_factors_table": "source_tables",
    "stack_table": "curve_tables",
    "status_table": "decision_tables",
    "steps_table": "part_tables",
    "stock_check_table": "source_tables",
    "swings_table": "curve_tables",
    "switching_table": "decision_tables",
    "to_csv": "renderings",
    "to_dict": "renderings",
    "to_frame": "renderings",
    "to_html": "renderings",
    "to_rich": "renderings",
    "together_table": "doubt_tables",
    "tools_table": "part_tables",
    "volume_table": "curve_tables",
    "with_range": "rounding",
}

__all__ = [
    "Column",
    "Table",
    "advantage_table",
    "alternatives_table",
    "awards_table",
    "bases_table",
    "break_even_table",
    "capacity_table",
    "cash_table",
    "cheapest_table",
    "cost_by_element",
    "cost_by_level",
    "cost_by_step",
    "cost_steps_table",
    "cuts_table",
    "feeds_table",
    "flags_table",
    "hour_bases_table",
    "knowing_table",
    "landed_table",
    "life_table",
    "lives_table",
    "log_table",
    "machine_hours_table",
    "money",
    "night_table",
    "offers_table",
    "once_table",
    "order_sizes_table",
    "outcome_table",
    "payback_table",
    "percent",
    "ramp_table",
    "rate_table",
    "regions_table",
    "register_table",
    "rejects_table",
    "risks_table",
    "scenario_parts_table",
    "scenarios_table",
    "setting_table",
    "settings_table",
    "shares_table",
    "soft_factors_table",
    "stack_table",
    "status_table",
    "steps_table",
    "stock_check_table",
    "swings_table",
    "switching_table",
    "to_csv",
    "to_dict",
    "to_frame",
    "to_html",
    "to_rich",
    "together_table",
    "tools_table",
    "volume_table",
    "with_range",
]


def __getattr__(name: str) -> Any:
    """A public name from its module, at first use: the command that checks a file needs few of them."""
    if name in _HOMES:
        return getattr(import_module(f"costmodel.tables.{_HOMES[name]}"), name)
    raise AttributeError(f"module costmodel.tables has no attribute {name}")
