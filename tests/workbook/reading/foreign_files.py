"""Whole files that this engine did not write: strange packages packed in strange ways, and files that are no package."""

import io
import random
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO

import openpyxl
import pandas as pd
import xlsxwriter

from tests.workbook.reading.foreign_parts import CHANGES
from tests.workbook.reading.mutations import Parts, packed, parts_of
from tests.workbook.reading.small_package import HEADERS, plain_parts

ROWS = (("5x4.3x3", 14.8, 31.5, 1044), ("5x4.3x3", 11.1, 21.5, 744), ("6x4", 11.1, 25.5, 844))


def openpyxl_parts() -> Parts:
    """Return the parts of a workbook with a plain table of readings, saved by openpyxl."""
    held, book = io.BytesIO(), openpyxl.Workbook()
    for row in (HEADERS, *ROWS):
        book.worksheets[0].append(row)
    book.save(held)
    return _parts(held)


def xlsxwriter_parts() -> Parts:
    """Return the like, saved by XlsxWriter."""
    held = io.BytesIO()
    with xlsxwriter.Workbook(held) as book:
        sheet = book.add_worksheet("Runs")
        for number, row in enumerate((HEADERS, *ROWS)):
            sheet.write_row(number, 0, row)
    return _parts(held)


def pandas_parts() -> Parts:
    """Return the like, saved by pandas."""
    held = io.BytesIO()
    pd.DataFrame(ROWS, columns=list(HEADERS)).to_excel(held, sheet_name="Readings")
    return _parts(held)


def _parts(held: IO[bytes]) -> Parts:
    with zipfile.ZipFile(held) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def ironcalc_parts(path: Path, folder: Path) -> Parts:
    """Return the parts of a workbook as IronCalc saves it."""
    import ironcalc

    ironcalc.load_from_xlsx(str(path), "en", "UTC", "en").save_to_xlsx(str(folder / "iron.xlsx"))
    return parts_of(folder / "iron.xlsx")


FOREIGN: dict[str, Callable[[], Parts]] = {
    "by hand": plain_parts,
    "openpyxl": openpyxl_parts,
    "XlsxWriter": xlsxwriter_parts,
    "pandas": pandas_parts,
}


class _NoWayBack(io.RawIOBase):
    """A stream that cannot go back: zip archives written to it state sizes behind their parts."""

    def __init__(self) -> None:
        self.content = bytearray()

    def writable(self) -> bool:
        return True

    def write(self, content: bytes) -> int:  # type: ignore[override]
        self.content += content
        return len(content)


def _zipped(method: int, level: int | None = None) -> Callable[[Parts], bytes]:
    def pack(parts: Parts) -> bytes:
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w", method, compresslevel=level) as archive:
            for name, content in parts.items():
                archive.writestr(name, content)
        return held.getvalue()

    return pack


def _with_descriptors(parts: Parts) -> bytes:
    held = _NoWayBack()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return bytes(held.content)


def _in_long_form(parts: Parts) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            with archive.open(name, "w", force_zip64=True) as part:
                part.write(content)
    return held.getvalue()


def _of_method(method: int) -> Callable[[Parts], bytes]:
    """State a method in every directory entry and header, whatever the parts are packed by."""

    def pack(parts: Parts) -> bytes:
        content = bytearray(packed(parts))
        for mark, offset in ((b"PK\x01\x02", 10), (b"PK\x03\x04", 8)):
            place = content.find(mark)
            while place >= 0:
                content[place + offset : place + offset + 2] = method.to_bytes(2, "little")
                place = content.find(mark, place + 4)
        return bytes(content)

    return pack


def _with_folders(parts: Parts) -> bytes:
    return packed({"xl/": b"", "_rels/": b"", **parts})


def _with_a_comment(parts: Parts) -> bytes:
    held = io.BytesIO(packed(parts))
    with zipfile.ZipFile(held, "a") as archive:
        archive.comment = b"PK\x05\x06 an odd comment " * 20
    return held.getvalue()


PACKINGS: dict[str, Callable[[Parts], bytes]] = {
    "deflated": _zipped(zipfile.ZIP_DEFLATED),
    "deflated hard": _zipped(zipfile.ZIP_DEFLATED, 9),
    "stored": packed,
    "bzip2": _zipped(zipfile.ZIP_BZIP2),
    "lzma": _zipped(zipfile.ZIP_LZMA),
    "with descriptors": _with_descriptors,
    "in long form": _in_long_form,
    "deflate64": _of_method(9),
    "an unknown method": _of_method(77),
    "with folders": _with_folders,
    "with a comment": _with_a_comment,
    "behind noise": lambda parts: b"noise" + packed(parts),
    "with a tail": lambda parts: packed(parts) + bytes(100),
    "without its end": lambda parts: packed(parts)[:-30],
}
_ROW_TEXT = "Prop;Volts;Amps;Thrust (g)\r\n5x4;14,8;31,5;1044\r\n"
_OLD_XML = (
    '<?xml version="1.0"?><?mso-application progid="Excel.Sheet"?><Workbook xmlns="urn:schemas-microsoft-com:office:'
    'spreadsheet"><Worksheet><Table><Row><Cell><Data>5</Data></Cell></Row></Table></Worksheet></Workbook>'
)
_FLAT = (
    '<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"><office:body/></office:document>'
)
_WEB = "<html><body><table><tr><td>Prop</td></tr></table></body></html>"
TEXTS: dict[str, bytes] = {
    "values.csv": _ROW_TEXT.encode(),
    "values.xlsx": _ROW_TEXT.encode(),
    "values.xls": _ROW_TEXT.encode("utf-16"),
    "utf16.csv": _ROW_TEXT.encode("utf-16"),
    "utf16le.csv": _ROW_TEXT.encode("utf-16-le"),
    "bom.csv": _ROW_TEXT.encode("utf-8-sig"),
    "utf32.csv": _ROW_TEXT.encode("utf-32"),
    "mac.csv": _ROW_TEXT.replace("\r\n", "\r").encode(),
    "nulls.csv": bytes(500),
    "one line.csv": b"5" * 500_000,
    "quotes.csv": b'"' * 9999,
    "quoted.csv": b'Prop,Volts,Amps,Thrust (g)\n"5x4\n',
    "spaces.txt": b" \n" * 5000,
    "web.xls": _WEB.encode(),
    "web.xlsx": _WEB.encode(),
    "web.html": _WEB.encode(),
    "web.csv": _WEB.encode(),
    "mht.xls": b"MIME-Version: 1.0\r\nContent-Type: multipart/related\r\n",
    "old.xml": _OLD_XML.encode(),
    "old.xls": _OLD_XML.encode(),
    "old.xlsx": _OLD_XML.encode(),
    "flat.fods": _FLAT.encode(),
    "flat.xlsx": _FLAT.encode(),
    "notes.rtf": b"{\\rtf1 odd}",
    "page.pdf": b"%PDF-1.7\n",
    "page.xlsx": b"%PDF-1.7\n",
    "picture.png": b"\x89PNG\r\n\x1a\n",
    "picture.xlsx": b"\xff\xd8\xff\xe0",
    "packed.gz": b"\x1f\x8b\x08\x00",
    "packed.xlsx": b"\x1f\x8b\x08\x00",
    "packed.7z": b"7z\xbc\xaf\x27\x1c",
    "rar.xlsx": b"Rar!\x1a\x07\x00",
    "data.json": b"{}",
    "data.xlsx": b"{}",
    "lotus.wk1": b"\x00\x00\x02\x00\x06\x04",
    "sylk.slk": b"ID;PWXL;N;E\r\n",
    "dif.dif": b"TABLE\r\n0,1\r\n",
    "base.dbf": b"\x03\x7e\x01\x01" + bytes(60),
    "empty.xlsx": b"",
    "empty.ods": b"",
    "empty.csv": b"",
    "line.csv": b"\n",
    "old2.xls": b"\x09\x00\x04\x00\x07\x00\x10\x00",
    "old4.xls": b"\x09\x04\x06\x00\x00\x00\x10\x00",
    "compound.xls": bytes.fromhex("D0CF11E0A1B11AE1") + bytes(2000),
    "compound.xlsx": bytes.fromhex("D0CF11E0A1B11AE1"),
    "locked.xlsx": bytes.fromhex("D0CF11E0A1B11AE1") + bytes(99) + "EncryptedPackage".encode("utf-16-le"),
    "~$locked.xlsx": b"\x06tester" + bytes(158),
    "cut.xlsx": b"PK\x03\x04\x14\x00\x06\x00",
    "end.xlsx": b"PK\x05\x06" + bytes(18),
    "end.ods": b"PK\x05\x06" + bytes(18),
    "noise.xlsx": bytes(range(256)) * 40,
    "noise.ods": bytes(range(256)) * 40,
    "noise.csv": bytes(range(256)) * 40,
    "имя файла.xlsx": b"x",
    "文件.csv": "螺旋桨,电压\n5x4,3\n".encode("gb18030"),
    "name without ending": b"x",
    "dots.xlsx.csv.xlsx": b"x",
    "semicolons.txt": b";;;;\n" * 3000,
    "wide.csv": b"1," * 20_000,
    "nulls.ods": bytes(3000),
    "text.ods": b"Prop,Volts",
}


def packages(bases: dict[str, Parts], seed: int, number: int) -> Iterator[tuple[str, bytes]]:
    """Yield named files: every base with every change, every base in every packing, then mixtures by chance."""
    for base, parts in bases.items():
        for name in CHANGES:
            yield f"{base}, {name}", PACKINGS["deflated"](_mixed(parts, [name]))
        for name, pack in PACKINGS.items():
            yield f"{base}, {name}", pack(parts)
    chance = random.Random(seed)
    for _ in range(number):
        base, packing = chance.choice(list(bases)), chance.choice(["deflated", "stored", *PACKINGS])
        names = chance.sample(list(CHANGES), chance.randint(2, 4))
        yield f"{base}, {', '.join(names)}, {packing}", PACKINGS[packing](_mixed(bases[base], names))


def _mixed(parts: Parts, names: list[str]) -> Parts:
    mixed = dict(parts)
    for name in names:
        CHANGES[name](mixed)
    return mixed
