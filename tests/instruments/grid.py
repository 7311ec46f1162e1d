"""Rows, columns and rectangles of a sheet, counted from 1."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

# The grid of .xlsx: ECMA-376 Part 1, 18.3.1.73 (rows) and 18.3.1.13 (columns), as Excel enforces it.
LAST_ROW = 1_048_576
LAST_COLUMN = 16_384

_CORNER = re.compile(r"\$?([A-Z]{1,3})?\$?([1-9]\d*)?")


@cache
def column_number(letters: str) -> int:
    """Return the number of a column: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


@cache
def column_letters(number: int) -> str:
    """Return the letters of a column: 1 is A, 27 is AA."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def cell_name(row: int, column: int) -> str:
    """Return the A1 name of a cell."""
    return f"{column_letters(column)}{row}"


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of cells, both corners included."""

    top: int
    left: int
    bottom: int
    right: int

    @classmethod
    @cache
    def parse(cls, text: str) -> Area:
        """Read ``B2``, ``$B$2:C9``, ``B:C`` or ``2:9``; ValueError says why a text is none of these."""
        first, colon, last = text.partition(":")
        column, row = _corner(first, text)
        other_column, other_row = _corner(last, text) if colon else (column, row)
        if (column is None, row is None) != (other_column is None, other_row is None):
            raise ValueError(f"{text} is no range")
        if not colon and (column is None or row is None):
            raise ValueError(f"{text} is no cell")
        area = cls(row or 1, column or 1, other_row or LAST_ROW, other_column or LAST_COLUMN)
        if area.bottom > LAST_ROW or area.right > LAST_COLUMN:
            raise ValueError(f"{text} lies outside the grid")
        if area.top > area.bottom or area.left > area.right:
            raise ValueError(f"{text} runs backwards")
        return area

    @property
    def rows(self) -> int:
        """Return the number of rows."""
        return self.bottom - self.top + 1

    @property
    def columns(self) -> int:
        """Return the number of columns."""
        return self.right - self.left + 1

    @property
    def is_one_cell(self) -> bool:
        """Return whether the rectangle is a single cell."""
        return self.rows == self.columns == 1

    def contains(self, row: int, column: int) -> bool:
        """Return whether a cell lies inside."""
        return self.top <= row <= self.bottom and self.left <= column <= self.right

    def overlaps(self, other: Area) -> bool:
        """Return whether two rectangles share a cell."""
        return (
            self.top <= other.bottom
            and other.top <= self.bottom
            and self.left <= other.right
            and other.left <= self.right
        )

    def cells(self) -> list[tuple[int, int]]:
        """Return every (row, column), row by row."""
        columns = range(self.left, self.right + 1)
        return [(row, column) for row in range(self.top, self.bottom + 1) for column in columns]

    def __str__(self) -> str:
        first, last = cell_name(self.top, self.left), cell_name(self.bottom, self.right)
        return first if self.is_one_cell else f"{first}:{last}"


def _corner(text: str, whole: str) -> tuple[int | None, int | None]:
    match = _CORNER.fullmatch(text)
    if match is None or not any(match.groups()):
        raise ValueError(f"{whole} is no cell or range")
    letters, digits = match.groups()
    return column_number(letters) if letters else None, int(digits) if digits else None
