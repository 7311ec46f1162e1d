"""The rows of the summary: one for each propeller and cell count, and which of them are of one propeller."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs import readings as r
from xlsengine.sources import definition

SUMMARY = Table(
    "Summary",
    "One row for each propeller and cell count, in the order of the readings.",
    spare=1,
    per=(r.group_first,),
    source=definition("mean over the group's full-throttle readings that count"),
)

summary_row = SUMMARY.numbered("summary_row", "Summary row")
first_row = SUMMARY.row = SUMMARY.helper("first_row", "First row").derive(r.group_first.smallest(summary_row))
prop = SUMMARY.take(r.prop, "summary_prop")
cells = SUMMARY.take(r.cells, "summary_cells")
prop_key = SUMMARY.helper("summary_prop_key", "Propeller key").derive(prop.present().where(r.propeller_key(prop), ""))
own_place = SUMMARY.helper("summary_prop_place", "First row of its propeller").derive(
    prop.present().where(prop_key.position(prop_key), 0.0).otherwise(0.0)
)
prop_first = SUMMARY.helper("prop_first", "First of propeller").derive(own_place.equals(summary_row).where(summary_row))
cells_first = SUMMARY.helper("cells_first", "First of cell count").derive(
    cells.position(cells).equals(summary_row).where(summary_row)
)
