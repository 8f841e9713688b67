"""Rules for the files of the repository as a whole; each is shown to catch a bad sample."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "costmodel", "notebooks", "data", "tests"}

# The words that no file may hold are joined here, so that this file holds none of them.
REGISTRY_HOSTS = re.compile(
    r"\b(?:pypi|pythonhosted|npmjs|yarnpkg|anaconda|crates|unpkg|jsdelivr|cdnjs|cloudflare|debian|ubuntu|docker)"
    r"\.(?:org|com|io|net)\b|--(?:extra-)?index-url|find-links",
    re.IGNORECASE,
)
ABOUT_ITS_MAKING = re.compile(
    "|".join(
        (
            r"\biss" r"ues?\s*#",
            r"(?<!scope=[\"'])\b(?-i:[Ss]es" r"sion|ses" r"sions)\b",
            r"\bhel" r"pers?\b",
            r"\bL" r"LMs?\b",
            r"\bCla" r"ude\b",
            r"\bAnthro" r"pic\b",
            r"\bchat" r"bots?\b",
            r"\blanguage" r" models?\b",
            r"\b(?:AI|machine)-(?:gener" r"ated|writ" r"ten)\b",
            r"/wo" r"rk/",
            r"\bshar" r"ed/\w+\.md",
        )
    ),
    re.IGNORECASE,
)


def tracked_files() -> list[Path]:
    """The files of the project: what git keeps or would keep; without git, all but hidden and built ones."""
    command = [
        "git",
        "-c",
        "safe.directory=*",
        "ls-files",
        "-z",
        "--cached",
        "--others",
        "--exclude-standard",
    ]
    try:
        listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    except (OSError, subprocess.CalledProcessError):
        inside = (path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file())
        unkept = re.compile(
            r"(^|/)(\.(?!ci/|git(?:ignore|attributes)$)|__pycache__/|build/|dist/|out/)|^[^/]+\.html$"
        )
        return sorted(ROOT / path for path in inside if not unkept.search(path.as_posix()))
    return sorted(ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file())


def text_of(path: Path) -> str:
    """The text of a file, without the pictures stored in notebooks; empty for a binary file."""
    content = path.read_bytes()
    if b"\0" in content:
        return ""
    return re.sub(r"(?:[A-Za-z0-9+/=]|\\n){200,}", "", content.decode("utf-8"))


def top_level(files: list[Path]) -> set[str]:
    names = {path.relative_to(ROOT).parts[0] for path in files}
    return {name for name in names if not name.startswith(".")}


def test_the_top_level_holds_what_it_may() -> None:
    assert top_level(tracked_files()) == TOP_LEVEL


def test_a_stray_file_at_the_top_is_caught() -> None:
    assert top_level([ROOT / "NOTES.md", ROOT / ".gitignore", ROOT / "data" / "a.csv"]) == {
        "NOTES.md",
        "data",
    }


def test_the_files_of_the_project_are_found() -> None:
    found = {path.relative_to(ROOT).as_posix() for path in tracked_files()}
    assert {"pyproject.toml", ".ci/run", "costmodel/units.py", "tests/test_repository.py"} <= found


def matches(pattern: re.Pattern[str], files: list[Path]) -> list[str]:
    return [
        f"{path}:{number}: {match.group()}"
        for path in files
        for number, line in enumerate(text_of(path).splitlines(), start=1)
        if (match := pattern.search(line))
    ]


def test_no_file_names_a_package_registry() -> None:
    others = [path for path in tracked_files() if path != Path(__file__)]
    found = matches(REGISTRY_HOSTS, others)
    assert not found, "\n".join(found)


def test_no_file_speaks_of_how_it_was_made() -> None:
    found = matches(ABOUT_ITS_MAKING, tracked_files())
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "host", ["https://pypi" + ".org/simple", "files.pythonhosted" + ".org", "--index" + "-url x"]
)
def test_a_registry_is_caught(tmp_path: Path, host: str) -> None:
    sample = tmp_path / "sample.md"
    sample.write_text(f"first\nfrom {host}\n")
    assert matches(REGISTRY_HOSTS, [sample])[0].startswith(f"{sample}:2: ")


@pytest.mark.parametrize(
    "text",
    [
        "as iss" + "ue #2 asks",
        "see Iss" + "ues #1 and #12",
        "in this ses" + "sion",
        "a hel" + "per wrote",
        "by Cla" + "ude",
        "an L" + "LM",
        "/wo" + "rk/main",
        "see shar" + "ed/design.md",
    ],
)
def test_a_word_about_the_making_is_caught(tmp_path: Path, text: str) -> None:
    sample = tmp_path / "sample.md"
    sample.write_text(text)
    assert matches(ABOUT_ITS_MAKING, [sample])


@pytest.mark.parametrize(
    "text", ['@pytest.fixture(scope="session")', "a tissue 2 mm thick", "possession", "J. Sessions, 2021"]
)
def test_an_innocent_word_passes(tmp_path: Path, text: str) -> None:
    sample = tmp_path / "sample.py"
    sample.write_text(text)
    assert matches(ABOUT_ITS_MAKING, [sample]) == []


def test_pictures_and_binary_files_are_no_text(tmp_path: Path) -> None:
    (tmp_path / "picture.ipynb").write_text('{"image/png": "' + "QUJD+L" * 100 + '"}')
    (tmp_path / "sheet.xlsx").write_bytes(b"PK\0\xff")
    assert text_of(tmp_path / "picture.ipynb") == '{"image/png": ""}'
    assert text_of(tmp_path / "sheet.xlsx") == ""


# --- the first thing a reader does -------------------------------------------------------------------

INSTALL = re.compile(
    r"python3 -m venv \.venv && \.venv/bin/pip install -q -c \.ci/constraints\.txt -e \S+"
    r" && \.venv/bin/(?:costmodel brief data/studies/\S+\.toml|pytest -q -n 2)"
)


def first_block(text: str) -> list[str]:
    found = re.search(r"^```[^\n]*\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    return found.group(1).splitlines() if found else []


def test_readme_starts_with_two_commands() -> None:
    lines = first_block((ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(lines) == 2
    assert all(INSTALL.fullmatch(line) for line in lines), lines
    assert "costmodel brief" in lines[0]
    assert "pytest" in lines[1]


def test_another_command_or_a_third_line_is_caught() -> None:
    assert first_block("text\n```\none\ntwo\nthree\n```\n```\nfour\n```\n") == ["one", "two", "three"]
    assert first_block("no block") == []
    assert not INSTALL.fullmatch(
        "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/pytest -q -n 2"
    )


def unpinned(requirements: list[str], constraints: str) -> list[str]:
    """Requirements that the constraints do not pin to one release."""
    pins = {
        re.sub(r"[-_.]+", "-", line.partition("==")[0]).lower()
        for line in constraints.splitlines()
        if re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.]+", line)
    }
    names = [re.split(r"[\[<>=!~; ]", it)[0] for it in requirements]
    return [
        name for name in names if re.sub(r"[-_.]+", "-", name).lower() not in pins and name != "costmodel"
    ]


def test_every_requirement_is_pinned_for_the_tests() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = [it for extra in project["optional-dependencies"].values() for it in extra]
    constraints = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    assert unpinned(project["dependencies"] + extras, constraints) == []


def test_an_unpinned_requirement_is_caught() -> None:
    constraints = "numpy==2.4.6\nnumpy-financial==1.0.0\npandas>=2\n"
    assert unpinned(["numpy>=2", "numpy_financial", "pandas>=2", "pint"], constraints) == ["pandas", "pint"]
