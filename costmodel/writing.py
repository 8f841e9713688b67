"""Files that people find whole or not at all: a temporary file beside the target, then a rename."""

from __future__ import annotations

import os
from pathlib import Path

from costmodel.errors import InputError, Problem


def write_whole(path: Path | str, text: str | bytes, *, encoding: str = "utf-8") -> Path:
    """Write a file of text or bytes in one piece and return its path; nothing is left behind where that fails.

    Raises InputError where the folder does not exist or cannot be written.
    """
    target = Path(path)
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with beside.open("xb") as file:
            file.write(text.encode(encoding) if isinstance(text, str) else text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    except OSError as error:
        raise InputError([_unwritable(target, error)]) from error
    finally:
        beside.unlink(missing_ok=True)
    return target


def _unwritable(target: Path, error: OSError) -> Problem:
    folder = target.parent
    if not folder.is_dir():
        return Problem(
            target.name, "file", str(target), f"a folder {folder} that exists", "Make it or name another."
        )
    if target.is_dir():
        return Problem(
            target.name, "file", str(target), "the name of a file", "This is a folder: add a name."
        )
    reason = (error.strerror or type(error).__name__).lower()
    return Problem(target.name, "file", str(target), f"a place to write ({reason})", "Name another with -o.")
