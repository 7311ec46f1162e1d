"""Cells of an OpenDocument spreadsheet, by the standard library alone: it passes the same gate as every workbook.

Elements and attributes are those of OpenDocument 1.2, part 1, chapters 9 and 19.
"""

import datetime
import re
from pathlib import Path
from typing import IO
from xml.etree.ElementTree import Element

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import ErrorValue, Formula, Found, Percent, Rectangle, SheetCells, Stored
from xlsengine.workbook.reading.package import open_archive, opened
from xlsengine.workbook.reading.streams import Room, pieces

_LAST_COLUMN = 16384
_DURATION = re.compile(r"PT(\d+)H(\d+)M(\d+(?:\.\d+)?)S")


def read_ods(path: Path, first: int | None = None) -> dict[str, SheetCells]:
    """Return the sheets of an OpenDocument spreadsheet, or what stands in its `first` bytes.

    Raises `WorkbookUnreadable` for what is none.
    """
    with open_archive(path) as archive:
        if "content.xml" not in archive.NameToInfo:
            raise WorkbookUnreadable("it is a zip archive without a spreadsheet inside")
        manifest = "META-INF/manifest.xml"
        if manifest in archive.NameToInfo and b"encryption-data" in archive.read(manifest):
            raise WorkbookUnreadable("it is protected by a password; remove the password and save it again")
        with opened(archive, "content.xml") as stream:
            return _sheets(stream, first)


def _sheets(content: IO[bytes], first: int | None) -> dict[str, SheetCells]:
    """Return the cells of every sheet; a sheet's name is known when it ends, and the last of a beginning has none."""
    sheets: dict[str, SheetCells] = {}
    cells, number = SheetCells(), 0
    room = Room()
    for tag, element in pieces(content, ("table-row", "table"), first=first):
        if tag == "table-row":
            number = _take_row(element, number, cells, room)
        else:
            sheets.setdefault(_attribute(element, "name") or f"Sheet {len(sheets) + 1}", cells)
            cells, number = SheetCells(), 0
    return {**sheets, "": cells} if cells else sheets


def _take_row(element: Element, number: int, cells: SheetCells, room: Room) -> int:
    """Keep a row, as often as it is repeated; returns the number of the next."""
    times = _times(element, "number-rows-repeated")
    row = _row(element, number, cells)
    if row:
        room.take(times, times * len(row))
        for place in range(number, number + times):
            cells[place] = dict(row)
            if _attribute(element, "visibility") in ("collapse", "filter"):
                cells.hidden_rows.add(place)
    return number + times


def _row(element: Element, number: int, cells: SheetCells) -> dict[int, Stored]:
    row: dict[int, Stored] = {}
    column = 0
    for cell in element:
        times = _times(cell, "number-columns-repeated")
        value = _stored(cell) if cell.tag.endswith("}table-cell") else None
        if value is not None:
            row.update(dict.fromkeys(range(column, min(column + times, _LAST_COLUMN)), value))
            down, across = (_times(cell, f"number-{way}-spanned") for way in ("rows", "columns"))
            if down * across > 1 and len(cells.merged) < limits.MOST_MERGED:
                cells.merged.append(Rectangle(number, column, number + down - 1, column + across - 1))
        column += times
    return row


def _times(element: Element, name: str) -> int:
    """Return how often something is repeated; raises ValueError for less than once."""
    times = int(_attribute(element, name) or 1)
    if times < 1:
        raise ValueError(f"repeated {times} times")
    return times


def _stored(cell: Element) -> Stored:
    value = _value(cell)
    return Formula(value) if value is not None and _attribute(cell, "formula") else value


def _value(cell: Element) -> Found:
    text = "\n".join("".join(part.itertext()) for part in cell if part.tag.endswith("}p"))
    match _attribute(cell, "value-type"):
        case "float" | "currency":
            return ErrorValue(text) if text.startswith("#") else _number(_attribute(cell, "value"), text)
        case "percentage":
            share = _number(_attribute(cell, "value"), text)
            return Percent(share) if isinstance(share, float) else share
        case "date":
            return _moment(_attribute(cell, "date-value"), text)
        case "time":
            return _time(_attribute(cell, "time-value"), text)
        case "boolean":
            return _attribute(cell, "boolean-value") == "true"
    return ErrorValue(text) if text.startswith(("#", "Err:")) and _attribute(cell, "formula") else text or None


def _number(value: str, text: str) -> float | str | None:
    """Return a number; what the cell shows where it is none, so that its cell can be named."""
    try:
        return float(value)
    except ValueError:
        return text or value or None


def _moment(value: str, text: str) -> Found:
    """Return a day; what the cell shows where there is no such day, so that its cell can be named."""
    try:
        return datetime.datetime.fromisoformat(value).replace(tzinfo=None)
    except ValueError:
        return text or value or None


def _time(duration: str, text: str) -> Found:
    parts = _DURATION.fullmatch(duration)
    if not parts or int(parts[1]) > 23:
        return text or None
    return datetime.time(int(parts[1]), int(parts[2]), int(float(parts[3])))


def _attribute(element: Element, name: str) -> str:
    return next((value for key, value in element.attrib.items() if key.rpartition("}")[2] == name), "")
