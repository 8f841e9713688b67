"""Pages in a real browser, the network cut off: nothing fails, nothing is asked for, nothing is too wide, each is
for every reader, and prints; JupyterLab opens and runs a notebook. Slow, and one browser for all of it.

Accessibility is judged by axe-core (MPL-2.0), which the package axe-playwright-python carries.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

import nbformat
import pytest

from costmodel.decision import decide
from costmodel.page import page_html
from costmodel.records.study import Study
from costmodel.sharing.notebook_page import page_of
from costmodel.sharing.paper import find_browser

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
DECISIONS = ("encoder-cover", "saddle-clamp", "worm-shaft")
BROWSER = find_browser()
OPTIONS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
WIDTHS = {"phone": 390, "A4": 794, "laptop": 1280}
HEIGHT = 900
PAPER_WIDTH = 718
"""A4 between its margins [px]."""
MOST_SHEETS = 6
SERIOUS = ("serious", "critical")
STARTS_WITHIN = 60.0
RUNS_WITHIN = 90_000.0

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(BROWSER is None and "CI" not in os.environ, reason="no browser to open pages with"),
]


class Opened(NamedTuple):
    """A page in the browser and what went wrong with it so far."""

    page: Any
    faults: list[str]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=BROWSER, args=list(OPTIONS))
        yield started
        started.close()


@pytest.fixture(scope="module")
def axe() -> str:
    """The script that judges accessibility."""
    return files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def suite(demo: dict[str, Study], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every page that travels: the notebooks as they are stored, which CI holds against a run, and the decisions."""
    folder = tmp_path_factory.mktemp("suite")
    for path in NOTEBOOKS:
        page = page_of(nbformat.read(path, as_version=4))
        (folder / f"{path.stem}.html").write_text(page, encoding="utf-8")
    for name in DECISIONS:
        page = page_html(decide(demo[name], draws=256))
        (folder / f"decision-page-{name}.html").write_text(page, encoding="utf-8")
    return folder


# --- the checks ------------------------------------------------------------------------------------------


def opened(browser: Any, path: Path) -> Opened:
    """A file in a browser without network: whatever it asks for beside itself is told and goes nowhere."""
    context = browser.new_context(bypass_csp=True)
    context.set_offline(True)
    page, faults = context.new_page(), []  # type: ignore[var-annotated]

    def guard(route: Any) -> None:
        if route.request.url == path.as_uri():
            route.continue_()
        else:
            faults.append(f"asks for {route.request.url}")
            route.abort()

    context.route(lambda url: not url.startswith("data:"), guard)
    page.on("console", lambda it: faults.append(f"console: {it.text}") if it.type == "error" else None)
    page.on("pageerror", lambda error: faults.append(f"error: {error}"))
    page.on("requestfailed", lambda asked: faults.append(f"failed: {asked.url[:80]}"))
    page.goto(path.as_uri(), wait_until="load")
    return Opened(page, faults)


def too_wide(page: Any) -> list[str]:
    """Widths of a screen at which the page has to be pushed sideways."""
    found = []
    for name, width in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": HEIGHT})
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            found.append(f"{wide} px wide at {name}, {width} px")
    return found


def cut_on_paper(page: Any) -> list[str]:
    """Tables and pictures that are wider than A4 paper, where nothing can be pushed."""
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER_WIDTH, "height": HEIGHT})
    script = """(most) => [...document.querySelectorAll('table, img, pre')].filter(it => it.scrollWidth > most)
        .map(it => `${it.scrollWidth} px on paper: ${(it.caption || it).innerText || it.alt}`.slice(0, 90))"""
    wide = page.evaluate(script, PAPER_WIDTH + 4)
    page.emulate_media(media="screen")
    return [str(each) for each in wide]


def barriers(page: Any, axe: str, width: str, left_out: str = "") -> list[str]:
    """Serious and critical violations that axe-core finds at a width, a rule left out."""
    page.set_viewport_size({"width": WIDTHS[width], "height": HEIGHT})
    page.evaluate(axe)
    rules = {left_out: {"enabled": False}} if left_out else {}
    result = page.evaluate("rules => axe.run({resultTypes: ['violations'], rules})", rules)
    return [
        f"{it['id']} ({it['impact']}, {width}, {len(it['nodes'])}): {it['nodes'][0]['html'][:120]}"
        for it in result["violations"]
        if it["impact"] in SERIOUS
    ]


def sheets(page: Any, paper: str) -> int:
    """On how many sheets the page prints."""
    data = page.pdf(format=paper, prefer_css_page_size=True)
    return len(re.findall(rb"/Type\s*/Page\b", data))


class Judged(NamedTuple):
    """Everything that goes wrong with a page on screens, on paper, for a reader with other means; and its sheets."""

    faults: list[str]
    sheets: dict[str, int]


def judged(browser: Any, path: Path, axe: str) -> Judged:
    """A page as it opens, then with all that is folded opened; the contrast of its inks is looked at once."""
    page, faults = opened(browser, path)
    printed = {paper: sheets(page, paper) for paper in ("A4", "Letter")}
    found = barriers(page, axe, "laptop")
    page.evaluate("document.querySelectorAll('details').forEach(it => { it.open = true })")
    found += [*too_wide(page), *cut_on_paper(page), *barriers(page, axe, "phone", "color-contrast")]
    page.context.close()
    return Judged([*faults, *found], printed)


# --- every page ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [path.stem for path in NOTEBOOKS])
def test_a_notebooks_page_is_sound_and_prints_on_few_sheets(
    browser: Any, suite: Path, axe: str, name: str
) -> None:
    faults, printed = judged(browser, suite / f"{name}.html", axe)
    assert faults == []
    assert all(1 <= count <= MOST_SHEETS for count in printed.values())


@pytest.mark.parametrize("name", DECISIONS)
def test_a_decision_page_is_sound_and_prints_on_one_sheet(
    browser: Any, suite: Path, axe: str, name: str
) -> None:
    assert judged(browser, suite / f"decision-page-{name}.html", axe) == ([], {"A4": 1, "Letter": 1})


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("<script>undefinedThing()</script>", "error: undefinedThing"),
        ("<script>console.error('no')</script>", "console: no"),
        ('<img src="http://192.0.2.1/a.png" alt="">', "asks for http://192.0.2.1/a.png"),
        ("<script>fetch('http://192.0.2.1/b')</script>", "asks for http://192.0.2.1/b"),
        ('<div style="width:1300px">wide</div>', "px wide at laptop"),
        ('<div style="width:700px">wide</div>', "px wide at phone"),
        (f"<table><caption>c</caption><tr><td>{'w' * 200}</td></tr></table>", "px on paper: c"),
        ('<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">', "image-alt (critical"),
        ('<p style="color:#aaa">pale</p>', "color-contrast (serious"),
    ],
)
def test_a_page_with_a_fault_is_caught(browser: Any, axe: str, tmp_path: Path, body: str, words: str) -> None:
    path = tmp_path / "bad.html"
    head = '<html lang="en"><head><title>t</title></head>'
    path.write_text(f"<!DOCTYPE html>{head}<body><main><h1>Sound</h1>{body}</main></body></html>")
    assert words in "\n".join(judged(browser, path, axe).faults)


def test_a_sound_page_has_no_fault_and_a_long_one_more_sheets(browser: Any, axe: str, tmp_path: Path) -> None:
    path = tmp_path / "long.html"
    head = '<html lang="en"><head><title>t</title></head>'
    path.write_text(f"<!DOCTYPE html>{head}<body><main><h1>Sound</h1>{'<p>p</p>' * 90}</main></body></html>")
    faults, printed = judged(browser, path, axe)
    assert faults == []
    assert min(printed.values()) > 1


# --- the notebooks themselves ----------------------------------------------------------------------------


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@pytest.fixture
def laboratory(tmp_path: Path) -> Iterator[tuple[str, str]]:
    """JupyterLab on a copy of the notebooks: its address and token; ended by its own process."""
    for name in ("notebooks", "data"):
        shutil.copytree(ROOT / name, tmp_path / name)
    port, token = free_port(), "only-for-this-test"
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", f"--port={port}", "--ip=127.0.0.1"]
    command += ["--allow-root", f"--IdentityProvider.token={token}", f"--ServerApp.root_dir={tmp_path}"]
    command += ["--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url="]
    own = {"CONFIG_DIR": "config", "RUNTIME_DIR": "run", "DATA_DIR": "share"}
    settings = {f"JUPYTER_{name}": str(tmp_path / folder) for name, folder in own.items()}
    settings |= {"JUPYTERLAB_WORKSPACES_DIR": str(tmp_path / "work")}
    address = f"http://127.0.0.1:{port}"
    with (tmp_path / "log").open("w") as log:
        server = subprocess.Popen(command, env={**os.environ, **settings}, stdout=log, stderr=log)
        try:
            wait_for(f"{address}/api", tmp_path / "log")
            yield address, token
        finally:
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


def wait_for(address: str, log: Path) -> None:
    """Return as soon as a server answers."""
    ends = time.monotonic() + STARTS_WITHIN
    while True:
        try:
            urllib.request.urlopen(address, timeout=2).close()
            return
        except OSError:
            assert time.monotonic() < ends, log.read_text()
            time.sleep(0.3)


def test_a_notebook_opens_runs_and_its_sliders_move_in_jupyterlab(
    browser: Any, laboratory: tuple[str, str]
) -> None:
    address, token = laboratory
    context = browser.new_context(viewport={"width": 1366, "height": HEIGHT})
    outside: list[str] = []
    context.route(
        lambda url: not url.startswith((address, "data:", "blob:")),
        lambda route: (outside.append(route.request.url), route.abort()),
    )
    page = context.new_page()
    page.goto(f"{address}/lab/tree/notebooks/break_even_volume.ipynb?reset&token={token}")
    page.wait_for_selector(".jp-Notebook h1", timeout=RUNS_WITHIN)
    assert "At what volume does the answer flip?" in page.inner_text(".jp-Notebook h1")
    page.get_by_role("menuitem", name="Edit", exact=True).click()
    page.get_by_text("Clear Outputs of All Cells").click()
    page.wait_for_function("document.querySelectorAll('.jp-Notebook table').length === 0")
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_text("Run All Cells", exact=True).click()
    page.wait_for_selector(".jp-Notebook table caption", timeout=RUNS_WITHIN)
    page.wait_for_selector("text=costmodel 0", timeout=RUNS_WITHIN)
    assert page.locator(".jp-OutputArea-output img").count() >= 1
    assert page.locator("[data-mime-type='application/vnd.jupyter.error']").count() == 0
    assert page.locator("[data-mime-type='application/vnd.jupyter.stderr']").count() == 0
    cycle_time = page.locator(".noUi-handle").nth(2)
    before = page.locator(".widget-html img").get_attribute("src")
    cycle_time.press("End")
    page.wait_for_function(
        "before => document.querySelector('.widget-html img').src !== before", arg=before, timeout=RUNS_WITHIN
    )
    assert "those moved are held" in page.locator(".widget-html").last.inner_text()
    assert outside == []
    context.close()
