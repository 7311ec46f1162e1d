"""Workbooks of which most are sound and some hostile, all read and added by the engine's own reading processes.

`python -m tests.benchmarks.hostile_among_many [WORKBOOKS]` adds 1,000 with every hostile package of the reader's tests among
them, ends reading processes meanwhile, and says what became of all. It takes minutes, and is no part of the suite.
"""

import multiprocessing
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from tests.instruments.editing import edited_copy
from tests.library.made import small_test
from tests.workbook.reader_workbooks import with_parts
from tests.workbook.reading.foreign_files import TEXTS
from tests.workbook.reading.test_gate import HOSTILE
from xlsengine.library.adding import add_workbooks, workbooks_in
from xlsengine.library.store import Library
from xlsengine.workbook.template import write_input_workbook

TEST_ID, THRUST = ("Motor", "B6"), ("Readings", "K6")
ENDED = "ended from outside"


@dataclass
class Told:
    """What became of all workbooks: the sound and the hostile ones that were added, and what was said of the others."""

    sound: set[str] = field(default_factory=set)
    hostile_added: set[str] = field(default_factory=set)
    refused: dict[str, str] = field(default_factory=dict)


def sound_workbooks(folder: Path, count: int) -> list[Path]:
    """Write one input workbook, and copies of it that differ in test id and in a reading."""
    base = write_input_workbook(small_test("base"), folder.parent / "base.xlsx")
    return [
        edited_copy(
            base, folder / f"{number:04} sound.xlsx", [(*TEST_ID, f"motor {number}"), (*THRUST, 1000.0 + number / 10)]
        )
        for number in range(count)
    ]


def hostile_workbooks(folder: Path, among: int, names: Iterable[str] = (*HOSTILE, *TEXTS)) -> list[Path]:
    """Write hostile packages, bombs and endless XML among them, and files that only call themselves workbooks.

    Their names spread them over as many sound ones.
    """
    base = write_input_workbook(small_test("hostile"), folder.parent / "hostile.xlsx")
    written = []
    for place, name in enumerate(wanted := list(names)):
        path = folder / f"{place * among // len(wanted):04} hostile {place}.xlsx"
        if name in HOSTILE:
            with_parts(Path(shutil.copy(base, path)), HOSTILE[name][0])
        else:
            path.write_bytes(TEXTS[name])
        written.append(path)
    return written


def added(library: Library, folder: Path, ended_at: Iterable[int] = ()) -> Told:
    """Add a folder; after so many workbooks a process that reads is ended from outside, as a system out of memory does."""
    told, ends = Told(), set(ended_at)
    for number, outcome in enumerate(add_workbooks(library, workbooks_in([folder]))):
        if number in ends and (reading := multiprocessing.active_children()):
            reading[0].kill()
        name = outcome.path.name
        if outcome.added is None:
            told.refused[name] = " ".join(outcome.lines)
        elif "sound" in name:
            told.sound.add(name)
        else:
            told.hostile_added.add(name)
    return told


def main(count: int = 1000) -> None:
    """Say what became of so many workbooks."""
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held) / "books"
        folder.mkdir()
        writing = multiprocessing.get_context("spawn").Process(target=hostile_workbooks, args=(folder, count))
        writing.start()  # apart, so that its memory is not taken for that of adding
        writing.join()
        hostile = list(folder.iterdir())
        sound = sound_workbooks(folder, count - len(hostile))
        print(f"{len(sound)} sound and {len(hostile)} hostile workbooks")
        start, before = time.monotonic(), _most_memory()
        with Library(Path(held) / "some.library") as library:
            told = added(library, folder, ended_at=range(100, count, count // 5))
            kept = len(library.tests())
        ended = {name for name, said in told.refused.items() if ENDED in said}
        lost = {path.name for path in sound} - told.sound - ended
        print(f"added: {len(told.sound)} sound, {len(told.hostile_added)} hostile; the library holds {kept} tests")
        print(f"told: {len(told.refused)} not added, {len(ended)} of them read when their process was ended")
        print(f"sound workbooks that were neither added nor told: {len(lost)}")
        print(f"{time.monotonic() - start:.0f} s by the clock; most memory grew by {_most_memory() - before} MiB")


def _most_memory() -> int:
    """Return the most memory that this process, which adds, has taken so far, in MiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
