"""Tables with one row for each part of Readings: every row knows where the part that it sums up begins."""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench.declare import Quantity, Table
from xlsengine.expression import Aggregate, Column, Node
from xlsengine.sources import Source, definition


@dataclass(frozen=True)
class FirstRows:
    """Declares columns of such a table; `first` holds the row of Readings where each begins, blank in other rows."""

    table: Table
    first: Column

    def derive(
        self, name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source,
        symbol: str = "", helper: bool = False,
    ) -> Column:  # fmt: skip
        """Add a column to the table."""
        return self.table.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper))

    def first_row(self, prefix: str, what: str) -> Column:
        """Add two helpers, each row's place and the row of Readings where `what` begins; return the latter."""
        place = Aggregate("row", (Column(self.table.name, f"{prefix}_place"),))
        place_here = self.derive(f"{prefix}_place", "Place", "", 0, place, "Place here.", definition(), helper=True)
        return self.derive(
            f"{prefix}_first", "First row", "", 0, Aggregate("smallest", (self.first,), (), place_here),
            f"Row of Readings where {what} begins.", definition(), helper=True,
        )  # fmt: skip
