"""Hostile files: each is refused in words, fast and in little memory, before anything is unpacked or parsed."""

import os
import re
import struct
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.workbook.reader_workbooks import READINGS_PART, assert_same, demo_workbook, replaced, with_parts
from tests.workbook.reading.forked_reader import read_apart
from tests.workbook.reading.mutations import Parts, packed, parts_of
from tests.workbook.reading.small_package import MAIN, OFFICE, related
from xlsengine.workbook.reading import limits
from xlsengine.workbook.reading.reader import read_bench_test, read_workbook

LONGEST_SECONDS, MOST_MEBIBYTES = 2.0, 300
MEBIBYTE = 2**20


def refusal(path: Path, how: str = "read") -> str:
    """Return what is said about a file that is read, or taken in, within the limits of time and memory."""
    said, seconds, peak = read_apart(path, how)
    assert seconds < LONGEST_SECONDS, f"{said}: {seconds} s"
    assert peak < MOST_MEBIBYTES, f"{said}: {peak} MiB"
    return said.removeprefix(f"{path} cannot be read: ")


def _sheet_of(
    middle: str, times: int, start: str = "<sheetData>", end: str = "</sheetData>"
) -> Callable[[Parts], None]:
    main = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'

    def change(parts: Parts) -> None:
        parts[READINGS_PART] = f"<worksheet {main}>{start}{middle * times}{end}</worksheet>".encode()

    return change


def _added(name: str, content: bytes = b"x") -> Callable[[Parts], None]:
    return lambda parts: parts.update({name: content})


def _doctype(parts: Parts) -> None:
    lines = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    declared = f'<!DOCTYPE x [<!ENTITY e0 "ha">{lines}]>'.encode()
    parts[READINGS_PART] = parts[READINGS_PART].replace(b"<worksheet", declared + b"<worksheet", 1)


def _many_strings(parts: Parts) -> None:
    parts["xl/sharedStrings.xml"] = b"<sst xmlns='x'>" + b"<si><t>a</t></si>" * 4_000_000 + b"</sst>"


HOSTILE: dict[str, tuple[Callable[[Parts], None], str]] = {
    "one row of a million cells": (
        _sheet_of("<c><v>1</v></c>", 1_000_000, "<sheetData><row>", "</row></sheetData>"),
        "holds more than a bench test can",
    ),
    "ten million cells": (_sheet_of("<row>" + "<c/>" * 100 + "</row>", 100_000), "holds more than a bench test can"),
    "a million elements inside each other": (
        _sheet_of("<x>", 1_500_000, "", "</x>" * 1_500_000),
        "holds more than a bench test can",
    ),
    "one text of 100 MiB": (
        _sheet_of("a" * MEBIBYTE, 100, '<sheetData><row><c t="str"><v>', "</v></c></row></sheetData>"),
        "a text in it is longer than any cell can hold",
    ),
    "one text in many comments": (
        _sheet_of("a" * 900_000 + "<!---->", 100, '<sheetData><row><c t="str"><v>', "</v></c></row></sheetData>"),
        "holds more than a bench test can",
    ),
    "texts between rows": (_sheet_of("<row/>" + "a" * 900_000, 100), "it unpacks to"),
    "rows inside a row": (
        _sheet_of("<c/>" * 70 + "<row/>", 50_000, "<sheetData><row>", "</row></sheetData>"),
        "holds more than a bench test can",
    ),
    "elements with twenty thousand attributes": (
        _sheet_of("<x " + " ".join(f'a{n}=""' for n in range(20_000)) + "/>", 400),
        "holds more than a bench test can",
    ),
    "millions of signs written as numbers": (
        _sheet_of("<x>" + "&#65;" * 40_000 + "</x>", 200),
        "holds more than a bench test can",
    ),
    "a comment full of tags": (_sheet_of("<row< ", 15_000_000, "<!--", "-->"), "rows"),
    "a million rows": (_sheet_of("<row><c><v>1</v></c></row>", 1_000_000), "holds more than 100000 rows"),
    "rows in an encoding of its own": (
        lambda parts: parts.update(
            {
                READINGS_PART: parts[READINGS_PART]
                .decode()
                .replace("UTF-8", "UTF-16", 1)
                .replace("<sheetData>", "<sheetData>" + "<row/>" * 500_000)
                .encode("utf-16")
            }
        ),
        "written in an encoding that workbooks are not",
    ),
    "one comment of 100 MiB": (_sheet_of("a" * MEBIBYTE, 100, "<!--", "-->"), "longer than any cell can hold"),
    "a part of 300 MiB": (_sheet_of("<row/>" * 1000, 52_500), "unpack to 300 MiB"),
    "millions of strings": (_many_strings, "parts of it unpack to 64 MiB"),
    "ten levels of entities": (_doctype, "a document type definition"),
    "macros": (_added("xl/vbaProject.bin"), "it holds macros"),
    "macros of old": (_added("xl/macrosheets/sheet1.xml"), "it holds macros"),
    "a path upwards": (_added("xl/../../evil.xml"), "one leads out of the archive"),
    "a path from the root": (_added("/etc/evil.xml"), "one leads out of the archive"),
    "a path of another system": (_added("C:\\evil.xml"), "one leads out of the archive"),
    "names alike but for capitals": (_added("XL/Workbook.xml"), "two are the same"),
    "thousands of parts": (
        lambda parts: parts.update({f"xl/media/{n}.png": b"" for n in range(2001)}),
        "more than 2000 parts",
    ),
    "thousands of sheets": (lambda parts: _sheets(parts, 1000), "more than 300 sheets"),
    "styles of 20 MiB": (
        _added("xl/styles.xml", b"<styleSheet>" + b"<xf/>" * (4 * MEBIBYTE) + b"</styleSheet>"),
        "unpack to 20 MiB",
    ),
}


def _note(text: str) -> Callable[[Parts], None]:
    comments = f'<comments xmlns="{MAIN}"><authors><author/></authors><commentList>'
    comments += f'<comment ref="J7" authorId="0"><text><t>{text}</t></text></comment></commentList></comments>'

    def change(parts: Parts) -> None:
        related(parts, READINGS_PART, "comments", "../odd.xml")
        parts["xl/odd.xml"] = comments.encode()

    return change


def _number_format(code: str) -> Callable[[Parts], None]:
    form = f'<numFmt numFmtId="9{{}}" formatCode="{code}"/>'
    styles = "".join(form.format(n) for n in range(10))

    def change(parts: Parts) -> None:
        parts["xl/styles.xml"] = (
            f'<styleSheet xmlns="{MAIN}"><numFmts>{styles}</numFmts><cellXfs>'
            + "".join(f'<xf numFmtId="9{n % 10}"/>' for n in range(200))
            + "</cellXfs></styleSheet>"
        ).encode()

    return change


def _pictures(content: bytes, anchors: int, more: bytes = b"\0", times: int = 0) -> Callable[[Parts], None]:
    """Place a picture on the sheet Readings on many anchors; `more` follows its content so many times."""
    drawing = "http://schemas.openxmlformats.org/drawingml/2006/"

    def change(parts: Parts) -> None:
        related(parts, READINGS_PART, "drawing", "../odd.xml")
        related(parts, "xl/odd.xml", "image", "media/odd0.jpg")
        parts["xl/media/odd0.jpg"] = content + more * times
        pictures = '<a><pic><blip r:embed="rId700"/></pic></a>' * anchors
        parts["xl/odd.xml"] = f'<wsDr xmlns="{drawing}spreadsheetDrawing" xmlns:r="{OFFICE}">{pictures}</wsDr>'.encode()

    return change


def _text(text: str) -> Callable[[Parts], None]:
    def change(parts: Parts) -> None:
        cell = f'<c r="J6" t="inlineStr"><is><t>{text}</t></is></c>'
        sheet, times = re.subn('<c r="J6"[^>]*>.*?</c>', cell, parts[READINGS_PART].decode(), count=1)
        assert times == 1
        parts[READINGS_PART] = sheet.encode()

    return change


def _led_to_again_and_again(parts: Parts) -> None:
    _note("x" * 200_000)(parts)
    for _ in range(300):
        related(parts, READINGS_PART, "comments", "../odd.xml")


_MARKS = "\u0315\u0300"  # each pair is put in order
SLOW: dict[str, tuple[Callable[[Parts], None], str]] = {
    "a note of openings": (_note("[Threaded comment]" * 14_000), "accepted"),
    "number formats of brackets": (_number_format("[" * 200_000), "accepted"),
    "a picture of zeros": (_pictures(b"\xff\xd8\xff", 1, times=40 * MEBIBYTE), "accepted"),
    "a picture of empty chunks": (_pictures(b"\x89PNG\r\n\x1a\n", 1, times=40 * MEBIBYTE), "accepted"),
    "a picture of endless segments": (_pictures(b"\xff\xd8", 1, b"\xff\xfe\0\x02", times=10 * MEBIBYTE), "accepted"),
    "one refused picture on many anchors": (_pictures(b"II*\0", 5_000, times=40 * MEBIBYTE), "accepted"),
    "many small pictures": (_pictures(b"GIF89a\1\0\1\0" + bytes(40), 20_000), "accepted"),
    "marks on a letter": (_text("a" + _MARKS * 60_000), "sent back"),
    "digits without an end": (_text("1" * 250_000), "sent back"),
    "brackets and digits": (_text("1(" * 120_000), "sent back"),
    "a part that is led to again and again": (_led_to_again_and_again, "accepted"),
}
"""Small packages, within every limit by count, that cost far more than their size before their work was bounded."""


@pytest.mark.parametrize(("change", "said"), SLOW.values(), ids=SLOW)
def test_small_packages_cost_little(change: Callable[[Parts], None], said: str, tmp_path: Path) -> None:
    assert refusal(with_parts(demo_workbook(tmp_path), change)) == said


_TABLE = "Prop,Cells,Volts,Amps,Thrust (g)\n5x4,4,14.8,31,900\n"
_WIDE = "a line of it holds more than 1000 values"
SLOW_TEXTS: dict[str, tuple[Callable[[], str], str]] = {
    "many columns": (lambda: f"{','.join(f'h{n}' for n in range(200_000))}\n{'1,' * 200_000}\n", _WIDE),
    "words of many columns": (
        lambda: "".join(",".join(f"h{n * m}" for n in range(999)) + "\n" for m in range(200)),
        "no header row",
    ),
    "one line of values": (lambda: "ab," * 5_000_000, _WIDE),
    "lines without an end": (lambda: "\n" * 16_000_000, "holds more than 100000 lines"),
    "marks on a letter": (lambda: f"{_TABLE}5x4,4,14.8,a{_MARKS * 200_000},900\n", "took 2"),
    "a header of marks": (lambda: _TABLE.replace("\n", f",a{_MARKS * 200_000}\n", 1), "took 1"),
    "quotation marks": (lambda: '"' * 15_999_999, "a quotation mark before"),
    "columns headed alike": (
        lambda: _TABLE.replace("\n", ",Wind" * 900 + "\n", 1).replace("0\n", "0" + ",1" * 900 + "\n"),
        "took 1",
    ),
}


@pytest.mark.parametrize(("text", "said"), SLOW_TEXTS.values(), ids=SLOW_TEXTS)
def test_text_files_cost_little(text: Callable[[], str], said: str, tmp_path: Path) -> None:
    (tmp_path / "table.csv").write_text(text())
    assert said in refusal(tmp_path / "table.csv", "take in")


@pytest.mark.parametrize("name", ["pipe.csv", "pipe.ods", "pipe.xlsx"])
def test_a_pipe_is_not_waited_for(name: str, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / name)
    assert refusal(tmp_path / name, "take in") == "it is no ordinary file"


@pytest.mark.parametrize(
    ("repeats", "said"),
    [
        (("-2000000000", "2000000100"), "it is damaged"),
        (("1", "2000000000"), "no header row"),
    ],
)
def test_repeats_of_an_opendocument_spreadsheet_are_bounded(
    repeats: tuple[str, str], said: str, tmp_path: Path
) -> None:
    cells = "".join(
        f'<table:table-cell table:number-columns-repeated="{times}" office:value-type="float" office:value="1"/>'
        for times in repeats
    )
    with zipfile.ZipFile(tmp_path / "a.ods", "w") as archive:
        spaces = "".join(
            f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("table", "office")
        )
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("META-INF/manifest.xml", "<manifest/>")
        row = f"<table:table-row>{cells}</table:table-row>"
        table = f'<table:table table:name="a">{row}</table:table>'
        archive.writestr("content.xml", f"<office:spreadsheet{spaces}>{table}</office:spreadsheet>")
    assert said in refusal(tmp_path / "a.ods", "take in")


def test_a_sheet_without_a_relation_is_told(tmp_path: Path) -> None:
    lost = '<sheet name="Lost" sheetId="77"/><sheet name="Gone" sheetId="78" r:id="rId999"/></sheets>'
    path = with_parts(demo_workbook(tmp_path), replaced("xl/workbook.xml", "</sheets>", lost))
    assert read_workbook(path).told == tuple(
        f'the sheet "{name}" holds no cells (its part is missing) and was not read' for name in ("Lost", "Gone")
    )


def _sheets(parts: Parts, number: int) -> None:
    sheets = "".join(f'<sheet name="s{n}" sheetId="{n + 50}" r:id="rId1"/>' for n in range(number))
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(b"</sheets>", sheets.encode() + b"</sheets>")


@pytest.mark.parametrize(("change", "said"), HOSTILE.values(), ids=HOSTILE)
def test_hostile_parts(change: Callable[[Parts], None], said: str, tmp_path: Path) -> None:
    path = with_parts(demo_workbook(tmp_path), change)
    found = refusal(path)
    assert said in found or "it unpacks to" in found


def test_a_name_that_stands_twice(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with warnings.catch_warnings(), zipfile.ZipFile(path, "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr(READINGS_PART, "<worksheet/>")
    assert "two are the same" in refusal(path)


def test_parts_that_lie_over_each_other(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    content = bytearray(path.read_bytes())
    first = content.index(b"PK\x01\x02")
    second = content.index(b"PK\x01\x02", first + 4)
    content[second + 42 : second + 46] = content[first + 42 : first + 46]
    path.write_bytes(content)
    assert "lie over each other" in refusal(path)


def test_a_file_larger_than_any_bench_test(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with path.open("r+b") as stream:
        stream.truncate(limits.LARGEST_FILE + 1)
    assert "MiB large" in refusal(path)


@pytest.mark.parametrize("parts", [limits.MOST_PARTS, 300_000])
def test_a_directory_of_very_many_parts(parts: int, tmp_path: Path) -> None:
    path = tmp_path / "crowded.xlsx"
    content = packed(parts_of(demo_workbook(tmp_path)))
    listed, end = content.index(b"PK\x01\x02"), content.rindex(b"PK\x05\x06")
    length = 46 + sum(struct.unpack("<HHH", content[listed + 28 : listed + 34]))
    many = content[listed : listed + length] * parts + content[listed:end]
    stated = struct.pack("<HHHHLLH", 0, 0, parts % 2**16, parts % 2**16, len(many), listed, 0)
    path.write_bytes(content[:listed] + many + b"PK\x05\x06" + stated)
    assert "more than 2000 parts" in refusal(path)


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_archives_packed_otherwise(method: int, tmp_path: Path) -> None:
    parts = parts_of(demo_workbook(tmp_path))
    with zipfile.ZipFile(tmp_path / "other.xlsx", "w", method) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    assert refusal(tmp_path / "other.xlsx") == "it is packed in a way that workbooks are not"


_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def test_links_to_other_workbooks_are_told_and_not_followed(tmp_path: Path) -> None:
    target = 'Target="externalLinks/externalLink1.xml"'
    relation = f'<Relationship Id="rId900" Type="{_OFFICE}/externalLink" {target}/></Relationships>'

    def link(parts: Parts) -> None:
        replaced("xl/_rels/workbook.xml.rels", "</Relationships>", relation)(parts)
        parts["xl/externalLinks/externalLink1.xml"] = b"<externalLink/>"

    path = demo_workbook(tmp_path)
    test = read_bench_test(path)
    reading = read_workbook(with_parts(path, link))
    assert_same(reading.test, test)
    assert reading.told == (
        "the workbook refers to data outside it, which was not fetched; the values stored in it were taken",
    )


def test_a_table_over_the_whole_sheet_costs_what_its_rows_explain(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with_parts(path, replaced("xl/tables/table1.xml", 'ref="A5:P105"', 'ref="A5:XFD1048576"'))
    assert refusal(path) == "accepted"


def test_the_limits_stand_in_the_reference() -> None:
    text = " ".join((Path(__file__).parents[3] / "xlsengine" / "guide" / "reference.md").read_text().split())
    for limit in (
        f"{limits.LARGEST_FILE // MEBIBYTE} MiB",
        f"{limits.LARGEST_UNPACKED // MEBIBYTE} MiB",
        f"{limits.MOST_PARTS:,} parts",
        f"{limits.SHEETS.size // MEBIBYTE} MiB",
        f"{limits.STRINGS.size // MEBIBYTE} MiB",
        f"{limits.MOST_ROWS:,} readings",
        f"{limits.MOST_OTHER_ROWS:,} other rows",
        f"{limits.MOST_SHEETS} sheets",
        f"{limits.MOST_COLUMNS:,} columns",
        f"{limits.MOST_FAULTS:,} faults",
        f"{limits.LARGEST_TEXT_FILE // MEBIBYTE} MiB",
    ):
        assert limit in text, limit
