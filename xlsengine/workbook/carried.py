"""Writing what is carried along: values of columns that are not declared, notes on cells, pictures."""

import datetime
from collections import defaultdict
from io import BytesIO

from xlsxwriter.image import Image

from xlsengine.bench.inputs.extras import CellNote, Extras, ExtraValue, SheetPicture
from xlsengine.bench.inputs.forms import FORMS
from xlsengine.workbook.book import Book, Sheet, done
from xlsengine.workbook.formats import fitted
from xlsengine.workbook.layout import form_table

DPI = 96.0
NOTE_WIDTH, LINE_HEIGHT, LETTERS_A_LINE = 240, 16, 36
AUTHOR_LETTERS = 255
_FIELDS = {form_table(form): tuple(form.fields) for form in FORMS}


def write_extra(sheet: Sheet, row: int, column: int, value: ExtraValue) -> None:
    """Put a value of a column that is not declared, as a plain value of its own kind."""
    formats = sheet.book.formats
    form = formats.input_cell(None, text=isinstance(value, str))
    match value:
        case bool():
            done(sheet.worksheet.write_boolean(row, column, value, form))
        case datetime.datetime() if value.time() != datetime.time():
            done(sheet.worksheet.write_datetime(row, column, value, formats.input_moment("yyyy-mm-dd hh:mm:ss")))
        case datetime.date():
            done(sheet.worksheet.write_datetime(row, column, value, formats.input_moment("yyyy-mm-dd")))
        case datetime.time():
            done(sheet.worksheet.write_datetime(row, column, value, formats.input_moment("hh:mm:ss")))
        case _:
            sheet.value(row, column, value, form)


def write_attachments(book: Book, extras: Extras) -> None:
    """Put notes back on their cells, and pictures in their places."""
    by_cell: dict[tuple[str, int, int], list[CellNote]] = defaultdict(list)
    for note in sorted(extras.notes, key=lambda note: (note.row, note.name, note.column, note.text)):
        by_cell[_cell(book, note)].append(note)
    for (sheet, row, column), notes in by_cell.items():
        _write_note(book.sheet(sheet), row, column, notes)
    for picture in sorted(extras.pictures, key=lambda picture: (picture.sheet, picture.row, picture.column)):
        _write_picture(book.sheet(picture.sheet), picture)


def _cell(book: Book, note: CellNote) -> tuple[str, int, int]:
    """Return the cell of a note; its row's first cell where its column is not written."""
    block = book.layout.blocks.get(note.table)
    if block is None:
        return note.sheet, note.row, note.column
    column = block.column(note.name) if note.name in block.columns else block.left
    fields = _FIELDS.get(note.table, ())
    if 0 <= note.row < len(fields):
        return block.sheet, book.layout.cells[fields[note.row]][1], column
    return block.sheet, block.top + 1 + note.row, column


def _write_note(sheet: Sheet, row: int, column: int, notes: list[CellNote]) -> None:
    text = fitted("\n".join(note.text for note in notes))
    lines = sum(1 + len(line) // LETTERS_A_LINE for line in text.split("\n"))
    options = {
        "author": notes[0].author[:AUTHOR_LETTERS],
        "width": NOTE_WIDTH,
        "height": LINE_HEIGHT * min(lines + 1, 40),
    }
    done(sheet.worksheet.write_comment(row, column, text, options))


def _write_picture(sheet: Sheet, picture: SheetPicture) -> None:
    """Put a picture at its corner in its size; a size of nought stands for its own."""
    image = Image(BytesIO(picture.content))
    options = {
        "image_data": BytesIO(picture.content),
        "x_offset": picture.x_offset,
        "y_offset": picture.y_offset,
        "x_scale": _scale(picture.width, image.width, image.x_dpi),
        "y_scale": _scale(picture.height, image.height, image.y_dpi),
        "description": picture.description or f"Picture on {picture.sheet}",
        "object_position": 2,
    }
    done(sheet.worksheet.insert_image(picture.row, picture.column, "picture", options))


def _scale(wanted: float, pixels: float, dpi: float) -> float:
    return wanted / (pixels * DPI / dpi) if wanted else 1.0
