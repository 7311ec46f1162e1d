"""Telling in plain words what a file is that is no .xlsx workbook, and how to make it one."""

import zipfile
from pathlib import Path
from typing import IO

COMPOUND_FILE = bytes.fromhex("D0CF11E0A1B11AE1")
ZIP_PART = b"PK\x03\x04"
ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
LOOKED_THROUGH = 16 * 2**20
SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"
TAKE_IN = "take its table into an input workbook (xlsengine template --from FILE)"
SAVE_AS_OR_TAKE_IN = f"{SAVE_AS}, or, where it never was an input workbook, {TAKE_IN}"
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


def what_it_is(path: Path, stream: IO[bytes]) -> str:
    """Return why an open file is no .xlsx workbook, with the fix; "" where it is a zip archive that may be one."""
    head = stream.read(8)
    if not head:
        return "the file is empty; save the workbook again, or copy it again from where it came"
    if path.name.startswith("~$"):
        return "it is a spreadsheet program's lock file; name the workbook itself, without the leading ~$"
    if head == COMPOUND_FILE:
        return _compound(stream)
    if zipfile.is_zipfile(stream):
        return _other_archive(stream)
    if head.startswith(ZIP_PART):
        return "the file breaks off or is damaged; copy it again from where it came"
    return _by_ending(path, head)


def _compound(stream: IO[bytes]) -> str:
    if ENCRYPTED in stream.read(LOOKED_THROUGH):
        return "it is encrypted; remove the password in a spreadsheet program and save it again as .xlsx"
    return f"it is an old .xls workbook; {SAVE_AS_OR_TAKE_IN}"


def _other_archive(stream: IO[bytes]) -> str:
    with zipfile.ZipFile(stream) as archive:
        names = archive.namelist()
    if "xl/workbook.bin" in names:
        return f"it is a binary .xlsb workbook; {SAVE_AS_OR_TAKE_IN}"
    if "content.xml" in names and "mimetype" in names:
        return f"it is an OpenDocument file such as .ods; {SAVE_AS_OR_TAKE_IN}"
    return ""


def _by_ending(path: Path, head: bytes) -> str:
    kind = "a PDF" if head.startswith(b"%PDF") else _BY_ENDING.get(path.suffix.lower(), "no .xlsx workbook")
    return f"it is {kind}; {TAKE_IN if path.suffix.lower() in _TAKEN_IN else SAVE_AS}"
