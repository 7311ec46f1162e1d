"""Peaks against steady readings at full throttle, one row for each propeller and cell count."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import summary as g
from xlsengine.expression import Column
from xlsengine.sources import definition, practice

_as_summary = definition("as on Summary")

PEAKS = Table.beside(
    g.SUMMARY,
    "Peaks",
    "How far peaks lie above steady readings: 3 to 10 % in thrust is usual on a pack, 1 to 4 % on a supply.",
    row="peak_row",
    source=_as_summary,
)
_row = PEAKS.row

prop = PEAKS.take(g.prop, "peak_prop")
cells = PEAKS.take(g.cells, "peak_cells")
peaks = PEAKS.take(g.peak["count"], "peak_readings", "Peaks")
steadies = PEAKS.take(g.steady["count"], "steady_readings", "Steady readings")


def _over(part: str, label: str) -> Column:
    return PEAKS.column(f"peak_over_{part}", f"{label}, peak over steady", "%").derive(
        (g.peak[part].at(_row) / g.steady[part].at(_row) - 1) * 100,
        "Of the means; blank without both.",
        practice("a peak has a full pack, cold copper and strong magnets"),
    )


thrust_over = _over("thrust", "Thrust")
current_over = _over("current", "Current")
voltage_over = _over("voltage", "Voltage")
