"""A part costed at an old year's rates never changes: figures to the cent against those held in history.toml.

They pin history and prove nothing else: what the figures should be is tested elsewhere, against other sources.
"""

from __future__ import annotations

import importlib.util
import re
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

from costmodel.rate_update import new_year, sheet_texts
from costmodel.reading import read_rates
from costmodel.reading.rate_folder import changed_since, file_marks, read_observations, read_rate_sheets
from costmodel.records.rate_sheet import YEAR_FILE
from costmodel.writing import write_folder


def history() -> ModuleType:
    """The module tests/history.py, which computes and writes the figures."""
    path = Path(__file__).parent / "history.py"
    spec = importlib.util.spec_from_file_location("history", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def held() -> dict[str, dict[str, str]]:
    return tomllib.loads((Path(__file__).parent / "history.toml").read_text(encoding="utf-8"))


def test_no_figure_has_changed() -> None:
    """A change that is meant is written anew by python tests/history.py, with its reason in the change notes."""
    assert history().costed() == held()


def test_a_third_year_is_a_price_of_its_own_and_moves_no_older_one(tmp_path: Path) -> None:
    """Made by ratio of the index, it changes every way to make, and both years before keep file and figure."""
    module = history()
    folder = module.ROOT / "data" / "rates"
    marks = {year: file_marks(folder / year) for year in module.YEARS}
    update = new_year(
        read_rate_sheets(folder / "2026"), 2027, read_observations(folder / "index_observations.csv")
    )
    files = {YEAR_FILE: update.sheets.year_text, **sheet_texts(update.sheets)}
    third = module.costed({"2027": write_folder(tmp_path / "2027", files, check=read_rates)})
    assert module.costed() == held()
    assert not any(changed_since(folder / year, marks[year]) for year in module.YEARS)
    assert set(third) == {f"2027.{name.partition('.')[2]}" for name in held()}
    for table, figures in third.items():
        older = held()[table.replace("2027.", "2026.")]
        assert all(figures[name] != older[name] for name in figures if name.startswith("make "))
    again = module.costed({"2027": tmp_path / "2027"})
    assert again == third


def test_every_part_is_held_at_every_year() -> None:
    module = history()
    parts = [path.stem for path in (module.ROOT / "data" / "parts").glob("*.toml")]
    years = [path.name for path in (module.ROOT / "data" / "rates").iterdir() if path.is_dir()]
    assert set(held()) == {f"{year}.{part}" for year in years for part in parts}
    for figures in held().values():
        assert any(name.startswith("make ") for name in figures)
        assert any(name.startswith("buy ") for name in figures)


def test_two_years_of_rates_are_two_prices() -> None:
    for table, figures in held().items():
        if table.startswith("2025."):
            later = held()[table.replace("2025.", "2026.")]
            for name in figures:
                if name.startswith("make "):
                    assert figures[name] != later[name]


@pytest.mark.parametrize("figures", held().values(), ids=held())
def test_figures_are_held_to_the_cent(figures: dict[str, str]) -> None:
    for figure in figures.values():
        assert re.fullmatch(r"\d+\.\d\d a part, \d+\.\d\d once", figure)
