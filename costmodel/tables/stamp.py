"""What a result rests on, so that it can be made again: rates, dates, library, seed, draws, fingerprint, changes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypedDict

from costmodel.cautions import INVENTED_WORDS
from costmodel.records.study import Study, fingerprint
from costmodel.tables.table import is_invented
from costmodel.uncertainty import Outcome
from costmodel.version import library_version


class Stamp(TypedDict):
    """The footer of every output; ``seed`` and ``draws`` are None where nothing was drawn."""

    study: str
    fingerprint: str
    rates: str
    data_date: str
    library: str
    seed: int | None
    draws: int | None
    changed: list[str]
    invented: bool
    notice: str


def stamp(study: Study, outcome: Outcome | None = None, changed: Iterable[str] = ()) -> Stamp:
    """The stamp of a result; `changed` says which inputs were changed for this run alone."""
    year = study.rates.year
    invented = is_invented(study)
    return Stamp(
        study=study.name,
        fingerprint=fingerprint(study),
        rates=f"{year.year}, valid {year.valid_from} to {year.valid_to}",
        data_date=study.as_of.isoformat(),
        library=f"costmodel {library_version()}",
        seed=None if outcome is None else outcome.seed,
        draws=None if outcome is None else outcome.draws,
        changed=list(changed),
        invented=invented,
        notice=INVENTED_WORDS if invented else "",
    )


def stamp_words(given: Stamp) -> str:
    """A stamp in one line."""
    drawn = "" if given["seed"] is None else f"; {given['draws']} draws, seed {given['seed']}"
    changed = f"; changed for this run: {', '.join(given['changed'])}" if given["changed"] else ""
    return (
        f"Rates {given['rates']}; data of {given['data_date']}; {given['library']}{drawn}; "
        f"inputs {given['fingerprint']}{changed}."
    )
