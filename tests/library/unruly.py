"""A reader of workbooks that misbehaves; by itself, since each process that reads imports it."""

import os
import time
from pathlib import Path

from xlsengine.library.reading_workers import Read


def unruly(path: Path, known: frozenset[str]) -> Read:
    """Read as a workbook would that brings its process down, takes for ever, or fails in a way nobody thought of."""
    match path.name:
        case "dies":
            os._exit(1)
        case "lasts":
            time.sleep(60)
        case "fails":
            raise ZeroDivisionError("nobody thought of it")
    return Read(path, said=("read",))
