"""Where the results of a workbook go beside it: a file that a person has saved is never written over."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.output import next_name, numbered
from xlsengine.workbook.reading.kinds import Kind, kind_of
from xlsengine.workbook.reading.reader import Reading, read_workbook

OPEN = "{} is open in another program, so it was left as it is and the new results have the next number"


@dataclass(frozen=True)
class Place:
    """Where results go, whether that replaces earlier ones, whether those are of the same inputs, and what is open."""

    path: Path
    replaces: bool = False
    up_to_date: bool = False
    told: tuple[str, ...] = ()


def place_beside(source: Path, reading: Reading) -> Place:
    """Return where the results of a workbook go, `reading` being what was read from it.

    That is where results of the same inputs lie as they were written; else the first name that is free, or that holds
    results which nobody has saved since or has open, and which are of no other workbook beside.
    """
    for path in _taken(source):
        if _is_as_written(path) and _same_inputs(path, reading):
            return Place(path, replaces=True, up_to_date=True)
    return free_place(source)


def free_place(source: Path) -> Place:
    """Return the first name that may be written to: results that another program has open are numbered on."""
    path, told = next_name(source), []
    while path.exists():
        if is_open(path):
            told.append(OPEN.format(path.name))
        elif _is_as_written(path) and not _is_of_another(path, source):
            break
        path = next_name(path)
    return Place(path, replaces=path.exists(), told=tuple(told))


def is_open(path: Path) -> bool:
    """Tell whether LibreOffice or Excel has a file open, by the lock that each puts beside it."""
    return any((path.parent / name).exists() for name in (f".~lock.{path.name}#", f"~${path.name}"))


def _taken(source: Path) -> Iterator[Path]:
    """Yield the names of results that are taken, as far as they are numbered on without a gap."""
    path = next_name(source)
    while path.exists():
        yield path
        path = next_name(path)


def _is_as_written(path: Path) -> bool:
    with suppress(WorkbookUnreadable):
        return kind_of(path) is Kind.RESULTS
    return False


def _is_of_another(path: Path, source: Path) -> bool:
    """Tell whether results are of another workbook of that name than `source`: one that a person works on."""
    first = source.with_name(f"{numbered(source.stem)[0]}.xlsx")
    others = [other for other in (first, *_taken(first)) if other not in (source, path) and other.exists()]
    reading = read_workbook(path)
    return any(not _is_as_written(other) and _same_inputs(other, reading) for other in others)


def _same_inputs(path: Path, reading: Reading) -> bool:
    """Tell whether a workbook holds the same readings, settings, own columns, notes and pictures."""
    with suppress(WorkbookUnreadable):
        held = read_workbook(path)
        return held.input_hash == reading.input_hash and held.test.extras == reading.test.extras
    return False
