"""A written .xlsx as its zip parts say it is, read with zipfile and ElementTree alone."""

import posixpath
import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from xml.etree import ElementTree as ET

from tests.instruments.findings import Finding, Rule
from tests.instruments.grid import Area

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_WORKBOOK = "xl/workbook.xml"
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_TO_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ufffe\uffff]")
_PLACE = re.compile(r"[A-Z]{1,3}[1-9]\d{0,6}")


@dataclass(frozen=True, slots=True)
class Cell:
    """One ``<c>``: its place, the row it was written in, its type, stored text and formula.

    `text` is None without a ``<v>``; `formula` is "" where a shared formula is only pointed at.
    """

    place: str
    row: int
    column: int
    written_in: int
    kind: str
    text: str | None
    formula: str | None
    array: Area | None


@dataclass(frozen=True)
class Table:
    """A table part; `columns` maps each header to its calculated-column formula, or None."""

    part: str
    number: str
    name: str
    sheet: str
    area: Area
    columns: tuple[tuple[str, str | None], ...]
    has_header: bool

    @property
    def data(self) -> Area:
        """Return the rectangle of the data rows."""
        area = self.area
        return Area(area.top + self.has_header, area.left, area.bottom, area.right)


@dataclass
class Sheet:
    """A worksheet: its part, XML and cells in the order of the file."""

    name: str
    part: str
    root: ET.Element
    written_rows: list[int] = field(default_factory=list)
    cells: list[Cell] = field(default_factory=list)
    at: dict[tuple[int, int], Cell] = field(default_factory=dict)


@dataclass(frozen=True)
class DefinedName:
    """A defined name; `scope` is the sheet it is local to, or None."""

    name: str
    text: str
    scope: str | None


@dataclass
class Book:
    """The whole workbook; sheets and tables are found by their names in lower case."""

    parts: dict[str, ET.Element]
    strings: list[str]
    sheets: dict[str, Sheet] = field(default_factory=dict)
    names: list[DefinedName] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)

    def words(self, cell: Cell) -> str | None:
        """Return the stored text of a cell, looked up where it is a shared string; None for a lost one."""
        if cell.kind != "s" or cell.text is None:
            return cell.text
        known = cell.text.isdecimal() and int(cell.text) < len(self.strings)
        return self.strings[int(cell.text)] if known else None

    @cached_property
    def _tables(self) -> dict[str, Table]:
        return {table.name.lower(): table for table in reversed(self.tables)}

    @cached_property
    def _names(self) -> dict[tuple[str, str | None], DefinedName]:
        return {(name.name.lower(), name.scope): name for name in reversed(self.names)}

    def table(self, name: str) -> Table | None:
        """Return a table by its name, or None; the first of several."""
        return self._tables.get(name.lower())

    def name(self, name: str, sheet: str | None) -> DefinedName | None:
        """Return the name as seen from a sheet, the sheet's own before the workbook's; or None."""
        return self._names.get((name.lower(), sheet)) or self._names.get((name.lower(), None))


def read_book(path: Path) -> tuple[Book | None, list[Finding]]:
    """Return the workbook and what is wrong with its package; None if its parts cannot be followed."""
    with zipfile.ZipFile(path) as archive:
        counted = Counter(archive.namelist())
        texts = {name: archive.read(name) for name in counted}
    findings = [
        Finding(name, "", Rule.PART_REPEATED, f"{count} entries of this name in the zip")
        for name, count in counted.items()
        if count > 1
    ]
    parts: dict[str, ET.Element] = {}
    for name, text in texts.items():
        if name.endswith((".xml", ".rels", ".vml")):
            try:
                parts[name] = ET.fromstring(text)
            except ET.ParseError as error:
                findings.append(Finding(name, "", Rule.XML_BROKEN, str(error)))
    findings += _missing_parts(parts, set(texts))
    if any(finding.rule in (Rule.XML_BROKEN, Rule.PART_MISSING) for finding in findings):
        return None, findings
    try:
        return _book(parts), findings
    except (KeyError, ValueError) as error:
        return None, [*findings, Finding(_WORKBOOK, "", Rule.XML_BROKEN, f"cannot be followed: {error}")]


def sheet_parts(archive: zipfile.ZipFile) -> dict[str, str]:
    """Return the part of each sheet by its name, read from the workbook's own part alone."""
    folder, base = posixpath.split(_WORKBOOK)
    names = (_WORKBOOK, f"{folder}/_rels/{base}.rels")
    parts = {name: ET.fromstring(archive.read(name)) for name in names}
    targets = dict(linked(parts, _WORKBOOK))
    return {each.get("name", ""): targets[each.get(_LINK, "")] for each in parts[_WORKBOOK].iter(f"{MAIN}sheet")}


def read_sheets(path: Path, wanted: Iterable[str]) -> Book:
    """Return the cells of some sheets, and nothing else of the workbook; KeyError where there is no such sheet."""
    with zipfile.ZipFile(path) as archive:
        where = sheet_parts(archive)
        named = {name: where[name] for name in wanted}
        present = {"xl/sharedStrings.xml"} & set(archive.namelist())
        parts = {part: ET.fromstring(archive.read(part)) for part in {*named.values(), *present}}
    sheets = {name.lower(): _sheet(name, part, parts) for name, part in named.items()}
    return Book(parts, _strings(parts), sheets)


def linked(parts: dict[str, ET.Element], part: str, kind: str = "") -> Iterator[tuple[str, str]]:
    """Yield (relationship id, part name) for the parts of one kind which a part points at."""
    folder, base = posixpath.split(part)
    relations = parts.get(posixpath.join(folder, "_rels", f"{base}.rels"))
    for relation in relations if relations is not None else ():
        if relation.get("TargetMode") != "External" and relation.get("Type", "").endswith(kind):
            target = posixpath.join("/" + folder, relation.get("Target", ""))
            yield relation.get("Id", ""), posixpath.normpath(target).lstrip("/")


def plain_text(element: ET.Element) -> str:
    """Return the text of a shared or inline string, runs joined, phonetic runs left out."""
    spoken = {id(text) for run in element.iter(f"{MAIN}rPh") for text in run.iter(f"{MAIN}t")}
    texts = [text.text or "" for text in element.iter(f"{MAIN}t") if id(text) not in spoken]
    return unescaped("".join(texts))


def unescaped(text: str) -> str:
    """Undo ``_x000A_``, the format's way to write a character that XML would not keep."""
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text)


def escaped(text: str) -> str:
    """Write what XML would not keep as ``_x000D_``, and so a text that looks like that; see `unescaped`."""
    return _TO_ESCAPE.sub(lambda match: f"_x{ord(match[0]):04X}_", text)


def _missing_parts(parts: dict[str, ET.Element], present: set[str]) -> Iterator[Finding]:
    for needed in ("[Content_Types].xml", "_rels/.rels", _WORKBOOK):
        if needed not in present:
            yield Finding(needed, "", Rule.PART_MISSING, "not in the zip")
    for name in ("", *parts):
        for _, target in linked(parts, name):
            if target not in present:
                yield Finding(name, "", Rule.PART_MISSING, f"points at {target}, which is not in the zip")


def _book(parts: dict[str, ET.Element]) -> Book:
    book = Book(parts, _strings(parts))
    targets = dict(linked(parts, _WORKBOOK))
    ordered = [
        _sheet(element.get("name", ""), targets[element.get(_LINK, "")], parts)
        for element in parts[_WORKBOOK].iter(f"{MAIN}sheet")
    ]
    book.sheets = {sheet.name.lower(): sheet for sheet in ordered}
    for element in parts[_WORKBOOK].iter(f"{MAIN}definedName"):
        local = element.get("localSheetId")
        scope = ordered[int(local)].name if local is not None else None
        book.names.append(DefinedName(element.get("name", ""), element.text or "", scope))
    for sheet in ordered:
        book.tables += [_table(target, sheet, parts) for _, target in linked(parts, sheet.part, "/table")]
    return book


def _strings(parts: dict[str, ET.Element]) -> list[str]:
    shared = parts.get("xl/sharedStrings.xml")
    return [plain_text(item) for item in shared.iter(f"{MAIN}si")] if shared is not None else []


def _sheet(name: str, part: str, parts: dict[str, ET.Element]) -> Sheet:
    sheet = Sheet(name, part, parts[part])
    for row in sheet.root.iter(f"{MAIN}row"):
        number = int(row.get("r", "0"))
        sheet.written_rows.append(number)
        for element in row.iter(f"{MAIN}c"):
            cell = _cell(element, number)
            sheet.cells.append(cell)
            sheet.at.setdefault((cell.row, cell.column), cell)
    return sheet


def _cell(element: ET.Element, written_in: int) -> Cell:
    place = element.get("r", "")
    area = Area.parse(place) if _PLACE.fullmatch(place) else Area(0, 0, 0, 0)
    value, formula, inline = (element.find(f"{MAIN}{tag}") for tag in ("v", "f", "is"))
    text = None if value is None else (value.text or "")
    if text is not None and element.get("t") == "str":
        text = unescaped(text)
    if inline is not None:
        text = plain_text(inline)
    array = None
    if formula is not None and formula.get("t") == "array":
        array = Area.parse(formula.get("ref", place))
    own = None if formula is None else (formula.text or "")
    return Cell(place, area.top, area.left, written_in, element.get("t", "n"), text, own, array)


def _table(part: str, sheet: Sheet, parts: dict[str, ET.Element]) -> Table:
    root = parts[part]
    columns = [
        (unescaped(column.get("name", "")), column.findtext(f"{MAIN}calculatedColumnFormula"))
        for column in root.iter(f"{MAIN}tableColumn")
    ]
    return Table(
        part=part,
        number=root.get("id", ""),
        name=root.get("displayName", ""),
        sheet=sheet.name,
        area=Area.parse(root.get("ref", "")),
        columns=tuple(columns),
        has_header=root.get("headerRowCount", "1") != "0",
    )
