"""Sliders in a notebook: inputs moved by hand, the verdict and the crossover chart worked out anew."""

from __future__ import annotations

import base64
import time
from collections.abc import Iterable, Mapping
from html import escape
from typing import Any, NamedTuple

from costmodel.charts import alt_text, crossover_chart
from costmodel.charts.style import png, quick_png
from costmodel.crossings import VOLUME
from costmodel.curves import cost_over_volume
from costmodel.decision import best_pair, decide, volume_range
from costmodel.errors import InputError
from costmodel.records.address import unit_at, value_at
from costmodel.records.study import Study
from costmodel.shop_curves import span_of
from costmodel.tables.rounding import plain, scaled
from costmodel.tables.words import described, reasons, recommendation

DRAWS = 512
DOTS_PER_INCH = 110.0
STEPS = 100
LEAST_YIELD = 0.6
TIME_FACTORS = (0.5, 2.0)
SIZE = (7.2, 3.2)


class Handle(NamedTuple):
    """A slider: what it moves, between which values, and where the study stands."""

    address: str
    label: str
    low: float
    high: float
    base: float
    unit: str


class Moved(NamedTuple):
    """What the model says with some inputs moved."""

    words: tuple[str, ...]
    picture: bytes
    alt: str


def handles(study: Study, addresses: Iterable[str] = ()) -> tuple[Handle, ...]:
    """A slider for each address; without any, for volume, duty, cycle time and yield where the study has them."""
    home = study.rates.year.home_currency
    spans = {address: span_of(study, address) for address in addresses} or _usual(study)
    return tuple(
        Handle(
            address,
            described(study, address),
            *span,
            float(value_at(study, address)),
            unit_at(study, address, home),
        )
        for address, span in spans.items()
    )


def _usual(study: Study) -> dict[str, tuple[float, float]]:
    """Volume; the highest duty of an offer; programme minutes and the poorest yield of the best way to make."""
    spans = {VOLUME: tuple(map(float, volume_range(study)))}
    named = {name for quote in study.quotes.values() for name in quote.duties}
    duties = {name: float(duty.rate) for name, duty in study.rates.duties.items() if name in named}
    if duties:
        most = max(duties, key=lambda name: duties[name])
        spans[f"rates.duties.{most}.rate"] = (0.0, 2.0 * duties[most])
    route = study.alternatives[best_pair(study)[0]].make
    place = f"part.routes.{route}"
    spans[f"{place}.time_factor"] = TIME_FACTORS
    yields = {
        name: float(step.step_yield)
        for name, step in study.part.routes[route].steps.items()
        if step.kind != "outside"
    }
    if yields:
        poorest = min(yields, key=lambda name: yields[name])
        spans[f"{place}.steps.{poorest}.step_yield"] = (min(LEAST_YIELD, yields[poorest]), 1.0)
    return spans  # type: ignore[return-value]


def moved(
    study: Study, values: Mapping[str, float], *, draws: int = DRAWS, seed: int = 1, quick: bool = True
) -> Moved:
    """The decision with inputs held at values: the same rules and the same model as on the page, fewer draws.

    ``quick`` draws the chart once, with a given room for its labels; else it is laid out as everywhere.
    """
    decision = decide(study.settled(dict(values)) if values else study, draws=draws, seed=seed)
    curves = cost_over_volume(decision)
    return Moved(
        (
            recommendation(decision),
            f"Why: {reasons(decision)}.",
            f"Cash over {study.finance.horizon} months, worth today, in {plain(decision.outcome.draws, 0)} draws of "
            f"every uncertain input{'; those moved are held where they stand' if values else ''}.",
        ),
        (quick_png if quick else png)(crossover_chart(curves, SIZE), DOTS_PER_INCH),
        alt_text(curves),
    )


class Explorer:
    """Sliders above a verdict and a chart; where nothing can be moved, the study as it stands."""

    def __init__(
        self, study: Study, addresses: Iterable[str] = (), draws: int = DRAWS, seed: int = 1
    ) -> None:
        self.study, self.handles, self.draws, self.seed = study, handles(study, addresses), draws, seed
        self.still = moved(study, {}, draws=draws, seed=seed, quick=False)
        self.seconds = 0.0

    def html(self, values: Mapping[str, float]) -> str:
        """Verdict and chart with inputs held at values; inputs that the model refuses are said in words."""
        began = time.perf_counter()
        try:
            found = moved(self.study, values, draws=self.draws, seed=self.seed) if values else self.still
        except InputError as error:
            return f"<p>{escape(str(error))}</p>"
        finally:
            self.seconds = time.perf_counter() - began
        first, *rest = (escape(line) for line in found.words)
        data = base64.b64encode(found.picture).decode()
        image = f'<img src="data:image/png;base64,{data}" alt="{escape(found.alt)}">'
        return f"<p><b>{first}</b></p>{''.join(f'<p>{line}</p>' for line in rest)}{image}"

    def widget(self) -> Any:
        """The sliders with what they change."""
        import ipywidgets

        sliders = {handle.address: _slider(ipywidgets, handle) for handle in self.handles}
        view = ipywidgets.HTML(self.html({}))

        def redraw(_: object) -> None:
            view.value = self.html(_values(self.handles, sliders))

        for slider in sliders.values():
            slider.observe(redraw, "value")
        return ipywidgets.VBox([*sliders.values(), view])

    def __repr__(self) -> str:
        return "\n".join((*self.still.words, self.still.alt))

    def _repr_mimebundle_(self, **_: object) -> tuple[dict[str, Any], dict[str, Any]]:
        live = self.widget()._repr_mimebundle_()
        data = {**live, "text/plain": repr(self), "image/png": self.still.picture}
        return data, {"image/png": {"alt": self.still.alt}}


def explore(study: Study, *addresses: str, draws: int = DRAWS, seed: int = 1) -> Explorer:
    """Sliders for a notebook; a page shows the chart of the study as it stands."""
    return Explorer(study, addresses, draws, seed)


def _slider(widgets: Any, handle: Handle) -> Any:
    (low, unit), (high, _), (base, _) = (
        scaled(value, handle.unit) for value in (handle.low, handle.high, handle.base)
    )
    words = f"{handle.label} [{unit}]" if unit not in ("", "-") else f"{handle.label} [times what is stated]"
    return widgets.FloatSlider(
        value=base,
        min=low,
        max=high,
        step=(high - low) / STEPS,
        description=words,
        continuous_update=False,
        readout_format=".4g",
        style={"description_width": "16em"},
        layout={"width": "38em"},
    )


def _values(handles: Iterable[Handle], sliders: Mapping[str, Any]) -> dict[str, float]:
    """The inputs that were moved, in the units of the model; a slider at its start moves nothing."""
    found = {}
    for handle in handles:
        shown = float(sliders[handle.address].value)
        share = 100.0 if handle.unit == "fraction" else 1.0
        value = min(handle.high, max(handle.low, shown / share))
        if abs(value - handle.base) > 1e-9 * max(1.0, abs(handle.base)):
            found[handle.address] = value
    return found
