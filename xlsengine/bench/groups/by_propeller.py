"""One row for each propeller, the one of highest thrust first, that says in which rows of the summary its figures are.

And one propeller across voltages: its grams per amp, and the verdict on it.
"""

from xlsengine.bench.checks.row_checks import FLAGGED_BUT_SPEED
from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import grams_per_amp_limit, thrust_coefficient_limit
from xlsengine.bench.judging import counting
from xlsengine.bench.physics import group_rows as rows
from xlsengine.bench.physics import speed_figures as f
from xlsengine.expression import ZERO, Column, Condition, Constant, Named, Node, call, join
from xlsengine.sources import worked_out

MOST_CELL_COUNTS = 6
_MOST_CELLS = 100.0
_TIE = 1e-6

told_cells = g.SUMMARY.helper("told_cells", "Cells, 0 where none").derive(g.cells.otherwise(0.0))
told_thrust = g.SUMMARY.helper("told_thrust", "Thrust, 0 where none").derive(g.full["thrust"].otherwise(0.0))
prop_key, own_place = rows.prop_key, rows.own_place
_pair = g.SUMMARY.helper("summary_pair", "Propeller and cells, as a number").derive(
    own_place * _MOST_CELLS + told_cells
)
left_here = g.SUMMARY.helper("left_out_here", "Readings left out").derive(
    r.group.count(Condition(r.group, "=", g.first_row), counting.LEFT_OUT).otherwise(0.0)
)


def _doubtful_at(point: float) -> Node:
    """Count readings that count and are flagged, unless for their speed alone.

    `point` is asked for by equality, since it can be an empty text.
    """
    at = Condition(counting.point, "=", Constant(point))
    return r.group.count(Condition(r.group, "=", g.first_row), FLAGGED_BUT_SPEED, at)


doubtful_here = g.SUMMARY.helper("doubtful_here", "Flagged readings that count, full throttle").derive(
    (_doubtful_at(r.AT_PEAK) + _doubtful_at(r.AT_STEADY)).otherwise(0.0)
)
_of_propeller = (Condition(own_place, "=", own_place),)
_top = told_thrust.largest(*_of_propeller)
rank = g.SUMMARY.helper("summary_prop_rank", "Highest thrust of the propeller").derive(
    (own_place > 0).where(own_place.equals(g.summary_row).where(_top - g.summary_row * _TIE))
)
"""In the propeller's first row; equal ones differ by their place."""

CELL_COUNTS = Figures("Cell counts", "The cell counts that were tested, in rising order.")


tested_cells: list[Named] = []
for _place in range(1, MOST_CELL_COUNTS + 1):
    _above = Condition(told_cells, ">", tested_cells[-1] if tested_cells else ZERO)
    _smallest = told_cells.largest(_above, place=told_cells.count(_above))
    tested_cells.append(CELL_COUNTS.figure(f"tested_cells_{_place}", f"Cell count {_place}").derive(_smallest))
rowless = CELL_COUNTS.figure("rowless", "Propellers and cell counts without a row").derive(
    r.group_first.count() - g.first_row.count(), "Typed since the results were made: no answer knows them."
)

BY_PROPELLER = Table(
    "ByPropeller",
    "One row for each propeller, by its highest thrust, and where the summary has its cell counts.",
    spare=1,
    per=(rank,),
)

place = BY_PROPELLER.numbered("by_place")
_row = BY_PROPELLER.row = BY_PROPELLER.helper("by_row", "Summary row").derive(rank.position(rank.largest(place=place)))
prop = BY_PROPELLER.take(g.prop, "by_prop", helper=True)
left_out = BY_PROPELLER.helper("by_left_out", "Readings left out").derive(
    left_here.sum(Condition(own_place, "=", _row)).otherwise(0.0)
)
row_on = tuple(
    BY_PROPELLER.helper(f"by_row_{number}", f"Summary row, cell count {number}").derive(
        _pair.position(_row * _MOST_CELLS + cells)
    )
    for number, cells in enumerate(tested_cells, start=1)
)


def _kind_code(row: Column) -> Node:
    """Tell a figure of peaks (1), one with a flagged reading behind it (2) and one without a peak (4), as their sum."""
    peak = g.full_kind.at(row).equals(r.PEAK)
    doubtful = (doubtful_here.at(row).otherwise(0.0) > 0).where(2.0, 0.0)
    without = (g.peak["top_current"].at(row) > 0).where((g.kind_unsaid & peak).where(4.0, 0.0), 4.0).otherwise(4.0)
    return row.present().where(peak.where(1.0, 0.0).otherwise(0.0) + doubtful + without, 0.0)


kind_on = tuple(
    BY_PROPELLER.helper(f"by_kind_{number}", f"Kind, cell count {number}").derive(_kind_code(row))
    for number, row in enumerate(row_on, start=1)
)

# --- across voltages -----------------------------------------------------------------------------------------

_amp = worked_out("T/I = 2π·Kt·CT/(CP·D) at full throttle")

told_grams = g.SUMMARY.helper("told_grams", "Thrust per current, 0 where none", "g/A").derive(
    g.full["grams_per_amp"].otherwise(0.0)
)
_OF_ONE = Condition(own_place, "=", f.propeller_first)
_WITH_GRAMS = (_OF_ONE, Condition(told_grams, ">", Constant(0.0)))
amp_groups = f.PROPELLERS.column("amp_groups", "Cell counts").derive(
    own_place.count(*_WITH_GRAMS), "With a full-throttle reading."
)


most_grams, least_grams = (
    f.PROPELLERS.column(f"{name}_grams", f"Thrust per current, {name}", "g/A").derive(
        (amp_groups > 0).where(told_grams.largest(_OF_ONE, place=place)), "Of the cell counts.", _amp
    )
    for name, place in (("most", Constant(1.0)), ("least", amp_groups))
)
grams_spread = f.PROPELLERS.column("grams_spread", "Thrust per current, most over least, less one", "%").derive(
    (amp_groups > 1).where((most_grams / least_grams - 1) * 100), "Blank with one cell count.", _amp
)

# --- the verdict -----------------------------------------------------------------------------------------------

_amps_apart = (grams_spread > grams_per_amp_limit).where(
    "Grams per amp differ across cell counts: a thrust or current reading, the cell count, the volts or the tare. ", ""
)
_coefficients_apart = (f.coefficient_spread > thrust_coefficient_limit).where(
    "Thrust coefficients differ: a speed or thrust reading, or the pole count. ", ""
)
_found = call("trim", join(_amps_apart.otherwise(""), _coefficients_apart.otherwise("")))
_nothing = (grams_spread.present() | f.coefficient_spread.present()).where(
    "consistent", "read once only: nothing to compare"
)
propeller_verdict = f.PROPELLERS.column("propeller_verdict", "Verdict").derive(
    f.propeller_first.present().where(_found.otherwise(_nothing), "")
)
