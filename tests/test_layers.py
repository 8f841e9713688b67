"""Imports run one way: the contracts of pyproject.toml hold, and each kind of wrong import breaks them."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CONTRACTS = 2
EDGES = ["cli", "sharing", "charts", "tables", "reading"]
RESULTS = [
    "decision",
    "capacity",
    "uncertainty",
    "rate_update",
    "make_or_buy",
    "part_cost",
    "landed_cost",
    "supply",
]
GROUND = ["cost_lines", "records", "formulas", "units", "errors"]


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    """import-linter on the package and pyproject.toml of a folder."""
    command = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    return subprocess.run(
        [sys.executable, "-c", command, "--no-cache"], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """pyproject.toml beside a package of all the modules, empty but for imports that are allowed."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    package = tmp_path / "costmodel"
    package.mkdir()
    (package / "__init__.py").touch()
    for module in (*EDGES, *RESULTS, *GROUND):
        (package / f"{module}.py").touch()
    for importer, imported in (
        ("cli", "sharing"),
        ("cli", "reading"),
        ("sharing", "charts"),
        ("tables", "uncertainty"),
        ("capacity", "make_or_buy"),
        ("make_or_buy", "part_cost"),
        ("part_cost", "records"),
        ("part_cost", "formulas"),
        ("reading", "records"),
        ("records", "units"),
        ("formulas", "errors"),
    ):
        add_import(package / f"{importer}.py", imported)
    return tmp_path


def add_import(module: Path, imported: str) -> None:
    with module.open("a") as file:
        file.write(f"\nimport costmodel.{imported}\n")


def test_the_package_keeps_every_contract() -> None:
    result = lint_imports(ROOT)
    assert result.returncode == 0, result.stdout + result.stderr
    assert f"{CONTRACTS} kept, 0 broken" in result.stdout


def test_the_allowed_imports_keep_every_contract(house: Path) -> None:
    result = lint_imports(house)
    assert result.returncode == 0, result.stdout + result.stderr


@pytest.mark.parametrize(
    ("importer", "imported"),
    [
        ("errors", "units"),
        ("units", "records"),
        ("formulas", "records"),
        ("records", "formulas"),
        ("records", "part_cost"),
        ("part_cost", "supply"),
        ("landed_cost", "make_or_buy"),
        ("make_or_buy", "uncertainty"),
        ("uncertainty", "decision"),
        ("make_or_buy", "reading"),
        ("part_cost", "tables"),
        ("uncertainty", "charts"),
        ("capacity", "sharing"),
        ("charts", "cli"),
        ("reading", "tables"),
        ("tables", "charts"),
        ("reading", "formulas"),
        ("reading", "cost_lines"),
    ],
)
def test_a_wrong_import_breaks_a_contract(house: Path, importer: str, imported: str) -> None:
    add_import(house / "costmodel" / f"{importer}.py", imported)
    result = lint_imports(house)
    assert result.returncode == 1, result.stdout + result.stderr
    assert f"costmodel.{importer} is not allowed to import costmodel.{imported}" in result.stdout


def test_reading_that_computes_breaks_a_contract(house: Path) -> None:
    add_import(house / "costmodel" / "reading.py", "part_cost")
    result = lint_imports(house)
    assert result.returncode == 1, result.stdout + result.stderr
    assert "costmodel.reading is not allowed to import costmodel.formulas" in result.stdout


def test_a_wrong_import_through_the_package_itself_breaks_a_contract(house: Path) -> None:
    add_import(house / "costmodel" / "__init__.py", "reading")
    with (house / "costmodel" / "part_cost.py").open("a") as file:
        file.write("\nfrom costmodel import study\n")
    assert lint_imports(house).returncode == 1


def test_a_module_without_a_place_breaks_a_contract(house: Path) -> None:
    (house / "costmodel" / "somewhere.py").touch()
    assert lint_imports(house).returncode == 1


def test_a_wrong_import_in_a_copy_of_the_package_breaks_a_contract(tmp_path: Path) -> None:
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(ROOT / "costmodel", tmp_path / "costmodel", ignore=shutil.ignore_patterns("__pycache__"))
    add_import(tmp_path / "costmodel" / "formulas" / "__init__.py", "records")
    result = lint_imports(tmp_path)
    assert result.returncode == 1, result.stdout + result.stderr
    assert "costmodel.formulas is not allowed to import costmodel.records" in result.stdout
