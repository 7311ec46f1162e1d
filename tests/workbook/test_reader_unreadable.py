"""Files that are no workbook, or a damaged one: one plain sentence each, and never a traceback."""

import os
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.workbook.reader_workbooks import (
    READINGS_PART,
    READINGS_TABLE,
    demo_workbook,
    part_with,
    replaced,
    with_cell,
    with_parts,
)
from xlsengine.errors import WorkbookUnreadable
from xlsengine.workbook.reading.reader import read_workbook

COMPOUND = bytes.fromhex("D0CF11E0A1B11AE1")
SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"
TAKE_IN = "take its table into a new workbook (xlsengine template --from FILE)"
SAVE_AS_OR_TAKE_IN = f"{SAVE_AS}, or, where it is a plain table, {TAKE_IN}"
DAMAGED = "the workbook is damaged; open it in a spreadsheet program, let it repair the file, and save it as .xlsx"


def why(path: Path) -> str:
    """Return what is said about a file that cannot be read, without its name."""
    with pytest.raises(WorkbookUnreadable) as caught:
        read_workbook(path)
    start = f"{path} cannot be read: "
    assert str(caught.value).startswith(start)
    return str(caught.value).removeprefix(start)


# (file name, content, what is said)
FILES = (
    ("empty.xlsx", b"", "the file is empty; save the workbook again, or copy it again from where it came"),
    ("old.xls", COMPOUND + bytes(600), f"it is an old .xls workbook; {SAVE_AS_OR_TAKE_IN}"),
    ("old.xlsx", COMPOUND + bytes(600), f"it is an old .xls workbook; {SAVE_AS_OR_TAKE_IN}"),
    (
        "locked.xlsx",
        COMPOUND + bytes(512) + "EncryptedPackage".encode("utf-16-le"),
        "it is encrypted; remove the password in a spreadsheet program and save it again as .xlsx",
    ),
    ("readings.csv", b"Run,Prop\n1,a\n", f"it is a text file with separated values; {TAKE_IN}"),
    ("readings.tsv", b"Run\tProp\n", f"it is a text file with separated values; {TAKE_IN}"),
    ("readings.xlsx", b"Run,Prop\n1,a\n", f"it is no .xlsx workbook; {SAVE_AS}"),
    ("report.pdf", b"%PDF-1.7 ...", f"it is a PDF; {SAVE_AS}"),
    ("page.html", b"<html></html>", f"it is a web page; {SAVE_AS}"),
    (
        "~$bench.xlsx",
        b"\x05tester",
        "it is a spreadsheet program's lock file; name the workbook itself, without the leading ~$",
    ),
    ("cut.xlsx", b"PK\x03\x04 and no more", "the file breaks off or is damaged; copy it again from where it came"),
    ("noise.xlsx", bytes(range(256)) * 8, f"it is no .xlsx workbook; {SAVE_AS}"),
)


@pytest.mark.parametrize(("name", "content", "said"), FILES, ids=[name for name, _, _ in FILES])
def test_files_of_other_kinds(name: str, content: bytes, said: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert why(path) == said


def _archive(path: Path, parts: dict[str, str]) -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


_RELATIONS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" '
    'Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="{}"/>'
    "</Relationships>"
)
ARCHIVES: tuple[tuple[dict[str, str], str], ...] = (
    ({}, "it is a zip archive without a workbook inside"),
    ({"photo.txt": "no"}, "it is a zip archive without a workbook inside"),
    (
        {"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<a/>"},
        f"it is an OpenDocument file such as .ods; {SAVE_AS_OR_TAKE_IN}",
    ),
    ({"xl/workbook.bin": "", "_rels/.rels": "<a/>"}, f"it is a binary .xlsb workbook; {SAVE_AS_OR_TAKE_IN}"),
    (
        {"_rels/.rels": _RELATIONS.format("word/document.xml"), "word/document.xml": '<w:document xmlns:w="urn:w"/>'},
        "it holds another kind of document, not a workbook",
    ),
    ({"_rels/.rels": _RELATIONS.format("xl/workbook.xml")}, DAMAGED),
    ({"_rels/.rels": "<Relationships"}, DAMAGED),
)


@pytest.mark.parametrize(("parts", "said"), ARCHIVES)
def test_zip_archives_of_other_kinds(parts: dict[str, str], said: str, tmp_path: Path) -> None:
    assert why(_archive(tmp_path / "archive.xlsx", parts)) == said


def test_what_is_no_file(tmp_path: Path) -> None:
    assert why(tmp_path / "gone.xlsx") == "there is no such file"
    assert why(tmp_path) == "it is a folder; name the workbook inside it"
    assert why(Path("/dev/null")) == "it is no ordinary file"
    assert why(tmp_path / ("long" * 100)) == "File name too long"
    assert why(tmp_path / "nul\0.xlsx") == "embedded null byte"
    assert why(demo_workbook(tmp_path) / "x.xlsx") == "Not a directory"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.xlsx")
    assert why(tmp_path / "pipe.xlsx") == "it is no ordinary file"


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = demo_workbook(tmp_path)
    monkeypatch.setattr(Path, "open", refuse)
    assert why(path) == "there is no permission to read it, or it is locked by another program"


# --- looked over before it is unpacked


def test_a_part_under_a_password(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    content = bytearray(path.read_bytes())
    entry = content.index(b"PK\x01\x02")
    content[entry + 8] |= 1
    path.write_bytes(content)
    assert why(path) == "it is protected by a password; remove the password and save it again"


@pytest.mark.parametrize(("mebibytes", "refused"), [(40, False), (60, True), (210, True)])
def test_archives_that_unpack_to_far_more(mebibytes: int, refused: bool, tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive, archive.open("junk.bin", "w") as part:
        for _ in range(mebibytes):
            part.write(bytes(2**20))
    if refused:
        assert re.fullmatch(r"it unpacks to \d+ MiB, more than a bench test can hold", why(path))
    else:
        assert read_workbook(path).faults == ()


_DOCTYPE = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
_PARTS = (
    "_rels/.rels",
    "xl/workbook.xml",
    READINGS_PART,
    "xl/sharedStrings.xml",
    "xl/styles.xml",
    "xl/tables/table1.xml",
    "docProps/custom.xml",
    "xl/worksheets/_rels/sheet2.xml.rels",
)


@pytest.mark.parametrize("part", _PARTS)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_document_type_definition_is_refused_in_every_part(part: str, encoding: str, tmp_path: Path) -> None:
    def smuggle(parts: dict[str, bytes]) -> None:
        body = parts[part].decode().partition("?>")[2]
        text = f'<?xml version="1.0" encoding="{encoding}"?><!-- {"x" * 5000} -->{_DOCTYPE}{body}'
        parts[part] = text.encode(encoding)

    said = why(with_parts(demo_workbook(tmp_path), smuggle))
    assert said == "a part of it holds a document type definition, which no workbook needs"


# --- damaged


def _truncated(parts: dict[str, bytes]) -> None:
    parts[READINGS_PART] = parts[READINGS_PART][:5000]


def _without(part: str) -> Callable[[dict[str, bytes]], None]:
    def remove(parts: dict[str, bytes]) -> None:
        del parts[part]

    return remove


DAMAGES: dict[str, Callable[[dict[str, bytes]], None]] = {
    "sheet cut off": _truncated,
    "sheet missing": _without(READINGS_PART),
    "table missing": _without(READINGS_TABLE),
    "styles of another kind": lambda parts: parts.update({"xl/styles.xml": b"\xff\xfe\x00"}),
    "no such string": replaced(READINGS_PART, 't="s"><v>', 't="s"><v>99999'),
    "no such column": replaced(READINGS_PART, 'r="B6"', 'r="6"'),
    "no such row": replaced(READINGS_PART, '<row r="6"', '<row r="six"'),
    "no range": replaced(READINGS_TABLE, " ref=", " off="),
    "odd range": replaced(READINGS_TABLE, 'ref="A5:P105"', 'ref="??"'),
    "unknown encoding": replaced("xl/workbook.xml", 'encoding="UTF-8"', 'encoding="klingon"'),
}


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_damaged_parts(damage: Callable[[dict[str, bytes]], None], tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    assert part_with(path, 'name="Readings" displayName') == READINGS_TABLE
    assert why(with_parts(path, damage)) == DAMAGED


def test_a_number_that_is_none_is_a_fault_of_its_cell(tmp_path: Path) -> None:
    reading = read_workbook(with_cell(demo_workbook(tmp_path), "I6", "><v>12.04.1</v>"))
    assert [fault.place for fault in reading.faults] == ["Readings!I6"]
    assert reading.faults[0].found == '"12.04.1"'


def test_a_package_cut_off_at_any_length(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    content = path.read_bytes()
    for length in range(1, len(content), len(content) // 40):
        path.write_bytes(content[:length])
        assert why(path)


def test_a_part_whose_packed_bytes_are_damaged(tmp_path: Path) -> None:
    path = demo_workbook(tmp_path)
    with zipfile.ZipFile(path) as archive:
        sheet = archive.getinfo(READINGS_PART)
    content = bytearray(path.read_bytes())
    middle = sheet.header_offset + 30 + len(sheet.filename) + sheet.compress_size // 2
    content[middle : middle + 40] = bytes(40)
    path.write_bytes(content)
    assert why(path) == DAMAGED
