"""One row for each propeller, the one of highest thrust first, that says in which rows of the summary its figures are."""

from xlsengine.bench.checks.row_checks import FLAGGED_ROWS
from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.bench.physics import group_rows as rows
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node

MOST_CELL_COUNTS = 6
_MOST_CELLS = 100.0
_TIE = 1e-6

told_cells = g.SUMMARY.helper("told_cells", "Cells, 0 where none").derive(g.cells.otherwise(0.0), "Never blank.")
told_thrust = g.SUMMARY.helper("told_thrust", "Thrust, 0 where none").derive(
    g.full["thrust"].otherwise(0.0), "Never blank."
)
prop_key, own_place = rows.prop_key, rows.own_place
_pair = g.SUMMARY.helper("summary_pair", "Propeller and cells, as a number").derive(
    own_place * _MOST_CELLS + told_cells, "Row times 100, and cells."
)
left_here = g.SUMMARY.helper("left_out_here", "Readings left out").derive(
    r.group.count(Condition(r.group, "=", g.first_row), counting.LEFT_OUT).otherwise(0.0)
)


def _doubtful_at(point: float) -> Node:
    """Count flagged readings that count; `point` is asked for by equality, since it can be an empty text."""
    at = Condition(counting.point, "=", Constant(point))
    return r.group.count(Condition(r.group, "=", g.first_row), FLAGGED_ROWS, at)


doubtful_here = g.SUMMARY.helper("doubtful_here", "Flagged readings that count, full throttle").derive(
    (_doubtful_at(r.AT_PEAK) + _doubtful_at(r.AT_STEADY)).otherwise(0.0),
    "Behind the figures of the propeller and cell count.",
)
_of_propeller = (Condition(own_place, "=", own_place),)
_top = told_thrust.largest(*_of_propeller)
rank = g.SUMMARY.helper("summary_prop_rank", "Highest thrust of the propeller").derive(
    (own_place > 0).where(own_place.equals(g.summary_row).where(_top - g.summary_row * _TIE)),
    "In the propeller's first row; equal ones differ by their place.",
)

CELL_COUNTS = Figures("Cell counts", "The cell counts that were tested, in rising order.")


def _cell_counts() -> tuple[Named, ...]:
    found: list[Named] = []
    for place in range(1, MOST_CELL_COUNTS + 1):
        above = (Condition(told_cells, ">", found[-1] if found else Constant(0.0)),)
        smallest = told_cells.largest(*above, place=told_cells.count(*above))
        found.append(CELL_COUNTS.figure(f"tested_cells_{place}", f"Cell count {place}").derive(smallest))
    return tuple(found)


tested_cells = _cell_counts()
rowless = CELL_COUNTS.figure("rowless", "Propellers and cell counts without a row").derive(
    r.group_first.count() - g.first_row.count(), "Typed since the results were made: no answer knows them."
)

BY_PROPELLER = Table(
    "ByPropeller",
    "One row for each propeller, by its highest thrust, and where the summary has its cell counts.",
    spare=1,
    per=(rank,),
)

place = BY_PROPELLER.helper("by_place", "Place").derive(
    Aggregate("row", (Column("ByPropeller", "by_place"),)), "From 1."
)
_row = BY_PROPELLER.row = BY_PROPELLER.helper("by_row", "Summary row").derive(rank.position(rank.largest(place=place)))
prop = BY_PROPELLER.take(g.prop, "by_prop", helper=True)
left_out = BY_PROPELLER.helper("by_left_out", "Readings left out").derive(
    left_here.sum(Condition(own_place, "=", _row)).otherwise(0.0)
)
row_on = tuple(
    BY_PROPELLER.helper(f"by_row_{number}", f"Summary row, cell count {number}").derive(
        _pair.position(_row * _MOST_CELLS + cells), "Blank where it was not tested on it."
    )
    for number, cells in enumerate(tested_cells, start=1)
)


def _kind_code(row: Column) -> Node:
    """Tell a figure of peaks (1) and one with a flagged reading behind it (2), both as their sum."""
    peak = g.full_kind.at(row).equals(r.PEAK).where(1.0, 0.0)
    doubtful = (doubtful_here.at(row).otherwise(0.0) > 0).where(2.0, 0.0)
    return row.present().where(peak.otherwise(0.0) + doubtful, 0.0)


kind_on = tuple(
    BY_PROPELLER.helper(f"by_kind_{number}", f"Kind, cell count {number}").derive(
        _kind_code(row), "1 peaks, 2 a flagged reading, 3 both."
    )
    for number, row in enumerate(row_on, start=1)
)
