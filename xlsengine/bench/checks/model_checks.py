"""Checks of one row that need the motor's line or the propeller's coefficients."""

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.judging.plain_checks import Explains, Severity, at_most, watch
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics.motor_model import near_pole_slip
from xlsengine.bench.physics.propeller_figures import coefficient_off
from xlsengine.bench.physics.speed_rows import SPEED_FIGURES
from xlsengine.expression import Column, Node, call, join, say
from xlsengine.sources import FIRST_ORDER_MOTOR, MOMENTUM_THEORY, definition, worked_out


def _from_speed_figures(column: Column) -> Column:
    """Bring a column of SpeedFigures to its row of Readings."""
    found = SPEED_FIGURES.quantities[column.name]
    return r.READINGS.helper(f"own_{column.name}", found.label, found.unit, decimals=found.shown).derive(
        column.at(r.row_number), found.meaning, definition("taken over from Speed figures")
    )


figure_of_merit = _from_speed_figures(f.figure_of_merit)
line_ratio = _from_speed_figures(f.line_ratio)
coefficient = _from_speed_figures(coefficient_off)


def _percent_off(ratio: Node) -> Node:
    return call("absolute", ratio - 1) * 100


_plausible = (r.speed_ratio <= s.speed_ratio_high) & (r.speed_ratio >= s.speed_ratio_low)
_slip = near_pole_slip(line_ratio)
MODEL_CHECKS = (
    watch("Figure of merit too good", r.speed, figure_of_merit, Severity.DOUBTFUL)(
        figure_of_merit > s.figure_of_merit_high,
        at_most(s.figure_of_merit_high, 2),
        "Wrong diameter, thrust in another unit, torque in another unit, or a no-load current that is too high.",
        "Check Diameter, Thrust and Torque of this reading, and the free spins on No load.",
        MOMENTUM_THEORY,
    ),
    watch("Speed fits the wrong pole count", r.speed, line_ratio, Severity.DOUBTFUL, Explains.SLIP)(
        _slip,
        join("1, not 7/6 or 6/7"),
        "The speed was worked out for 12 magnets instead of 14, or for 14 instead of 12.",
        "Check the pole count set in the speed reading when this was read.",
        worked_out("ratio of pole pairs"),
    ),
    watch("Speed off the motor's line", r.speed, line_ratio, Severity.DOUBTFUL)(
        _plausible & (_percent_off(line_ratio) > s.line_misfit_limit) & ~_slip,
        say("1 within {:.0f} %", s.line_misfit_limit),
        "A wrong speed, voltage or current; loss of step; a slipping propeller.",
        "Check Speed, Voltage and Current of this reading; the line stands on Motor figures.",
        FIRST_ORDER_MOTOR,
    ),
    watch("Thrust coefficient unlike the propeller's others", r.thrust, coefficient, Severity.DOUBTFUL)(
        call("absolute", coefficient) > s.thrust_coefficient_limit,
        say("within ±{:.0f} %", s.thrust_coefficient_limit),
        "A wrong speed or thrust, a reading under another propeller's name, or a damaged propeller.",
        "Check Prop, Speed and Thrust of this reading against the propeller's other readings.",
        worked_out("CT is nearly the same at every voltage"),
    ),
)
