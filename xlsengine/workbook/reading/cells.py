"""What stands in the cells of a worksheet part: numbers, texts, dates, errors, and formulas with their stored values.

Formulas and stored values come from one pass, and only cells that hold something cost anything: a lone cell in the
last column of the last row is one cell.
"""

import datetime
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import IO, NamedTuple
from xml.etree.ElementTree import Element
from xml.parsers import expat

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits

DATE_FORMATS = {*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)}
PERCENT_FORMATS = {9, 10}
_TRUE = ("1", "true")
_ROW_DEPTH = 3  # worksheet, sheetData, row
LAST_ROW, LAST_COLUMN = 2**20 - 1, 2**14 - 1
_FIRST_DAY, _FIRST_DAY_1904 = datetime.datetime(1899, 12, 30), datetime.datetime(1904, 1, 1)
_NOT_A_LEAP_DAY = 60  # the day 29 February 1900, which never was, is counted
_LITERAL = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!h+\]|m+\]|s+\])[^\[\]]*\]', re.IGNORECASE)
_ESCAPE = re.compile("_x(?![Dd][89A-Fa-f])([0-9A-Fa-f]{4})_")  # halves of surrogate pairs are no signs


@dataclass(frozen=True)
class ErrorValue:
    """An error such as ``#N/A``."""

    text: str


@dataclass(frozen=True)
class Percent:
    """A number that the cell shows as a percentage: 0.5 shown as 50%."""

    number: float

    @property
    def text(self) -> str:
        """Return it as shown."""
        return f"{self.number * 100:.15g}%"


@dataclass(frozen=True)
class Unstored:
    """The missing value of a formula that was never computed."""


Found = float | str | bool | datetime.date | datetime.time | ErrorValue | Percent | Unstored | None


class Formula(NamedTuple):
    """A cell that holds a formula, and the value stored with it."""

    value: Found


Stored = Found | Formula
Row = dict[int, Stored]
Grid = dict[int, Row]


class Rectangle(NamedTuple):
    """Merged cells: first row, first column, last row and last column, counted from 0."""

    top: int
    left: int
    bottom: int
    right: int


class SheetCells(Grid):
    """The rows of a worksheet, and which of them and of its columns are hidden or merged."""

    def __init__(self, rows: Mapping[int, Row] = MappingProxyType({})) -> None:
        super().__init__(rows)
        self.hidden_rows: set[int] = set()
        self.hidden_columns: list[range] = []
        self.merged: list[Rectangle] = []

    def column_is_hidden(self, column: int) -> bool:
        """Tell whether a column is hidden."""
        return any(column in columns for columns in self.hidden_columns)


def content_of(stored: Stored) -> Found:
    """Return what a cell holds or its formula gave; texts without visible signs are blanks."""
    value = stored.value if isinstance(stored, Formula) else stored
    return None if isinstance(value, str) and not value.strip() else value


def number_text(number: float) -> str:
    """Return a number as a cell shows it: 15 digits at most.

    >>> number_text(5.0), number_text(0.1 + 0.2)
    ('5', '0.3')
    """
    return f"{number:.15g}"


class Texts:
    """Adds up the texts that are kept from a workbook; raises `WorkbookUnreadable` where they are far too long."""

    def __init__(self) -> None:
        self._signs = 0

    def kept(self, text: str) -> str:
        """Return a text, counted; raises `WorkbookUnreadable` where all are too long."""
        self._signs += len(text)
        if self._signs > limits.LARGEST_TEXTS:
            raise WorkbookUnreadable("it holds more text than a bench test can")
        return text


@dataclass(frozen=True)
class Decoder:
    """Turns cell elements into values: `strings` are the shared ones, `formats` the kinds by style."""

    strings: Sequence[str]
    formats: Sequence[str]
    counts_from_1904: bool = False
    texts: Texts = field(default_factory=Texts)

    def sheet(self, part: IO[bytes]) -> SheetCells:
        """Return the rows of a worksheet that hold something; raises `WorkbookUnreadable` where it holds too much."""
        events = _Sheet(self)
        events.take(part)
        return events.cells

    def value(self, kind: str, text: str, style: str) -> Found:
        """Return what the text of a cell of a kind and style means."""
        match kind:
            case "n":
                return self._number(text, _place(style))
            case "s":
                return self.strings[_place(text)]
            case "b":
                return text.strip() in _TRUE
            case "e":
                return ErrorValue(text)
            case "d":
                return _moment_of(text)
        return self.texts.kept(unescaped(text))

    def _number(self, text: str, style: int) -> Found:
        """Return a number; the text itself where it is none, so that its cell can be named."""
        try:
            number = float(text)
        except ValueError:
            return text
        shown = self.formats[style] if style < len(self.formats) else ""
        if shown == "date":
            return moment(number, self.counts_from_1904)
        return Percent(number) if shown == "percent" else number


class _Events:
    """Takes what a parser meets in a part: no more of it is held than a cell."""

    def __init__(self) -> None:
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler, self._parser.EndElementHandler = self._begin, self._finish
        self._parser.buffer_text = True
        self._depth = self._guide = 0
        self._text: str | None = None

    def take(self, part: IO[bytes]) -> None:
        """Parse a part to its end; raises `ExpatError` where it is damaged."""
        self._parser.ParseFile(part)

    def _begin(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > limits.DEEPEST:
            raise WorkbookUnreadable(limits.TOO_MUCH)
        name = _local_name(tag)
        if name in ("v", "t"):
            self._text = self._text or ""
            self._parser.CharacterDataHandler = None if self._guide else self._add
        elif name == "rPh":
            self._guide = self._depth
        else:
            self.begin(name, attributes)

    def _finish(self, tag: str) -> None:
        self._parser.CharacterDataHandler = None
        if self._guide == self._depth:
            self._guide = 0
        self._depth -= 1
        self.finish(_local_name(tag))

    def _add(self, text: str) -> None:
        self._text = (self._text or "") + text
        if len(self._text) > limits.LARGEST_ELEMENT:
            raise WorkbookUnreadable(limits.TOO_MUCH)

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Take the beginning of an element, of none that holds text or its phonetic guide."""

    def finish(self, name: str) -> None:
        """Take the end of an element."""


class _Strings(_Events):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._texts = Texts()

    def finish(self, name: str) -> None:
        if name == "si":
            self.found.append(self._texts.kept(unescaped(self._text or "")))
            self._text = None


class _Sheet(_Events):
    def __init__(self, decoder: Decoder) -> None:
        super().__init__()
        self.cells, self._decoder = SheetCells(), decoder
        self._number = self._column = -1
        self._row: Row = {}
        self._cell: dict[str, str] = {}
        self._formula = False

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        if name == "c":
            address = attributes.get("r")
            self._column = column_number(address.rstrip("0123456789")) if address else self._column + 1
            self._cell, self._text, self._formula = attributes, None, False
        elif name == "f":
            self._formula = True
        elif name == "row":
            if self._depth > _ROW_DEPTH:
                raise WorkbookUnreadable(limits.TOO_MUCH)
            self._number, self._column = int(attributes.get("r", self._number + 2)) - 1, -1
            self._row = self.cells.get(self._number, {})
            if attributes.get("hidden") in _TRUE:
                self.cells.hidden_rows.add(self._number)
        elif name in ("col", "mergeCell"):
            _note(attributes, name, self.cells)

    def finish(self, name: str) -> None:
        if name == "c" and (self._text is not None or self._formula):
            self._keep(self._cell.get("t", "n"), self._text)
        elif name == "row" and self._row:
            self.cells[self._number] = self._row

    def _keep(self, kind: str, text: str | None) -> None:
        if self._column > LAST_COLUMN:
            raise WorkbookUnreadable(limits.TOO_MUCH)
        if text:
            value = self._decoder.value(kind, text, self._cell.get("s", "0"))
            self._row[self._column] = Formula(value) if self._formula else value
        elif self._formula:
            self._row[self._column] = Formula("" if kind == "str" else Unstored())


@lru_cache(1024)
def _local_name(tag: str) -> str:
    """Return the name of an element without its prefix."""
    return tag.rpartition(":")[2]


def _moment_of(text: str) -> Found:
    try:
        return datetime.datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        return text


def _place(text: str) -> int:
    """Return a place in a list; raises ValueError for what is none."""
    place = int(text)
    if place < 0:
        raise ValueError(f"no place: {text}")
    return place


def _note(attributes: Mapping[str, str], name: str, about: SheetCells) -> None:
    """Keep a merged area, or hidden columns; raises `WorkbookUnreadable` where there are far too many."""
    if name == "mergeCell":
        corner, _, opposite = attributes["ref"].partition(":")
        if len(about.merged) == limits.MOST_MERGED:
            raise WorkbookUnreadable(f"a sheet of it holds more than {limits.MOST_MERGED} merged areas")
        about.merged.append(Rectangle(*row_and_column(corner), *row_and_column(opposite or corner)))
    elif attributes.get("hidden") in _TRUE and len(about.hidden_columns) < limits.MOST_HIDDEN:
        about.hidden_columns.append(range(int(attributes["min"]) - 1, int(attributes["max"])))


def row_and_column(address: str) -> tuple[int, int]:
    """Return the row and column of an address, counted from 0; raises ValueError for what is no cell.

    >>> row_and_column("$C$10")
    (9, 2)
    """
    parts = re.fullmatch(r"\$?([A-Z]+)\$?([1-9]\d*)", address)
    if not parts:
        raise ValueError(f"no cell: {address}")
    return int(parts[2]) - 1, column_number(parts[1])


@lru_cache(maxsize=1024)
def column_number(letters: str) -> int:
    """Return a column's number from 0; raises ValueError for what is no column.

    >>> column_number("A"), column_number("XFD")
    (0, 16383)
    """
    if not re.fullmatch("[A-Z]{1,3}", letters):
        raise ValueError(f"no column: {letters}")
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def moment(serial: float, counts_from_1904: bool = False) -> Found:
    """Return the day (and time) or the time that a number in a date cell means; the number itself beyond all dates.

    >>> moment(46173.0), moment(0.5)
    (datetime.datetime(2026, 5, 31, 0, 0), datetime.time(12, 0))
    """
    first = _FIRST_DAY_1904 if counts_from_1904 else _FIRST_DAY
    early = 1 if not counts_from_1904 and serial < _NOT_A_LEAP_DAY else 0
    try:
        when = first + datetime.timedelta(days=early, seconds=round(serial * 86400))
    except (OverflowError, ValueError):
        return serial
    return serial if serial < 0 else when.time() if serial < 1 else when


def unescaped(text: str) -> str:
    """Return a text with the signs that XML cannot hold put back.

    >>> unescaped("a_x0007_b_x005F_x0007_")
    'a\\x07b_x0007_'
    """
    return _ESCAPE.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def shared_strings(part: IO[bytes]) -> list[str]:
    """Return the strings that cells speak of by number."""
    events = _Strings()
    events.take(part)
    return events.found


def cell_formats(styles: Element) -> list[str]:
    """Return for each cell style whether it shows numbers as a ``date``, a ``percent`` or plainly (``""``)."""
    codes = {int(e.attrib["numFmtId"]): e.get("formatCode", "") for e in styles.iterfind(".//{*}numFmt")}
    numbers = [int(style.get("numFmtId", 0)) for style in styles.iterfind("{*}cellXfs/*")]
    kinds = {number: _format_kind(number, codes) for number in dict.fromkeys(numbers)}
    return [kinds[number] for number in numbers]


def _format_kind(number: int, codes: dict[int, str]) -> str:
    if number not in codes:
        return "date" if number in DATE_FORMATS else "percent" if number in PERCENT_FORMATS else ""
    code = _LITERAL.sub("", codes[number]).lower()
    if code == "general":
        return ""
    return "date" if re.search("[dmyhs]", code) else "percent" if "%" in code else ""
