"""Text files with separated values: encoding, separator and decimal mark are found out from the whole file, and told."""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path

from xlsengine.errors import Fault, Reason, WorkbookFaulty, WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import SheetCells, Stored
from xlsengine.workbook.reading.package import refuse_what_is_no_file, telling
from xlsengine.workbook.reading.trade_words import plain_signs

SEPARATORS = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}
_MARKS = {".": "a decimal point", ",": "a decimal comma", "": "numbers as they stand"}
_LOOKED_AT = 200
# Digits that leave no doubt about their decimal mark: not three behind it, or a nought alone before it.
_DECIMAL = re.compile(r"[-+]?(?:\d+([.,])(?:\d{1,2}|\d{4,})|0([.,])\d+)")
_PLAIN = re.compile(r"[-+]?\d+(\.\d+)?")
_FIGURE = re.compile(r"\s*[-+]?\d+([.,]\d+)?\s*")
_LEAST_VALUES, _LEAST_FIGURES = 4, 2  # that make a line within a cell look like a row of the table
_END = "the end of the text"


def read_separated(path: Path) -> tuple[SheetCells, str]:
    """Return the cells of a text file, and in a sentence how it was read.

    Raises `WorkbookUnreadable` for other files and for too large ones, and `WorkbookFaulty` where a quotation mark that
    is not closed would swallow rows.
    """
    with telling(path):
        refuse_what_is_no_file(path)
        with path.open("rb") as stream:
            content = stream.read(limits.LARGEST_TEXT_FILE + 1)
        if len(content) > limits.LARGEST_TEXT_FILE:
            most = limits.LARGEST_TEXT_FILE // limits.MEBIBYTE
            raise WorkbookUnreadable(f"it is larger than {most} MiB, far more than a bench test needs")
        if b"\x00" in content[:1000].replace(b"\x00\x00", b"") and not _bom(content):
            raise WorkbookUnreadable("it is no text file of readings")
        text, encoding = _decoded(content)
        _refuse_many_lines(text)
        try:
            separator = _separator(text)
            rows = _rows(text, separator, path)
        except csv.Error as error:
            raise WorkbookUnreadable(str(error)) from error
    mark = _decimal_mark((cell for row in rows for cell in row), separator)
    how = f"{encoding} text with {SEPARATORS[separator]} between values and {_MARKS[mark]}"
    return _cells(rows, mark), f"{path.name}: read as {how}"


def _cells(rows: Iterable[Sequence[str]], mark: str) -> SheetCells:
    cells = SheetCells()
    for number, row in enumerate(rows):
        held: dict[int, Stored] = {c: _value(cell, mark) for c, cell in enumerate(row) if cell.strip()}
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
    lines = [line[: limits.LOOKED_INTO] for line in text.splitlines()[:_LOOKED_AT] if line.strip()]
    if lines and lines[0].casefold().startswith("sep=") and lines[0][4:5] in SEPARATORS:
        return lines[0][4:5]

    def _evenness(separator: str) -> tuple[int, int]:
        counts = Counter(len(row) for row in csv.reader(lines, delimiter=separator, strict=False) if len(row) > 1)
        width, times = max(counts.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        return times, width

    csv.field_size_limit(limits.LARGEST_TEXT_FILE)
    return max(SEPARATORS, key=_evenness)


def _refuse_many_lines(text: str) -> None:
    if max(text.count("\n"), text.count("\r")) > limits.MOST_ROWS + limits.MOST_OTHER_ROWS:
        raise WorkbookUnreadable(f"it holds more than {limits.MOST_ROWS} lines")


def _rows(text: str, separator: str, path: Path) -> list[list[str]]:
    """Return the rows as texts; widths are counted before anything is cut up."""
    widest = max((line.count(separator) for line in io.StringIO(text, newline="")), default=0)
    if widest >= limits.WIDEST_LINE or text.count(separator) > limits.MOST_CELLS:
        raise WorkbookUnreadable(f"a line of it holds more than {limits.MOST_COLUMNS} values")
    rows = list(_whole_rows(text, separator, path))
    if any(cell.strip() for row in rows for cell in row[limits.MOST_COLUMNS :]):
        raise WorkbookUnreadable(f"a line of it holds more than {limits.MOST_COLUMNS} values")
    return [] if not rows else rows[1:] if rows[0] and rows[0][0].casefold().startswith("sep=") else rows


def _whole_rows(text: str, separator: str, path: Path) -> Iterator[list[str]]:
    """Yield the rows; raises `WorkbookFaulty` where a quotation mark swallows what follows it.

    A line of our own behind the last one is swallowed too where a mark is never closed.
    """
    reader = csv.reader(chain(io.StringIO(text, newline=""), (_END,)), delimiter=separator)
    begun = 0
    for row in reader:
        lines = reader.line_num - begun
        if row == [_END] and lines == 1:
            return
        swallowed = next((cell for cell in row if lines > 1 and _swallows(cell, separator)), None)
        if swallowed is not None:
            raise WorkbookFaulty([_not_closed(path, begun + 1, swallowed)])
        begun = reader.line_num
        yield row


def _swallows(cell: str, separator: str) -> bool:
    """Tell whether a cell of several lines ends with the text, or holds a line that looks like a row of the table."""
    return cell.endswith(_END) or any(_looks_like_row(line, separator) for line in cell.splitlines()[1:])


def _looks_like_row(line: str, separator: str) -> bool:
    values = line.split(separator)
    return len(values) >= _LEAST_VALUES and sum(map(bool, map(_FIGURE.fullmatch, values))) >= _LEAST_FIGURES


def _not_closed(path: Path, line: int, cell: str) -> Fault:
    begins = cell.removesuffix(_END).splitlines()[0][:40] if cell.removesuffix(_END) else ""
    return Fault(
        Reason.WRONG_TYPE,
        f"{path.name} line {line}",
        "",
        f'a quotation mark before "{begins}" that is not closed there',
        "marks in pairs around a cell: all up to the next mark was taken for one cell",
        "close the mark at the end of its cell, or delete it",
    )


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
