"""How large a workbook may be, in one place; ten thousand readings with all their results stay within."""

from __future__ import annotations

MEBIBYTE = 2**20
LARGEST_FILE = 64 * MEBIBYTE
LARGEST_UNPACKED = 1024 * MEBIBYTE
LARGEST_RATIO, RATIO_COUNTS_FROM = 200, 50 * MEBIBYTE
MOST_PARTS = 2000
LARGEST_DIRECTORY = MEBIBYTE
LARGEST_PART = 256 * MEBIBYTE  # of a part that is read row by row
MOST_ELEMENTS = 4_000_000
LARGEST_WHOLE_PART, MOST_WHOLE_ELEMENTS = 16 * MEBIBYTE, 300_000  # of a part that is read in one go
LOOKED_OVER_FROM = 4 * MEBIBYTE  # larger parts are looked at from end to end before they are read
LARGEST_ELEMENT = MEBIBYTE  # bytes from the start of one element to that of the next
MOST_IN_A_ROW = 100_000  # elements
MOST_ROWS = 100_000  # of a sheet, and only those that hold something
MOST_SHEETS, MOST_TABLES = 300, 300
MOST_MERGED = 20_000
MOST_FAULTS = 2000  # listed one by one; further ones are counted
LARGEST_TEXT_FILE = 16 * MEBIBYTE
