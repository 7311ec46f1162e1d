"""Peaks against steady readings at full throttle, one row for each propeller and cell count."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Table
from xlsengine.expression import Aggregate, Column
from xlsengine.sources import definition, practice

_as_summary = definition("as on Summary")

PEAKS = Table(
    "Peaks",
    "How far peaks lie above steady readings: 3 to 10 % in thrust is usual on a pack, 1 to 4 % on a supply.",
    source=_as_summary,
    spare=g.SUMMARY.spare,
    per=(r.group_first,),
)


_row = PEAKS.helper("peak_row", "Summary row").derive(
    Aggregate("row", (Column(PEAKS.name, "peak_row"),)), "Place there."
)


prop = PEAKS.column("peak_prop", "Prop").derive(g.prop.at(_row), "The propeller.")
cells = PEAKS.column("peak_cells", "Cells").derive(g.cells.at(_row), "Cell count.")
peaks = PEAKS.column("peak_readings", "Peaks").derive(g.peak["count"].at(_row), "Readings.")
steadies = PEAKS.column("steady_readings", "Steady readings").derive(g.steady["count"].at(_row), "Readings.")


def _over(part: str, label: str) -> Column:
    return PEAKS.column(f"peak_over_{part}", f"{label}, peak over steady", "%").derive(
        (g.peak[part].at(_row) / g.steady[part].at(_row) - 1) * 100,
        "Of the means; blank without both.",
        practice("a peak has a full pack, cold copper and strong magnets"),
    )


thrust_over = _over("thrust", "Thrust")
current_over = _over("current", "Current")
voltage_over = _over("voltage", "Voltage")
