"""One measured operating point for each propeller and cell count, and the motor's line drawn through it.

With m the speed over the measured one, the line n = κ·(V − R·I) through the point and a current I0(n) + c·n² give
A·m² + B·m = V − C, whose constants stand here: a prediction never drifts from what its own readings showed.
"""

from xlsengine.bench.checks.row_checks import relied_point
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.inputs.no_load import no_load_at_rest, no_load_slope
from xlsengine.bench.inputs.settings import speed_ratio_high, speed_ratio_low
from xlsengine.bench.physics.group_rows import own_place
from xlsengine.bench.physics.motor_model import best_kv, line_resistance
from xlsengine.expression import Column, Condition, Node, flag, greater
from xlsengine.sources import definition

_mean_of = definition("mean of the group's unflagged readings at full throttle: the steady ones, or the peaks alone")

MEASURED = Table.beside(
    g.SUMMARY,
    "MeasuredPoints",
    "Means of the unflagged full-throttle readings, steady where there are any, else peak; and what the propeller's "
    "other cell counts of the same kind make of them.",
    row="measured_place",
    source=_mean_of,
)
place = MEASURED.row
MOST_CELLS, KINDS = 100, 10
first_row = MEASURED.helper("measured_first", "First row").derive(r.group_first.smallest(place))
prop = MEASURED.take(g.prop, "measured_prop")
cells = MEASURED.take(g.cells, "measured_cells")


_OWN = Condition(r.group, "=", first_row)
kind_code = MEASURED.helper("measured_kind_code", "Kind, code").derive(
    greater(relied_point.largest(_OWN), r.AT_PEAK).otherwise(r.AT_PEAK)
)
_ROWS = _OWN, Condition(relied_point, "=", kind_code)


def _mean(column: Column) -> Node:
    return column.mean(*_ROWS)


rows = MEASURED.column("measured_rows", "Readings").derive(r.group.count(*_ROWS), "In the means.")
voltage = MEASURED.column("measured_voltage", "Voltage", "V", symbol="V_m").derive(_mean(r.voltage), "Under load.")
current = MEASURED.column("measured_current", "Current", "A", symbol="I_m").derive(_mean(r.current), "Of that kind.")
thrust = MEASURED.column("measured_thrust", "Thrust", "g", symbol="T_m").derive(_mean(r.thrust), "Of that kind.")
speed = MEASURED.column("measured_speed", "Speed", "rpm", symbol="n_m").derive(
    _mean(r.speed), "Blank where it was not read."
)
blades = MEASURED.helper("measured_blades", "Blades").derive(_mean(r.blades))
torque = MEASURED.helper("measured_torque", "Torque").derive(_mean(r.torque))
propeller = own_place.at(place)
code = MEASURED.helper("measured_code", "Propeller, kind and cells").derive(
    (((propeller * KINDS + kind_code) * MOST_CELLS + cells) * flag(voltage * current * thrust > 0)).otherwise(0.0)
)
"""Propeller times 1000, kind times 100, and cells; 0 where the group has no unflagged reading at full throttle."""


def kind_word(of_kind: Node) -> Node:
    """Say which rows a point is of, by their code."""
    return of_kind.equals(r.AT_PEAK).where(r.PEAK, r.STEADY)


kind = MEASURED.column("measured_kind", "Kind").derive((code > 0).where(kind_word(kind_code), ""))

# --- the motor's line through the point ------------------------------------------------------------------------


_kv = best_kv.otherwise(label_kv)
_ratio = speed / (_kv * voltage)
resistance = MEASURED.helper("measured_resistance", "Resistance of the line", symbol="R").derive(
    (line_resistance / 1000).otherwise(
        ((_ratio >= speed_ratio_low) & (_ratio <= speed_ratio_high)).where((voltage - speed / _kv) / current)
    )
)
"""Ω. From loaded readings where they gave one; else what Kv, by spin or by the label, leaves at this point; blank where the
speed ratio is not plausible."""
_left = voltage - resistance * current
back_emf = MEASURED.helper("measured_back_emf", "Back-EMF", symbol="E").derive(((speed > 0) & (_left > 0)).where(_left))
_with_line = (back_emf > 0).where(1.0)
idle_fixed = _with_line * no_load_at_rest.otherwise(0.0)
idle_linear = _with_line * (no_load_slope.otherwise(0.0) / 1000) * speed
"""No-load current at the measured speed, A: its fixed part, and the one that grows with speed."""
torque_current = MEASURED.helper("torque_current", "Current for the propeller torque", symbol="I_Q").derive(
    current - idle_fixed - idle_linear
)
line_square = MEASURED.helper("line_square", "Line: square", symbol="A").derive(resistance * torque_current)
line_linear = MEASURED.helper("line_linear", "Line: linear", symbol="B").derive(back_emf + resistance * idle_linear)
line_fixed = MEASURED.helper("line_fixed", "Line: fixed", symbol="C").derive(resistance * idle_fixed)


def root(square: Node, linear: Node, volts: Node) -> Node:
    """Return the positive m of square·m² + linear·m = volts, in the form that stays exact for a small square."""
    return 2 * volts / (linear + (linear**2 + 4 * square * volts).sqrt())
