"""Reading what a workbook holds beyond its declared cells: columns of its sender's own, notes, pictures.

What can be carried to the next workbook is returned; what cannot is told, never lost in silence.
"""

import math
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from xlsengine.bench.advice import craft_propellers as flown
from xlsengine.bench.advice.craft_answers import GONE_TITLES, TITLES
from xlsengine.bench.advice.suits import HEADS
from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs.bench_test import LONGEST_HEADER, looks_like_markup, plain_lines
from xlsengine.bench.inputs.extras import CellNote, Extras, ExtraValue, extra_name
from xlsengine.bench.model import FIGURE_QUANTITIES
from xlsengine.cautions import SHEET_CAUTIONS
from xlsengine.workbook.formats import writable_header
from xlsengine.workbook.layout import (
    NEEDED_MARK,
    READINGS_HINT,
    READINGS_KEY,
    SHEETS,
    TITLE_ROWS,
    cell_address,
    column_letters,
    is_written,
    quoted,
)
from xlsengine.workbook.reading.area_reader import Position
from xlsengine.workbook.reading.attachments import FoundNote, notes_of, pictures_of
from xlsengine.workbook.reading.cells import ErrorValue, Formula, Found, Grid, Percent, Stored, Unstored, content_of
from xlsengine.workbook.reading.contents import Contents
from xlsengine.workbook.reading.findings import Findings, counted, key
from xlsengine.workbook.reading.package import Area, Package, open_package
from xlsengine.workbook.reading.typed_values import shown
from xlsengine.workbook.reading.versions import GONE_TEXTS

_OURS = frozenset((None, NEEDED_MARK, READINGS_HINT, *READINGS_KEY, *SHEET_CAUTIONS.values(), *GONE_TEXTS))
_OURS |= {*TITLES, *GONE_TITLES, *HEADS, *(text for text in flown.HEADERS.values() if isinstance(text, str))}
"""What the engine writes beside input tables."""
_ROOM = 16  # letters of a header, for what tells those alike apart


def read_extras(path: Path, contents: Contents, where: Mapping[str, Position], findings: Findings) -> Extras:
    """Return the extras of a workbook whose forms and tables were read `where` it says; tells what cannot be carried.

    Raises `WorkbookUnreadable` where the file cannot be opened any more.
    """
    tables = {name: position for name, position in where.items() if isinstance(position.part, Table)}
    columns = {name: own_columns(position, findings) for name, position in tables.items()}
    with open_package(path) as package:
        figures = {name: cell for name, cell in package.named_cells().items() if name in FIGURE_QUANTITIES}
        _tell_loose_cells(contents, where, figures, findings)
        notes = tuple(_placed_notes(package, where, findings))
        pictures = tuple(pictures_of(package, _home_sheets(where), findings))
    return Extras({name: held for name, held in columns.items() if held}, notes, pictures)


def own_columns(position: Position, findings: Findings, plain: bool = False) -> dict[str, list[ExtraValue]]:
    """Return the columns of a table that are its sender's own, by their headers, one value a row that was read.

    Of a `plain` table those without a header go on as well, and those headed as what is computed.
    """
    reader, place = position.reader, position.area.place
    kept: dict[str, list[ExtraValue]] = {}
    known = {key(each.header) for each in position.part.columns.values()}  # type: ignore[union-attr]
    typed, taken = set(position.typed.values()), set(known)
    for column, header in reader.headers.items():
        if column in typed or column not in reader.filled_columns or (key(header) in known and not plain):
            continue
        unread = [row for row in reader.rows if row not in position.number_of]
        if alone := [place(row, column) for row in unread if reader.content(row, column) is not None]:
            holds = counted(alone, "cell stands in a row without readings", "cells stand in rows without readings")
            findings.tell(f"{holds}; not carried to the results")
        if short := plain_header(header) or f"Column {column_letters(column)}" * plain:
            own = _own_header(short, taken)
            kept[own] = [plain_value(reader.content(row, column)) for row in position.rows]
            if header and own != " ".join(header.split()):
                where = place(position.area.top, column)
                findings.tell(f'{where}: the header {shown(header)} goes on as "{own}"')
    return kept


def _own_header(short: str, taken: set[str]) -> str:
    """Return a header that differs from those taken, as they are compared, and take it."""
    own, number = f"{short} (own)" if looks_like_markup(short) else short, 2
    while key(own) in taken:
        own, number = f"{short} ({number})", number + 1
    taken.add(key(own))
    return own


def plain_header(text: str) -> str:
    """Return a header on one line, without signs that no header can hold, cut to what one can hold.

    >>> plain_header(" Wind\\n speed\\x1b[2J ")
    'Wind speed [2J'
    """
    one_line = " ".join(writable_header(text).split())
    return one_line.encode("utf-16-le")[: 2 * (LONGEST_HEADER - _ROOM)].decode("utf-16-le", "ignore").strip()


def plain_value(found: Found) -> ExtraValue:
    """Return what a cell of a sender's own column holds, as it can be written again."""
    match found:
        case Percent():
            return found.number
        case ErrorValue():
            return found.text
        case Unstored():
            return None
        case float() if not math.isfinite(found):
            return str(found)
        case str():
            return plain_lines(found)
    return found


def _home_sheets(where: Mapping[str, Position]) -> set[str]:
    return {position.area.sheet for position in where.values()}


def _tell_loose_cells(
    contents: Contents, where: Mapping[str, Position], figures: Mapping[str, tuple[str, int, int]], findings: Findings
) -> None:
    """Tell of what was typed on input sheets outside their tables, other than what the engine writes there.

    That is titles, cautions, the cells of `figures` with what heads them, and formulas above the tables and in the rows that
    say what the propellers do for the craft.
    """
    read = {position.area.name: position.area for position in where.values()}
    answered = [figures[each.name] for each in (flown.title, flown.note) if each.name in figures]
    for sheet in _home_sheets(where):
        areas = [read.get(area.name, area) for area in contents.areas if area.sheet == sheet]
        places = {(0, 0), (1, 0)} | {(area.top - up, area.left) for area in areas for up in (1, 2)}
        places |= {(row, column) for home, row, column in figures.values() if home == sheet}
        rows = [row for home, row, _ in answered if home == sheet]
        first, last = rows if len(rows) == 2 else (0, 0)
        loose = [
            (row, column, content)
            for row, column, stored in _outside(areas, contents.grids[sheet])
            if (content := content_of(stored)) not in _OURS and (row, column) not in places
            if not (isinstance(stored, Formula) and (row < TITLE_ROWS or first <= row < last))
        ]
        if loose:
            row, column, found = loose[0]
            place = f"{quoted(sheet)}!{cell_address(row, column)}"
            cells_hold = "1 cell" if len(loose) == 1 else f"{len(loose)} cells"
            findings.tell(
                f"{cells_hold} outside the tables of {sheet} (the first: {place} {shown(found)}): not read and "
                "not carried to the results; make them columns of the table to have them carried"
            )


def _outside(areas: Collection[Area], grid: Grid) -> Iterator[tuple[int, int, Stored]]:
    """Yield the cells that lie in none of some areas, with row and column."""
    for row, cells in grid.items():
        held = [area.columns for area in areas if area.top <= row <= area.bottom]
        for column, stored in cells.items():
            if not any(column in columns for columns in held):
                yield row, column, stored


def _placed_notes(package: Package, where: Mapping[str, Position], findings: Findings) -> Iterator[CellNote]:
    homes = {key(sheet): sheet for sheet in SHEETS}
    for sheet, part in package.sheets().items():
        by_place = [position for position in where.values() if position.area.sheet == sheet]
        for note in notes_of(package, part):
            placed = next((kept for kept in (_in_table(note, sheet, one) for one in by_place) if kept), None)
            if placed is not None:
                yield placed
            elif key(sheet) in homes:
                yield CellNote(note.text, note.author, homes[key(sheet)], note.row, column=note.column)
            else:
                _tell_note(note, sheet, findings)


def _in_table(note: FoundNote, sheet: str, position: Position) -> CellNote | None:
    """Return a note by the row and column of the table it stands in, None where it stands elsewhere."""
    area = position.area
    name = next((name for name, column in position.columns.items() if column == note.column), None)
    own = position.reader.headers.get(note.column, "")
    if name is None and own and not isinstance(position.part, Form):
        name = extra_name(plain_header(own))
    if name is None or not area.top <= note.row <= area.bottom:
        return None
    row = -1 if note.row == area.top else position.number_of.get(note.row)
    return None if row is None else CellNote(note.text, note.author, sheet, row, area.name, name)


def _tell_note(note: FoundNote, sheet: str, findings: Findings) -> None:
    place = f"{quoted(sheet)}!{cell_address(note.row, note.column)}"
    why = "the sheet is written again" if is_written(sheet) else "the sheet is not carried"
    findings.tell(f"{place}: the note {shown(note.text)} is not carried to the results, because {why}")
