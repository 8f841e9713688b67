"""TOML, CSV and XLSX files to records. The only module that opens input files.

Every problem of every file of a study is found and reported together, each with its file, its place, what
was found, what was expected and how to mend it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import Field

from costmodel.errors import InputError, Problem
from costmodel.reading.deliveries import deliveries_of
from costmodel.reading.doubt import Spread, read_ranges, read_scenarios, read_uncertainty
from costmodel.reading.found import Found, near_file
from costmodel.reading.quote_found import QuoteReading
from costmodel.reading.quotes import quotes_of
from costmodel.reading.rate_folder import check_seal
from costmodel.reading.study_edit import refuse_cut_off
from costmodel.reading.tables import read_table
from costmodel.records.deliveries import DeliveryLog
from costmodel.records.fields import Named, Record
from costmodel.records.part import Part
from costmodel.records.quote import Quote
from costmodel.records.quote_faults import unlike_offer
from costmodel.records.rates import Rates, RateYear, rate_tables
from costmodel.records.should_cost import ShouldCost
from costmodel.records.study import Alternative, Study, StudyHead

Raw = dict[str, Any]

_MOVES_TOGETHER = ("drivers", "correlations")


class StudyFile(StudyHead):
    """A study as its file states it: other files by path, uncertainty and scenarios as text with units."""

    part: str
    rates: str
    quotes: str = ""
    uncertainty: dict[str, dict[str, Spread]] = Field(default_factory=dict)
    scenarios: list[dict[str, Any]] = Field(default_factory=list)


def read_part(path: Path | str, home_currency: str) -> Part:
    """A part and its routes from a TOML file; money in it is in `home_currency`. Raises InputError."""
    found = Found()
    part = _part(Path(path), home_currency, found)
    found.stop()
    assert part is not None
    return part


def read_rates(folder: Path | str) -> Rates:
    """All tables of a year's folder: year.toml and one CSV a table. Raises InputError."""
    found = Found()
    rates = _rates(Path(folder), found)
    found.stop()
    assert rates is not None
    return rates


def read_quotes(path: Path | str, home_currency: str, decimal: str = "") -> Named[Quote]:
    """The quotes of a CSV or XLSX file, one row a supplier and quantity break. Raises InputError.

    Prices are in each offer's own currency, what we spend ourselves on a supplier in `home_currency`. `decimal`
    declares the decimal mark of the file; a line "decimal mark" above its header does so too.
    """
    found = Found()
    reading = quotes_of(Path(path), home_currency, found, decimal)
    found.stop()
    return reading.quotes


def check_quotes(path: Path | str, home_currency: str, decimal: str = "") -> QuoteReading:
    """The offers of a quote file that are certain, every cell as understood, and what must be asked.

    Raises nothing: the questions stand in the result.
    """
    return quotes_of(Path(path), home_currency, Found(), decimal)


def read_deliveries(path: Path | str, supplier: str = "") -> DeliveryLog:
    """A delivery log from CSV or XLSX, of one supplier where it holds several. Raises InputError."""
    found = Found()
    log = deliveries_of(Path(path), found, (supplier,))
    found.stop()
    assert log is not None
    return log


def study_deliveries(path: Path | str, quote: str, log: Path | str = "") -> DeliveryLog:
    """The delivery log of an offer of a study: the one named, or ``<study>-<offer>.csv`` in ``logs`` beside it."""
    return read_deliveries(log or _log_of(path, quote))


def logged_offer(path: Path | str, offers: Iterable[str], quote: str = "") -> str:
    """The offer named; without a name the first of a study's offers whose log lies beside it. Raises InputError."""
    names = list(offers)
    found = [name for name in names if (name == quote if quote else _log_of(path, name).is_file())]
    if found:
        return found[0]
    expected = f"one of {', '.join(names)}"
    raise InputError([Problem(Path(path).name, "offer with a log", quote or "none", expected, "Name a log.")])


def _log_of(path: Path | str, quote: str) -> Path:
    study = Path(path)
    return study.parent.parent / "logs" / f"{study.stem}-{quote}.csv"


def read_study(path: Path | str, override: str = "") -> Study:
    """A study and every file it names. Raises InputError with the problems of all of them.

    `override` is the reason for comparing those of its offers that have expired or are for another drawing.
    """
    path = Path(path)
    found = Found()
    refuse_cut_off(path, found)
    raw = _toml(path, found)
    home = _home_currency(path, raw)
    if raw is not None and not home:
        _without_home(path, raw, found)
    head = found.record(StudyFile, raw, path, home=home) if raw is not None else None
    if head is None:
        found.stop()
        raise AssertionError("a study without a head has problems")
    rates = _rates(path.parent / head.rates, found)
    found.files = {path, path.parent / head.part}
    part = _part(path.parent / head.part, home, found)
    quotes = quotes_of(path.parent / head.quotes, home, found).quotes if head.quotes else Named()
    found.stop()
    assert part is not None
    fields = {name: getattr(head, name) for name in StudyHead.model_fields if name not in _MOVES_TOGETHER}
    fields["alternatives"] = _overridden(head, quotes, part, override)
    study = found.record(Study, {**fields, "part": part, "rates": rates, "quotes": quotes}, path)
    found.stop()
    assert study is not None
    complete = {
        "uncertainty": read_uncertainty(study, head.uncertainty, path, found),
        "scenarios": read_scenarios(study, head.scenarios, path, found),
        **{name: getattr(head, name) for name in _MOVES_TOGETHER},
    }
    found.stop()
    result = found.record(Study, {**study.__dict__, **complete}, path)
    found.stop()
    assert result is not None
    return result


def _overridden(head: StudyHead, quotes: Named[Quote], part: Part, override: str) -> Named[Alternative]:
    """The alternatives of a study, each that buys by an unlike offer with the reason for comparing it."""
    return Named(
        {
            name: Alternative.model_validate({**way.__dict__, "override": override})
            if override
            and not way.override
            and way.buy in quotes
            and any(unlike_offer("", quotes[way.buy], part, head.as_of))
            else way
            for name, way in head.alternatives.items()
        }
    )


def read_studies(folder: Path | str) -> tuple[Study, ...]:
    """Every study of a folder, by name of its file. Raises InputError, also where there is none."""
    folder, found = Path(folder), Found()
    files = sorted(folder.glob("*.toml"))
    if not files:
        expected = "a folder with studies (TOML)"
        found.add(folder, "folder", str(folder), expected, "Name another folder.")
    found.stop()
    return tuple(read_study(path) for path in files)


def read_should_cost(path: Path | str, study: Study) -> ShouldCost:
    """What is assumed of a supplier's own cost, from a TOML file, its addresses those of `study`. Raises InputError."""
    path = Path(path)
    found = Found()
    home = study.rates.year.home_currency
    raw = _toml(path, found)
    given = (raw or {}).get("assumed", {})
    if raw is not None and not all(isinstance(spread, dict) for spread in given.values()):
        found.add(
            path, "assumed", "", "a range at each address", 'Write { low = "9 USD/h", high = "14 USD/h" }.'
        )
    found.stop()
    assert raw is not None
    spreads = read_ranges(study, given, "assumed", path, found)
    result = found.record(ShouldCost, {"name": path.stem, **raw, "assumed": spreads}, path, home=home)
    found.stop()
    assert result is not None
    return result


def study_should_costs(path: Path | str, study: Study) -> tuple[ShouldCost, ...]:
    """What is assumed of the suppliers of a study: every ``<study>-*.toml`` in ``should_cost`` beside it."""
    folder = Path(path).parent.parent / "should_cost"
    return tuple(read_should_cost(file, study) for file in sorted(folder.glob(f"{Path(path).stem}-*.toml")))


def _toml(path: Path, found: Found) -> Raw | None:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        found.add(path, "file", str(path), "a file that exists", near_file(path))
    except OSError as error:
        found.unreadable(path, error)
    except tomllib.TOMLDecodeError as error:
        found.add(path, "file", "", f"valid TOML ({error})", "Mend the line that it names.")
    except UnicodeDecodeError:
        found.add(path, "file", "", "text in UTF-8", "Save the file as UTF-8.")
    return None


def _without_home(path: Path, raw: Raw, found: Found) -> None:
    """Say why there is no home currency, and nothing else: without it no price can be read."""
    folder = raw.get("rates")
    if isinstance(folder, str):
        _rates(path.parent / folder, found)
    else:
        found.add(path, "rates", "", "the folder of a year's rates", 'Write rates = "../rates/2026", say.')
    found.stop()


def _home_currency(path: Path, raw: Raw | None) -> str:
    folder = (raw or {}).get("rates")
    year = path.parent / folder / "year.toml" if isinstance(folder, str) else None
    if year is None or not year.is_file():
        return ""
    try:
        return str(tomllib.loads(year.read_text(encoding="utf-8-sig")).get("home_currency", ""))
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError):
        return ""


def _part(path: Path, home: str, found: Found) -> Part | None:
    raw = _toml(path, found)
    return None if raw is None else found.record(Part, raw, path, home=home)


def _rates(folder: Path, found: Found) -> Rates | None:
    before = len(found.problems)
    raw = _toml(folder / "year.toml", found)
    year = None if raw is None else found.record(RateYear, raw, folder / "year.toml")
    if year is None:
        return None
    tables = {
        name: read_table(folder / f"{name}.csv", kind, year.home_currency, found)
        for name, kind in rate_tables().items()
    }
    check_seal(folder, found)
    if len(found.problems) > before:
        return None
    return found.record(Rates, {"year": year, **tables}, folder / "year.toml")


def json_schema(kind: str) -> dict[str, Any]:
    """The JSON Schema of a TOML file, "part", "study" or "year", so that an editor completes it."""
    records: dict[str, type[Record]] = {"part": Part, "study": StudyFile, "year": RateYear}
    schema = records[kind].model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
