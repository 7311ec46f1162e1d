"""Workbooks read in processes of their own, so that none of them can stop the others: not one that takes for ever, nor
one that brings its process down.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from xlsengine.child import Child
from xlsengine.errors import XlsEngineError, fault_lines
from xlsengine.library.kept import Prepared, prepared

LONGEST = 120.0
"""Seconds after which a workbook is given up; 10,000 readings take a few."""
MOST_WORKERS = 2
_MANY = 100_000
"""New objects after which Python looks for what can go, in a process that reads: most goes by itself."""


@dataclass(frozen=True)
class Read:
    """What came of reading one workbook: a test ready to be added, or lines that say why not."""

    path: Path
    ready: Prepared | None = None
    said: tuple[str, ...] = ()


Reader = Callable[[Path, frozenset[str]], Read]


def read_one(path: Path, known: frozenset[str]) -> Read:
    """Read one workbook; whatever is wrong with it is told. The figures of inputs that are `known` are not computed."""
    from xlsengine.workbook.reading.reader import read_workbook

    gc.set_threshold(_MANY)
    try:
        reading = read_workbook(path)
        if reading.faults:
            return Read(path, said=tuple(fault_lines(reading.faults)))
        ready = prepared(reading.test, known, id_typed=not reading.named_by_file, digest=reading.input_hash)
    except XlsEngineError as error:
        return Read(path, said=(str(error),))
    except (ValueError, ArithmeticError, MemoryError, RecursionError) as error:
        return Read(path, said=(f"{path}: the figures cannot be computed ({error}); see xlsengine check",))
    return Read(path, ready)


def read_all(
    paths: Iterable[Path], known: frozenset[str], read: Reader = read_one, longest: float = LONGEST
) -> Generator[Read, None, None]:
    """Yield what came of each workbook, in their order; each is read once, and none waited for more than `longest` s."""
    children = [Child() for _ in range(MOST_WORKERS)]
    free = list(children)

    def by_a_child(path: Path) -> Read:
        child = free.pop()  # there are no more threads than children
        found, why = child.tried(longest, read, path, known)
        free.append(child)
        return found or Read(path, said=(f"{path}: given up, since {why}; look at it in a spreadsheet program",))

    with ThreadPoolExecutor(MOST_WORKERS) as pool:
        try:
            yield from pool.map(by_a_child, dict.fromkeys(paths))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
            for child in children:
                child.stop()
