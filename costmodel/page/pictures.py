"""The pictures of the page and the numbers they are drawn from."""

from __future__ import annotations

import base64
from collections.abc import Callable
from html import escape
from typing import TYPE_CHECKING, NamedTuple

from costmodel.curves import (
    AdvantageCurve,
    CashCurve,
    CostStack,
    SwingBars,
    VolumeCurves,
    advantage_curve,
    cash_over_months,
    cost_over_volume,
    cost_stack,
    ranked_swings,
    recommended_change,
)
from costmodel.decision import Decision

if TYPE_CHECKING:
    from matplotlib.figure import Figure


class Pictures(NamedTuple):
    """Each picture as an image element with its text, and the numbers behind all of them."""

    volume: VolumeCurves
    stack: CostStack
    cash: CashCurve
    swings: SwingBars
    advantage: AdvantageCurve
    images: dict[str, str]


def draw(decision: Decision, tick: Callable[[], None] = lambda: None) -> Pictures:
    """Compute and draw every picture of the page; `tick` is called after each."""
    from costmodel import charts

    study = decision.study
    volume = cost_over_volume(decision)
    stack = cost_stack(decision.comparison)
    cash = cash_over_months(study, recommended_change(decision))
    swings = ranked_swings(decision)
    advantage = advantage_curve(study, decision.outcome)
    todo: tuple[tuple[str, object, Callable[[], Figure]], ...] = (
        ("volume", volume, lambda: charts.crossover_chart(volume, (4.8, 2.6))),
        ("swings", swings, lambda: charts.swings_chart(swings, (3.75, 1.65), most=5)),
        ("cash", cash, lambda: charts.cash_chart(cash, (3.75, 1.65))),
        ("advantage", advantage, lambda: charts.advantage_chart(advantage, (3.75, 1.95))),
        ("stack", stack, lambda: charts.stack_chart(stack, (7.5, 3.0))),
    )
    images = {}
    for name, data, figure in todo:
        images[name] = image(charts.svg(figure()), charts.alt_text(data))
        tick()
    return Pictures(volume, stack, cash, swings, advantage, images)


def image(picture: str, words: str) -> str:
    """An SVG picture as an image element that carries it whole."""
    data = base64.b64encode(picture.encode()).decode()
    return f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(words)}">'
