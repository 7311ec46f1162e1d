"""Work in a process of its own, so that nothing met there can stop who asked for it: it may crash, hang or fill memory."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Mapping
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any

STARTING = 300
"""Seconds that a process may take to start, on a machine that is busy."""
_ENDING = 5.0

_OWN_FAILURE = "it took too much memory, or this program failed on it"
_ENDED_BY_OTHERS = {-getattr(signal, name) for name in ("SIGKILL", "SIGTERM", "SIGHUP") if hasattr(signal, name)}


class Ended(Exception):
    """The process ended before it had done its task; `code` is what it ended with, below 0 a signal."""

    def __init__(self, code: int) -> None:
        super().__init__(code)
        self.code = code


class Child:
    """A process that does one task after another; it is started for the first, and again after it ended.

    It may ask for so many bytes of `memory` and seconds of `processor` time, where the system can hold it to that, and
    has more `environment` than this process.
    """

    def __init__(
        self, memory: int | None = None, processor: int | None = None, environment: Mapping[str, str] | None = None
    ) -> None:
        self._bounds = memory, processor, dict(environment or {})
        self._process: SpawnProcess | None = None
        self._pipe: Connection

    def do(self, seconds: float, task: Callable[..., Any], *arguments: Any) -> Any:
        """Have a task done; returns what it returns, and raises what it raises.

        Raises `TimeoutError` where it takes longer than so many seconds, and `Ended`; the process is ended then.
        """
        try:
            if self._process is None:
                self._start()
                self._heard(STARTING)
            self._pipe.send((task, arguments))
            answer, failed = self._heard(seconds)
        except TimeoutError:
            self.stop()
            raise
        except (EOFError, OSError) as error:
            raise Ended(self.stop(_ENDING)) from error
        if failed is not None:
            raise failed
        return answer

    def tried(self, seconds: float, task: Callable[..., Any], *arguments: Any) -> tuple[Any, str]:
        """Have a task done as `do` does, whatever a stranger's file brings up: what it returns, or None and why not."""
        try:
            return self.do(seconds, task, *arguments), ""
        except TimeoutError:
            return None, f"it took more than {seconds:.0f} s"
        except Ended as ended:
            if ended.code == -getattr(signal, "SIGXCPU", 0):
                return None, f"it took more than {seconds:.0f} s"
            outside = "it was ended from outside before it was done, as a system that is short of memory does"
            return None, outside if ended.code in _ENDED_BY_OTHERS else _OWN_FAILURE
        except Exception as error:
            return None, f"{_OWN_FAILURE} ({type(error).__name__}: {error})"

    def stop(self, patience: float = 0.0) -> int:
        """End the process, where it does not end by itself in so many seconds; returns what it ended with."""
        process, self._process = self._process, None
        if process is None:
            return 0
        process.join(patience)
        process.kill()
        process.join()
        return process.exitcode or 0

    def _heard(self, seconds: float) -> Any:
        if not self._pipe.poll(seconds):
            raise TimeoutError
        return self._pipe.recv()

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, *self._bounds), daemon=True)
        self._process.start()
        theirs.close()


def _serve(pipe: Connection, memory: int | None, processor: int | None, environment: Mapping[str, str]) -> None:
    """Do the tasks that are handed over, until the other end is closed; who interrupts it is the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.environ.update(environment)
    _bound(memory, processor)
    pipe.send(None)
    with suppress(EOFError):
        while True:
            task, arguments = pipe.recv()
            try:
                pipe.send((task(*arguments), None))
            except Exception as error:  # whatever a stranger's file brings up
                pipe.send((None, error))


def _bound(memory: int | None, processor: int | None) -> None:
    with suppress(ImportError):  # Windows has none: there the parent's limit of time is the only one
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        for kind, most in ((resource.RLIMIT_AS, memory), (resource.RLIMIT_CPU, processor)):
            if most is not None:
                resource.setrlimit(kind, (most, most))
