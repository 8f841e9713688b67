"""What stands behind the page on a screen and is not printed: more charts, every table, each to be taken as CSV."""

from __future__ import annotations

import base64
from html import escape

from costmodel.cautions import CAUTIONS
from costmodel.decision import Decision
from costmodel.page.pictures import Pictures
from costmodel.tables.buy_tables import landed_table, offers_table
from costmodel.tables.curve_tables import (
    advantage_table,
    cash_table,
    cheapest_table,
    stack_table,
    swings_table,
    volume_table,
)
from costmodel.tables.decision_tables import (
    break_even_table,
    flags_table,
    outcome_table,
    payback_table,
    register_table,
    status_table,
    switching_table,
)
from costmodel.tables.part_tables import cost_by_element, cost_by_step, once_table
from costmodel.tables.renderings import to_csv, to_html
from costmodel.tables.table import Table


def behind_the_page(decision: Decision, pictures: Pictures) -> str:
    """The annex of the page: for a screen, closed until it is opened."""
    cautions = "".join(
        f"<li><strong>{escape(caution.subject)}.</strong> {escape(caution.text)}</li>" for caution in CAUTIONS
    )
    tables = "\n".join(_closed(table, name) for name, table in tables_behind(decision, pictures).items())
    return (
        '<aside class="behind">\n<h2>Behind this page</h2>\n'
        "<p>On a screen only; not printed. Figures in the files are exact.</p>\n"
        f"<h3>More charts</h3>\n{pictures.images['stack']}\n"
        f'<div class="two"><div>{pictures.images["advantage"]}</div><div></div></div>\n'
        f"<h3>Tables</h3>\n{tables}\n<h3>Cautions in full</h3>\n<ul>{cautions}</ul>\n</aside>"
    )


def tables_behind(decision: Decision, pictures: Pictures) -> dict[str, Table]:
    """Every table behind the page by its file name; the five of the charts hold the numbers they are drawn from."""
    study = decision.study
    made = decision.make.portions[0].sheet
    return {
        "chart-volume": volume_table(pictures.volume),
        "chart-swings": swings_table(pictures.swings),
        "chart-cash": cash_table(pictures.cash),
        "chart-advantage": advantage_table(pictures.advantage),
        "chart-stack": stack_table(pictures.stack),
        "turning-values": switching_table(decision),
        "how-sure": outcome_table(decision),
        "payback": payback_table(study, decision.payback),
        "break-even": break_even_table(decision.crossings, decision.crossing_range, study=study),
        "cheapest": cheapest_table(pictures.volume),
        "made-by-step": cost_by_step(study, made, with_pay=decision.pay_shown),
        "made-by-element": cost_by_element(study, made),
        "made-once": once_table(study, made),
        "landed": landed_table(decision.comparison),
        "offers": offers_table(decision.comparison),
        "status": status_table(decision),
        "register": register_table(study, decision.register),
        "flags": flags_table(study, decision.flags),
    }


def _closed(table: Table, name: str) -> str:
    data = base64.b64encode(to_csv(table).encode("utf-8-sig")).decode()
    link = f'<a download="{escape(name)}.csv" href="data:text/csv;base64,{data}">As CSV</a>'
    shown = f'<div class="scroll" tabindex="0">{to_html(table)}</div>'
    return f"<details><summary>{escape(table.title)}</summary>\n{shown}\n<p>{link}</p></details>"
