"""Files and folders that people find whole or not at all: written beside the target, then renamed."""

from __future__ import annotations

import ctypes
import glob
import hashlib
import json
import os
import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from costmodel.errors import InputError, Problem


def write_whole(path: Path | str, text: str | bytes, *, encoding: str = "utf-8") -> Path:
    """Write a file of text or bytes in one piece and return its path; nothing is left behind where that fails.

    Raises InputError where the folder does not exist or cannot be written.
    """
    target = Path(path)
    clear_left(target)
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


def write_new(path: Path | str, text: str | bytes) -> Path:
    """As `write_whole`, for a file that people go on with: what stands there is never written over."""
    refuse_taken(Path(path))
    return write_whole(path, text)


def write_over(path: Path | str, text: str, beginning: str) -> Path:
    """As `write_whole`, over an earlier output only: what stands there must begin in the same way.

    Raises InputError where another kind of file has the name, a study say.
    """
    target = Path(path)
    if target.is_file():
        with target.open("rb") as file:
            same = file.read(len(beginning)) == beginning.encode()
        if not same:
            refuse_taken(target)
    return write_whole(target, text)


def refuse_taken(target: Path) -> None:
    """Raise InputError where a file has the name already: somebody may have worked in it."""
    if target.exists():
        expected, remedy = (
            "a name that is free",
            "Nothing is written over: name another with -o, or move it away.",
        )
        raise InputError([Problem(target.name, "file", str(target), expected, remedy)])


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


def write_together(files: Mapping[Path, str], journal: Path) -> None:
    """Write several files so that all of them come, or none. Raises InputError.

    What is to be written goes into `journal` first, in one piece; from then on it is certain. Where the writing is cut
    off after that, `finish` writes the rest; until then a reader finds the journal and must not read the files.
    """
    finish(journal)
    texts = {os.path.relpath(path, journal.parent): text for path, text in files.items()}
    write_whole(journal, json.dumps(texts, ensure_ascii=False))
    finish(journal)


def finish(journal: Path) -> bool:
    """Write what a journal holds and take it away; whether there was one."""
    clear_left(journal)
    if not journal.is_file():
        return False
    for name, text in json.loads(journal.read_text(encoding="utf-8")).items():
        write_whole(journal.parent / name, text)
    journal.unlink()
    _sync_folder(journal.parent)
    return True


def write_folder(
    target: Path | str,
    files: Mapping[str, str],
    check: Callable[[Path], object] = lambda folder: None,
    *,
    replace: bool = False,
    seen: str = "",
) -> Path:
    """Write a folder of text files in one piece and return its path.

    The files are written to a folder beside it and reach the disk first; `check` may refuse that folder by raising.
    Then one rename shows it. Killed at any moment, the target is as it was or complete. Without `replace` a
    target that exists is never touched. `seen` is the mark that the target had when `files` were made of it: where it
    has another by now, somebody else wrote meanwhile, and nothing is. Raises InputError.
    """
    target = Path(target)
    recover_folder(target)
    if target.exists() and not replace:
        expected, remedy = "a name that is free", "Nothing is written over: name another or move it away."
        raise InputError([Problem(target.name, "folder", str(target), expected, remedy)])
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.mkdir()
        for name, text in files.items():
            _write_synced(beside / name, text)
        check(beside)
        _sync_folder(beside)
        with _alone(target.parent):
            _refuse_moved(target, seen)
            _show(beside, target)
        _sync_folder(target.parent)
    except OSError as error:
        raise InputError([_unwritable(target, error)]) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return target


def files_mark(folder: Path) -> str:
    """One mark of all files of a folder, to tell whether anybody wrote in it since."""
    mark = hashlib.sha256()
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.is_file():
            mark.update(path.name.encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return mark.hexdigest()


def _refuse_moved(target: Path, seen: str) -> None:
    if seen and files_mark(target) != seen:
        found, expected = "Somebody wrote here meanwhile", "the folder as it was read; nothing was applied"
        raise InputError([Problem(target.name, "folder", found, expected, "Do it once more.")])


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Let one writer at a time through, where the system can lock a folder; a lock ends with its process."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def recover_folder(target: Path) -> None:
    """Put back a folder whose exchange was cut off where the system knows no exchange in one step."""
    kept = _kept(target)
    if kept.is_dir() and not target.exists():
        kept.rename(target)
    clear_left(target)


def clear_left(target: Path) -> None:
    """Take away what a writer that was killed left beside its target."""
    for left in target.parent.glob(f".{glob.escape(target.name)}.*.part") if target.parent.is_dir() else ():
        writer = re.search(r"\.(\d+)\.part$", left.name)
        if writer and (int(writer.group(1)) == os.getpid() or not _runs(int(writer.group(1)))):
            if left.is_dir():
                shutil.rmtree(left, ignore_errors=True)
            else:
                left.unlink(missing_ok=True)


def _kept(target: Path) -> Path:
    return target.with_name(f".{target.name}.before")


def _runs(process: int) -> bool:
    if os.name == "nt":
        return True  # a signal of zero would end the process there
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def _write_synced(path: Path, text: str) -> None:
    with path.open("x", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _show(beside: Path, target: Path) -> None:
    """Rename to a free name, or exchange with what stands there."""
    if not target.exists():
        beside.rename(target)
    elif not _exchanged(beside, target):
        kept = _kept(target)
        shutil.rmtree(kept, ignore_errors=True)
        target.rename(kept)
        beside.rename(target)
        shutil.rmtree(kept, ignore_errors=True)


def _exchanged(one: Path, other: Path) -> bool:
    """Exchange two folders in one step, where the system can."""
    here, exchange = -100, 2  # AT_FDCWD and RENAME_EXCHANGE of Linux
    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError, TypeError):
        return False
    return bool(rename(here, os.fsencode(one), here, os.fsencode(other), exchange) == 0)
