"""Reading an input table: its rows that hold anything, column by column as declared."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.inputs.bench_test import Array, Value, array_of
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.errors import Reason
from xlsengine.workbook.reading.area_reader import AreaReader, Place, Position
from xlsengine.workbook.reading.cells import Formula, content_of
from xlsengine.workbook.reading.contents import Held
from xlsengine.workbook.reading.findings import Findings, counted, key
from xlsengine.workbook.reading.package import Area
from xlsengine.workbook.reading.propeller_names import GEOMETRY, NameFiller
from xlsengine.workbook.reading.trade_words import unit_of

FILL_OR_CLEAR = "fill it in, or clear the whole row"


def read_table(table: Table, held: Held, findings: Findings, carried: bool = True) -> tuple[dict[str, Array], Position]:
    """Return a table's columns as typed, blank rows left out, and where they stand; other columns are not read.

    Unknown ones are told, and whether they are `carried` to what is written.
    """
    reader, places, filled = _located(table, held, findings)
    columns = [place.column for place in places.values()]
    filler = NameFiller(reader, places) if table is READINGS and "prop" in places else None
    values = _values(table, reader, places, filled, filler)
    if table is READINGS and not filled:
        findings.no_rows(held.area.place(held.area.first, held.area.left), "reading", held.area.name)
    _tell_rows_below(held, reader.area, columns, findings)
    _tell_unseen(reader, columns, filled)
    reader.tell_unknown_columns(carried)
    _tell_typed_over(table, reader)
    reader.close(filler.told() if filler else ())
    where = Position(table, reader, filled, {name: place.column for name, place in places.items()})
    return {name: array_of(declared, values[name]) for name, declared in table.fields.items()}, where


def _located(table: Table, held: Held, findings: Findings) -> tuple[AreaReader, dict[str, Place], list[int]]:
    """Return a table's reader, where its columns stand, and the rows that hold anything typed."""
    known = [declared.header for declared in table.columns.values()]
    reader = AreaReader(held.area, held.cells, known, findings)
    sought = {name: reader.place_of(declared) for name, declared in table.fields.items()}
    places = {name: place for name, place in sought.items() if place is not None}
    columns = [place.column for place in places.values()]
    reader.extend(_taken_in(held, columns))
    filled = [
        row for row in reader.rows if any(content_of(held.cells[row].get(column)) is not None for column in columns)
    ]
    return reader, places, _without_headers(table, reader, places, filled)


def _values(
    table: Table, reader: AreaReader, places: Mapping[str, Place], filled: Sequence[int], filler: NameFiller | None
) -> dict[str, list[Value]]:
    columns: dict[str, list[Value]] = {name: [None] * len(filled) for name in table.fields}
    from_name = GEOMETRY if filler else ()
    plan = [(table.fields[name], table.fields[name].header, place, columns[name]) for name, place in places.items()]
    for index, row in enumerate(filled):
        if reader.findings.is_full:
            break
        for declared, header, place, values in plan:
            if declared.name not in from_name or reader.content(row, place.column) is not None:
                values[index] = reader.value(declared, row, place, header, FILL_OR_CLEAR)
        if filler:
            filler.complete(row, columns, index)
    return columns


def _without_headers(table: Table, reader: AreaReader, places: Mapping[str, Place], filled: Sequence[int]) -> list[int]:
    """Leave out rows that repeat the headers, or hold their units, and tell so."""
    repeated = {row for row in filled if _repeats_header(table.fields, reader, places, row)}
    for row in sorted(repeated):
        where = reader.area.place(row, reader.area.left)
        reader.findings.tell(f"{where}: row {row + 1} repeats headers or units; it was not taken for readings")
    return [row for row in filled if row not in repeated]


def _repeats_header(fields: Mapping[str, Field], reader: AreaReader, places: Mapping[str, Place], row: int) -> bool:
    held = 0
    for name, place in places.items():
        content = reader.content(row, place.column)
        if content is None:
            continue
        if not isinstance(content, str) or not _is_header_of(fields[name], reader, place, content):
            return False
        held += 1
    return held > 1


def _is_header_of(declared: Field, reader: AreaReader, place: Place, text: str) -> bool:
    if key(text) in (key(reader.headers[place.column]), key(declared.label), key(declared.header)):
        return True
    return bool(declared.unit) and unit_of(text.strip(" ()[]"), declared) == (place.unit or declared.unit)


def _tell_unseen(reader: AreaReader, columns: Sequence[int], filled: Sequence[int]) -> None:
    """Tell of rows and columns that are hidden or filtered away, and of merged cells: they are read all the same."""
    area, cells, tell = reader.area, reader.cells, reader.findings.tell
    hidden = [area.place(row, area.left) for row in filled if row in cells.hidden_rows]
    if hidden:
        one, many = "row is hidden or filtered away", "rows are hidden or filtered away"
        tell(f"{counted(hidden, one, many)}; read as the others")
    for column in columns if filled else ():
        holds = any(content_of(cells.get(row, {}).get(column)) is not None for row in filled)
        if holds and cells.column_is_hidden(column):
            tell(f"{area.place(area.top, column)}: the column is hidden; it was read as the others")
    merged = [
        area.place(one.top, one.left)
        for one in cells.merged
        if one.top <= area.last and one.bottom >= area.first and any(one.left <= c <= one.right for c in columns)
    ]
    if merged:
        one, many = "cell is merged with others", "cells are merged with others"
        tell(f"{counted(merged, one, many)}; the value was read in each of their rows")


def _tell_typed_over(table: Table, reader: AreaReader) -> None:
    """Tell of values that were typed over the formulas of derived columns."""
    derived = {key(quantity.header): quantity.header for quantity in table.quantities.values()}
    for column, text in reader.headers.items():
        typed = reader.typed_places(column) if key(text) in derived else []
        if typed:
            holds = counted(typed, "cell was typed over its formula", "cells were typed over their formulas")
            reader.findings.tell(f"{derived[key(text)]}: {holds}; not read")


# --- rows typed below a table: no formula sees them -------------------------------------------------------------


_TITLE_LINES = 2  # title and meaning stand above a table that follows another


def _taken_in(held: Held, columns: Collection[int]) -> Area:
    """Return the table with the rows that follow it without a gap; formulas below it, such as means, end it."""
    area, bottom = held.area, held.area.bottom
    if area.last != area.bottom:
        return area
    while mine := _mine(held, bottom + 1, columns):
        if any(isinstance(held.cells[bottom + 1][column], Formula) for column in mine):
            break
        bottom += 1
    return replace(area, last=bottom, bottom=bottom)


def _tell_rows_below(held: Held, taken: Area, columns: Collection[int], findings: Findings) -> None:
    """Tell of the rows that were taken in below a table, and keep a fault for readings further below."""
    area = held.area
    if taken.bottom > area.bottom:
        rows = list(range(area.bottom + 1, taken.bottom + 1))
        findings.tell(f"{_span(area, rows, columns)}: {_counted(rows)} below the table {area.name}, read as part of it")
    stray = list(_stray_rows(held, taken.bottom, columns))
    if stray:
        findings.fault(
            Reason.STRAY_CELLS,
            _span(area, stray, columns),
            "",
            f"{_counted(stray)} below the table {area.name}, which ends at row {area.bottom + 1}",
            "every row inside the table",
            "drag the table's lower right corner down over them, or move them up into its blank rows",
        )


def _span(area: Area, rows: Sequence[int], columns: Collection[int]) -> str:
    last = area.place(rows[-1], max(columns)).rpartition("!")[2]
    return f"{area.place(rows[0], min(columns))}:{last}"


def _counted(rows: Sequence[int]) -> str:
    return "1 row" if len(rows) == 1 else f"{len(rows)} rows"


def _stray_rows(held: Held, bottom: int, columns: Collection[int]) -> Iterator[int]:
    """Yield rows that follow the table without a gap, and further ones that hold numbers as its rows do."""
    unbroken = bottom
    for row in sorted(row for row in held.cells if row > bottom):
        mine = _mine(held, row, columns)
        numbers = sum(isinstance(content_of(held.cells[row][column]), float) for column in mine)
        if mine and row == unbroken + 1:
            unbroken = row
        elif numbers < 2:
            continue
        yield row


def _mine(held: Held, row: int, columns: Collection[int]) -> list[int]:
    """Return the columns in which a row holds something that belongs to no other table."""
    cells, others = held.cells.get(row, {}), [a for a in held.neighbours if a.top - _TITLE_LINES <= row <= a.bottom]
    filled = [column for column in columns if content_of(cells.get(column)) is not None]
    return [column for column in filled if not any(column in other.columns for other in others)]
