"""Adds derived columns to a table under names of its own: for what several tables compute alike."""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench.declare import Quantity, Table
from xlsengine.expression import Column, Node
from xlsengine.sources import Source


@dataclass(frozen=True)
class TableMaker:
    """Declares columns of one table; each name is put behind `prefix`, and `source` is where most come from."""

    table: Table
    prefix: str
    source: Source

    def shows(
        self, name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
        source: Source | None = None, helper: bool = False,
    ) -> Column:  # fmt: skip
        """Add a column for readers."""
        full, origin = f"{self.prefix}_{name}", source or self.source
        return self.table.derive(Quantity(full, label, expression, meaning, origin, symbol, unit, shown, helper))

    def helps(self, name: str, label: str, expression: Node, meaning: str, source: Source | None = None) -> Column:
        """Add a column for other formulas."""
        return self.shows(name, label, "", "", 0, expression, meaning, source, helper=True)
