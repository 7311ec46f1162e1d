"""How large a workbook may be, in one place, from what a bench test needs.

A hundred thousand readings as typed and ten thousand with all their results stay within. What goes beyond is refused
by counting bytes, at a fraction of what reading it would cost. What stays within costs what its rows explain: a fault
in the last of a hundred thousand honest rows is found when they have been read.
"""

from typing import NamedTuple

MEBIBYTE = 2**20
LARGEST_FILE = 64 * MEBIBYTE
LARGEST_UNPACKED = 1024 * MEBIBYTE
LARGEST_RATIO, RATIO_COUNTS_FROM = 200, 50 * MEBIBYTE
MOST_PARTS = 2000
LARGEST_ELEMENT = MEBIBYTE // 4  # bytes from the start of one element to that of the next
DEEPEST = 100  # elements inside each other
TOO_MUCH = "a row or another piece of it holds more than a bench test can"
LARGEST_TEXTS = 32 * MEBIBYTE  # of all cells of a workbook together
MOST_ROWS = 100_000  # of readings
MOST_OTHER_ROWS = 5_000  # titles, forms, spare rows and all other tables together
MOST_CELLS = 2_000_000  # of what is no workbook
MOST_COLUMNS = 1_000  # of a table
MOST_LOOKED_AT = 20_000  # cells of a sheet among which a row of headers is sought
WIDEST_LINE = 20_000  # separators in a line of text: a spreadsheet program writes some 16,000 behind a short row
MOST_SHEETS, MOST_TABLES, MOST_TABLES_OF_A_SHEET = 300, 300, 40
MOST_MERGED = 20_000
MOST_HIDDEN = 16_384  # columns of a sheet, each said to be hidden by itself
MOST_FAULTS = 2000  # of a workbook; the row in which there are more ends the reading of its table
LARGEST_TEXT_FILE = 16 * MEBIBYTE
LOOKED_INTO = 16 * 1024  # bytes of a sheet that is not ours, to see whether anything stands on it


class Load(NamedTuple):
    """What parts may weigh together: bytes, tags, attributes (with signs written as numbers), and rows."""

    size: int
    tags: int
    attributes: int
    rows: int


MOST_WITH_RESULTS = 10_000  # readings, of a results workbook that is surely small enough to come back
_ALL_ROWS = MOST_ROWS + MOST_OTHER_ROWS
SHEETS = Load(256 * MEBIBYTE, 8_000_000, 6_500_000, _ALL_ROWS)
"""Sheets that are read; ten thousand readings with their results weigh 210 MiB."""
STRINGS = Load(64 * MEBIBYTE, 2_400_000, 2_400_000, _ALL_ROWS)
"""The texts that cells share, some 600,000 of them."""
WHOLE_PARTS = Load(16 * MEBIBYTE, 800_000, 1_600_000, _ALL_ROWS)
"""All parts that are read in one go, such as styles, relations and notes."""
