"""Work on a file in a process of its own, a few at a time: one that is ended is an answer, not an end."""

import asyncio
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from xlsengine.child import STARTING, Child
from xlsengine.errors import XlsEngineError
from xlsengine.library.where import VARIABLE
from xlsengine.outcome import UNREADABLE

PUBLISHED = "wide", "tall", "page"
"""What of the files that are published can be taken from the page."""
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
        self._environment = {**_ONE_THREAD, **({VARIABLE: library} if library else {})}
        self._free = asyncio.Semaphore(bounds.at_once)

    async def do(self, task: str, folder: Path, name: str) -> dict[str, Any]:
        """Do one of the `tasks` in a process of its own; returns its reply, or why there is none."""
        seconds = self._bounds.seconds
        async with self._free:
            child = Child(self._bounds.memory, seconds + STARTING, self._environment)  # its start takes some
            try:
                reply, why = await asyncio.to_thread(child.tried, seconds, done, task, folder, name)
            finally:
                child.stop()
            return dict(reply) if reply else _stopped(why)


def done(task: str, folder: Path, name: str) -> dict[str, Any]:
    """Do a task; what a person can cause to go wrong is an answer too. Loaded here, within the process and its bounds."""
    try:
        reply: dict[str, Any] = getattr(import_module("xlsengine.doors.page.tasks"), task)(folder, name)
    except XlsEngineError as error:
        return {"exit_code": UNREADABLE, "error": str(error), "files": {}}
    return reply


def _stopped(why: str) -> dict[str, Any]:
    return {
        "exit_code": UNREADABLE,
        "error": f"The work on this file was stopped before it was done: {why}. Nothing of it was kept. This page goes on; "
        "try a smaller file, or hand the file to xlsengine without the page.",
        "files": {},
    }
