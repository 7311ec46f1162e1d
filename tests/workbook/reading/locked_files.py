"""Workbooks under a real password, made by LibreOffice Calc."""

from __future__ import annotations

from pathlib import Path

from tests.instruments.office_edit import EXCEL, Work, do_in_libreoffice

FILTERS = {".xlsx": EXCEL, ".ods": "calc8"}


def locked(path: Path, target: Path) -> Path:
    """Save a workbook under a password, as the kind that the target's ending says."""
    kind = FILTERS[target.suffix]
    do_in_libreoffice([Work(str(path.resolve()), str(target.resolve()), filter=kind, secret="secret")])
    return target
