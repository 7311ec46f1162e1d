"""The sheets a person fills: forms and tables with input cells, limits, drop-downs and help on every field."""

import math
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from xlsengine.bench.advice.limits import settings_state
from xlsengine.bench.declaring.declare import Field, Form, Quantity, Table
from xlsengine.bench.inputs import settings
from xlsengine.bench.inputs.bench_test import BenchTest
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.extras import EXTRA, NO_EXTRAS, Extras, extra_name
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.inputs.uses import USES
from xlsengine.bench.model import READINGS_SHOWN
from xlsengine.cautions import SHEET_CAUTIONS
from xlsengine.expression import Column
from xlsengine.formula import formula
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.carried import write_extra
from xlsengine.workbook.formats import (
    GREY,
    MIST,
    NEEDED_FILL,
    ONE_LINE,
    RULE,
    SLATE,
    VERMILION,
    decimals_of,
    number_format,
)
from xlsengine.workbook.input_columns import (
    FORM_WIDTHS,
    column_letters_of,
    declared_column,
    folded_columns,
    header_height,
    placed,
    set_readings_widths,
    shown_columns,
)
from xlsengine.workbook.layout import (
    FORM_HEADERS,
    FORM_VALUE,
    NEEDED_MARK,
    SHEETS,
    SOURCE_HEADER,
    TITLE_ROWS,
    Block,
    GrowingAddresses,
    Layout,
    form_table,
)
from xlsengine.workbook.marked_readings import FLAG, mark_readings
from xlsengine.workbook.page_widths import HEADERS_POINTS, pixels, print_blocks, print_over_pages
from xlsengine.workbook.typed_cells import shade_beyond, shade_words_beyond, validate

MEANINGS = {
    "Motor": "What was tested, where it came from and what was seen inside.",
    "Bench": "How the bench was set up. Fill in what you know; leave the rest blank.",
    "No load": "Readings without a propeller: free spins, driven spins and winding resistance.",
    "Readings": "One row per reading. Blank means not measured, 0 means measured zero.",
    "Craft": "What the motor is meant for; leave blank what is not known.",
    "Settings": "Every factor and limit that the formulas use; change one and the workbook follows. Not printed.",
}
NARROW = 3
"""Columns of the form of Craft in a results workbook: field, value, unit."""
_MANY_COLUMNS = 10
_SHOWN = tuple(column.name for column in READINGS_SHOWN)
_LEAST_SCALE = 0.65  # of Readings: one page wide, whatever was read
IN_TEMPLATE = {"Readings": 100, "FreeSpins": 6, "DrivenSpins": 6, "CheckWeights": 8}
"""Rows of an input workbook for tables that have few spare ones in results."""
_SOFT = {"border": 0, "bottom": 1, "bottom_color": RULE}
_LOOKS: dict[str, dict[str, Any]] = {
    **dict.fromkeys(_SHOWN, _SOFT),
    FLAG: {**_SOFT, "align": "left", "valign": "top"},  # of one that comes later its first words are seen
    "power": {**_SOFT, "num_format": "[>=99.95]#,##0_);0.0_)"},
    "flight_told": {**_SOFT, **ONE_LINE, "indent": 0, "align": "right"},
}
_MOST_DECIMALS = 5
_CAUTION_ROW = 2
_CAUTION_COLUMNS = {"Readings": (2, 14, 120)}  # first and last column, and how wide they are in letters
_RESULTS_LETTERS = 170  # over the page of Readings in results, without a speed
_BETWEEN = 4  # rows from the end of a form or table to the headers of the next
_NAMING = 2  # columns of Readings that name a row


def form_headers(form: Form, derived: bool = False) -> tuple[str, ...]:
    """Return the headers of a form; only settings have sources other than the tester.

    In a results workbook (`derived`) the form of Craft is narrow: what follows stands beside it.
    """
    if derived and form is CRAFT:
        return FORM_HEADERS[:NARROW]
    return (*FORM_HEADERS, SOURCE_HEADER) if form is settings.SETTINGS else FORM_HEADERS


def form_lines(form: Form) -> list[Field | str]:
    """Return what stands in the rows of a form: its fields, and headings above the settings of a topic."""
    if form is not settings.SETTINGS:
        return list(form.fields.values())
    lines: list[Field | str] = []
    for title, names in settings.TOPICS.items():
        lines += [title, *(form.fields[name] for name in names)]
    return lines


def place_inputs(layout: Layout, rows: Mapping[str, int], derived: bool, extras: Extras = NO_EXTRAS) -> None:
    """Place every form and input table; `derived` adds the derived columns that a results workbook has.

    Columns that are not declared stand to the right of those that are typed.
    """
    for sheet, parts in SHEETS.items():
        place_parts(layout, sheet, parts, rows, derived, extras)


def place_parts(
    layout: Layout,
    sheet: str,
    parts: Sequence[Form | Table],
    rows: Mapping[str, int] = MappingProxyType({}),
    derived: bool = False,
    extras: Extras = NO_EXTRAS,
) -> None:
    """Place forms and tables below each other on a sheet, with room for titles, and name the cells of the forms."""
    top = TITLE_ROWS
    for part in parts:
        if isinstance(part, Form):
            lines, columns = form_lines(part), form_headers(part, derived)
            block = Block(form_table(part), sheet, top, 0, len(lines), columns, columns)
            for row, line in enumerate(lines, start=top + 1):
                if isinstance(line, Field):
                    layout.name(line.name, sheet, row, FORM_VALUE)
        else:
            computed = _computed(part, layout) if derived else []
            columns = (*part.fields, *map(extra_name, extras.columns.get(part.name, ())), *computed)
            headers = tuple(declared_column(part, name).header for name in columns)
            block = Block(part.name, sheet, top, 0, rows[part.name], columns, headers)
        top = layout.place(block).bottom + _BETWEEN


def _computed(table: Table, layout: Layout) -> list[str]:
    """Return the computed columns of an input table in their order: on Readings those that are shown come first.

    Behind them come its other figures, where what they need was read. What only formulas read is added where needed, and
    what follows from Uses stands on Steps.
    """
    if table is USES:
        return []
    if table is not READINGS:
        return [name for name in table.columns if name not in table.fields]
    others = [name for name, one in table.quantities.items() if not one.helper and name not in _SHOWN]
    return [*_SHOWN, *(n for n in others if not layout.is_left_out(Column(table.name, n, table.quantities[n].is_text)))]


def template_rows(test: BenchTest) -> dict[str, int]:
    """Return the length of each table in an input workbook: what is typed, and spare rows."""
    spare = {table.name: table.spare for parts in SHEETS.values() for table in parts if isinstance(table, Table)}
    spare |= {name: max(rows - test.rows(name), spare[name]) for name, rows in IN_TEMPLATE.items()}
    return {name: max(1, test.rows(name) + extra) for name, extra in spare.items()}


def write_input_sheet(book: Book, name: str, test: BenchTest) -> None:
    """Write one input sheet with what `test` holds."""
    sheet = book.sheet(name)
    sheet.heading(name, MEANINGS[name])
    if book.scope is not None and name == settings.SETTINGS.name:
        sheet.live(TITLE_ROWS - 1, 0, settings_state, book.formats.subtitle)
        shade_words_beyond(sheet, TITLE_ROWS - 1)
    if name in SHEET_CAUTIONS:
        _write_caution(sheet, SHEET_CAUTIONS[name])
    for part in SHEETS[name]:
        if isinstance(part, Form):
            write_form(sheet, part, test)
        else:
            write_input_table(sheet, part, test)
    sheet.worksheet.freeze_panes(TITLE_ROWS + 1, _NAMING if name == READINGS.name else 1)
    if name == READINGS.name:
        _finish_readings(sheet)
    else:
        folded = folded_columns(book.layout, name)
        for column, width in enumerate(column_letters_of(name)):
            sheet.width(column, width, column in folded)
        _print_parts(sheet)
    if settings.SETTINGS in SHEETS[name]:
        sheet.print_nothing()


def _finish_readings(sheet: Sheet) -> None:
    """Give Readings its widths and its print; mark what is needed, or in results what was found."""
    widths, formats = set_readings_widths(sheet), sheet.book.formats
    print_over_pages(sheet, widths, _NAMING, (TITLE_ROWS, TITLE_ROWS), _LEAST_SCALE)
    if sheet.book.scope is not None:
        form = formats.get(font_color=GREY, italic=True, text_wrap=True, valign="top")
        sheet.across(1, 0, _NAMING - 1, MEANINGS[sheet.name], form, height=54)  # past what is repeated it would be cut
        mark_readings(sheet, _NAMING, widths)
        return
    block = sheet.book.layout.blocks[READINGS.name]
    form = formats.get(font_size=8, bold=True, font_color=NEEDED_FILL, align="center")
    for name, declared in READINGS.fields.items():
        if declared.required:  # in words too: colour alone would be lost in print
            sheet.text(block.top - 1, block.column(name), NEEDED_MARK, form)


def _print_parts(sheet: Sheet) -> None:
    """Print forms and tables below each other as wide as the widest, each on one page where it can be."""
    layout = sheet.book.layout
    blocks = [block for _, block in placed(layout, sheet.name)]
    last = max(len(FORM_HEADERS) - 1, *shown_columns(layout, sheet.name))
    wide = sum(map(pixels, column_letters_of(sheet.name)[: last + 1]))
    print_blocks(sheet, wide, [0, *(block.top - 2 for block in blocks[1:])], (blocks[-1].bottom, last))


def _write_caution(sheet: Sheet, text: str) -> None:
    """Write what to heed at the bench above the first table, over the columns that a screen shows."""
    form = sheet.book.formats.get(bold=True, font_color=VERMILION, text_wrap=True, valign="vcenter")
    over = len(FORM_HEADERS)
    first, last, width = _CAUTION_COLUMNS.get(sheet.name, (0, over - 1, sum(column_letters_of(sheet.name)[:over])))
    if sheet.name == READINGS.name and sheet.book.scope is not None:  # its page is wider by what was computed
        last, width = sheet.book.layout.blocks[READINGS.name].column(_SHOWN[-1]), _RESULTS_LETTERS
    sheet.paragraph(_CAUTION_ROW, (first, last), text, form, 0.95 * width, 15, 4)


def write_form_sheet(book: Book, name: str, form: Form, test: BenchTest, title: str, said: str) -> Sheet:
    """Write a form that has a sheet to itself, below a title and a line on it."""
    sheet = book.sheet(name)
    sheet.heading(title, said)
    sheet.widths(FORM_WIDTHS[: len(form_headers(form))])
    write_form(sheet, form, test)
    sheet.worksheet.freeze_panes(TITLE_ROWS + 1, 1)
    return sheet


def write_form(sheet: Sheet, form: Form, test: BenchTest) -> None:
    """Write a form with what `test` holds, a row a field."""
    formats = sheet.book.formats
    block = sheet.book.layout.blocks[form_table(form)]
    sheet.book.table(sheet, block, [(formats.header, formats.label)] * len(block.columns))
    sheet.height(block.top, 20)
    for row, line in enumerate(form_lines(form), start=block.top + 1):
        if isinstance(line, Field):
            _write_field(sheet, row, line, test.fields.get(line.name), len(block.columns) - FORM_VALUE - 1)
        else:
            _write_topic(sheet, row, line, block.right)


def _write_topic(sheet: Sheet, row: int, title: str, last: int) -> None:
    """Write a heading; its other cells stay blank, so that no reader takes it for a field."""
    form = sheet.book.formats.get(bold=True, font_color=SLATE, bg_color=MIST, bottom=1, bottom_color=SLATE)
    sheet.text(row, 0, title, form)
    for column in range(1, last + 1):
        sheet.value(row, column, None, form)
    sheet.height(row, 22)


def _write_field(sheet: Sheet, row: int, declared: Field, value: Any, told: int) -> None:
    """Write a field with its value, and as many of unit, what is wanted, meaning and source as are `told`."""
    formats = sheet.book.formats
    name = declared.label + (" *" if declared.required else "")
    sheet.text(row, 0, name, formats.label)
    cell = formats.input_cell(declared.decimals, declared.is_text, declared.kind == "date")
    sheet.value(row, FORM_VALUE, value, cell)
    cost = f" Blank: {declared.without}." if declared.without else ""
    texts = [declared.unit, declared.wanted, declared.meaning + cost, declared.source.text][:told]
    sheet.row(row, texts, formats.quiet, FORM_VALUE + 1)
    lines = [math.ceil(len(text) * 0.95 / width) for text, width in zip((name, "", *texts), FORM_WIDTHS, strict=False)]
    sheet.height(row, 14.0 * max(1, *lines) + 3)
    shade_beyond(sheet, row, FORM_VALUE, declared)
    validate(sheet, row, row, FORM_VALUE, declared, told_beside=told > FORM_HEADERS.index("Meaning") - FORM_VALUE - 1)


def write_input_table(sheet: Sheet, table: Table, test: BenchTest) -> None:
    """Write an input table: its title, header, typed cells, and in a results workbook its derived columns."""
    book, formats = sheet.book, sheet.book.formats
    block = book.layout.blocks[table.name]
    if block.top > TITLE_ROWS:
        sheet.text(block.top - 2, 0, _spoken(table.name), formats.section)
        sheet.text(block.top - 1, 0, table.meaning, formats.subtitle)
    elif table is not READINGS:
        sheet.text(block.top - 1, 0, f"{_spoken(table.name)}: {table.meaning}", formats.subtitle)
    sheet.height(block.top, HEADERS_POINTS if len(table.fields) > _MANY_COLUMNS else header_height(table, block))
    for place, name in enumerate(block.columns, start=block.left):
        one = declared_column(table, name)
        if isinstance(one, Quantity):
            sheet.derived(block.top + 1, place, table.name, one, _column_formats(sheet, one)[1], block.rows)
        else:
            _write_column(sheet, block, place, one, _values(book.scope, test, table, name))
        if name in table.fields:
            validate(sheet, block.top + 1, block.bottom, place, table.fields[name])


def finish_tables(book: Book) -> None:
    """Make Excel tables of the input tables, once it is known which columns they have and what those hold."""
    for name, parts in SHEETS.items():
        for table in parts:
            if isinstance(table, Table):
                make_table(book.sheet(name), table)


def make_table(sheet: Sheet, table: Table) -> None:
    """Make an Excel table of an input table that was written."""
    book, block = sheet.book, sheet.book.layout.blocks[table.name]
    declared = [declared_column(table, name) for name in block.columns]
    addresses = GrowingAddresses(book.layout, sheet.name, table.name)
    formulas = [_growing(book, table, one, addresses) for one in declared]
    book.table(sheet, block, [_column_formats(sheet, one) for one in declared], formulas)


def _growing(book: Book, table: Table, one: Field | Quantity, addresses: GrowingAddresses) -> str:
    """Return what a table fills into a column of a new row; nothing into what is typed."""
    if not isinstance(one, Quantity):
        return ""
    cell = Column(table.name, one.name, one.is_text)
    return formula(one.expression if book.reach is None else book.reach.definition(cell), addresses)


def _spoken(name: str) -> str:
    """Return a table's name with spaces between its words."""
    words = "".join(f" {sign.lower()}" if sign.isupper() and i else sign for i, sign in enumerate(name))
    return words.replace("Esc ", "ESC ")


def _values(scope: Scope | None, test: BenchTest, table: Table, name: str) -> Any:
    if name.startswith(EXTRA):
        return test.extras.columns[table.name][name.removeprefix(EXTRA)]
    return test.tables[table.name][name] if scope is None else scope.column(table.name, name)


def _column_formats(sheet: Sheet, declared: Field | Quantity) -> tuple[Any, Any]:
    formats, in_results = sheet.book.formats, sheet.book.scope is not None
    if declared.helper:
        return formats.helper_header, formats.helper
    if isinstance(declared, Quantity):
        look = _LOOKS.get(declared.name, {})
        return formats.header, formats.derived(decimals_of(declared), declared.is_text, **look)
    header = formats.needed_header if declared.required and not in_results else formats.header
    if in_results and READINGS.fields.get(declared.name) is declared:
        header = formats.typed_header
    shape = ONE_LINE if declared is READINGS.fields["prop"] else {}
    return header, formats.input_cell(declared.decimals, declared.is_text, **shape)


def _decimals(values: Iterable[float]) -> int:
    """Return the decimals with which the numbers of a column were typed, so that they stand below each other."""
    typed = (f"{abs(value):.{_MOST_DECIMALS}f}".rstrip("0").partition(".")[2] for value in values if value == value)
    return max(map(len, typed), default=0)


def _write_column(sheet: Sheet, block: Block, column: int, declared: Field, values: Any) -> None:
    form = _column_formats(sheet, declared)[1]
    if sheet.book.scope is not None and block.name == READINGS.name and not declared.is_text:
        form = sheet.book.formats.input_cell(None, indent=0, num_format=number_format(_decimals(values)))
    for row in range(block.rows):
        value = values[row] if row < len(values) else None
        if declared.name.startswith(EXTRA):
            write_extra(sheet, block.top + 1 + row, column, value)
        else:
            sheet.value(block.top + 1 + row, column, value, form)
