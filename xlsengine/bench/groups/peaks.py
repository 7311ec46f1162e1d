"""Peaks against steady readings at full throttle, one row for each propeller and cell count."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging.counting import point as point_of_row
from xlsengine.expression import Column, Condition, Constant
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


def _count(kind: str, label: str, point: float) -> Column:
    rows = Condition(r.group, "=", g.first_row.at(_row)), Condition(point_of_row, "=", Constant(point))
    return PEAKS.column(f"{kind}_readings", label).derive(r.group.count(*rows), "How many the means are of.")


peaks = _count("peak", "Peaks", r.AT_PEAK)
steadies = _count("steady", "Steady readings", r.AT_STEADY)


def _over(part: str, label: str) -> Column:
    return PEAKS.column(f"peak_over_{part}", f"{label}, peak over steady", "%").derive(
        (g.peak[part].at(_row) / g.steady[part].at(_row) - 1) * 100,
        "Of the means; blank without both.",
        practice("a peak has a full pack, cold copper and strong magnets"),
    )


thrust_over = _over("thrust", "Thrust")
current_over = _over("current", "Current")
voltage_over = _over("voltage", "Voltage")
