"""Settings by topic: each factor and limit is declared under the heading that it stands under on its sheet."""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Field, Form, Inputs
from xlsengine.expression import Named
from xlsengine.sources import Source

SETTINGS = Form("Settings", "Factors and limits used in every formula; change one and the workbook follows.")
TOPICS: dict[str, list[str]] = {}
"""Names of the settings by heading, in the order of the sheet."""


@dataclass(frozen=True)
class Topic(Inputs[Named]):
    """A heading, and what declares settings under it."""

    title: str

    def setting(
        self, name: str, label: str, unit: str, value: float, limits: tuple[float, float], symbol: str = ""
    ) -> Setting:
        """Head a number that a new workbook holds, with its limits, both inclusive and in `unit`."""
        return Setting(self, name, label, unit, value, limits, symbol)

    def input(self, declared: Field) -> Named:
        """Add any field."""
        TOPICS.setdefault(self.title, []).append(declared.name)
        return SETTINGS.input(declared)


@dataclass(frozen=True)
class Setting:
    """A number among the settings, before it says what it means."""

    topic: Topic
    name: str
    label: str
    unit: str
    value: float
    limits: tuple[float, float]
    symbol: str

    def means(self, meaning: str, source: Source) -> Named:
        """Declare the setting, and return its cell."""
        low, high = self.limits
        said = (self.name, self.label, self.unit, meaning)
        number = Field(*said, symbol=self.symbol, low=low, high=high, required=True, default=self.value, source=source)
        return self.topic.input(number)
