"""Notebooks as pages: whole in one file, with other inputs as data, and a fault named without losing the others."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook
from typer.testing import CliRunner

from costmodel.cli import app
from costmodel.errors import InputError
from costmodel.sharing import jobs_for, notebooks_of, render, render_all
from costmodel.sharing.notebook_page import page_of
from costmodel.sharing.parameters import as_kind

ROOT = Path(__file__).parent.parent
NOTEBOOKS = ROOT / "notebooks"
LARGEST = 2_000_000

pytestmark = pytest.mark.slow


def write_notebook(path: Path, *sources: str) -> Path:
    """A notebook file whose first code cell is tagged as parameters."""
    cells = [new_code_cell(source) for source in sources]
    cells[0].metadata["tags"] = ["parameters"]
    nbformat.write(new_notebook(cells=[new_markdown_cell("# How many?"), *cells]), path)
    return path


@pytest.fixture(scope="module")
def rendered(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """One notebook that runs, two that fail, side by side; the pages written and the faults, by name."""
    folder = tmp_path_factory.mktemp("notebooks")
    evil = "__import__('pathlib').Path('caught').write_text('x')"
    write_notebook(folder / "good.ipynb", 'word = ""\nvolume = 2', "print(word, volume)")
    write_notebook(folder / "bad.ipynb", "volume = 2", "print(volume)", "print(volume)\nundefined + volume")
    jobs = jobs_for(notebooks_of("all", folder), None, {"word": f'"{evil}\n{evil}', "volume": "7"}, {})
    told: list[str] = []
    results = render_all(jobs, folder / "pages", told=lambda result: told.append(result.notebook.stem))
    assert sorted(told) == ["bad", "good"]
    assert not (folder / "caught").exists()
    assert not Path("caught").exists()
    return {
        it.notebook.stem: str(it.problem) if it.page is None else it.page.read_text(encoding="utf-8")
        for it in results
    }


def test_parameters_arrive_as_data(rendered: dict[str, str]) -> None:
    assert "__import__('pathlib')" in unescape(rendered["good"]), "shown as the text it is"
    assert re.search(r"\b7\n?</pre>", rendered["good"])


def test_a_failing_notebook_is_named_with_cell_and_cause(rendered: dict[str, str]) -> None:
    for piece in ("bad.ipynb", "code cell 4", "undefined + volume", "NameError"):
        assert piece in rendered["bad"]


def test_the_page_has_no_code_unless_asked(rendered: dict[str, str]) -> None:
    assert "print(word" not in rendered["good"]
    stored = nbformat.read(NOTEBOOKS / "cost_to_buy.ipynb", as_version=4)
    assert "read_study(" not in page_of(stored)
    assert "read_study(" in page_of(stored, code=True)


@pytest.mark.parametrize("path", sorted(NOTEBOOKS.glob("*.ipynb")), ids=lambda path: path.stem)
def test_every_page_is_whole_small_and_for_every_reader(path: Path) -> None:
    page = page_of(nbformat.read(path, as_version=4))
    assert len(page.encode()) < LARGEST
    assert not re.search(r"<script|<link|<iframe|https?:|@import|url\(", page)
    assert "default-src 'none'" in page
    assert page.count("<h1") == 1
    assert re.search(r"<h1[^>]*>[^<]*\?", page), "the title is a question"
    assert "What would change this answer" in page
    assert 'class="banner"' in page
    images = re.findall(r"<img [^>]*>", page)
    assert all(re.search(r"""alt=("[^"]{60,}"|'[^']{60,}')""", image) for image in images)
    assert images
    assert page.count("<table>") == page.count('download="')
    assert re.search(r"inputs [0-9a-f]{6,}", page)


def test_words_in_outputs_cannot_act_as_markup(tmp_path: Path) -> None:
    path = write_notebook(tmp_path / "words.ipynb", "volume = 1", 'print("<script>alert(1)</script>")')
    result = render(jobs_for([path], None, {}, {})[0], tmp_path)
    assert result.page is not None
    assert "<script" not in result.page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "default", "value"),
    [
        ("12", 1, 12),
        ("1", 0.5, 1),
        ("a b", "", "a b"),
        ("1+1", "", "1+1"),
        ("[1]", [], [1]),
        ("True", False, True),
    ],
)
def test_a_text_becomes_a_value_of_its_parameters_kind(text: str, default: object, value: object) -> None:
    assert as_kind(text, default) == value


@pytest.mark.parametrize(
    ("text", "default"), [("1+1", 1), ("print(1)", 1), ("True", 1), ("1.5", 1), ("x", 0.5), ("{}", [])]
)
def test_anything_else_is_refused(text: str, default: object) -> None:
    with pytest.raises((ValueError, SyntaxError)):
        as_kind(text, default)


def test_unknown_parameters_and_notebooks_are_named() -> None:
    with pytest.raises(InputError, match="study_path"):
        jobs_for(notebooks_of("decision", NOTEBOOKS), None, {"volum": "7"}, {})
    with pytest.raises(InputError, match="break_even_volume"):
        notebooks_of("nothing", NOTEBOOKS)


def test_a_folder_means_all_its_notebooks(tmp_path: Path) -> None:
    assert notebooks_of(str(NOTEBOOKS), tmp_path) == notebooks_of("all", NOTEBOOKS)
    with pytest.raises(InputError, match="a notebook"):
        notebooks_of(str(tmp_path), tmp_path)


def test_draws_are_a_power_of_two_as_everywhere() -> None:
    jobs = jobs_for(notebooks_of("decision", NOTEBOOKS), None, {"draws": "512"}, {})
    assert jobs[0].values["draws"] == 512
    for draws in ("1000", "32"):
        with pytest.raises(InputError, match="power of two"):
            jobs_for(notebooks_of("decision", NOTEBOOKS), None, {"draws": draws}, {})


def test_the_study_and_overrides_reach_every_notebook() -> None:
    study = ROOT / "data" / "studies" / "worm-shaft.toml"
    for job in jobs_for(notebooks_of("all", NOTEBOOKS), study, {}, {"demand.per_year": "900 part/yr"}):
        assert job.values == {
            "study_path": str(study.resolve()),
            "overrides": {"demand.per_year": "900 part/yr"},
        }


def test_the_command_refuses_what_is_no_parameter_or_no_study() -> None:
    runner = CliRunner()
    for options in (["-p", "draws"], ["--study", "missing.toml"]):
        result = runner.invoke(app, ["render", "decision", "--notebooks", str(NOTEBOOKS), *options])
        assert result.exit_code == 2
