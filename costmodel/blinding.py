"""A study without names: suppliers as letters, nothing by which one could be known, no pay in what is shown."""

from __future__ import annotations

import re
from collections.abc import Iterable
from string import ascii_uppercase
from typing import Any

from costmodel.records.study import Study

PAY = "rates.labour"
"""Address below which pay stands: what is shown of a blinded study leaves it out."""
REMOVED = "removed"


def supplier_letters(count: int) -> tuple[str, ...]:
    """A, B, C and so on; AA after Z."""
    letters = list(ascii_uppercase)
    while len(letters) < count:
        letters += [first + second for first in ascii_uppercase for second in ascii_uppercase]
    return tuple(letters[:count])


def shows_pay(address: str) -> bool:
    """Whether a row of the register, a swing or a range stands for pay."""
    return address == PAY or address.startswith(f"{PAY}.")


def blinded(study: Study) -> Study:
    """The same study with every supplier a letter and every free text by which one could be known taken out.

    The figures are the same. Pay is in the study still, since it is costed with; leave out what `shows_pay`.
    """
    letters = dict(zip(study.quotes, supplier_letters(len(study.quotes)), strict=True))
    names = {name: f"supplier-{letter.lower()}" for name, letter in letters.items()}
    lanes = {name: f"lane-{number}" for number, name in enumerate(study.rates.freight, start=1)}
    workshops = {name: f"workshop-{number}" for number, name in enumerate(study.rates.processors, start=1)}
    ways = _ways(study, letters)
    raw = study.model_dump()
    raw["quotes"] = [_quote(quote, names, letters, lanes) for quote in raw["quotes"].values()]
    raw["alternatives"] = [_alternative(way, names, ways, letters) for way in raw["alternatives"].values()]
    raw["rates"] = _rates(raw["rates"], {"freight": lanes, "processors": workshops})
    words = _words(study, letters)
    addresses = {"quotes": names, "alternatives": ways, "freight": lanes, "processors": workshops}
    raw["uncertainty"] = [
        {**spread, "name": _address(spread["name"], addresses), "source": REMOVED, "owner": ""}
        for spread in raw["uncertainty"].values()
    ]
    raw["scenarios"] = [
        {
            **scenario,
            "title": _without(scenario["title"], words),
            "inputs": {_address(key, addresses): value for key, value in scenario["inputs"].items()},
        }
        for scenario in raw["scenarios"].values()
    ]
    raw["criteria"] = [
        {
            **row,
            "title": _without(row["title"], words),
            "marks": {ways[k]: v for k, v in row["marks"].items()},
        }
        for row in raw.get("criteria", {}).values()
    ]
    raw |= {"title": _without(study.title, words), "question": _without(study.question, words)}
    raw |= {"prepared_by": REMOVED, "cleared_by": REMOVED}
    raw["part"] = _scrubbed(raw["part"], workshops)
    return Study.model_validate(raw)


def _ways(study: Study, letters: dict[str, str]) -> dict[str, str]:
    """New names of the alternatives: what is bought by its supplier's letter, the others as they are."""
    ways: dict[str, str] = {}
    for number, (name, alternative) in enumerate(study.alternatives.items(), start=1):
        if alternative.buy:
            wanted = f"buy-{letters[alternative.buy].lower()}"
            ways[name] = wanted if wanted not in ways.values() else f"{wanted}-{number}"
        else:
            ways[name] = f"split-{number}" if alternative.shares else f"make-{number}"
    return ways


def _quote(
    quote: dict[str, Any], names: dict[str, str], letters: dict[str, str], lanes: dict[str, str]
) -> Any:
    letter = letters[quote["name"]]
    return {
        **quote,
        "name": names[quote["name"]],
        "title": f"Supplier {letter}",
        "place": REMOVED,
        "source": REMOVED,
        "freight": lanes.get(quote["freight"], ""),
        "tiers": list(quote["tiers"].values()),
        "minimums": list(quote["minimums"].values()),
    }


def _alternative(
    way: dict[str, Any], names: dict[str, str], ways: dict[str, str], letters: dict[str, str]
) -> Any:
    title = way["title"]
    if way["buy"]:
        title = f"Buy from supplier {letters[way['buy']]}"
    elif way["shares"]:
        title = " and ".join(f"{portion['share']:.0%} {ways[key]}" for key, portion in way["shares"].items())
    elif way["make"]:
        title = f"Make it ({ways[way['name']]})"
    shares = [{**portion, "name": ways[key]} for key, portion in way["shares"].items()]
    return {
        **way,
        "name": ways[way["name"]],
        "title": title,
        "buy": names.get(way["buy"], ""),
        "shares": shares,
        "override": "stated, removed here" if way["override"] else "",
    }


def _scrubbed(node: Any, workshops: dict[str, str]) -> Any:
    """A part without sources and owners, outside processors numbered."""
    if isinstance(node, dict):
        changed = {"source": "", "owner": "", "processor": workshops.get(str(node.get("processor")), "")}
        return {
            key: changed[key] if key in changed else _scrubbed(value, workshops)
            for key, value in node.items()
        }
    return node


def _rates(rates: dict[str, Any], names: dict[str, dict[str, str]]) -> dict[str, Any]:
    """The rates without the words of their rows, lanes and outside processors numbered."""
    blind: dict[str, Any] = {}
    for table, rows in rates.items():
        if table == "year":
            blind[table] = {**rows, "note": ""}
            continue
        blind[table] = [
            {
                **row,
                "name": names.get(table, {}).get(row["name"], row["name"]),
                "source": REMOVED,
                "owner": "",
                "note": "",
                **({"cleared_by": REMOVED} if "cleared_by" in row else {}),
            }
            for row in rows.values()
        ]
    return blind


def _address(address: str, tables: dict[str, dict[str, str]]) -> str:
    """An address with the new name of what it names."""
    for table, names in tables.items():
        for old, new in names.items():
            pattern = rf"(^|\.){table}\.(?:\"{re.escape(old)}\"|{re.escape(old)})(?=\.|$)"
            found = re.sub(pattern, rf"\g<1>{table}.{new}", address)
            if found != address:
                return found
    return address


def _words(study: Study, letters: dict[str, str]) -> dict[str, str]:
    return {quote.title: f"Supplier {letters[name]}" for name, quote in study.quotes.items()} | {
        name: f"supplier {letters[name]}" for name in study.quotes
    }


def _without(text: str, words: dict[str, str]) -> str:
    for old, new in words.items():
        text = re.sub(re.escape(old), new, text, flags=re.IGNORECASE)
    return text


def shown_rows(addresses: Iterable[str]) -> tuple[str, ...]:
    """The addresses of a register or of ranges that may be shown: those of pay are left out."""
    return tuple(address for address in addresses if not shows_pay(address))
