"""An .xlsx file as a package of parts: looked over before it is unpacked, then asked for its sheets and tables.

Layout and names follow ECMA-376 (Office Open XML), parts 1 and 2.
"""

from __future__ import annotations

import posixpath
import stat
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO
from xml.etree import ElementTree
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.layout import cell_address, quoted
from xlsengine.workbook.reading.cells import row_and_column
from xlsengine.workbook.reading.foreign_files import what_it_is

MEBIBYTE = 2**20
LARGEST_UNPACKED = 200 * MEBIBYTE
LARGEST_RATIO, RATIO_COUNTS_FROM = 200, 50 * MEBIBYTE
# What zipfile, expat and the decoding of numbers and references raise on parts that are not as they should be.
DAMAGE = (
    BadZipFile, zlib.error, EOFError, OSError, ElementTree.ParseError, expat.ExpatError, ValueError, LookupError,
    ArithmeticError, RuntimeError, TypeError, AttributeError,
)  # fmt: skip


@dataclass(frozen=True)
class Area:
    """Where an Excel table stands: rows and columns counted from 0, `first` to `last` holding its data.

    `headers` are those of the table's definition; `titled` tells whether the row above `first` shows them.
    """

    name: str
    sheet: str
    first: int
    last: int
    bottom: int
    left: int
    headers: tuple[str, ...]
    titled: bool = True

    @property
    def top(self) -> int:
        """Return the uppermost row."""
        return self.first - self.titled

    @property
    def columns(self) -> range:
        """Return its columns on the sheet."""
        return range(self.left, self.left + len(self.headers))

    def place(self, row: int, column: int) -> str:
        """Return the address of a cell with its sheet, as a person reads it."""
        return f"{quoted(self.sheet)}!{cell_address(row, column)}"


class Package:
    """The parts of a workbook; every part is looked at for a document type definition before it is parsed."""

    def __init__(self, archive: ZipFile) -> None:
        self._archive = archive
        main = self._only("", "officeDocument")
        if main is None:
            raise WorkbookUnreadable("it is a zip archive without a workbook inside")
        self.workbook = main
        if not self.root(main).tag.endswith("}workbook"):
            raise WorkbookUnreadable("it holds another kind of document, not a workbook")

    def stream(self, part: str) -> IO[bytes]:
        """Open a part for parsing."""
        with self._archive.open(part) as head:
            _refuse_document_type(head)
        return self._archive.open(part)

    def content(self, part: str) -> bytes:
        """Return a part that is no XML, such as a picture."""
        return self._archive.read(part)

    def root(self, part: str) -> ElementTree.Element:
        """Parse a small part whole."""
        with self.stream(part) as stream:
            return ElementTree.parse(stream).getroot()

    def related(self, part: str, kind: str) -> dict[str, str]:
        """Return the parts of one kind that a part (or the package: "") leads to, by relation id."""
        folder, name = posixpath.split(part)
        relations = posixpath.join(folder, "_rels", f"{name}.rels")
        if relations not in self._archive.namelist():
            return {}
        return {
            relation.attrib["Id"]: posixpath.normpath(posixpath.join("/", folder, relation.attrib["Target"]))[1:]
            for relation in self.root(relations)
            if relation.attrib["Type"].endswith(f"/{kind}") and relation.get("TargetMode") != "External"
        }

    def sheets(self) -> dict[str, str]:
        """Return the worksheets' parts by name, in their order."""
        parts = self.related(self.workbook, "worksheet")
        listed = (e for e in self.root(self.workbook).iter() if e.tag.endswith("}sheet"))
        named = {e.attrib["name"]: next(v for k, v in e.attrib.items() if k.endswith("}id")) for e in listed}
        return {name: parts[relation] for name, relation in named.items() if relation in parts}

    def areas(self) -> tuple[Area, ...]:
        """Return every Excel table of the workbook."""
        return tuple(
            _area(sheet, self.root(table))
            for sheet, part in self.sheets().items()
            for table in self.related(part, "table").values()
        )

    @property
    def counts_from_1904(self) -> bool:
        """Tell whether dates are counted from 1904."""
        settings = (e for e in self.root(self.workbook) if e.tag.endswith("}workbookPr"))
        return any(e.get("date1904") in ("1", "true") for e in settings)

    def shared(self, kind: str) -> str | None:
        """Return a part that the whole workbook uses: ``sharedStrings`` or ``styles``."""
        return self._only(self.workbook, kind)

    def custom_property(self, name: str) -> str | None:
        """Return a custom document property, or None where it is missing."""
        part = self._only("", "custom-properties")
        found = (e for e in self.root(part) if e.get("name") == name) if part else iter(())
        return next(("".join(e.itertext()) for e in found), None)

    def _only(self, part: str, kind: str) -> str | None:
        return next(iter(self.related(part, kind).values()), None)


@contextmanager
def open_package(path: Path) -> Iterator[Package]:
    """Open a workbook's package; raises `WorkbookUnreadable`, in plain words, whatever is wrong with the file."""
    try:
        _refuse_what_is_no_file(path)
        with ZipFile(path) as archive:
            _refuse_bombs(archive)
            yield Package(archive)
    except WorkbookUnreadable as error:
        raise WorkbookUnreadable(f"{path} cannot be read: {error}") from error
    except DAMAGE as error:
        raise WorkbookUnreadable(
            f"{path} cannot be read: the workbook is damaged; open it in a spreadsheet program, let it repair the "
            "file, and save it as .xlsx"
        ) from error


def _refuse_what_is_no_file(path: Path) -> None:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise WorkbookUnreadable("it is a folder; name the workbook inside it")
        if not stat.S_ISREG(mode):
            raise WorkbookUnreadable("it is no ordinary file")
        with path.open("rb") as stream:
            otherwise = what_it_is(path, stream)
    except FileNotFoundError:
        raise WorkbookUnreadable("there is no such file") from None
    except PermissionError:
        raise WorkbookUnreadable("there is no permission to read it, or it is locked by another program") from None
    except (OSError, ValueError) as error:
        raise WorkbookUnreadable(f"{getattr(error, 'strerror', None) or error}") from error
    if otherwise:
        raise WorkbookUnreadable(otherwise)


def _refuse_bombs(archive: ZipFile) -> None:
    parts = archive.infolist()
    if any(part.flag_bits & 1 for part in parts):
        raise WorkbookUnreadable("it is protected by a password; remove the password and save it again")
    unpacked = sum(part.file_size for part in parts)
    packed = sum(part.compress_size for part in parts)
    if unpacked > LARGEST_UNPACKED or (unpacked > RATIO_COUNTS_FROM and unpacked > LARGEST_RATIO * packed):
        raise WorkbookUnreadable(f"it unpacks to {unpacked // MEBIBYTE} MiB, more than a bench test can hold")


class _RootReached(Exception):
    """The document's first element began without a document type definition before it."""


def _refuse_document_type(head: IO[bytes]) -> None:
    """Parse up to the first element, in whatever encoding, so that no entity is ever defined."""

    def _refuse(*_: object) -> None:
        raise WorkbookUnreadable("a part of it holds a document type definition, which no workbook needs")

    def _stop(*_: object) -> None:
        raise _RootReached

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler, parser.StartElementHandler = _refuse, _stop
    try:
        while chunk := head.read(4096):
            parser.Parse(chunk)
    except _RootReached:
        return


def _area(sheet: str, table: ElementTree.Element) -> Area:
    columns = (e for e in table.iter() if e.tag.endswith("}tableColumn"))
    corner, _, opposite = table.attrib["ref"].partition(":")
    top, left = row_and_column(corner)
    bottom = row_and_column(opposite or corner)[0]
    titled = table.get("headerRowCount", "1") != "0"
    return Area(
        name=table.get("displayName") or table.attrib["name"],
        sheet=sheet,
        first=top + titled,
        last=bottom - int(table.get("totalsRowCount", "0")),
        bottom=bottom,
        left=left,
        headers=tuple(e.attrib["name"] for e in columns),
        titled=titled,
    )
