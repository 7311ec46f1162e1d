"""Workbooks read in processes of their own, so that none of them can stop the others: not one that takes for ever, nor
one that brings its process down.
"""

from __future__ import annotations

import gc
import multiprocessing
import signal
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import cast

from xlsengine.errors import XlsEngineError, fault_lines
from xlsengine.library.kept import Prepared, prepared

LONGEST = 120.0
"""Seconds after which a workbook is given up; 10,000 readings take a few."""
STARTING = 300.0
"""Seconds that a process may take to start, on a machine that is busy."""
MOST_WORKERS = 2
_MANY = 100_000
"""New objects after which Python looks for what can go, in a process that reads: most goes by itself."""
_GONE = "the process that read it ended before it was done; out of memory, perhaps. Look at the file in a spreadsheet program"


@dataclass(frozen=True)
class Read:
    """What came of reading one workbook: a test ready to be added, or why not"""

    path: Path
    ready: Prepared | None = None
    faults: tuple[str, ...] = ()
    error: str = ""


Reader = Callable[[Path, frozenset[str]], Read]


def read_one(path: Path, known: frozenset[str]) -> Read:
    """Read one workbook; whatever is wrong with it is told. The figures of inputs that are `known` are not computed."""
    from xlsengine.workbook.reading.reader import read_workbook

    try:
        reading = read_workbook(path)
        if reading.faults:
            return Read(path, faults=tuple(fault_lines(reading.faults)))
        ready = prepared(reading.test, known, id_typed=not reading.named_by_file, digest=reading.input_hash)
    except XlsEngineError as error:
        return Read(path, error=str(error))
    except (ValueError, ArithmeticError, MemoryError, RecursionError) as error:
        return Read(path, error=f"{path}: the figures cannot be computed ({error}); see xlsengine check")
    return Read(path, ready)


def read_all(
    paths: Iterable[Path], known: frozenset[str], read: Reader = read_one, longest: float = LONGEST
) -> Generator[Read, None, None]:
    """Yield what came of each workbook, in their order; each is read once, and none waited for more than `longest` s."""
    workers = [_Worker(read, known, longest) for _ in range(MOST_WORKERS)]
    free = list(workers)

    def by_a_worker(path: Path) -> Read:
        worker = free.pop()  # there are no more threads than workers
        try:
            return worker.read(path)
        finally:
            free.append(worker)

    with ThreadPoolExecutor(MOST_WORKERS) as pool:
        try:
            yield from pool.map(by_a_worker, dict.fromkeys(paths))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
            for worker in workers:
                worker.stop()


class _Worker:
    """A process that reads one workbook after another; it is started for the first, and again after it ended."""

    def __init__(self, read: Reader, known: frozenset[str], longest: float) -> None:
        self._read, self._known, self._longest = read, known, longest
        self._process: SpawnProcess | None = None
        self._pipe: Connection

    def read(self, path: Path) -> Read:
        """Have a workbook read; that it has started is what a process says first."""
        try:
            if self._process is None:
                self._start()
                self._heard(STARTING)
            self._pipe.send(path)
            return cast(Read, self._heard(self._longest))
        except TimeoutError:
            why = f"reading it took more than {self._longest:.0f} s, and was given up"
        except (EOFError, OSError):
            why = _GONE
        self.stop()
        self._process = None
        return Read(path, error=f"{path}: {why}")

    def stop(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()

    def _heard(self, longest: float) -> object:
        if not self._pipe.poll(longest):
            raise TimeoutError
        return self._pipe.recv()

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, self._read, self._known), daemon=True)
        process.start()
        theirs.close()
        self._process = process


def _serve(pipe: Connection, read: Reader, known: frozenset[str]) -> None:
    """Read the workbooks that are handed over, until the other end is closed; who interrupts it is the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.set_threshold(_MANY)
    pipe.send(None)
    while True:
        try:
            path = pipe.recv()
        except EOFError:
            return
        try:
            found = read(path, known)
        except Exception as error:  # whatever a stranger's workbook brings up, the others are read
            found = Read(path, error=f"{path}: reading it failed ({type(error).__name__}: {error})")
        pipe.send(found)
