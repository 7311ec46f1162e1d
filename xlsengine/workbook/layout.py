"""Where every form, table and single figure stands, in the input workbook and in the results workbook."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from xlsengine.bench.declaring.declare import Form, Table
from xlsengine.bench.inputs import motor, settings, uses
from xlsengine.bench.inputs.conditions import BENCH, CHECK_WEIGHTS
from xlsengine.bench.inputs.craft import CRAFT
from xlsengine.bench.inputs.motor import INSPECTION, MOTOR
from xlsengine.bench.inputs.no_load import DRIVEN_SPINS, FREE_SPINS, WINDING
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import Column, Named, Node
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.unread import Folding

SCHEMA_VERSION = "3"
SCHEMA_PROPERTY = "xlsengine schema version"
HASH_PROPERTY = "xlsengine input hash"
RESULTS_PROPERTY, RESULTS_VERSION = "xlsengine results version", "8"
"""Raised whenever computed cells come, go or mean something else: in a workbook of another version nobody can tell which of
them were typed over."""
STATED = {SCHEMA_PROPERTY: SCHEMA_VERSION, RESULTS_PROPERTY: RESULTS_VERSION}
"""What a results workbook says of itself, besides the hash of its inputs."""
AUTHOR, FIXED_DATE = "xlsengine", datetime.datetime(2020, 1, 1)
"""By whom and when a workbook says it was saved, until another program saves it; fixed, so that the bytes are the same."""
APP_VERSION = "12.0000"
"""The program's version that XlsxWriter puts into every workbook; no program of this day has it."""
SHEETS: dict[str, tuple[Form | Table, ...]] = {
    "Readings": (READINGS,),
    "Motor": (MOTOR, INSPECTION),
    "Bench": (BENCH, CHECK_WEIGHTS),
    "No load": (FREE_SPINS, DRIVEN_SPINS, WINDING),
    "Craft": (CRAFT,),
    "Settings": (settings.SETTINGS, settings.ROUND_THRUSTS, settings.ESC_SIZES, motor.WIRES, uses.USES),
}
TEMPLATE_SHEETS = frozenset(("Start", "Paper"))
"""Sheets of an input workbook that are not filled in."""
FIRST_DATE, LAST_DATE = datetime.date(1990, 1, 1), datetime.date(2099, 12, 31)
LONGEST_CELL = 32767
NEEDED_MARK = "needed"
"""Above the columns that every reading needs."""
TITLE_ROWS = 4
READINGS_KEY = ("typed", "▲ impossible", "● doubtful", "left out")
"""What the marks on Readings mean, above the table."""
READINGS_HINT = (
    "Correct a cell and its mark goes at once; the sheet Checks says what to do. Use takes yes or no and overrules the "
    "checks. In flight: an estimate for forward flight (≥: it may rise); held, the amps read. Folded away (open with the + "
    "above): speed, torque and motor temperature where none was read, and at the right all other figures of each reading."
)
FORM_HEADERS = ("Field", "Value", "Unit", "Wanted", "Meaning")
SOURCE_HEADER = "Source"
FORM_VALUE = FORM_HEADERS.index("Value")


@cache
def written_sheets() -> frozenset[str]:
    """Return the names of the sheets that the engine writes for reading only, those of older workbooks too."""
    from xlsengine.workbook.results import WRITTEN  # here, because a reader of templates needs none of them

    return WRITTEN - SHEETS.keys()


def is_written(name: str) -> bool:
    """Tell whether the engine writes a sheet of that name for reading only."""
    return name in TEMPLATE_SHEETS or name in written_sheets()


def form_table(form: Form) -> str:
    """Return the Excel table's name of a form."""
    return f"{form.name}Form"


def table_name(part: Form | Table) -> str:
    """Return the name of the Excel table that holds a form or table."""
    return form_table(part) if isinstance(part, Form) else part.name


@cache
def column_letters(column: int) -> str:
    """Return a column's letters, counted from 0.

    >>> column_letters(0), column_letters(26), column_letters(16383)
    ('A', 'AA', 'XFD')
    """
    letters = ""
    while column >= 0:
        column, place = column // 26 - 1, column % 26
        letters = chr(ord("A") + place) + letters
    return letters


def cell_address(row: int, column: int, fixed: bool = False) -> str:
    """Return a cell's address, row and column counted from 0; with `fixed` it stays when copied.

    >>> cell_address(0, 0), cell_address(9, 2, fixed=True)
    ('A1', '$C$10')
    """
    mark = "$" if fixed else ""
    return f"{mark}{column_letters(column)}{mark}{row + 1}"


def quoted(sheet: str) -> str:
    """Return a sheet's name as formulas write it."""
    return sheet if sheet.isalnum() else f"'{sheet}'"


def escaped(header: str) -> str:
    """Return a column header as structured references write it."""
    return "".join("'" + sign if sign in "[]#'" else sign for sign in header)


ROW_MARK = "\x00"
"""Stands before and after the number of a row that a formula, written for the first row, moves to its own."""


@dataclass(frozen=True)
class Block:
    """A rectangle with one header row: `top` is its row, rows follow; all counted from 0."""

    name: str
    sheet: str
    top: int
    left: int
    rows: int
    columns: tuple[str, ...]
    headers: tuple[str, ...]

    @property
    def bottom(self) -> int:
        """Return the last row."""
        return self.top + self.rows

    @property
    def right(self) -> int:
        """Return the last column."""
        return self.left + len(self.columns) - 1

    def column(self, name: str) -> int:
        """Return the sheet column of a column by name."""
        return self.left + self.columns.index(name)

    def header(self, name: str) -> str:
        """Return the header text of a column by name."""
        return self.headers[self.columns.index(name)]

    def area(self, name: str) -> tuple[int, int, int, int]:
        """Return top, left, bottom and right of the cells of a column."""
        return self.top + 1, self.column(name), self.bottom, self.column(name)

    def local(self, name: str, row: int) -> str:
        """Return the address of a cell without its sheet; `row` counts from 0 below the header."""
        return f"${column_letters(self.column(name))}{self.top + row + 2}"

    def open_address(self, name: str, fixed: bool = False) -> str:
        """Return the address of the first cell below the header, its row set apart by `ROW_MARK`; it may be `fixed`."""
        return f"${column_letters(self.column(name))}{'$' * fixed}{ROW_MARK}{self.top + 2}{ROW_MARK}"

    def span(self, name: str, header: bool = False) -> str:
        """Return the absolute address of a column's cells without its sheet, with the `header` above or not."""
        column, first = self.column(name), self.top if header else self.top + 1
        return f"{cell_address(first, column, True)}:{cell_address(self.bottom, column, True)}"


@dataclass
class Layout:
    """Blocks by name and named cells by name: the one place that knows positions.

    `steps` holds, by table, the columns that only formulas read and that stand apart from their table. `folding` knows which
    figures stay blank because what they need was not read; those have no place. `unseen` are the formulas that stand where
    nobody sees them, `step_figures` the figures that do. `said` are the cells of sentences that stand on several sheets,
    where each is put together.
    """

    blocks: dict[str, Block] = field(default_factory=dict)
    steps: dict[str, Block] = field(default_factory=dict)
    cells: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    folding: Folding | None = None
    unseen: set[Column | Named] = field(default_factory=set)
    step_figures: set[str] = field(default_factory=set)
    said: dict[str, Column] = field(default_factory=dict)

    def place(self, block: Block) -> Block:
        """Keep a block under its name; raises ValueError where two would lie over each other."""
        for other in (other for other in self.blocks.values() if other.sheet == block.sheet):
            beside = block.right < other.left or other.right < block.left
            if not (beside or block.bottom < other.top or other.bottom < block.top):
                raise ValueError(f"{block.name} lies over {other.name} on {block.sheet}")
        self.blocks[block.name] = block
        return block

    def home(self, column: Column) -> Block:
        """Return the block that holds a column: that of its table, or the one for what only formulas read."""
        block = self.blocks.get(column.table)
        return block if block is not None and column.name in block.columns else self.steps[column.table]

    def is_left_out(self, cell: Column | Named) -> bool:
        """Tell whether a figure has no place because what it needs was not read."""
        return self.folding is not None and self.folding.is_blank(cell)

    def has(self, cell: Column | Named) -> bool:
        """Tell whether a cell has its place among what is shown."""
        if isinstance(cell, Named):
            return cell.name in self.cells
        block = self.blocks.get(cell.table)
        return block is not None and cell.name in block.columns

    def name(self, name: str, sheet: str, row: int, column: int) -> None:
        """Keep a named cell."""
        self.cells[name] = (sheet, row, column)

    def say(self, name: str, node: Node, scope: Scope, sheet: str, row: int) -> None:
        """Keep a sentence that is put together in the first cell of a row, and fetched from there elsewhere."""
        self.said[name] = place_cells(self, scope, sheet, row - 1, 0, [node], 1)

    def address(self, name: str) -> str:
        """Return the absolute address of a named cell."""
        sheet, row, column = self.cells[name]
        return f"{quoted(sheet)}!{cell_address(row, column, fixed=True)}"

    def names(self) -> Mapping[str, str]:
        """Return the names that a workbook defines: of what is shown, and of steps that no formula gives back on reading."""
        computed = {cell.name for cell in self.unseen if isinstance(cell, Named)}
        return {name: self.address(name) for name in sorted(self.cells) if name not in computed}


def place_cells(
    layout: Layout, scope: Scope, sheet: str, top: int, column: int, nodes: Sequence[Node], rows: int
) -> Column:
    """Say what stands below row `top` in cells that are not declared, so that others can speak of them.

    That is one expression for all rows, or one for each.
    """
    block = layout.place(Block(f"{sheet} {top} {column}", sheet, top, column, rows, ("value",), ("",)))
    cells = Column(block.name, "value", nodes[0].is_text)
    scope.place(cells, nodes, rows)
    return cells


@dataclass(frozen=True)
class CellAddresses:
    """How a formula on a sheet speaks of cells: by plain references, which every spreadsheet program follows.

    This row is written for the first row below the headers, set apart by `ROW_MARK`. A whole column takes in the spare rows
    of its table, so that rows inserted between them are counted too.
    """

    layout: Layout
    sheet: str

    def this_row(self, column: Column) -> str:
        """Return the reference to this row's cell of a column; on another sheet it stays that cell when a table is copied."""
        block = self.layout.home(column)
        return self._on_sheet(block, block.open_address(column.name, block.sheet != self.sheet))

    def whole(self, column: Column, with_header: bool = False) -> str:
        """Return the reference to a whole column, and its header cell above."""
        block = self.layout.home(column)
        return self._on_sheet(block, block.span(column.name, with_header))

    def header(self, column: Column) -> str:
        """Return the reference to a header cell of the column's table on this sheet."""
        shown = self.layout.blocks.get(column.table)
        block = shown if shown is not None and shown.sheet == self.sheet else self.layout.steps[column.table]
        return cell_address(block.top, block.left, fixed=True)

    def named(self, name: str) -> str:
        """Return the reference to a named cell: its name, or where nobody sees it the cell."""
        if name not in self.layout.step_figures:
            return name
        sheet, row, column = self.layout.cells[name]
        address = cell_address(row, column, fixed=True)
        return address if sheet == self.sheet else f"{quoted(sheet)}!{address}"

    def is_step(self, cell: Column | Named) -> bool:
        """Tell whether a cell holds a formula that nobody sees."""
        return cell in self.layout.unseen

    def _on_sheet(self, block: Block, address: str) -> str:
        return address if block.sheet == self.sheet else f"{quoted(block.sheet)}!{address}"


@dataclass(frozen=True)
class GrowingAddresses(CellAddresses):
    """How the formula that a table fills into its new rows speaks of cells: of its own by name, wherever they stand."""

    table: str

    def this_row(self, column: Column) -> str:
        """Return the reference to this row's cell of a column; KeyError for a column of another table."""
        return self._by_name("#This Row", column)

    def whole(self, column: Column, with_header: bool = False) -> str:
        """Return the reference to a whole column, and its header cell above."""
        if column.table != self.table:
            return super().whole(column, with_header)
        if with_header:
            return self._by_name("#All", column)
        return f"{self.table}[{escaped(self.layout.blocks[self.table].header(column.name))}]"

    def header(self, column: Column) -> str:
        """Return the reference to a header cell of the table."""
        return self._by_name("#Headers", Column(column.table, self.layout.blocks[self.table].columns[0]))

    def _by_name(self, part: str, column: Column) -> str:
        if column.table != self.table:
            raise KeyError(f"{self.table} cannot fill in a row of {column.table}")
        return f"{self.table}[[{part}],[{escaped(self.layout.blocks[self.table].header(column.name))}]]"
