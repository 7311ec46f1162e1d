"""A small package to be made strange, and the tools to put parts into it, after ECMA-376 part 1."""

import re
from collections.abc import Callable

from tests.workbook.reading.mutations import Parts

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
STRICT_MAIN, STRICT_OFFICE = (
    "http://purl.oclc.org/ooxml/spreadsheetml/main",
    "http://purl.oclc.org/ooxml/officeDocument/relationships",
)
BOOK, BOOK_RELATIONS = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
HEADERS = ("Prop", "Volts", "Amps", "Thrust (g)")
Change = Callable[[Parts], None]


def relations(*held: tuple[str, str, str, str]) -> bytes:
    """Return a part of relations from (id, kind, target, more attributes)."""
    lines = (
        f'<Relationship Id="{i}" Type="{OFFICE}/{kind}" Target="{target}"{more}/>' for i, kind, target, more in held
    )
    return f'<Relationships xmlns="{PACKAGE}/relationships">{"".join(lines)}</Relationships>'.encode()


def cell(address: str, value: object) -> str:
    """Return a cell with a number, or a text of its own."""
    if isinstance(value, int | float):
        return f'<c r="{address}"><v>{value}</v></c>'
    return f'<c r="{address}" t="inlineStr"><is><t>{value}</t></is></c>'


def sheet_part(cells: str, after: str = "", before: str = "") -> bytes:
    """Return a worksheet of ready rows, with more before and after them."""
    return f'<worksheet xmlns="{MAIN}" xmlns:r="{OFFICE}">{before}<sheetData>{cells}</sheetData>{after}</worksheet>'.encode()


READINGS_ROWS = "".join(
    f'<row r="{row}">{"".join(cell(f"{c}{row}", value) for c, value in zip("ABCD", values, strict=True))}</row>'
    for row, values in enumerate((HEADERS, ("5x4.3x3", 14.8, 31.5, 1044), ("5x4.3x3", 11.1, 21.5, 744)), start=1)
)


def plain_parts() -> Parts:
    """Return the least package that is a workbook: one sheet with a plain table of readings."""
    return {
        "[Content_Types].xml": (
            f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" ContentType="application/vnd.'
            'openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/></Types>'
        ).encode(),
        "_rels/.rels": relations(("rId1", "officeDocument", BOOK, "")),
        BOOK: (
            f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets><sheet name="Runs" sheetId="1" r:id="rId1"/></sheets>'
            "<definedNames></definedNames></workbook>"
        ).encode(),
        BOOK_RELATIONS: relations(("rId1", "worksheet", "worksheets/sheet1.xml", "")),
        "xl/worksheets/sheet1.xml": sheet_part(READINGS_ROWS),
    }


def put(parts: Parts, part: str, before: str, text: str) -> None:
    """Put a text before the last place of another in a part; makes no change where that is not there."""
    if part in parts and before.encode() in parts[part]:
        head, _, tail = parts[part].rpartition(before.encode())
        parts[part] = head + text.encode() + before.encode() + tail


def related(parts: Parts, part: str, kind: str, target: str, more: str = "") -> None:
    """Let a part lead to another."""
    folder, _, name = part.rpartition("/")
    held = f"{folder}/_rels/{name}.rels".lstrip("/")
    parts.setdefault(held, relations())
    number = parts[held].count(b"<Relationship ") + 700
    put(
        parts,
        held,
        "</Relationships>",
        f'<Relationship Id="rId{number}" Type="{OFFICE}/{kind}" Target="{target}"{more}/>',
    )


def sheet_of(parts: Parts) -> str:
    """Return the part of a sheet that is there."""
    return min(name for name in parts if re.fullmatch(r"xl/worksheets/[^/]+\.xml", name))


def with_sheet(
    name: str, content: bytes, state: str = "", kind: str = "worksheet", folder: str = "worksheets"
) -> Change:
    """Return a change that adds a sheet of a kind."""

    def change(parts: Parts) -> None:
        number = parts[BOOK].count(b"<sheet ") + 500
        put(parts, BOOK, "</sheets>", f'<sheet name="{name}" sheetId="{number}"{state} r:id="rIdS{number}"/>')
        target = f"{folder}/odd{number}.xml"
        line = f'<Relationship Id="rIdS{number}" Type="{OFFICE}/{kind}" Target="{target}"/>'
        put(parts, BOOK_RELATIONS, "</Relationships>", line)
        parts[f"xl/{target}"] = content

    return change


def beside(kind: str, part: str, content: bytes, more: str = "") -> Change:
    """Return a change that lets the first sheet lead to a part."""

    def change(parts: Parts) -> None:
        related(parts, sheet_of(parts), kind, f"../{part.removeprefix('xl/')}", more)
        parts[part] = content

    return change


def of_book(kind: str, part: str, content: bytes) -> Change:
    """Return a change that lets the workbook lead to a part."""

    def change(parts: Parts) -> None:
        related(parts, BOOK, kind, part.removeprefix("xl/"))
        parts[part] = content

    return change
