"""Worker processes, a few at a time: each is killed when its time is over, and a killed one is an answer, not an end."""

import asyncio
import json
import os
import signal
import sys
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from xlsengine.doors.page.worker import REPLY
from xlsengine.library.where import VARIABLE
from xlsengine.outcome import UNREADABLE

_WORKER = (sys.executable, "-P", "-X", "utf8", "-m", "xlsengine.doors.page.worker")
_ONE_THREAD = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")


@dataclass(frozen=True)
class Bounds:
    """How many work at once, how long one may take (seconds), and how much memory it may ask for (bytes)."""

    at_once: int = 2
    seconds: int = 300
    memory: int = 2 * 2**30


class Workers:
    """The queue: who comes while all are at work waits."""

    def __init__(self, bounds: Bounds, library: str | None = None) -> None:
        """Take the bounds, and the library to compare with, which no list of processes shows: it may hold a password."""
        self._bounds = bounds
        self._environment = {**os.environ, **_ONE_THREAD, **({VARIABLE: library} if library else {})}
        self._free = asyncio.Semaphore(bounds.at_once)

    async def do(self, task: str, folder: Path, name: str) -> dict[str, Any]:
        """Do a task of `worker` in a process of its own; returns its reply, or why there is none."""
        async with self._free:
            return await self._done(task, folder, name)

    async def _done(self, task: str, folder: Path, name: str) -> dict[str, Any]:
        (folder / REPLY).unlink(missing_ok=True)
        bounds = str(self._bounds.memory), str(self._bounds.seconds)
        process = await asyncio.create_subprocess_exec(
            *(*_WORKER, task, str(folder), name, *bounds),
            env=self._environment,
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.DEVNULL,
            stderr=asyncio.subprocess.DEVNULL,
        )
        in_time = True
        try:
            await asyncio.wait_for(process.wait(), self._bounds.seconds)
        except TimeoutError:
            in_time = False
        finally:
            with suppress(ProcessLookupError):
                process.kill()
            await process.wait()
        return _reply(folder, process.returncode or 0, in_time, self._bounds.seconds)


def _reply(folder: Path, code: int, in_time: bool, seconds: int) -> dict[str, Any]:
    with suppress(OSError, ValueError):
        if code == 0 and in_time:
            return dict(json.loads((folder / REPLY).read_text(encoding="utf-8")))
    why = _why(code, in_time, seconds)
    return {
        "exit_code": UNREADABLE,
        "error": f"The work on this file was stopped before it was done: {why}. Nothing of it was kept. This page goes on; "
        "try a smaller file, or hand the file to xlsengine without the page.",
        "files": {},
    }


def _why(code: int, in_time: bool, seconds: int) -> str:
    """Say why a process left no reply, by what it ended with: below 0 a signal, above 0 its own failure."""
    if not in_time or code == -getattr(signal, "SIGXCPU", 0):
        return f"it took more than {seconds} seconds"
    if code < 0:
        return "it was ended from outside, as a system that is short of memory does"
    return "it took too much memory, or this program failed on it"
