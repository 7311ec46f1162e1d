"""A person's work in LibreOffice Calc: open, insert, delete and sort rows, type into cells, look, save.

`office_hands.py` does it over LibreOffice's UNO bridge, in a Python that has `uno`.
"""

import json
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from tests.instruments.grid import Area
from tests.instruments.recalculate import (
    ErrorValue,
    Place,
    Value,
    python_with_uno,
    run_program,
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


def do_in_libreoffice(works: Sequence[Work], timeout: float = 300.0) -> list[list[Look]]:
    """Do all the work in one run of LibreOffice; returns each one's looks. RuntimeError when it is missing or fails.

    Formulas that follow from what was done are recalculated by LibreOffice as they are at a desk.
    """
    if missing := soffice_missing():
        raise RuntimeError(missing)
    with tempfile.TemporaryDirectory() as folder:
        jobs, seen = Path(folder, "jobs.json"), Path(folder, "seen.json")
        jobs.write_text(json.dumps([asdict(work) for work in works]), encoding="utf-8")
        told = run_program([str(python_with_uno()), str(HANDS), str(jobs), str(seen)], timeout)
        absent = [work.source for work in works if work.target and not Path(work.target).exists()]
        if absent or not seen.exists():
            raise RuntimeError(f"LibreOffice failed on {absent or [work.source for work in works]}: {told}")
        return [[Look(rows) for rows in looks] for looks in json.loads(seen.read_text(encoding="utf-8"))]


def libreoffice_values(paths: Sequence[Path | str], timeout: float = 300.0) -> list[dict[Place, Value]]:
    """Return, file by file, what every formula comes to in LibreOffice, all recalculated in one run."""
    found = do_in_libreoffice([Work(str(path), acts=[("recalculate",), LOOK]) for path in paths], timeout)
    return [look.values(stored_values(path)) for path, (look,) in zip(paths, found, strict=True)]
