"""Pages in a real browser, the network cut off: nothing asked for, nothing too wide, for every reader."""

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
from typing import Any

import nbformat
import pytest

from costmodel.decision import decide
from costmodel.page import page_html
from costmodel.records.study import Study
from costmodel.sharing.notebook_page import page_of
from costmodel.sharing.paper import find_browser

sync_api = pytest.importorskip("playwright.sync_api", reason="no driver for a browser")

NOTEBOOKS = sorted((Path(__file__).parent.parent / "notebooks").glob("*.ipynb"))
BROWSER = find_browser()
WIDTHS = {"phone": 390, "A4": 794, "laptop": 1366}
MOST_SHEETS = 6
MARGIN = {"top": "8mm", "bottom": "8mm", "left": "10mm", "right": "10mm"}
SERIOUS = ("serious", "critical")
STARTS_WITHIN = 60.0

pytestmark = pytest.mark.skipif(
    BROWSER is None and "CI" not in os.environ, reason="no browser to open pages with"
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_api.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def axe() -> str:
    """The accessibility checker's script."""
    return files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")


def faults_of(browser: Any, path: Path, axe: str, most: int) -> list[str]:
    """What goes wrong with a page at every width, on paper, and for a reader with other means."""
    context = browser.new_context(offline=True, bypass_csp=True)
    page = context.new_page()
    found: list[str] = []
    page.on(
        "console",
        lambda message: found.append(f"console: {message.text}") if message.type == "error" else None,
    )
    page.on("pageerror", lambda error: found.append(f"error: {error}"))
    page.on(
        "request",
        lambda asked: (
            None if asked.url.startswith(("data:", path.as_uri())) else found.append(f"asks for {asked.url}")
        ),
    )
    page.goto(path.as_uri())
    for name, width in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": 900})
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            found.append(f"{wide} px wide at {name}, {width} px")
    page.evaluate(axe)
    result = page.evaluate("axe.run({resultTypes: ['violations']})")
    found += [
        f"{it['id']} ({it['impact']}): {it['nodes'][0]['html'][:120]}"
        for it in result["violations"]
        if it["impact"] in SERIOUS
    ]
    data = page.pdf(format="A4", margin=MARGIN)
    sheets = len(re.findall(rb"/Type\s*/Page\b", data))
    if not 1 <= sheets <= most:
        found.append(f"prints on {sheets} sheets, at most {most}")
    context.close()
    return found


@pytest.mark.parametrize("path", NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])
def test_a_notebooks_page_opens_offline_fits_prints_and_is_accessible(
    browser: Any, path: Path, axe: str, tmp_path: Path
) -> None:
    page = tmp_path / f"{path.stem}.html"
    page.write_text(page_of(nbformat.read(path, as_version=4)), encoding="utf-8")
    assert faults_of(browser, page, axe, MOST_SHEETS) == []


def test_the_decision_page_does_so_on_one_sheet(
    browser: Any, demo: dict[str, Study], axe: str, tmp_path: Path
) -> None:
    page = tmp_path / "decision-page.html"
    page.write_text(page_html(decide(demo["saddle-clamp"], draws=64)), encoding="utf-8")
    assert faults_of(browser, page, axe, 1) == []


def test_a_page_with_faults_is_caught(browser: Any, axe: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.html"
    path.write_text(
        '<html><body><img src="http://192.0.2.1/a.png"><div style="width:2000px">wide</div>'
        "<script>undefinedThing()</script></body></html>"
    )
    found = "\n".join(faults_of(browser, path, axe, 1))
    for words in ("asks for http", "px wide at laptop", "undefinedThing", "image-alt"):
        assert words in found


# --- the notebooks themselves ------------------------------------------------------------------------


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@pytest.fixture
def laboratory(tmp_path: Path) -> Iterator[str]:
    """JupyterLab on a copy of one notebook; ended by its own process."""
    root = Path(__file__).parent.parent
    (tmp_path / "notebooks").mkdir()
    shutil.copy(root / "notebooks" / "fixture_payback.ipynb", tmp_path / "notebooks")
    shutil.copytree(root / "data", tmp_path / "data")
    port = free_port()
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", f"--port={port}", "--allow-root"]
    command += ["--IdentityProvider.token=", "--ServerApp.password=", f"--ServerApp.root_dir={tmp_path}"]
    settings = {"JUPYTER_CONFIG_DIR": str(tmp_path / "config"), "JUPYTER_RUNTIME_DIR": str(tmp_path / "run")}
    settings |= {
        "JUPYTER_DATA_DIR": str(tmp_path / "share"),
        "JUPYTERLAB_WORKSPACES_DIR": str(tmp_path / "work"),
    }
    with (tmp_path / "log").open("w") as log:
        server = subprocess.Popen(command, env={**os.environ, **settings}, stdout=log, stderr=log)
        address = f"http://127.0.0.1:{port}"
        try:
            ends = time.monotonic() + STARTS_WITHIN
            while True:
                try:
                    urllib.request.urlopen(f"{address}/api", timeout=2).close()
                    break
                except OSError:
                    assert time.monotonic() < ends, (tmp_path / "log").read_text()
                    time.sleep(0.3)
            yield address
        finally:
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


def test_a_notebook_opens_and_runs_in_jupyterlab(browser: Any, laboratory: str) -> None:
    page = browser.new_page(viewport={"width": 1366, "height": 900})
    page.goto(f"{laboratory}/lab/tree/notebooks/fixture_payback.ipynb?reset")
    page.wait_for_selector(".jp-Notebook h1", timeout=60_000)
    assert "When does the fixture pay back?" in page.inner_text(".jp-Notebook h1")
    page.get_by_role("menuitem", name="Kernel", exact=True).click()
    page.get_by_text("Restart Kernel and Run All Cells…").click()
    page.get_by_role("button", name="Confirm Kernel Restart").click()
    page.wait_for_function(
        "[...document.querySelectorAll('.jp-Notebook .jp-InputPrompt')].every(it => !it.innerText.includes('*'))"
        " && document.querySelectorAll('.jp-Notebook').length > 0",
        timeout=90_000,
    )
    page.wait_for_selector(".jp-Notebook table caption", timeout=90_000)
    assert page.locator(".jp-OutputArea-output[data-mime-type='application/vnd.jupyter.stderr']").count() == 0
    page.close()
