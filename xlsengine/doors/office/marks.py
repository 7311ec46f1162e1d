"""Marks of what a check found, in the cells of an open workbook: a note that begins with `MARK`, and a fill.

A note of a person's on the same cell stays, the mark below it. A mark says how the cell was filled before, so that it
goes with its cell wherever that is moved, and is taken off without a trace. Documents and cells are UNO's.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

MARK = "xlsengine ▸"
TO_KNOW = "to know"
"""The kind of what is neither a fault nor a flag, such as how an entry was read: it is listed and marks no cell."""
FILLS = {"fault": 0xF8D3BF, "impossible": 0xF8D3BF, "doubtful": 0xFFE49A, "note": 0xD6E6F2}
_BEFORE = "(fill before: {})"
_FILL = re.compile(r"\(fill before: (none|[0-9A-F]{6})\)\s*$")
_PLACE = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!\$?([A-Z]{1,3})\$?([0-9]+)(?::.*|,.*)?")


class Found(NamedTuple):
    """One thing that a check found: what it is, where, and in words; `sheet` and `cell` are empty where it has no cell."""

    kind: str
    place: str
    sheet: str
    cell: str
    words: str

    @property
    def line(self) -> str:
        """Return it as one line."""
        return ": ".join(filter(None, (self.kind, self.place, self.words)))


def findings(report: Mapping[str, Any]) -> list[Found]:
    """Return what a report of ``check --json`` found in one file, in the order of the command line's `checked_lines`."""
    told = [Found(TO_KNOW, "", *_cell(line.partition(" ")[0]), line) for line in report.get("told", ())]
    faults = [_found("fault", fault, _fault_words(fault)) for fault in report.get("faults", ())]
    flags = [_found(flag["severity"], flag, _flag_words(flag)) for flag in report.get("flags", ())]
    return [*told, *faults] if faults else [*flags, *told]


def _found(kind: str, said: Mapping[str, str], words: str) -> Found:
    return Found(kind, f"{said['place']} {said['label']}".strip(), *_cell(said["place"]), words)


def _cell(place: str) -> tuple[str, str]:
    """Return the sheet and the cell of a place, the first one of several; empty texts for one without a cell."""
    match = _PLACE.fullmatch(place.rstrip(":,"))
    return ((match[1] or match[2]).replace("''", "'"), f"{match[3]}{match[4]}") if match else ("", "")


def _fault_words(fault: Mapping[str, str]) -> str:
    return f"found {fault['found']}; wanted {fault['wanted']}; {fault['fix']}"


def _flag_words(flag: Mapping[str, str]) -> str:
    """Say what the command line says of a flag, but for the cell."""
    if not flag["fix"]:
        return f"{flag['what']}; {flag['cause']}"
    found = flag["found"][:-1] if flag["found"].endswith(".") else flag["found"]
    return f"{flag['seen_with']}: {flag['what']}; {found}; expected {flag['expected']}. {flag['fix']}"


# --- in the workbook ---------------------------------------------------------------------------------------------


def put_marks(book: Any, found: Sequence[Found]) -> int:
    """Mark the cells of what was found; returns how many were marked. What has no cell in this workbook is left."""
    by_cell: dict[tuple[str, str], list[Found]] = {}
    for each in found:
        if each.cell and each.kind != TO_KNOW and book.Sheets.hasByName(each.sheet):
            by_cell.setdefault((each.sheet, each.cell), []).append(each)
    for (sheet, cell), here in by_cell.items():
        _mark(book.Sheets.getByName(sheet), cell, here)
    return len(by_cell)


def _mark(sheet: Any, name: str, here: Sequence[Found]) -> None:
    cell = sheet.getCellRangeByName(name)
    before = "none" if cell.CellBackColor == -1 else f"{cell.CellBackColor & 0xFFFFFF:06X}"
    words = "\n".join(f"{each.kind}: {each.words}" for each in here)
    text = f"{MARK} {words}\n{_BEFORE.format(before)}"
    note = next((note for note in _notes(sheet) if _at(note) == _place(cell)), None)
    if note is None:
        sheet.Annotations.insertNew(cell.CellAddress, text)
    else:
        note.setString(f"{note.getString()}\n{text}")
    cell.CellBackColor = FILLS.get(here[0].kind, FILLS["note"])


def take_marks_off(book: Any) -> int:
    """Take every mark off, and give each cell its fill again; returns how many there were. A person's notes stay."""
    taken = 0
    for sheet, note in marked(book):
        text = note.getString()
        place, own = note.Position, text[: text.index(MARK)].rstrip("\n")
        fill = _FILL.search(text)
        if fill:
            cell = sheet.getCellByPosition(place.Column, place.Row)
            cell.CellBackColor = -1 if fill[1] == "none" else int(fill[1], 16)
        if own:
            note.setString(own)
        else:
            _remove(sheet, note)
        taken += 1
    return taken


def marked(book: Any) -> Iterator[tuple[Any, Any]]:
    """Yield sheet and note of every mark, sheet by sheet and row by row."""
    for number in range(book.Sheets.Count):
        sheet = book.Sheets.getByIndex(number)
        ours = [note for note in _notes(sheet) if MARK in note.getString()]
        yield from ((sheet, note) for note in sorted(ours, key=lambda note: (note.Position.Row, note.Position.Column)))


def neighbour(book: Any, here: tuple[int, int, int], step: int) -> Any:
    """Return the marked cell behind (`step` 1) or before (-1) a place: sheet, row, column; round the end to the other.

    None where nothing is marked.
    """
    cells = {
        (note.Position.Sheet, note.Position.Row, note.Position.Column): sheet.getCellByPosition(
            note.Position.Column, note.Position.Row
        )
        for sheet, note in marked(book)
    }
    beyond = [place for place in cells if (place > here if step > 0 else place < here)]
    if not cells:
        return None
    nearest = min if step > 0 else max
    return cells[nearest(beyond or cells)]


def _notes(sheet: Any) -> list[Any]:
    return [sheet.Annotations.getByIndex(number) for number in range(sheet.Annotations.Count)]


def _remove(sheet: Any, note: Any) -> None:
    wanted = _at(note)
    for number, each in enumerate(_notes(sheet)):
        if _at(each) == wanted:
            sheet.Annotations.removeByIndex(number)
            return


def _at(note: Any) -> tuple[int, int]:
    return note.Position.Row, note.Position.Column


def _place(cell: Any) -> tuple[int, int]:
    return cell.CellAddress.Row, cell.CellAddress.Column
