"""The child process in which an old workbook of a stranger is opened: it may crash, hang or fill memory, and harms nothing.

Run as ``python -m``, with a path: prints one JSON object, rows of cells by sheet, dates as ``{"date": "2026-05-31"}``.
"""

import datetime
import json
import sys

from python_calamine import CalamineWorkbook

from xlsengine.workbook.reading.limits import MEBIBYTE

MOST_MEMORY, MOST_SECONDS = 1024 * MEBIBYTE, 20


def _within_limits() -> None:
    try:
        import resource
    except ImportError:  # Windows: there the parent's limit of time is the only one
        return
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))


def _plain(value: object) -> object:
    if isinstance(value, datetime.datetime | datetime.date):
        return {"date": value.isoformat()}
    return value if isinstance(value, bool | int | float | str) else str(value)


def main(path: str) -> None:
    """Print the cells of all worksheets of the file at `path`."""
    _within_limits()
    book = CalamineWorkbook.from_path(path)
    sheets = {
        name: [
            [_plain(value) for value in row] for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        ]
        for name in book.sheet_names
    }
    json.dump(sheets, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1])
