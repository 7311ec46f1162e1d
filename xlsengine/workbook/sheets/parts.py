"""What sheets are put together of: a sheet as data, and its parts: tables of live columns, lists, paragraphs, cards.

Formulas are put into their cells when all sheets are written, so a part says where its cells are as it writes them.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType
from typing import Any

import numpy as np

from xlsengine.bench.advice.in_flight import flight_basis
from xlsengine.bench.declaring.declare import Field, Figures, Quantity, Table
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import Column, Named, Node
from xlsengine.study.assessment import Assessment
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Said, Sheet, Span
from xlsengine.workbook.comparing import ChangeReport
from xlsengine.workbook.formats import BLUE, GREY, INPUT_RULE, MIDDLE_FILL, ONE_LINE, ORANGE, decimals_of
from xlsengine.workbook.layout import Block, Layout, cell_address
from xlsengine.workbook.page_widths import print_over_pages

FIGURE_HEADERS = ("Figure", "Value", "Unit", "What it is", "Source")
WIDTHS = (42, 30, 9, 56, 60)
"""Of the columns of a list of figures that has them to itself."""
_TOP = 3
_GAP = 2


class Kind(Enum):
    """What a sheet is for: its title in the list of sheets, and the colour of its tab."""

    READ = ("To read", BLUE)
    CHECK = ("To check", ORANGE)
    TYPED = ("Typed by you", INPUT_RULE)
    WORKING = ("Workings: where the figures come from", GREY)


_LOOKED_UP = ("Checks", READINGS.name)


@dataclass(frozen=True)
class Content:
    """What a results workbook is written from: `changed` since it was written, where it came back, and what is `told`."""

    assessment: Assessment
    changed: ChangeReport | None = None
    told: Sequence[str] = ()

    @property
    def scope(self) -> Scope:
        """Return the values."""
        return self.assessment.scope


Part = Callable[[Sheet, Content, int], int]
"""A part of a sheet: it writes itself from a row on, and gives the row for the next one."""


@dataclass(frozen=True)
class SheetPlan:
    """A sheet of the results: its kind, one line on it, and its parts below each other.

    `measured` tells whether anything was read for it; where not, it is not written, and `more` says what would show it.
    Columns have the `widths`, those after them the `others`. A page of its own kind, whose parts begin in its first row, is
    dressed by `page`, which gets the row below them. `late` ones are written when all others are. `out_of_date` is the cell
    that says when figures are.
    """

    name: str
    kind: Kind
    line: str
    heading: str | Node = ""
    parts: tuple[Part, ...] = ()
    page: Callable[[Sheet, Content, int], None] | None = None
    widths: tuple[float, ...] = ()
    others: float = 10.0
    freeze: tuple[int, int] = (2, 1)
    printed: bool = False
    measured: Callable[[Scope], bool] = lambda scope: True
    more: str = ""
    late: bool = False
    out_of_date: tuple[int, int] | None = (2, 0)

    @property
    def seen_by_readers(self) -> bool:
        """Tell whether a workbook for readers shows it: what it says of a reading can be looked up there."""
        return self.kind is Kind.READ or self.name in _LOOKED_UP

    def write(self, book: Book, content: Content) -> None:
        """Write all parts, and the heading above them or what makes a page of them."""
        sheet, row = book.sheet(self.name), _TOP if self.page is None else 0
        for part in self.parts:
            row = part(sheet, content, row)
        if self.page is not None:
            self.page(sheet, content, row)
        elif self.parts:
            self._write_heading(sheet)

    def _write_heading(self, sheet: Sheet) -> None:
        sheet.heading(self.name, self.heading if isinstance(self.heading, str) else "")
        if isinstance(self.heading, Node):
            sheet.live(1, 0, self.heading, sheet.book.formats.subtitle)
        rest = max(0, self._width(sheet.book.layout) - len(self.widths))
        widths = [*self.widths, *[self.others] * rest]
        sheet.widths(widths)
        print_over_pages(sheet, widths, self.freeze[1])
        sheet.worksheet.freeze_panes(*self.freeze)

    def _width(self, layout: Layout) -> int:
        """Return how many columns the blocks of the sheet take."""
        return max((block.right + 1 for block in layout.blocks.values() if block.sheet == self.name), default=8)


def columns(prefix: str, names: str) -> tuple[str, ...]:
    """Return the names of columns that begin alike, given what follows ``prefix_``."""
    return tuple(f"{prefix}_{name}" for name in names.split())


def any_of(*cells: Column | Named) -> Callable[[Scope], bool]:
    """Make a test that holds where one of these cells holds a number other than 0 or a text."""
    return lambda scope: any(_holds(scope.any_value(cell), cell.is_text) for cell in cells)


def _holds(value: object, text: bool) -> bool:
    if text:
        return bool(np.any(np.asarray(value, dtype=object).astype(bool)))
    return bool(np.any(np.nan_to_num(np.asarray(value, dtype=float))))


# --- tables and lists --------------------------------------------------------------------------------------------


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


# --- parts of a plan ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Sentences:
    """Live sentences, one a row, in bold type."""

    nodes: tuple[Node, ...]
    bold: bool = True

    def __call__(self, sheet: Sheet, content: Content, top: int) -> int:
        """Write the sentences."""
        for row, node in enumerate(self.nodes, start=top):
            sheet.live(row, 0, node, sheet.book.formats.get(bold=self.bold))
        return top + len(self.nodes) + 1


@dataclass(frozen=True)
class TablePart:
    """A table of live columns: title, one line on it, headers; `leading` columns come first.

    `said` is the line, else the table's meaning. Some columns have a text `above` their headers. Rows are as high as
    `row_height` says.
    """

    table: Table
    title: str = ""
    leading: tuple[str, ...] = ()
    said: Node | None = None
    above: Mapping[str, Node] = field(default_factory=dict)
    header_height: int = 60
    row_height: float | None = None

    def __call__(self, sheet: Sheet, content: Content, top: int) -> int:
        """Write the table and what stands above it, unless all of it would stay blank."""
        if not shown_columns(sheet.book.layout, self.table, self.leading):
            return top
        formats = sheet.book.formats
        sheet.text(top, 0, self.title, formats.section)
        said = self.table.meaning if self.said is None else self.said
        sheet.across(top + 1, 0, 0, said, formats.subtitle)
        block = write_table(sheet, self.table, top + 3, order=self.leading, header_height=self.header_height)
        for name in filter(self.above.__contains__, block.columns):
            look = formats.get(bold=True, align="center")
            sheet.live(block.top - 1, block.column(name), self.above[name], look)
        if self.row_height is not None:
            for row in range(block.top + 1, block.bottom + 1):
                sheet.height(row, self.row_height)
        return block.bottom + _GAP


@dataclass(frozen=True)
class FiguresPart:
    """A list of single figures: each part of a line stands over some columns, with room for so many letters."""

    group: Figures
    spans: Sequence[Span] = tuple((column, column) for column in range(len(FIGURE_HEADERS)))
    room: Sequence[int] = (42, 28, 9, 60, 64)

    def __call__(self, sheet: Sheet, content: Content, top: int) -> int:
        """Write the list below its title, without those that what they need was not read for."""
        formats, layout = sheet.book.formats, sheet.book.layout
        live = {n: one for n, one in self.group.quantities.items() if not layout.is_left_out(Named(n, one.is_text))}
        figures: dict[str, Field | Quantity] = {**live, **self.group.written}
        block = layout.place(
            Block(self.group.name, sheet.name, top + 2, 0, len(figures), FIGURE_HEADERS, FIGURE_HEADERS)
        )
        sheet.text(top, 0, self.group.name, formats.section)
        sheet.text(top + 1, 0, self.group.meaning, formats.subtitle)
        lines = (self._line(sheet, name, one) for name, one in figures.items())
        return write_list(sheet, block.top, self.spans, FIGURE_HEADERS, lines, self.room, 14) + _GAP

    def _line(self, sheet: Sheet, name: str, one: Field | Quantity) -> tuple[Sequence[Said], Any]:
        formats = sheet.book.formats
        said = (one.label, Named(name, one.is_text), one.unit, one.meaning, one.source.text)
        return said, (formats.label, formats.derived(decimals_of(one), one.is_text), *[formats.quiet] * 3)


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
