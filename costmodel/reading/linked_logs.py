"""The delivery log that an offer names: its figures stand for those that the offer leaves out."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from statistics import fmean, stdev
from typing import Any

from costmodel.reading.deliveries import deliveries_of
from costmodel.reading.found import Found
from costmodel.records.deliveries import DeliveryLog
from costmodel.records.quote import FROM_LOG, Quote


def linked_log(
    sheet: Path, raw: Mapping[str, Any], cells: Mapping[str, str], found: Found
) -> dict[str, Any] | None:
    """Log, lead time, its spread and rejected share of an offer whose sheet names a log beside it.

    None with the problem noted: a log that cannot be read, or figures that the offer states as well.
    """
    place, name = f"{cells['log']} ({raw['name']}, log)", str(raw["log"])
    twice = [field for field in FROM_LOG if field in raw]
    for field in twice:
        expected = f"{field} stated once; the log in {cells['log']} states it too"
        remedy = f"Empty {field} so that the deliveries count, or take the log out."
        found.add(sheet, f"{cells[field]} ({raw['name']}, {field})", str(raw[field]), expected, remedy)
    path = sheet.parent / name
    if not path.is_file():
        found.add(
            sheet, place, name, f"a delivery log at {path}", "Name it as seen from the folder of this sheet."
        )
        return None
    before = len(found.problems)
    log = deliveries_of(path, found, (str(raw["name"]), str(raw["title"])), named_only=False)
    if log is None or twice or len(found.problems) > before:
        return None
    return {"log": DeliveryLog.model_validate({**log.__dict__, "file": name}), **_figures(log)}


def log_files(sheet: Path, quotes: Mapping[str, Quote]) -> dict[str, Path]:
    """The files of the logs that the offers of a sheet name, by that name."""
    logs = [quote.log for quote in quotes.values() if quote.log is not None]
    return {log.file: sheet.parent / log.file for log in logs if log.file}


def _figures(log: DeliveryLog) -> dict[str, str | float]:
    """Mean, standard deviation and rejected share, as `delivery_log` states them in full."""
    times = log.lead_times
    return {
        "lead_time": f"{fmean(times)!r} d",
        "lead_time_sd": f"{stdev(times)!r} d" if len(times) > 1 else "0 d",
        "rejected_at_receipt": sum(log.rejected) / sum(log.quantity),
    }
