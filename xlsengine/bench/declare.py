"""How inputs and derived quantities are declared: each once, with name, symbol, unit, limits, meaning and source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from xlsengine.expression import Column, Named, Node
from xlsengine.sources import READING, Source
from xlsengine.units import UNITS

FieldKind = Literal["number", "whole", "text", "date", "choice"]


def _header(label: str, unit: str) -> str:
    return f"{label} ({unit})" if unit else label


@dataclass(frozen=True)
class Field:
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

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ValueError(f"{self.name}: unknown unit {self.unit}")

    @property
    def header(self) -> str:
        """Return the label with its unit, as it heads a column."""
        return _header(self.label, self.unit)

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
                return "text"
        number = "a number" if self.kind == "number" else "an even number" if self.multiple == 2 else "a whole number"
        unit = f" {self.unit}" if self.unit else ""
        if self.low is None or self.high is None:
            return f"{number}{unit}"
        return f"{number} from {self.low:g} to {self.high:g}{unit}"


@dataclass(frozen=True)
class Quantity:
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

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ValueError(f"{self.name}: unknown unit {self.unit}")

    @property
    def header(self) -> str:
        """Return the label with its unit, as it heads a column."""
        return _header(self.label, self.unit)

    @property
    def is_text(self) -> bool:
        """Tell whether the value is text."""
        return self.expression.is_text


def _keep(
    declared: Iterable[dict[str, Any]], cells: Iterable[Column | Named], named: Mapping[str, Column | Named]
) -> None:
    """Mark declarations as kept, each under its own name or the one given; raises KeyError for what is not theirs."""
    for name, cell in [*((cell.name, cell) for cell in cells), *named.items()]:
        home = next((held for held in declared if cell.name in held), None)
        if home is None:
            raise KeyError(f"{cell.name} is not declared here")
        home[cell.name] = replace(home[cell.name], kept=name)


@dataclass
class Table:
    """A table of rows: what is typed in, what is written once by the engine, and what is derived live.

    `spare` is how many blank rows a workbook keeps inside the table; `rows` are what a new workbook holds. A table
    without inputs has one row for every number in the columns `per`.
    """

    name: str
    meaning: str
    spare: int = 0
    rows: tuple[dict[str, float | str], ...] = ()
    per: tuple[Column, ...] = ()
    fields: dict[str, Field] = field(default_factory=dict)
    written: dict[str, Field] = field(default_factory=dict)
    quantities: dict[str, Quantity] = field(default_factory=dict)

    def input(self, declared: Field) -> Column:
        """Add a column that a person fills."""
        self.fields[declared.name] = declared
        return Column(self.name, declared.name, declared.is_text)

    def write_once(self, declared: Field) -> Column:
        """Add a column that the engine fills on writing, because no formula can hold it."""
        self.written[declared.name] = declared
        return Column(self.name, declared.name, declared.is_text)

    def derive(self, declared: Quantity) -> Column:
        """Add a column that is computed from its row, live."""
        self.quantities[declared.name] = declared
        return Column(self.name, declared.name, declared.is_text)

    def keep(self, *columns: Column, **named: Column) -> None:
        """Mark columns that a library keeps of each row; raises KeyError for another table's."""
        _keep((self.fields, self.quantities), columns, named)

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


@dataclass
class Form:
    """A list of single cells that a person fills, each with a name."""

    name: str
    meaning: str
    fields: dict[str, Field] = field(default_factory=dict)

    def input(self, declared: Field) -> Named:
        """Add a field."""
        self.fields[declared.name] = declared
        return Named(declared.name, declared.is_text)

    def keep(self, *cells: Named) -> None:
        """Mark fields that a library keeps; raises KeyError for another form's."""
        _keep((self.fields,), cells, {})


@dataclass
class Figures:
    """A list of single figures, each with a name: derived live, or written once by the engine."""

    name: str
    meaning: str
    quantities: dict[str, Quantity] = field(default_factory=dict)
    written: dict[str, Field] = field(default_factory=dict)

    def derive(self, declared: Quantity) -> Named:
        """Add a figure that is computed live."""
        self.quantities[declared.name] = declared
        return Named(declared.name, declared.is_text)

    def write_once(self, declared: Field) -> Named:
        """Add a figure that the engine writes, because no formula can hold it."""
        self.written[declared.name] = declared
        return Named(declared.name, declared.is_text)

    def keep(self, *cells: Named, **named: Named) -> None:
        """Mark figures that a library keeps; raises KeyError for those of another list."""
        _keep((self.quantities,), cells, named)
