"""The decision page: one self-contained HTML file for a manager to read and sign. No network, no script."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from pathlib import Path

from costmodel.cautions import INVENTED, INVENTED_WORDS
from costmodel.decision import Decision
from costmodel.page.behind import behind_the_page
from costmodel.page.parts import (
    alternatives,
    answer,
    charts_row,
    known_and_risks,
    lines_to_print,
    sign_off,
    volume_and_conditions,
)
from costmodel.page.pictures import Pictures, draw
from costmodel.page.style import CSS, POLICY
from costmodel.review import SignOff
from costmodel.tables.stamp import Stamp, stamp, stamp_words
from costmodel.tables.table import is_invented
from costmodel.writing import write_over

ROOMY_LINES = 17

__all__ = ["Pictures", "draw", "page_html", "write_page"]


BEGINNING = "<!DOCTYPE html>"
"""With what a page begins; only such a file is written over."""


def page_html(
    decision: Decision,
    pictures: Pictures | None = None,
    changed: Iterable[str] = (),
    signed: SignOff | None = None,
) -> str:
    """The page as text; `pictures` are drawn where they are not given, `changed` names inputs changed for this run.

    `signed` is who signed the frozen plan, and whether its inputs are others by now.
    """
    study = decision.study
    drawn = pictures or draw(decision)
    foot = stamp(study, decision.outcome, changed)
    banner = f'<p class="banner">{escape(INVENTED_WORDS)}</p>' if is_invented(study) else ""
    dense = ' class="dense"' if lines_to_print(decision) > ROOMY_LINES else ""
    body = "\n".join(
        (
            banner,
            _heading(decision, foot, signed),
            answer(decision, drawn),
            alternatives(decision),
            volume_and_conditions(decision, drawn),
            charts_row(drawn),
            known_and_risks(decision),
            sign_off(decision, signed),
            f"<footer><p>{escape(_foot(foot))}</p></footer>",
        )
    )
    return (
        f'{BEGINNING}\n<html lang="en"{dense}>\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(study.title)}</title>\n<style>{CSS}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n"
        f"{behind_the_page(decision, drawn)}\n</body>\n</html>\n"
    )


def write_page(
    decision: Decision,
    path: Path | str,
    pictures: Pictures | None = None,
    changed: Iterable[str] = (),
    signed: SignOff | None = None,
) -> Path:
    """Write the page in one piece, over an earlier page or under a new name, and return its path."""
    return write_over(path, page_html(decision, pictures, changed, signed), BEGINNING)


def _heading(decision: Decision, foot: Stamp, signed: SignOff | None) -> str:
    study = decision.study
    moved = (
        f"<p><strong>No longer as signed:</strong> {escape('; '.join(signed.changed))}.</p>"
        if signed and signed.changed
        else ""
    )
    changed = (
        f"<p><strong>Changed for this run:</strong> {escape('; '.join(foot['changed']))}.</p>"
        if foot["changed"]
        else ""
    )
    return (
        f"<header>\n<h1>{escape(study.title)}</h1>\n{moved}{changed}</header>\n"
        f'<section class="run">\n<h2>Question</h2>\n<p>'
        f"{escape(study.question)} "
        f'<span class="meta">Data of {study.as_of}.</span></p>\n</section>'
    )


def _foot(foot: Stamp) -> str:
    notice = f" {INVENTED}." if foot["invented"] else ""
    return f"{stamp_words(foot)}{notice}"
