"""What every demonstration part cost at each year's rates, to the cent: python tests/history.py writes it anew.

It also seals the oldest year and freezes the decision in data/decisions again, whose figures are history too.

The figures in history.toml are what this library said when they were written. They pin history, so that a part
costed at an old year's rates does not change unnoticed; they are no proof that a figure is right. Write them anew
only when a change of figures is meant, and say in the change notes why.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

from costmodel.cli import app
from costmodel.landed_cost import landed_cost
from costmodel.part_cost import part_cost
from costmodel.reading import read_part, read_quotes, read_rates
from costmodel.records.rate_sheet import SEAL

ROOT = Path(__file__).parent.parent
HELD = Path(__file__).parent / "history.toml"
YEARS = ("2025", "2026")
LOT, PER_YEAR = 250.0, 4000.0
DAY, INTEREST = datetime.date(2026, 6, 15), 0.10

Figures = dict[str, dict[str, str]]


def costed(years: Mapping[str, Path] | None = None) -> Figures:
    """Running cost of a part and what is paid once [USD], for every part and year, by each route and supplier.

    Lots, yearly volume, day and interest are fixed here, so that only the data and the library can change a figure.
    """
    found: Figures = {}
    for year, folder in (years or {year: ROOT / "data" / "rates" / year for year in YEARS}).items():
        rates = read_rates(folder)
        for path in sorted((ROOT / "data" / "parts").glob("*.toml")):
            part = read_part(path, rates.year.home_currency)
            figures = found.setdefault(f"{year}.{path.stem}", {})
            for name, route in part.routes.items():
                made = part_cost(part, route, rates, lot=LOT, per_year=PER_YEAR)
                figures[f"make {name}"] = shown(made.per_part(), made.once())
            offers = read_quotes(ROOT / "data" / "quotes" / f"{path.stem}.csv", rates.year.home_currency)
            for name, offer in offers.items():
                bought = landed_cost(offer, rates, lot=LOT, per_year=PER_YEAR, as_of=DAY, interest=INTEREST)
                figures[f"buy {name}"] = shown(bought.per_part(), bought.once())
    return found


def shown(per_part: object, once: object) -> str:
    """Both figures to the cent."""
    return f"{float(per_part):.2f} a part, {float(once):.2f} once"  # type: ignore[arg-type]


def write() -> None:
    """Hold what the library says today."""
    lines = [
        "# Written by tests/history.py: figures that must not change unnoticed, no proof that they are right."
    ]
    for table, figures in costed().items():
        lines += ["", f'["{table}"]', *(f'"{name}" = "{figure}"' for name, figure in figures.items())]
    HELD.write_text("\n".join(lines) + "\n", encoding="utf-8")


def keep() -> None:
    """Seal the oldest year and freeze the demonstration decision anew, signed as it was."""
    year, plan = ROOT / "data" / "rates" / YEARS[0], ROOT / "data" / "decisions" / "saddle-clamp.json"
    for file in (year / SEAL, plan):
        file.unlink(missing_ok=True)
    study = ROOT / "data" / "studies" / "saddle-clamp.toml"
    for words in (
        ["rates", "seal", YEARS[0], "--folder", str(year.parent)],
        ["freeze", str(study), "--who", "engineer"],
        ["sign", str(plan), "--role", "checked", "--who", "buyer", "--on", "2026-06-15"],
        ["sign", str(plan), "--role", "approved", "--who", "finance", "--on", "2026-06-16"],
    ):
        app(words, standalone_mode=False)


if __name__ == "__main__":
    write()
    keep()
