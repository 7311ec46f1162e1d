"""Workbooks read in processes of their own, so that none of them can stop the others: not one that takes for ever, nor
one that brings its process down.
"""

from __future__ import annotations

import multiprocessing
import signal
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path

from xlsengine.errors import XlsEngineError, fault_lines
from xlsengine.library.store import Prepared, prepared

LONGEST = 120.0
"""Seconds after which a workbook is given up; 10,000 readings take a few."""
MOST_WORKERS = 2
_GONE = "the process that read it ended before it was done; out of memory, perhaps. Look at the file in a spreadsheet program"


@dataclass(frozen=True)
class Read:
    """What came of reading one workbook: a test ready to be added, or why not"""

    path: Path
    ready: Prepared | None = None
    faults: tuple[str, ...] = ()
    error: str = ""


def read_one(path: Path, known: frozenset[str]) -> Read:
    """Read one workbook; whatever is wrong with it is told. The figures of inputs that are `known` are not computed."""
    from xlsengine.workbook.reading.reader import read_workbook

    try:
        reading = read_workbook(path)
        if reading.faults:
            return Read(path, faults=tuple(fault_lines(reading.faults)))
        ready = prepared(reading.test, known, id_typed=not reading.named_by_file)
    except XlsEngineError as error:
        return Read(path, error=str(error))
    except (ValueError, ArithmeticError, MemoryError, RecursionError) as error:
        return Read(path, error=f"{path}: the figures cannot be computed ({error}); see xlsengine check")
    return Read(path, ready)


def read_all(paths: Iterable[Path], known: frozenset[str], workers: int = MOST_WORKERS) -> Iterator[Read]:
    """Yield what came of each workbook, in their order; each is read once, and none waited for longer than `LONGEST`."""
    waiting, handed_on = iter(dict.fromkeys(paths)), deque[Path]()
    done: dict[Path, Read] = {}
    busy: list[_Worker] = []

    def hand_on(worker_for: Callable[[Path, frozenset[str]], _Worker]) -> None:
        path = next(waiting, None)
        if path is not None:
            handed_on.append(path)
            busy.append(worker_for(path, known))

    try:
        for _ in range(workers):
            hand_on(_Worker.started)
        while busy:
            for worker in _finished(busy):
                busy.remove(worker)
                done[worker.path] = worker.outcome()
                hand_on(worker.next_one)
            while handed_on and handed_on[0] in done:
                yield done.pop(handed_on.popleft())
    finally:
        for worker in busy:
            worker.stop()


def _finished(busy: list[_Worker]) -> list[_Worker]:
    """Wait until a worker answers, ends or takes too long; return those."""
    patience = max(0.0, min(worker.until for worker in busy) - time.monotonic())
    answering = wait([worker.pipe for worker in busy], timeout=patience)
    now = time.monotonic()
    return [worker for worker in busy if worker.pipe in answering or worker.until <= now]


@dataclass
class _Worker:
    """A process that reads one workbook after another."""

    process: SpawnProcess
    pipe: Connection
    path: Path
    until: float
    alive: bool = field(default=True)

    @classmethod
    def started(cls, path: Path, known: frozenset[str]) -> _Worker:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, known), daemon=True)
        process.start()
        theirs.close()
        worker = cls(process, ours, path, 0.0)
        worker._ask(path)
        return worker

    def next_one(self, path: Path, known: frozenset[str]) -> _Worker:
        """Hand over the next workbook, to a new process where this one has ended."""
        if not self.alive:
            return _Worker.started(path, known)
        self._ask(path)
        return self

    def outcome(self) -> Read:
        """Return what came of the workbook; a process that ended or took too long is done with."""
        if self.pipe.poll():
            try:
                found: Read = self.pipe.recv()
                return found
            except (EOFError, OSError):
                self.stop()
                return Read(self.path, error=f"{self.path}: {_GONE}")
        self.stop()
        return Read(self.path, error=f"{self.path}: reading it took more than {LONGEST:.0f} s, and was given up")

    def stop(self) -> None:
        """End the process."""
        self.alive = False
        self.process.kill()
        self.process.join()
        self.pipe.close()

    def _ask(self, path: Path) -> None:
        self.path, self.until = path, time.monotonic() + LONGEST
        with suppress(OSError):  # it ended meanwhile, which `outcome` finds
            self.pipe.send(path)


def _serve(pipe: Connection, known: frozenset[str]) -> None:
    """Read the workbooks that are handed over, until the other end is closed; who interrupts it is the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            path = pipe.recv()
        except EOFError:
            return
        pipe.send(read_one(path, known))
