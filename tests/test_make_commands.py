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


def test_tools_prices_rules_feeds_and_nights(clamp):
    chosen = ("--cut", "five-sides.drill-clamp-bolt", "--cut", "five-sides.drill-grease-port")
    data = json.loads(ran("tools", CLAMP, *chosen, "--json").stdout)
    assert data["alternative"] == "make-rotary"
    assert {"rules", "feeds", "alone"} == set(data["tables"])
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
    text = " ".join(ran("life", LOG, "--lognormal").stdout.split())
    for words in ("end-mill-10mm-4f", "cannot be told", INVENTED):
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
