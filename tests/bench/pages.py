"""How long pages take, as ratios within one run: `python tests/bench/pages.py [study.toml]`.

The whole suite of notebooks is rendered one after another, then side by side; and the sliders of a notebook move
each of their inputs in turn. Pages by wall clock, on a machine at rest; moves by processor time, which other work on
the machine hardly touches. Nothing here is asserted.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from costmodel.explore import DRAWS, handles, moved
from costmodel.reading import read_study
from costmodel.records.study import Study
from costmodel.sharing import AT_ONCE, jobs_for, notebooks_of, render_all

ROOT = Path(__file__).parent.parent.parent
STUDY = ROOT / "data" / "studies" / "saddle-clamp.toml"
MOVES = 5


def suite(study: Path, at_once: int | None) -> tuple[float, dict[str, tuple[float, float]]]:
    """Seconds for all pages, and for each page its seconds and kilobytes."""
    jobs = jobs_for(notebooks_of("all", ROOT / "notebooks"), study, {}, {})
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        results = render_all(jobs, Path(folder), at_once=at_once)
        seconds = time.perf_counter() - began
        sizes = {it.notebook.stem: it.page.stat().st_size / 1000 if it.page else 0.0 for it in results}
    return seconds, {it.notebook.stem: (it.seconds, sizes[it.notebook.stem]) for it in results}


def moves(study: Study) -> dict[str, float]:
    """The median milliseconds that one move of each slider takes a processor: model, draws, crossings, chart."""
    found = {}
    moved(study, {})
    for handle in handles(study):
        times = []
        for step in range(MOVES):
            value = handle.low + (handle.high - handle.low) * (step + 1) / (MOVES + 1)
            began = time.process_time()
            moved(study, {handle.address: value})
            times.append(1000 * (time.process_time() - began))
        found[handle.label] = statistics.median(times)
    return found


def main() -> None:
    study = Path(sys.argv[1]) if len(sys.argv) > 1 else STUDY
    one, alone = suite(study, 1)
    many, _ = suite(study, None)
    workers = max(AT_ONCE, os.cpu_count() or 1)
    print(f"{'notebook':22}{'s alone':>9}{'kB':>7}")
    for name, (seconds, size) in alone.items():
        print(f"{name:22}{seconds:9.1f}{size:7.0f}")
    print(f"\none after another {one:.1f} s, {workers} at once {many:.1f} s: {many / one:.2f} of the time")
    found = moves(read_study(study))
    print(f"\na slider's move, {DRAWS} draws, median of {MOVES} [ms]")
    for label, milliseconds in found.items():
        print(f"{label:40}{milliseconds:7.0f}")
    print(json.dumps({"at_once_vs_one": round(many / one, 3), "slowest_move_ms": round(max(found.values()))}))


if __name__ == "__main__":
    main()
