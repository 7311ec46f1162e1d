"""A thin layer over XlsxWriter: warnings are errors, what a person typed stays text, formulas come from expressions."""

from __future__ import annotations

import datetime
import math
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from itertools import repeat
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from xlsengine.bench.declaring.declare import Quantity
from xlsengine.expression import Column, Named, Node
from xlsengine.formula import chart_formula, formula
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.formats import FONT, TALLEST, Formats, all_stored, fitted, stored, writable_header
from xlsengine.workbook.layout import AUTHOR, FIXED_DATE, Block, CellAddresses, Layout, cell_address
from xlsengine.workbook.output import whole_file
from xlsengine.workbook.prepared import PreparedFormulas, PreparedWorkbook
from xlsengine.workbook.reach import Reach

FEW_CELLS = 50_000
"""Live cells of a workbook whose parts are small enough to be kept in memory, some 20 MB."""
FOOTER = "&L&8&F&C&8&A&R&8page &P of &N"
_FOLDED = {"level": 1, "hidden": True}
Span = tuple[int, int]  # first and last column of merged cells
Area = tuple[int, int, int, int]  # top, left, bottom and right
Said = str | Node | None  # what stands in a cell: a text, an expression, or nothing


@dataclass(frozen=True)
class LiveCells:
    """An expression that stands in so many cells below each other; `at` is the row that its columns mean in the first.

    `cell` is the declared column or figure that they hold, if they hold one.
    """

    sheet: Sheet
    row: int
    column: int
    node: Node
    form: Any
    at: int
    rows: int
    cell: Column | Named | None = None
    for_chart: bool = False


class Sheet:
    """One worksheet: puts values, and formulas with the values the engine computed for them."""

    def __init__(self, worksheet: Any, name: str, book: Book) -> None:
        self.worksheet = worksheet
        self.name = name
        self.book = book
        self._kept: dict[tuple[bool, int], str] = {}
        self.trusted: list[str] = []
        self._usual, self._heights = 15.0, dict[int, float]()

    def text(self, row: int, column: int, text: str, form: Any) -> None:
        """Put a text that stays text, whatever it begins with.

        XlsxWriter takes a text from ``<r>`` to ``</r>`` for ready-made XML, so such a one is written in two runs.
        """
        text = fitted(text)
        if not text.isascii():
            text = text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")
        if text.startswith("<r>") and text.endswith("</r>"):
            done(self.worksheet.write_rich_string(row, column, text[0], form, text[1:], form))
        else:
            done(self.worksheet.write_string(row, column, text, form))

    def value(self, row: int, column: int, value: Any, form: Any) -> None:
        """Put a plain value: number, text, date, or nothing for blank."""
        if value is None or value != value or value == "":
            done(self.worksheet.write_blank(row, column, None, form))
        elif isinstance(value, str):
            self.text(row, column, value, form)
        elif isinstance(value, datetime.date):
            done(self.worksheet.write_datetime(row, column, value, form))
        else:
            done(self.worksheet.write_number(row, column, float(value), form))

    def live(
        self, row: int, column: int, node: Node, form: Any, rows: int = 1, at: int = 0, for_chart: bool = False
    ) -> None:
        """Put an expression as a live formula, or down so many rows of a column.

        `at` is the row that its columns mean in the first, from that of their block on. `for_chart` means ``#N/A`` in
        place of a blank. The first cell that shows a figure holds what it is, or its value where that is written once; all
        others fetch it.
        """
        here, held = (self.name, row, column), node
        if isinstance(node, Named) and not for_chart and self.book.layout.cells.setdefault(node.name, here) == here:
            if node.name in self.scope.known.written:
                self.value(row, column, self.book.values(node), form)
                return
            held = self.scope.known.figures[node.name].expression
        cell = node if isinstance(node, Named) and held is not node else None
        self.book.live_cells.append(LiveCells(self, row, column, held, form, at, rows, cell, for_chart))

    def derived(self, row: int, column: int, table: str, quantity: Quantity, form: Any, rows: int) -> None:
        """Put a quantity down its column of a table, with the values that the column has."""
        cell = Column(table, quantity.name, quantity.is_text)
        self.book.live_cells.append(LiveCells(self, row, column, quantity.expression, form, 0, rows, cell))

    def put(self, live: LiveCells) -> None:
        """Write live cells with their values, once it is known where everything stands."""
        pattern, values = self._ready(live), self._values(live)
        done(self.worksheet.fill_down(live.row, live.column, pattern, live.form, values, live.at))

    def _values(self, live: LiveCells) -> list[Any]:
        found = self.book.values(live.node if live.cell is None else live.cell)
        values = found[live.at : live.at + live.rows] if np.ndim(found) else np.full(live.rows, found)
        if live.for_chart:
            return ["#N/A" if value != value else value for value in values.tolist()]
        return all_stored(np.asarray(values))

    def height(self, row: int, points: float) -> None:
        """Make a row so many points high."""
        self._heights[row] = points
        self.worksheet.set_row(row, points)

    def usual_height(self, points: float) -> None:
        """Make all other rows so many points high."""
        self._usual = points
        self.worksheet.set_default_row(points)

    def points(self, first: int, last: int) -> float:
        """Return how high rows are together, in points."""
        return sum(self._heights.get(row, self._usual) for row in range(first, last + 1))

    def _ready(self, live: LiveCells) -> str:
        """Return the formula of live cells for all rows; kept by identity, since hashing a tree takes long."""
        key = (live.for_chart, id(live.node))
        if key not in self._kept:
            write = chart_formula if live.for_chart else formula
            self._kept[key] = write(self.book.lean(live), CellAddresses(self.book.layout, self.name))
        return self._kept[key]

    def merged(self, row: int, left: int, right: int, form: Any, rows: int = 1) -> None:
        """Merge cells of a row (or several) for a text to follow in the first; each holds its piece of a border."""
        if right > left or rows > 1:
            each = form if form.left or form.right or form.top or form.bottom else None
            done(self.worksheet.merge_range(row, left, row + rows - 1, right, "", each))

    def across(
        self, row: int, left: int, right: int, said: str | Node, form: Any, rows: int = 1, height: float | None = None
    ) -> None:
        """Put a text, or an expression as a live formula, over merged cells; make their row so many points high."""
        self.merged(row, left, right, form, rows)
        if isinstance(said, str):
            self.text(row, left, said, form)
        else:
            self.live(row, left, said, form)
        if height is not None:
            self.height(row, height)

    def over(self, row: int, spans: Iterable[Span], said: Iterable[Said], forms: Any) -> None:
        """Put texts, expressions or nothing over spans of columns of a row, in one format or in one each."""
        each = forms if isinstance(forms, Sequence) else repeat(forms)
        for span, words, form in zip(spans, said, each, strict=False):
            if words is None:
                self.merged(row, *span, form)
            else:
                self.across(row, *span, words, form)

    def lines(self, said: Said, letters: float) -> int:
        """Return how many lines of so many letters a text takes as it is on writing; 0 where it is blank."""
        text = np.ravel(self.book.values(said))[0] if isinstance(said, Node) else said
        return math.ceil(len(str(text or "")) / letters)

    def fit(
        self, row: int, said: Iterable[Said], letters: Iterable[float], line: float, spare: float = 3, least: float = 0
    ) -> None:
        """Make a row as high as what it says needs, a line at least: each has lines of so many letters, of `line` points.

        A blank may come to say something when a cell is changed.
        """
        wanted = spare + line * max([1, *map(self.lines, said, letters)])
        self.height(row, min(TALLEST, max(least, wanted)))

    def paragraph(
        self, row: int, span: Span, said: str | Node, form: Any, letters: float, line: float, spare: float = 0
    ) -> None:
        """Put a text over the cells of a row, as high as its lines of so many letters and points."""
        self.across(row, *span, said, form)
        self.fit(row, [said], [letters], line, spare)

    def row(self, row: int, texts: Iterable[str], form: Any, left: int = 0) -> None:
        """Put texts beside each other."""
        for column, text in enumerate(texts, start=left):
            self.text(row, column, text, form)

    def widths(self, widths: Iterable[float], left: int = 0, pixels: bool = False) -> None:
        """Give columns beside each other their widths, in letters or in pixels."""
        set_width = self.worksheet.set_column_pixels if pixels else self.worksheet.set_column
        for column, width in enumerate(widths, start=left):
            set_width(column, column, width)

    def fold(self, first: int, last: int, width: float) -> None:
        """Fold columns away that only formulas read."""
        self.worksheet.set_column(first, last, width, None, _FOLDED)

    def width(self, column: int, width: float, folded: bool = False) -> None:
        """Give a column its width in letters, or fold it away with that."""
        self.worksheet.set_column(column, column, width, None, _FOLDED if folded else None)

    def shade(self, area: Area, style: dict[str, Any], where: str = "", **rule: Any) -> None:
        """Dress cells `where` a formula for the first of them holds, or a rule of XlsxWriter's conditional formats."""
        formula_rule = {"type": "formula", "criteria": f"={where}"} if where else {}
        form = self.book.workbook.add_format(style)
        self.worksheet.conditional_format(*area, {**formula_rule, **rule, "format": form})

    def shade_words(self, area: Area, fills: Iterable[tuple[str, str]], how: str = "==", **style: Any) -> None:
        """Fill cells by the words that they hold, or in `how` contain or begin with; the first that fits counts."""
        for word, fill in fills:
            rule = {"type": "cell", "value": f'"{word}"'} if how == "==" else {"type": "text", "value": word}
            self.shade(area, {"bg_color": fill, **style}, criteria=how, **rule)

    def chart(self, place: tuple[int, int], chart: Any, size: tuple[float, float], described: str, **more: int) -> None:
        """Put a chart so many pixels wide and high at a cell, with its alt text; it keeps its size as columns change."""
        chart.set_size({"width": size[0], "height": size[1]})
        self.worksheet.insert_chart(*place, chart, {"description": described, "object_position": 2, **more})

    @property
    def scope(self) -> Scope:
        """Return the values that a workbook with results is written from."""
        assert self.book.scope is not None
        return self.book.scope

    def heading(self, title: str, subtitle: str) -> None:
        """Put the sheet's title and the line below it."""
        self.height(0, 28)
        self.text(0, 0, title, self.book.formats.title)
        self.text(1, 0, subtitle, self.book.formats.subtitle)

    def print_setup(
        self,
        one_page: bool = False,
        repeat: tuple[int, int] | None = None,
        scale: int | None = None,
        margins: tuple[float, float, float, float] = (0.4, 0.4, 0.5, 0.6),
    ) -> None:
        """Print landscape with a footer, fitted to the page's width, or at a `scale` that keeps page breaks.

        `repeat` names rows that every page begins with; margins are left, right, top and bottom, in inches.
        """
        worksheet = self.worksheet
        worksheet.set_landscape()
        worksheet.set_paper(9)
        worksheet.set_margins(*margins)
        if scale:
            worksheet.set_print_scale(scale)
        else:
            worksheet.fit_to_pages(1, 1 if one_page else 0)
        worksheet.set_footer(FOOTER)
        worksheet.hide_gridlines(2)
        if repeat:
            worksheet.repeat_rows(*repeat)

    def print_nothing(self) -> None:
        """Keep the sheet out of what is printed: its print area is one empty cell, and no row or column is repeated."""
        self.worksheet.repeat_row_range = self.worksheet.repeat_col_range = ""
        beyond = (self.worksheet.dim_colmax or 0) + 2
        self.worksheet.print_area(0, beyond, 0, beyond)


class Book:
    """A workbook being written; use it as a context, so that warnings of XlsxWriter become errors.

    One `for_readers` shows the sheets to read only, and says nothing to whoever filled it.
    """

    def __init__(self, path: Path, layout: Layout, scope: Scope | None = None, for_readers: bool = False) -> None:
        options = {
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
            "default_format_properties": {"font_name": FONT, "font_size": 10},  # columns are measured in its digits
            "default_date_format": "yyyy-mm-dd",
            "tmpdir": str(path.parent),
        }
        self._path, self._package = path, BytesIO()
        self.workbook = PreparedWorkbook(self._package, options)
        self.workbook.use_zip64()  # for parts of more than 2 GiB: sheets of some 90,000 readings
        self.layout = layout
        self.scope = scope
        self.for_readers = for_readers
        self.formats = Formats(self.workbook)
        self._sheets: dict[str, Sheet] = {}
        self.live_cells: list[LiveCells] = []
        self.asked_for: list[Column | Named] = []  # cells that conditional formats read, and no formula
        self.reach: Reach | None = None

    def sheet(self, name: str) -> Sheet:
        """Return the sheet of that name, added behind the others when it is new."""
        if name not in self._sheets:
            self._sheets[name] = Sheet(self.workbook.add_worksheet(name, PreparedFormulas), name, self)
        return self._sheets[name]

    def close(self) -> None:
        """Finish the workbook and write it to its file.

        The package is put together in memory: on a full disk, a zip archive left half written would speak up for itself
        when it is thrown away. So are its parts while they are small, since each file on a disk is waited for.
        """
        self.workbook.in_memory = sum(live.rows for live in self.live_cells) < FEW_CELLS
        self.workbook.close()
        self._path.write_bytes(self._package.getbuffer())

    def lean(self, live: LiveCells) -> Node:
        """Return the expression that live cells hold: without what was not read, with what only it reads."""
        if self.reach is None:  # every cell has a place of its own
            return live.node
        return self.reach.lean(live.node) if live.cell is None else self.reach.definition(live.cell)

    def put_live_cells(self) -> None:
        """Write all live cells, once it is known where everything stands."""
        for live in self.live_cells:
            live.sheet.put(live)

    def values(self, node: Node) -> Any:
        """Evaluate an expression once."""
        assert self.scope is not None
        return self.scope.any_value(node)

    def describe(self, title: str, custom: Mapping[str, str]) -> None:
        """Define the layout's names, and set the document's properties; the fixed date keeps the bytes the same."""
        for name, address in self.layout.names().items():
            done(self.workbook.define_name(name, f"={address}"))
        self.workbook.hidden_names = self.layout.step_figures
        self.workbook.set_properties({"title": title, "author": AUTHOR, "created": FIXED_DATE})
        for name, value in custom.items():
            done(self.workbook.set_custom_property(name, value, "text"))

    def table(self, sheet: Sheet, block: Block, forms: Sequence[tuple[Any, Any]], formulas: Sequence[str] = ()) -> None:
        """Add an Excel table over a block; `forms` are (header, cell) formats.

        `formulas` are what the table fills into new rows, "" for typed columns; a table that nobody adds to has none. They
        say the same as the cells in other words, so the hint that they differ is off.
        Buttons to filter would take room from the headers, which LibreOffice then breaks within words.
        """
        columns = [
            {"header": writable_header(header), "header_format": form[0]}
            for header, form in zip(block.headers, forms, strict=True)
        ]
        options = {"name": block.name, "columns": columns, "style": None, "autofilter": False}
        done(sheet.worksheet.add_table(block.top, block.left, block.top + 1, block.right, options))
        made = sheet.worksheet.tables[-1]  # made of one row, since XlsxWriter keeps every cell of a table
        made["range"] = f"{cell_address(block.top, block.left)}:{cell_address(block.bottom, block.right)}"
        for column in made["columns"]:  # XlsxWriter escapes the cells of headers, not these
            column["name"] = stored(column["name"])
        if any(formulas):
            sheet.worksheet.declare_formulas(formulas)
            sheet.trusted.append(f"{cell_address(block.top + 1, block.left)}:{cell_address(block.bottom, block.right)}")
            done(sheet.worksheet.ignore_errors({"calculated_column": " ".join(sheet.trusted)}))


@contextmanager
def new_book(
    path: str | Path,
    overwrite: bool,
    layout: Layout,
    title: str,
    scope: Scope | None = None,
    custom: Mapping[str, str] = MappingProxyType({}),
    for_readers: bool = False,
) -> Iterator[Book]:
    """Give a workbook to write, which then gets its names and properties and stands at its path whole.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    with whole_file(Path(path), overwrite) as unfinished, strict():
        book = Book(unfinished, layout, scope, for_readers)
        yield book
        book.describe(title, custom)
        book.close()


strict = partial(warnings.catch_warnings, action="error", category=UserWarning)
"""Makes every warning of XlsxWriter an error: a note or a name it drops would be lost in silence."""


def done(code: Any) -> None:
    """Raise ValueError where XlsxWriter says with a negative number that it left something out."""
    if isinstance(code, int) and code < 0:
        raise ValueError(f"XlsxWriter refused a cell, name or range (code {code})")
