"""The published rows are there, and every one is run and asserted."""

from __future__ import annotations

import math
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
import test_risk

FOLDER = Path(__file__).parent / "published"
AT_LEAST = 70
TOPICS = {
    "factors": ("annuity.",),
    "MACRS": ("depreciation.macrs_schedule",),
    "NPV and IRR": ("investment.net_present_value", "investment.internal_rates"),
    "break-even": ("break_even.break_even_quantity", "break_even.cost_line"),
    "indifference": ("break_even.indifference_quantity", "break_even.step_break_even"),
    "PERT": ("distributions.pert_moments",),
    "EVPI": ("risk.perfect_information",),
    "learning": ("learning.", "learning_fit."),
    "capacity ranking": ("break_even.contribution_per_scarce_hour",),
}
"""Topics of the economics of a decision, and the formulas whose rows count for each."""


def asserting_rows(folder: Path) -> dict[str, set[str]]:
    """Every row of a folder's files that has an answer to compare with, and the formulas that give one."""
    found = {}
    for path in sorted(folder.glob("*.toml")):
        for row in tomllib.loads(path.read_text(encoding="utf-8"))["row"]:
            answering = {check["formula"] for check in row["check"] if "answer" in check}
            if answering:
                found[f"{path.stem}:{row['id']}"] = answering
    return found


def rows_of(topic: str) -> set[str]:
    """The rows in which a formula of a topic has an answer."""
    return {
        row
        for row, formulas in asserting_rows(FOLDER).items()
        if any(formula.startswith(TOPICS[topic]) for formula in formulas)
    }


@pytest.mark.parametrize("topic", TOPICS)
def test_every_topic_has_a_published_row(topic: str) -> None:
    assert rows_of(topic)


def test_the_published_function_is_asserted_by_its_closed_form() -> None:
    """Ishigami and Homma, 1990 (from memory), a = 7, b = 0.1: what test_risk compares the shares with is exact.

    Its shares are estimated from draws, so that no row of a file can hold them.
    """
    first = 0.5 * (1.0 + 0.1 * math.pi**4 / 5.0) ** 2
    second = 7.0**2 / 8.0
    both = 0.1**2 * math.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    whole = first + second + both
    alone, in_all = test_risk.FIRST, test_risk.TOTAL
    assert alone == pytest.approx([first / whole, second / whole, 0.0], abs=1e-6)
    assert in_all == pytest.approx([(first + both) / whole, second / whole, both / whole], abs=1e-6)
    assert callable(test_risk.test_indices_of_a_published_function)


def test_enough_published_rows_have_an_answer() -> None:
    rows = set().union(*(rows_of(topic) for topic in TOPICS))
    assert len(rows) >= AT_LEAST


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
    assert asserting_rows(tmp_path) == {"sample:counted": {"a.b"}}
