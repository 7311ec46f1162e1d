"""What lies in a folder, and which of it is a person's work: not what hides, locks, or was kept or written by us."""

from __future__ import annotations

from pathlib import Path

from xlsengine.errors import XlsEngineError
from xlsengine.workbook.output import before_name
from xlsengine.workbook.reading.kinds import Kind, kind_of

_HIDING = (".", "~$")  # hidden files and unfinished outputs; lock files of Excel, and of LibreOffice: .~lock.NAME#
_KEPT = before_name(Path("x.xlsx")).stem.removeprefix("x")


def may_be_work(path: Path) -> bool:
    """Tell by its name whether a file may be a workbook that somebody works on."""
    return path.suffix.lower() == ".xlsx" and not path.name.startswith(_HIDING) and not path.stem.endswith(_KEPT)


def is_left_alone(path: Path) -> bool:
    """Tell whether a workbook is none of ours, or results as we wrote them; one that cannot be read is not."""
    try:
        return kind_of(path) in (Kind.TABLE, Kind.RESULTS)
    except XlsEngineError:
        return False


def workbooks_in(folder: Path) -> list[Path]:
    """Return the input workbooks and the results that were saved since, in a folder but not below it, by name."""
    return sorted(path for path in folder.iterdir() if may_be_work(path) and path.is_file() and not is_left_alone(path))
