"""Every command that writes, killed at random moments of its writing: the old state or the complete new one."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
KILLS = 200


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_200_kills_of_the_writing_commands_lose_nothing(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "kill_commands.py"), str(tmp_path), str(KILLS)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    )
    assert done.returncode == 0, done.stderr[-2000:]
    outcome = json.loads(done.stdout)
    assert len(outcome) == 9
    together = Counter[str]()
    for found in outcome.values():
        together.update(found)
    assert together["old"] + together["new"] == KILLS
    few = f"the kills must fall into the writing, or they show nothing: {outcome}"
    assert min(together["old"], together["new"], together["cut off"]) > KILLS / 10, few
