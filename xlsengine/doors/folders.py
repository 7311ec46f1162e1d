"""Folders: which of their files are a person's work, and a watched one, where what is saved gets its results beside it, or a
text of its faults.

A watched folder is looked at a few times a second, and what lies there decides what is due, not what happened. So nothing
is lost while nobody watches, network drives are watched as others are, and programs may save as they like, Excel into
another file that takes the name in the end.
"""

import hashlib
import math
import os
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from xlsengine.errors import XlsEngineError
from xlsengine.jobs import keep_beside
from xlsengine.outcome import DONE, JUDGED_LATER, UNREADABLE, Outcome, counted
from xlsengine.study.comparison import Comparing
from xlsengine.workbook.output import is_somebodys, stamp
from xlsengine.workbook.reading.kinds import Kind, kind_of

# --- what lies in a folder: which of it is a person's work, not what hides, locks, or was kept or written by us ---

_TABLES = (".csv", ".tsv", ".ods")  # not .txt: most texts are letters, or the faults that a watched folder gets


def may_be_work(path: Path) -> bool:
    """Tell by its name whether a file may be a workbook that somebody works on."""
    return path.suffix.lower() == ".xlsx" and is_somebodys(path)


def is_left_alone(path: Path) -> bool:
    """Tell whether a workbook is none of ours, or results as we wrote them; one that cannot be read is not."""
    try:
        return kind_of(path) in (Kind.TABLE, Kind.RESULTS)
    except XlsEngineError:
        return False


def workbooks_in(folder: Path) -> list[Path]:
    """Return the input workbooks and the results that were saved since, in a folder but not below it, by name."""
    return sorted(path for path in folder.iterdir() if may_be_work(path) and path.is_file() and not is_left_alone(path))


def tables_in(folder: Path) -> list[Path]:
    """Return the plain tables in a folder, by name, which are taken in one by one: a folder holds all sorts of them."""
    return sorted(path for path in folder.iterdir() if is_somebodys(path) and path.is_file() and _is_table(path))


def _is_table(path: Path) -> bool:
    try:
        return path.suffix.lower() in _TABLES or (path.suffix.lower() == ".xlsx" and kind_of(path) is Kind.TABLE)
    except XlsEngineError:
        return False


# --- a folder that is watched ---

SETTLED_AFTER = 0.5
"""Seconds for which a file must not have changed before it is read."""
PATIENCE = 10.0
"""Seconds for which a file that cannot be read may be one that is still being written; later, how often it is tried."""
_LOOK = 0.3

Tell = Callable[[str], None]


@dataclass
class _Seen:
    """A file as it was last seen: its stamp, since when, when it is due to be read, and what was said of it last."""

    stamp: tuple[int, int, int]
    since: float
    due: float
    said: str = ""


class WatchedFolder:
    """What is known of a folder's files between one look and the next; `tell` is given a line for each thing done."""

    def __init__(self, folder: Path, tell: Tell, library: Comparing | None = None) -> None:
        self._folder, self._tell, self._library = folder, tell, library
        self._seen: dict[Path, _Seen] = {}

    def look(self) -> bool:
        """Do what is due; returns whether anything is soon to be."""
        found = {path: seen for path in self._files() if (seen := stamp(path))}
        self._seen = {path: seen for path, seen in self._seen.items() if path in found}
        waiting = [self._looked_at(path, seen) for path, seen in found.items()]
        return any(waiting)

    def _files(self) -> list[Path]:
        try:
            return sorted(path for path in self._folder.iterdir() if may_be_work(path) and path.is_file())
        except OSError:  # the folder is away for the moment, as a network drive may be
            return []

    def _looked_at(self, path: Path, found: tuple[int, int, int]) -> bool:
        """Deal with a file where it is due; returns whether it soon will be."""
        now, seen = time.monotonic(), self._seen.get(path)
        if seen is None or seen.stamp != found:
            self._seen[path] = _Seen(found, now, now + SETTLED_AFTER)
            return True
        if now >= seen.due:
            seen.due = self._due_again(path, seen)
        return seen.due < seen.since + PATIENCE

    def _due_again(self, path: Path, seen: _Seen) -> float:
        """Do what a file asks for; returns when it is due again, if ever while it stays as it is."""
        if is_left_alone(path):
            return math.inf
        outcome, now = keep_beside(path, library=self._library), time.monotonic()
        if outcome.exit_code == UNREADABLE and now - seen.since < PATIENCE:
            return now + SETTLED_AFTER
        line = _dealt_with(path, outcome)
        if line != seen.said:
            self._tell(line)
        seen.said = line
        return now + PATIENCE if outcome.exit_code == UNREADABLE else math.inf


def watch_folder(folder: Path, tell: Tell, once: bool = False, library: Comparing | None = None) -> None:
    """Do what is due in a folder, and go on until KeyboardInterrupt, or stop when all is done where it is `once`."""
    watched = WatchedFolder(folder, tell, library)
    while watched.look() or not once:
        time.sleep(_LOOK)


def _dealt_with(path: Path, outcome: Outcome) -> str:
    """Put down or take away a workbook's faults, and say in a line what came of it."""
    if outcome.exit_code != DONE:
        what = outcome.error or counted(outcome.faults, "fault")
        try:
            return f"{path.name}: {what}; see {write_faults(outcome).name}"
        except OSError as error:
            return f"{path.name}: {what}; and no text of it can be written there: {error.strerror}"
    remove_faults(path)
    written = Path(str(outcome.output)).name
    if outcome.up_to_date:
        return f"{path.name}: nothing was typed since {written} was written"
    return f"{path.name}: wrote {written}" + (f"; {outcome.answers.flags_line}" if outcome.answers else "")


# --- the text of faults beside a workbook: ``NAME faults.txt``, ours until somebody writes into it ---

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
    yield from outcome.checked_lines
    if outcome.faults:
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
