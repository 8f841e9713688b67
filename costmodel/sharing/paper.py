"""A page on paper: an installed Chromium prints it; without one there is no PDF."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

from costmodel.errors import InputError, Problem

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
SECONDS_ALLOWED = 120
OPTIONS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--no-first-run",
    "--no-pdf-header-footer",
)


def find_browser() -> str | None:
    """The first browser of this machine that prints; None where there is none."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


def print_page(page: Path, target: Path, browser: str) -> Path:
    """Print an HTML file as PDF; raises InputError where the browser fails."""
    with tempfile.TemporaryDirectory() as profile:
        command = [browser, *OPTIONS, f"--user-data-dir={profile}", f"--print-to-pdf={target.resolve()}"]
        try:
            subprocess.run(
                [*command, page.resolve().as_uri()], check=True, capture_output=True, timeout=SECONDS_ALLOWED
            )
        except (OSError, subprocess.SubprocessError) as error:
            remedy = "The HTML file is complete: print it from any browser."
            raise InputError(
                [Problem(page.name, "PDF", str(error), f"{browser} to print it", remedy)]
            ) from error
    return target
