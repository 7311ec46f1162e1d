"""Notes and pictures in the parts of a package. Names follow ECMA-376 part 1, DrawingML and SpreadsheetML."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from io import BytesIO
from xml.etree.ElementTree import Element

from xlsengine.bench.bench_test import plain_lines
from xlsengine.bench.extras import SheetPicture
from xlsengine.workbook.reading.cells import column_number, string_of
from xlsengine.workbook.reading.findings import Findings
from xlsengine.workbook.reading.package import MEBIBYTE, Package

EMU_A_PIXEL = 9525
LARGEST_PICTURES = 64 * MEBIBYTE
LARGEST_SIDE = 20_000.0
CARRIED_PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"GIF8", b"BM")
"""What the contents of PNG, JPEG, GIF and BMP pictures begin with."""
OTHER_ATTACHMENTS = {
    "image": "a picture behind the cells", "oleObject": "an embedded object", "package": "an embedded file",
    "control": "a form control", "pivotTable": "a pivot table",
}  # fmt: skip
# What Excel puts before a threaded comment for programs that know only notes (from memory).
_THREADED = re.compile(r"\[Threaded comment\].*?\n(?:Comment|Kommentar|Commentaire)\s?:\s*", re.DOTALL)
LAST_ROW, LAST_COLUMN = 2**20 - 1, 2**14 - 1
_ADDRESS = re.compile(r"([A-Z]{1,3})([1-9]\d*)")


@dataclass(frozen=True)
class FoundNote:
    """A note on a cell, row and column counted from 0."""

    row: int
    column: int
    text: str
    author: str


def notes_of(package: Package, sheet_part: str) -> Iterator[FoundNote]:
    """Yield the notes on a sheet."""
    for part in package.related(sheet_part, "comments").values():
        root = package.root(part)
        authors = [e.text or "" for e in root.iter() if e.tag.endswith("}author")]
        for comment in (e for e in root.iter() if e.tag.endswith("}comment")):
            row, column = _row_and_column(comment.attrib["ref"])
            author = int(comment.get("authorId", "0"))
            text = "".join(string_of(e) for e in comment if e.tag.endswith("}text"))
            if text.strip() and row <= LAST_ROW and column <= LAST_COLUMN:
                name = authors[author] if 0 <= author < len(authors) else ""
                yield FoundNote(row, column, plain_lines(_THREADED.sub("", text)).strip(), name.strip())


def _row_and_column(address: str) -> tuple[int, int]:
    letters, number = _ADDRESS.fullmatch(address).groups()  # type: ignore[union-attr]
    return int(number) - 1, column_number(letters)


def pictures_of(package: Package, sheets: Collection[str], findings: Findings) -> Iterator[SheetPicture]:
    """Yield the pictures on some sheets; tells what else is placed there, and pictures that cannot be carried."""
    room = LARGEST_PICTURES
    for sheet, part in package.sheets().items():
        if sheet not in sheets:
            continue
        for kind, what in OTHER_ATTACHMENTS.items():
            if package.related(part, kind):
                findings.tell(f"{sheet}: {what} is not carried to the results")
        for picture in _drawn(package, sheet, part, findings):
            if len(picture.content) > room:
                findings.tell(f"{_named(picture)} is not carried to the results: all pictures together are too large")
                continue
            room -= len(picture.content)
            yield picture


def _drawn(package: Package, sheet: str, sheet_part: str, findings: Findings) -> Iterator[SheetPicture]:
    for drawing in package.related(sheet_part, "drawing").values():
        images = package.related(drawing, "image")
        for anchor in package.root(drawing):
            held = next((e for e in anchor if e.tag.endswith("}pic")), None)
            if held is None:
                findings.tell(f"{sheet}: {_what_else(anchor)} is not carried to the results")
                continue
            picture = _picture(package, sheet, anchor, held, images)
            why = "it lies outside the workbook" if picture is None else _why_not(picture.content)
            if picture is None or why:
                findings.tell(f"{sheet}: a picture is not carried to the results: {why}")
            else:
                yield picture


def _what_else(anchor: Element) -> str:
    tags = {e.tag.rpartition("}")[2] for e in anchor}
    return "a chart" if "graphicFrame" in tags else "a group of drawings" if "grpSp" in tags else "a drawn shape"


def _why_not(content: bytes) -> str:
    """Return why a picture cannot be written again, "" where it can."""
    if not content.startswith(CARRIED_PICTURES):
        return "it is no PNG, JPEG, GIF or BMP"
    from xlsxwriter.image import Image

    try:
        Image(BytesIO(content))
    except Exception:  # whatever the picture of a stranger makes of it
        return "it is damaged"
    return ""


def _named(picture: SheetPicture) -> str:
    return (
        f"{picture.sheet}: the picture {picture.description!r}"
        if picture.description
        else f"{picture.sheet}: a picture"
    )


def _picture(
    package: Package, sheet: str, anchor: Element, held: Element, images: dict[str, str]
) -> SheetPicture | None:
    blip = next((e for e in held.iter() if e.tag.endswith("}blip")), None)
    relation = next((v for k, v in (blip.attrib if blip is not None else {}).items() if k.endswith("}embed")), "")
    if relation not in images:
        return None
    start = {e.tag.rpartition("}")[2]: e.text or 0 for e in _child(anchor, "from")}
    position = _child(anchor, "pos")
    x, y = (start.get(f"{name}Off", position.get(axis, 0)) for name, axis in (("col", "x"), ("row", "y")))
    size = next((e for e in (*anchor, *held.iter()) if e.tag.endswith("}ext") and "cx" in e.attrib), Element("none"))
    return SheetPicture(
        sheet, min(int(start.get("row", 0)), LAST_ROW), min(int(start.get("col", 0)), LAST_COLUMN), _pixels(x), _pixels(y),
        _pixels(size.get("cx", 0)), _pixels(size.get("cy", 0)),
        next((e.get("descr", "") for e in held.iter() if e.tag.endswith("}cNvPr")), ""), package.content(images[relation]),
    )  # fmt: skip


def _pixels(emu: str | float) -> float:
    """Return a length in pixels, kept to what a sheet can show."""
    length = float(emu) / EMU_A_PIXEL
    return min(length, LARGEST_SIDE) if length > 0 else 0.0


def _child(element: Element, name: str) -> Element:
    return next((e for e in element if e.tag.endswith("}" + name)), Element("none"))
