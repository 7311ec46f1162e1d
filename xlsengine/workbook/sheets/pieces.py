"""What sheets are put together of: tables of live columns, lines of live cells, cards beside each other, paragraphs."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from xlsengine.bench.advice.in_flight import flight_basis
from xlsengine.bench.declaring.declare import Field, Figures, Quantity, Table
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import Column, Named, Node
from xlsengine.workbook.book import Said, Sheet, Span
from xlsengine.workbook.cell_values import decimals_of
from xlsengine.workbook.formats import MIDDLE_FILL, ONE_LINE
from xlsengine.workbook.layout import Block, Layout, cell_address

ENDS = ("", "_expanded", "_margin")
"""How the name of a figure, and of its ±, ends."""
Shapes = Callable[[str], Mapping[str, Any]]


def shown_columns(layout: Layout, table: Table, order: Sequence[str] = ()) -> tuple[str, ...]:
    """Return the columns of a table that a reader sees, those in `order` first; none where all would stay blank.

    Each ± stands right after its figure.
    """
    seen = [name for name, declared in table.columns.items() if name in order or not declared.helper]
    wanted = dict.fromkeys(name + end for name in (*order, *seen) for end in ENDS if name + end in seen)
    cells = [Column(table.name, name, table.columns[name].is_text) for name in wanted]
    return tuple(cell.name for cell in cells if not layout.is_left_out(cell))


def write_table(
    sheet: Sheet,
    table: Table,
    top: int,
    left: int = 0,
    order: Sequence[str] = (),
    header_height: float | None = 45,
    texts: Shapes = lambda name: {},
    look: Mapping[str, Any] = MappingProxyType({}),
) -> Block:
    """Write the columns of a table that a reader sees, those in `order` first, with their header row at `top`.

    They are live, or written once; texts have shapes of their own. Its cells, but those that only formulas read, have a
    `look` in common.
    """
    layout = sheet.book.layout
    columns = shown_columns(layout, table, order)
    headers = tuple(table.columns[name].header for name in columns)
    block = layout.place(Block(table.name, sheet.name, top, left, sheet.scope.rows(table.name), columns, headers))
    if header_height is not None:
        sheet.height(block.top, header_height)
    declared_columns = [table.declared(name) for name in block.columns]
    forms = [_forms(sheet, each, texts, look) for each in declared_columns]
    sheet.book.table(sheet, block, forms)
    for column, (declared, (_, form)) in enumerate(zip(declared_columns, forms, strict=True), start=left):
        if isinstance(declared, Quantity):
            sheet.derived(block.top + 1, column, table.name, declared, form, block.rows)
        else:
            for row, value in enumerate(sheet.scope.column(block.name, declared.name).tolist(), start=block.top + 1):
                sheet.value(row, column, value, form)
    return block


def _forms(sheet: Sheet, declared: Field | Quantity, texts: Shapes, look: Mapping[str, Any]) -> tuple[Any, Any]:
    formats = sheet.book.formats
    if declared.helper:
        return formats.helper_header, formats.helper
    one_line = declared.label == READINGS.fields["prop"].label or declared.name == flight_basis.name
    shape = ONE_LINE if one_line else texts(declared.name) if declared.is_text else {}
    return formats.header, formats.derived(decimals_of(declared), declared.is_text, **look, **shape)


def write_aside(sheet: Sheet, group: Figures, column: int) -> None:
    """Write the figures of a group that stand nowhere else below each other in `column`, folded away; labels to the left."""
    form, everything = sheet.book.formats.helper, dict[str, Field | Quantity]({**group.quantities, **group.written})
    others = [name for name in everything if name not in sheet.book.layout.cells]
    for row, name in enumerate(others):
        sheet.text(row, column - 1, everything[name].label, form)
        sheet.live(row, column, Named(name, everything[name].is_text), form)
    sheet.fold(column - 1, column, 20)


def write_list(
    sheet: Sheet,
    top: int,
    spans: Sequence[Span],
    headers: Iterable[Said],
    lines: Iterable[tuple[Sequence[Said], Any]],
    letters: Sequence[float] = (),
    line: float = 13,
    least: float = 0,
) -> int:
    """Write headers and lines over spans of columns, each what it says and its formats; return the row below.

    Rows are as high as what has so many `letters` in a line needs, of `line` points each, and no lower than `least`.
    """
    sheet.over(top, spans, headers, sheet.book.formats.header)
    row = top
    for row, (said, forms) in enumerate(lines, start=top + 1):
        sheet.over(row, spans, said, forms)
        sheet.fit(row, said, letters, line, least=least)
    return row + 1


# --- pages: cells merged over spans of columns -------------------------------------------------------------------


@dataclass(frozen=True)
class Page:
    """The columns of a page, and its running text: letters and points of a line, and points around a paragraph."""

    span: Span
    letters: float
    line: float
    spare: float = 0

    def paragraphs(
        self, sheet: Sheet, top: int, said: Iterable[str | Node], spare: float | None = None, **look: Any
    ) -> int:
        """Write texts over the whole width, one a row; return the row below."""
        form = sheet.book.formats.get(**{"text_wrap": True, "valign": "top", **look})
        row = top - 1
        for row, each in enumerate(said, start=top):
            sheet.paragraph(row, self.span, each, form, self.letters, self.line, self.spare if spare is None else spare)
        return row + 1


def write_cards(
    sheet: Sheet,
    top: int,
    spans: Iterable[Span],
    cards: Iterable[Iterable[str | Node]],
    looks: Iterable[Iterable[Mapping[str, Any]]],
    rows: Sequence[int] = (1, 1, 1),
) -> int:
    """Write cards beside each other, each of cells below each other in looks of their own; return the row below.

    A cell takes so many `rows`.
    """
    tops = [top + sum(rows[:place]) for place in range(len(rows))]
    for span, card, styles in zip(spans, cards, looks, strict=True):
        for row, deep, said, style in zip(tops, rows, card, styles, strict=True):
            sheet.across(row, *span, said, sheet.book.formats.get(**style), deep)
    return top + sum(rows)


def warn(sheet: Sheet, row: int, span: Span, words: str) -> None:
    """Shade what says these words."""
    said = f'ISNUMBER(SEARCH("{words}",{cell_address(row, span[0], fixed=True)}))'
    sheet.shade((row, span[0], row, span[1]), {"bg_color": MIDDLE_FILL}, said)
