"""One value of a TOML text written anew, everything else left as it stands, comments and order with it.

Every place where the key stands is tried, and the one is kept after which the text means what it should and nothing
else. So no text is ever changed beyond its one value: where none fits, there is no answer.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Iterator, Sequence
from typing import Any

_VALUE = r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|\{[^\n]*\}|\[[^\]\n]*\]|[^\s,}\]#]+'
_STATEMENT = re.compile(r"^[ \t]*[\w\"'][^\n=]*=[^\n]*\n", re.MULTILINE)
_PLAIN = re.compile(r"[A-Za-z0-9_-]+")


def text_value(text: str) -> str:
    """A text as a TOML string."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def inline_table(fields: dict[str, str]) -> str:
    """Texts by key as a TOML table on one line."""
    return "{ " + ", ".join(f"{key} = {text_value(value)}" for key, value in fields.items()) + " }"


def with_value(text: str, path: Sequence[str], literal: str) -> str | None:
    """The text with the value at a path written as `literal`; a list of tables is entered by their names.

    None where the path leads to no table, or where no single place of the text gives that and nothing else.
    """
    meant = tomllib.loads(text)
    owner = _owner(meant, path[:-1])
    if owner is None:
        return None
    wanted = copy.deepcopy(meant)
    new = tomllib.loads(f"value = {literal}")["value"]
    _owner(wanted, path[:-1])[path[-1]] = new  # type: ignore[index]
    if wanted == meant:
        return text
    tried = _replaced(text, path[-1], literal) if path[-1] in owner else _added(text, path[-1], literal)
    return next((trial for trial in tried if _meaning(trial) == wanted), None)


def _owner(node: Any, path: Sequence[str]) -> dict[str, Any] | None:
    for name in path:
        if isinstance(node, list):
            node = next((it for it in node if isinstance(it, dict) and it.get("name") == name), None)
        elif isinstance(node, dict):
            node = node.get(name)
        else:
            return None
    return node if isinstance(node, dict) else None


def _meaning(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _spelled(key: str) -> str:
    return key if _PLAIN.fullmatch(key) else text_value(key) if "'" in key else f"'{key}'"


def _replaced(text: str, key: str, literal: str) -> Iterator[str]:
    spellings = "|".join(re.escape(it) for it in (text_value(key), f"'{key}'", key))
    for found in re.finditer(rf"(?<![\w.\"'-])(?:{spellings})[ \t]*=[ \t]*({_VALUE})", text):
        yield f"{text[: found.start(1)]}{literal}{text[found.end(1) :]}"


def _added(text: str, key: str, literal: str) -> Iterator[str]:
    """The key added below each statement, the last first, or at the end of each table on one line."""
    text = text if text.endswith("\n") else f"{text}\n"
    statement = f"{_spelled(key)} = {literal}"
    for found in reversed(list(_STATEMENT.finditer(text))):
        yield f"{text[: found.end()]}{statement}\n{text[found.end() :]}"
    for found in re.finditer(r"[ \t]*\}", text):
        yield f"{text[: found.start()]}, {statement}{text[found.start() :]}"
