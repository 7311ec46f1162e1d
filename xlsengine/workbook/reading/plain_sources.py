"""Files that a plain table may stand in: the cells of their sheets, whatever kind of file it is."""

from collections.abc import Collection
from pathlib import Path

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import SheetCells
from xlsengine.workbook.reading.contents import decoder_of
from xlsengine.workbook.reading.foreign_cells import foreign_cells
from xlsengine.workbook.reading.foreign_files import SAVE_AS
from xlsengine.workbook.reading.gate import Scales
from xlsengine.workbook.reading.package import open_package, refuse_what_is_no_file, telling
from xlsengine.workbook.reading.reader import HOMES, LEAST_OURS, is_ours
from xlsengine.workbook.reading.separated_values import read_separated
from xlsengine.workbook.reading.typed_values import shown

_TEXTS, _FOREIGN = (".csv", ".tsv", ".txt"), (".xls", ".xlsb", ".ods", ".ots")
TABLES_ALONE = (*_TEXTS, *_FOREIGN)
"""Endings of files that are no input workbooks, whatever they hold, but may hold a plain table."""
VALUES_ALONE = (
    "values alone were read: a cell that shows 50% holds 0.5, and one with an error, or merged into another, is blank; look "
    "at these, or save the table as .xlsx, of which all is read"
)
_SAVE_AS_XLSX = "open it in a spreadsheet program, save it as .xlsx, and hand that to check or results"
_MOST_SECONDS, _MOST_PROCESSOR, _MOST_MEMORY = 30.0, 20, 1024 * limits.MEBIBYTE


def sheets_of(path: Path, sheet: str = "") -> tuple[dict[str, SheetCells], str]:
    """Return the cells of a file's sheets by their names, or of the one that is asked for, and how they were read.

    That is a sentence, "" where it goes without saying. Raises `WorkbookUnreadable`, also where there is no such sheet.
    """
    kind = path.suffix.lower()
    if kind not in TABLES_ALONE:
        return _of_workbook(path, sheet), ""
    if kind in _TEXTS:
        cells, how = read_separated(path)
        sheets = {path.stem: cells}
    else:
        sheets, how = read_foreign(path), VALUES_ALONE
    if sum(map(is_ours, sheets)) >= LEAST_OURS:
        raise WorkbookUnreadable(f"{path} is an input or results workbook that was saved as {kind}; {_SAVE_AS_XLSX}")
    return {name: sheets[name] for name in _wanted(path, sheet, sheets)}, how


def _wanted(path: Path, sheet: str, names: Collection[str]) -> list[str]:
    if sheet and sheet not in names:
        raise WorkbookUnreadable(f'{path} holds no sheet "{sheet}"; it holds {", ".join(map(shown, names))}')
    return [sheet] if sheet else list(names)


def _of_workbook(path: Path, sheet: str) -> dict[str, SheetCells]:
    with open_package(path) as package:
        if any(area.name.casefold() in HOMES for area in package.areas()):
            raise WorkbookUnreadable("it is an input or results workbook already; hand it to check or results")
        parts, decoder = package.sheets(), decoder_of(package)
        names = _wanted(path, sheet, parts)
        package.weigh((parts[name] for name in names), Scales(limits.SHEETS))
        return {name: package.cells(parts[name], decoder) for name in names}


def read_foreign(path: Path) -> dict[str, SheetCells]:
    """Return the cells of every sheet by its name, read in a child process; raises `WorkbookUnreadable`."""
    from xlsengine.child import Child, Ended  # here, because a workbook needs no process of its own

    child = Child(_MOST_MEMORY, _MOST_PROCESSOR)
    with telling(path):
        refuse_what_is_no_file(path)
        if path.stat().st_size > limits.LARGEST_FILE:
            raise WorkbookUnreadable(f"it is larger than {limits.LARGEST_FILE // limits.MEBIBYTE} MiB")
        try:
            found = child.do(_MOST_SECONDS, foreign_cells, str(path.resolve()))
        except (Ended, TimeoutError, MemoryError) as error:
            raise WorkbookUnreadable(f"it is damaged or far too large; {SAVE_AS}") from error
        finally:
            child.stop()
    return {name: SheetCells(rows) for name, rows in found.items()}
