"""Settings by topic: each factor and limit is declared under the heading that it stands under on its sheet."""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench.declare import Field, Form
from xlsengine.expression import Named
from xlsengine.sources import Source

SETTINGS = Form("Settings", "Factors and limits used in every formula; change one and the workbook follows.")
TOPICS: dict[str, list[str]] = {}
"""Names of the settings by heading, in the order of the sheet."""


@dataclass(frozen=True)
class Topic:
    """A heading, and what declares settings under it."""

    title: str

    def setting(
        self, name: str, label: str, unit: str, value: float, limits: tuple[float, float], meaning: str, source: Source,
        symbol: str = "",
    ) -> Named:  # fmt: skip
        """Add a number with its limits, both inclusive and in `unit`."""
        low, high = limits
        return self.input(
            Field(name, label, unit, meaning, "number", symbol, low, high, required=True, default=value, source=source)
        )

    def input(self, declared: Field) -> Named:
        """Add any field."""
        TOPICS.setdefault(self.title, []).append(declared.name)
        return SETTINGS.input(declared)
