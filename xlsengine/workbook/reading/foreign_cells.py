"""Cells of workbooks that are no .xlsx, by python-calamine: for a process that may crash, hang or fill memory."""

import datetime

from python_calamine import CalamineError, CalamineWorkbook, PasswordError

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.gate import SAVE_AS

Value = str | float | bool | datetime.datetime
Rows = dict[int, dict[int, Value]]


def foreign_cells(path: str) -> dict[str, Rows]:
    """Return what stands in every sheet by row and column; raises `WorkbookUnreadable` for what is none, or too much."""
    try:
        book = CalamineWorkbook.from_path(path)
        sheets = {name: _filled(book, name) for name in book.sheet_names}
    except PasswordError:
        raise WorkbookUnreadable("it is protected by a password; remove the password and save it again") from None
    except CalamineError as error:
        raise WorkbookUnreadable(f"it is damaged, or no workbook of its kind; {SAVE_AS}") from error
    rows = [row for sheet in sheets.values() for row in sheet.values()]
    if len(rows) > limits.MOST_ROWS + limits.MOST_OTHER_ROWS or sum(map(len, rows)) > limits.MOST_CELLS:
        raise WorkbookUnreadable(f"it holds more than {limits.MOST_ROWS} rows, or {limits.MOST_CELLS} cells")
    return sheets


def _filled(book: CalamineWorkbook, sheet: str) -> Rows:
    cells = enumerate(book.get_sheet_by_name(sheet).to_python(skip_empty_area=False))
    rows = {number: {place: _plain(value) for place, value in enumerate(row) if value != ""} for number, row in cells}
    return {number: row for number, row in rows.items() if row}


def _plain(value: object) -> Value:
    match value:
        case bool() | str():
            return value
        case int() | float():
            return float(value)
        case datetime.date():
            return datetime.datetime.fromisoformat(value.isoformat())
    return str(value)
