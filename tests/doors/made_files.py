"""Files that people hand over, and what they do with them in between."""

import signal
import warnings
from collections.abc import Mapping
from pathlib import Path

import openpyxl

from tests.workbook.made_tests import on_purpose
from xlsengine.workbook.template import write_input_workbook

TABLE = "Prop,Cells,Volts,Amps,Thrust (g),Wind\n5x4,4,14.8,31,900,2\n5x4,4,14.7,31.5,905,3\n"
THRUST = "K6"
"""The cell of the first reading's thrust on the sheet Readings."""


def motor(folder: Path, name: str = "motor.xlsx") -> Path:
    """Write a small input workbook, of two readings."""
    return write_input_workbook(on_purpose({}), folder / name)


def typed(path: Path, cells: Mapping[str, float | str | None], target: Path | None = None) -> Path:
    """Type into cells of Readings, or only save, in a program that is not ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # of what openpyxl leaves out
        book = openpyxl.load_workbook(path)
    for cell, value in cells.items():
        book["Readings"][cell] = value
    book.save(target or path)
    return target or path


def names(folder: Path) -> list[str]:
    """Return the names of all files in a folder."""
    return sorted(path.name for path in folder.iterdir())


def heed_interrupts() -> None:
    """Heed Ctrl+C in a process that is started, where the tests run in the background and leave it unheeded."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
