"""Text files with separated values: encoding, separator and decimal mark are found out from the whole file, and told."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import SheetCells, Stored
from xlsengine.workbook.reading.streams import Room
from xlsengine.workbook.reading.unit_words import plain_signs

SEPARATORS = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}
_LOOKED_AT = 200
# Digits that leave no doubt about their decimal mark: not three behind it, or a nought alone before it.
_DECIMAL = re.compile(r"[-+]?(?:\d+([.,])(?:\d{1,2}|\d{4,})|0([.,])\d+)")
_PLAIN = re.compile(r"[-+]?\d+(\.\d+)?")


@dataclass(frozen=True)
class Separated:
    """The rows of a text file as texts, and how they were told apart."""

    name: str
    rows: list[list[str]]
    encoding: str
    separator: str

    def beginning(self, rows: int) -> SheetCells:
        """Return the first rows, all as texts."""
        return _cells(self.rows[:rows], lambda cell: cell)

    def cells(self) -> tuple[SheetCells, str]:
        """Return all cells, and in a sentence how the file was read; raises `WorkbookUnreadable` for too many."""
        Room().take(len(self.rows), sum(map(len, self.rows)))
        mark = _decimal_mark((cell for row in self.rows for cell in row), self.separator)
        marks = {".": "a decimal point", ",": "a decimal comma", "": "numbers as they stand"}
        how = f"{self.encoding} text with {SEPARATORS[self.separator]} between values and {marks[mark]}"
        return _cells(self.rows, lambda cell: _value(cell, mark)), f"{self.name}: read as {how}"


def read_separated(path: Path) -> Separated:
    """Return the rows of a text file; raises `WorkbookUnreadable`."""
    try:
        with path.open("rb") as stream:
            content = stream.read(limits.LARGEST_TEXT_FILE + 1)
    except (OSError, ValueError) as error:
        raise WorkbookUnreadable(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}") from error
    if len(content) > limits.LARGEST_TEXT_FILE or (
        b"\x00" in content[:1000].replace(b"\x00\x00", b"") and not _bom(content)
    ):
        raise WorkbookUnreadable(f"{path} cannot be read: it is no text file of readings")
    text, encoding = _decoded(content)
    separator = _separator(text)
    return Separated(path.name, _rows(text, separator, path), encoding, separator)


def _cells(rows: Iterable[Sequence[str]], value: Callable[[str], Stored]) -> SheetCells:
    cells = SheetCells()
    for number, row in enumerate(rows):
        held: dict[int, Stored] = {c: value(cell) for c, cell in enumerate(row) if cell.strip()}
        if held:
            cells[number] = held
    return cells


def _bom(content: bytes) -> bool:
    return content.startswith((b"\xff\xfe", b"\xfe\xff"))


def _decoded(content: bytes) -> tuple[str, str]:
    """Return the text: by its byte order mark, else UTF-8, else the western one of old Windows programs."""
    if _bom(content):
        return content.decode("utf-16", errors="replace"), "UTF-16"
    try:
        return content.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace"), "Windows-1252"


def _separator(text: str) -> str:
    """Return the separator that cuts most lines into the same number of values, and into most of them."""
    lines = [line for line in text.splitlines()[:_LOOKED_AT] if line.strip()]
    if lines and lines[0].casefold().startswith("sep=") and lines[0][4:5] in SEPARATORS:
        return lines[0][4:5]

    def _evenness(separator: str) -> tuple[int, int]:
        counts = Counter(len(row) for row in csv.reader(lines, delimiter=separator, strict=False) if len(row) > 1)
        width, times = max(counts.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        return times, width

    csv.field_size_limit(limits.LARGEST_TEXT_FILE)
    return max(SEPARATORS, key=_evenness)


def _rows(text: str, separator: str, path: Path) -> list[list[str]]:
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as error:
        raise WorkbookUnreadable(f"{path} cannot be read: {error}") from error
    if len(rows) > limits.MOST_ROWS:
        raise WorkbookUnreadable(f"{path} cannot be read: it holds more than {limits.MOST_ROWS} lines")
    return [] if not rows else rows[1:] if rows[0] and rows[0][0].casefold().startswith("sep=") else rows


def _decimal_mark(cells: Iterable[str], separator: str) -> str:
    """Return the decimal mark that the file's numbers leave no doubt about, "" where they differ or say nothing."""
    found = (_DECIMAL.fullmatch(plain_signs(cell)) for cell in cells)
    marks = {hit[1] or hit[2] for hit in found if hit}
    if separator == ",":
        marks.discard(",")
    return marks.pop() if len(marks) == 1 else ""


def _value(cell: str, mark: str) -> Stored:
    """Return a number where the file's decimal mark leaves one reading, else the text."""
    plain = plain_signs(cell)
    if mark:
        other = "." if mark == "," else ","
        if re.fullmatch(rf"[-+]?\d{{1,3}}({re.escape(other)}\d{{3}})+({re.escape(mark)}\d+)?", plain):
            plain = plain.replace(other, "")
        elif other in plain:
            return cell
        plain = plain.replace(mark, ".")
    return float(plain) if _PLAIN.fullmatch(plain) else cell
