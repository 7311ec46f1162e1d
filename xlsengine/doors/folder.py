"""What lies in a folder, and which of it is a person's work: not what hides, locks, or was kept or written by us."""

from pathlib import Path

from xlsengine.errors import XlsEngineError
from xlsengine.workbook.output import is_somebodys
from xlsengine.workbook.reading.kinds import Kind, kind_of

_TABLES = (".csv", ".tsv", ".ods")  # not .txt: most texts are letters, or the faults that a watched folder gets


def may_be_work(path: Path) -> bool:
    """Tell by its name whether a file may be a workbook that somebody works on."""
    return path.suffix.lower() == ".xlsx" and is_somebodys(path)


def is_left_alone(path: Path) -> bool:
    """Tell whether a workbook is none of ours, or results as we wrote them; one that cannot be read is not."""
    try:
        return kind_of(path) in (Kind.TABLE, Kind.RESULTS)
    except XlsEngineError:
        return False


def workbooks_in(folder: Path) -> list[Path]:
    """Return the input workbooks and the results that were saved since, in a folder but not below it, by name."""
    return sorted(path for path in folder.iterdir() if may_be_work(path) and path.is_file() and not is_left_alone(path))


def tables_in(folder: Path) -> list[Path]:
    """Return the plain tables in a folder, by name, which are taken in one by one: a folder holds all sorts of them."""
    return sorted(path for path in folder.iterdir() if is_somebodys(path) and path.is_file() and _is_table(path))


def _is_table(path: Path) -> bool:
    try:
        return path.suffix.lower() in _TABLES or (path.suffix.lower() == ".xlsx" and kind_of(path) is Kind.TABLE)
    except XlsEngineError:
        return False
