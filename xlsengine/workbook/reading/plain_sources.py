"""Files that a plain table may stand in: first the beginnings of their sheets, then one sheet whole."""

import datetime
import io
import json
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import Decoder, Found, SheetCells
from xlsengine.workbook.reading.contents import decoder_of
from xlsengine.workbook.reading.ods_cells import read_ods
from xlsengine.workbook.reading.package import Package, open_package, refuse_what_is_no_file
from xlsengine.workbook.reading.reader import HOMES, LEAST_OURS, is_ours
from xlsengine.workbook.reading.separated_values import read_separated
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
    return {name: _old_sheet(rows, room) for name, rows in json.loads(done.stdout).items()}


def _old_sheet(rows: Sequence[Sequence[object]], room: Room) -> SheetCells:
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


LOOKED_AT = 200
"""Rows in which a header is looked for."""
SAVE_AS_XLSX = "open it in a spreadsheet program, save it as .xlsx, and hand that to check or results"
_TEXTS, _OPEN_DOCUMENT = (".csv", ".tsv", ".txt"), (".ods", ".ots")
TABLES_ALONE = (*_TEXTS, *_OPEN_DOCUMENT, *ENDINGS)
"""Endings of files that are no input workbooks, whatever they hold, but may hold a plain table."""


@dataclass(frozen=True)
class Source:
    """The sheets of a file: their first rows, how long they are, and a way to one sheet whole.

    `whole` returns a sheet's cells and in a sentence how they were read, "" where that goes without saying.
    """

    beginnings: Mapping[str, SheetCells]
    lengths: Mapping[str, int]
    whole: Callable[[str], tuple[SheetCells, str]]


def source(path: Path, may_be_it: Callable[[SheetCells], bool]) -> Source:
    """Return a file's sheets by its ending, `may_be_it` telling whether a beginning shows the table that is sought.

    Raises `WorkbookUnreadable`.
    """
    if path.suffix.lower() in _TEXTS:
        separated = read_separated(path)
        name = path.stem
        return Source({name: separated.beginning(LOOKED_AT)}, {name: 0}, lambda _: separated.cells())
    if path.suffix.lower() in _OPEN_DOCUMENT:
        return _open_document(path, may_be_it)
    if path.suffix.lower() in ENDINGS:
        return _read_whole(path, read_old_workbook(path), VALUES_ALONE)
    with open_package(path) as package:
        if any(area.name.casefold() in HOMES for area in package.areas()):
            raise WorkbookUnreadable("it is an input or results workbook already; hand it to check or results")
        return _workbook(path, package, decoder_of(package))


def _open_document(path: Path, may_be_it: Callable[[SheetCells], bool]) -> Source:
    sheets = read_ods(path, limits.LARGE_SHEET)
    if "" in sheets and any(map(may_be_it, sheets.values())):  # the beginning ends within a sheet
        sheets = read_ods(path)
    return _read_whole(path, sheets)


def _read_whole(path: Path, sheets: Mapping[str, SheetCells], how: str = "") -> Source:
    if sum(map(is_ours, sheets)) >= LEAST_OURS:
        kind = path.suffix.lower()
        raise WorkbookUnreadable(f"{path} is an input or results workbook that was saved as {kind}; {SAVE_AS_XLSX}")
    return Source(sheets, {name: len(cells) for name, cells in sheets.items()}, lambda name: (sheets[name], how))


def _workbook(path: Path, package: Package, decoder: Decoder) -> Source:
    parts = package.sheets()
    most = max(limits.LEAST_LOOKED_AT, limits.LARGE_SHEET // max(1, len(parts)))

    def whole(name: str) -> tuple[SheetCells, str]:
        with open_package(path) as again, again.stream(parts[name]) as stream:
            return decoder.sheet(stream), ""

    beginnings = {name: _beginning(package.beginning(part, most), decoder) for name, part in parts.items()}
    return Source(beginnings, {name: package.size(part) for name, part in parts.items()}, whole)


def _beginning(first: bytes, decoder: Decoder) -> SheetCells:
    return decoder.sheet(io.BytesIO(first), len(first))
