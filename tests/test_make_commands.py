"""The commands of the make side: the same figures on the screen and as JSON, and mistakes told in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from costmodel.cautions import INVENTED
from costmodel.cli import app
from costmodel.lot_size import cheapest_lot
from costmodel.make_or_buy import alternative_cost
from costmodel.reading import read_study
from costmodel.tool_policy import tool_risks

DATA = Path(__file__).parent.parent / "data"
CLAMP = str(DATA / "studies" / "saddle-clamp.toml")
LOG = str(DATA / "logs" / "tools" / "tool-lives.csv")


def ran(*arguments, status=0):
    result = CliRunner().invoke(app, list(arguments), env={"COLUMNS": "160"})
    assert "Traceback" not in result.output
    assert result.exit_code == status, result.output
    return result


def test_a_table_of_nothing_is_told_by_its_notes():
    shown = ran("tools", str(DATA / "studies" / "worm-shaft.toml")).stdout
    head, _, rest = shown.partition("When tools are changed, and what that costs")
    assert "Worm shaft" in head
    assert "State no scatter" in rest.partition("Feeds raised")[0]
    assert "mean life" not in shown
    assert "─" not in rest.partition("Feeds raised")[0]


@pytest.fixture(scope="module")
def clamp():
    return read_study(CLAMP)


def test_cost_shows_steps_minutes_tools_and_flags(clamp):
    data = json.loads(ran("cost", CLAMP, "--json").stdout)
    assert data["route"] == "rotary"
    for name in (
        "by-step",
        "steps",
        "minutes",
        "tools",
        "cuts",
        "once",
        "rate",
        "rate-bases",
        "idle",
        "flags",
    ):
        assert data["tables"][name]["rows"], name
    sheet = alternative_cost(clamp, "make-rotary").portions[0].sheet
    assert len(data["tables"]["cuts"]["rows"]) == len(sheet.cuts)
    assert len(data["tables"]["minutes"]["rows"]) > 20
    text = ran("cost", CLAMP).stdout
    for words in ("standing by", "in cut", "failures", "torque", "owner", "idle cost", INVENTED):
        assert words in " ".join(text.split()), words


def test_what_cannot_be_done_and_what_is_not_checked_stands_in_both(clamp):
    cuts = "part.routes.rotary.steps.five-sides.cuts"
    changes = ("--set", "rates.tools.drill-9mm.reach=15 mm", "--set", f"{cuts}.tap-m6-holes.method=forming")
    data = json.loads(ran("cost", CLAMP, *changes, "--json").stdout)["tables"]
    columns = [column["name"] for column in data["cuts"]["columns"]]
    rows = {row[columns.index("cut")]: dict(zip(columns, row, strict=True)) for row in data["cuts"]["rows"]}
    # 19 mm, and half of 9 mm times tan 20 deg of a point of 140
    assert rows["drill-grease-port"]["beyond its limits"] == "depth 20.64 mm is above 15 mm"
    unchecked = "power and torque not checked: a thread that is formed has no chip"
    assert rows["tap-m6-holes"]["beyond its limits"] == unchecked
    assert rows["tap-grease-port"]["beyond its limits"] == "no"
    assert [row[0] for row in data["flags"]["rows"]] == ["five-sides.drill-grease-port", "five-sides"]
    assert any("times 1.2 for coolant (1.1 to 1.4; invented" in note for note in data["tools"]["notes"])
    text = " ".join(ran("cost", CLAMP, *changes).stdout.split())
    for words in ("depth 20.64 mm is above 15 mm", "not checked for tap-m6-holes", "times 1.2 for coolant"):
        assert words in text, words


def test_a_part_is_costed_before_anybody_quotes(tmp_path):
    study = (DATA / "studies" / "worm-shaft.toml").read_text(encoding="utf-8")
    head = study[: study.index("[[alternatives]]")].replace('quotes = "../quotes/worm-shaft.csv"\n', "")
    head = head.replace("../", f"{DATA.as_posix()}/")
    made = '[[alternatives]]\nname = "m"\ntitle = "Make"\nmake = "lathe"\nlot = "400 part"\ncurrent = true\n'
    path = tmp_path / "study.toml"
    path.write_text(head + made, encoding="utf-8")
    ran("check", str(path))
    alone = json.loads(ran("cost", str(path), "--json").stdout)["tables"]["by-step"]
    quoted = json.loads(ran("cost", str(DATA / "studies" / "worm-shaft.toml"), "--json").stdout)
    assert alone["rows"] == quoted["tables"]["by-step"]["rows"]
    assert "one that buys" in " ".join(ran("brief", str(path), status=2).stderr.split())


def test_tools_prices_rules_feeds_and_nights(clamp):
    chosen = ("--cut", "five-sides.drill-clamp-bolt", "--cut", "five-sides.drill-grease-port")
    data = json.loads(ran("tools", CLAMP, *chosen, "--json").stdout)
    assert data["alternative"] == "make-rotary"
    assert {"rules", "feeds", "settings", "alone"} == set(data["tables"])
    assert [row[2] for row in data["tables"]["settings"]["rows"]] == ["spindle speed", "feed"] * 2
    assert len(data["tables"]["rules"]["rows"]) == len(tool_risks(clamp, "make-rotary").priced)
    assert len(data["tables"]["feeds"]["rows"]) == 2
    text = " ".join(ran("tools", CLAMP).stdout.split())
    for words in ("drill-9mm", "State no scatter", "does not make them safe", INVENTED):
        assert words in text, words


def test_lot_finds_the_cheapest(clamp):
    text = ran("lot", CLAMP, "make-rotary").stdout
    assert "cheapest" in text
    best = cheapest_lot(clamp, "make-rotary", range(100, 1000)).cheapest
    assert f" {best:.0f} " in text


def test_life_says_what_the_log_supports():
    data = json.loads(ran("life", LOG, "--json").stdout)
    assert data["invented"]
    assert len(data["tables"]["life"]["rows"]) == 3
    mill = next(fit["taylor"] | fit for fit in data["fits"] if fit["tool"] == "end-mill-10mm-4f")
    constants = [mill[name] for name in ("exponent", "constant", "feed_exponent")]
    assert all(it["low"] < it["value"] < it["high"] for it in constants)
    assert mill["constant_feed"] == 1.0
    assert 0.0 < mill["variation"] < 1.0
    text = " ".join(ran("life", LOG, "--lognormal").stdout.split())
    for words in ("end-mill-10mm-4f", "cannot be told", "feed exponent", "of a feed of 1 mm", INVENTED):
        assert words in text, words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("tools", CLAMP, "--alternative", "status-quo"), "an alternative that is made"),
        (("tools", CLAMP, "--cut", "drill-clamp-bolt"), "step.cut"),
        (("tools", CLAMP, "--cut", "five-sides.tap-grease-port"), "states a feed"),
        (("lot", CLAMP, "rotary-and-c"), "an alternative with a lot"),
        (("life", CLAMP), "saddle-clamp.toml"),
    ],
)
def test_mistakes_are_told_in_words(arguments, words):
    result = ran(*arguments, status=2)
    assert words in " ".join(result.stderr.split())
