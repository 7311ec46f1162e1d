"""A reader of workbooks that misbehaves; by itself, since each process that reads imports it."""

import os
import time
from pathlib import Path

from xlsengine.library.adding import Outcome


def unruly(path: Path, known: frozenset[str]) -> Outcome:
    """Read as a workbook would that brings its process down, takes for ever, or fails in a way nobody thought of."""
    match path.name:
        case "dies":
            os._exit(1)
        case "lasts":
            time.sleep(60)
        case "fails":
            raise ZeroDivisionError("nobody thought of it")
    return Outcome(path, said=("read",))
