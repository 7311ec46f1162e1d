"""The gate before every parser: what is too large, harmful or dishonest is refused before anything is unpacked.

The zip format is that of PKWARE's APPNOTE.TXT, 4.3 and 4.4.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Sequence
from typing import IO
from xml.parsers import expat
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits

_END, _END_SIZE = b"PK\x05\x06", 22
_LONG_LOCATOR, _LONG_LOCATOR_SIZE, _LONG_END_SIZE = b"PK\x06\x07", 20, 56
_LONGEST_COMMENT = 2**16
_LOCAL_HEADER = 30
_CHUNK = 256 * 1024
_ODD_NAME = re.compile(r"^[/\\]|^[A-Za-z]:|\\|(^|/)\.\.(/|$)|[\x00-\x1f]")
_MACROS = re.compile(
    r"(^|/)(vbaProject[^/]*\.bin|vbaData\.xml|macrosheets/.*|intlmacrosheets/.*)$|^Basic/", re.IGNORECASE
)
_DAMAGED_NAMES = "the names of its parts are not those of a workbook"


def refuse_crowded(stream: IO[bytes]) -> None:
    """Refuse a zip archive by its size and the length of its directory, before the directory is read.

    Raises `WorkbookUnreadable`. The stream is left at its beginning.
    """
    size = stream.seek(0, 2)
    if size > limits.LARGEST_FILE:
        raise WorkbookUnreadable(_too_large(f"it is {size // limits.MEBIBYTE} MiB large", limits.LARGEST_FILE))
    stream.seek(max(0, size - _END_SIZE - _LONGEST_COMMENT))
    start = stream.tell()
    tail = stream.read()
    place = tail.rfind(_END)
    if place >= 0 and len(tail) >= place + _END_SIZE:
        parts, directory = struct.unpack("<HL", tail[place + 10 : place + 16])
        longer = _long_end(stream, start + place)
        parts, directory = max(parts, longer[0]), max(directory, longer[1])
        if parts > limits.MOST_PARTS or directory > limits.LARGEST_DIRECTORY:
            raise WorkbookUnreadable(f"it holds more than {limits.MOST_PARTS} parts, far more than a bench test needs")
    stream.seek(0)


def _long_end(stream: IO[bytes], end: int) -> tuple[int, int]:
    """Return the number of parts and the directory's size that an archive of the long form states, or zeros."""
    stream.seek(max(0, end - _LONG_LOCATOR_SIZE))
    locator = stream.read(_LONG_LOCATOR_SIZE)
    if not locator.startswith(_LONG_LOCATOR):
        return 0, 0
    stream.seek(min(struct.unpack("<Q", locator[8:16])[0], end))
    record = stream.read(_LONG_END_SIZE)
    return struct.unpack("<QQ", record[32:48]) if len(record) == _LONG_END_SIZE else (0, 0)


def refuse_harmful(archive: ZipFile) -> None:
    """Refuse an archive whose directory tells of bombs, passwords, macros, or parts that hide each other.

    Raises `WorkbookUnreadable`.
    """
    parts = archive.infolist()
    names = [part.filename.casefold() for part in parts]
    if any(part.flag_bits & 1 for part in parts):
        raise WorkbookUnreadable("it is protected by a password; remove the password and save it again")
    if any(_MACROS.search(part.filename) for part in parts):
        raise WorkbookUnreadable("it holds macros, which are never run and never needed; save it as .xlsx without them")
    if any(_ODD_NAME.search(part.filename) for part in parts):
        raise WorkbookUnreadable(f"{_DAMAGED_NAMES}: one leads out of the archive")
    if len(set(names)) < len(names):
        raise WorkbookUnreadable(f"{_DAMAGED_NAMES}: two are the same")
    if any(part.compress_type not in (ZIP_STORED, ZIP_DEFLATED) for part in parts):
        raise WorkbookUnreadable("it is packed in a way that workbooks are not")
    _refuse_bombs(parts)


def _refuse_bombs(parts: Sequence[ZipInfo]) -> None:
    unpacked = sum(part.file_size for part in parts)
    packed = sum(part.compress_size for part in parts)
    stretched = unpacked > limits.RATIO_COUNTS_FROM and unpacked > limits.LARGEST_RATIO * packed
    if unpacked > limits.LARGEST_UNPACKED or stretched:
        raise WorkbookUnreadable(f"it unpacks to {unpacked // limits.MEBIBYTE} MiB, more than a bench test can hold")
    end = 0
    for part in sorted(parts, key=lambda part: part.header_offset):
        if part.header_offset < end:
            raise WorkbookUnreadable("its parts lie over each other, as in archives made to do harm")
        end = part.header_offset + _LOCAL_HEADER + part.compress_size


def _too_large(what: str, limit: int) -> str:
    return f"{what}, and a bench test needs less than {limit // limits.MEBIBYTE} MiB"


class _Known(Exception):
    """All that was to be known of a part is known."""


class _Look:
    """Handlers that watch a part go by: no document type, no giant element, no end of elements."""

    def __init__(self, most: int, whole: bool) -> None:
        self.parser = expat.ParserCreate()
        self.parser.StartDoctypeDeclHandler = self._refuse_document_type
        self.parser.StartElementHandler = self._start
        self.most, self.whole = most, whole
        self.count = self.in_row = self.last = 0

    def feed(self, chunk: bytes) -> None:
        """Look at the next bytes; raises `WorkbookUnreadable` where the part is none of a bench test."""
        self.parser.Parse(chunk)
        if self.parser.CurrentByteIndex - self.last > limits.LARGEST_ELEMENT + _CHUNK:
            raise WorkbookUnreadable("a text in it is longer than any cell can hold")

    def _refuse_document_type(self, *_: object) -> None:
        raise WorkbookUnreadable("a part of it holds a document type definition, which no workbook needs")

    def _start(self, name: str, _: object) -> None:
        if not self.whole:
            raise _Known
        self.count += 1
        self.in_row = 0 if name.endswith("row") else self.in_row + 1
        index = self.parser.CurrentByteIndex
        if index - self.last > limits.LARGEST_ELEMENT:
            raise WorkbookUnreadable("a text in it is longer than any cell can hold")
        self.last = index
        if self.count > self.most or (self.most == limits.MOST_ELEMENTS and self.in_row > limits.MOST_IN_A_ROW):
            raise WorkbookUnreadable("a part of it holds more than a bench test can")


def look_over(part: IO[bytes], size: int, by_row: bool) -> None:
    """Refuse a part of XML that holds entities or that would cost far more than its rows explain.

    Small parts are looked at up to their first element, so that no entity is ever defined; larger ones from end to
    end. `by_row` parts are read row by row, the others in one go. Raises `WorkbookUnreadable`.
    """
    largest = limits.LARGEST_PART if by_row else limits.LARGEST_WHOLE_PART
    if size > largest:
        raise WorkbookUnreadable(_too_large(f"a part of it unpacks to {size // limits.MEBIBYTE} MiB", largest))
    look = _Look(limits.MOST_ELEMENTS if by_row else limits.MOST_WHOLE_ELEMENTS, size > limits.LOOKED_OVER_FROM)
    try:
        while chunk := part.read(_CHUNK if look.whole else 4096):
            look.feed(chunk)
    except _Known:
        return
