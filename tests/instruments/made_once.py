"""What costs much is made once in a run of the tests, whichever of its processes asks first."""

from __future__ import annotations

import fcntl
import hashlib
import os
from collections.abc import Callable
from pathlib import Path

FOLDER = "XLSENGINE_TESTS_MADE_ONCE"
"""Names the folder of this run (`tests/conftest.py` makes and removes it); without one, everything is made each time."""


def made_once(kind: str, source: bytes, make: Callable[[], bytes]) -> bytes:
    """Return what `make` gives; `kind` and `source` must say all that it depends on, besides the code under test."""
    folder = os.environ.get(FOLDER)
    if folder is None:
        return make()
    path = Path(folder, f"{kind}-{hashlib.sha256(source).hexdigest()}")
    with path.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not path.exists():
            unfinished = path.with_suffix(".unfinished")
            unfinished.write_bytes(make())
            unfinished.rename(path)
        return path.read_bytes()
