"""The shop's log of tool lives: read, fitted, and told plainly where it says nothing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from costmodel.errors import InputError
from costmodel.life_log import read_life
from costmodel.reading.life_logs import read_life_log

DEMO = Path(__file__).parent.parent / "data" / "logs" / "tools" / "tool-lives.csv"
HEAD = "name,tool,cutting_speed [sfm],feed [in],minutes [min],parts [part],worn,note\n"


def written(tmp_path, *rows):
    path = tmp_path / "log.csv"
    path.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_units_of_the_header_are_read(tmp_path):
    log = read_life_log(written(tmp_path, "1,drill,400,0.004,12,,yes,"))
    edge = log.edges["1"]
    assert edge.cutting_speed == pytest.approx(121.92)
    assert edge.feed == pytest.approx(0.1016)
    assert (edge.minutes, edge.parts, edge.worn) == (12.0, None, "yes")
    assert not log.invented


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("1,drill,400,,,,yes,", "minutes in cut or parts"),
        ("1,drill,400,,12,,perhaps,", "worn"),
        ("1,drill,400 mm,,12,,yes,", "cutting_speed"),
        ("", "at least one edge"),
    ],
)
def test_what_is_wrong_in_a_log_is_named(tmp_path, row, words):
    with pytest.raises(InputError, match=words):
        read_life_log(written(tmp_path, row))


def test_s3_a_safe_count_from_ten_lives(tmp_path):
    # mean 645, s 52.2, mean less three s is 488; ten are few
    lives = (560, 590, 610, 625, 640, 650, 660, 680, 700, 735)
    log = read_life_log(
        written(tmp_path, *(f"{at},drill,400,,,{life},yes," for at, life in enumerate(lives)))
    )
    (drill,) = read_life(log)
    assert drill.safe is not None
    assert drill.safe.mean == pytest.approx(645.0)
    assert drill.safe.standard_deviation == pytest.approx(52.2, abs=0.05)
    assert drill.safe.change_at == pytest.approx(488.0, abs=0.5)
    assert any("10 worn edges" in caution for caution in drill.safe.verdict.cautions)
    assert drill.taylor is None


def test_known_constants_come_back_from_a_made_log(tmp_path):
    random = np.random.default_rng(8)
    rows = []
    for at in range(240):
        speed = (250, 330, 430)[at % 3]  # sfm
        life = (300.0 / (speed * 0.3048)) ** (1 / 0.25) * np.exp(0.2 * random.standard_normal())
        limit = (250, 100, 60)[at % 3]
        rows.append(f"{at},mill,{speed},,{min(life, limit):.3f},,{'yes' if life < limit else 'no'},")
    (mill,) = read_life(read_life_log(written(tmp_path, *rows)), "lognormal")
    assert mill.taylor is not None
    assert mill.taylor.verdict.supported
    assert mill.taylor.exponent.low < 0.25 < mill.taylor.exponent.high
    assert mill.taylor.constant.low < 300.0 * np.exp(0.25 * 0.02) < mill.taylor.constant.high
    assert mill.taylor.variation == pytest.approx(0.2, abs=0.03)
    assert mill.safe is None  # some edges were taken out still good


def test_the_demonstration_log_is_invented_and_says_where_it_is_too_thin():
    log = read_life_log(DEMO)
    assert log.invented
    by_tool = {it.tool: it for it in read_life(log)}
    assert by_tool["end-mill-10mm-4f"].taylor.verdict.supported
    assert by_tool["drill-11.8mm"].scatter.verdict.supported
    thin = by_tool["tap-m10x1"].scatter
    assert not thin.verdict.supported
    assert thin.scale is None


def test_the_constants_copied_into_a_row_give_back_the_lives_of_the_log(shop):
    # what the log says at 95 m/min: constant, exponent and feed exponent together, at the two feeds that ran
    log = read_life_log(DEMO)
    fit = {it.tool: it for it in read_life(log)}["end-mill-10mm-4f"]
    assert fit.taylor is not None
    assert fit.constant_feed == 1.0
    names = {"taylor_constant": "constant", "taylor_exponent": "exponent", "feed_exponent": "feed_exponent"}
    row = {field: getattr(fit.taylor, name).value for field, name in names.items()}
    tool = shop.tool(life="taylor", parts_per_edge=None, **row)
    for feed in (0.025, 0.04):
        logged = [
            edge.minutes
            for edge in log.edges.values()
            if edge.tool == fit.tool and edge.cutting_speed == 95.0 and edge.feed == feed
        ]
        stated = {"name": "c", "kind": "chamfer", "tool": "t", "length": 1000.0}
        stated |= {"cutting_speed": 95.0, "feed_per_rev": feed}
        (use,) = shop.sheet(shop.study(shop.step(cuts=[stated]), tools=(tool,))).tools
        assert min(logged) * 0.8 < use.life_parts * use.in_cut < max(logged) * 1.2


def test_one_feed_gives_a_constant_of_that_feed(tmp_path):
    rows = [f"{at},mill,{(250, 400)[at % 2]},0.004,{(90, 20)[at % 2] + at},,yes," for at in range(12)]
    (mill,) = read_life(read_life_log(written(tmp_path, *rows)))
    assert mill.taylor is not None
    assert mill.taylor.feed_exponent is None
    assert mill.constant_feed == pytest.approx(0.1016)
