"""A small table, named cells and random trees over them, to hold the readings of a tree against each other."""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from xlsengine.aggregates import AGGREGATES, rows_where
from xlsengine.expression import Aggregate, Column, Condition, Named, Node, as_node, call, evaluate, flag, join, lesser
from xlsengine.formula import formula
from xlsengine.operations import OPERATIONS
from xlsengine.workbook.layout import ROW_MARK, Block, CellAddresses, Layout

TABLE = "Bench"
SHEET = "Sheet of trees"
TOP = 3  # the row of the headers, from 0


def number(name: str) -> Column:
    return Column(TABLE, name)


def text(name: str) -> Column:
    return Column(TABLE, name, text=True)


A, B, C = number("A"), number("B"), number("C (V/A)")
WHOLE, SHARE = number("Whole"), number("Share")
T, U, DIGITS = text("T"), text("U (°)"), text("Digits")
RATIO, MARK, LEVEL, GROUP, KIND = number("Ratio"), text("Mark"), number("Level"), number("Group"), text("Kind")

_: None = None
NUMBERS: dict[Column, list[float | None]] = {
    A: [1.5, 2.25, _, 4, -3, 0.5, 12, _, 7.75, 0, 3.5, 2.25, _, _],
    B: [2, _, 8, -1.25, 0.75, 16, 3, _, 0, 5, 6.5, 2, _, _],
    C: [0.1, 0.3, 0.7, _, 1e-3, 2.5, 40.2, _, 3.3, 0.6, 1.1, 0.3, _, _],
    WHOLE: [1, 2, 3, 1, 2, _, 3, 4, 5, 0, 2, 1, _, _],
    SHARE: [0.25, 0.5, 0.75, 1, _, 0, 0.5, _, 0.125, 0.5, 0.75, 0.25, _, _],
}
TEXTS: dict[Column, list[str | None]] = {
    T: ["11x4.7", "11X4.7", _, '12" "q"', "5*4.3", "5?4~3", "  Größe  Ä ", _, "=1+1", "yes", "Yes", "543", _, _],
    U: ["yes", "NO", "no", _, "11x4.7", "~", "größe ä", _, "", "*", "yes", "?", _, _],
    DIGITS: ["0102", "12", "345", _, "99000112", "7", "01", _, "20", "31", "1", "0405", _, _],
}
ROWS = len(NUMBERS[A])
DEFINITIONS: dict[Node, Node] = {
    RATIO: A / B,
    MARK: join(T, "/", (A * 2.0).fixed(1)),
    LEVEL: A.otherwise(-1.0),
    GROUP: flag(A.present()) + 1.0,
    KIND: T.otherwise("none"),
}
SETTING, OFFSET, ABSENT = Named("setting_k"), Named("offset"), Named("absent")
LABEL, NO_LABEL = Named("label", text=True), Named("no_label", text=True)
NAMED: dict[Named, float | str | None] = {SETTING: 2.5, OFFSET: -0.75, ABSENT: None, LABEL: 'Say "Ä*"', NO_LABEL: None}


@dataclass
class SheetValues:
    """The table in numbers; derived columns are computed from `definitions` when asked for.

    `shift` is added to one column or named cell, so that a numeric derivative can be taken.
    """

    shift: Mapping[Column | Named, float] = field(default_factory=dict)
    read: set[Column | Named] = field(default_factory=set)

    def this_row(self, column: Column) -> Any:
        self.read.add(column)
        if column in DEFINITIONS:
            return np.broadcast_to(evaluate(DEFINITIONS[column], SheetValues(self.shift)), ROWS)
        if column.text:
            return np.array(TEXTS[column], dtype=object)
        return np.array(NUMBERS[column], dtype=float) + self.shift.get(column, 0.0)

    def named(self, name: str) -> Any:
        cell = next(cell for cell in NAMED if cell.name == name)
        self.read.add(cell)
        if cell.text:
            return NAMED[cell]
        return np.array(NAMED[cell], dtype=float) + self.shift.get(cell, 0.0)

    def aggregate(self, node: Aggregate) -> Any:
        if node.operation == "row":
            self.read.update(node.columns)
            return np.arange(1.0, ROWS + 1.0)
        columns = [self.this_row(column) for column in node.columns]
        tests = [(self.this_row(c.column), c.sign, self._by_row(c.value)) for c in node.conditions]
        arguments = self._by_row(as_node(0.0) if node.argument is None else node.argument)
        return self._row_by_row(node, columns, tests, arguments)

    def _by_row(self, node: Node) -> list[Any]:
        return list(np.broadcast_to(np.asarray(evaluate(node, self)), ROWS))

    def _row_by_row(self, node: Aggregate, columns: list[Any], tests: list[Any], arguments: list[Any]) -> Any:
        """Compute the aggregate for each row that asks; a blank in a condition or the argument makes it blank."""
        results = []
        for row in range(ROWS):
            asked = [arguments[row], *(wanted[row] for _, _, wanted in tests)]
            if any(part is None or part != part for part in asked):
                results.append(None if node.is_text else np.nan)
                continue
            kept = np.ones(ROWS, dtype=bool)
            for values, sign, wanted in tests:
                kept &= rows_where(values, sign, wanted[row])
            results.append(AGGREGATES[node.operation].numpy([c[kept] for c in columns], arguments[row]))
        return np.array(results, dtype=object if node.is_text else float)


@dataclass
class TableAddresses:
    """The cells by structured reference; `read` collects what a formula asked for."""

    read: set[Column | Named] = field(default_factory=set)
    steps: frozenset[Column | Named] = frozenset()

    def is_step(self, cell: Column | Named) -> bool:
        return cell in self.steps

    def this_row(self, column: Column) -> str:
        return f"{TABLE}[[#This Row],[{self._header(column)}]]"

    def whole(self, column: Column, with_header: bool = False) -> str:
        return f"{TABLE}[[#All],[{self._header(column)}]]" if with_header else f"{TABLE}[{self._header(column)}]"

    def header(self, column: Column) -> str:
        return f"{TABLE}[[#Headers],[{self._header(column)}]]"

    def named(self, name: str) -> str:
        self.read.add(next(cell for cell in NAMED if cell.name == name))
        return name

    def _header(self, column: Column) -> str:
        self.read.add(column)
        return "".join("'" + sign if sign in "[]#'" else sign for sign in column.name)


def addresses(steps: bool = False) -> CellAddresses:
    """Return where the cells of the table stand, as the engine's own formulas speak of them; derived or all are `steps`."""
    columns = tuple(str(cell.name) for cell in (*NUMBERS, *TEXTS, *DEFINITIONS) if isinstance(cell, Column))
    layout = Layout()
    layout.place(Block(TABLE, SHEET, TOP, 0, ROWS, columns, columns))
    layout.unseen.update(cell for cell in DEFINITIONS if isinstance(cell, Column))
    if steps:
        layout.unseen.update((*NUMBERS, *NAMED))
    return CellAddresses(layout, SHEET)


class _Prepared(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas are prepared before they are written to their rows, once for each column."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


def write_trees(trees: Sequence[Node], path: Path, steps: bool = False) -> None:
    """Write the table with its named cells and, to the right of it, one column for each tree.

    With `steps`, numbers are formulas too, and a blank among them is an empty text.
    """
    with xlsxwriter.Workbook(path, {"strings_to_formulas": False, "strings_to_numbers": False}) as book:
        sheet = book.add_worksheet(SHEET, _Prepared)
        for place, (cell, value) in enumerate(NAMED.items()):
            book.define_name(cell.name, f"='{SHEET}'!{xl_rowcol_to_cell(0, place, True, True)}")
            _write(sheet, 0, place, value, steps and not cell.text)
        columns: list[tuple[str, Callable[[int], None]]] = []
        readings: list[tuple[Column, Sequence[float | str | None]]] = [*NUMBERS.items(), *TEXTS.items()]
        for column, cells in readings:
            columns.append((column.name, _writer(sheet, len(columns), cells, steps and not column.text)))
        for derived, definition in DEFINITIONS.items():
            assert isinstance(derived, Column)
            columns.append((derived.name, _formula_writer(sheet, len(columns), definition, steps)))
        columns += [
            (f"Tree {n}", _formula_writer(sheet, len(columns) + n, tree, steps)) for n, tree in enumerate(trees)
        ]
        headers = [{"header": name} for name, _ in columns]
        sheet.add_table(TOP, 0, TOP + ROWS, len(headers) - 1, {"name": TABLE, "columns": headers})
        for _, writer in columns:
            for row in range(TOP + 1, TOP + 1 + ROWS):
                writer(row)


def _write(sheet: Any, row: int, column: int, value: float | str | None, step: bool = False) -> None:
    if step:
        sheet.write_formula(
            row, column, '=""' if value is None else f"={value!r}", None, "" if value is None else value
        )
    elif value is not None:
        (sheet.write_string if isinstance(value, str) else sheet.write_number)(row, column, value)


def _writer(sheet: Any, column: int, cells: Sequence[float | str | None], step: bool) -> Callable[[int], None]:
    return lambda row: _write(sheet, row, column, cells[row - TOP - 1], step)


def filled_in(pattern: str, row: int) -> str:
    """Move a formula written for the first row below the headers down by `row` rows."""
    pieces = pattern.split(ROW_MARK)
    pieces[1::2] = [str(int(first) + row) for first in pieces[1::2]]
    return "".join(pieces)


def _formula_writer(sheet: Any, column: int, tree: Node, steps: bool) -> Callable[[int], None]:
    pattern = "=" + Worksheet()._prepare_formula(formula(tree, addresses(steps)))
    return lambda row: sheet.write_formula(row, column, filled_in(pattern, row - TOP - 1), None, 0)


# --- random trees --------------------------------------------------------------------------------------------------

# What each operation takes, by letter: number, text, logical, x for the kind that is wanted, and in capitals a
# number cell (N), a text cell (T), a text of digits (G), decimals (D), an exponent (E), a place from 1 (P).
TAKES: dict[str, str] = {
    **dict.fromkeys(("add", "subtract", "multiply", "divide", "lesser", "greater"), "nn"),
    **dict.fromkeys(("t quantile", "chi-square quantile"), "SF"),
    **dict.fromkeys(("negate", "sqrt", "exp", "ln", "absolute", "whole part"), "n"),
    "odd": "N",
    **dict.fromkeys(("less", "at most", "more", "at least", "equal", "unequal"), "nn"),
    **{
        "power": "nE",
        **dict.fromkeys(("round", "round down", "round up"), "nD"),
        "fixed": "nD",
        "and": "ll",
        "or": "ll",
        "not": "l",
    },
    **{
        "same text": "tt",
        "join": "tt",
        "lower": "t",
        "in thousands": "n",
        "trim": "t",
        "in short": "t",
        "length": "t",
        "link": "tt",
    },
    **{"cell text": "t", "present": "N", "written": "T", "if": "lxx", "first of": "xx", "choose": "Pxxx"},
}
CONDITIONS: list[tuple[Column, str, str]] = [
    *((column, sign, "n") for column in (LEVEL, GROUP) for sign in ("=", "<>", "<", "<=", ">", ">=")),
    *((KIND, sign, "t") for sign in ("=", "<>")),
]
LONG_TEXT = 'Ä"~*?' * 60
TEXT_CONSTANTS = ("x", '"', "~*?", "=1+1", "Größe", "NO", " a  b ", "11x4.7", "", LONG_TEXT)
NUMBER_CONSTANTS = (-2.0, -0.25, 0.0, 0.5, 1.0, 3.0, 7.5, 0.001, 12.0)


class TreeMaker:
    """Makes random trees of every operation and every aggregate, the same ones for the same seed."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)

    def tree(self, operation: str, depth: int) -> Node:
        """Make a tree with this operation at its root."""
        kind = OPERATIONS[operation].kind[0]
        if "x" in TAKES[operation]:
            kind = self.chance.choice("ntl")
        return self._call(operation, kind, depth)

    def _call(self, operation: str, kind: str, depth: int) -> Node:
        parts = [self.part(kind if letter == "x" else letter, depth - 1) for letter in TAKES[operation]]
        if operation == "exp":  # IFERROR of IronCalc lets an overflow through
            parts = [lesser(parts[0], 5.0)]
        return call(operation, *parts)

    def part(self, kind: str, depth: int) -> Node:
        """Make a part of the kind that `TAKES` names by a letter."""
        match kind:
            case "N":
                return self.chance.choice((A, B, C, WHOLE, SHARE, RATIO, SETTING, ABSENT))
            case "T":
                return self.chance.choice((T, U, DIGITS, MARK, LABEL, NO_LABEL))
            case "D":
                return as_node(self.chance.choice((0.0, 1.0, 2.0, 3.0)))
            case "E":
                return as_node(self.chance.choice((2.0, 3.0, -1.0, -2.0, 0.5, 1.5)))
            case "S":
                return self.chance.choice((SHARE, as_node(0.05), as_node(0.01), SETTING))
            case "F":
                return self.chance.choice((WHOLE, WHOLE + 0.9, WHOLE * 25.6, A))
            case "P":
                return self.chance.choice((WHOLE, WHOLE + 1.0, as_node(2.0)))
        return self._leaf(kind) if depth <= 0 else self._inner(kind, depth)

    def _inner(self, kind: str, depth: int) -> Node:
        if self.chance.random() < 0.12:
            return self._leaf(kind)
        if self.chance.random() < 0.1 and kind != "l":
            return self.aggregate(self.chance.choice(AGGREGATES_OF[kind]), depth)
        wanted = "l" if kind == "n" and self.chance.random() < 0.07 else kind  # truth values count as 1 and 0
        names = [name for name in OPERATIONS if OPERATIONS[name].kind[0] == wanted or "x" in TAKES[name]]
        names = [name for name in names if name != "link"]  # it is shown, never read on
        return self._call(self.chance.choice(names), wanted, depth)

    def _leaf(self, kind: str) -> Node:
        if kind == "l":
            return call(self.chance.choice(("less", "at least")), self._leaf("n"), self._leaf("n"))
        if self.chance.random() < 0.3:
            constants: Sequence[float | str] = NUMBER_CONSTANTS if kind == "n" else TEXT_CONSTANTS
            return as_node(self.chance.choice(constants))
        return self.part("N" if kind == "n" else "T", 0)

    def aggregate(self, operation: str, depth: int) -> Node:
        """Make an aggregate whose conditions keep the rule of `Aggregate`."""
        columns = self.chance.choice(AGGREGATE_COLUMNS[operation])
        tests: tuple[Condition, ...] = ()
        if AGGREGATES[operation].by_group:
            tests = tuple(self._condition(depth) for _ in range(self.chance.randrange(3)))
            if tests and operation == "largest":
                columns = self.chance.choice(((C,), (SHARE,)))
        argument = AGGREGATE_ARGUMENTS.get(operation)
        return Aggregate(operation, columns, tests, self._argument(argument, depth) if argument else None)

    def _argument(self, kind: str, depth: int) -> Node:
        if kind == "P" and self.chance.random() < 0.3:
            return Aggregate("row", (A,)) - 1.0
        return self.part(kind, depth - 1)

    def _condition(self, depth: int) -> Condition:
        if self.chance.random() < 0.3:
            return Condition(self.chance.choice((WHOLE, B)), "=", as_node(self.chance.choice((1.0, 2.0, -1.25))))
        column, sign, kind = self.chance.choice(CONDITIONS)
        return Condition(column, sign, self.part(kind, depth - 1))


AGGREGATES_OF = {"n": tuple(name for name in AGGREGATES if name != "text at"), "t": ("text at",)}
AGGREGATE_COLUMNS: dict[str, tuple[tuple[Column, ...], ...]] = {
    "count": ((A,), (RATIO,), (T,), (MARK,)),
    "sum": ((A,), (RATIO,)),
    "mean": ((A,), (RATIO,), (C,)),
    "largest": ((A,), (RATIO,)),
    "smallest": ((A,), (RATIO,), (A, B), (A, B, C)),
    "at": ((A,), (RATIO,)),
    "text at": ((T,), (MARK,)),
    "position": ((A,), (RATIO,), (WHOLE,)),
    "text position": ((T,), (MARK,), (U,)),
    "dot": ((A, B), (RATIO, C), (A, RATIO)),
    "standard deviation": ((A,), (RATIO,), (C,)),
    **dict.fromkeys(("slope", "intercept", "residual deviation"), ((A, B), (RATIO, C), (WHOLE, A), (B, SHARE))),
    "row": ((A,),),
}
AGGREGATE_ARGUMENTS = {
    **dict.fromkeys(("largest", "smallest", "at", "text at"), "P"),
    **{"position": "n", "text position": "t"},
}


def random_trees(count: int, depth: int, seed: int) -> list[Node]:
    """Make `count` trees, each operation in turn at the root."""
    maker = TreeMaker(seed)
    names = list(OPERATIONS)
    return [maker.tree(names[place % len(names)], depth) for place in range(count)]
