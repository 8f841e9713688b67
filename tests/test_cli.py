"""The command line: says what it understood, every problem in words, JSON alone on standard output, at once."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, get_args

import pytest
from typer.testing import CliRunner

from costmodel import cli
from costmodel.cautions import INVENTED
from costmodel.cli import faults
from costmodel.decision import Decision
from costmodel.errors import LimitError, Problem
from costmodel.formulas._limits import positive
from costmodel.make_or_buy import compare
from costmodel.part_cost import part_cost
from costmodel.records.study import RateBasis, Study

DATA = Path(__file__).parent.parent / "data"
STUDIES = DATA / "studies"
CLAMP = str(STUDIES / "saddle-clamp.toml")
SHAFT = str(STUDIES / "worm-shaft.toml")
COVER = str(STUDIES / "encoder-cover.toml")


class Ran:
    """What a command left behind."""

    def __init__(self, *arguments: str) -> None:
        result = CliRunner().invoke(cli.app, list(arguments), env={"COLUMNS": "110"})
        self.status = result.exit_code
        self.out = result.stdout
        self.err = result.stderr
        assert "Traceback" not in result.output

    @property
    def data(self) -> Any:
        return json.loads(self.out)


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test in an empty folder of its own: nothing is written into the project."""
    monkeypatch.chdir(tmp_path)


def flat(text: str) -> str:
    return " ".join(text.split())


# --- check -------------------------------------------------------------------------------------------


def test_check_says_what_it_understood() -> None:
    ran = Ran("check", CLAMP)
    assert ran.status == 0
    assert ran.err == ""
    for word in ("Saddle clamp", "4000 parts a year", "rotary", "cuts", "Overseas A", "guesses", "2026"):
        assert word in flat(ran.out), word


@pytest.mark.parametrize(
    ("path", "words"),
    [
        (DATA / "parts" / "worm-shaft.toml", ["Worm shaft", "lathe", "in USD"]),
        (DATA / "quotes" / "worm-shaft.csv", ["Overseas B", "JPY", "valid"]),
        (DATA / "rates" / "2025", ["2025 in USD", "machines", "valid 2025-01-01"]),
        (DATA / "rates" / "2025" / "machines.csv", ["2025 in USD"]),
        (DATA / "rates" / "2025" / "year.toml", ["2025 in USD"]),
    ],
)
def test_check_takes_every_kind_of_file(path: Path, words: list[str]) -> None:
    ran = Ran("check", str(path))
    assert ran.status == 0, ran.err
    assert all(word in flat(ran.out) for word in words)


def test_check_tells_what_a_study_asks_of_its_machines(small_copy: Path) -> None:
    study = small_copy / "study.toml"
    part = small_copy / "part.toml"
    part.write_text(part.read_text().replace('feed = "60 in/min"', 'feed = "6000 in/min"', 1))
    told = [
        row
        for row in Ran("cost", str(study), "--route", "cuts", "--json").data["tables"]["flags"]["rows"]
        if "feed" in row[1]
    ]
    assert told
    ran = Ran("check", str(study), "--json")
    assert ran.status == 0
    understood = [row[2] for row in ran.data["understood"]["rows"]]
    assert all(any(text in row for row in understood) for _, text in told)


def test_check_holds_a_part_against_the_year_given_beside_it(small_copy: Path) -> None:
    part, year = small_copy / "part.toml", small_copy / "rates"
    assert Ran("check", str(part), str(year)).status == 0
    text = part.read_text()
    tool = re.search(r'tool = "([^"]+)"', text)
    assert tool is not None
    part.write_text(text.replace(tool[0], 'tool = "no-such-mill"', 1))
    assert Ran("check", str(part)).status == 0, "alone, there is nothing to hold it against"
    for order in ((part, year), (year, part)):
        ran = Ran("check", *map(str, order))
        assert ran.status == 2
        assert "no-such-mill" in ran.err
        assert "part.toml" in ran.err


def test_a_part_and_a_study_of_one_name_are_told_apart(tmp_path: Path, small_copy: Path) -> None:
    (small_copy / "parts").mkdir()
    same = small_copy / "parts" / "study.toml"
    same.write_text((small_copy / "part.toml").read_text().replace("revision", "revison", 1))
    study = small_copy / "study.toml"
    study.write_text(study.read_text().replace('"part.toml"', '"parts/study.toml"'))
    ran = Ran("check", str(study))
    assert ran.status == 2
    assert "parts/study.toml: revison" in ran.err


def test_check_names_the_problems_of_every_file(small_copy: Path) -> None:
    study = small_copy / "study.toml"
    study.write_text(study.read_text().replace("discount_rate", "discount_rat"))
    ran = Ran("check", str(study), "missing.toml", "picture.png", CLAMP)
    assert ran.status == 2
    for word in ("discount_rat", "missing.toml", "picture.png", "remedy", "expected"):
        assert word in ran.err
    assert "Saddle clamp" in ran.out, "what could be read is shown"


def test_check_as_json_holds_the_problems() -> None:
    good, bad = Ran("check", SHAFT, "--json"), Ran("check", "missing.toml", "--json")
    assert good.data["ok"] is True
    assert good.data["understood"]["rows"]
    assert bad.status == 2
    assert bad.data["ok"] is False
    assert set(bad.data["problems"][0]) == {"file", "place", "value", "expected", "remedy"}
    assert "missing.toml" in bad.err


def test_a_part_in_two_currencies_is_asked_about(small_copy: Path) -> None:
    part = small_copy / "part.toml"
    text = part.read_text()
    assert "USD" in text
    part.write_text(text.replace("USD", "EUR", 1))
    ran = Ran("check", str(part))
    assert ran.status == 2
    assert "EUR, USD" in ran.err
    assert "--currency" in ran.err


# --- cost --------------------------------------------------------------------------------------------


def test_cost_prints_the_part_with_both_clocks_tools_and_rate(demo: dict[str, Study]) -> None:
    ran = Ran("cost", CLAMP)
    assert ran.status == 0
    text = flat(ran.out)
    for word in (
        "machine",
        "hands-on",
        "[min/part]",
        "set-up",
        "tooling",
        "face-mill-2in",
        "capital",
        "To be known",
    ):
        assert word in text, word
    assert "Other routes: single-vice" in text


def test_cost_as_json_is_the_library_s_cost(demo: dict[str, Study]) -> None:
    study = demo["saddle-clamp"]
    data = Ran("cost", CLAMP, "--route", "single-vice", "--lot", "100", "--basis", "budgeted", "--json").data
    cost = part_cost(
        study.part,
        study.part.routes["single-vice"],
        study.rates,
        lot=100.0,
        per_year=study.demand.per_year,
        basis="budgeted",
    )
    by_step = data["tables"]["by-step"]
    names = [column["name"] for column in by_step["columns"]]
    assert by_step["rows"][-1][names.index("total")] == pytest.approx(float(cost.per_part()), rel=1e-12)
    assert (data["route"], data["basis"]) == ("single-vice", "budgeted")


def test_once_costs_are_spread_on_request() -> None:
    def once(data: Any) -> list[str]:
        return [column["name"] for column in data["tables"]["once"]["columns"]]

    assert "spread" not in once(Ran("cost", CLAMP, "--json").data)
    assert "spread" in once(Ran("cost", CLAMP, "--spread-over", "12000", "--json").data)


def test_the_bases_of_the_command_are_those_of_the_model() -> None:
    assert tuple(basis.value for basis in cli.Basis) == get_args(RateBasis)


# --- compare and what-ifs ----------------------------------------------------------------------------


def test_compare_shows_alternatives_and_landed_layers(demo: dict[str, Study]) -> None:
    ran = Ran("compare", CLAMP)
    assert ran.status == 0
    for alternative in demo["saddle-clamp"].alternatives.values():
        assert flat(alternative.title).split()[0] in flat(ran.out)
    for word in ("Landed cost", "metal-layer-aluminium", "none stated", "Offers"):
        assert word in flat(ran.out)


def per_part(data: Any) -> dict[str, float]:
    table = data["tables"]["alternatives"]
    names = [column["name"] for column in table["columns"]]
    return {row[0]: row[names.index("a part")] for row in table["rows"]}


def test_inputs_can_be_changed_with_their_units(demo: dict[str, Study]) -> None:
    study = demo["worm-shaft"].with_inputs({"demand.per_year": 2500.0, "rates.labour.operator.wage": 60.0})
    data = Ran(
        "compare",
        SHAFT,
        "--set",
        "demand.per_year=2500 part/yr",
        "--set",
        "rates.labour.operator.wage = 1 USD/min",
        "--json",
    ).data
    wanted = [float(cost.per_part()) for cost in compare(study).alternatives.values()]
    assert list(per_part(data).values()) == pytest.approx(wanted, rel=1e-12)
    assert data["stamp"]["changed"] == [
        "demand.per_year = 2500 part/yr",
        "rates.labour.operator.wage = 1 USD/min",
    ]


def test_a_scenario_is_applied_and_named(demo: dict[str, Study]) -> None:
    study = demo["worm-shaft"].with_scenario("volume-halved")
    data = Ran("compare", SHAFT, "--scenario", "volume-halved", "--json").data
    wanted = [float(cost.per_part()) for cost in compare(study).alternatives.values()]
    assert list(per_part(data).values()) == pytest.approx(wanted, rel=1e-12)
    assert "Half the volume" in data["stamp"]["changed"][0]
    assert "Half the volume" in Ran("compare", SHAFT, "--scenario", "volume-halved").out


def test_another_basis_moves_making_only() -> None:
    full, cash = (
        per_part(Ran("compare", SHAFT, "--basis", it, "--json").data) for it in ("practical", "cash")
    )
    assert full["Buy from Regional C"] == cash["Buy from Regional C"]
    assert full["Turn it on the lathe"] > cash["Turn it on the lathe"]


# --- brief -------------------------------------------------------------------------------------------


def test_brief_prints_the_decision_and_writes_its_page(tmp_path: Path) -> None:
    ran = Ran("brief", COVER, "--draws", "256")
    assert ran.status == 0, ran.err
    assert ran.err == "", "no progress bar where nobody watches"
    page = tmp_path / "encoder-cover.html"
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert [it.name for it in tmp_path.iterdir()] == ["encoder-cover.html"]
    text = flat(ran.out)
    assert str(page) in text.replace(" ", "") or str(page) in text
    for word in (
        "Alternatives side by side",
        "Four bases",
        "Where the cheaper side changes",
        "When the money is back",
        "Machine hours, a year and in the busiest month",
        "What would change the answer",
        "What is guessed",
        "256 draws, seed 1",
        "The tool prices",
        "local codes",
    ):
        assert flat(word) in text, word


def test_brief_writes_where_asked_and_its_tables_too(tmp_path: Path) -> None:
    ran = Ran("brief", SHAFT, "--draws", "64", "-o", "p.html", "--csv", "tables", "--seed", "7", "--json")
    assert ran.status == 0, ran.err
    assert Path(ran.data["page"]) == tmp_path / "p.html"
    assert ran.data["stamp"]["seed"] == 7
    written = {it.stem for it in (tmp_path / "tables").iterdir()}
    assert written == set(ran.data["tables"])
    assert {"chart-volume", "chart-swings", "chart-cash", "chart-advantage", "chart-stack"} <= written
    assert (tmp_path / "tables" / "landed.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_the_same_seed_gives_the_same_page(tmp_path: Path) -> None:
    for name in ("a.html", "b.html"):
        assert Ran("brief", SHAFT, "--draws", "64", "-o", name).status == 0
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()


def test_a_changed_input_is_named_on_the_page(tmp_path: Path) -> None:
    ran = Ran("brief", SHAFT, "--draws", "64", "--set", "demand.per_year=2500 part/yr")
    assert ran.status == 0
    assert "Changed for this run: demand.per_year = 2500 part/yr" in ran.out
    assert "demand.per_year = 2500 part/yr" in (tmp_path / "worm-shaft.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("draws", ["0", "-8", "100", "32"])
def test_draws_are_a_power_of_two(draws: str) -> None:
    ran = Ran("brief", SHAFT, "--draws", draws)
    assert ran.status == 2
    assert "a power of two" in ran.err


def test_a_decision_needs_a_way_to_make_and_one_to_buy(small_copy: Path) -> None:
    study = small_copy / "study.toml"
    text = study.read_text()
    ran = Ran("check", str(study))
    assert ran.status == 0, ran.err
    blocks = text.split("[[alternatives]]")
    kept = [blocks[0], *(it for it in blocks[1:] if "make =" not in it and "shares" not in it)]
    rest = blocks[-1].partition("\n[")
    tail = rest[1] + rest[2] if "make =" in blocks[-1] or "shares" in blocks[-1] else ""
    study.write_text("[[alternatives]]".join(kept) + tail)
    ran = Ran("brief", str(study), "--draws", "64")
    assert ran.status == 2
    assert "none that would make" in ran.err
    assert Ran("compare", str(study)).status == 0


# --- schema, version, help ---------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["part", "study", "year"])
def test_a_schema_is_printed_or_written(kind: str, tmp_path: Path) -> None:
    printed = Ran("schema", kind)
    assert printed.data["$schema"].startswith("https://json-schema.org")
    assert printed.data["properties"]
    assert Ran("schema", kind, "-o", "schema.json").status == 0
    assert json.loads((tmp_path / "schema.json").read_text()) == printed.data
    assert Ran("schema", kind, "-o", "schema.json", "--json").data == {"written": "schema.json"}


def test_the_version_is_shown() -> None:
    ran = Ran("--version")
    assert ran.status == 0
    assert ran.out.startswith("costmodel ")


def test_help_names_every_command() -> None:
    text = Ran("--help").out
    for command in ("check", "cost", "compare", "brief", "schema"):
        assert f"\n  {command} " in text
        assert Ran(command, "--help").status == 0


# --- faults in plain words ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ["cost", CLAMP, "--route", "rotari"],
            ["--route", "rotari", "single-vice, rotary", 'Did you mean "rotary"?'],
        ),
        (["cost", SHAFT, "--scenario", "nix"], ["scenarios", "nix", "duty-up"]),
        (["compare", "missing.toml"], ["missing.toml", "a file that exists"]),
        (["compare", "."], ["file"]),
        (["brief", SHAFT, "--draws", "64", "-o", "no/page.html"], ["page.html", "a folder no that exists"]),
        (["compare", SHAFT, "--set", "demand.per_year"], ["--set", "address=value"]),
        (["compare", SHAFT, "--set", "demand.per_yea=5"], ['Did you mean "per_year"?']),
        (["compare", SHAFT, "--set", "demand.per_year=5"], ["part/yr", "Add the unit"]),
        (["compare", SHAFT, "--set", "demand.per_year=5 min"], ["another kind of quantity"]),
        (["compare", SHAFT, "--set", "demand.per_year=-5 part/yr"], ["above 0"]),
        (["compare", SHAFT, "--set", "finance.horizon=0"], ["finance.horizon", "greater than"]),
        (
            ["compare", SHAFT, "--set", "demand.growth=1 %", "--set", "demand.growth=2 %"],
            ["demand.growth", "once"],
        ),
        (["cost", SHAFT, "--lot", "0"], ["--lot"]),
        (["cost", SHAFT, "--basis", "full"], ["--basis", "practical"]),
        (["schema", "quotes"], ["quotes", "part"]),
        (["brief"], ["STUDY"]),
        (["what"], ["what"]),
    ],
)
def test_a_fault_is_told_in_words_on_standard_error(arguments: list[str], words: list[str]) -> None:
    ran = Ran(*arguments)
    assert ran.status == 2
    assert ran.out == ""
    for word in words:
        assert word in flat(ran.err), ran.err


def test_a_route_that_no_alternative_uses_wants_a_lot(tmp_path: Path) -> None:
    data = Path(shutil.copytree(DATA, tmp_path / "data"))
    study = data / "studies" / "saddle-clamp.toml"
    text = study.read_text()
    assert 'make = "single-vice"' in text
    study.write_text(text.replace('make = "single-vice"', 'make = "rotary"'))
    ran = Ran("cost", str(study), "--route", "single-vice")
    assert ran.status == 2
    assert "--lot" in ran.err
    assert Ran("cost", str(study), "--route", "single-vice", "--lot", "50").status == 0


def test_a_limit_of_a_formula_is_told_like_any_problem(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def beyond(*_: object, **__: object) -> None:
        positive(lot=-1.0)

    monkeypatch.setattr("costmodel.cli.compare.compare", beyond)
    ran = Ran("compare", SHAFT)
    assert ran.status == 2
    assert "lot" in ran.err
    assert "remedy" in ran.err


def test_a_file_that_may_not_be_read_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", "study.toml")

    monkeypatch.setattr("costmodel.cli.shared.read_study", denied)
    ran = Ran("compare", "study.toml")
    assert ran.status == 2
    assert "study.toml" in ran.err
    assert "permission denied" in ran.err


def test_a_fault_of_the_program_is_owned_up_to(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr("costmodel.cli.compare.compare", broken)
    ran = Ran("compare", SHAFT)
    assert ran.status == 1
    assert "a fault of its own" in ran.err
    assert faults.TRACEBACK in ran.err
    monkeypatch.setenv(faults.TRACEBACK, "1")
    result = CliRunner().invoke(cli.app, ["compare", SHAFT])
    assert isinstance(result.exception, ZeroDivisionError)


def test_problems_are_numbered_and_wrapped(capsys: pytest.CaptureFixture[str]) -> None:
    long = "a value " * 40
    faults.tell([Problem("a.toml", "row 1", long, "b", "c"), Problem("b.toml", "x", "", "y", "z")])
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "2 problems in what was given:"
    assert max(len(line) for line in lines) <= 100
    assert any(line.startswith("  2  b.toml: x") for line in lines)
    assert sum("found" in line for line in lines) == 1


def test_a_limit_becomes_a_problem() -> None:
    problem = faults.problem_of(LimitError("wage", -1.0, "at least 0"))
    assert (problem.place, problem.value, problem.expected) == ("wage", "-1.0", "at least 0")


# --- every output says invented ----------------------------------------------------------------------


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize(
    "arguments", [["check"], ["cost"], ["compare"], ["brief", "--draws", "64"]], ids=lambda it: str(it[0])
)
def test_demo_data_are_called_invented_in_every_output(arguments: list[str], as_json: bool) -> None:
    ran = Ran(arguments[0], SHAFT, *arguments[1:], *(["--json"] if as_json else []))
    assert ran.status == 0
    assert INVENTED in ran.out
    if as_json:
        assert isinstance(ran.data, dict), "nothing but JSON on standard output"


def test_a_narrow_terminal_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    result = CliRunner().invoke(cli.app, ["compare", SHAFT], env={"COLUMNS": "70"})
    assert result.exit_code == 0
    assert max(len(line.rstrip()) for line in result.stdout.splitlines()) <= 70
    assert "cash worth" in flat(result.stdout).replace("worth,", "worth") or "worth" in result.stdout


# --- at once -----------------------------------------------------------------------------------------


def seconds(*arguments: str) -> float:
    """The shortest of three runs of the command in a process of its own."""
    code = "import sys; from costmodel.cli import main; sys.argv = ['costmodel', *sys.argv[1:]]; main()"
    taken = []
    for _ in range(3):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", code, *arguments], check=True, capture_output=True)
        taken.append(time.perf_counter() - began)
    return min(taken)


def modules_loaded(*arguments: str) -> set[str]:
    code = (
        "import sys\nfrom costmodel.cli import app\n"
        "app(sys.argv[1:], standalone_mode=False)\nprint(*sys.modules, file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code, *arguments], check=True, capture_output=True, text=True)
    return set(ran.stderr.split())


def test_help_loads_nothing_heavy() -> None:
    loaded = modules_loaded("--help")
    assert "typer" in loaded
    assert loaded.isdisjoint({"numpy", "pydantic", "pint", "rich", "pandas", "matplotlib", "scipy"})


def test_check_loads_no_library_for_tables_charts_or_draws() -> None:
    loaded = modules_loaded("check", SHAFT)
    assert "pydantic" in loaded
    assert "rich" not in loaded
    assert loaded.isdisjoint({"pandas", "matplotlib", "scipy.stats", "scipy.special", "openpyxl"})


@pytest.mark.bench
def test_help_takes_no_time() -> None:
    assert seconds("--help") < 0.4


@pytest.mark.bench
def test_check_takes_under_a_second() -> None:
    assert seconds("check", CLAMP) < 1.0


@pytest.mark.bench
def test_brief_takes_under_five_seconds_of_its_own(demo: dict[str, Study]) -> None:
    import matplotlib.backends.backend_svg  # noqa: F401
    import scipy.stats  # noqa: F401

    from costmodel.decision import decide
    from costmodel.page import page_html

    began = time.perf_counter()
    decision: Decision = decide(demo["saddle-clamp"])
    page_html(decision)
    assert time.perf_counter() - began < 5.0


def test_the_console_command_starts() -> None:
    command = shutil.which("costmodel", path=str(Path(sys.executable).parent))
    if command is None:
        pytest.skip("the package is not installed here")
    ran = subprocess.run([command, "--version"], capture_output=True, text=True, check=True)
    assert ran.stdout.startswith("costmodel ")
