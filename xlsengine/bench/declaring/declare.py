"""How inputs and derived quantities are declared: each once, with name, symbol, unit, limits, meaning and source."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Generic, Literal, TypeVar

from xlsengine.expression import Aggregate, Column, Named, Node
from xlsengine.sources import READING, Source, definition
from xlsengine.units import UNITS

FieldKind = Literal["number", "whole", "text", "date", "choice"]
BY_DEFINITION = definition()
NO_COLUMN = Column("", "")
DECIMALS = {"%": 1, "A": 1, "V": 2, "g/W": 2, "g/A": 1, "g/g": 1, "mΩ": 1}
"""Decimals that readers need of a figure in a unit, where its declaration does not say otherwise; 0 in other units."""


class _Headed:
    """What heads a column: a label, and a unit that is known."""

    name: str
    label: str
    unit: str

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ValueError(f"{self.name}: unknown unit {self.unit}")

    @property
    def header(self) -> str:
        """Return the label with its unit, as it heads a column."""
        return f"{self.label} ({self.unit})" if self.unit else self.label


@dataclass(frozen=True)
class Field(_Headed):
    """Something a person types: a cell of a form or a column of an input table.

    `low` and `high` are inclusive limits in `unit`, and a whole number is a multiple of `multiple`; `default` is what a
    new workbook holds there; `helper` marks columns that only formulas read; `without` says what a blank costs, where
    that is worth telling; `kept` is the name that a library of tests keeps it under, if any.
    """

    name: str
    label: str
    unit: str = ""
    meaning: str = ""
    kind: FieldKind = "number"
    symbol: str = ""
    low: float | None = None
    high: float | None = None
    multiple: int = 1
    choices: tuple[str, ...] = ()
    required: bool = False
    without: str = ""
    default: float | str | None = None
    decimals: int = 2
    helper: bool = False
    source: Source = READING
    kept: str = ""

    @property
    def is_text(self) -> bool:
        """Tell whether the value is text."""
        return self.kind in ("text", "choice")

    @property
    def wanted(self) -> str:
        """Say in words what the cell takes."""
        match self.kind:
            case "choice":
                return "one of " + ", ".join(f"“{choice}”" for choice in self.choices)
            case "date":
                return "a date such as 2026-05-31"
            case "text":
                return " such as ".join(("text", *self.choices))
        number = "a number" if self.kind == "number" else "an even number" if self.multiple == 2 else "a whole number"
        unit = f" {self.unit}" if self.unit not in ("", "°") else self.unit
        if self.low is None or self.high is None:
            return f"{number}{unit}"
        return f"{number} from {self.low:,.10g} to {self.high:,.10g}{unit}"


@dataclass(frozen=True)
class Quantity(_Headed):
    """Something computed: its expression and all that is said about it.

    `shown` is the number of decimals a reader needs; `helper` marks columns that only other formulas read. An
    `equation` is given where the one that the expression spells out is too long to read; `kept` is the name that a
    library of tests keeps it under, if any.
    """

    name: str
    label: str
    expression: Node
    meaning: str
    source: Source
    symbol: str = ""
    unit: str = ""
    shown: int = 2
    helper: bool = False
    equation: str = ""
    kept: str = ""

    @property
    def is_text(self) -> bool:
        """Tell whether the value is text."""
        return self.expression.is_text


Cell = TypeVar("Cell", bound=Column | Named)


@dataclass(frozen=True)
class Heading(Generic[Cell]):
    """What a derived column or figure is called and how it is shown; `derive` then says what it holds."""

    owner: Declares[Cell]
    name: str
    label: str
    unit: str
    symbol: str
    decimals: int | None
    helper: bool

    @property
    def expanded(self) -> Heading[Cell]:
        """Head the figure's expanded uncertainty."""
        return replace(self, name=f"{self.name}_expanded", label=f"{self.label}, ±", symbol="")

    def part(self, name: str, label: str) -> Heading[Cell]:
        """Head a helper that the figure is made of."""
        more = f"{self.name}_{name}", f"{self.label}, {label}"
        return Heading(self.owner, *more, unit="", symbol="", decimals=None, helper=True)

    def derive(self, expression: Node, meaning: str = "", source: Source | None = None, equation: str = "") -> Cell:
        """Declare what is computed live, and return its cell.

        Without a meaning the label says all; without a source it is the one of most columns of its table. An
        `equation` is given where the one that the expression spells out is too long to read.
        """
        usual = DECIMALS.get(self.unit, 0)
        decimals = 0 if expression.is_text else usual if self.decimals is None else self.decimals
        said = (self.owner.prefix + self.name, self.label, expression, meaning or self.label)
        shown = (self.symbol, self.unit, decimals, self.helper)
        return self.owner.add(Quantity(*said, source or self.owner.source, *shown, equation))


@dataclass
class Declares(Generic[Cell]):
    """What cells are declared in: typed by a person, written once by the engine, or derived live.

    Names of derived cells begin with `prefix`; `source` is where most of them come from.
    """

    name: str
    meaning: str
    prefix: str = field(default="", kw_only=True)
    source: Source = field(default=BY_DEFINITION, kw_only=True)
    fields: dict[str, Field] = field(default_factory=dict, kw_only=True)
    written: dict[str, Field] = field(default_factory=dict, kw_only=True)
    quantities: dict[str, Quantity] = field(default_factory=dict, kw_only=True)

    def cell(self, declared: Field | Quantity) -> Cell:
        """Return the cell of what is declared here."""
        raise NotImplementedError

    def typed(self, name: str) -> Cell:
        """Return the cell of a field; raises KeyError where there is none."""
        return self.cell(self.fields[name])

    def input(self, declared: Field) -> Cell:
        """Add what a person fills, and return its cell."""
        self.fields[declared.name] = declared
        return self.cell(declared)

    def write_once(self, declared: Field) -> Cell:
        """Add what the engine fills on writing, because no formula can hold it."""
        self.written[declared.name] = declared
        return self.cell(declared)

    def add(self, quantity: Quantity) -> Cell:
        """Add what is derived, and return its cell."""
        self.quantities[quantity.name] = quantity
        return self.cell(quantity)

    def column(
        self, name: str, label: str, unit: str = "", symbol: str = "", decimals: int | None = None, helper: bool = False
    ) -> Heading[Cell]:
        """Head what is computed live; without `decimals` it shows those usual in its unit."""
        return Heading(self, name, label, unit, symbol, decimals, helper)

    figure = column

    def helper(
        self, name: str, label: str, unit: str = "", symbol: str = "", decimals: int | None = None
    ) -> Heading[Cell]:
        """Head what only other formulas read."""
        return self.column(name, label, unit, symbol, decimals, helper=True)

    def keep(self, *cells: Cell, **named: Cell) -> None:
        """Mark what a library keeps, each under its own name or the one given; raises KeyError for what is not theirs."""
        for kept, cell in [*((cell.name, cell) for cell in cells), *named.items()]:
            if cell.name in self.fields:
                self.fields[cell.name] = replace(self.fields[cell.name], kept=kept)
            else:
                self.quantities[cell.name] = replace(self.quantities[cell.name], kept=kept)


@dataclass
class Figures(Declares[Named]):
    """A list of single cells, each with a name."""

    def cell(self, declared: Field | Quantity) -> Named:
        """Return the named cell."""
        return Named(declared.name, declared.is_text)


Form = Figures
"""As it is called where a person fills it."""


@dataclass
class Table(Declares[Column]):
    """A table of rows.

    `spare` is how many blank rows a workbook keeps inside the table; `rows` are what a new workbook holds. A table
    without inputs has one row for every number in the columns `per`; `row` is the row of another table that stands beside.
    """

    spare: int = 0
    rows: tuple[dict[str, float | str], ...] = ()
    per: tuple[Column, ...] = ()
    row: Column = NO_COLUMN

    def __post_init__(self) -> None:
        _TABLES[self.name] = self

    @classmethod
    def beside(
        cls, other: Table, name: str, meaning: str, row: str, prefix: str = "", source: Source = BY_DEFINITION
    ) -> Table:
        """Return a table with a row beside each row of another, whose number there stands in the column `row`."""
        table = cls(name, meaning, other.spare, per=other.per, prefix=prefix, source=source)
        table.row = table.numbered(row, f"{other.name} row")
        return table

    def starts(self, first: Column, prefix: str) -> Column:
        """Add two helpers, each row's place and the row where what it sums up begins, and stand beside the latter.

        `first` holds, in a row of its table where such a part begins, the number of the row.
        """
        place = self.numbered(f"{prefix}_place")
        begins = self.helper(f"{prefix}_first", "First row")
        self.row = begins.derive(first.smallest(place))
        return self.row

    def part(self, prefix: str) -> Table:
        """Return this table for columns whose names begin so."""
        return replace(self, prefix=prefix)

    def cell(self, declared: Field | Quantity) -> Column:
        """Return the column."""
        return Column(self.name, declared.name, declared.is_text)

    def numbered(self, name: str, label: str = "Place") -> Column:
        """Add a helper with the number of each row, from 1."""
        here = Column(self.name, self.prefix + name)
        return self.helper(name, label).derive(Aggregate("row", (here,)))

    def take(
        self, column: Column, name: str, label: str = "", decimals: int | None = None, helper: bool = False
    ) -> Column:
        """Add a column of another table from the row beside; what is not said again is as it is declared there."""
        there = _TABLES[column.table].declared(column.name)
        shown = there.shown if isinstance(there, Quantity) and decimals is None else decimals
        heading = self.column(name, label or there.label, there.unit, there.symbol, shown, helper)
        return heading.derive(column.at(self.row))

    def declared(self, name: str) -> Field | Quantity:
        """Return the declaration of one column; raises KeyError where there is none."""
        return self.fields.get(name) or self.quantities.get(name) or self.written[name]

    @property
    def columns(self) -> dict[str, Field | Quantity]:
        """Return every column in its order on the sheet: inputs, what readers want, and helpers last."""
        computed: dict[str, Field | Quantity] = {**self.quantities, **self.written}
        wanted = {name: declared for name, declared in computed.items() if not declared.helper}
        helpers = {name: declared for name, declared in computed.items() if declared.helper}
        return {**self.fields, **wanted, **helpers}


_TABLES: dict[str, Table] = {}
