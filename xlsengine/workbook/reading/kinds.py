"""What a file is that somebody hands over: an input, results as they were written or saved since, or a plain table.

And the cells of its sheets, whatever kind of file a plain table stands in.
"""

from collections.abc import Collection
from enum import StrEnum
from pathlib import Path

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.layout import APP_VERSION, AUTHOR, FIXED_DATE, HASH_PROPERTY, SCHEMA_PROPERTY
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import SheetCells
from xlsengine.workbook.reading.contents import decoder_of, refuse_other_work
from xlsengine.workbook.reading.foreign_cells import foreign_cells
from xlsengine.workbook.reading.gate import SAVE_AS, Scales
from xlsengine.workbook.reading.package import Package, open_package, refuse_what_is_no_file, telling
from xlsengine.workbook.reading.reader import HOMES, is_ours
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
_LEAST_OURS = 3
_MOST_SECONDS, _MOST_PROCESSOR, _MOST_MEMORY = 30.0, 20, 1024 * limits.MEBIBYTE


class Kind(StrEnum):
    """What a file is; RESULTS nobody has saved since they were written, RETURNED somebody has."""

    INPUT = "input workbook"
    RESULTS = "results workbook"
    RETURNED = "results workbook that was saved since"
    TABLE = "plain table"


def kind_of(path: Path) -> Kind:
    """Tell what a file is. Raises `WorkbookUnreadable` where it is no text by its ending and no workbook either."""
    if path.suffix.lower() in TABLES_ALONE:
        return Kind.TABLE
    with open_package(path) as package:
        if HASH_PROPERTY in package.custom_properties:
            return Kind.RESULTS if _is_as_written(package) else Kind.RETURNED
        refuse_other_work(package.areas, HOMES)
        return Kind.INPUT if _is_ours(package) else Kind.TABLE


def _is_ours(package: Package) -> bool:
    if SCHEMA_PROPERTY in package.custom_properties:
        return True
    if any(area.name.casefold() in HOMES for area in package.areas):
        return True
    return _are_ours(package.sheets())


def _are_ours(sheets: Collection[str]) -> bool:
    """Tell whether so many sheets have names of ours that the workbook is: people call one of theirs Motor or Readings."""
    return sum(map(is_ours, sheets)) >= _LEAST_OURS


def _is_as_written(package: Package) -> bool:
    """Tell whether no program has saved it since: each puts its own date, user or version."""
    modified, by, version = package.last_saved()
    return (modified[:10], by, version) == (f"{FIXED_DATE:%Y-%m-%d}", AUTHOR, APP_VERSION)


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
    if _are_ours(sheets):
        raise WorkbookUnreadable(f"{path} is an input or results workbook that was saved as {kind}; {_SAVE_AS_XLSX}")
    return {name: sheets[name] for name in _wanted(path, sheet, sheets)}, how


def _wanted(path: Path, sheet: str, names: Collection[str]) -> list[str]:
    if sheet and sheet not in names:
        raise WorkbookUnreadable(f'{path} holds no sheet "{sheet}"; it holds {", ".join(map(shown, names))}')
    return [sheet] if sheet else list(names)


def _of_workbook(path: Path, sheet: str) -> dict[str, SheetCells]:
    with open_package(path) as package:
        if any(area.name.casefold() in HOMES for area in package.areas):
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
