"""Cells of workbooks that are no .xlsx, by python-calamine: for a process that may crash, hang or fill memory."""

import datetime

from python_calamine import CalamineError, CalamineWorkbook, PasswordError

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading.foreign_files import SAVE_AS
from xlsengine.workbook.reading.streams import Room

Value = str | float | bool | datetime.datetime


def foreign_cells(path: str) -> dict[str, dict[int, dict[int, Value]]]:
    """Return what stands in every sheet by row and column; raises `WorkbookUnreadable` for what is none, or too much."""
    try:
        book, room = CalamineWorkbook.from_path(path), Room()
        return {name: _filled(book, name, room) for name in book.sheet_names}
    except PasswordError:
        raise WorkbookUnreadable("it is protected by a password; remove the password and save it again") from None
    except CalamineError as error:
        raise WorkbookUnreadable(f"it is damaged, or no workbook of its kind; {SAVE_AS}") from error


def _filled(book: CalamineWorkbook, sheet: str, room: Room) -> dict[int, dict[int, Value]]:
    rows = {}
    for number, row in enumerate(book.get_sheet_by_name(sheet).to_python(skip_empty_area=False)):
        filled = {column: _plain(value) for column, value in enumerate(row) if value != ""}
        if filled:
            room.take(1, len(filled))
            rows[number] = filled
    return rows


def _plain(value: object) -> Value:
    match value:
        case bool() | str():
            return value
        case int() | float():
            return float(value)
        case datetime.date():
            return datetime.datetime.fromisoformat(value.isoformat())
    return str(value)
