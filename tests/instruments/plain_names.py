"""A copy of a workbook whose formulas speak of cells where they spoke of their names."""

import re
import zipfile
from pathlib import Path

_NAME = re.compile(rb'<definedName name="([^"]+)">((?:\w+|\'[^\']+\')!\$[A-Z]+\$\d+)</definedName>')
_FORMULA = re.compile(rb"(?<=<f>).*?(?=</f>)", re.DOTALL)
_PIECE = re.compile(rb'"[^"]*"|\'[^\']*\'|\[[^\]]*\]|[A-Za-z_\\][\w.\\]*(?![\w.(!])')
"""Texts, sheets in quotation marks, headers in brackets, and words."""


def without_names(path: Path, target: Path) -> Path:
    """Write `path` to `target` with each name of a single cell replaced by the cell, and return `target`.

    A name that is written in other capitals, that a sheet has of its own, or that means more, stays.
    """
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as copy:
        cells = dict(_NAME.findall(source.read("xl/workbook.xml")))
        if not cells:
            return path

        def spelt(formula: re.Match[bytes]) -> bytes:
            return _PIECE.sub(lambda piece: cells.get(piece[0], piece[0]), formula[0])

        for part in source.namelist():
            content = source.read(part)
            copy.writestr(part, _FORMULA.sub(spelt, content) if part.startswith("xl/worksheets/sheet") else content)
    return target
