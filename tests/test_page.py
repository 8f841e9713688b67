"""The decision page: whole in one file, in the order a manager reads, for every reader, on one sheet of paper."""

from __future__ import annotations

import base64
import os
import re
import shutil
import subprocess
from html import escape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from matplotlib.colors import to_rgb

from costmodel import tables
from costmodel.cautions import CAUTIONS, INVENTED, INVENTED_WORDS
from costmodel.decision import Decision, decide
from costmodel.errors import InputError
from costmodel.make_or_buy import compare
from costmodel.page import draw, page_html, write_page
from costmodel.page.behind import tables_behind
from costmodel.page.style import PAIRS
from costmodel.records.study import Alternative, Study
from costmodel.tables import words
from costmodel.tables.buy_tables import cleared_words
from costmodel.tables.rounding import APART
from costmodel.writing import write_whole

DEMO = ("encoder-cover", "saddle-clamp", "worm-shaft")
BROWSER = shutil.which("chromium") or "/usr/bin/chromium"
LARGEST = 400_000
SECTIONS = [
    "Question",
    "Recommendation",
    "Alternatives",
    "Cost over volume",
    "What must be true",
    "Capacity",
    "Rate bases",
    "Which inputs matter",
    "When the money is back",
    "What is guessed, what is measured",
    "Risks",
    "Cautions",
    "Sign-off",
]


class Outline(HTMLParser):
    """The elements of a page in order, with their attributes and the text inside headings and captions."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: dict[str, list[str]] = {}
        self.open: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        self.open.append(tag)
        self.texts.setdefault(tag, []).append("")

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        for tag in set(self.open):
            self.texts[tag][-1] += data

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.fixture(scope="session")
def decisions(demo: dict[str, Study]) -> dict[str, Decision]:
    return {name: decide(study, draws=256) for name, study in demo.items()}


@pytest.fixture(scope="session")
def pages(decisions: dict[str, Decision]) -> dict[str, str]:
    return {name: page_html(decision) for name, decision in decisions.items()}


@pytest.fixture(params=DEMO)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def html(name: str, pages: dict[str, str]) -> str:
    return pages[name]


# --- whole in one file -------------------------------------------------------------------------------


def test_nothing_is_fetched_and_nothing_runs(html: str) -> None:
    outline = Outline(html)
    assert not re.search(r"https?:|<script|javascript:|@import|url\(", html)
    assert not any(name.startswith("on") for _, attributes in outline.elements for name in attributes)
    assert {tag for tag, _ in outline.elements}.isdisjoint({"script", "link", "iframe", "object", "form"})
    sources = [value for _, it in outline.elements for key, value in it.items() if key in ("src", "href")]
    assert sources
    assert all(source.startswith("data:") for source in sources)


def test_pictures_ask_for_nothing_either(html: str) -> None:
    pictures = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', html)
    assert len(pictures) == 5
    for picture in pictures:
        text = base64.b64decode(picture).decode()
        assert not re.search(r"<script|<image|@import|url\((?!#)", text)
        assert set(re.findall(r'href="(.)', text)) <= {"#"}


def test_the_page_is_small_enough_to_send(html: str) -> None:
    assert len(html.encode()) < LARGEST


def test_the_same_decision_gives_the_same_page(decisions: dict[str, Decision], pages: dict[str, str]) -> None:
    assert page_html(decisions["worm-shaft"]) == pages["worm-shaft"]


# --- for every reader --------------------------------------------------------------------------------


def test_headings_are_in_order(html: str) -> None:
    outline = Outline(html)
    levels = [int(tag[1]) for tag, _ in outline.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_the_parts_come_in_the_order_in_which_they_are_read(html: str) -> None:
    found = [re.sub(", if made", "", text) for text in Outline(html).texts["h2"]]
    assert found == [*SECTIONS, "Behind this page"]


def test_language_title_and_signs_are_stated(html: str, name: str, decisions: dict[str, Decision]) -> None:
    outline = Outline(html)
    assert outline.all("html")[0]["lang"] == "en"
    assert outline.texts["title"] == [decisions[name].study.title]
    assert outline.all("meta")[0]["charset"] == "utf-8"
    assert html.startswith("<!DOCTYPE html>")


def test_every_picture_has_words(html: str) -> None:
    images = Outline(html).all("img")
    assert len(images) == 5
    assert all(len(image["alt"]) > 100 for image in images)


def test_every_table_has_one_caption_and_scopes(html: str) -> None:
    bodies = re.findall(r"<table.*?</table>", html, re.DOTALL)
    assert len(bodies) > 15
    for body in bodies:
        assert body.count("<caption>") == 1
        assert re.search(r"<caption>[^<]+", body)
        assert 'scope="col"' in body
        assert body.count("<tr") - 1 == body.count('scope="row"')


def luminance(ink: str) -> float:
    """Relative luminance as WCAG 2.1 defines it (from memory)."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in to_rgb(ink)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize(("ink", "ground"), PAIRS)
def test_inks_stand_out_from_their_ground(ink: str, ground: str, pages: dict[str, str]) -> None:
    high, low = sorted((luminance(ink), luminance(ground)), reverse=True)
    assert (high + 0.05) / (low + 0.05) >= 4.5
    assert ink in pages["worm-shaft"]


# --- what it says ------------------------------------------------------------------------------------


def test_the_page_answers_the_question(html: str, name: str, decisions: dict[str, Decision]) -> None:
    decision = decisions[name]
    main = html[: html.index("</main>")]
    wanted = [
        decision.study.question,
        words.ANSWERS[decision.verdict.answer],
        decision.study.alternatives[decision.verdict.alternative].title,
        *(figure.value for figure in words.headline(decision)),
        *(alternative.title for alternative in decision.study.alternatives.values()),
        words.known_words(decision),
        "Prepared by",
        "Decided by",
        str(decision.study.review_date),
        decision.fingerprint,
        "costmodel ",
        f"{decision.outcome.draws} draws, seed {decision.outcome.seed}",
        f"Rates {decision.study.rates.year.year}",
    ]
    text = re.sub(r"<[^>]+>", "", main)
    for piece in wanted:
        assert piece in text.replace("&quot;", '"').replace("&#x27;", "'"), piece


def test_hours_that_are_short_stand_on_the_page(name: str, html: str, decisions: dict[str, Decision]) -> None:
    for hours in decisions[name].capacity:
        row = re.search(rf'<th scope="row">{hours.machine}</th>(.*?)</tr>', html)
        assert row is not None
        assert ("fits" in row.group(1)) == (hours.short == 0.0)


def test_the_recommended_row_is_marked_in_words(name: str, html: str, decisions: dict[str, Decision]) -> None:
    word = "leaning to" if decisions[name].verdict.answer == "too close to call" else "recommended"
    marked = re.findall(r'<tr class="chosen"><th scope="row">([^<]+)', html)
    assert len(marked) == 1
    assert marked[0].endswith(f"({word})")


def test_demo_data_are_called_invented_on_top_and_at_the_foot(html: str) -> None:
    main = html[: html.index("</main>")]
    assert f'<p class="banner">{INVENTED_WORDS}</p>' in main
    assert INVENTED in main[main.index("<footer>") :]


def test_real_data_are_not(decisions: dict[str, Decision], demo: dict[str, Study]) -> None:
    study = demo["worm-shaft"].with_inputs(
        dict.fromkeys(("invented", "rates.year.invented", "part.invented"), False)
    )
    page = page_html(decide(study, draws=64))
    assert INVENTED not in page
    assert INVENTED.lower() not in page


def test_inputs_changed_for_this_run_are_named(decisions: dict[str, Decision]) -> None:
    page = page_html(decisions["worm-shaft"], changed=["demand.per_year = 2500 part/yr"])
    assert page.count("demand.per_year = 2500 part/yr") == 2


def test_words_from_files_cannot_act_as_markup(demo: dict[str, Study]) -> None:
    study = demo["worm-shaft"].with_inputs({"question": "<script>alert(1)</script> & more?"})
    page = page_html(decide(study, draws=64))
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_flags_stand_on_the_page(decisions: dict[str, Decision], pages: dict[str, str]) -> None:
    flags = decisions["worm-shaft"].flags
    assert flags, "an expired offer is compared all the same"
    for flag in flags[:3]:
        assert f"{flag.place}: {flag.text}" in pages["worm-shaft"]


def test_a_study_without_ranges_says_that_nothing_is_sure(plain: Study) -> None:
    page = page_html(decide(plain, draws=64))
    assert "No ranges are stated" in page


def test_the_page_names_who_cleared_the_duty(
    decisions: dict[str, Decision], pages: dict[str, str], plain: Study
) -> None:
    """The tool classifies nothing: whoever stated the layers and fees is named with his day, on the sheet itself."""
    for name, decision in decisions.items():
        said = cleared_words(decision.comparison)
        assert (
            said == "Duty and entry fees: cleared by customs broker (invented), 2026-03-02; not checked here."
        )
        assert escape(said) in pages[name]
    assert cleared_words(compare(plain)) == ""


def test_cautions_name_those_who_decide_otherwise() -> None:
    text = " ".join(f"{it.subject} {it.text}" for it in CAUTIONS)
    for word in ("fire", "insurer", "Customs", "broker", "Export", "Origin", "Tax", "accountant", "lawyer"):
        assert word in text
    assert "local codes" in text
    assert "prices" in text


def test_every_table_behind_the_page_can_be_taken_as_csv(
    name: str, html: str, decisions: dict[str, Decision]
) -> None:
    files = {
        attributes["download"]: base64.b64decode(attributes["href"].partition(",")[2]).decode("utf-8-sig")
        for attributes in Outline(html).all("a")
    }
    decision = decisions[name]
    wanted = tables_behind(decision, draw(decision))
    assert {f"{key}.csv": tables.to_csv(table) for key, table in wanted.items()} == files


# --- written whole or not at all ---------------------------------------------------------------------


def test_the_page_is_written_where_asked(tmp_path: Path, decisions: dict[str, Decision]) -> None:
    path = tmp_path / "page.html"
    path.write_text("<!DOCTYPE html>an earlier page")
    assert write_page(decisions["worm-shaft"], path) == path
    assert path.read_text(encoding="utf-8").endswith("</html>\n")
    assert [it.name for it in tmp_path.iterdir()] == ["page.html"]


def test_a_page_never_takes_the_place_of_a_file_of_another_kind(
    tmp_path: Path, decisions: dict[str, Decision]
) -> None:
    study = tmp_path / "study.toml"
    study.write_text('name = "mine"\n')
    with pytest.raises(InputError, match="Nothing is written over"):
        write_page(decisions["worm-shaft"], study)
    assert study.read_text() == 'name = "mine"\n'


def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "page.html"
    path.write_text("<!DOCTYPE html>old")

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(InputError, match="no space left"):
        write_whole(path, "new")
    assert path.read_text() == "<!DOCTYPE html>old"
    assert [it.name for it in tmp_path.iterdir()] == ["page.html"]


def test_a_file_is_whole_before_it_takes_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "page.html"
    path.write_text("old")
    seen: list[str] = []

    def rename(beside: Path, target: Path) -> None:
        seen.append(beside.read_text())
        assert target.read_text() == "old"
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "replace", rename)
    with pytest.raises(InputError):
        write_whole(path, "new")
    assert seen == ["new"]
    assert path.read_text() == "old"
    assert [it.name for it in tmp_path.iterdir()] == ["page.html"]


@pytest.mark.parametrize(("where", "words_of_it"), [("missing/page.html", "exists"), ("", "folder")])
def test_a_place_that_cannot_be_written_is_said(tmp_path: Path, where: str, words_of_it: str) -> None:
    with pytest.raises(InputError, match=words_of_it):
        write_whole(tmp_path / where, "text")


# --- on one sheet of paper ---------------------------------------------------------------------------


def printed_pages(html: str, paper: str, folder: Path) -> int:
    """How many sheets a browser prints the page on."""
    source, target = folder / "page.html", folder / "page.pdf"
    source.write_text(html.replace("@page {", f"@page {{ size: {paper};"), encoding="utf-8")
    command = [
        BROWSER,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-background-networking",
        "--no-first-run",
        f"--user-data-dir={folder / 'profile'}",
        "--no-pdf-header-footer",
        f"--print-to-pdf={target}",
        source.as_uri(),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    data = target.read_bytes()
    sizes = re.findall(rb"/MediaBox \[0 0 ([\d.]+)", data)
    assert {round(float(size)) for size in sizes} == {{"A4": 595, "letter": 612}[paper]}
    return len(re.findall(rb"/Type\s*/Page\b", data))


needs_browser = pytest.mark.skipif(not Path(BROWSER).is_file(), reason="no browser to print with")


@needs_browser
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_the_page_prints_on_one_sheet(html: str, paper: str, tmp_path: Path) -> None:
    assert printed_pages(html, paper, tmp_path) == 1


@needs_browser
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_a_full_page_prints_on_one_sheet_too(paper: str, tmp_path: Path, demo: dict[str, Study]) -> None:
    study = demo["encoder-cover"]
    more = {
        f"alternatives.more-{number}": Alternative(
            name=f"more-{number}",
            title=f"Buy from Overseas B in lots of {400 + 100 * number} parts, packed by the two dozen",
            buy="overseas-b",
            lot=400.0 + 100.0 * number,
            override="they have said in writing that the offer will be renewed by the end of this month",
        )
        for number in range(5)
    }
    full = study.with_inputs({**more, "question": f"{study.question} {study.question}"})
    page = page_html(decide(full, draws=64))
    assert 'class="dense"' in page
    assert printed_pages(page, paper, tmp_path) == 1


@needs_browser
def test_a_second_sheet_would_be_noticed(tmp_path: Path, pages: dict[str, str]) -> None:
    longer = pages["worm-shaft"].replace("</main>", f"{'<p>more</p>' * 60}</main>")
    assert printed_pages(longer, "A4", tmp_path) > 1


def test_no_break_spaces_hold_numbers_together(html: str) -> None:
    assert re.search(rf"\d{APART}\d{{3}}", html)
