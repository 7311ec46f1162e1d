"""Plain tables in .xls and .xlsb: the first is no archive that the gate could weigh, the second holds no XML.

They are opened by a library in a child process with limits of time and memory. It gives values alone: what an error
stands in is blank, and a share that shows as per cent is the share.
"""

from __future__ import annotations

import datetime
import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import Found, SheetCells
from xlsengine.workbook.reading.package import refuse_what_is_no_file
from xlsengine.workbook.reading.streams import Room

ENDINGS = (".xls", ".xlsb")
SAVE_AGAIN = "open it in a spreadsheet program and save it as .xlsx"
VALUES_ALONE = "values alone were read: a cell that shows 50% holds 0.5, and one with an error is blank; look at both"
_CHILD = "xlsengine.workbook.reading.old_workbook_child"
_MOST_SECONDS = 30


def read_old_workbook(path: Path) -> dict[str, SheetCells]:
    """Return the cells of every sheet by its name; raises `WorkbookUnreadable` for what cannot be opened within limits."""
    refuse_what_is_no_file(path)
    if path.stat().st_size > limits.LARGEST_FILE:
        raise WorkbookUnreadable(f"{path} is larger than {limits.LARGEST_FILE // limits.MEBIBYTE} MiB; {SAVE_AGAIN}")
    command = [sys.executable, "-m", _CHILD, str(path.resolve())]
    try:
        done = subprocess.run(command, capture_output=True, timeout=_MOST_SECONDS, check=True)
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        raise WorkbookUnreadable(
            f"{path} cannot be read: it is damaged, locked or far too large; {SAVE_AGAIN}"
        ) from None
    room = Room()
    return {name: _sheet(rows, room) for name, rows in json.loads(done.stdout).items()}


def _sheet(rows: Sequence[Sequence[object]], room: Room) -> SheetCells:
    cells = SheetCells()
    for number, row in enumerate(rows):
        filled = {column: _found(value) for column, value in enumerate(row) if value != ""}
        if filled:
            room.take(1, len(filled))
            cells[number] = dict(filled)
    return cells


def _found(value: object) -> Found:
    if isinstance(value, dict):
        return datetime.datetime.fromisoformat(value["date"])
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value  # type: ignore[return-value]
