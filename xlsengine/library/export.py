"""A library's figures as comma-separated text, which spreadsheet programs and pandas read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from xlsengine.library.store import Library
from xlsengine.workbook.output import whole_file

if TYPE_CHECKING:
    import pandas as pd

TESTS, PROPELLERS, READINGS = "tests", "propellers", "readings"
PARTS = (TESTS, PROPELLERS, READINGS)
_COMMANDING = ("=", "+", "-", "@", "\t", "\r")


def export(library: Library, path: Path, part: str = TESTS, overwrite: bool = False) -> int:
    """Write one part of a library, a row each under the names of the kept figures; returns how many rows that were.

    Rows of propellers and readings say the number and id of their test. A text that a spreadsheet program would take for a
    formula gets an apostrophe before it. Raises `OutputRefused` and `LibraryError`.
    """
    rows = _part(library, part)
    for name in rows.select_dtypes(exclude="number"):
        rows[name] = [
            f"'{text}" if isinstance(text, str) and text.startswith(_COMMANDING) else text for text in rows[name]
        ]
    with whole_file(path, overwrite) as unfinished:
        rows.to_csv(unfinished, index=False, encoding="utf-8-sig", lineterminator="\r\n")
    return len(rows)


def _part(library: Library, part: str) -> pd.DataFrame:
    if part == TESTS:
        return library.tests()
    rows = library.groups() if part == PROPELLERS else library.steps()
    named = library.tests(["test_id", "model"]).rename(columns={"id": "test"})[["test", "test_id", "model"]]
    return named.merge(rows, on="test", how="right")
