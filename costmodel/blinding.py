"""A study without names: suppliers as letters, nothing by which one could be known, no pay in what is shown.

Two passes: what is known to hold a name (titles, places, sources, lanes, processors) is renamed or taken out; then
every word of the study that still holds a supplier's name is changed in the same way wherever it stands, so that
names and the addresses that refer to them stay one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from string import ascii_uppercase
from typing import Any, Literal, get_origin

from costmodel.records.fields import Named, Record
from costmodel.records.study import Study

PAY = "rates.labour"
"""Address below which pay stands: what is shown of a blinded study leaves it out."""
REMOVED = "removed"
LEAST_LETTERS = 3
"""A name shorter than this is replaced where it is known to be one, not inside other words."""
KEPT = ("currency",)


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

    The figures are the same, but for draws: each input draws by its address, so that chances can differ by their
    standard error. Pay is in the study still, since it is costed with; leave out what `shows_pay`.
    """
    letters = _letters(study)
    addresses = _tables(study)
    names, ways = addresses["quotes"], addresses["alternatives"]
    lanes, workshops = addresses["freight"], addresses["processors"]
    raw = study.model_dump()
    raw["quotes"] = [_quote(quote, names, letters, lanes) for quote in raw["quotes"].values()]
    titles = {
        name: f"bought from supplier {letters[way.buy]}" if way.buy else f'"{way.title}"'
        for name, way in study.alternatives.items()
    }
    raw["alternatives"] = [
        _alternative(way, names, ways, letters, titles) for way in raw["alternatives"].values()
    ]
    raw["rates"] = _rates(raw["rates"], {"freight": lanes, "processors": workshops})
    raw["uncertainty"] = [
        {**spread, "name": _address(spread["name"], addresses), "source": REMOVED, "owner": ""}
        for spread in raw["uncertainty"].values()
    ]
    raw["scenarios"] = [
        {
            **scenario,
            "inputs": {_address(key, addresses): value for key, value in scenario["inputs"].items()},
        }
        for scenario in raw["scenarios"].values()
    ]
    raw["criteria"] = [
        {
            **row,
            "marks": {ways[k]: v for k, v in row["marks"].items()},
        }
        for row in raw.get("criteria", {}).values()
    ]
    for table in ("drivers", "correlations"):
        raw[table] = [
            {key: _readdressed(value, addresses) for key, value in row.items()} for row in raw[table].values()
        ]
    raw |= {"prepared_by": REMOVED, "cleared_by": REMOVED}
    for name in ("part", "demand", "finance", "capacity"):
        raw[name] = _scrubbed(raw[name], workshops)
    known = Study.model_validate(raw)
    return Study.model_validate(_renamed(known, _without_names(study)))


def blind_words(study: Study, text: str) -> str:
    """A text about a study, such as an address that was changed, as it reads in the blinded one."""
    return _without_names(study)(_address(text, _tables(study)))


def _letters(study: Study) -> dict[str, str]:
    return dict(zip(study.quotes, supplier_letters(len(study.quotes)), strict=True))


def _tables(study: Study) -> dict[str, dict[str, str]]:
    """The new name of each row that is one of a firm, by its table."""
    letters = _letters(study)
    return {
        "quotes": {name: f"supplier-{letter.lower()}" for name, letter in letters.items()},
        "alternatives": _ways(study, letters),
        "freight": {name: f"lane-{number}" for number, name in enumerate(study.rates.freight, start=1)},
        "processors": {
            name: f"workshop-{number}" for number, name in enumerate(study.rates.processors, start=1)
        },
    }


def _readdressed(value: Any, tables: dict[str, dict[str, str]]) -> Any:
    """Addresses in what moves together."""
    if isinstance(value, Mapping):
        return {_address(key, tables): item for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return tuple(_readdressed(item, tables) for item in value)
    return _address(value, tables) if isinstance(value, str) else value


def _renamed(node: Any, change: Callable[[str], str]) -> Any:
    """Every name and word of a record with `change` applied; words of a fixed choice stay."""
    if isinstance(node, Record):
        fields = type(node).model_fields
        return {
            name: value
            if name in KEPT or get_origin(fields[name].annotation) is Literal
            else _renamed(value, change)
            for name, value in node.__dict__.items()
        }
    if isinstance(node, Named) and all(isinstance(row, Record) for row in node.values()):
        return [_renamed(row, change) for row in node.values()]
    if isinstance(node, Mapping):
        return {change(key): _renamed(value, change) for key, value in node.items()}
    if isinstance(node, tuple):
        return tuple(_renamed(item, change) for item in node)
    return change(node) if isinstance(node, str) else node


def _ways(study: Study, letters: dict[str, str]) -> dict[str, str]:
    """New names of the alternatives: what is bought by its supplier's letter, a split by number, the rest kept."""
    ways: dict[str, str] = {}
    for number, (name, alternative) in enumerate(study.alternatives.items(), start=1):
        if alternative.buy:
            wanted = f"buy-{letters[alternative.buy].lower()}"
            ways[name] = wanted if wanted not in ways.values() else f"{wanted}-{number}"
        else:
            ways[name] = f"split-{number}" if alternative.shares else name
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
        "log": _log(quote["log"]),
        "tiers": list(quote["tiers"].values()),
        "minimums": list(quote["minimums"].values()),
    }


def _log(log: dict[str, Any] | None) -> dict[str, Any] | None:
    """A delivery log without its name and order numbers."""
    if log is None:
        return None
    orders = [f"order {number}" for number in range(1, len(log["orders"]) + 1)]
    still_open = [f"open order {number}" for number in range(1, len(log["still_open"]) + 1)]
    return {**log, "name": REMOVED, "file": "", "orders": orders, "still_open": still_open}


def _alternative(
    way: dict[str, Any],
    names: dict[str, str],
    ways: dict[str, str],
    letters: dict[str, str],
    titles: dict[str, str],
) -> Any:
    title = way["title"]
    if way["buy"]:
        title = f"Buy from supplier {letters[way['buy']]}"
    elif way["shares"]:
        title = " and ".join(
            f"{portion['share']:.0%} {titles[key]}" for key, portion in way["shares"].items()
        ).replace("%", " %")
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


def _without_names(study: Study) -> Callable[[str], str]:
    """What takes suppliers' and processors' names out of a text, whatever their case."""
    letters, tables = _letters(study), _tables(study)
    words = {quote.title: f"Supplier {letters[name]}" for name, quote in study.quotes.items()}
    words |= {name: tables["quotes"][name] for name in study.quotes}
    words |= tables["processors"]
    longest_first = sorted((word for word in words if len(word) >= LEAST_LETTERS), key=len, reverse=True)
    found = {word.lower(): words[word] for word in longest_first}
    if not found:
        return lambda text: text
    pattern = re.compile(
        rf"(?<![A-Za-z0-9])(?:{'|'.join(map(re.escape, found))})(?![A-Za-z0-9])", re.IGNORECASE
    )

    def change(text: str) -> str:
        apart = " " in text

        def new(match: re.Match[str]) -> str:
            word = found[match.group().lower()]
            return word if apart else word.lower().replace(" ", "-")

        return pattern.sub(new, text)

    return change


def shown_rows(addresses: Iterable[str]) -> tuple[str, ...]:
    """The addresses of a register or of ranges that may be shown: those of pay are left out."""
    return tuple(address for address in addresses if not shows_pay(address))
