"""Bench tests with columns of their sender's own, notes and pictures."""

import datetime
import struct
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from tests.workbook.made_tests import ALL
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.extras import CellNote, Extras, SheetPicture

HEADERS = ("Battery", "=1+1 [odd] '#", "Wind (m/s)", "When", "Sound?")


def png(width: int, height: int, blue: int = 90) -> bytes:
    """Return a small picture in PNG."""
    rows = b"".join(
        b"\0" + bytes((x * 5 % 256, y * 7 % 256, blue)[i] for x in range(width) for i in range(3))
        for y in range(height)
    )

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def with_extras(test: BenchTest) -> BenchTest:
    """Give a test extras of every kind."""
    rows = range(test.rows("Readings"))
    own: Mapping[str, Sequence[object]] = {
        HEADERS[0]: [f"pack {row}" if row % 2 else None for row in rows],
        HEADERS[1]: [f"={row}+1" for row in rows],
        HEADERS[2]: [row / 4 for row in rows],
        HEADERS[3]: [datetime.datetime(2026, 5, 31, 10, row % 60) for row in rows],
        HEADERS[4]: [row % 2 == 0 for row in rows],
    }
    notes = (
        CellNote("looked hot\nsmelt", "Invented Tester", "Readings", 0, "Readings", "thrust"),
        CellNote("which pack it was", "A", "Readings", -1, "Readings", "+Battery"),
        CellNote("weighed twice", "B", "Motor", 5, "MotorForm", "Value"),
        CellNote("far away", "B", "Motor", 70, column=3),
    )
    pictures = (
        SheetPicture("Motor", 40, 2, 5.0, 6.0, 200.0, 150.0, "bell from inside", png(40, 30)),
        SheetPicture("Readings", 2, 3, 0.0, 0.0, 41.0, 31.0, "the stand", png(41, 31, 200)),
    )
    return replace(test, extras=Extras({"Readings": own}, notes, pictures))  # type: ignore[dict-item]


def columns_of(extras: Extras) -> dict[str, dict[str, list[object]]]:
    """Return the columns as plain lists, to compare."""
    return {table: {header: list(values) for header, values in held.items()} for table, held in extras.columns.items()}


def places_of(extras: Extras) -> list[tuple[str, int, str, str]]:
    """Return the notes by where they stand; LibreOffice loses their authors."""
    return sorted(
        (note.table or note.sheet, note.row, note.name or str(note.column), note.text) for note in extras.notes
    )


def pictures_of(extras: Extras) -> list[tuple[str, int, int, str, bytes]]:
    """Return the pictures by where they stand; LibreOffice fits their sizes to its own columns."""
    return sorted((p.sheet, p.row, p.column, p.description, p.content) for p in extras.pictures)


THIMBLE = "thimble-2207"
TEST = with_extras(ALL[THIMBLE]())
CARRIED: dict[str, Callable[[], BenchTest]] = {"carried": lambda: TEST}
