"""Adding workbooks and folders of them to a library: each is told what became of it, and none stops the others.

They are read in processes of their own, not one of which can stop the others: not by a workbook that takes for ever, nor by
one that brings its process down.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from xlsengine.child import Child
from xlsengine.errors import XlsEngineError, fault_lines
from xlsengine.library.kept import Prepared, prepared
from xlsengine.workbook.output import is_hidden, is_somebodys, numbered

if TYPE_CHECKING:
    from xlsengine.library.store import Added, Library  # a process that reads needs no database

ENDING = ".xlsx"
LONGEST = 120.0
"""Seconds after which a workbook is given up; 10,000 readings take a few."""
MOST_WORKERS = 2
_MANY = 100_000
"""New objects after which Python looks for what can go, in a process that reads: most goes by itself."""
_TWICE = (
    "not added: {} of this run is the same test ({}) with other readings. Keep the one that is right, or give one of them "
    "another test id"
)


@dataclass(frozen=True)
class Outcome:
    """What became of one workbook: the test that was read from it, and where that stands in the library, or lines that say
    why it does not."""

    path: Path
    ready: Prepared | None = None
    said: tuple[str, ...] = ()
    added: Added | None = None

    @property
    def name(self) -> str:
        """The test by its id and model."""
        return " ".join(part for part in (self.ready.test_id, self.ready.model) if part) if self.ready else ""

    @property
    def lines(self) -> list[str]:
        """What is said of it, the file first."""
        if self.added is None:
            return [f"{self.path}: not added", *(f"  {line}" for line in self.said)]
        said = f"{self.path}: {self.added.how}, number {self.added.id}, {self.name}"
        if self.added.alike:
            numbers = ", ".join(str(number) for number in self.added.alike)
            said += f"; another test than number {numbers}, which has the same test id and another model"
        return [said]


def workbooks_in(places: Iterable[Path]) -> list[Path]:
    """Return files as named, and of folders every workbook in them and below, by name, inputs before their results."""
    found: dict[Path, None] = {}
    for place in places:
        inside = (
            [each for each in place.rglob(f"*{ENDING}") if _is_workbook(each, place)] if place.is_dir() else [place]
        )
        found |= dict.fromkeys(sorted(inside, key=_order))
    return list(found)


def _is_workbook(path: Path, below: Path) -> bool:
    """Tell a workbook from what a spreadsheet program or a run of this one keeps beside it while it works."""
    return path.is_file() and is_somebodys(path) and not any(map(is_hidden, path.relative_to(below).parts))


def _order(path: Path) -> tuple[str, str, str]:
    name, number = numbered(path.stem)
    return str(path.parent), name, path.stem if number else ""


def add_workbooks(library: Library, paths: Iterable[Path]) -> Generator[Outcome, None, None]:
    """Add workbooks, input or results, and yield what became of each as soon as it is known.

    What was added stays, whatever comes later. Raises `LibraryError` where the library cannot be written to.
    """
    library.make()
    seen: dict[str, tuple[Path, str]] = {}
    with closing(read_all(paths, library.hashes())) as reads:  # who breaks off here ends the reading too
        for read in reads:
            yield _put(library, read, seen) if read.ready else read


def _put(library: Library, read: Outcome, seen: dict[str, tuple[Path, str]]) -> Outcome:
    ready = read.ready
    assert ready is not None
    first, its_inputs = seen.setdefault(ready.identity, (read.path, ready.input_hash))
    if its_inputs != ready.input_hash:
        return replace(read, said=(_TWICE.format(first, read.name),))
    return replace(read, added=library.add(ready, read.path.absolute()))


# --- reading, in processes of their own ---

Reader = Callable[[Path, frozenset[str]], Outcome]


def read_one(path: Path, known: frozenset[str]) -> Outcome:
    """Read one workbook; whatever is wrong with it is told. The figures of inputs that are `known` are not computed."""
    from xlsengine.workbook.reading.reader import read_workbook

    gc.set_threshold(_MANY)
    try:
        reading = read_workbook(path)
        if reading.faults:
            return Outcome(path, said=tuple(fault_lines(reading.faults)))
        ready = prepared(reading.test, known, id_typed=not reading.named_by_file, digest=reading.input_hash)
    except XlsEngineError as error:
        return Outcome(path, said=(str(error),))
    except (ValueError, ArithmeticError, MemoryError, RecursionError) as error:
        return Outcome(path, said=(f"{path}: the figures cannot be computed ({error}); see xlsengine check",))
    return Outcome(path, ready)


def read_all(
    paths: Iterable[Path], known: frozenset[str], read: Reader = read_one, longest: float = LONGEST
) -> Generator[Outcome, None, None]:
    """Yield what came of each workbook, in their order; each is read once, and none waited for more than `longest` s."""
    children = [Child() for _ in range(MOST_WORKERS)]
    free = list(children)

    def by_a_child(path: Path) -> Outcome:
        child = free.pop()  # there are no more threads than children
        found, why = child.tried(longest, read, path, known)
        free.append(child)
        return found or Outcome(path, said=(f"{path}: given up, since {why}; look at it in a spreadsheet program",))

    with ThreadPoolExecutor(MOST_WORKERS) as pool:
        try:
            yield from pool.map(by_a_child, dict.fromkeys(paths))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
            for child in children:
                child.stop()
