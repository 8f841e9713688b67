"""The parts of the decision page that are printed, in the order in which a manager reads them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from html import escape

from costmodel.cautions import DEFERRAL, SHORT
from costmodel.cost_lines import Flag
from costmodel.curves import recommended_change
from costmodel.decision import Decision
from costmodel.make_or_buy import AlternativeCost
from costmodel.page.pictures import Pictures
from costmodel.records.study import Study
from costmodel.review import SignOff
from costmodel.tables.buy_tables import cleared_words
from costmodel.tables.decision_tables import alternatives_table, bases_table, capacity_table, switching_table
from costmodel.tables.hour_tables import machines_of
from costmodel.tables.renderings import to_html
from costmodel.tables.reserves import reserves
from costmodel.tables.rounding import percent, plain
from costmodel.tables.table import Table, single
from costmodel.tables.words import (
    ANSWERS,
    change_words,
    condition,
    guessed_and_wide,
    headline,
    known_words,
    reasons,
    title_of,
    volume_words,
)

MOST_CONDITIONS = 3
MOST_FLAGS = 3
TIGHT = 0.8


def section(title: str, content: str) -> str:
    """A section with its heading."""
    return f"<section>\n<h2>{escape(title)}</h2>\n{content}\n</section>"


def bullets(items: tuple[str, ...]) -> str:
    """A list."""
    return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in items) + "</ul>"


def answer(decision: Decision, pictures: Pictures) -> str:
    """The recommendation, its condition, and the money."""
    verdict = decision.verdict
    title = title_of(decision.study, verdict.alternative)
    lean = "It leans to: " if verdict.answer == "too close to call" else ""
    figures = "".join(
        f"<div><dt>{escape(figure.label)}</dt><dd>{escape(figure.value)} "
        f"<small>{escape(figure.small)}</small></dd></div>"
        for figure in headline(decision)
    )
    return (
        '<section class="answer">\n<h2>Recommendation</h2>\n'
        f'<p class="word">{escape(ANSWERS[verdict.answer])}</p>\n'
        f"<p><strong>{escape(lean + title)}.</strong> "
        f"{escape(condition(decision, pictures.volume.cheapest))} "
        f"Why: {escape(reasons(decision))}. {escape(' '.join(reserves(decision)))}</p>\n"
        f'<p class="meta">{escape(change_words(decision, recommended_change(decision)))}</p>\n'
        f'<dl class="figures">{figures}</dl>\n</section>'
    )


def alternatives(decision: Decision) -> str:
    """The alternatives side by side, the one recommended marked in words and by its ground."""
    table = alternatives_table(decision.comparison, decision.outcome_of_all).without("kind")
    table = bare(replace(table, notes=(" ".join(table.notes),)))
    at = list(decision.comparison.alternatives).index(decision.verdict.alternative)
    word = "leaning to" if decision.verdict.answer == "too close to call" else "recommended"
    first = f"{table.rows[at][0]} ({word})"
    rows = (*table.rows[:at], (first, *table.rows[at][1:]), *table.rows[at + 1 :])
    shown = to_html(replace(table, rows=rows), marked=at)
    return section("Alternatives", f'<div class="alternatives scroll" tabindex="0">{shown}</div>')


def bare(table: Table) -> Table:
    """A table below a heading that names it: its last note is its caption; banner and footer mark demo data."""
    return replace(table, title=table.notes[-1] if table.notes else table.title, notes=(), invented=False)


def volume_and_conditions(decision: Decision, pictures: Pictures) -> str:
    """The crossover chart; beside it what must be true, machine hours and the answer on each basis of the rate."""
    if_made = ", if made" if decision.verdict.answer == "buy" else ""
    return (
        f'<div class="wide">\n{section("Cost over volume", pictures.images["volume"])}\n<div>\n'
        f"{section('What must be true', _must_be_true(decision, pictures))}\n"
        f"{section(f'Capacity{if_made}', to_html(bare(capacity_table(decision))))}\n"
        f"{section('Rate bases', to_html(bare(bases_table(decision))))}\n</div>\n</div>"
    )


def _must_be_true(decision: Decision, pictures: Pictures) -> str:
    conditions = decision.conditions()
    words = [volume_words(decision, pictures.volume.cheapest)]
    if not conditions:
        count = len(decision.swings)
        words.insert(0, f"None of {count} uncertain inputs alone turns the answer within its range.")
        return bullets(tuple(words))
    kept = [number for number, swing in enumerate(decision.swings) if swing in conditions[:MOST_CONDITIONS]]
    order = sorted(kept, key=lambda number: conditions.index(decision.swings[number]))
    table = switching_table(decision)
    nearest = replace(
        table.without("at 10 %", "at 90 %", "turns within 10 to 90 %", "status", "address"),
        title="The cheaper side turns where an input alone reaches",
        notes=(),
        invented=False,
    )
    nearest = replace(nearest, rows=tuple(nearest.rows[number] for number in order))
    rest = len(conditions) - len(order)
    if rest > 0:
        words.append(f"{rest} more turning values stand behind this page.")
    return to_html(nearest) + bullets(tuple(words))


def charts_row(pictures: Pictures) -> str:
    """Which inputs matter, and when the money is back."""
    return (
        f'<div class="two">\n{section("Which inputs matter", pictures.images["swings"])}\n'
        f"{section('When the money is back', pictures.images['cash'])}\n</div>"
    )


def known_and_risks(decision: Decision) -> str:
    """What is guessed and measured, the risks that the figures show, and the cautions that they do not."""
    guesses = guessed_and_wide(decision)
    cautions = f"{cleared_words(decision.comparison)} {SHORT}".strip()
    known = f"<p>Of the rows of figures this rests on, {escape(known_words(decision))}.</p>"
    if guesses:
        known += f"<p>Guesses that move the advantage most: {escape('; '.join(guesses))}.</p>"
    return (
        f'<div class="three small">\n{section("What is guessed, what is measured", known)}\n'
        f"{section('Risks', bullets(risks(decision)))}\n"
        f"{section('Cautions', f'<p>{escape(cautions)}</p>')}\n</div>"
    )


def risks(decision: Decision) -> tuple[str, ...]:
    """What the figures themselves warn of: on what every part depends, tight machines, missing parts, flags."""
    comparison = decision.comparison
    chosen, current = comparison.alternatives[decision.verdict.alternative], comparison.current
    found = list(_sources(decision.study, chosen))
    if decision.verdict.answer != "buy":
        found += [
            f"{hours.machine} is tight: {percent(hours.peak_needed / hours.free_month)} of its free hours are "
            "used in the busiest month"
            for hours in decision.capacity
            if hours.free > 0.0 and TIGHT < hours.peak_needed / hours.free_month <= 1.0
        ]
    short, today = (plain(single(cost.short_per_year()), 0) for cost in (chosen, current))
    against = "" if chosen is current else f", {today} today"
    found.append(f"{short} parts a year are expected to be missing when asked for{against}")
    if not decision.study.uncertainty:
        found.append("No ranges are stated: nothing says how sure this is")
    return (*found, *_flag_words(decision.flags))


def _sources(study: Study, chosen: AlternativeCost) -> Iterator[str]:
    """On whom or what every part depends."""
    alternative = study.alternatives[chosen.name]
    if alternative.make:
        yield f"Every part depends on {' and '.join(machines_of(study, alternative.make)) or 'hands alone'}"
    if alternative.buy:
        quote = study.quotes[alternative.buy]
        days, spread = (plain(single(value), 0) for value in (quote.lead_time, quote.lead_time_sd))
        yield f"Every part depends on {quote.title}: {days} days ahead, give or take {spread}"
        yield f"{quote.title}'s offer ends on {quote.valid_to}"


def _flag_words(flags: tuple[Flag, ...]) -> tuple[str, ...]:
    shown = tuple(f"{flag.place}: {flag.text}" for flag in flags[:MOST_FLAGS])
    rest = len(flags) - len(shown)
    return (*shown, f"{rest} more stand behind this page") if rest > 0 else shown


def lines_to_print(decision: Decision) -> int:
    """About how many lines the parts that differ between studies take: more than usual ask for a smaller print."""
    titles = sum(1 + len(cost.title) // 46 for cost in decision.comparison.alternatives.values())
    texts = (decision.study.question, *decision.verdict.reasons, *reserves(decision))
    words = sum(len(text) for text in texts) // 130
    column = 2 * min(MOST_CONDITIONS, len(decision.conditions())) + len(decision.capacity)
    return titles + words + column + 2 * min(MOST_FLAGS, len(decision.flags))


def sign_off(decision: Decision, signed: SignOff | None = None) -> str:
    """Lines to sign on, and by when to look again; who signed already."""
    study = decision.study
    lines = (
        f"Prepared by {study.prepared_by or '________'}, date",
        f"Figures cleared by {study.cleared_by or '________'}, date",
        "Export, customs, safety cleared by, date",
        f"Decided by, date (review by {study.review_date})",
    )
    signs = "".join(f"<p>{escape(line)}</p>" for line in lines)
    kept = (
        f'<p class="small">Signed: {escape("; ".join(signed.lines))}.</p>' if signed and signed.lines else ""
    )
    due = f"<p><strong>Look again:</strong> {escape(signed.due)}.</p>" if signed and signed.due else ""
    small = f'<p class="small">{escape(DEFERRAL)}</p>{kept}{due}'
    return section("Sign-off", f'{small}<div class="sign">{signs}</div>')
