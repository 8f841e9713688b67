"""Results as pictures: figures in one calm style, each with words that say the same. They compute nothing."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from costmodel.charts.amounts import stack_chart, steps_chart, swings_chart
    from costmodel.charts.bridges import bridge_chart, review_chart
    from costmodel.charts.lines import advantage_chart, cash_chart, crossover_chart, total_chart
    from costmodel.charts.shop import (
        feed_chart,
        hours_chart,
        lives_chart,
        ramp_chart,
        regions_chart,
        rejects_chart,
    )
    from costmodel.charts.style import png, svg
    from costmodel.charts.words import alt_text, finding

# The words of all charts are known once those of the shop are, which rest on the others.
_HOMES = {
    "advantage_chart": "lines",
    "alt_text": "shop_words",
    "bridge_chart": "bridges",
    "cash_chart": "lines",
    "crossover_chart": "lines",
    "feed_chart": "shop",
    "finding": "shop_words",
    "hours_chart": "shop",
    "lives_chart": "shop",
    "png": "style",
    "ramp_chart": "shop",
    "regions_chart": "shop",
    "rejects_chart": "shop",
    "review_chart": "bridges",
    "stack_chart": "amounts",
    "steps_chart": "amounts",
    "svg": "style",
    "swings_chart": "amounts",
    "total_chart": "lines",
}

__all__ = [
    "advantage_chart",
    "alt_text",
    "bridge_chart",
    "cash_chart",
    "crossover_chart",
    "feed_chart",
    "finding",
    "hours_chart",
    "lives_chart",
    "png",
    "ramp_chart",
    "regions_chart",
    "rejects_chart",
    "review_chart",
    "stack_chart",
    "steps_chart",
    "svg",
    "swings_chart",
    "total_chart",
]


def __getattr__(name: str) -> Any:
    """A public name from its module, at first use."""
    if name in _HOMES:
        return getattr(import_module(f"costmodel.charts.{_HOMES[name]}"), name)
    raise AttributeError(f"module costmodel.charts has no attribute {name}")
