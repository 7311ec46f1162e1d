"""Hovering the craft of Craft, on the propeller and cell count that Craft answers for."""

from xlsengine.bench.advice import esc
from xlsengine.bench.advice.suitability import hovering, thrust_doubt
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.craft import all_up_mass, motor_count
from xlsengine.sources import GUM_FREEDOM, definition, worked_out

row = esc.held_row
CRAFT_HOVER = Figures(
    "Hovering the craft",
    "At rest in the air, on the propeller and cell count that Craft answers for.",
    prefix="craft_at_rest_",
    source=worked_out("between neighbouring unflagged steady readings, straight in logarithms"),
)
_group = CRAFT_HOVER.figure("group", "First row").derive(g.first_row.at(row), "Row of Readings.", definition())
_cells = CRAFT_HOVER.figure("cells", "Cells").derive(g.cells.at(row), "In series.", definition())
_thrust = CRAFT_HOVER.figure("thrust", "Thrust per motor", "g").derive(
    all_up_mass / motor_count, "All-up mass over the number of motors.", definition()
)
hover = hovering(CRAFT_HOVER, _group, _cells, _thrust, g.full["thrust"].at(row), g.full_kind.at(row))
note = CRAFT_HOVER.figure("note", "Hovering, found").derive(hover.note, "Where the figures come from.", definition())
thrust_expanded = CRAFT_HOVER.figure("thrust_expanded", "Full throttle thrust, ±", "%").derive(
    thrust_doubt(g.full["thrust"].at(row), g.full["count"].at(row)), "Of the mean that Craft shows.", GUM_FREEDOM
)
