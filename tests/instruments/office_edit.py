"""A person's work in LibreOffice Calc: open, insert, delete and sort rows, type into cells, look, save.

`office_hands.py` does it over LibreOffice's UNO bridge, in a Python that has `uno`.
"""

import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from tests.instruments.grid import Area
from tests.instruments.recalculate import (
    ErrorValue,
    Place,
    Value,
    python_with_uno,
    soffice_missing,
    stored_values,
)

HANDS = Path(__file__).with_name("office_hands.py")
EXCEL = "Calc MS Excel 2007 XML"
Act = tuple[str | float | bool | None, ...]
"""A verb of `office_hands.py`, the sheet, and what it takes."""
LOOK: Act = ("look",)


@dataclass(frozen=True)
class Work:
    """What is done to one workbook; `target` is where it is saved, `filter` the kind of file, `secret` a password."""

    source: str
    target: str = ""
    acts: Sequence[Act] = ()
    filter: str = EXCEL
    secret: str | None = None


@dataclass(frozen=True)
class Look:
    """What all cells hold at one moment."""

    rows: dict[str, list[list[Any]]]

    def values(self, places: Iterable[Place]) -> dict[Place, Value]:
        """Return what some cells hold; an empty text and a blank are None."""
        return {place: self._value(*place) for place in places}

    def _value(self, sheet: str, place: str) -> Value:
        area, rows = Area.parse(place), self.rows[sheet]
        within = area.top <= len(rows) and area.left <= len(rows[0])
        value = rows[area.top - 1][area.left - 1] if within else ""
        return ErrorValue(*value) if isinstance(value, list) else None if value == "" else value


class _Hands:
    """A LibreOffice at work, and what it says. It ends with this process, which holds the other end of what it reads."""

    def __init__(self) -> None:
        self._said = tempfile.TemporaryFile()  # noqa: SIM115
        self._process = subprocess.Popen(
            [str(python_with_uno()), str(HANDS)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._said,
            start_new_session=True,
        )

    def did(self, jobs: Path, seen: Path, timeout: float) -> str:
        """Have jobs done; returns what went wrong, and ends LibreOffice then."""
        asked, answered = self._process.stdin, self._process.stdout
        assert asked is not None
        assert answered is not None
        with suppress(BrokenPipeError):
            asked.write(json.dumps([str(jobs), str(seen)]).encode() + b"\n")
            asked.flush()
        in_time = select.select([answered], [], [], timeout)[0]
        if in_time and answered.readline():
            return ""
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._said.seek(0)
        told = self._said.read().decode()
        with self._said, answered, suppress(BrokenPipeError):
            asked.close()
        return told if in_time else f"it took more than {timeout:g} s"


_AT_WORK: dict[str | None, _Hands] = {}
"""By program, which some tests stand in for: its start takes a second, so one does the work of all tests of a process."""


def do_in_libreoffice(works: Sequence[Work], timeout: float = 300.0) -> list[list[Look]]:
    """Do all the work, one after another; returns each one's looks. RuntimeError when LibreOffice is missing or fails.

    Formulas that follow from what was done are recalculated by LibreOffice as they are at a desk.
    """
    if missing := soffice_missing():
        raise RuntimeError(missing)
    with tempfile.TemporaryDirectory() as folder:
        jobs, seen = Path(folder, "jobs.json"), Path(folder, "seen.json")
        jobs.write_text(json.dumps([asdict(work) for work in works]), encoding="utf-8")
        program = shutil.which("soffice")
        hands = _AT_WORK.setdefault(program, _AT_WORK.get(program) or _Hands())
        if told := hands.did(jobs, seen, timeout):
            del _AT_WORK[program]
            raise RuntimeError(f"LibreOffice failed on {', '.join(work.source for work in works)}: {told}")
        return [[Look(rows) for rows in looks] for looks in json.loads(seen.read_text(encoding="utf-8"))]


def libreoffice_values(paths: Sequence[Path | str], timeout: float = 300.0) -> list[dict[Place, Value]]:
    """Return, file by file, what every formula comes to in LibreOffice, all recalculated in one run."""
    found = do_in_libreoffice([Work(str(path), acts=[("recalculate",), LOOK]) for path in paths], timeout)
    return [look.values(stored_values(path)) for path, (look,) in zip(paths, found, strict=True)]
