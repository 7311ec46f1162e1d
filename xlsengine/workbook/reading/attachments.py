"""Notes and pictures in the parts of a package. Names follow ECMA-376 part 1, DrawingML and SpreadsheetML."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import NamedTuple
from xml.etree.ElementTree import Element

from xlsengine.bench.inputs.bench_test import plain_lines
from xlsengine.bench.inputs.extras import SheetPicture
from xlsengine.workbook.reading.cells import LAST_COLUMN, LAST_ROW, row_and_column, unescaped
from xlsengine.workbook.reading.findings import Findings
from xlsengine.workbook.reading.package import MEBIBYTE, Package

EMU_A_PIXEL = 9525
LARGEST_PICTURES, MOST_PICTURES = 64 * MEBIBYTE, 1000
LARGEST_SIDE = 20_000.0
CARRIED_PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"GIF8", b"BM")
"""What the contents of PNG, JPEG, GIF and BMP pictures begin with."""
OTHER_ATTACHMENTS = {
    "image": "a picture behind the cells",
    "oleObject": "an embedded object",
    "package": "an embedded file",
    "control": "a form control",
    "pivotTable": "a pivot table",
}
# What Excel puts at the start of a threaded comment for programs that know only notes (from memory).
_THREADED = re.compile(r"\s*\[Threaded comment\].*?\n(?:Comment|Kommentar|Commentaire)\s?:", re.DOTALL)
BUTTON_MARK = "xlsengine ▸"
"""What begins a mark that the button in LibreOffice puts into a note; it and what follows is nobody's note."""
_MOST_PIECES, _PIECE = 1000, 4096  # of a picture, and more by its size: no program writes smaller ones throughout


@dataclass(frozen=True)
class FoundNote:
    """A note on a cell, row and column counted from 0."""

    row: int
    column: int
    text: str
    author: str


def notes_of(package: Package, sheet_part: str) -> Iterator[FoundNote]:
    """Yield the notes on a sheet."""
    for part in dict.fromkeys(package.related(sheet_part, "comments").values()):
        root = package.root(part)
        authors = [e.text or "" for e in root.iterfind("{*}authors/{*}author")]
        for comment in root.iterfind("{*}commentList/{*}comment"):
            row, column = row_and_column(comment.attrib["ref"])
            author = int(comment.get("authorId", "0"))
            text = _own_text(unescaped("".join(e.text or "" for e in comment.iterfind("{*}text//{*}t"))))
            if text and row <= LAST_ROW and column <= LAST_COLUMN:
                name = authors[author] if 0 <= author < len(authors) else ""
                yield FoundNote(row, column, text, name.strip())


def _own_text(text: str) -> str:
    """Return what a person wrote: without the preface of a threaded comment, and without a mark of the button's."""
    own, preface = text.partition(BUTTON_MARK)[0], _THREADED.match(text)
    return plain_lines(own[preface.end() :] if preface else own).strip()


def pictures_of(package: Package, sheets: Collection[str], findings: Findings) -> Iterator[SheetPicture]:
    """Yield the pictures on some sheets; tells what else is placed there, and pictures that cannot be carried.

    Of each picture's part it is found out once whether it can be, whatever the number of its places.
    """
    media: dict[str, _Media] = {}
    placed = 0
    for sheet, part in package.sheets().items():
        if sheet not in sheets:
            continue
        for kind, what in OTHER_ATTACHMENTS.items():
            if package.related(part, kind):
                findings.tell(f"{sheet}: {what} is not carried to the results")
        refused: Counter[str] = Counter()
        for picture in _drawn(package, sheet, part, media, refused):
            placed += 1
            if placed <= MOST_PICTURES:
                yield picture
            else:
                refused[f"{sheet}: a picture is not carried to the results: there are too many"] += 1
        for told, times in refused.items():
            findings.tell(told if times == 1 else f"{told} ({times} times)")


class _Media(NamedTuple):
    """The content of a picture's part, or why it is not carried, and how many bytes were read to know."""

    content: bytes
    why_not: str
    read: int = 0


def _drawn(
    package: Package, sheet: str, sheet_part: str, media: dict[str, _Media], refused: Counter[str]
) -> Iterator[SheetPicture]:
    for drawing in dict.fromkeys(package.related(sheet_part, "drawing").values()):
        images = package.related(drawing, "image")
        for anchor in package.root(drawing):
            held = anchor.find("{*}pic")
            if held is None:
                refused[f"{sheet}: {_what_else(anchor)} is not carried to the results"] += 1
                continue
            part = images.get(_relation(held), "")
            if part not in media:
                media[part] = _media(package, part, sum(one.read for one in media.values()))
            if media[part].why_not:
                refused[f"{sheet}: a picture is not carried to the results: {media[part].why_not}"] += 1
            else:
                yield _picture(sheet, anchor, held, media[part].content)


def _media(package: Package, part: str, read: int) -> _Media:
    """Read a picture's part, unless it is too large to be carried, or too large with those that were read."""
    if not part:
        return _Media(b"", "it lies outside the workbook")
    if package.size(part) + read > LARGEST_PICTURES:
        return _Media(b"", "all pictures together are too large")
    content = package.content(part)
    why_not = _why_not(content)
    return _Media(b"" if why_not else content, why_not, len(content))


def _relation(held: Element) -> str:
    blip = held.find(".//{*}blip")
    return next((v for k, v in (blip.attrib if blip is not None else {}).items() if k.endswith("}embed")), "")


def _what_else(anchor: Element) -> str:
    tags = {e.tag.rpartition("}")[2] for e in anchor}
    return "a chart" if "graphicFrame" in tags else "a group of drawings" if "grpSp" in tags else "a drawn shape"


def _why_not(content: bytes) -> str:
    """Return why a picture cannot be written again, "" where it can."""
    if not content.startswith(CARRIED_PICTURES):
        return "it is no PNG, JPEG, GIF or BMP"
    if not _is_soon_understood(content):
        return "it is damaged"
    from xlsxwriter.image import Image

    try:
        Image(BytesIO(content))
    except Exception:  # whatever the picture of a stranger makes of it
        return "it is damaged"
    return ""


def _is_soon_understood(content: bytes) -> bool:
    """Tell whether a PNG or JPEG picture states its size within its first pieces, as all that are sound do.

    PNG: chunks that state their length, the first being the header (ISO/IEC 15948, 5.6). JPEG: segments that do, up to the
    data (ITU-T T.81, annex B); whoever looks for the size goes through them one by one.
    """
    is_png = content.startswith(CARRIED_PICTURES[0])
    if not is_png and not content.startswith(CARRIED_PICTURES[1]):
        return True
    place = 8 if is_png else 2
    for _ in range(_MOST_PIECES + len(content) // _PIECE):
        head = content[place : place + 8]
        if head[4:] in (b"IEND", b"") if is_png else head[:2] == b"\xff\xda":
            return not is_png or content[12:16] == b"IHDR"
        length = int.from_bytes(head[:4]) + 12 if is_png else int.from_bytes(head[2:4]) + 2
        if not is_png and (head[:1] != b"\xff" or length < 4):
            return False
        place += length
    return False


def _picture(sheet: str, anchor: Element, held: Element, content: bytes) -> SheetPicture:
    nothing = Element("none")
    start = {e.tag.rpartition("}")[2]: e.text or 0 for e in anchor.iterfind("{*}from/*")}
    position = nothing if (found := anchor.find("{*}pos")) is None else found
    x, y = (start.get(f"{name}Off", position.get(axis, 0)) for name, axis in (("col", "x"), ("row", "y")))
    size = next((e for e in (*anchor.iterfind("{*}ext"), *held.iterfind(".//{*}ext")) if "cx" in e.attrib), nothing)
    described = held.find(".//{*}cNvPr")
    return SheetPicture(
        sheet,
        min(int(start.get("row", 0)), LAST_ROW),
        min(int(start.get("col", 0)), LAST_COLUMN),
        _pixels(x),
        _pixels(y),
        _pixels(size.get("cx", 0)),
        _pixels(size.get("cy", 0)),
        "" if described is None else described.get("descr", ""),
        content,
    )


def _pixels(emu: str | float) -> float:
    """Return a length in pixels, kept to what a sheet can show."""
    length = float(emu) / EMU_A_PIXEL
    return min(length, LARGEST_SIDE) if length > 0 else 0.0
