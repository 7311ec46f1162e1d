"""An .xlsx file as a package of parts: looked over before it is unpacked, then asked for its sheets and tables.

Layout and names follow ECMA-376 (Office Open XML), parts 1 and 2.
"""

import posixpath
import re
import stat
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import IO
from xml.etree import ElementTree
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile

from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.layout import cell_address, quoted
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.cells import Decoder, SheetCells, column_number, row_and_column
from xlsengine.workbook.reading.gate import Scales, refuse_crowded, refuse_harmful, what_it_is

MEBIBYTE = limits.MEBIBYTE
_CELL = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!\$([A-Z]{1,3})\$(\d{1,7})")
# What zipfile, expat and the decoding of numbers and references raise on parts that are not as they should be.
DAMAGE = (
    BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    ElementTree.ParseError,
    expat.ExpatError,
    ValueError,
    LookupError,
    ArithmeticError,
    RuntimeError,
    TypeError,
    AttributeError,
)


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
    """The parts of a workbook; every part is weighed and looked over before it is parsed."""

    def __init__(self, archive: ZipFile) -> None:
        self._archive = archive
        self._weighed: set[str] = set()
        self._whole = Scales(limits.WHOLE_PARTS)
        self._relations: dict[str, list[dict[str, str]]] = {}
        main = self._only("", "officeDocument")
        if main is None:
            raise WorkbookUnreadable("it is a zip archive without a workbook inside")
        self.workbook, self.book = main, self.root(main)
        if not self.book.tag.endswith("}workbook"):
            raise WorkbookUnreadable("it holds another kind of document, not a workbook")

    def weigh(self, parts: Iterable[str], scales: Scales) -> None:
        """Look over parts that were not yet, and add them to what is on the scales.

        Raises `WorkbookUnreadable` where together they hold more than a bench test does.
        """
        for part in dict.fromkeys(parts):
            if part not in self._weighed:
                with self._archive.open(part) as stream:
                    scales.weigh(stream, self.size(part))
                self._weighed.add(part)

    def stream(self, part: str, most: limits.Load = limits.SHEETS) -> IO[bytes]:
        """Open a part to be read row by row; raises `WorkbookUnreadable` where it holds more than a bench test does."""
        self.weigh([part], Scales(most))
        return self._archive.open(part)

    def cells(self, sheet: str, decoder: Decoder) -> SheetCells:
        """Return the cells of a sheet's part; raises `WorkbookUnreadable` as `stream` does."""
        with self.stream(sheet) as stream:
            return decoder.sheet(stream)

    def size(self, part: str) -> int:
        """Return to how many bytes a part unpacks."""
        return self._archive.getinfo(part).file_size

    def content(self, part: str) -> bytes:
        """Return a part that is not parsed, such as a picture."""
        return self._archive.read(part)

    def root(self, part: str) -> ElementTree.Element:
        """Parse a small part whole, once; raises `WorkbookUnreadable` where another part leads to it as well."""
        if part in self._weighed:
            raise WorkbookUnreadable("its parts lead to one of them again and again")
        self.weigh([part], self._whole)
        with self._archive.open(part) as stream:
            return ElementTree.parse(stream).getroot()

    def related(self, part: str, kind: str) -> dict[str, str]:
        """Return the parts of one kind that a part (or the package: "") leads to, by relation id."""
        folder = posixpath.dirname(part)
        return {
            relation["Id"]: posixpath.normpath(posixpath.join("/", folder, relation["Target"]))[1:]
            for relation in self._relations_of(part)
            if relation["Type"].endswith(f"/{kind}") and relation.get("TargetMode") != "External"
        }

    def leads_outside(self) -> bool:
        """Tell whether the workbook refers to other workbooks or data outside it."""
        links = self.related(self.workbook, "externalLink") or self.related(self.workbook, "connections")
        return bool(links)

    def _relations_of(self, part: str) -> list[dict[str, str]]:
        folder, name = posixpath.split(part)
        relations = posixpath.join(folder, "_rels", f"{name}.rels")
        if relations not in self._relations:
            held = self.root(relations) if relations in self._archive.NameToInfo else ()
            self._relations[relations] = [dict(relation.attrib) for relation in held]
        return self._relations[relations]

    def sheets(self) -> dict[str, str]:
        """Return the worksheets' parts by name, in their order; raises `WorkbookUnreadable` for too many."""
        parts = self.related(self.workbook, "worksheet")
        named = self._relation_of_sheets()
        if len(named) > limits.MOST_SHEETS:
            raise WorkbookUnreadable(f"it holds more than {limits.MOST_SHEETS} sheets")
        return {name: parts[relation] for name, relation in named.items() if relation in parts}

    @cached_property
    def areas(self) -> tuple[Area, ...]:
        """Return every Excel table of the workbook; raises `WorkbookUnreadable` where there are far too many."""
        parts = [
            (sheet, table) for sheet, part in self.sheets().items() for table in self.related(part, "table").values()
        ]
        most_of_one = max(Counter(sheet for sheet, _ in parts).values(), default=0)
        if len(parts) > limits.MOST_TABLES or most_of_one > limits.MOST_TABLES_OF_A_SHEET:
            raise WorkbookUnreadable(
                f"it holds more than {limits.MOST_TABLES} tables, or {limits.MOST_TABLES_OF_A_SHEET} on one sheet"
            )
        return tuple(_area(sheet, self.root(table)) for sheet, table in parts)

    def other_kinds(self) -> dict[str, str]:
        """Return the sheets that hold no cells, such as chart sheets, with their kind; some have no part at all."""
        kinds = {relation["Id"]: relation["Type"].rpartition("/")[2] for relation in self._relations_of(self.workbook)}
        by_name = {
            name: kinds.get(relation, "its part is missing") for name, relation in self._relation_of_sheets().items()
        }
        return {name: kind for name, kind in by_name.items() if kind != "worksheet"}

    def _relation_of_sheets(self) -> dict[str, str]:
        """Return the id of each sheet's relation by the sheet's name, "" where it has none."""
        listed = self.book.iterfind(".//{*}sheet")
        return {e.attrib["name"]: next((v for k, v in e.attrib.items() if k.endswith("}id")), "") for e in listed}

    @property
    def counts_from_1904(self) -> bool:
        """Tell whether dates are counted from 1904."""
        return any(e.get("date1904") in ("1", "true") for e in self.book.iterfind("{*}workbookPr"))

    def shared(self, kind: str) -> str | None:
        """Return a part that the whole workbook uses: ``sharedStrings`` or ``styles``."""
        return self._only(self.workbook, kind)

    @cached_property
    def custom_properties(self) -> dict[str, str]:
        """Return the custom document properties by their names."""
        part = self._only("", "custom-properties")
        return {e.get("name", ""): "".join(e.itertext()) for e in (self.root(part) if part else ())}

    def last_saved(self) -> tuple[str, ...]:
        """Return when, by whom and by which version of a program the workbook says it was saved, "" where it does not."""
        said: dict[str, str] = {}
        for part in (self._only("", "core-properties"), self._only("", "extended-properties")):
            said |= {e.tag.rpartition("}")[2]: e.text or "" for e in self.root(part)} if part else {}
        return tuple(said.get(name, "") for name in ("modified", "lastModifiedBy", "AppVersion"))

    def named_cells(self) -> dict[str, tuple[str, int, int]]:
        """Return sheet, row and column (from 0) of each single cell that the whole workbook knows by a name."""
        listed = self.book.iterfind(".//{*}definedName")
        found = ((e.attrib["name"], _CELL.fullmatch(e.text or "")) for e in listed if "localSheetId" not in e.attrib)
        return {
            name: ((cell[1] or cell[2]).replace("''", "'"), int(cell[4]) - 1, column_number(cell[3]))
            for name, cell in found
            if cell
        }

    def _only(self, part: str, kind: str) -> str | None:
        return next(iter(self.related(part, kind).values()), None)


@contextmanager
def telling(path: Path) -> Iterator[None]:
    """Say in words why a file cannot be read, its name first: raises `WorkbookUnreadable`."""
    try:
        yield
    except FileNotFoundError:
        why = "there is no such file"
    except PermissionError:
        why = "there is no permission to read it, or it is locked by another program"
    except (WorkbookUnreadable, OSError, ValueError) as error:
        why = str(getattr(error, "strerror", None) or error)
    else:
        return
    raise WorkbookUnreadable(f"{path} cannot be read: {why}")


@contextmanager
def open_package(path: Path) -> Iterator[Package]:
    """Open a workbook's package behind the gate.

    Raises `WorkbookUnreadable`, in plain words, whatever is wrong with the file.
    """
    with telling(path):
        refuse_what_is_no_file(path)
        with path.open("rb") as stream:
            try:
                refuse_crowded(stream)
                if why := what_it_is(path, stream):
                    raise WorkbookUnreadable(why)
                with ZipFile(stream) as archive:
                    refuse_harmful(archive)
                    yield Package(archive)
            except DAMAGE as error:
                raise WorkbookUnreadable(
                    "the workbook is damaged; open it in a spreadsheet program, let it repair the file, and save it as .xlsx"
                ) from error


def refuse_what_is_no_file(path: Path) -> None:
    """Raise `WorkbookUnreadable` for folders, pipes and devices, which may never end, `OSError` for what is not there."""
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise WorkbookUnreadable("it is a folder; name the workbook inside it")
    if not stat.S_ISREG(mode):
        raise WorkbookUnreadable("it is no ordinary file")


def _area(sheet: str, table: ElementTree.Element) -> Area:
    headers = tuple(e.attrib["name"] for e in table.iterfind(".//{*}tableColumn"))
    if len(headers) > limits.MOST_COLUMNS:
        raise WorkbookUnreadable(f"a table of it has more than {limits.MOST_COLUMNS} columns")
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
        headers=headers,
        titled=titled,
    )
