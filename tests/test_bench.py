"""The benchmark compares like with like: the loop, the library and the version by hand give the same figures."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

BENCH = Path(__file__).parent / "bench"


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script itself, as a module."""
    monkeypatch.setattr(sys, "path", [str(BENCH), *sys.path])
    found = importlib.util.spec_from_file_location("bench_run", BENCH / "run.py")
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def test_loop_library_and_hand_agree(bench: ModuleType) -> None:
    study = bench.read_study(bench.STUDY)
    assert bench.agree(study) < 1e-11


def test_the_case_is_as_large_as_it_says(bench: ModuleType) -> None:
    """At least 60 uncertain inputs, one way to make and three suppliers, five years."""
    study = bench.read_study(bench.STUDY)
    assert len(study.uncertainty) >= 60
    assert study.finance.horizon == 60
    assert sum(bool(study.alternatives[name].buy) for name in bench.NAMES) == 3
    assert sum(bool(study.alternatives[name].make) for name in bench.NAMES) == 1


def test_the_script_by_hand_gives_the_same_outcome(bench: ModuleType) -> None:
    study = bench.read_study(bench.STUDY)
    ours, theirs = bench.library(study, 16_384), bench.by_hand(study, 16_384)
    assert ours.chance == theirs.chance
    assert ours.mean_advantage == pytest.approx(theirs.mean_advantage, rel=1e-11)
    for name in bench.NAMES:
        assert ours.per_part[name] == pytest.approx(theirs.per_part[name], rel=1e-11)
