"""The text of a workbook's faults beside it: ``NAME faults.txt``, ours until somebody writes into it."""

import hashlib
import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from xlsengine.outcome import JUDGED_LATER, Outcome, counted

_SIGNED = "[written by xlsengine, "


def write_faults(outcome: Outcome) -> Path:
    """Write why a workbook got no results; returns where. A text of those words that is there already stays."""
    text = _signed("\n".join((*_lines(outcome), "")))
    path = next(path for path in _names(Path(outcome.file)) if not path.exists() or _is_ours(path))
    if not path.exists() or path.read_text(encoding="utf-8") != text:
        unfinished = path.with_name(f".{path.name}")
        unfinished.write_text(text, encoding="utf-8")
        os.replace(unfinished, path)
    return path


def remove_faults(workbook: Path) -> None:
    """Remove the texts of faults that are gone, but none that somebody wrote into."""
    for path in _names(workbook):
        if not path.exists():
            return
        if _is_ours(path):
            path.unlink(missing_ok=True)


def _names(workbook: Path) -> Iterator[Path]:
    yield workbook.with_name(f"{workbook.stem} faults.txt")
    number = 2
    while True:
        yield workbook.with_name(f"{workbook.stem} faults {number}.txt")
        number += 1


def _lines(outcome: Outcome) -> Iterator[str]:
    yield f"{Path(outcome.file).name} got no results."
    yield ""
    if outcome.error:
        yield outcome.error
        return
    yield from outcome.fault_lines
    yield ""
    yield f"{counted(outcome.faults, 'fault')}; {JUDGED_LATER}."


def _signed(text: str) -> str:
    return f"{text}\n{_SIGNED}{hashlib.sha256(text.encode()).hexdigest()[:16]}]\n"


def _is_ours(path: Path) -> bool:
    """Tell whether a text is as it was written."""
    with suppress(OSError, UnicodeDecodeError):
        held = path.read_text(encoding="utf-8")
        return held == _signed(held.rpartition(f"\n{_SIGNED}")[0])
    return False
