"""Which derived cells a workbook holds: those that are shown, and of the others those that a shown one needs.

What only one formula reads becomes a part of that formula, as long as it stays short; so does what is shorter than the
cell that would hold it.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from operator import is_

from xlsengine.blanks import may_lack
from xlsengine.computing import kept
from xlsengine.expression import Aggregate, Call, Column, Constant, Named, Node, references
from xlsengine.operations import OPERATIONS
from xlsengine.workbook.unread import Folding

LONGEST = 3600
"""Characters up to which a formula takes in what only it reads."""
CELL = 4000
"""Characters that a cell costs besides its formula; what would be repeated for less than that is repeated."""
SHORT = 60
"""Characters of a formula that is taken in wherever it is read: hardly more than the reference to its cell."""
FEW = 50
"""Rows of a table up to which what looks through whole columns may be done twice."""
_FETCHING = frozenset(("at", "text at", "row"))
_REFERENCE = 7
_ARGUED = {"smallest": 1, "position": 1, "text position": 1, "at": 4, "text at": 2}
"""How often the formula of an aggregate holds its argument; of others the argument stays a cell."""
Cell = Column | Named


@dataclass(frozen=True)
class Reader:
    """An expression that stands in a cell: the cell if it is a declared one, and in how many rows it stands."""

    node: Node
    cell: Cell | None
    rows: int


@dataclass
class _Use:
    """Who reads a cell, and how often; `pinned` where one asks for the cell itself or for its whole column."""

    readers: Counter[int] = field(default_factory=Counter)
    pinned: bool = False


class Reach:
    """The cells that are needed, and the expressions that they hold once others are taken into them."""

    def __init__(self, definitions: Mapping[Cell, Node], folding: Folding, is_shown: Callable[[Cell], bool]) -> None:
        self._definitions, self._folding, self._is_shown = definitions, folding, is_shown
        self._readers: list[Reader] = []
        self._uses: dict[Cell, _Use] = {}
        self._lean: dict[Cell, Node] = {}
        self._taken_in: set[Cell] = set()
        self._order: list[Cell] = []

    def find(self, roots: Iterable[Reader], rows_of: Callable[[str], int]) -> None:
        """Follow what is shown to all that it needs, and decide what is taken into other formulas."""
        self._rows_of = rows_of
        seen: set[int] = set()
        for root in roots:
            if root.cell is not None:
                self._visit(root.cell)
            elif id(root.node) not in seen:
                seen.add(id(root.node))
                self._read(Reader(self._folding.folded(root.node), None, root.rows))
        self._length = [0] * len(self._readers)
        for cell in self._order:
            if not self._is_shown(cell) and cell in self._definitions:
                self._decide(cell)

    def needed(self) -> Iterator[Cell]:
        """Yield the cells that are not shown and that a formula speaks of, in an order of their own."""
        yield from (cell for cell in self._order if cell not in self._taken_in and not self._is_shown(cell))

    def computes(self, cell: Cell) -> bool:
        """Tell whether a derived cell is shown or part of what is."""
        return cell in self._uses and not self._folding.is_blank(cell)

    def definition(self, cell: Cell) -> Node:
        """Return what a derived cell holds."""
        if cell not in self._lean:
            self._lean[cell] = self._with_taken_in(self._folding.definition(cell))
        return self._lean[cell]

    def lean(self, node: Node) -> Node:
        """Return an expression with what is taken into it."""
        return self._with_taken_in(self._folding.folded(node))

    def _with_taken_in(self, node: Node) -> Node:
        match node:
            case Call(operation, arguments) if operation not in ("present", "written"):
                parts = tuple(map(self._with_taken_in, arguments))
                return node if all(map(is_, parts, arguments)) else Call(operation, parts)
            case Column() | Named():
                return _as_in_its_cell(self.definition(node)) if node in self._taken_in else node
            case Aggregate(operation, _, _, Node() as argument) if operation in _ARGUED:
                taken = self._with_taken_in(argument)
                return node if taken is argument else replace(node, argument=taken)
        return node

    def _read(self, reader: Reader) -> None:
        place = len(self._readers)
        self._readers.append(reader)
        for cell, pinned in _used(reader.node):
            self._visit(cell)
            use = self._uses[cell]
            use.readers[place] += 1
            use.pinned = use.pinned or pinned

    def _visit(self, cell: Cell) -> None:
        if cell in self._uses:
            return
        self._uses[cell] = _Use()
        if cell in self._definitions:
            self._read(Reader(self._folding.definition(cell), cell, self._rows(cell)))
        self._order.append(cell)

    def _rows(self, cell: Cell) -> int:
        return self._rows_of(cell.table) if isinstance(cell, Column) else 1

    def _decide(self, cell: Cell) -> None:
        use, node = self._uses[cell], self.definition(cell)
        if use.pinned:
            return
        times, readers = sum(use.readers.values()), [self._readers[place] for place in use.readers]
        if _is_heavy(node) and times > (2 if self._rows(cell) <= FEW else 1):
            return
        if isinstance(cell, Named) and any(reader.rows > 1 for reader in readers):
            return
        if knows_its_row(node) and not all(_same_table(cell, reader.cell) for reader in readers):
            return
        length = length_of(node)
        if (times - 1) * length > CELL and not (
            isinstance(node, Aggregate) and node.operation == "row"
        ):  # the same text in every row
            return
        grown = {place: self._measured(place) + length * often for place, often in use.readers.items()}
        if max(grown.values()) <= LONGEST or length <= SHORT:
            self._taken_in.add(cell)
            for place, grown_to in grown.items():
                self._length[place] = grown_to

    def _measured(self, place: int) -> int:
        if not self._length[place]:
            self._length[place] = length_of(self._readers[place].node)
        return self._length[place]


@kept
def _used(node: Node) -> list[tuple[Cell, bool]]:
    """List each mention of a cell, and whether the cell itself or its whole column is asked for."""
    match node:
        case Column() | Named():
            return [(node, False)]
        case Aggregate("row"):
            return []
        case Aggregate(operation, _, conditions, Node() as argument) if operation in _ARGUED:
            columns = (*node.columns, *(cell for c in conditions for cell in (c.column, *references(c.value))))
            return [(cell, True) for cell in columns] + _ARGUED[operation] * _used(argument)
        case Aggregate():
            return [(cell, True) for cell in references(node)]
        case Call("present" | "written", (asked,)):
            return [(cell, True) for cell in references(asked)]
        case Call(_, arguments):
            return [use for part in arguments for use in _used(part)]
    return []


@kept
def length_of(node: Node) -> int:
    """Return about how long a formula is, in letters; its guards take about as many as its references."""
    match node:
        case Constant(value):
            return len(str(value))
        case Column():
            return 2 * _REFERENCE
        case Named(name):
            return 2 * len(name)
        case Aggregate("row"):
            return 2 * _REFERENCE
        case Aggregate(operation, columns, conditions, argument):
            asked = 0 if argument is None else length_of(argument)
            tests = sum(2 * _REFERENCE + 8 + length_of(condition.value) for condition in conditions)
            return 25 + 2 * _REFERENCE * len(columns) + tests + asked * _ARGUED.get(operation, 1)
        case Call(operation, arguments):
            written = OPERATIONS[operation].excel
            own = 25 if operation in ("first of", "choose") else len(written) - 3 * len(arguments)
            often = (max(1, written.count(f"{{{place}}}")) for place in range(len(arguments)))
            parts = sum(length_of(part) * times for part, times in zip(arguments, often, strict=True))
            return own + parts + (length_of(arguments[0]) if operation == "first of" else 0)
    return 0


def _as_in_its_cell(node: Node) -> Node:
    """Return what a cell holds, as others read it: a text that lacks a number is an empty one there."""
    return Call("cell text", (node,)) if node.is_text and may_lack(node) else node


@kept
def _is_heavy(node: Node) -> bool:
    """Tell whether an expression adds up or looks through whole columns."""
    match node:
        case Aggregate(operation):
            return operation not in _FETCHING
        case Call(_, arguments):
            return any(map(_is_heavy, arguments))
    return False


@kept
def knows_its_row(node: Node) -> bool:
    """Tell whether an expression asks for the row that it stands in."""
    match node:
        case Aggregate(operation, _, _, argument):
            return operation == "row" or (argument is not None and knows_its_row(argument))
        case Call(_, arguments):
            return any(map(knows_its_row, arguments))
    return False


def _same_table(cell: Cell, reader: Cell | None) -> bool:
    return isinstance(cell, Column) and isinstance(reader, Column) and cell.table == reader.table
