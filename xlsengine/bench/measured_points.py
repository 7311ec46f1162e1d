"""One measured operating point for each propeller and cell count, and the motor's line drawn through it.

With m the speed over the measured one, the line n = κ·(V − R·I) through the point and a current I0(n) + c·n² give
A·m² + B·m = V − C, whose constants stand here: a prediction never drifts from what its own readings showed.
"""

from __future__ import annotations

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench import speed_figures as f
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.motor import label_kv
from xlsengine.bench.motor_model import best_kv, line_resistance
from xlsengine.bench.no_load import no_load_at_rest, no_load_slope
from xlsengine.bench.row_checks import relied_on
from xlsengine.bench.settings import speed_ratio_high, speed_ratio_low
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node
from xlsengine.sources import FIRST_ORDER_MOTOR, Source, definition, worked_out

MEASURED = Table(
    "MeasuredPoints",
    "Means of the unflagged full-throttle rows, steady where there are any, else peak; and what the propeller's other "
    "cell counts of the same kind make of them.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
MOST_CELLS, KINDS = 100, 10
_mean_of = definition("mean of the group's unflagged rows at full throttle: the steady ones, or the peaks alone")
_line = worked_out("n = κ·(V − R·I) through the measured point, torque as n²")


def derive(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = _mean_of, helper: bool = False,
) -> Column:  # fmt: skip
    """Add a column to the table."""
    return MEASURED.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown, helper))


def _helps(name: str, label: str, symbol: str, expression: Node, meaning: str, source: Source = _line) -> Column:
    return derive(name, label, symbol, "", 0, expression, meaning, source, helper=True)


place = _helps(
    "measured_place", "Place", "", Aggregate("row", (Column(MEASURED.name, "measured_place"),)), "Summary row.",
    definition(),
)  # fmt: skip
first_row = _helps(
    "measured_first", "First row", "", Aggregate("smallest", (r.group_first,), (), place),
    "Row of Readings where the group begins.", definition(),
)  # fmt: skip
_taken = definition("as on Summary")
prop = derive("measured_prop", "Prop", "", "", 0, Aggregate("text at", (g.prop,), (), place), "The propeller.", _taken)
cells = derive("measured_cells", "Cells", "cells", "", 0, Aggregate("at", (g.cells,), (), place), "Count.", _taken)


def _unflagged(point: Node) -> tuple[Condition, ...]:
    return (
        Condition(r.group, "=", first_row),
        Condition(counting.point, "=", point),
        Condition(relied_on, "=", Constant(1.0)),
    )


def _any(point: float) -> Node:
    return Aggregate("count", (r.group,), _unflagged(Constant(point))) > 0


kind_code = _helps(
    "measured_kind_code", "Kind, code", "",
    _any(r.AT_STEADY).where(r.AT_STEADY, _any(r.AT_PEAK).where(r.AT_PEAK, r.AT_STEADY)),
    "2 for steady rows, 1 where there are peaks alone.", definition(),
)  # fmt: skip
_ROWS = _unflagged(kind_code)


def _mean(column: Column) -> Node:
    return Aggregate("mean", (column,), _ROWS)


rows = derive("measured_rows", "Readings", "", "", 0, Aggregate("count", (r.group,), _ROWS), "In the means.")
voltage = derive("measured_voltage", "Voltage", "V", "V", 2, _mean(r.voltage), "Under load.")
current = derive("measured_current", "Current", "I", "A", 1, _mean(r.current), "Of that kind.")
thrust = derive("measured_thrust", "Thrust", "T", "g", 0, _mean(r.thrust), "Of that kind.")
speed = derive("measured_speed", "Speed", "n", "rpm", 0, _mean(r.speed), "Blank where it was not read.")
propeller = _helps(
    "measured_propeller", "Propeller", "", Aggregate("at", (f.prop_number,), (), first_row),
    "First row of Readings with the same propeller.", definition(),
)  # fmt: skip
_whole = ((voltage > 0) & (current > 0)) & (thrust > 0)
code = _helps(
    "measured_code", "Propeller, kind and cells", "",
    _whole.where((propeller * KINDS + kind_code) * MOST_CELLS + cells, 0.0).otherwise(0.0),
    "Propeller times 1000, kind times 100, and cells; 0 where the group has no unflagged reading at full throttle.",
    definition(),
)  # fmt: skip


def kind_word(of_kind: Node) -> Node:
    """Say which rows a point is of, by their code."""
    return of_kind.equals(r.AT_PEAK).where(r.PEAK, r.STEADY)


kind = derive(
    "measured_kind", "Kind", "", "", 0, (code > 0).where(kind_word(kind_code), ""),
    "Which rows the means are of; steady and peak are never mixed.", definition(),
)  # fmt: skip

# --- the motor's line through the point ------------------------------------------------------------------------


def _left_for(kv: Node) -> Node:
    """Return the resistance (Ω) that a Kv leaves for the point; blank where the speed ratio is not plausible."""
    ratio = speed / (kv * voltage)
    plausible = (ratio >= speed_ratio_low) & (ratio <= speed_ratio_high)
    return plausible.where((voltage - speed / kv) / current, BLANK)


resistance = _helps(
    "measured_resistance", "Resistance of the line", "R",
    (line_resistance / 1000).otherwise(_left_for(best_kv)).otherwise(_left_for(label_kv)),
    "Ω. From loaded readings where they gave one; else what Kv, by spin or by the label, leaves at this point.",
)  # fmt: skip
back_emf = _helps(
    "measured_back_emf", "Back-EMF", "E", (speed > 0).where(voltage - resistance * current, BLANK),
    "V. Volts less the drop in the resistance.", FIRST_ORDER_MOTOR,
)  # fmt: skip
_with_line = (back_emf > 0).where(1.0, BLANK)
idle_fixed = _helps(
    "idle_fixed", "No-load current, fixed part", "a0", _with_line * no_load_at_rest.otherwise(0.0),
    "A; 0 where no free spin was read.", FIRST_ORDER_MOTOR,
)  # fmt: skip
idle_linear = _helps(
    "idle_linear", "No-load current, part that grows with speed", "b",
    _with_line * (no_load_slope.otherwise(0.0) / 1000) * speed, "A, at the measured speed.", FIRST_ORDER_MOTOR,
)  # fmt: skip
torque_current = _helps(
    "torque_current", "Current for the propeller torque", "I_Q", current - idle_fixed - idle_linear,
    "A, at the measured speed.", FIRST_ORDER_MOTOR,
)  # fmt: skip
line_square = _helps("line_square", "Line: square", "A", resistance * torque_current, "V.")
line_linear = _helps("line_linear", "Line: linear", "B", back_emf + resistance * idle_linear, "V.")
line_fixed = _helps("line_fixed", "Line: fixed", "C", resistance * idle_fixed, "V.")


def root(square: Node, linear: Node, volts: Node) -> Node:
    """Return the positive m of square·m² + linear·m = volts, in the form that stays exact for a small square."""
    return 2 * volts / (linear + (linear**2 + 4 * square * volts).sqrt())
