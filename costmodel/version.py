"""The version of this library as it is installed."""

from __future__ import annotations

UNKNOWN_VERSION = "0 (not installed)"


def library_version() -> str:
    """The version of this library, or that it is not installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("costmodel")
    except PackageNotFoundError:
        return UNKNOWN_VERSION
