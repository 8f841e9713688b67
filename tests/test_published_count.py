"""The published rows are there, and every one is run and asserted."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

FOLDER = Path(__file__).parent / "published"
AT_LEAST = 60


def asserting_rows(folder: Path) -> list[str]:
    """Every row of a folder's files that has an answer to compare with."""
    return [
        f"{path.stem}:{row['id']}"
        for path in sorted(folder.glob("*.toml"))
        for row in tomllib.loads(path.read_text(encoding="utf-8"))["row"]
        if any("answer" in check for check in row["check"])
    ]


def test_enough_published_rows_have_an_answer() -> None:
    assert len(asserting_rows(FOLDER)) >= AT_LEAST


def test_every_row_is_run() -> None:
    command = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider", str(FOLDER)]
    result = subprocess.run(command, capture_output=True, text=True, check=False, cwd=FOLDER.parent.parent)
    assert result.returncode == 0, result.stdout + result.stderr
    collected = {
        line.partition("[")[2].removesuffix("]")
        for line in result.stdout.splitlines()
        if "::test_row_agrees_with_its_source[" in line and "NOTSET" not in line
    }
    assert set(asserting_rows(FOLDER)) == collected


def test_a_row_without_an_answer_does_not_count(tmp_path: Path) -> None:
    row = '[[row]]\nid = "{}"\n[[row.check]]\nformula = "a.b"\ninputs = {{}}\n{}\n'
    text = "rows = 2\n" + row.format("counted", "answer = 1.0") + row.format("idle", "")
    (tmp_path / "sample.toml").write_text(text)
    assert asserting_rows(tmp_path) == ["sample:counted"]
