"""The single cells that a workbook names."""

from __future__ import annotations

import re

from xlsengine.workbook.reading.cells import column_number
from xlsengine.workbook.reading.package import Package

_CELL = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!\$([A-Z]{1,3})\$(\d{1,7})")


def named_cells(package: Package) -> dict[str, tuple[str, int, int]]:
    """Return sheet, row and column (from 0) of each single cell that the whole workbook knows by a name."""
    listed = (e for e in package.book.iter() if e.tag.endswith("}definedName"))
    found = ((e.attrib["name"], _CELL.fullmatch(e.text or "")) for e in listed if "localSheetId" not in e.attrib)
    return {
        name: ((cell[1] or cell[2]).replace("''", "'"), int(cell[4]) - 1, column_number(cell[3]))
        for name, cell in found
        if cell
    }
