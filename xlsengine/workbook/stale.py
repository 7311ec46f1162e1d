"""The line on every sheet whose figures rest on comparisons between readings that were made before a reading changed."""

from __future__ import annotations

from collections.abc import Mapping

from xlsengine.bench.fingerprint import checks_stale
from xlsengine.expression import Node
from xlsengine.workbook.book import Book
from xlsengine.workbook.formats import VERMILION

WORDS = "OUT OF DATE: readings changed after they were compared with each other; make the results again."
CELLS: dict[str, tuple[int, int]] = {
    "Report": (4, 0), "Readings": (3, 0), "Summary": (2, 2), "ESC": (2, 0), "Prediction": (2, 35), "Motor figures": (2, 0),
    "Speed figures": (4, 0), "Propellers": (2, 11), "Uncertainty": (2, 0),
    "Repeatability": (5, 13), "Charts": (2, 0), "Craft": (3, 0),
}  # fmt: skip
"""Row and column of the line, from 0: a cell that each sheet leaves free below its title."""


def notice() -> Node:
    """Return the line; nothing while the comparisons belong to the readings."""
    return (checks_stale > 0).where(WORDS, "")


def write_stale(book: Book, more: Mapping[str, tuple[int, int]] | None = None) -> None:
    """Write the line on each of the sheets, and on those that not every workbook has."""
    form = book.formats.get(bold=True, font_size=11, font_color=VERMILION)
    for name, (row, column) in {**CELLS, **(more or {})}.items():
        book.sheet(name).live(row, column, notice(), form)
