"""How fast the draws are, as ratios within one run: `python tests/bench/run.py [draws]`.

The case: the demo's saddle clamp, made by the rotary route or bought from one of three suppliers over five years,
every range of the study and of its rates drawn. Four ways to the same figures:

a  the library end to end: preparing, drawing, the model, the summary
b  the same model in a plain loop, one draw after the other, the same formulas with plain numbers
c  one NumPy function written by hand for this case, in chunks, on draws from the library's sampler
d  filling 60 x draws standard normals, which computes nothing

Times are of the processor, the least of several runs that take turns, so that other work on the machine weighs
little. Nothing here is asserted but that a, b and c agree.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from handwritten import prepare

from costmodel.draws import drawing
from costmodel.evaluation import evaluate
from costmodel.reading import read_study
from costmodel.records.study import Study
from costmodel.tape.chunks import keep_heap
from costmodel.uncertainty import CHUNK, Outcome, Sample, outcome, sample, simulate

STUDY = Path(__file__).parent / "clamp" / "study.toml"
NAMES = ("make-rotary", "status-quo", "overseas-b", "regional-c")
LOOP_DRAWS = 64
NORMALS = 60
ROUNDS = 7
MILLION = 1_000_000


def library(study: Study, draws: int) -> Outcome:
    """a"""
    return simulate(study, NAMES[0], NAMES[3], draws=draws, names=NAMES)


def loop(study: Study, draws: int) -> list[tuple[float, ...]]:
    """b: drawing not counted in it, since that would be another way to draw."""
    how = drawing(study, LOOP_DRAWS, 1)
    plan = study.plan(how.addresses)
    columns = [row.tolist() for row in how.values(slice(0, draws))]
    start = time.process_time()
    found = []
    for values in zip(*columns, strict=True):
        costs = evaluate(plan.apply(values), NAMES)
        found.append((*(float(c.per_part) for c in costs), *(float(c.worth) for c in costs)))
    loop.seconds = time.process_time() - start  # type: ignore[attr-defined]
    return found


def by_hand(study: Study, draws: int) -> Outcome:
    """c"""
    keep_heap()
    cost = prepare(study)
    how = drawing(study, draws, 1)
    results = np.empty((2 * len(NAMES), how.draws))
    for block in how.blocks(CHUNK):
        found = cost(dict(zip(how.addresses, how.values(block), strict=True)))
        for row, values in zip(results, found, strict=True):
            row[block] = values
    half = len(NAMES)
    return outcome(Sample(study, how, "sobol", NAMES, results[:half], results[half:]), NAMES[0], NAMES[3])


def normals(draws: int) -> None:
    """d"""
    generator = np.random.Generator(np.random.SFC64(1))
    block = np.empty((NORMALS, CHUNK))
    for start in range(0, draws, CHUNK):
        generator.standard_normal(out=block[:, : min(CHUNK, draws - start)].copy())


def least(rounds: int, *tasks: Callable[[], object]) -> list[float]:
    """The least processor time of each task [s]; the tasks take turns."""
    times = [[] for _ in tasks]  # type: list[list[float]]
    for _ in range(rounds):
        for task, own in zip(tasks, times, strict=True):
            start = time.process_time()
            task()
            own.append(time.process_time() - start)
    return [min(own) for own in times]


def agree(study: Study) -> float:
    """The largest relative difference between a, b and c over some draws."""
    drawn = sample(study, NAMES, draws=8 * 512)
    single = np.array(loop(study, 8)).T
    cost = prepare(study)
    blocks = [
        cost(dict(zip(drawn.drawing.addresses, drawn.drawing.values(b), strict=True)))
        for b in drawn.drawing.blocks(CHUNK)
    ]
    hand = np.concatenate([np.stack(np.broadcast_arrays(*found)) for found in blocks], axis=1)
    ours = np.concatenate([drawn.per_part, drawn.worth])
    first = np.array(sample(study, NAMES, draws=LOOP_DRAWS).per_part)[:, :8]
    return max(
        float(np.abs(ours / hand - 1.0).max()), float(np.abs(first / single[: len(NAMES)] - 1.0).max())
    )


def peak() -> float:
    """MiB that a million draws take above what importing everything takes, in a process of their own."""
    code = (
        "import resource, sys; sys.path.insert(0, sys.argv[1]); import run, scipy.special, costmodel.uncertainty\n"
        "study = run.read_study(run.STUDY); before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "run.library(study, run.MILLION)\n"
        "print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, str(Path(__file__).parent)], capture_output=True, text=True, check=True
    )
    return float(run.stdout)


def accuracy(study: Study) -> tuple[int, float, float, float]:
    """The fewest draws that reach 1e-4 of a part and 0.005 of the chance, those two, and the time taken [s]."""
    for power in range(6, 14):
        draws = 8 * 2**power
        (seconds,) = least(3, lambda draws=draws: library(study, draws))
        found = library(study, draws)
        part = max(estimate.error / estimate.value for estimate in found.mean_per_part.values())
        if part <= 1e-4 and found.chance_error <= 0.005:
            return draws, part, found.chance_error, seconds
    raise AssertionError("not reached")


def main() -> None:
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    study = read_study(STUDY)
    difference = agree(study)
    assert difference < 1e-11, difference
    library(study, 1000)
    a, c, d = least(
        ROUNDS, lambda: library(study, draws), lambda: by_hand(study, draws), lambda: normals(draws)
    )
    loop(study, 8)
    loop(study, 8)
    b = loop.seconds / 8 * draws  # type: ignore[attr-defined]
    (small,) = least(ROUNDS, lambda: library(study, 8 * 64))
    (twice,) = least(3, lambda: library(study, 4 * draws))
    enough, part, chance, seconds = accuracy(study)
    inputs, months = len(study.uncertainty), study.finance.horizon
    print(f"{inputs} uncertain inputs, {len(NAMES)} alternatives, {months} months, {draws:,} draws")
    print(f"a, b and c agree to {difference:.1e}\n")
    print(f"{'':34}{'ms':>12}{'ns a draw':>12}{'a against it':>14}")
    for word, value in (
        ("a  library, end to end", a),
        ("b  plain loop, 8 draws scaled", b),
        ("c  by hand, same draws", c),
        (f"d  {NORMALS} standard normals a draw", d),
    ):
        print(f"{word:34}{1e3 * value:12,.1f}{1e9 * value / draws:12,.0f}{a / value:14.2g}")
    slope = (twice - a) / (3 * draws)
    print(f"\nfour times the draws: {twice / a:.2f} times as long; each further draw {1e9 * slope:,.0f} ns")
    print(f"mean a part to {part:.0e} and chance to {chance:.0e}: {enough:,} draws, {1e3 * seconds:.0f} ms")
    used, fixed = peak(), max(small, a - slope * draws)
    print(f"{MILLION:,} draws: {used:.0f} MiB above import")
    print(
        f"what does not shrink with draws: {1e3 * fixed:.0f} ms; {8 * 64} draws in all: {1e3 * small:.0f} ms\n"
    )
    print(
        json.dumps(
            {
                "library_vs_loop": round(b / a, 1),
                "library_vs_handwritten": round(a / c, 3),
                "library_vs_normals": round(a / d, 3),
                "peak_mib": round(used, 1),
                "fixed_ms": round(1e3 * fixed, 2),
            }
        )
    )


if __name__ == "__main__":
    main()
