"""What a file is that somebody hands over: an input, results as they were written or saved since, or a plain table."""

from enum import StrEnum
from pathlib import Path

from xlsengine.workbook.layout import APP_VERSION, AUTHOR, FIXED_DATE, HASH_PROPERTY, SCHEMA_PROPERTY, SHEETS
from xlsengine.workbook.reading.contents import refuse_other_work
from xlsengine.workbook.reading.findings import key
from xlsengine.workbook.reading.package import Package, open_package
from xlsengine.workbook.reading.plain_sources import TABLES_ALONE
from xlsengine.workbook.reading.reader import HOMES, LEAST_OURS


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
        if HASH_PROPERTY in package.custom_properties():
            return Kind.RESULTS if _is_as_written(package) else Kind.RETURNED
        refuse_other_work(package.areas(), HOMES)
        return Kind.INPUT if _is_ours(package) else Kind.TABLE


def _is_ours(package: Package) -> bool:
    if SCHEMA_PROPERTY in package.custom_properties():
        return True
    if any(area.name.casefold() in HOMES for area in package.areas()):
        return True
    return len({key(name) for name in package.sheets()} & {key(name) for name in SHEETS}) >= LEAST_OURS


def _is_as_written(package: Package) -> bool:
    """Tell whether no program has saved it since: each puts its own date, user or version."""
    modified, by, version = package.last_saved()
    return (modified[:10], by, version) == (f"{FIXED_DATE:%Y-%m-%d}", AUTHOR, APP_VERSION)
