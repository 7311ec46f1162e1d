"""Workbooks read in processes of their own, so that none of them can stop the others: not one that takes for ever, nor
one that brings its process down.
"""

from __future__ import annotations

import gc
import multiprocessing
import signal
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path

from xlsengine.errors import XlsEngineError, fault_lines
from xlsengine.library.preparing import Prepared, prepared

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
) -> Iterator[Read]:
    """Yield what came of each workbook, in their order; each is read once, and none waited for more than `longest` s."""
    waiting, handed_on = iter(dict.fromkeys(paths)), deque[Path]()
    done: dict[Path, Read] = {}
    busy: list[_Worker] = []
    workers = [_Worker(read, known, longest) for _ in range(MOST_WORKERS)]

    def hand_on(worker: _Worker) -> None:
        path = next(waiting, None)
        if path is not None:
            handed_on.append(path)
            worker.ask(path)
            busy.append(worker)

    try:
        for worker in workers:
            hand_on(worker)
        while busy:
            for worker in _finished(busy):
                busy.remove(worker)
                done[worker.path] = worker.found
                hand_on(worker)
            while handed_on and handed_on[0] in done:
                yield done.pop(handed_on.popleft())
    finally:
        for worker in workers:
            worker.stop()


def _finished(busy: list[_Worker]) -> list[_Worker]:
    """Wait until a worker says something, ends or takes too long; return those that are done with their workbook."""
    patience = max(0.0, min(worker.until for worker in busy) - time.monotonic())
    saying = wait([worker.pipe for worker in busy], timeout=patience)
    now = time.monotonic()
    return [
        worker
        for worker in busy
        if (worker.hears() if worker.pipe in saying else worker.until <= now and worker.gives_up())
    ]


class _Worker:
    """A process that reads one workbook after another; it is started when the first is handed over, or one after it ended."""

    def __init__(self, read: Reader, known: frozenset[str], longest: float) -> None:
        self._read, self._known, self._longest = read, known, longest
        self._process: SpawnProcess | None = None
        self.pipe: Connection
        self.path, self.found = Path(), Read(Path())
        self.until = 0.0

    def ask(self, path: Path) -> None:
        """Hand a workbook over."""
        longest = self._longest
        if self._process is None:
            self._start()
            longest = STARTING
        self.path, self.until = path, time.monotonic() + longest
        with suppress(OSError):  # it ended meanwhile, which `hears` finds
            self.pipe.send(path)

    def hears(self) -> bool:
        """Take what the process says, and tell whether it is done with its workbook; that it has started is said first."""
        try:
            found = self.pipe.recv()
        except (EOFError, OSError):
            self.stop()
            found = Read(self.path, error=f"{self.path}: {_GONE}")
        if found is None:
            self.until = time.monotonic() + self._longest
            return False
        self.found = found
        return True

    def gives_up(self) -> bool:
        """End a process that takes too long; it is done with its workbook."""
        self.stop()
        self.found = Read(
            self.path, error=f"{self.path}: reading it took more than {self._longest:.0f} s, and was given up"
        )
        return True

    def stop(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self.pipe.close()
            self._process = None

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, self._read, self._known), daemon=True)
        self._process.start()
        theirs.close()


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
