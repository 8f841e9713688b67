"""The tape: the model's own arithmetic, done again chunk by chunk, and never anything else."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.draws import Drawing, drawing
from costmodel.errors import LimitError
from costmodel.formulas._limits import positive
from costmodel.records.fields import Named
from costmodel.records.study import Study
from costmodel.records.uncertain import Uncertain
from costmodel.tape.chunks import run_all, written
from costmodel.tape.intervals import Interval, interval_of
from costmodel.uncertainty import sample

DRAWS = 20_000
NAMES = ("rates.materials.bar.price", "rates.labour.fitter.wage", "rates.processors.finisher.price")


@pytest.fixture
def three(plain: Study) -> Drawing:
    """Draws of three inputs from 1 to 3, near and away from a limit as a test needs."""
    spreads = Named({name: Uncertain(name=name, shape="uniform", low=1.0, high=3.0) for name in NAMES})
    return drawing(plain.with_inputs({"uncertainty": spreads}), DRAWS, 1)


def both(
    model: Callable[[Sequence[Any]], Sequence[Any]], how: Drawing, chunk: int = 3000
) -> tuple[np.ndarray, np.ndarray]:
    """The first result of a model with a tape and without."""
    taped, direct = np.empty(how.draws), np.empty(how.draws)
    run_all(model, how, [taped], chunk=chunk)
    run_all(model, how, [direct], chunk=chunk, tape=False)
    return taped, direct


@pytest.mark.parametrize("name", ["encoder-cover", "saddle-clamp", "worm-shaft"])
def test_the_tape_gives_what_the_model_gives(demo: dict[str, Study], name: str) -> None:
    taped, direct = sample(demo[name], draws=DRAWS), sample(demo[name], draws=DRAWS, tape=False)
    assert taped.worth == pytest.approx(direct.worth, rel=1e-12)
    assert taped.per_part == pytest.approx(direct.per_part, rel=1e-12)


def test_every_kind_of_step_and_cut_can_be_written_down(small: Study) -> None:
    drawn = sample(small, draws=DRAWS)
    how = drawing(small, DRAWS, 1)

    def model(rows: Sequence[Any]) -> Sequence[Any]:
        from costmodel.evaluation import evaluate

        return [cost.worth for cost in evaluate(small.plan(how.addresses).apply(rows), small.alternatives)]

    assert written(model, how) is not None
    assert drawn.worth == pytest.approx(sample(small, draws=DRAWS, tape=False).worth, rel=1e-12)


@pytest.mark.parametrize("chunk", [977, 4096, 16384, DRAWS])
@pytest.mark.parametrize("workers", [1, 3])
def test_neither_chunk_nor_workers_move_a_number(small: Study, chunk: int, workers: int) -> None:
    one = sample(small, draws=DRAWS)
    other = sample(small, draws=DRAWS, chunk=chunk, workers=workers)
    assert np.array_equal(one.worth, other.worth)
    assert np.array_equal(one.per_part, other.per_part)


def test_constants_are_folded_and_what_is_not_needed_left_out(three: Drawing) -> None:
    def model(rows: Sequence[Any]) -> Sequence[Any]:
        first, second, third = rows
        np.exp(second)
        return [(((first * 2.0 + 1.0) / 60.0 + 3.0) * 4.0 + third) - 0.0 * second]

    program = written(model, three)
    assert program is not None
    assert program.operations == 3  # one product, two sums
    taped, direct = both(model, three)
    assert taped == pytest.approx(direct, rel=1e-14)


@given(st.data())
def test_any_arithmetic_is_done_again_as_it_was(data: st.DataObject) -> None:
    """Random expressions of the operations that formulas use, against NumPy itself."""
    rows = np.random.default_rng(data.draw(st.integers(0, 99))).uniform(0.5, 3.0, (3, 400))

    def grown(inputs: Sequence[Any]) -> Any:
        pool = list(inputs)
        for choice, one, other, factor in steps:
            a, b = pool[one % len(pool)], pool[other % len(pool)]
            pool.append(OPERATIONS[choice](a, b, factor))
        return pool[-1]

    steps = data.draw(
        st.lists(
            st.tuples(
                st.integers(0, len(OPERATIONS) - 1),
                st.integers(0, 20),
                st.integers(0, 20),
                st.floats(0.25, 4.0),
            ),
            min_size=1,
            max_size=14,
        )
    )
    how = _Fixed(rows)
    with np.errstate(all="ignore"):
        expected = np.broadcast_to(grown(list(rows)), (400,))
        result = np.empty(400)
        program = written(lambda inputs: [grown(inputs)], how)  # type: ignore[arg-type]
        if program is not None:
            assert program.bound(rows, [result])()
            finite = np.isfinite(expected)
            assert result[finite] == pytest.approx(expected[finite], rel=1e-9, abs=1e-9)


OPERATIONS: tuple[Callable[[Any, Any, float], Any], ...] = (
    lambda a, b, c: a + b,
    lambda a, b, c: a - b,
    lambda a, b, c: a * b,
    lambda a, b, c: a / (np.abs(b) + c),
    lambda a, b, c: a * c,
    lambda a, b, c: c - a,
    lambda a, b, c: a / c,
    lambda a, b, c: c / (np.abs(a) + 1.0),
    lambda a, b, c: np.minimum(a, b),
    lambda a, b, c: np.maximum(a, c),
    lambda a, b, c: np.where(np.greater(a, b), a, c),
    lambda a, b, c: np.exp(-np.abs(a)),
    lambda a, b, c: np.log1p(np.abs(a)),
    lambda a, b, c: np.sqrt(np.abs(a)),
    lambda a, b, c: -a,
)


class _Fixed:
    """Rows that are given, where draws are expected."""

    def __init__(self, rows: np.ndarray) -> None:
        self.rows, self.draws, self.keys = rows, rows.shape[1], ("a", "b", "c")
        self.samplers = [_same] * 3

    def values(self, block: slice, rows: Any = None) -> np.ndarray:
        return self.rows[:, block]


def _same(values: np.ndarray) -> None:
    values[:] = [0.5, 3.0]


# --- what cannot be written down, or turns out otherwise ----------------------------------------------


@pytest.mark.parametrize(
    "step",
    [
        lambda x: x.sum(),
        lambda x: float(x[0]),
        lambda x: np.sort(x),
        lambda x: np.cumsum(x),
        lambda x: x.astype(int) * 1.0,
        lambda x: np.stack([x, x])[0],
        lambda x: np.add.accumulate(x),
        lambda x: np.add(x, 1.0, out=np.empty(x.shape)),
        lambda x: x * np.arange(x.size),
        lambda x: x[:, np.newaxis][:, 0],
    ],
)
def test_what_cannot_be_written_down_runs_as_it_is(three: Drawing, step: Callable[[Any], Any]) -> None:
    def model(rows: Sequence[Any]) -> Sequence[Any]:
        return [step(rows[0]) + rows[1]]

    assert written(model, three) is None
    taped, direct = both(model, three)
    assert np.array_equal(taped, direct)


def test_another_course_of_the_model_is_taken_where_it_is_due(three: Drawing) -> None:
    """A branch that the few first draws did not take is found in the chunk that takes it."""

    def model(rows: Sequence[Any]) -> Sequence[Any]:
        return [rows[0] * 100.0 if np.any(rows[0] > 2.9998) else rows[0]]

    taped, direct = both(model, three, chunk=500)
    assert np.array_equal(taped, direct)
    assert taped.max() > 100.0
    assert taped.min() < 3.0


def test_a_limit_that_one_draw_leaves_is_told(three: Drawing) -> None:
    def model(rows: Sequence[Any]) -> Sequence[Any]:
        positive(margin=rows[0] - 1.0002)
        return [rows[0]]

    with pytest.raises(LimitError, match="margin must be above 0"):
        both(model, three)


def test_limits_that_hold_for_every_draw_are_proved_once(three: Drawing) -> None:
    def model(rows: Sequence[Any]) -> Sequence[Any]:
        positive(price=rows[0], product=rows[0] * rows[1] / rows[2])
        left = rows[2] - rows[1] * 0.5
        positive(left=left + 1.0)
        return [np.sqrt(left + 1.0)]

    program = written(model, three)
    assert program is not None
    assert program.questions == 0

    def unproved(rows: Sequence[Any]) -> Sequence[Any]:
        positive(difference=rows[0] - rows[1] + 2.0001 - 1e-4 * rows[0])
        return [rows[0]]

    program = written(unproved, three)
    assert program is not None
    assert program.questions == 1


def test_the_model_of_the_demo_leaves_few_limits_open(demo: dict[str, Study]) -> None:
    for study in demo.values():
        how = drawing(study, DRAWS, 1)
        plan = study.plan(how.addresses)

        def model(rows: Sequence[Any], plan: Any = plan, study: Study = study) -> Sequence[Any]:
            from costmodel.evaluation import evaluate

            return [cost.worth for cost in evaluate(plan.apply(rows), study.alternatives)]

        program = written(model, how)
        assert program is not None
        assert program.questions <= 0.05 * program.operations


# --- intervals -----------------------------------------------------------------------------------------

ONE = (np.negative, np.absolute, np.square, np.sqrt, np.exp, np.expm1, np.log, np.log1p, np.ceil, np.floor)
TWO = (np.add, np.subtract, np.multiply, np.divide, np.minimum, np.maximum)
ASKED = (np.less, np.less_equal, np.greater, np.greater_equal, np.equal, np.not_equal)
ENDS = st.floats(-50.0, 50.0)


@given(st.sampled_from(ONE + TWO + ASKED), ENDS, ENDS, ENDS, ENDS, st.integers(0, 10))
def test_no_value_leaves_its_interval(
    operation: np.ufunc, a: float, b: float, c: float, d: float, seed: int
) -> None:
    one, other = Interval(min(a, b), max(a, b)), Interval(min(c, d), max(c, d))
    draws = np.random.default_rng(seed)
    x = np.append(draws.uniform(*one, 200), one)
    y = np.append(draws.uniform(*other, 200), other)
    arguments = (x,) if operation.nin == 1 else (x, y)
    with np.errstate(all="ignore"):
        known = interval_of(operation, (one, other)[: operation.nin])
        values = operation(*arguments)
    if known != (-np.inf, np.inf):
        assert np.all(values >= known.low)
        assert np.all(values <= known.high)


def test_what_is_not_known_proves_nothing() -> None:
    whole = Interval(-np.inf, np.inf)
    assert interval_of(np.sinh, [Interval(0.0, 1.0)]) == whole
    assert interval_of(np.greater, [whole, -1e300]) == (0.0, 1.0)
    assert interval_of(np.isnan, [whole]) == (0.0, 1.0)
    assert interval_of(np.divide, [Interval(1.0, 2.0), Interval(-1.0, 1.0)]) == whole
    assert interval_of(np.log, [Interval(-1.0, 1.0)]) == whole
