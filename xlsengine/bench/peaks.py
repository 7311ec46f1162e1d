"""Peaks against steady readings at full throttle, one row for each propeller and cell count."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Quantity, Table
from xlsengine.expression import Aggregate, Column, Node
from xlsengine.sources import Source, definition, practice

PEAKS = Table(
    "Peaks", "How far peaks lie above steady readings: 3 to 10 % in thrust is usual on a pack, 1 to 4 % on a supply.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
_as_summary = definition("as on Summary")


def _derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = _as_summary,
    helper: bool = False,
) -> Column:  # fmt: skip
    return PEAKS.derive(Quantity(name, label, expression, meaning, source, "", unit, shown, helper))


_row = _derive(
    "peak_row", "Summary row", "", 0, Aggregate("row", (Column(PEAKS.name, "peak_row"),)), "Place there.", helper=True
)


def _fetch(column: Column) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), _row)


prop = _derive("peak_prop", "Prop", "", 0, _fetch(g.prop), "The propeller.")
cells = _derive("peak_cells", "Cells", "", 0, _fetch(g.cells), "Cell count.")
peaks = _derive("peak_readings", "Peaks", "", 0, _fetch(g.peak["count"]), "Readings.")
steadies = _derive("steady_readings", "Steady readings", "", 0, _fetch(g.steady["count"]), "Readings.")


def _over(part: str, label: str) -> Column:
    return _derive(
        f"peak_over_{part}", f"{label}, peak over steady", "%", 1,
        (_fetch(g.peak[part]) / _fetch(g.steady[part]) - 1) * 100, "Of the means; blank without both.",
        practice("a peak has a full pack, cold copper and strong magnets"),
    )  # fmt: skip


thrust_over = _over("thrust", "Thrust")
current_over = _over("current", "Current")
voltage_over = _over("voltage", "Voltage")
