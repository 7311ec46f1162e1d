"""Putting a finished file in its place whole: written beside it, then moved there."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from xlsengine.errors import OutputRefused


@contextmanager
def whole_file(path: Path, overwrite: bool) -> Iterator[Path]:
    """Give a path to write to; move it to `path` when the block ends well, and leave nothing behind otherwise.

    Raises `OutputRefused` when `path` exists and may not be replaced, or when its folder cannot be written to.
    """
    if path.exists() and not overwrite:
        raise OutputRefused(f"{path} exists already; say --overwrite to replace it, or name another file with -o")
    try:
        handle, name = tempfile.mkstemp(prefix=".writing-", suffix=".xlsx", dir=path.parent)
    except OSError as error:
        raise OutputRefused(f"cannot write into {path.parent}: {error.strerror}") from error
    os.close(handle)
    try:
        yield Path(name)
        _move(Path(name), path)
    finally:
        Path(name).unlink(missing_ok=True)


def _move(finished: Path, path: Path) -> None:
    with finished.open("rb") as stream:
        os.fsync(stream.fileno())
    finished.chmod(0o666 & ~_umask())
    try:
        os.replace(finished, path)
    except OSError as error:
        raise OutputRefused(f"cannot put the result at {path}: {error.strerror}; is it open elsewhere?") from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
