"""The gate before every parser: what is no workbook, too large, harmful or dishonest is refused before it is unpacked.

The zip format is that of PKWARE's APPNOTE.TXT, 4.3 and 4.4.
"""

import codecs
import re
from collections.abc import Sequence
from pathlib import Path
from typing import IO
from xml.parsers import expat
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo, is_zipfile

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.limits import MEBIBYTE

_LISTED = b"PK\x01\x02"  # begins what the directory says of each part
_LOCAL_HEADER = 30
_CHUNK = 256 * 1024
_ANY_ENCODING_UP_TO = 4 * MEBIBYTE  # UTF-16 and the like hide rows from counting
_ODD_NAME = re.compile(r"^[/\\]|^[A-Za-z]:|\\|(^|/)\.\.(/|$)|[\x00-\x1f]")
_MACROS = re.compile(
    r"(^|/)(vbaProject[^/]*\.bin|vbaData\.xml|macrosheets/.*|intlmacrosheets/.*)$|^Basic/", re.IGNORECASE
)
COMPOUND_FILE = bytes.fromhex("D0CF11E0A1B11AE1")
ZIP_PART = b"PK\x03\x04"
ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
LOOKED_THROUGH = 16 * 2**20
SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"
TAKE_IN = "take its table into a new workbook (xlsengine template --from FILE)"
SAVE_AS_OR_TAKE_IN = f"{SAVE_AS}, or, where it is a plain table, {TAKE_IN}"
_TAKEN_IN = (".ods", ".csv", ".tsv", ".txt")
_BY_ENDING = {
    ".xls": "an old .xls workbook",
    ".ods": "an OpenDocument spreadsheet",
    ".csv": "a text file with separated values",
    ".tsv": "a text file with separated values",
    ".txt": "a text file",
    ".html": "a web page",
    ".htm": "a web page",
    ".xml": "an XML file",
    ".json": "a JSON file",
}
_DAMAGED_NAMES = "the names of its parts are not those of a workbook"


def refuse_crowded(stream: IO[bytes]) -> None:
    """Refuse a zip archive by its size and by how many parts its directory can list, before that is read.

    Raises `WorkbookUnreadable`. The stream is left at its beginning.
    """
    size = stream.seek(0, 2)
    if size > limits.LARGEST_FILE:
        raise WorkbookUnreadable(_too_large(f"it is {size // MEBIBYTE} MiB large", limits.LARGEST_FILE))
    stream.seek(0)
    if stream.read().count(_LISTED) > limits.MOST_PARTS:
        raise WorkbookUnreadable(f"it holds more than {limits.MOST_PARTS} parts, far more than a bench test needs")
    stream.seek(0)


def what_it_is(path: Path, stream: IO[bytes]) -> str:
    """Return why an open file is no .xlsx workbook, with the fix; "" where it is a zip archive that may be one."""
    head = stream.read(8)
    if not head:
        return "the file is empty; save the workbook again, or copy it again from where it came"
    if path.name.startswith("~$"):
        return "it is a spreadsheet program's lock file; name the workbook itself, without the leading ~$"
    if head == COMPOUND_FILE:
        return _compound(stream)
    if is_zipfile(stream):
        return _other_archive(stream)
    if head.startswith(ZIP_PART):
        return "the file breaks off or is damaged; copy it again from where it came"
    return _by_ending(path, head)


def _compound(stream: IO[bytes]) -> str:
    if ENCRYPTED in stream.read(LOOKED_THROUGH):
        return "it is encrypted; remove the password in a spreadsheet program and save it again as .xlsx"
    return f"it is an old .xls workbook; {SAVE_AS_OR_TAKE_IN}"


def _other_archive(stream: IO[bytes]) -> str:
    with ZipFile(stream) as archive:
        names = archive.namelist()
    if "xl/workbook.bin" in names:
        return f"it is a binary .xlsb workbook; {SAVE_AS_OR_TAKE_IN}"
    if "content.xml" in names and "mimetype" in names:
        return f"it is an OpenDocument file such as .ods; {SAVE_AS_OR_TAKE_IN}"
    return ""


def _by_ending(path: Path, head: bytes) -> str:
    kind = "a PDF" if head.startswith(b"%PDF") else _BY_ENDING.get(path.suffix.lower(), "no .xlsx workbook")
    return f"it is {kind}; {TAKE_IN if path.suffix.lower() in _TAKEN_IN else SAVE_AS}"


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
        raise WorkbookUnreadable(f"it unpacks to {unpacked // MEBIBYTE} MiB, more than a bench test can hold")
    end = 0
    for part in sorted(parts, key=lambda part: part.header_offset):
        if part.header_offset < end:
            raise WorkbookUnreadable("its parts lie over each other, as in archives made to do harm")
        end = part.header_offset + _LOCAL_HEADER + part.compress_size


def _too_large(what: str, limit: int) -> str:
    return f"{what}, and a bench test needs less than {limit // MEBIBYTE} MiB"


class Scales:
    """Weighs parts of XML before they are parsed: counts their bytes, tags and rows, and looks for harm.

    This runs at some hundred mebibytes a second, whatever a part holds.
    """

    def __init__(self, most: limits.Load) -> None:
        self._most = most
        self._size = self._tags = self._attributes = self._rows = 0

    def weigh(self, part: IO[bytes], size: int) -> None:
        """Add a part that unpacks to `size` bytes, and look it over from end to end.

        Raises `WorkbookUnreadable` where all parts together weigh more than they may, or where the part holds entities
        or an endless text, and `ExpatError` where it is damaged.
        """
        self._size += size
        if self._size > self._most.size:
            raise WorkbookUnreadable(_too_large(f"parts of it unpack to {self._size // MEBIBYTE} MiB", self._most.size))
        parser = expat.ParserCreate()
        parser.StartDoctypeDeclHandler = _refuse_document_type
        since_tag = fed = 0
        while chunk := part.read(_CHUNK):
            if not fed and size > _ANY_ENCODING_UP_TO and not chunk.removeprefix(codecs.BOM_UTF8).startswith(b"<"):
                raise WorkbookUnreadable("a part of it is written in an encoding that workbooks are not")
            self._count(chunk)
            last = chunk.rfind(b"<")
            _refuse_endless(since_tag + (len(chunk) if last < 0 else chunk.find(b"<")))
            since_tag = since_tag + len(chunk) if last < 0 else len(chunk) - last
            fed += len(chunk)
            parser.Parse(chunk)
            _refuse_endless(fed - parser.CurrentByteIndex - _CHUNK)
        parser.Parse(b"", True)

    def _count(self, chunk: bytes) -> None:
        self._tags += chunk.count(b"<")
        self._attributes += chunk.count(b'="') + chunk.count(b"='") + chunk.count(b"&#")
        self._rows += chunk.count(b"<row") + chunk.count(b":row")
        if self._rows > self._most.rows:
            raise WorkbookUnreadable(f"a sheet of it holds more than {limits.MOST_ROWS} rows")
        if self._tags > self._most.tags or self._attributes > self._most.attributes:
            raise WorkbookUnreadable("a part of it holds more than a bench test can")


def _refuse_endless(reach: int) -> None:
    if reach > limits.LARGEST_ELEMENT:
        raise WorkbookUnreadable("a text in it is longer than any cell can hold")


def _refuse_document_type(*_: object) -> None:
    raise WorkbookUnreadable("a part of it holds a document type definition, which no workbook needs")
