"""Tables of a hundred thousand rows: read to the last cell, in little memory, or refused at once."""

import os
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from tests.workbook.reader_workbooks import READINGS_PART, READINGS_TABLE, demo_workbook, with_parts
from tests.workbook.reading.mutations import Parts
from xlsengine.errors import Reason
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.reader import read_workbook

LONGEST_SECONDS, MOST_MEBIBYTES = 2.0, 300
FIRST = 6  # row of the first reading on the sheet
NOISE = os.urandom(2 * limits.MEBIBYTE)  # keeps a file from being refused for how well it packs

# Runs a command line by itself, and says its exit code, processor seconds and peak MiB last; nothing of this process counts.
_COST = """
import os, sys
child = os.posix_spawn(sys.executable, [sys.executable, "-m", "xlsengine", *sys.argv[1:]], os.environ)
_, status, used = os.wait4(child, 0)
print(os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, sep="|")
"""


def cost(*arguments: str) -> tuple[int, str, float, float]:
    """Return exit code, what is printed, processor seconds and peak MiB of a whole process."""
    done = subprocess.run([sys.executable, "-c", _COST, *arguments], capture_output=True, text=True, check=True)
    *said, last = done.stdout.splitlines()
    code, seconds, peak = last.split("|")
    return int(code), "\n".join(said), float(seconds), float(peak)


def reading(row: int, volts: str = "15.2", kind: str = "steady") -> str:
    """Return a row of readings as a file holds it."""
    numbers = {"A": f"{row}", "C": "5", "D": "4.3", "E": "3", "F": "4", "G": "80", "J": "20.5", "K": "700"}
    cells = "".join(f'<c r="{column}{row}"><v>{number}</v></c>' for column, number in numbers.items())
    texts = {"B": f"5x4.3x3 {row % 8}", "H": kind}
    cells += "".join(f'<c r="{c}{row}" t="inlineStr"><is><t>{text}</t></is></c>' for c, text in texts.items())
    return f'<row r="{row}">{cells}<c r="I{row}"><v>{volts}</v></c></row>'


def needed(row: int, volts: str = "15.2") -> str:
    """Return a row of which nothing is filled in but what each reading needs."""
    numbers = {"F": "4", "I": volts, "J": "20.5", "K": "700"}
    cells = "".join(f'<c r="{column}{row}"><v>{number}</v></c>' for column, number in numbers.items())
    return f'<row r="{row}"><c r="B{row}" t="inlineStr"><is><t>5x4.3x3 {row % 8}</t></is></c>{cells}</row>'


@cache
def _honest(rows: int) -> str:
    return "".join(reading(row) for row in range(FIRST, FIRST + rows))


def with_rows(rows: str, number: int) -> Callable[[Parts], None]:
    """Return a change that puts rows in place of the readings, into a table for `number` of them."""

    def change(parts: Parts) -> None:
        sheet = parts[READINGS_PART].decode()
        start, end = sheet.index(f'<row r="{FIRST}"'), sheet.index("</sheetData>")
        parts[READINGS_PART] = (sheet[:start] + rows + sheet[end:]).encode()
        parts[READINGS_TABLE] = parts[READINGS_TABLE].replace(b"A5:P105", f"A5:P{FIRST + number - 1}".encode())
        parts["xl/media/noise.bin"] = NOISE

    return change


def test_a_hundred_thousand_readings_are_read_to_the_last_cell(tmp_path: Path) -> None:
    """An honest file's fault is found where it stands; finding it costs what the rows before it explain."""
    last = FIRST + limits.MOST_ROWS - 1
    rows = "".join(map(needed, range(FIRST, last))) + needed(last, volts="1480")
    read = read_workbook(with_parts(demo_workbook(tmp_path), with_rows(rows, limits.MOST_ROWS)))
    assert [(fault.reason, fault.place) for fault in read.faults] == [(Reason.OUT_OF_LIMITS, f"Readings!I{last}")]
    assert read.test.rows("Readings") == limits.MOST_ROWS


def _without_headers(parts: Parts) -> None:
    with_rows(_honest(30_000), 30_000)(parts)
    parts[READINGS_TABLE] = parts[READINGS_TABLE].replace(b'name="Voltage (V)"', b'name="Odd"')
    sheet = parts[READINGS_PART].decode()
    place = sheet.index('r="I5"')
    parts[READINGS_PART] = (sheet[:place] + 'r="ZZ5"' + sheet[place + 6 :]).encode()


ABSURD: dict[str, tuple[Callable[[Parts], None], int]] = {
    "twice as many rows": (lambda parts: with_rows(_honest(60_000) * 2, 120_000)(parts), 2),
    "broken off in its last row": (lambda parts: with_rows(_honest(30_000) + "<row><c>", 30_001)(parts), 2),
    "a header is missing": (_without_headers, 1),
    "every cell is wrong": (
        lambda parts: with_rows("".join(reading(row, "??", "odd") for row in range(FIRST, 30_000)), 30_000)(parts),
        1,
    ),
    "cells without content": (lambda parts: with_rows(("<row>" + "<c/>" * 70 + "</row>") * 30_000, 30_000)(parts), 1),
}


@pytest.mark.parametrize(("change", "code"), ABSURD.values(), ids=ABSURD)
def test_absurd_tables_are_refused_at_once_or_read_in_little_memory(
    change: Callable[[Parts], None], code: int, tmp_path: Path
) -> None:
    found, _, seconds, peak = cost("check", str(with_parts(demo_workbook(tmp_path), change)))
    assert found == code
    assert peak < MOST_MEBIBYTES
    if code == 2:
        assert seconds < LONGEST_SECONDS


def test_all_faults_of_a_large_table_are_listed(tmp_path: Path) -> None:
    number = 8_000
    rows = [reading(row, volts="1480" if row % 4000 == 3999 else "15.2") for row in range(FIRST, FIRST + number)]
    path = with_parts(demo_workbook(tmp_path), with_rows("".join(rows), number))
    assert path.stat().st_size < limits.LARGEST_FILE
    assert [fault.place for fault in read_workbook(path).faults] == ["Readings!I3999", "Readings!I7999"]


def test_faults_beyond_a_great_many_end_the_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("xlsengine.workbook.reading.findings.MOST_FAULTS", 20)
    rows = "".join(reading(row, volts="1480") for row in range(FIRST, FIRST + 100))
    read = read_workbook(with_parts(demo_workbook(tmp_path), with_rows(rows, 100)))
    assert len(read.faults) == 20
    assert "there are more than 20 faults; fix these first" in read.told
