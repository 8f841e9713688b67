"""What a notebook shows: a table, a chart with its words, cautions, and the stamp below. It computes nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

from matplotlib.figure import Figure

from costmodel.cautions import CAUTIONS
from costmodel.charts.style import png
from costmodel.charts.words import alt_text
from costmodel.records.study import Study
from costmodel.tables import to_csv, to_frame, to_html
from costmodel.tables.stamp import stamp, stamp_words
from costmodel.tables.table import Table
from costmodel.tables.words import Figure as Headline
from costmodel.uncertainty import Outcome

DOTS_PER_INCH = 110.0


class Shown:
    """Something a notebook displays: HTML with its plain text and file, or a picture with its words."""

    def __init__(self, text: str, html: str = "", picture: bytes = b"", csv: str = "") -> None:
        self._text, self._html, self._picture, self._csv = text, html, picture, csv

    def __repr__(self) -> str:
        return self._text

    def _repr_mimebundle_(self, **_: object) -> tuple[dict[str, Any], dict[str, Any]]:
        data: dict[str, Any] = {"text/plain": self._text}
        if self._html:
            data["text/html"] = self._html
        if self._csv:
            data["text/csv"] = self._csv
        if self._picture:
            data["image/png"] = self._picture
        return data, {"image/png": {"alt": self._text}} if self._picture else {}


def table(shown: Table, *, folded: bool = False) -> Shown:
    """A table as a reader sees it: rounded, with units, notes and the mark of invented data.

    A ``folded`` one shows its title only until it is opened: the numbers behind a chart, say.
    """
    html, text = to_html(shown), to_frame(shown).to_string(index=False)
    if folded:
        text = f"{shown.title}: {len(shown.rows)} rows"
        html = f"<details><summary>{escape(text)}</summary>\n{html}\n</details>"
    return Shown(text, html, csv=to_csv(shown))


def chart(figure: Figure, data: object) -> Shown:
    """A chart, with the words that stand for it where it cannot be seen."""
    return Shown(alt_text(data), picture=png(figure, DOTS_PER_INCH))


def words(*lines: str) -> Shown:
    """Sentences that the package makes, one a line."""
    return Shown("\n".join(lines), "".join(f"<p>{escape(line)}</p>" for line in lines))


def answer(first: str, *more: str, asked: str = "") -> Shown:
    """The answer in a frame, larger than what is said about it; the question above it."""
    question = f"<p>{escape(asked)}</p>" if asked else ""
    said = "".join(f"<p>{escape(line)}</p>" for line in more if line)
    html = f'{question}<div class="answer"><p class="word"><strong>{escape(first)}</strong></p>{said}</div>'
    return Shown("\n".join(line for line in (asked, first, *more) if line), html)


def figures(against: str, shown: Iterable[Headline]) -> Shown:
    """The headline figures side by side, below what they compare."""
    listed = list(shown)
    cells = "".join(
        f"<div><dt>{escape(it.label)}</dt><dd>{escape(it.value)} <small>{escape(it.small)}</small></dd></div>"
        for it in listed
    )
    text = "\n".join([against, *(f"{it.label}: {it.value} ({it.small})" for it in listed)])
    return Shown(text, f'<p>{escape(against)}</p><dl class="figures">{cells}</dl>')


def cautions() -> Shown:
    """What no figure settles, and who has to be asked instead."""
    items = "".join(f"<li><b>{escape(item.subject)}.</b> {escape(item.text)}</li>" for item in CAUTIONS)
    return Shown("\n".join(f"{item.subject}: {item.text}" for item in CAUTIONS), f"<ul>{items}</ul>")


def footer(
    study: Study, outcome: Outcome | None = None, changed: Mapping[str, object] | None = None
) -> Shown:
    """On what the figures above rest: rates, dates, library, seed, draws, fingerprint, changed inputs."""
    said: Iterable[str] = (f"{address} = {value}" for address, value in (changed or {}).items())
    given = stamp(study, outcome, said)
    return words(*(line for line in (given["notice"], stamp_words(given)) if line))
