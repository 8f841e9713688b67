"""How long a what-if takes: `python tests/bench/what_if.py`.

One input of a demo study is changed, the study decided anew, and the figures of the volume chart made: what a
notebook does when somebody asks "and at 2,000 a year?". Another value every time, so that nothing kept from the
last question helps. Beside it the baseline of the same run: all alternatives of the study compared once, without
draws. Times are of the processor, so that other work on the machine weighs little.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path
from statistics import median

from costmodel.curves import cost_over_volume
from costmodel.decision import decide
from costmodel.make_or_buy import compare
from costmodel.reading import read_study
from costmodel.records.study import Study

STUDIES = Path(__file__).parents[2] / "data" / "studies"
ROUNDS = 15
VOLUME = "demand.per_year"


def timed(task: Callable[[Study], object], studies: Callable[[], Study]) -> float:
    """The middle of several times, each on a study of its own [s]."""
    task(studies())
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        task(studies())
        times.append(time.process_time() - start)
    return median(times)


def main() -> None:
    found = {}
    print(f"{'':16}{'what-if, ms':>12}{'compare, ms':>12}{'ratio':>8}")
    for path in sorted(STUDIES.glob("*.toml")):
        study = read_study(path)
        base, steps = float(study.demand.per_year), count(1)

        def changed(study: Study = study, base: float = base, steps: count[int] = steps) -> Study:
            return study.settled({VOLUME: base * (1.0 + 1e-4 * next(steps))})

        what_if = timed(lambda study: cost_over_volume(decide(study)), changed)
        baseline = timed(compare, changed)
        found[study.name] = round(1e3 * what_if, 1)
        print(f"{study.name:16}{1e3 * what_if:12.1f}{1e3 * baseline:12.1f}{what_if / baseline:8.1f}")
    print(json.dumps({"what_if_ms": found}))


if __name__ == "__main__":
    main()
